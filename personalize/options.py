"""What a maker chooses for a run, and what the run came to."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from personalize.changes import PieceSeen
from personalize.checks.ink_findings import MOST_INK
from personalize.colour_profile import Profile
from personalize.cut_files import CutOptions
from personalize.earlier import EarlierSizes
from personalize.finding import Finding, Severity
from personalize.sheet.paper import Paper
from personalize.sheet.rules import SheetRules
from personalize.sheet.use import PaperUse

DEFAULT_PAPER = Paper("A4", 210.0, 297.0)

ALSO = (
    *("dxf", "together", "png", "marks", "picklist", "findings", "proof-pdf"),
    *("shop", "ganged"),
)
"""Kinds of files that are written on request."""

Progress = Callable[[int, int], None]


def _silent(done: int, total: int) -> None:
    """Tell nobody."""


@dataclass(frozen=True, slots=True)
class Options:
    """What a maker chooses for a run, beside messages and designs."""

    sheets: SheetRules = field(default_factory=lambda: SheetRules(DEFAULT_PAPER))
    rows: str | None = None
    """Rows to put on sheets, such as "3,5-9"; sizes still come from the whole batch."""
    where: tuple[str, ...] = ()
    """Conditions HEADING=VALUE on the rows to put on sheets."""
    sort: str | None = None
    """Heading to order the pieces by; None keeps the order of the rows."""
    also: frozenset[str] = frozenset()
    """Further kinds of files, of `ALSO`."""
    cut: CutOptions = field(default_factory=CutOptions)
    """How lines are cut."""
    earlier: EarlierSizes | None = None
    """Sizes of an earlier batch, for late guests (`read_earlier`); None finds them anew."""
    against: tuple[PieceSeen, ...] | None = None
    """Pieces of an earlier report (`read_pieces`) to compare with; None for none."""
    curves: bool = False
    """Draw the letters of print.pdf as curves, without text in it."""
    profile: Profile | None = None
    """Of the press, for files that go to a print shop."""
    most_ink: float = MOST_INK
    """Percent of all inks together that the press takes in one place."""
    leave_out_faulty: bool = False
    proof: bool = True
    progress: Progress = _silent
    planned: Callable[[Sequence[PaperUse]], None] = lambda uses: None
    """Told how much paper each design takes, before anything is written."""


@dataclass(frozen=True, slots=True)
class Share:
    """What a run made of one design."""

    design: str
    stock: str
    pieces: int
    sheets: int
    cut_files: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Risk:
    """A row to try first, and what it shows."""

    row: int
    why: str
    design: str | None = None
    """Whose piece shows it, or which side; None in a run of one."""


@dataclass(frozen=True, slots=True)
class Result:
    """What a run came to."""

    findings: tuple[Finding, ...]
    """Worst first."""
    folder: Path | None = None
    """Where the files are; None for a check."""
    made: bool = False
    """Whether sheets were written."""
    pieces: int = 0
    sheets: int = 0
    left_out: int = 0
    """Pieces that an error kept off the sheets."""
    files: tuple[str, ...] = ()
    shares: tuple[Share, ...] = ()
    """The part of each design, where sheets were written."""
    risks: tuple[Risk, ...] = ()
    """Why these rows are on a trial sheet."""
    checklist: tuple[str, ...] = ()
    """What to look at on the evening, where sheets were written."""

    @property
    def worst(self) -> Severity | None:
        """The weightiest severity that stands."""
        return self.findings[0].severity if self.findings else None
