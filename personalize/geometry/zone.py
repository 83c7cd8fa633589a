"""Regions with holes: cutting a piece into panels, insetting, intersecting.

The only module that uses shapely. Everything is in mm with y up; curves arrive here
already flattened.
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
SLIVER_MM2 = 1.0
"""Faces smaller than this are doubled or crossing lines, not panels."""
REACH_MM = 1.0
"""A crease that stops this short of another line is taken to reach it."""


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
        return float(_shape(self).area)

    @property
    def centroid(self) -> Point:
        """Centre of the area."""
        point = _shape(self).centroid
        return (point.x, point.y)

    def contains(self, point: Point) -> bool:
        """Whether a point lies in the region or on its edge."""
        return bool(_shape(self).intersects(shapely.Point(point)))


@dataclass(frozen=True, slots=True)
class Faces:
    """What creases make of a piece: its panels, and creases that end inside a panel."""

    panels: tuple[Region, ...]
    loose_ends: tuple[tuple[Point, ...], ...]


def _shape(region: Region) -> Any:
    return shapely.Polygon(region.outer, region.holes)


def _regions(shape: Any) -> tuple[Region, ...]:
    """Polygons of any shapely result, largest first, the rest (lines, points) dropped."""
    parts = [
        part
        for part in shapely.get_parts(shape, return_index=False)
        if part.geom_type == "Polygon" and part.area > 1e-9
    ]
    parts.sort(key=lambda p: (-round(p.area, 6), p.bounds))
    return tuple(_region(part) for part in parts)


def _region(polygon: Any) -> Region:
    polygon = shapely.orient_polygons(polygon)
    rings = [
        tuple(map(tuple, shapely.get_coordinates(ring)[:-1].tolist()))
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    return Region(rings[0], tuple(rings[1:]))


def region_of(outer: Points, holes: Iterable[Points] = ()) -> Region:
    """Make a region of flattened rings, whichever way they run."""
    return _region(shapely.Polygon(outer, list(holes)))


def crossing(ring: Points) -> Point | None:
    """Where a closed polyline crosses or touches itself, or None when it does not."""
    reason = shapely.is_valid_reason(shapely.Polygon(ring))
    if not reason.startswith(("Self-intersection", "Ring Self-intersection")):
        return None
    x, y = reason.split("[")[1].rstrip("]").split()[:2]
    return (float(x), float(y))


def _stretched(crease: Points) -> Points:
    """Lengthen a polyline by REACH_MM at both ends, along its own end directions."""
    first, last = crease[0] - crease[1], crease[-1] - crease[-2]
    out = crease.astype(float).copy()
    out[0] += first / np.hypot(*first) * REACH_MM
    out[-1] += last / np.hypot(*last) * REACH_MM
    return out


def cut_into_panels(
    outline: Points, holes: Sequence[Points], creases: Sequence[Points]
) -> Faces:
    """Cut a piece along its creases.

    `outline` and `holes` are closed, `creases` open polylines, all of shape (n, 2).
    Ends that miss another line by less than REACH_MM are taken to meet it.
    """
    piece = shapely.Polygon(outline, holes)
    lines = [shapely.LinearRing(ring) for ring in (outline, *holes)]
    lines += [shapely.LineString(_stretched(crease)) for crease in creases]
    noded = shapely.union_all(np.array(lines), grid_size=NODE_GRID_MM)
    faces, _, dangles, _ = shapely.polygonize_full(list(shapely.get_parts(noded)))
    panels = [
        face
        for face in shapely.get_parts(faces)
        if face.area >= SLIVER_MM2 and piece.contains(face.representative_point())
    ]
    panels.sort(key=lambda p: (-round(p.centroid.y, 3), round(p.centroid.x, 3)))
    inside = [
        part
        for part in shapely.get_parts(dangles)
        if part.length > REACH_MM + 2 * NODE_GRID_MM
        and piece.contains(part.interpolate(0.5, normalized=True))
    ]
    return Faces(
        tuple(_region(p) for p in panels),
        tuple(tuple(map(tuple, shapely.get_coordinates(d).tolist())) for d in inside),
    )


def keep_away(
    panel: Region, from_lines: Iterable[tuple[Points, bool, float]]
) -> tuple[Region, ...]:
    """Take from a panel all that is nearer to a line than its distance.

    Each line is (points, closed, distance_mm). Gives the parts left, largest first;
    none when nothing is left. This is the erosion of the panel by a disc along each
    line: a Minkowski inset with its own distance per kind of edge.
    """
    bands = []
    for points, closed, distance_mm in from_lines:
        line = shapely.LinearRing(points) if closed else shapely.LineString(points)
        bands.append(line.buffer(distance_mm, quad_segs=_chords(distance_mm)))
    left = _shape(panel)
    if bands:
        left = left.difference(shapely.union_all(bands))
    return _regions(left)


def _chords(radius_mm: float) -> int:
    """Count the chords of a quarter circle that stay within ARC_MM of it."""
    if radius_mm <= ARC_MM:
        return ARC_CHORDS
    step = 2 * math.acos(1 - ARC_MM / radius_mm)
    return max(ARC_CHORDS, math.ceil(math.pi / 2 / step))


def grown(region: Region, by_mm: float) -> Region:
    """Grow a region outward by a distance (negative shrinks). Holes of it shrink."""
    parts = _regions(_shape(region).buffer(by_mm, quad_segs=ARC_CHORDS))
    if not parts:
        raise ValueError(f"nothing is left of the region after {by_mm} mm")
    return parts[0]


def common(a: Region, b: Region) -> tuple[Region, ...]:
    """Give the parts that two regions share, largest first."""
    return _regions(_shape(a).intersection(_shape(b)))


def without(region: Region, other: Region) -> tuple[Region, ...]:
    """Give the parts of a region that another leaves of it, largest first."""
    return _regions(_shape(region).difference(_shape(other)))


def covers(region: Region, rings: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell which polygons, given as corners of shape (..., k, 2), lie in a region."""
    shape = _shape(region)
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
    return bool(_shape(a).intersection(_shape(b)).area > 1e-9)


def shared_border(a: Region, b: Region) -> tuple[Point, Point] | None:
    """Ends of the longest stretch of border that two panels have in common.

    None when they only meet in points.
    """
    shared = _shape(a).boundary.intersection(_shape(b).boundary)
    lines = [p for p in shapely.get_parts(shared) if p.length > 0]
    if not lines:
        return None
    joined = shapely.get_parts(shapely.line_merge(shapely.union_all(lines)))
    longest = shapely.get_coordinates(max(joined, key=lambda line: line.length))
    return (tuple(longest[0].tolist()), tuple(longest[-1].tolist()))


def hull(region: Region) -> Points:
    """Corners of the convex hull, counter-clockwise."""
    return np.array(_region(shapely.convex_hull(_shape(region))).outer)


def pockets(region: Region) -> tuple[Points, ...]:
    """Cover what the convex hull has and the region has not by convex polygons.

    Notches and holes alike, each piece counter-clockwise. Together with the hull they
    say exactly where the region is, in a form that a separating line can be drawn to.
    """
    shape = _shape(region)
    rest = shapely.convex_hull(shape).difference(shape)
    pieces: list[Points] = []
    for part in shapely.get_parts(rest):
        if part.geom_type == "Polygon" and part.area > 1e-6:
            pieces += [np.array(_region(p).outer) for p in _convex_pieces(part)]
    return tuple(pieces)


def _convex_pieces(polygon: Any) -> list[Any]:
    if _nearly_convex(polygon):
        return [shapely.convex_hull(polygon)]
    pieces = list(shapely.get_parts(shapely.constrained_delaunay_triangles(polygon)))
    merged = True
    while merged:  # greedy joining of neighbours, as long as the join stays convex
        merged = False
        for i, j in ((a, b) for a in range(len(pieces)) for b in range(a)):
            if pieces[i].distance(pieces[j]) > 1e-9:
                continue
            joined = shapely.union(pieces[i], pieces[j])
            if joined.geom_type == "Polygon" and _nearly_convex(joined):
                pieces[j] = shapely.convex_hull(joined)
                del pieces[i]
                merged = True
                break
    return pieces


def _nearly_convex(polygon: Any) -> bool:
    """Convex but for float noise (1e-6 mm2 of hull too much loses no visible size)."""
    return bool(shapely.convex_hull(polygon).area - polygon.area < 1e-6)
