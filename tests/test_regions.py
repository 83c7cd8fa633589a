"""Regions with holes, against shapely, and the panels that creases make."""

import math
import random
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from personalize.geometry.affine import (
    Affine,
)
from personalize.geometry.convex import hull, pockets
from personalize.geometry.faces import cut_into_panels, shared_border
from personalize.geometry.path import (
    circle,
    signed_area,
)
from personalize.geometry.zone import (
    Region,
    common,
    crossing,
    grown,
    keep_away,
    region_of,
    touches,
)
from tests.geometry_made import AFFINES, near

# Regions ---------------------------------------------------------------------------------


def polygon(region: Region) -> shapely.Polygon:
    return shapely.Polygon(region.outer, region.holes)


def starry(seed: int) -> shapely.Polygon:
    """A region round about the origin with bays, and sometimes a hole."""
    rng = random.Random(seed)
    count = rng.randint(4, 14)
    turns = sorted(rng.uniform(0, 2 * math.pi) for _ in range(count))
    reach = [rng.uniform(12, 50) for _ in turns]
    star = shapely.Polygon(
        [(r * math.cos(t), r * math.sin(t)) for r, t in zip(reach, turns, strict=True)]
    ).buffer(0)
    star = star.union(shapely.Point(0, 0).buffer(10, quad_segs=3))
    if rng.random() < 0.4:
        star = star.difference(shapely.Point(rng.uniform(-4, 4), 0).buffer(4, quad_segs=4))
    return max(shapely.get_parts(star), key=lambda p: float(p.area))


def region_from(shape: shapely.Polygon) -> Region:
    rings = [shapely.get_coordinates(r)[:-1] for r in (shape.exterior, *shape.interiors)]
    return region_of(rings[0], rings[1:])


SEEDS = st.integers(0, 10**9)


@given(SEEDS, st.booleans())
def test_a_regions_rings_run_one_way_whichever_way_they_came(
    seed: int, turned: bool
) -> None:
    shape = starry(seed)
    rings = [shapely.get_coordinates(r)[:-1] for r in (shape.exterior, *shape.interiors)]
    way = -1 if turned else 1
    region = region_of(rings[0][::way], [ring[::way] for ring in rings[1:]])
    outer, *holes = region.rings()
    assert signed_area(outer) > 0
    assert all(signed_area(hole) < 0 for hole in holes)
    assert region.area_mm2 == pytest.approx(shape.area)
    assert region.centroid == pytest.approx((shape.centroid.x, shape.centroid.y))
    assert region.box == pytest.approx(shape.bounds)


@settings(max_examples=60, deadline=None)
@given(SEEDS, AFFINES)
def test_a_mapped_region_is_mapped_whole(seed: int, by: Affine) -> None:
    assume(abs(by.determinant) > 0.05)
    region = region_from(starry(seed))
    mapped = region.mapped(by)
    outer, *holes = mapped.rings()
    assert signed_area(outer) > 0
    assert all(signed_area(hole) < 0 for hole in holes)
    assert mapped.area_mm2 == pytest.approx(abs(by.determinant) * region.area_mm2, rel=1e-6)
    assert near(mapped.centroid, by(region.centroid), 1e-4)
    point = shapely.point_on_surface(polygon(region))
    assert mapped.contains(by((point.x, point.y)))


def test_the_edge_of_a_region_belongs_to_it_and_a_hole_does_not() -> None:
    region = region_of(
        np.array([(0, 0), (10, 0), (10, 10), (0, 10)]),
        [np.array([(4, 4), (6, 4), (6, 6), (4, 6)])],
    )
    assert region.contains((10, 5))
    assert region.contains((1, 1))
    assert region.contains((6, 5))
    assert not region.contains((5, 5))
    assert not region.contains((10.001, 5))


@settings(max_examples=80, deadline=None)
@given(SEEDS, st.floats(0.1, 6))
def test_what_keeps_away_from_an_edge_is_never_nearer_than_told(
    seed: int, distance: float
) -> None:
    shape = starry(seed)
    region = region_from(shape)
    ring = shapely.get_coordinates(shape.exterior)[:-1]
    parts = keep_away(region, [(ring, True, distance)])
    # A corner that the margin rounds is drawn with chords, under 0.4 % of the margin off.
    exact = shape.difference(shape.exterior.buffer(distance, quad_segs=200))
    assert sum(p.area_mm2 for p in parts) == pytest.approx(
        exact.area, abs=0.02 * distance**2 + 1e-3
    )
    for part in parts:
        assert shape.buffer(1e-6).covers(polygon(part))
        assert polygon(part).distance(shape.exterior) >= distance * (1 - 0.004)
    areas = [round(p.area_mm2, 6) for p in parts]
    assert areas == sorted(areas, reverse=True)


def test_an_open_line_is_kept_from_at_its_ends_too() -> None:
    region = region_of(np.array([(0, 0), (40, 0), (40, 40), (0, 40)]))
    line = np.array([(10.0, 20.0), (30.0, 20.0)])
    (left,) = keep_away(region, [(line, False, 4.0)])
    lost = 20 * 8 + math.pi * 16
    assert left.area_mm2 == pytest.approx(1600 - lost, abs=0.1)
    assert keep_away(region, [(line, False, 60.0)]) == ()
    assert keep_away(region, []) == (region,)


# Steiner's formula for convex shapes, A + P r + pi r^2 (from memory), worked by hand.
def test_a_rectangle_grown_has_rounded_corners() -> None:
    card = region_of(np.array([(0, 0), (80, 0), (80, 50), (0, 50)]))
    assert grown(card, 5).area_mm2 == pytest.approx(5378.54, abs=0.15)
    assert grown(card, -5).area_mm2 == pytest.approx(70 * 40)
    with pytest.raises(ValueError, match="nothing is left"):
        grown(card, -25)


def test_common_parts_are_what_both_have() -> None:
    one = region_of(np.array([(0, 0), (60, 0), (60, 10), (0, 10)]))
    comb = region_of(
        np.array([(0, 5), (20, 5), (20, 12), (30, 12), (30, 5), (60, 5), (60, 20), (0, 20)])
    )
    parts = common(one, comb)
    assert [part.area_mm2 for part in parts] == pytest.approx([150, 100])
    apart = region_of(np.array([(60, 0), (70, 0), (70, 10), (60, 10)]))
    assert common(one, apart) == ()
    assert touches(one, comb)
    assert not touches(one, apart)  # an edge is no area


def box_region(x0: float, y0: float, x1: float, y1: float) -> Region:
    return region_of(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))


def test_a_shared_border_is_the_longest_stretch_in_common() -> None:
    left, right = box_region(0, 0, 10, 30), box_region(10, 5, 20, 45)
    border = shared_border(left, right)
    assert border is not None
    assert sorted(border) == [(10, 5), (10, 30)]
    assert shared_border(left, box_region(10, 30, 20, 40)) is None  # a corner
    assert shared_border(left, box_region(40, 0, 50, 30)) is None  # nothing


@settings(max_examples=100, deadline=None)
@given(SEEDS)
def test_hull_and_pockets_say_exactly_where_a_region_is(seed: int) -> None:
    shape = starry(seed)
    region = region_from(shape)
    corners = hull(region)
    assert signed_area(corners) > 0
    around = shapely.Polygon(corners)
    assert around.equals_exact(around.convex_hull, 1e-9) or around.area == pytest.approx(
        around.convex_hull.area
    )
    pieces = [shapely.Polygon(piece) for piece in pockets(region)]
    for points, piece in zip(pockets(region), pieces, strict=True):
        assert signed_area(points) > 0
        assert piece.convex_hull.area - piece.area < 1e-5
        assert piece.intersection(shape).area < 1e-4
    rest = shapely.union_all(pieces) if pieces else shapely.Polygon()
    assert rest.union(shape).symmetric_difference(around).area < 1e-3 * max(1, len(pieces))


def test_a_convex_region_has_no_pockets() -> None:
    assert pockets(box_region(0, 0, 10, 5)) == ()
    assert pockets(region_of(circle((0, 0), 9).flattened(0.02))) == ()


def test_a_line_that_crosses_itself_is_found_where_it_does() -> None:
    bow = np.array([(0, 0), (10, 10), (10, 0), (0, 10)], dtype=float)
    assert crossing(bow) == pytest.approx((5, 5))
    assert crossing(np.array([(0, 0), (10, 0), (10, 10), (0, 10)], dtype=float)) is None


# Panels ----------------------------------------------------------------------------------

CARD = np.array([(0, 0), (90, 0), (90, 40), (0, 40)], dtype=float)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(3, 87), min_size=1, max_size=5, unique=True), st.floats(-0.9, 3))
def test_creases_cut_a_piece_into_panels_that_make_it_up(
    across: list[float], beyond: float
) -> None:
    xs = sorted(across)
    assume(all(b - a > 0.5 for a, b in pairwise(xs)))
    creases = [np.array([(x, -beyond), (x, 40 + beyond)]) for x in xs]
    faces = cut_into_panels(CARD, [], creases)
    assert len(faces.panels) == len(xs) + 1
    assert faces.loose_ends == ()
    assert sum(p.area_mm2 for p in faces.panels) == pytest.approx(3600, abs=0.5)
    widths = sorted(p.box[0] for p in faces.panels)
    assert widths == pytest.approx([0, *xs], abs=0.002)


def test_a_hole_is_no_panel_and_a_crease_through_it_is_cut_there() -> None:
    hole = circle((45, 20), 6).flattened(0.01)
    faces = cut_into_panels(CARD, [hole], [np.array([(45.0, 0.0), (45.0, 40.0)])])
    assert len(faces.panels) == 2
    assert sum(p.area_mm2 for p in faces.panels) == pytest.approx(
        3600 - math.pi * 36, abs=0.5
    )
    assert not any(p.contains((45, 20)) for p in faces.panels)


def test_a_crease_that_ends_inside_is_told_of() -> None:
    faces = cut_into_panels(CARD, [], [np.array([(45.0, 0.0), (45.0, 30.0)])])
    assert len(faces.panels) == 1
    assert len(faces.loose_ends) == 1


def test_panels_come_in_reading_order() -> None:
    creases = [np.array([(0.0, 20.0), (90.0, 20.0)]), np.array([(45.0, 0.0), (45.0, 40.0)])]
    faces = cut_into_panels(CARD, [], creases)
    middles = [tuple(round(v) for v in p.centroid) for p in faces.panels]
    assert middles == [(22, 30), (68, 30), (22, 10), (68, 10)]
