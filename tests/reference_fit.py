"""The fit by exhaustive search: slow, plain, and independent of the fitter.

It shares two things with the fitter: the ink box of every possible line
(`Paragraph.ink_table`, at size 1) and the safe zone. Everything else, the rules of leading
and of lines among them, is written here anew from the design's words.

A box B moved by t lies in a zone Z exactly when

- its corners lie in the convex hull of Z: t is in the intersection of four translates of
  the hull (a convex set holds a box when it holds its corners),
- one corner lies in Z: t is in a translate of Z,
- no edge E of Z passes through its inside: t is not inside the Minkowski sum of E and -B,
  a convex polygon. (Then the inside of the box is all in Z or all out of it, and the
  corner says which. Edges along the hull never pass through a box that is in the hull.)

A block of lines fits when one t serves all its boxes, so the shifts that are possible are
the intersection over the lines of Z eroded by each line's box. shapely computes it.
"""

import itertools
import math
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Breaks = tuple[int, ...]

GRID_MM = 1e-7
"""Grid for overlays: without one shapely may fail, or give nothing, where edges of a zone
lie in line. A ten thousandth of a step of the ladder for letters of 1 mm."""
HAIR_MM = 1e-6
"""A place thinner than this is what the grid leaves of no place."""
STEP = 0.999
"""From one size tried to the next."""
MOST_BREAKS = 11
"""Break sets are listed in full up to this many places to break."""

# Least leading as design rules give it (common practice, no source).
TALL = {"DEVANAGARI": 1.35, "BENGALI": 1.35, "THAI": 1.4, "LAO": 1.4, "ARABIC": 1.4}
STACKED = 1.35
"""Two marks on one side of a letter, as in Vietnamese."""
CLEAR = {220: "b", 230: "a"}
"""Combining classes of marks that stand clear of their letter (UAX #44, table 15)."""
GAP_EM = 0.12


class Zone:
    """A safe zone that boxes are put into."""

    def __init__(self, outer: Sequence[Any], holes: Sequence[Any] = ()) -> None:
        self.polygon = shapely.Polygon(outer, holes)
        self.hull = shapely.convex_hull(self.polygon)
        self.hull_points = shapely.get_coordinates(self.hull)[:-1]
        rings = [self.polygon.exterior, *self.polygon.interiors]
        points = [shapely.get_coordinates(ring) for ring in rings]
        edges = np.concatenate([np.stack([p[:-1], p[1:]], axis=1) for p in points])
        middles = shapely.points(edges.mean(axis=1))
        self.inner_edges = edges[shapely.distance(self.hull.exterior, middles) > 1e-9]
        x0, y0, x1, y1 = self.polygon.bounds
        self.width, self.height = x1 - x0, y1 - y0

    def places(self, boxes: Floats) -> Any:
        """All shifts that put every box (x0, y0, x1, y1) inside the zone, as a polygon."""
        left = self._in_hull(boxes)
        for x0, y0, x1, y1 in boxes if len(self.inner_edges) else ():
            if left.is_empty:
                break
            corner = shapely.affinity.translate(self.polygon, -x0, -y0)
            left = _areas(shapely.intersection(left, corner, grid_size=GRID_MM))
            mirrored = -np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
            ends = (self.inner_edges[:, :, None] + mirrored).reshape(-1, 8, 2)
            sums = shapely.convex_hull(shapely.multipoints(ends))
            taken = shapely.union_all(
                sums[shapely.intersects(sums, left)], grid_size=GRID_MM
            )
            left = _areas(shapely.difference(left, taken, grid_size=GRID_MM))
        return left

    def _in_hull(self, boxes: Floats) -> Any:
        """Intersection of the hull's translates by the corners of all boxes."""
        corners = [(x, y) for x0, y0, x1, y1 in boxes for x in (x0, x1) for y in (y0, y1)]
        # Corners within the hull of the others add no condition (the hull is convex).
        outermost = shapely.get_coordinates(shapely.MultiPoint(corners).convex_hull)
        points = self.hull_points[None] - np.unique(outermost, axis=0)[:, None]
        left, *others = shapely.polygons(points)
        for other in others:
            left = left.intersection(other)
        return _areas(left)

    def fits(self, boxes: Floats) -> bool:
        """Whether some shift puts every box inside."""
        return any(p.area > HAIR_MM * p.length for p in self.places(boxes).geoms)

    def fits_level(self, boxes: Floats) -> bool:
        """Whether some shift to the height of the zone's centroid puts every box inside."""
        y = self.polygon.centroid.y
        x0, _, x1, _ = self.polygon.bounds
        level = shapely.LineString([(2 * x0 - x1, y), (2 * x1 - x0, y)])
        return bool(self.places(boxes).intersection(level).length > 2 * HAIR_MM)


def _areas(overlay: Any) -> Any:
    """Keep the polygons of an overlay, without lines and points where edges touch."""
    parts = shapely.get_parts(overlay)
    return shapely.MultiPolygon([p for p in parts if p.geom_type == "Polygon"])


@dataclass(frozen=True)
class Text:
    """A text as the search sees it."""

    words: str
    ink: Floats
    """[first, last] -> (left, right, depth, height) of a line, in em."""
    forced: frozenset[int]
    """Segments that a line must end after."""
    soft: frozenset[int]
    """Segments that end in a soft hyphen."""

    @cached_property
    def count(self) -> int:
        return len(self.ink)

    def leading(self, k: int) -> float:
        """Distance of baselines of k lines."""
        singles = [self.ink[i, i] for i in range(self.count)]
        ink = max(s[3] for s in singles) + max(s[2] for s in singles) + GAP_EM
        if k == 1:
            return ink
        names = {unicodedata.name(c, "").split(" ")[0] for c in self.words}
        tall = max((TALL.get(name, 0.0) for name in names), default=0.0)
        apart = unicodedata.normalize("NFD", self.words)
        marks = "".join(CLEAR.get(unicodedata.combining(c), ".") for c in apart)
        if "aa" in marks or "bb" in marks:
            tall = max(tall, STACKED)
        return max(1.1 if k == 2 else 1.2, tall, ink)

    def break_sets(self, k: int) -> Iterator[Breaks]:
        """Every way to make k lines: the last segment of each."""
        assert self.count <= MOST_BREAKS + 1
        for ends in itertools.combinations(range(self.count - 1), k - 1):
            if self.forced <= {*ends, self.count - 1}:
                yield (*ends, self.count - 1)

    def block(self, breaks: Breaks, width_share: float) -> Floats:
        """Boxes of centred lines at size 1, the first baseline at 0: shape (k, 4)."""
        k = len(breaks)
        starts = (0, *(b + 1 for b in breaks[:-1]))
        boxes = []
        for i, (first, last) in enumerate(zip(starts, breaks, strict=True)):
            left, right, depth, height = self.ink[first, last]
            half, y = (right - left) / width_share / 2, -i * self.leading(k)
            boxes.append((-half, y - depth, half, y + height))
        return np.array(boxes)

    def middle(self, breaks: Breaks, x_height: float, cap_height: float) -> float:
        """Height above the first baseline of the middle of the band the eye centres on."""
        top = min(max(float(self.ink[0, breaks[0], 3]), x_height), cap_height)
        return (top - (len(breaks) - 1) * self.leading(len(breaks))) / 2

    def unevenness(self, breaks: Breaks) -> float:
        """How far the lines are from one length; a broken word counts as half a line."""
        starts = (0, *(b + 1 for b in breaks[:-1]))
        widths = [
            float(self.ink[a, b, 1] - self.ink[a, b, 0])
            for a, b in zip(starts, breaks, strict=True)
        ]
        widest = max(widths)
        uneven = sum(((widest - w) / widest) ** 2 for w in widths)
        return uneven + 0.5 * len(self.soft & set(breaks))


def bound(zone: Zone, block: Floats) -> float:
    """Size that the zone's width and height allow: no block can be larger."""
    (x0, y0), (x1, y1) = block[:, :2].min(axis=0), block[:, 2:].max(axis=0)
    return float(min(zone.width / (x1 - x0), zone.height / (y1 - y0)))


class Search:
    """Sizes of one text in one zone."""

    def __init__(
        self,
        text: Text,
        zone: Zone,
        width_share: float,
        level: tuple[float, float] | None = None,
    ) -> None:
        """Search; with `level` the block's band stays at the height of the centroid.

        `level` gives heights of x and H in em. The band reaches from the last baseline to
        the first line's capitals, or to its x-height where its ink is no higher.
        """
        self.text, self.zone, self.width_share = text, zone, width_share
        self.level = level
        self.fits = zone.fits if level is None else zone.fits_level

    def block(self, breaks: Breaks) -> Floats:
        """Boxes of the lines at size 1 from the point that a shift moves."""
        block = self.text.block(breaks, self.width_share)
        if self.level is not None:
            middle = self.text.middle(breaks, *self.level)
            block = block - np.array([0, middle, 0, middle])
        return block

    def largest(self, k: int) -> float:
        """Largest size on the ladder top, top x 0.999, top x 0.999^2, ... with k lines.

        0 when no size down to a thousandth of the top is possible.
        """
        blocks = [self.block(breaks) for breaks in self.text.break_sets(k)]
        bounds = [bound(self.zone, block) for block in blocks]
        top = max(bounds, default=0.0)
        best = round(math.log(1e-3) / math.log(STEP))  # rung of the best size so far
        none = best
        for at, block in sorted(zip(bounds, blocks, strict=True), key=lambda p: -p[0]):
            # A set cannot be possible above its bound, so its ladder starts there; below
            # the best rung so far it cannot win. Neither asks what the fitter found.
            first = max(0, math.ceil(math.log(at / top) / math.log(STEP) - 1e-9))
            found = self._highest(block, top, first, best - 1)
            best = best if found is None else found
        return top * STEP**best if best < none else 0.0

    def reaches(self, breaks: Breaks, size: float) -> bool:
        """Whether a break set is possible at a size."""
        return self.fits(self.block(breaks) * size)

    def _highest(self, block: Floats, top: float, first: int, last: int) -> int | None:
        """First rung from `first` to `last` at which the block is possible.

        The same answer as trying every rung from the top, in fewer steps. The part of
        each box that it covers at every size from rung `last` to rung `first` is a box
        too; where even those cannot be placed, no rung between is possible. Else the
        upper half of the rungs is asked first, down to single ones. (Possible sizes need
        not be an interval: a notch may fit between two lines at a large size only.)
        """
        if first > last or not self.fits(_core(block, top * STEP**last, top * STEP**first)):
            return None
        if first == last:
            return first
        middle = (first + last) // 2
        upper = self._highest(block, top, first, middle)
        return upper if upper is not None else self._highest(block, top, middle + 1, last)


def _core(block: Floats, small: float, large: float) -> Floats:
    """Part of each scaled box that is covered at every size from small to large."""
    low, high = block[:, :2], block[:, 2:]
    low = np.maximum(low * small, low * large)
    high = np.minimum(high * small, high * large)
    kept = np.hstack([low, high])[(low <= high).all(axis=1)]
    return kept if len(kept) else np.zeros((1, 4))
