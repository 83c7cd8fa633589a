"""Free places on a sheet for the slug and the rules."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Affine, Points, translation
from personalize.geometry.zone import Region
from personalize.sheet.boxes import SLACK_MM
from personalize.sheet.paper import Rect

RULE_MM = 100.0
SHORT_RULE_MM = 50.0
RULE_DEPTH_MM = 5.0
SLUG_LENGTH_MM, SLUG_DEPTH_MM = 110.0, 3.5
LONG_SLUG_MM = 165.0
"""Of a slug that also tells where the die lines lie."""
SHORT_SLUG_MM = 30.0
"""Of a slug that tells which sheet it is and no more, where there is little room."""
BAND_MM, MOST_BANDS = 4.0, 24
"""Height and number of the bands that an outline is cut into to find room beside it."""
MOST_STEPS = 300
"""Places tried along one edge, at most."""
AWAY_MM = 0.8
"""Distance of rules and slug from pieces and from each other."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A free box for a rule or the slug; an upright one reads from below."""

    box: Rect
    upright: bool

    @property
    def place(self) -> Affine:
        """Map from a level strip at the origin to the slot."""
        x0, y0, x1, _ = self.box
        return Affine(0, 1, -1, 0, x1, y0) if self.upright else translation(x0, y0)


@dataclass(frozen=True, slots=True)
class Slots:
    """Where the slug and the rules go."""

    slug: Slot
    rules: tuple[Slot, Slot] | None
    """The level and the upright one; None when they need a page of their own."""
    rule_mm: float = 0.0
    short: bool = False
    """Whether the slug has room for no more than the sheet's number."""

    @property
    def told(self) -> int:
        """Count what is told: the more, the less needs a page of its own."""
        return 1 if self.short else 2 + len(self.rules or ())

    @property
    def boxes(self) -> tuple[Rect, ...]:
        """What they take of the sheet."""
        return (self.slug.box, *(slot.box for slot in self.rules or ()))


def find_slots(
    area: Rect, taken: Sequence[Rect], slug_mm: float = SLUG_LENGTH_MM
) -> Slots | None:
    """Find room for the slug and two rules where no piece and no mark lies.

    The slug alone, or a short one, where there is no more room: it tells the sheets apart
    and which edge goes first. None where even that has no place.
    """
    for rule_mm in (RULE_MM, SHORT_RULE_MM):
        used = list(taken)
        slots = []
        for length, depth, ways in (
            (rule_mm, RULE_DEPTH_MM, (False,)),
            (rule_mm, RULE_DEPTH_MM, (True,)),
            (slug_mm, SLUG_DEPTH_MM, (False, True)),
        ):
            slot = _free(length, depth, ways, area, used)
            if slot is None:
                break
            slots.append(slot)
            used.append(slot.box)
        if len(slots) == 3:
            level, upright, words = slots
            return Slots(words, (level, upright), rule_mm)
    for length in (slug_mm, SHORT_SLUG_MM):
        slot = _free(length, SLUG_DEPTH_MM, (False, True), area, taken)
        if slot is not None:
            return Slots(slot, None, short=length < slug_mm)
    return None


def strips(area: Rect) -> tuple[Rect, Rect]:
    """Give boxes that have room for slug and rules, at the lower and the left edge."""
    x0, y0, x1, y1 = area
    # Places are tried in steps, the longest where what is laid has no length.
    more = 2 * AWAY_MM + max(1.0, (x1 - x0) / MOST_STEPS, (y1 - y0) / MOST_STEPS)
    wide, high = SLUG_LENGTH_MM + more, RULE_DEPTH_MM + SLUG_DEPTH_MM + more
    along, deep = RULE_MM + more, RULE_DEPTH_MM + more
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    return (
        (x - wide / 2, y0, x + wide / 2, y0 + high),
        (x0, y - along / 2, x0 + deep, y + along / 2),
    )


def bands(outline: Region) -> list[Rect]:
    """Cover an outline with boxes on top of each other, each as wide as it is there.

    What lies beside a slanted or round edge is free, which one box round all would hide.
    """
    out: list[Rect] = []
    for x0, y0, x1, y1 in _bands(outline):
        if out and max(abs(x0 - out[-1][0]), abs(x1 - out[-1][2])) < SLACK_MM:
            out[-1] = (*out[-1][:3], y1)
        else:
            out.append((x0, y0, x1, y1))
    return out


def _bands(outline: Region) -> Iterator[Rect]:
    ring = np.array(outline.outer)
    ends = np.roll(ring, -1, axis=0)
    _, y0, _, y1 = outline.box
    count = min(max(int((y1 - y0) / BAND_MM), 1), MOST_BANDS)
    heights = np.linspace(y0, y1, count + 1)
    rise = ends[:, 1] - ring[:, 1]
    level = np.abs(rise) < SLACK_MM
    rise[level] = 1.0  # not asked for below
    for low, high in pairwise(heights):
        at = (np.array([low, high])[:, None] - ring[:, 1]) / rise
        start, end = at.min(axis=0).clip(0, 1), at.max(axis=0).clip(0, 1)
        start[level], end[level] = 0, 1
        touches = np.minimum(ring[:, 1], ends[:, 1]) <= high
        touches &= np.maximum(ring[:, 1], ends[:, 1]) >= low
        across = ends[touches, 0] - ring[touches, 0]
        x = ring[touches, 0] + np.array([start[touches], end[touches]]) * across
        yield (float(x.min()), float(low), float(x.max()), float(high))


def _free(
    length: float,
    depth: float,
    ways: tuple[bool, ...],
    area: Rect,
    taken: Sequence[Rect],
) -> Slot | None:
    for upright in ways:
        w, h = (depth, length) if upright else (length, depth)
        corners = list(_corners(area, w, h))
        if not corners:
            continue
        blocked = _blocked(np.array(corners), w, h, taken)
        if not blocked.all():
            x, y = corners[int(blocked.argmin())]
            return Slot((x, y, x + w, y + h), upright)
    return None


def _blocked(
    corners: Points, w: float, h: float, taken: Sequence[Rect]
) -> NDArray[np.bool_]:
    """Whether a box at each lower left corner comes too near to what is taken.

    Thousands of corners are tried: one pass over all of them for each taken box.
    """
    x, y = corners.T
    blocked = np.zeros(len(corners), dtype=bool)
    for x0, y0, x1, y1 in taken:
        blocked |= (
            (x - AWAY_MM < x1 - SLACK_MM)
            & (x0 < x + w + AWAY_MM - SLACK_MM)
            & (y - AWAY_MM < y1 - SLACK_MM)
            & (y0 < y + h + AWAY_MM - SLACK_MM)
        )
    return blocked


def _corners(area: Rect, w: float, h: float) -> Iterable[tuple[float, float]]:
    """Places to try: along the edges from the bottom left, in steps of 1 mm (A4)."""
    wide, high = area[2] - area[0] - w, area[3] - area[1] - h
    if wide < 0 or high < 0:
        return []
    step = max(1.0, wide / MOST_STEPS, high / MOST_STEPS)
    xs = sorted(
        {area[0] + i * step for i in range(int(wide / step) + 1)} | {area[0] + wide}
    )
    ys = sorted(
        {area[1] + j * step for j in range(int(high / step) + 1)} | {area[1] + high}
    )
    if w > h:
        middle = (area[0] + area[2] - w) / 2
        xs.sort(key=lambda x: abs(x - middle))
        return [(x, y) for y in ys for x in xs]
    middle = (area[1] + area[3] - h) / 2
    ys.sort(key=lambda y: abs(y - middle))
    return [(x, y) for x in xs for y in ys]
