"""Hulls and convex parts of regions, for fitting words in and laying pieces out."""

import heapq
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely

from personalize.geometry.affine import Points
from personalize.geometry.zone import Region, as_shapely, one_from_shapely

_FEW_CHORDS, _FEW_CORNERS = 5, 30
"""Chords and corners that do where pieces are laid out."""
_HAIR_MM = 1e-6
_MANY_CORNERS = 100
"""An outline of more corners than that is simplified further: the work grows with the
square of its parts."""
_ROUGHER = 4
"""So often the slack may be doubled for that: 1.6 mm where 0.1 mm is asked."""


def hull(region: Region) -> Points:
    """Corners of the convex hull, counter-clockwise."""
    return np.array(one_from_shapely(shapely.convex_hull(as_shapely(region))).outer)


def pockets(region: Region) -> tuple[Points, ...]:
    """Cover what the convex hull has and the region has not by convex polygons.

    Notches and holes alike, each piece counter-clockwise. Together with the hull they
    say exactly where the region is, in a form that a separating line can be drawn to.
    """
    shape = as_shapely(region)
    rest = shapely.convex_hull(shape).difference(shape)
    pieces: list[Points] = []
    for part in shapely.get_parts(rest):
        if part.geom_type == "Polygon" and part.area > 1e-6:
            pieces += [np.array(one_from_shapely(p).outer) for p in _convex_pieces(part)]
    return tuple(pieces)


def _convex_pieces(polygon: Any) -> list[Any]:
    if _nearly_convex(polygon):
        return [shapely.convex_hull(polygon)]
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    return _joined(list(triangles))


def _joined(pieces: list[Any]) -> list[Any]:
    """Join neighbours greedily, the first in order first, as long as the join is convex.

    What could not be joined once never can, so each pair is asked once; a join has the
    neighbours of both.
    """
    near: list[set[int]] = [set() for _ in pieces]
    tree = shapely.STRtree(pieces)
    pairs = tree.query(pieces, predicate="dwithin", distance=1e-9)
    for i, j in pairs.T.tolist():
        if i != j:
            near[i].add(j)
    queue = [(i, j) for i, others in enumerate(near) for j in others if j < i]
    heapq.heapify(queue)
    gone: set[int] = set()
    while queue:
        i, j = heapq.heappop(queue)
        if i in gone or j in gone:
            continue
        joined = shapely.union(pieces[i], pieces[j])
        if joined.geom_type != "Polygon" or not _nearly_convex(joined):
            continue
        pieces[j] = shapely.convex_hull(joined)
        gone.add(i)
        near[j] = (near[i] | near[j]) - gone - {j}
        for other in near[j]:
            near[other].add(j)
            heapq.heappush(queue, (max(j, other), min(j, other)))
    return [piece for i, piece in enumerate(pieces) if i not in gone]


def _nearly_convex(polygon: Any) -> bool:
    """Convex but for float noise (1e-6 mm2 of hull too much loses no visible size)."""
    return bool(shapely.convex_hull(polygon).area - polygon.area < 1e-6)


def hull_of(points: Points) -> Points:
    """Corners of the convex hull of points, counter-clockwise: shape (n, 2)."""
    corners = shapely.get_coordinates(shapely.convex_hull(shapely.MultiPoint(points)))
    ring: Points = corners[:-1]
    return ring if shapely.is_ccw(shapely.LinearRing(corners)) else ring[::-1]


def convex_parts(region: Region, by_mm: float, rough_mm: float) -> tuple[Points, ...]:
    """Cover the outline of a region, grown by a distance, with convex parts.

    The parts hold all of it and reach past it by little more than `rough_mm`, which is
    how far curves are simplified. Holes count as filled.
    """
    solid = shapely.Polygon(region.outer)
    # Chords of the growing arcs lie inside: a hair more keeps the distance.
    chord = 1 / math.cos(math.pi / (4 * _FEW_CHORDS))
    out = solid.buffer(by_mm * chord, quad_segs=_FEW_CHORDS) if by_mm > _HAIR_MM else solid
    if len(out.exterior.coords) > _FEW_CORNERS:
        plain = out.buffer(rough_mm / 2, quad_segs=2).simplify(rough_mm / 2)
        for _ in range(_ROUGHER):
            if len(plain.exterior.coords) <= _MANY_CORNERS:
                break
            rough_mm *= 2
            plain = plain.buffer(rough_mm / 2, quad_segs=2).simplify(rough_mm / 2)
        out = plain
    return tuple(np.array(one_from_shapely(part).outer) for part in _convex_pieces(out))


def lie_apart(
    regions: Sequence[Region],
    least_mm: float,
    area: tuple[float, float, float, float],
    edge_mm: float,
    clear: Sequence[tuple[float, float, float, float]],
) -> bool:
    """Whether regions keep a distance from each other, and from what must stay clear.

    Each stays `edge_mm` inside of the box `area` and outside of the boxes in `clear`.
    """
    shapes = np.array([as_shapely(region) for region in regions], dtype=object)
    x0, y0, x1, y1 = area
    inside = shapely.box(
        x0 + edge_mm - _HAIR_MM,
        y0 + edge_mm - _HAIR_MM,
        x1 - edge_mm + _HAIR_MM,
        y1 - edge_mm + _HAIR_MM,
    )
    if not shapely.covers(inside, shapes).all():
        return False
    boxes = np.array([shapely.box(*box) for box in clear], dtype=object)
    return not (_within(boxes, shapes, edge_mm) or _within(shapes, shapes, least_mm))


def _within(ones: Any, others: Any, least_mm: float) -> bool:
    """Whether one is nearer to another than `least_mm`; where that is 0, lies over it.

    No shape is asked about itself.
    """
    tree = shapely.STRtree(others)
    if least_mm > _HAIR_MM:
        found = tree.query(ones, predicate="dwithin", distance=least_mm - _HAIR_MM)
    else:  # by more than what numbers leave of two edges that are one
        smaller = shapely.buffer(ones, -_HAIR_MM, join_style="mitre")
        found = tree.query(smaller, predicate="intersects")
    i, j = found
    return bool((i != j).any()) if ones is others else bool(i.size)
