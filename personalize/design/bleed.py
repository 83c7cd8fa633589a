"""Whether artwork runs on past the outline, looked for along the outline itself.

The artwork is drawn on white paper. Where it has ink just inside the outline and none in
the bleed beside it, a cut that is off shows bare paper.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from personalize.design.artwork import Box
from personalize.design.artwork_render import render_artwork
from personalize.design.png import png_pixels
from personalize.fonts.cut_down import PartOfFont
from personalize.geometry.affine import Point, Points
from personalize.geometry.path import Contour, distances
from personalize.units import FLATTEN_MM

PX_PER_MM = 4.0
"""In which the edge is looked at: a bare hairline of one pixel is 0.25 mm, less than any
cut is off."""
STEP_MM = 0.25
"""From one place along the outline to the next."""
INSIDE_MM = 0.4
"""How far inside the outline there must be ink for an edge to be one with a picture: past
the pixel that the outline itself crosses."""
LEAST_MM = 3.0
"""Shortest bare stretch that is told. A dot of a pattern that ends at the edge by chance
is no missing bleed."""
_LONG_MM = 8.0
"""From this length on, ink that ends anywhere in the bleed is told; shorter, ink that ends
at the outline alone: a dot of the drawing that crosses the edge ends somewhere."""
_INK = 12
"""How far a colour on paper must be from white, of 255: less is not seen."""
_CORNER_DEG = 20.0
_FAN_DEG = 15.0


@dataclass(frozen=True, slots=True)
class BareStretch:
    """A stretch of the outline where the artwork stops short."""

    middle: Point
    """On the outline, in piece mm."""
    length_mm: float


@dataclass(frozen=True, slots=True)
class EdgeLook:
    """What artwork does at the outline."""

    bare: tuple[BareStretch, ...]
    """Where it stops short of the bleed, the longest first."""
    inked_mm: float
    """Length of the outline that has ink inside it."""
    length_mm: float
    """Of the whole outline."""

    @property
    def bare_mm(self) -> float:
        """Length of all bare stretches."""
        return sum(stretch.length_mm for stretch in self.bare)


def look_at_edge(
    svg: bytes,
    box_mm: Box,
    outline: Contour,
    bleed_mm: float,
    fonts: Sequence[PartOfFont] = (),
) -> EdgeLook:
    """Look where artwork has ink inside the outline and none in the bleed beside it.

    White is paper, drawn or not. A bare hairline under two pixels (0.5 mm) between
    abutting shapes does not count.

    Parameters
    ----------
    svg
        The artwork, whose page is `box_mm` of the piece.
    outline
        The knife's line, closed.
    bleed_mm
        How far the artwork is to run on.
    fonts
        Of its text.
    """
    ink = Ink(svg, box_mm, fonts)
    ring = outline.flattened(FLATTEN_MM)
    places, outward, inside, own_mm = walk(ring)
    inked = ink.at(inside)
    depths = np.arange(INSIDE_MM, max(INSIDE_MM, bleed_mm - 1 / PX_PER_MM) + 1e-9, STEP_MM)
    covered = np.ones((len(depths), len(places)), bool)
    for i, depth in enumerate(depths):
        beside = places + outward * depth
        dry = np.flatnonzero(inked & ~ink.at(beside))
        # Across a notch lies the piece again, or bleed of another stretch.
        if len(dry):
            own = distances(beside[dry], ring, closed=True) > depth - 0.05
            covered[i, dry[own]] = False
    short = inked & ~covered.all(axis=0)
    at_line = inked & ~covered[0]
    runs = (_stretch(run, places, own_mm, at_line) for run in _runs(short))
    bare = sorted(filter(None, runs), key=lambda one: (-one.length_mm, one.middle))
    return EdgeLook(tuple(bare), float(own_mm[inked].sum()), float(own_mm.sum()))


class Ink:
    """Where a drawing differs from white paper."""

    def __init__(
        self,
        svg: bytes,
        box_mm: Box,
        fonts: Sequence[PartOfFont],
        px_per_mm: float = PX_PER_MM,
    ) -> None:
        """Draw artwork whose page is `box_mm` of the piece."""
        pixels = png_pixels(render_artwork(svg, px_per_mm, fonts=fonts)).astype(np.uint16)
        alpha = pixels[:, :, 3:]
        on_paper = (pixels[:, :, :3] * alpha + 255 * (255 - alpha)) // 255
        self._ink = on_paper.min(axis=2) < 255 - _INK
        self._ink = ~grown_by_one(~grown_by_one(self._ink))  # bare hairlines closed
        self._box = box_mm

    def at(self, points: Points) -> NDArray[np.bool_]:
        """Tell for points in piece mm whether there is ink; there is none off the page."""
        x0, y0, x1, y1 = self._box
        high, wide = self._ink.shape
        columns = np.floor((points[:, 0] - x0) / (x1 - x0) * wide).astype(int)
        rows = np.floor((y1 - points[:, 1]) / (y1 - y0) * high).astype(int)
        on = (columns >= 0) & (columns < wide) & (rows >= 0) & (rows < high)
        out = np.zeros(len(points), bool)
        out[on] = self._ink[rows[on], columns[on]]
        return out


def grown_by_one(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Grow a mask by one pixel in all eight directions, the page's edge not."""
    out = mask.copy()
    out[1:] |= mask[:-1]
    out[:-1] |= mask[1:]
    wide = out.copy()
    wide[:, 1:] |= out[:, :-1]
    wide[:, :-1] |= out[:, 1:]
    return wide


def walk(
    ring: Points, *, inward: bool = False
) -> tuple[Points, Points, Points, NDArray[np.float64]]:
    """Walk along a ring. The piece lies within it, or round it where the way is `inward`.

    Gives places, the way outward at each, a point a little inside it, and the length that
    it stands for. Round a corner that points outward the way turns step by step at one
    place, and all steps share the point inside the corner.
    """
    ahead = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(*ahead.T)
    ring, ahead, lengths = ring[lengths > 0], ahead[lengths > 0], lengths[lengths > 0]
    x, y = ring.T
    turn = 1.0 if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0 else -1.0
    turn = -turn if inward else turn
    angles = np.arctan2(ahead[:, 1], ahead[:, 0]) - turn * np.pi / 2  # outward
    places, ways, own, inner = [], [], [], []
    for i in range(len(ring)):
        bend = (angles[i] - angles[i - 1] + np.pi) % (2 * np.pi) - np.pi
        if bend * turn > np.radians(_CORNER_DEG):
            middle = angles[i - 1] + bend / 2
            deep = INSIDE_MM / max(np.cos(bend / 2), 0.25)
            for share in np.linspace(0, 1, 2 + int(np.degrees(abs(bend)) // _FAN_DEG)):
                places.append(ring[i])
                ways.append(angles[i - 1] + bend * share)
                own.append(0.0)
                inner.append((middle, deep))
        count = max(1, round(lengths[i] / STEP_MM))
        for share in (np.arange(count) + 0.5) / count:
            places.append(ring[i] + ahead[i] * share)
            ways.append(angles[i])
            own.append(lengths[i] / count)
            inner.append((angles[i], INSIDE_MM))
    outward = np.stack([np.cos(ways), np.sin(ways)], axis=1)
    way, deep_mm = np.array(inner).T
    inside = (
        np.array(places) - np.stack([np.cos(way), np.sin(way)], axis=1) * deep_mm[:, None]
    )
    return np.array(places), outward, inside, np.array(own)


def _runs(mask: NDArray[np.bool_]) -> Iterator[NDArray[np.int_]]:
    """Give the places of each run of a mask that goes round."""
    if not mask.any():
        return
    count = len(mask)
    begin = 0 if mask.all() else int(np.flatnonzero(mask & ~np.roll(mask, 1))[0])
    order = (np.arange(count) + begin) % count
    ends = np.flatnonzero(np.diff(mask[order].astype(int))) + 1
    for part in np.split(order, ends):
        if mask[part[0]]:
            yield part


def _stretch(
    run: NDArray[np.int_],
    places: Points,
    own_mm: NDArray[np.float64],
    at_line: NDArray[np.bool_],
) -> BareStretch | None:
    """Measure a run; None for one that is no missing bleed."""
    along = np.cumsum(own_mm[run])
    total = float(along[-1])
    stops = float(own_mm[run][at_line[run]].sum())
    if total < LEAST_MM or (total < _LONG_MM and stops < total / 2):
        return None
    x, y = places[run[int(np.searchsorted(along, total / 2))]]
    return BareStretch((float(x), float(y)), total)
