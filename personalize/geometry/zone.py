"""Regions with holes: cutting a piece into panels, insetting, intersecting.

The only module that uses shapely. Everything is in mm with y up; curves arrive here
already flattened.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from personalize.geometry.affine import Affine, Point, Points
from personalize.geometry.chains import chained

ARC_CHORDS = 16
"""Chords in a quarter of a rounded corner. The corner of a 4 mm margin then leaves the
true arc by 4 (1 - cos(pi/64)) = 0.005 mm, half of what print and cut may disagree by."""
NODE_GRID_MM = 1e-3
"""Grid on which lines are joined before they are cut into faces; measured to mend ends
that miss by float noise, and a tenth of the tolerance."""
SLIVER_MM2 = 1.0
"""Faces smaller than this are doubled or crossing lines, not panels."""
SLIVER_MM = 0.5
"""Faces narrower than this everywhere lie between lines that were drawn twice."""
REACH_MM = 1.0
"""A crease that stops this short of another line is taken to reach it."""
GAP_SHARE = 1.3
"""A dashed crease may end with a gap: it reaches this much of its own mean gap further."""


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


def _stretched(crease: Points, by_mm: float) -> Points:
    """Lengthen a polyline at both ends, along its own end directions."""
    first, last = crease[0] - crease[1], crease[-1] - crease[-2]
    out = crease.astype(float).copy()
    out[0] += first / np.hypot(*first) * by_mm
    out[-1] += last / np.hypot(*last) * by_mm
    return out


def cut_into_panels(
    outline: Points, holes: Sequence[Points], creases: Sequence[Points]
) -> Faces:
    """Cut a piece along its creases.

    `outline` and `holes` are closed, `creases` open polylines, all of shape (n, 2).
    Creases drawn dash by dash are joined first. An end that misses another line by less
    than `REACH_MM`, or than `GAP_SHARE` of the gaps in its own line, is taken to meet
    it. Lines drawn twice make no panel between them.
    """
    piece = shapely.Polygon(outline, holes)
    chains = [(line, max(REACH_MM, GAP_SHARE * gap)) for line, gap in chained(creases)]
    lines = [shapely.LinearRing(ring) for ring in (outline, *holes)]
    lines += [shapely.LineString(_stretched(line, reach)) for line, reach in chains]
    noded = shapely.union_all(np.array(lines), grid_size=NODE_GRID_MM)
    faces, _, dangles, _ = shapely.polygonize_full(list(shapely.get_parts(noded)))
    panels = _without_slivers(
        [
            face
            for face in shapely.get_parts(faces)
            if piece.contains(face.representative_point())
        ]
    )
    panels.sort(key=lambda p: (-round(p.centroid.y, 3), round(p.centroid.x, 3)))
    reach = max((reach for _, reach in chains), default=REACH_MM)
    inside = [
        part
        for part in shapely.get_parts(dangles)
        if part.length > reach + REACH_MM + 2 * NODE_GRID_MM
        and piece.contains(part.interpolate(0.5, normalized=True))
    ]
    return Faces(
        tuple(_region(p) for p in panels),
        tuple(tuple(map(tuple, shapely.get_coordinates(d).tolist())) for d in inside),
    )


def _without_slivers(faces: list[Any]) -> list[Any]:
    """Give what lies between lines drawn twice to the panel that it borders on most."""
    thin = [face for face in faces if _is_sliver(face)]
    kept = [face for face in faces if not _is_sliver(face)]
    for sliver in sorted(thin, key=lambda face: -face.area):
        shared = [face.intersection(sliver).length for face in kept]
        if shared and max(shared) > 0:
            at = int(np.argmax(shared))
            joined = shapely.union(kept[at], sliver)
            if joined.geom_type == "Polygon":
                kept[at] = joined
    return kept


def _is_sliver(face: Any) -> bool:
    if face.area < SLIVER_MM2:
        return True
    if face.area > SLIVER_MM * face.length:  # wider than that on the whole
        return False
    return bool(
        shapely.maximum_inscribed_circle(face, tolerance=0.02).length < SLIVER_MM / 2
    )


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
        return _regions(single)
    _refuse_tangle(usable)
    lines = shapely.union_all([shapely.LinearRing(ring) for ring in usable])
    kept = []
    for face in shapely.get_parts(shapely.polygonize(list(shapely.get_parts(lines)))):
        turns = _winding(usable, face.representative_point())
        if turns % 2 if even_odd else turns:
            kept.append(face)
    return _regions(shapely.union_all(kept))


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
        self._seen = shapely.union_all([_shape(region) for region in regions])
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
        whole = shapely.union_all([_shape(region) for region in regions])
        return _regions(whole.intersection(self._seen))


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
        bands.append(line.buffer(distance_mm, quad_segs=ARC_CHORDS))
    left = _shape(panel)
    if bands:
        left = left.difference(shapely.union_all(bands))
    return _regions(left)


def grown(region: Region, by_mm: float) -> Region:
    """Grow a region outward by a distance (negative shrinks). Holes of it shrink."""
    parts = _regions(_shape(region).buffer(by_mm, quad_segs=ARC_CHORDS))
    if not parts:
        raise ValueError(f"nothing is left of the region after {by_mm} mm")
    return parts[0]


def common(a: Region, b: Region) -> tuple[Region, ...]:
    """Give the parts that two regions share, largest first."""
    return _regions(_shape(a).intersection(_shape(b)))


def touches(a: Region, b: Region) -> bool:
    """Whether two regions share any area (more than float noise)."""
    return bool(_shape(a).intersection(_shape(b)).area > 1e-9)


def distance_mm(lines: Iterable[Points], point: Point, *, closed: bool = True) -> float:
    """Distance from a point to the nearest of some polylines; infinite without any."""
    drawn = [
        shapely.LinearRing(line) if closed else shapely.LineString(line) for line in lines
    ]
    at = shapely.Point(point)
    return float(min((one.distance(at) for one in drawn), default=np.inf))


def middle_of(region: Region) -> Point:
    """Give a point well inside a region.

    It is the centroid, or where that is outside or near an edge the centre of the largest
    circle in the region.
    """
    shape = _shape(region)
    circle = shapely.maximum_inscribed_circle(shape, tolerance=0.05)
    centre, radius = shapely.get_coordinates(circle)[0], circle.length
    if (
        shape.contains(shape.centroid)
        and shape.boundary.distance(shape.centroid) > radius / 2
    ):
        return (float(shape.centroid.x), float(shape.centroid.y))
    return (float(centre[0]), float(centre[1]))


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
    if np.array_equal(longest[0], longest[-1]):
        return None  # one panel lies in a hole of the other: nothing folds there
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
