"""How the sizes of a set are spread, and what each rule would make of them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from personalize.type.sizes import Sizes, Wanted, down, give_sizes

STANDS_OUT = 0.8
"""A text this much smaller than most (the median) catches the eye. Judgement."""
MOST_STANDING_OUT = 8


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one rule would give: how many texts at which size, largest first."""

    rule: str
    counts: tuple[tuple[float, int], ...]
    """The shared sizes in points, with how many texts have each."""
    others: int
    """Texts with a size of their own."""
    least_pt: float
    most_pt: float


@dataclass(frozen=True, slots=True)
class Spread:
    """Sizes of the texts that share a rule, in the order of the batch."""

    places: tuple[str, ...]
    """Panels and blocks."""
    rule: str
    rows: tuple[int, ...]
    largest_pt: tuple[float, ...]
    """What each could have by itself."""
    given_pt: tuple[float, ...]
    steps_pt: tuple[float, ...]
    """Sizes that are shared; none where the rule is `largest`."""
    outcomes: tuple[Outcome, ...]
    """Of the rules `largest`, `same` and `steps`."""
    standing_out: tuple[tuple[int, float], ...]
    """Rows much smaller than most, smallest first, with the size that they have."""


def spread_of(
    places: Sequence[str], rule: str, wanted: Sequence[Wanted], given: Sizes
) -> Spread | None:
    """Tell how sizes are spread. Texts that fit at no legible size are left out.

    None where no text fits.
    """
    fitting = [w for w in wanted if w.fits]
    if not fitting:
        return None
    sizes = [s for w, s in zip(wanted, given.sizes_pt, strict=True) if w.fits]
    return Spread(
        tuple(places),
        rule,
        tuple(w.row for w in fitting),
        tuple(down(w.largest_pt) for w in fitting),
        tuple(sizes),
        given.steps_pt,
        tuple(_outcome(name, fitting) for name in ("largest", "same", "steps")),
        _standing_out([w.row for w in fitting], sizes),
    )


def _outcome(rule: str, fitting: Sequence[Wanted]) -> Outcome:
    sizes = give_sizes(rule, fitting)
    counts = tuple((step, sizes.sizes_pt.count(step)) for step in sizes.steps_pt)
    others = len(fitting) - sum(count for _, count in counts)
    return Outcome(rule, counts, others, min(sizes.sizes_pt), max(sizes.sizes_pt))


def _standing_out(
    rows: Sequence[int], sizes: Sequence[float]
) -> tuple[tuple[int, float], ...]:
    """Name rows whose text is clearly smaller than the middle one of the set."""
    middle = sorted(sizes)[len(sizes) // 2]
    least: dict[int, float] = {}
    for row, size in zip(rows, sizes, strict=True):
        if size < STANDS_OUT * middle:
            least[row] = min(size, least.get(row, math.inf))
    found = sorted(least.items(), key=lambda one: (one[1], one[0]))
    return tuple(found[:MOST_STANDING_OUT])
