"""Regions with holes: insetting, growing, intersecting.

This module, `faces`, `convex` and `parts` alone use shapely. Everything is in mm with y up;
curves arrive here already flattened.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from personalize.geometry.affine import Affine, Point, Points

ARC_CHORDS = 16
"""Chords in a quarter of a rounded corner, at least."""
ARC_MM = 0.005
"""How far the chords of a corner may leave the true arc: half of what print and cut may
disagree by."""
RING_CHORDS = 48
"""Chords in a quarter of a ring: 0.005 mm of sagitta at a radius of 37 mm."""
NODE_GRID_MM = 1e-3
"""Grid on which lines are joined before they are cut into faces; measured to mend ends
that miss by float noise, and a tenth of the tolerance."""


@dataclass(frozen=True, slots=True)
class Region:
    """A polygon with holes.

    Rings do not repeat their first point; outer runs counter-clockwise, holes clockwise.
    """

    outer: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...] = ()

    def rings(self) -> tuple[Points, ...]:
        """Outer ring, then holes, each as an array of shape (n, 2)."""
        return tuple(np.array(ring) for ring in (self.outer, *self.holes))

    def mapped(self, by: Affine) -> "Region":
        """Map every point; a mirroring map keeps the outer ring counter-clockwise."""
        outer, *holes = (by.many(ring) for ring in self.rings())
        step = 1 if by.determinant > 0 else -1
        return Region(
            tuple(map(tuple, outer[::step].tolist())),
            tuple(tuple(map(tuple, hole[::step].tolist())) for hole in holes),
        )

    @property
    def box(self) -> tuple[float, float, float, float]:
        """The box (x0, y0, x1, y1) round the outer ring."""
        xs, ys = zip(*self.outer, strict=True)
        return (min(xs), min(ys), max(xs), max(ys))

    @property
    def area_mm2(self) -> float:
        """Area without the holes."""
        return float(as_shapely(self).area)

    @property
    def centroid(self) -> Point:
        """Centre of the area."""
        point = as_shapely(self).centroid
        return (point.x, point.y)

    def covers(self, other: "Region") -> bool:
        """Whether all of another region lies in this one, float noise aside."""
        rest = as_shapely(other).difference(as_shapely(self))
        return bool(rest.area < 1e-6)

    def contains(self, point: Point) -> bool:
        """Whether a point lies in the region or on its edge."""
        return bool(as_shapely(self).intersects(shapely.Point(point)))


def as_shapely(region: Region) -> Any:
    """Give a region as shapely has it."""
    return shapely.Polygon(region.outer, region.holes)


def from_shapely(shape: Any) -> tuple[Region, ...]:
    """Polygons of any shapely result, largest first, the rest (lines, points) dropped."""
    parts = [
        part
        for part in shapely.get_parts(shape, return_index=False)
        if part.geom_type == "Polygon" and part.area > 1e-9
    ]
    parts.sort(key=lambda p: (-round(p.area, 6), p.bounds))
    return tuple(one_from_shapely(part) for part in parts)


def one_from_shapely(polygon: Any) -> Region:
    """Give a polygon of shapely as a region."""
    polygon = shapely.orient_polygons(polygon)
    rings = [
        tuple(map(tuple, shapely.get_coordinates(ring)[:-1].tolist()))
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    return Region(rings[0], tuple(rings[1:]))


def region_of(outer: Points, holes: Iterable[Points] = ()) -> Region:
    """Make a region of flattened rings, whichever way they run."""
    return one_from_shapely(shapely.Polygon(outer, list(holes)))


def crossing(ring: Points, holes: Sequence[Points] = ()) -> Point | None:
    """Where a closed polyline crosses or touches itself, or None when it does not.

    With holes also where one crosses another or the ring, or stands in another.
    """
    reason = shapely.is_valid_reason(shapely.Polygon(ring, list(holes)))
    if reason == "Valid Geometry" or "[" not in reason:
        return None
    if not holes and "Self-intersection" not in reason:
        return None
    x, y = reason.split("[")[1].rstrip("]").split()[:2]
    return (float(x), float(y))


MOST_MEETINGS = 200_000
"""Most pairs of chords whose boxes meet when rings are joined: under a second of work."""


def filled(rings: Iterable[Points], *, even_odd: bool = False) -> tuple[Region, ...]:
    """Give what closed polylines enclose by a fill rule (SVG 2 section 13.4.2).

    Rings may cross themselves and each other: every face of the plane that they make
    is asked how often they wind round it. Raises ValueError where they cross so often
    that this takes too long.
    """
    usable = [ring for ring in rings if len(ring) > 2]
    if not usable:
        return ()
    if len(usable) == 1 and (single := shapely.Polygon(usable[0])).is_valid:
        return from_shapely(single)
    _refuse_tangle(usable)
    lines = shapely.union_all([shapely.LinearRing(ring) for ring in usable])
    kept = []
    for face in shapely.get_parts(shapely.polygonize(list(shapely.get_parts(lines)))):
        turns = _winding(usable, face.representative_point())
        if turns % 2 if even_odd else turns:
            kept.append(face)
    return from_shapely(shapely.union_all(kept))


def _refuse_tangle(rings: Sequence[Points]) -> None:
    """Count the chords whose boxes meet, a few at a time; ValueError for too many."""
    starts = np.concatenate(rings)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    chords = shapely.linestrings(np.stack([starts, ends], axis=1))
    tree, meetings = shapely.STRtree(chords), 0
    for first in range(0, len(chords), 200):
        meetings += tree.query(chords[first : first + 200]).shape[1]
        if meetings > MOST_MEETINGS + 10 * len(chords):
            raise ValueError("lines cross each other too often")


def _winding(rings: Sequence[Points], at: Any) -> int:
    """How often rings run round a point, counter-clockwise ones counted up."""
    turns = 0
    for ring in rings:
        x, y = ring[:, 0], ring[:, 1]
        x2, y2 = np.roll(x, -1), np.roll(y, -1)
        left = (x2 - x) * (at.y - y) - (at.x - x) * (y2 - y)
        turns += int(((y <= at.y) & (y2 > at.y) & (left > 0)).sum())
        turns -= int(((y > at.y) & (y2 <= at.y) & (left < 0)).sum())
    return turns


class Window:
    """Regions that lines are seen through."""

    def __init__(self, regions: Iterable[Region], slack_mm: float) -> None:
        """Lines at most `slack_mm` outside still count as inside."""
        self._seen = shapely.union_all([as_shapely(region) for region in regions])
        self._wide = self._seen.buffer(slack_mm)
        shapely.prepare(self._wide)

    def shows_all(self, points: Points) -> bool:
        """Whether a polyline is seen whole."""
        return bool(self._wide.covers(shapely.LineString(points)))

    def parts(self, points: Points) -> tuple[Points, ...]:
        """Cut a polyline down to what is seen; pieces that meet stay one."""
        left = shapely.line_merge(shapely.LineString(points).intersection(self._seen))
        return tuple(
            shapely.get_coordinates(part)
            for part in shapely.get_parts(left)
            if part.geom_type == "LineString" and part.length > NODE_GRID_MM
        )

    def area(self, regions: Iterable[Region]) -> tuple[Region, ...]:
        """Give what is seen of regions, largest part first."""
        whole = shapely.union_all([as_shapely(region) for region in regions])
        return from_shapely(whole.intersection(self._seen))


def keep_away(
    panel: Region,
    from_lines: Iterable[tuple[Points, bool, float]],
    from_areas: Iterable[tuple[Points, float]] = (),
) -> tuple[Region, ...]:
    """Take from a panel all that is nearer to a line than its distance.

    Each line is (points, closed, distance_mm), each area (points of its edge,
    distance_mm): of an area the inside is taken too. Gives the parts left, largest first;
    none when nothing is left. This is the erosion of the panel by a disc along each
    line: a Minkowski inset with its own distance per kind of edge.
    """
    bands = [
        shapely.Polygon(points).buffer(distance_mm, quad_segs=chords(distance_mm))
        for points, distance_mm in from_areas
    ]
    for points, closed, distance_mm in from_lines:
        line = shapely.LinearRing(points) if closed else shapely.LineString(points)
        bands.append(line.buffer(distance_mm, quad_segs=chords(distance_mm)))
    left = as_shapely(panel)
    if bands:
        left = left.difference(shapely.union_all(bands))
    return from_shapely(left)


def chords(radius_mm: float) -> int:
    """Count the chords of a quarter circle that stay within ARC_MM of it."""
    if radius_mm <= ARC_MM:
        return ARC_CHORDS
    step = 2 * math.acos(1 - ARC_MM / radius_mm)
    return max(ARC_CHORDS, math.ceil(math.pi / 2 / step))


def grown(region: Region, by_mm: float) -> Region:
    """Grow a region outward by a distance (negative shrinks). Holes of it shrink."""
    parts = from_shapely(as_shapely(region).buffer(by_mm, quad_segs=ARC_CHORDS))
    if not parts:
        raise ValueError(f"nothing is left of the region after {by_mm} mm")
    return parts[0]


def rounded(polygons: Sequence[Points], by_mm: float) -> tuple[Region, ...]:
    """Grow polygons by a distance, with round corners, and join what meets."""
    whole = shapely.union_all([shapely.Polygon(corners) for corners in polygons])
    return from_shapely(whole.buffer(by_mm, quad_segs=ARC_CHORDS))


def cleared(region: Region, rings: Sequence[Points]) -> tuple[Region, ...]:
    """Take what lies inside of closed rings from a region; the largest part left first."""
    taken = shapely.union_all([shapely.Polygon(ring) for ring in rings])
    return from_shapely(as_shapely(region).difference(taken))


def common(a: Region, b: Region) -> tuple[Region, ...]:
    """Give the parts that two regions share, largest first."""
    return from_shapely(as_shapely(a).intersection(as_shapely(b)))


def without(region: Region, other: Region) -> tuple[Region, ...]:
    """Give the parts of a region that another leaves of it, largest first."""
    return from_shapely(as_shapely(region).difference(as_shapely(other)))


def covers(region: Region, rings: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell which polygons, given as corners of shape (..., k, 2), lie in a region."""
    shape = as_shapely(region)
    shapely.prepare(shape)
    out: NDArray[np.bool_] = shapely.covers(shape, shapely.polygons(rings))
    return out


def sector(
    centre: Point,
    inner_mm: float,
    outer_mm: float,
    middle_deg: float = 0.0,
    span_deg: float = 360.0,
) -> Region:
    """Give the part of a ring about an angle (counter-clockwise from the right).

    Both circles are flattened towards the middle of the ring, so that it holds no more
    than the true one; a whole ring has a hole, unless it reaches its centre.
    """
    chords = max(8, math.ceil(span_deg / 360 * 4 * RING_CHORDS))
    half = math.radians(span_deg) / 2
    turns = math.radians(middle_deg) + np.linspace(-half, half, chords + 1)
    way = np.column_stack([np.cos(turns), np.sin(turns)])
    # Chords of the inner circle touch it from outside.
    inner = way * inner_mm / math.cos(half / chords) + centre
    outer = way * outer_mm + centre
    if span_deg < 360:
        return region_of(np.concatenate([outer, inner[::-1]]))
    holes = [inner[:-1]] if inner_mm > 0 else []
    return region_of(outer[:-1], holes)


def touches(a: Region, b: Region) -> bool:
    """Whether two regions share any area (more than float noise)."""
    return bool(as_shapely(a).intersection(as_shapely(b)).area > 1e-9)


MOST_CORNERS = 300
"""A region with more corners is made plainer before words are fitted into it."""
PLAINER_MM = (0.02, 0.04, 0.08, 0.16)
"""How much that may take from it, the least first: as much as a curve may leave its
chords; more only for edges that are rougher than any pen draws."""


def plainer(region: Region) -> Region:
    """Give a region of many corners with fewer: it lies in the first, near its edge."""
    out = region
    for by_mm in PLAINER_MM:
        if sum(map(len, (out.outer, *out.holes))) <= MOST_CORNERS:
            break
        inner = as_shapely(region).buffer(-by_mm / 2, quad_segs=1, join_style="mitre")
        out = next(iter(from_shapely(inner.simplify(by_mm / 2))), out)
    return out


def plain_corners(region: Region, slack_mm: float) -> tuple[Points, ...]:
    """Give the corners of the outer ring, those left out that matter less than a slack."""
    ring = shapely.LinearRing(region.outer)
    # The ring may begin in the middle of a side, where simplifying keeps a point.
    turned = shapely.get_coordinates(shapely.Polygon(ring).convex_hull.exterior)[:-1]
    if shapely.Polygon(turned).area > as_shapely(region).area * 1.02:
        return ()
    for _ in range(2):
        simple = shapely.LinearRing(turned).simplify(slack_mm)
        turned = np.roll(shapely.get_coordinates(simple)[:-1], -1, axis=0)
    return tuple(turned)


def gap_mm(region: Region, points: Points, *, closed: bool) -> float:
    """Distance from a region to a polyline; 0 where they meet."""
    line = shapely.LinearRing(points) if closed else shapely.LineString(points)
    return float(as_shapely(region).distance(line))


def past(region: Region, points: Points, slack_mm: float) -> Point | None:
    """Where an open polyline runs out of a region by more than a little; None nowhere."""
    wide = as_shapely(region).buffer(slack_mm)
    out = shapely.LineString(points).difference(wide)
    if out.is_empty:
        return None
    longest = max(shapely.get_parts(out), key=lambda part: part.length)
    at = longest.interpolate(0.5, normalized=True)
    return (float(at.x), float(at.y))


def severed(region: Region, lines: Sequence[Points], width_mm: float) -> tuple[Region, ...]:
    """Give the parts into which open lines cut a region, largest first."""
    cut = shapely.union_all([shapely.LineString(line) for line in lines])
    return from_shapely(as_shapely(region).difference(cut.buffer(width_mm / 2)))


def distance_mm(lines: Iterable[Points], point: Point, *, closed: bool = True) -> float:
    """Distance from a point to the nearest of some polylines; infinite without any."""
    drawn = [
        shapely.LinearRing(line) if closed else shapely.LineString(line) for line in lines
    ]
    at = shapely.Point(point)
    return float(min((one.distance(at) for one in drawn), default=np.inf))


class Rims:
    """Closed polylines, asked how near polygons come to them."""

    def __init__(self, rings: Sequence[Points]) -> None:
        self._lines = shapely.union_all([shapely.LinearRing(ring) for ring in rings])
        shapely.prepare(self._lines)

    def gap_mm(self, corners: Points) -> float:
        """Distance from a polygon to the nearest of the lines; 0 where they meet."""
        return float(shapely.distance(self._lines, shapely.Polygon(corners)))

    def between(self, corners: Points) -> Point:
        """Give the middle of the shortest way from a polygon to the lines."""
        way = shapely.shortest_line(self._lines, shapely.Polygon(corners))
        x, y = shapely.get_coordinates(way).mean(axis=0).tolist()
        return (x, y)


def middle_of(region: Region) -> Point:
    """Give a point well inside a region.

    It is the centroid, or where that is outside or near an edge the centre of the largest
    circle in the region.
    """
    shape = as_shapely(region)
    circle = shapely.maximum_inscribed_circle(shape, tolerance=0.05)
    centre, radius = shapely.get_coordinates(circle)[0], circle.length
    if (
        shape.contains(shape.centroid)
        and shape.boundary.distance(shape.centroid) > radius / 2
    ):
        return (float(shape.centroid.x), float(shape.centroid.y))
    return (float(centre[0]), float(centre[1]))
