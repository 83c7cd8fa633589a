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


@dataclass(frozen=True, slots=True)
class Wanted:
    """One unit's own largest size and its floor."""

    row: int
    largest_pt: float
    floor_pt: float

    @property
    def fits(self) -> bool:
        """Whether it can be set at a legible size at all."""
        return self.largest_pt >= self.floor_pt


@dataclass(frozen=True, slots=True)
class Sizes:
    """Sizes given to the units of one batch, in their order."""

    sizes_pt: tuple[float, ...]
    steps_pt: tuple[float, ...] = ()
    held_by: int | None = None
    """Row that keeps the others at this size (`same`)."""
    without_pt: float | None = None
    """Size of the others if that row were left out."""


def down(size_pt: float) -> float:
    """Round down to a thousandth of a point (a hair's slack against float noise)."""
    return math.floor(size_pt * 1000 + 1e-7) / 1000


def give_sizes(rule: str, wanted: Sequence[Wanted]) -> Sizes:
    """Give every unit its size. Units that fit at no legible size keep their own."""
    if rule == "same":
        return _same(wanted)
    if rule == "steps":
        return _steps(wanted)
    return Sizes(tuple(down(w.largest_pt) for w in wanted))


def _same(wanted: Sequence[Wanted]) -> Sizes:
    fitting = sorted((w.largest_pt, w.row) for w in wanted if w.fits)
    if not fitting:
        return Sizes(tuple(down(w.largest_pt) for w in wanted))
    size, row = fitting[0]
    others = [s for s, r in fitting if r != row]
    return Sizes(
        tuple(down(size if w.fits else w.largest_pt) for w in wanted),
        (down(size),),
        row if others and others[0] > size else None,
        down(others[0]) if others else None,
    )


def _steps(wanted: Sequence[Wanted]) -> Sizes:
    own = sorted(w.largest_pt for w in wanted if w.fits)
    if not own:
        return Sizes(tuple(down(w.largest_pt) for w in wanted))
    unserved = math.floor(len(own) * (1 - SERVED) + 1e-9)
    cap = min(own[unserved] / STEPS[-1], own[-1])
    steps = tuple(down(cap * part) for part in STEPS)
    return Sizes(tuple(_step(w, steps) for w in wanted), steps)


def _step(wanted: Wanted, steps: tuple[float, ...]) -> float:
    largest = down(wanted.largest_pt)
    for step in steps:
        if wanted.floor_pt <= step <= largest:
            return step
    return largest
