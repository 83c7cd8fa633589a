"""Findings: problems of single messages, panels or designs, gathered over a whole run."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from personalize.geometry.affine import Point
from personalize.rules import Rule

Figure = float | int | str


class Severity(StrEnum):
    """How much a finding weighs: an error keeps its piece out of print."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


_ORDER = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


@dataclass(frozen=True, slots=True)
class Finding:
    """One problem with its place, its figures and what to do about it."""

    rule: Rule
    severity: Severity
    says: str
    do: str
    row: int | None = None
    """Row as a spreadsheet program numbers it; None for the whole job or design."""
    column: str | None = None
    """Heading of the column that the words came from."""
    panel: str | None = None
    figures: Mapping[str, Figure] = field(default_factory=dict)
    block: str | None = None
    """Name of the block, where the panel has several texts."""
    design: str | None = None
    """Name of the design, in a run over several; None where it concerns all of them."""

    @property
    def where(self) -> str:
        """Row, panel and block; empty for the whole job or design."""
        place = [f"row {self.row}"] if self.row is not None else []
        if self.design is not None:
            place.append(self.design)
        if self.panel is not None:
            place.append(f"panel {self.panel}")
        if self.block is not None:
            place.append(f"block {self.block}")
        return ", ".join(place)

    def __str__(self) -> str:
        """Give the finding as the line that a person reads."""
        where = f"{self.where}: " if self.where else ""
        return f"{self.severity}: {where}{self.says} {self.do}".rstrip()


PLACES = "places_mm"
"""Figure of a finding that has several places; see `places_told`."""


def places_told(places: Iterable[Point]) -> str:
    """Write places as a figure: x and y of each in mm, y up.

    >>> places_told([(58, 20), (2.5, 20)])
    '58 20, 2.5 20'
    """
    return ", ".join(f"{round(x, 3):g} {round(y, 3):g}" for x, y in places)


def places_of(finding: Finding) -> tuple[Point, ...]:
    """Give all places that a finding tells of, in mm of the drawing, y up.

    >>> at = {"places_mm": "58 20, 2.5 20"}
    >>> places_of(Finding(Rule.BLEED_MISSING, Severity.WARNING, "", "", figures=at))
    ((58.0, 20.0), (2.5, 20.0))
    """
    told = finding.figures.get(PLACES)
    if isinstance(told, str):
        pairs = (pair.split() for pair in told.split(", "))
        return tuple((float(x), float(y)) for x, y in pairs)
    x, y = finding.figures.get("x_mm"), finding.figures.get("y_mm")
    if isinstance(x, int | float) and isinstance(y, int | float):
        return ((float(x), float(y)),)
    return ()


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort by severity, then row (whole-job findings first), then rule and panel."""
    return tuple(
        sorted(
            findings,
            key=lambda f: (
                _ORDER[f.severity],
                f.row or 0,
                f.rule,
                f.panel or "",
                f.block or "",
                f.design or "",
            ),
        )
    )


def faulty_rows(findings: Iterable[Finding]) -> frozenset[int]:
    """Rows that an error stands against: their pieces must not be printed as they are."""
    return frozenset(
        f.row for f in findings if f.severity is Severity.ERROR and f.row is not None
    )
