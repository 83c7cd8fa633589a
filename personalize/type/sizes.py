"""Which size each text of a batch gets: `largest`, `same` or `steps`.

A unit is what must share one size: the text of a panel, or the two texts of panels that
face each other. Sizes are in points, rounded down to 0.001.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

STEPS = (1.0, 0.84, 0.71)
"""The three sizes of a batch, as parts of its cap: each about 1/sqrt(sqrt(2)) of the one
before, the least step that an eye takes for intended. Judgement."""
SERVED = 0.9
"""The cap is the largest at which this share of the texts gets one of the three sizes."""
WORTH_TELLING = 1.05
"""A set is said to be held back by rows without which it would be this much larger."""
MOST_NAMED = 3
"""So many rows at most: more are no exception but what the set is like."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """One unit's own largest size and its floor."""

    row: int
    largest_pt: float
    floor_pt: float

    @property
    def fits(self) -> bool:
        """Whether it can be set at a legible size at all."""
        return reaches(self.largest_pt, self.floor_pt)


@dataclass(frozen=True, slots=True)
class Sizes:
    """Sizes given to the units of one batch, in their order."""

    sizes_pt: tuple[float, ...]
    steps_pt: tuple[float, ...] = ()
    held_by: tuple[int, ...] = ()
    """Rows that keep the others down (`same` and `steps`)."""
    without_pt: float | None = None
    """Largest size of the set if those rows were left out."""


@dataclass(frozen=True, slots=True)
class SizeSet:
    """What a set of texts shared: its rule and its sizes, for a later batch."""

    places: tuple[str, ...]
    """Names of the panels and blocks."""
    rule: str
    steps_pt: tuple[float, ...]


def down(size_pt: float) -> float:
    """Round down to a thousandth of a point (a hair's slack against float noise)."""
    return math.floor(size_pt * 1000 + 1e-7) / 1000


def reaches(size_pt: float, floor_pt: float) -> bool:
    """Whether a size is no less than a floor (but for float noise)."""
    return size_pt >= floor_pt - 1e-9


def give_sizes(rule: str, wanted: Sequence[Wanted], earlier: Sequence[float] = ()) -> Sizes:
    """Give every unit its size. Units that fit at no legible size keep their own.

    With the sizes of an `earlier` batch, those are given, and none is found anew.
    """
    if rule not in _LARGEST:
        return Sizes(tuple(down(w.largest_pt) for w in wanted))
    fitting = sorted((w.largest_pt, w.row) for w in wanted if w.fits)
    steps = tuple(earlier) or _steps_of(rule, fitting)
    sizes = tuple(_given(rule, w, steps, earlier) for w in wanted)
    if earlier:
        return Sizes(sizes, steps)
    return Sizes(sizes, steps, *_holding(rule, fitting))


def _given(
    rule: str, wanted: Wanted, steps: Sequence[float], earlier: Sequence[float]
) -> float:
    if rule == "same" and not earlier:
        return steps[0] if wanted.fits else down(wanted.largest_pt)
    return _step(wanted, steps)


Fitting = Sequence[tuple[float, int]]
"""Largest sizes and rows of the units that fit at all, smallest first."""


def _same(fitting: Fitting) -> tuple[int, float]:
    """Which unit sets the size of all, and that size."""
    return 0, fitting[0][0]


def _steps(fitting: Fitting) -> tuple[int, float]:
    """Which unit sets the cap, and the cap."""
    unserved = math.floor(len(fitting) * (1 - SERVED) + 1e-9)
    return unserved, min(fitting[unserved][0] / STEPS[-1], fitting[-1][0])


_LARGEST = {"same": _same, "steps": _steps}


def _steps_of(rule: str, fitting: Fitting) -> tuple[float, ...]:
    if not fitting:
        return ()
    largest = _LARGEST[rule](fitting)[1]
    parts = STEPS if rule == "steps" else STEPS[:1]
    return tuple(down(largest * part) for part in parts)


def _holding(rule: str, fitting: Fitting) -> tuple[tuple[int, ...], float | None]:
    """Name the fewest rows without which the set would be clearly larger."""
    if not fitting:
        return (), None
    first, largest = _LARGEST[rule](fitting)
    all_rows = len({row for _, row in fitting})
    order = list(dict.fromkeys(row for _, row in fitting[first:]))
    for count in range(1, MOST_NAMED + 1):
        rows = order[:count]
        rest = [(size, row) for size, row in fitting if row not in rows]
        if len({row for _, row in rest}) <= all_rows / 2:
            break  # the others are the exception
        without = down(_LARGEST[rule](rest)[1])
        if without >= WORTH_TELLING * largest:
            return tuple(sorted(rows)), without
    return (), None


def _step(wanted: Wanted, steps: Sequence[float]) -> float:
    largest = down(wanted.largest_pt)
    for step in steps:
        if wanted.floor_pt <= step <= largest:
            return step
    return largest
