"""From a table to messages, and the choice of some of them by their row numbers."""

import re
from collections.abc import Iterator, Sequence

from personalize.errors import InputError, Problem
from personalize.messages.reserved import COPIES, VERSION, reserved
from personalize.messages.table import Message, Row, Table

MOST_COPIES = 10_000
"""Most copies of one message. Judgement: ten thousand pieces are over a thousand sheets,
and a larger number is a slip (a year, a telephone number in the wrong column)."""

ROWS = "--rows"

_FIGURES = re.compile(r"\d{1,9}")
_RANGE = re.compile(r"([0-9]{1,9})(?:\s*([-–])\s*([0-9]{1,9})?)?")


def messages_of(table: Table) -> tuple[Message, ...]:
    """Make a message of each row.

    The headings ``copies`` and ``version``, in upper or lower case, are reserved: they are
    not among the words. Copies are a whole number from 0 to `MOST_COPIES`, spaces at both
    ends aside, and 1 where the cell is blank. A version loses the spaces at both ends.

    Raises
    ------
    InputError
        A cell is no number of copies, or a reserved heading stands twice. All such
        problems are told at once.
    """
    kinds = [reserved(heading) for heading in table.headings]
    problems = list(_doubled(table, kinds))
    messages = []
    for row in table.rows:
        told = _message(table, row, kinds)
        if isinstance(told, Message):
            messages.append(told)
        else:
            problems.append(told)
    if problems:
        raise InputError(problems)
    return tuple(messages)


def choose_rows(messages: Sequence[Message], text: str) -> tuple[Message, ...]:
    """Choose messages by the row numbers that a spreadsheet program shows.

    Parameters
    ----------
    messages
        All of the run, in the order of their rows.
    text
        Numbers and ranges between commas: ``3,5-9,12-`` (the last one: 12 and all after).
        A range may run over blank rows, but not past the first or the last message.

    Returns
    -------
    tuple of Message
        The chosen ones, each once, in the order of their rows.

    Raises
    ------
    InputError
        A part cannot be read, runs backwards, or names a row that is no message.
    """
    rows = [message.row for message in messages]
    chosen: set[int] = set()
    problems = []
    for part in text.split(","):
        told = _rows_of(part.strip(), rows)
        if isinstance(told, Problem):
            problems.append(told)
        else:
            chosen |= told
    if problems:
        raise InputError(problems)
    return tuple(message for message in messages if message.row in chosen)


def _doubled(table: Table, kinds: Sequence[str | None]) -> Iterator[Problem]:
    for kind in (COPIES, VERSION):
        same = [h for h, k in zip(table.headings, kinds, strict=True) if k == kind]
        if len(same) > 1:
            yield Problem(
                table.source.file,
                f"the headings {' and '.join(same)} mean the same.",
                f"Keep one column headed {kind}.",
            )


def _message(table: Table, row: Row, kinds: Sequence[str | None]) -> Message | Problem:
    words: dict[str, str] = {}
    copies, version = 1, ""
    for heading, kind, cell in zip(table.headings, kinds, row.cells, strict=True):
        if kind is None:
            words[heading] = cell
        elif kind == VERSION:
            version = cell.strip()
        elif cell.strip():
            counted = _whole(cell.strip())
            if counted is None or counted > MOST_COPIES:
                return Problem(
                    f"{table.source.file}, row {row.number}, column {heading}",
                    f"{cell!r} is no number of copies.",
                    f"Write a whole number from 0 to {MOST_COPIES} in plain figures, "
                    "or leave the cell empty for one copy.",
                )
            copies = counted
    return Message(row.number, words, copies, version)


def _whole(text: str) -> int | None:
    """Read a whole number in the figures of any script; None for anything else."""
    return int(text) if _FIGURES.fullmatch(text) else None


def _rows_of(part: str, rows: Sequence[int]) -> set[int] | Problem:
    """Find the rows that one part of a choice names."""
    asked = f"Give rows from {rows[0]} to {rows[-1]}" if rows else "Add rows first"
    match = _RANGE.fullmatch(part)
    if match is None:
        return Problem(
            ROWS,
            f"{part!r} is no row number and no range." if part else "a part is empty.",
            "Write numbers and ranges with commas between them, such as 3,5-9,12-.",
        )
    first = int(match[1])
    end = int(match[3]) if match[3] else None
    if end is not None and end < first:
        return Problem(ROWS, f"{part} runs backwards.", f"Write {end}-{first}.")
    open_end = rows[-1] if match[2] and rows else first
    last = open_end if end is None else end
    found = {row for row in rows if first <= row <= last}
    if found and rows[0] <= first and last <= rows[-1]:
        return found
    lacking = sorted({number for number in (first, end or first) if number not in found})
    says = f"there is no message in row {' or '.join(map(str, lacking))}."
    return Problem(ROWS, says, f"{asked}, as the spreadsheet numbers them.")
