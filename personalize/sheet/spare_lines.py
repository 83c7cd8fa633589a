"""Lines on spare pieces to write a late guest's name on by hand. They are printed only."""

from collections.abc import Iterator
from functools import lru_cache

from personalize.design.design import Design
from personalize.design.style import Colour
from personalize.geometry.affine import Affine
from personalize.geometry.path import Contour, polyline
from personalize.geometry.zone import Region
from personalize.sheet.ink import InkStroke

APART_MM = 9.0
"""From line to line. Common practice for handwriting, no source."""
MOST_LINES = 3
LEAST_HIGH_MM = 6.0
"""A lower safe zone gets no line. Judgement."""
LEAST_LONG_MM = 12.0
"""A shorter line is none. Judgement."""
INSET_MM = 1.0
"""Lines end so far inside the safe zone."""
WIDTH_MM = 0.2
_LOW_MM = 2.0
"""Lines stand so far under the middle, as letters stand on them."""


def spare_lines(design: Design, at: Affine) -> Iterator[InkStroke]:
    """Draw the lines of one spare piece; `at` maps piece mm to sheet mm."""
    for contour, colour in _of(design):
        yield InkStroke(contour.transformed(at), WIDTH_MM, colour)


@lru_cache(maxsize=32)
def _of(design: Design) -> tuple[tuple[Contour, Colour], ...]:
    """Give the lines of every panel in piece mm, in the colour of its words."""
    out = []
    done: set[str] = set()
    for panel in design.panels:
        if panel.ring is not None or panel.of in done:
            continue
        done.add(panel.of)
        back = panel.to_reading.inverse()
        for ends in _lines(panel.zone.mapped(panel.to_reading)):
            out.append((polyline([back(end) for end in ends]), panel.style.colour))
    return tuple(out)


def _lines(zone: Region) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Give level lines inside a zone, the upper first."""
    _, low, _, high = zone.box
    if high - low < LEAST_HIGH_MM:
        return
    count = max(1, min(MOST_LINES, int((high - low) // APART_MM)))
    top = (low + high) / 2 + (count - 1) / 2 * APART_MM - _LOW_MM
    for i in range(count):
        y = top - i * APART_MM
        x0, x1 = _longest(zone, y)
        if x1 - x0 >= LEAST_LONG_MM + 2 * INSET_MM:
            yield (x0 + INSET_MM, y), (x1 - INSET_MM, y)


def _longest(zone: Region, y: float) -> tuple[float, float]:
    """Give the longest stretch of a level line inside a zone; none is (0, 0)."""
    xs = []
    for ring in (zone.outer, *zone.holes):
        for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
            if (ay <= y) != (by <= y):
                xs.append(ax + (y - ay) / (by - ay) * (bx - ax))
    xs.sort()
    stretches = list(zip(xs[::2], xs[1::2], strict=True))
    return max(stretches, key=lambda ends: ends[1] - ends[0], default=(0.0, 0.0))
