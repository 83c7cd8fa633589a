"""What can go wrong, told to a person.

    PersonalizeError
      InputError      what was given cannot be used: nothing is written (exit 2)
      OwnFaultError   we are at fault: nothing is moved into place (exit 3)
        WallError     a written cut file is not the design's own lines
        ApartError    pieces would not lie apart on their sheet
        InsideError   ink of a text is not inside its safe zone
        KeptError     a message was lost, doubled or changed on its way to the PDF

What is wrong with one message (it does not fit, a letter is missing) is no error but a
`finding.Finding`: the run goes on and reports all of them.
"""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that makes input unusable: where it is, what is wrong, what to do."""

    place: str
    """For example ``picnic.csv, row 5, column C``; empty when there is no place."""
    says: str
    do: str

    def __str__(self) -> str:
        """Give the one sentence (and its remedy) that the person reads."""
        where = f"{self.place}: " if self.place else ""
        return f"{where}{self.says} {self.do}"


class PersonalizeError(Exception):
    """Base of every error that this package raises on purpose."""


class InputError(PersonalizeError):
    """Input or usage cannot be used. Carries every problem found, not just the first."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class OwnFaultError(PersonalizeError):
    """A promise of ours does not hold; the files are not moved into place."""


class WallError(OwnFaultError):
    """The cut file holds something other than the design's own die lines."""


class ApartError(OwnFaultError):
    """Pieces would lie over each other, too near, or where the sheet is kept free."""


class InsideError(OwnFaultError):
    """Ink of a text lies outside the safe zone of its panel."""


class KeptError(OwnFaultError):
    """What went in did not come out: a message is missing, doubled or changed."""


def refuse(place: str, says: str, do: str) -> InputError:
    """Make the error for a single problem (for ``raise refuse(...)``)."""
    return InputError(Problem(place, says, do))
