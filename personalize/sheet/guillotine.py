"""Places for identical boxes by straight cuts right across: each part upright or turned.

A sheet is cut in two, the halves again, three cuts deep; what is left holds a plain grid.
For rectangles this finds mixed layouts that a single grid misses.
"""

from collections.abc import Iterator, Sequence
from functools import cache

from personalize.sheet.boxes import SLACK_MM, Arrangement, meets_any, placed_box, wider
from personalize.sheet.paper import Rect

DEPTH = 3
"""Cuts one inside the other. A fourth gained nothing on 300 random sheets (measured)."""

Box = tuple[float, float, float, float, int]
"""Left, bottom, width, height and turn in degrees of one place."""


def guillotined(
    outline_box: Rect,
    area: Rect,
    *,
    spacing_mm: float,
    bleed_mm: float,
    clear_zones: Sequence[Rect],
) -> Arrangement:
    """Place as many boxes as straight cuts allow, those in clear zones left out."""
    w, h = outline_box[2] - outline_box[0], outline_box[3] - outline_box[1]
    left, bottom = area[0] + bleed_mm, area[1] + bleed_mm
    # With the spacing added to the piece and to the area, boxes may touch.
    wide = area[2] - area[0] - 2 * bleed_mm + spacing_mm
    high = area[3] - area[1] - 2 * bleed_mm + spacing_mm
    found = _boxes(wide, high, w + spacing_mm, h + spacing_mm)
    across = max((x + bw for x, _, bw, _, _ in found), default=0.0)
    up = max((y + bh for _, y, _, bh, _ in found), default=0.0)
    left, bottom = left + (wide - across) / 2, bottom + (high - up) / 2
    boxes = [
        (
            (
                left + x,
                bottom + y,
                left + x + bw - spacing_mm,
                bottom + y + bh - spacing_mm,
            ),
            turn,
        )
        for x, y, bw, bh, turn in found
    ]
    free = [b for b in boxes if not meets_any(wider(b[0], bleed_mm), clear_zones)]
    free.sort(key=lambda b: (-round(b[0][3], 3), b[0][0]))
    return Arrangement(
        tuple(placed_box(outline_box, box, turn) for box, turn in free),
        tuple(box for box, _ in free),
    )


def _boxes(wide: float, high: float, w: float, h: float) -> list[Box]:
    """Lay out an area from its lower left corner."""

    @cache
    def best(wide: float, high: float, depth: int) -> tuple[Box, ...]:
        """Give the most boxes for an area; the plainest of equals."""
        most = max(_plain(wide, high, w, h), key=len)
        if depth == 0:
            return most
        bound = int((wide * high + SLACK_MM) // (w * h))
        for cut, level in _cuts(wide, high, w, h):
            if len(most) == bound:
                break
            if level:
                one = best(wide, cut, depth - 1)
                other = best(wide, round(high - cut, 6), depth - 1)
                other = tuple((x, y + cut, bw, bh, t) for x, y, bw, bh, t in other)
            else:
                one = best(cut, high, depth - 1)
                other = best(round(wide - cut, 6), high, depth - 1)
                other = tuple((x + cut, y, bw, bh, t) for x, y, bw, bh, t in other)
            if len(one) + len(other) > len(most):
                most = (*one, *other)
        return most

    return list(best(round(wide, 6), round(high, 6), DEPTH))


def _plain(wide: float, high: float, w: float, h: float) -> list[tuple[Box, ...]]:
    return [
        tuple(
            (i * bw, j * bh, bw, bh, turn)
            for j in range(int((high + SLACK_MM) // bh))
            for i in range(int((wide + SLACK_MM) // bw))
        )
        for bw, bh, turn in ((w, h, 0), (h, w, 90))
    ]


def _cuts(wide: float, high: float, w: float, h: float) -> Iterator[tuple[float, bool]]:
    """Give places to cut at: after so many boxes of one way round."""
    for level, length in ((True, high), (False, wide)):
        steps = {
            round(n * side, 6)
            for side in (w, h)
            for n in range(1, int((length + SLACK_MM) // side) + 1)
        }
        yield from ((cut, level) for cut in sorted(steps) if cut < length - SLACK_MM)
