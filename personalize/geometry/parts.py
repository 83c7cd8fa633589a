"""Shapes in several parts, put together, moved, compared; regions asked of many points."""

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from personalize.geometry.affine import Points
from personalize.geometry.zone import Region, as_shapely, chords, from_shapely, region_of


def offset(regions: Iterable[Region], by_mm: float) -> tuple[Region, ...]:
    """Move the edges of regions outward (negative: inward), with round corners.

    What meets is joined. Gives the parts left, largest first; none when nothing is left.
    """
    whole = shapely.union_all([as_shapely(region) for region in regions])
    return from_shapely(whole.buffer(by_mm, quad_segs=chords(abs(by_mm))))


def nested(outer: Sequence[Points], holes: Sequence[Points]) -> tuple[Region, ...]:
    """Give each hole to the smallest outline round it; the largest region first.

    No ring may cross another. A hole that lies in none is left out.
    """
    shapes = sorted((shapely.Polygon(ring) for ring in outer), key=lambda one: one.area)
    mine: list[list[Points]] = [[] for _ in shapes]
    tree = shapely.STRtree(shapes)
    for hole in holes:
        around = tree.query(shapely.Point(hole[0]), predicate="within")
        if len(around):
            mine[int(around.min())].append(hole)
    parts = [
        region_of(shapely.get_coordinates(shape.exterior)[:-1], own)
        for shape, own in zip(shapes, mine, strict=True)
    ]
    return tuple(sorted(parts, key=lambda one: -one.area_mm2))


def apart_mm(a: Region, b: Region) -> float:
    """How far the outer rings of two regions are apart where they are furthest apart."""
    one, other = (shapely.LinearRing(r.outer) for r in (a, b))
    return float(shapely.hausdorff_distance(one, other, densify=0.05))


def reach_past_mm(region: Region, other: Region) -> float:
    """How far another region reaches out of one, 0 where it lies inside."""
    points = shapely.points(np.array(other.outer))
    return float(shapely.distance(as_shapely(region), points).max())


def inside(region: Region, points: Points) -> NDArray[np.bool_]:
    """Tell which points, shape (n, 2), lie in a region or on its edge: shape (n,)."""
    shape = as_shapely(region)
    shapely.prepare(shape)
    found: NDArray[np.bool_] = shapely.intersects_xy(shape, points)
    return found


def farthest_mm(points: Points, line: Points, *, closed: bool) -> float:
    """Distance from a polyline to the point that is farthest from it; 0 for no points."""
    shape = shapely.LinearRing(line) if closed else shapely.LineString(line)
    shapely.prepare(shape)
    return float(shapely.distance(shape, shapely.points(points)).max(initial=0.0))
