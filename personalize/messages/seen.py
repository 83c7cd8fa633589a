"""What is seen in a cell, and why that cannot be told where it cannot."""

from dataclasses import dataclass

from personalize.finding import Severity
from personalize.rules import Rule

AS_TEXT = (
    "Format the cell as text and type it again, or save the sheet as CSV UTF-8, "
    "which keeps what is seen."
)


class UnseenError(Exception):
    """How a value looks cannot be told. Says why, in words for a person."""


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a cell cannot be printed as it is seen, or may not be, and the remedy."""

    rule: Rule
    severity: Severity
    says: str
    do: str


@dataclass(frozen=True, slots=True)
class Seen:
    """What is seen in a cell."""

    text: str
    """With a fault of severity error, the best that can be said instead."""
    fault: Fault | None = None
    english: bool = False
    """Whether it would be written otherwise on a computer in another language."""


def unreadable(says: str, do: str = AS_TEXT) -> Fault:
    """Say that the look of a cell cannot be told."""
    return Fault(Rule.UNREADABLE_FORMAT, Severity.ERROR, says, do)


def error_cell(error: str) -> Fault:
    """Say that a cell shows an error such as ``#N/A``."""
    says = f"the cell shows the error {error}."
    return Fault(Rule.ERROR_CELL, Severity.ERROR, says, "Mend its formula, or empty it.")


def not_saved() -> Fault:
    """Say that a formula has no result to print."""
    return Fault(
        Rule.FORMULA_NOT_SAVED,
        Severity.ERROR,
        "the formula has no saved result.",
        "Open the workbook in a spreadsheet program and save it.",
    )


def shows_nothing(stored: str, hider: str, *, zero: bool) -> Fault:
    """Say that something, such as a number format, hides what a cell holds.

    Hiding zeros is usual, and no more than noted.
    """
    return Fault(
        Rule.SHOWS_NOTHING,
        Severity.NOTE if zero else Severity.WARNING,
        f"the cell holds {stored[:40]!r}, but {hider} shows nothing of it, and nothing is "
        "printed.",
        "Give the cell the format General if it is to be printed.",
    )


def depends_on_computer(text: str) -> Fault:
    """Say that a date looks otherwise on each computer, and what is printed."""
    return Fault(
        Rule.DATE_FORMAT,
        Severity.WARNING,
        f"its date format changes with the language of the computer; {text!r} is printed.",
        "Choose a fixed format such as yyyy-mm-dd, or format the cell as text.",
    )
