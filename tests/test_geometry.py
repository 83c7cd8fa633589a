"""Affines, curves and regions, against formulas and against shapely and svgelements."""

import math
import random
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
import svgelements
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from personalize.geometry.affine import (
    FLIP_Y,
    IDENTITY,
    Affine,
    Point,
    reflection,
    rotation,
    scaling,
    translation,
)
from personalize.geometry.convex import hull, pockets
from personalize.geometry.faces import cut_into_panels, shared_border
from personalize.geometry.path import (
    Arc,
    Contour,
    Cubic,
    Line,
    Segment,
    arc_centre,
    arc_cubics,
    circle,
    is_straight,
    polyline,
    quadratic,
    segment_pairs,
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

Floats = NDArray[np.float64]
NUMBERS = st.floats(-200, 200)
POINTS = st.tuples(NUMBERS, NUMBERS)
AFFINES = st.builds(Affine, *[st.floats(-5, 5)] * 4, NUMBERS, NUMBERS)
ANGLES = st.floats(-720, 720)


def near(a: Point, b: Point, abs_tol: float = 1e-6) -> bool:
    return math.dist(a, b) <= abs_tol


# Affines -------------------------------------------------------------------------------


@given(AFFINES, AFFINES, POINTS)
def test_a_product_applies_its_right_side_first(f: Affine, g: Affine, p: Point) -> None:
    assert near((f @ g)(p), f(g(p)))
    assert (f @ g).determinant == pytest.approx(f.determinant * g.determinant, abs=1e-9)


@given(AFFINES, AFFINES, AFFINES)
def test_products_can_be_grouped_anyhow(f: Affine, g: Affine, h: Affine) -> None:
    assert ((f @ g) @ h).tuple == pytest.approx((f @ (g @ h)).tuple, abs=1e-6)
    assert (f @ IDENTITY) == f == (IDENTITY @ f)


@given(AFFINES, POINTS)
def test_an_inverse_undoes(f: Affine, p: Point) -> None:
    assume(abs(f.determinant) > 0.01)
    assert near(f.inverse()(f(p)), p, 1e-4)
    assert (f @ f.inverse()).tuple == pytest.approx(IDENTITY.tuple, abs=1e-4)


@given(AFFINES, st.lists(POINTS, min_size=1, max_size=9))
def test_many_points_are_mapped_like_one(f: Affine, points: list[Point]) -> None:
    out = f.many(np.array(points))
    assert out == pytest.approx(np.array([f(p) for p in points]), abs=1e-9)


@given(ANGLES, POINTS, POINTS)
@example(turn=-1e-20, about=(0.0, 0.0), p=(3.0, 4.0))
def test_a_turn_keeps_distances_and_its_centre(turn: float, about: Point, p: Point) -> None:
    r = rotation(turn, about)
    assert near(r(about), about)
    assert math.dist(r(p), about) == pytest.approx(math.dist(p, about), abs=1e-6)
    assert r.determinant == pytest.approx(1)
    x, y = p[0] - about[0], p[1] - about[1]
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    turned = (about[0] + x * cos - y * sin, about[1] + x * sin + y * cos)
    assert near(r(p), turned)


@pytest.mark.parametrize("quarters", range(-4, 9))
def test_quarter_turns_are_exact(quarters: int) -> None:
    x, y = (1j**quarters).real, (1j**quarters).imag
    assert rotation(90 * quarters)((1.0, 0.0)) == (x, y)


# Worked by hand with p' = 2 (a + ((p - a).u) u) - p.
@pytest.mark.parametrize(
    ("p", "a", "b", "mirrored"),
    [
        ((3, 1), (0, 0), (2, 1), (2.6, 1.8)),
        ((3, 1), (0, 0), (1, 1), (1, 3)),
        ((10, 4), (6, 0), (6, 9), (2, 4)),
        ((1, 2), (0, 3), (4, 0), (1.24, 2.32)),
    ],
)
def test_reflections_worked_by_hand(p: Point, a: Point, b: Point, mirrored: Point) -> None:
    assert near(reflection(a, b)(p), mirrored, 1e-12)


@given(POINTS, POINTS, POINTS)
def test_a_reflection_twice_is_nothing_and_mirrors_once(
    a: Point, b: Point, p: Point
) -> None:
    assume(math.dist(a, b) > 1)
    mirror = reflection(a, b)
    assert mirror.determinant == pytest.approx(-1)
    assert near(mirror(mirror(p)), p, 1e-5)
    assert near(mirror(a), a, 1e-5)
    assert near(mirror(b), b, 1e-5)
    assert math.dist(mirror(p), a) == pytest.approx(math.dist(p, a), abs=1e-5)


def test_small_maps_do_what_they_say() -> None:
    assert translation(2, -3)((1, 1)) == (3, -2)
    assert scaling(2)((1, 4)) == (2, 8)
    assert scaling(2, 0.5)((1, 4)) == (2, 2)
    assert FLIP_Y((1, 4)) == (1, -4)
    assert Affine(1, 2, 3, 4, 5, 6)((7, 8)) == (1 * 7 + 3 * 8 + 5, 2 * 7 + 4 * 8 + 6)
    with pytest.raises(ZeroDivisionError):
        scaling(0, 1).inverse()


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("place", range(6))
def test_no_map_holds_a_number_that_is_none(wrong: float, place: int) -> None:
    values = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0]
    values[place] = wrong
    with pytest.raises(ValueError, match="not a finite map"):
        Affine(*values)


# Arcs ----------------------------------------------------------------------------------

ARCS = st.builds(
    Arc,
    rx=st.floats(0.5, 80),
    ry=st.floats(0.5, 80),
    turn_deg=st.floats(-180, 180),
    large=st.booleans(),
    sweep=st.booleans(),
    end=POINTS,
)


def by_svgelements(start: Point, arc: Arc) -> svgelements.Arc:
    """Give the same arc as svgelements reads it (numbers mean the same with y up)."""
    flags = f"{int(arc.large)} {int(arc.sweep)}"
    path = svgelements.Path(
        f"M{start[0]!r},{start[1]!r}"
        f"A{arc.rx!r} {arc.ry!r} {arc.turn_deg!r} {flags} {arc.end[0]!r},{arc.end[1]!r}"
    )
    (found,) = (s for s in path if isinstance(s, svgelements.Arc))
    return found


def far_from(points: Floats, line: Floats) -> float:
    """Largest distance of points from a polyline."""
    return float(shapely.distance(shapely.points(points), shapely.LineString(line)).max())


def onto_unit_circle(centre: Point, rx: float, ry: float, turn_deg: float) -> Affine:
    shifted = translation(-centre[0], -centre[1])
    return scaling(1 / rx, 1 / ry) @ rotation(-turn_deg) @ shifted


@settings(max_examples=120, deadline=None)
@given(start=POINTS, arc=ARCS, tolerance=st.sampled_from([0.001, 0.02, 0.5]))
def test_flattened_arcs_keep_to_the_tolerance_of_what_svgelements_draws(
    start: Point, arc: Arc, tolerance: float
) -> None:
    assume(math.dist(start, arc.end) > 0.1)
    theirs = by_svgelements(start, arc)
    assume(max(theirs.rx, theirs.ry) < 5000)  # an arc of more than 5 m is no knife line
    samples = np.asarray(theirs.npoint(np.linspace(0, 1, 240)), dtype=float)
    ours = Contour(start, (arc,)).flattened(tolerance)
    assert near(tuple(ours[0]), start, 1e-9)
    assert near(tuple(ours[-1]), arc.end, 1e-9)
    # In both directions: no part of the arc left out, and nothing added.
    assert far_from(samples, ours) <= tolerance * 1.01 + 1e-6
    chord = float(np.hypot(*np.diff(samples, axis=0).T).max())
    assert far_from(ours, samples) <= chord**2 / min(theirs.rx, theirs.ry) + 1e-6


@settings(max_examples=120, deadline=None)
@given(start=POINTS, arc=ARCS)
def test_points_of_a_flattened_arc_lie_on_its_ellipse(start: Point, arc: Arc) -> None:
    form = arc_centre(start, arc)
    assume(form is not None and math.dist(start, arc.end) > 0.1)
    assert form is not None
    centre, rx, ry, _, span = form
    points = Contour(start, (arc,)).flattened(0.01)
    unit = (
        scaling(1 / rx, 1 / ry)
        @ rotation(-arc.turn_deg)
        @ translation(-centre[0], -centre[1])
    )
    radii = np.hypot(*unit.many(points).T)
    assert radii == pytest.approx(np.ones(len(points)), abs=1e-6)
    assert abs(span) <= 2 * math.pi + 1e-9
    assert (span > 0) is arc.sweep
    # Radii too small are grown alike, never more than needed (SVG 2, appendix B.2.5).
    assert rx / arc.rx == pytest.approx(ry / arc.ry)
    assert rx / arc.rx == pytest.approx(1) or abs(span) == pytest.approx(math.pi, abs=1e-3)
    if rx / arc.rx < 1 + 1e-9 and abs(abs(span) - math.pi) > 1e-6:
        assert (abs(span) > math.pi) is arc.large


@settings(max_examples=120, deadline=None)
@given(start=POINTS, arc=ARCS)
def test_cubics_of_an_arc_keep_within_three_ten_thousandths_of_its_radius(
    start: Point, arc: Arc
) -> None:
    form = arc_centre(start, arc)
    assume(form is not None and math.dist(start, arc.end) > 0.1)
    assert form is not None
    centre, rx, ry, _, span = form
    pieces = arc_cubics(start, arc)
    assert len(pieces) == max(1, math.ceil(abs(span) / (math.pi / 2) - 1e-9))
    assert pieces[-1].end == arc.end
    unit = (
        scaling(1 / rx, 1 / ry)
        @ rotation(-arc.turn_deg)
        @ translation(-centre[0], -centre[1])
    )
    at, angle = start, 0.0
    for piece in pieces:
        assert isinstance(piece, Cubic)
        points = unit.many(bezier((at, piece.c1, piece.c2, piece.end)))
        radii = np.hypot(*points.T)
        assert radii == pytest.approx(np.ones(len(radii)), abs=3e-4)
        turns = np.unwrap(np.arctan2(points[:, 1], points[:, 0]))
        angle += float(turns[-1] - turns[0])
        at = piece.end
    assert angle == pytest.approx(span, abs=1e-4)


@pytest.mark.parametrize(
    ("arc", "start"),
    [
        (Arc(0, 5, 0, False, True, (9, 9)), (0, 0)),
        (Arc(5, 0, 0, False, True, (9, 9)), (0, 0)),
        (Arc(5, 5, 0, False, True, (1, 1)), (1, 1)),
        (Arc(5, 5, 0, False, True, (0, 1e-200)), (0, 0)),
    ],
)
def test_an_arc_without_radius_is_a_line_and_one_without_length_nothing(
    arc: Arc, start: Point
) -> None:
    # SVG 2, section 9.5.1: out-of-range parameters.
    assert arc_centre(start, arc) is None
    assert arc_cubics(start, arc) == (Line(arc.end),)
    flat = Contour(start, (arc,)).flattened(0.01)
    assert flat.tolist() == [list(start)] + [[9, 9]] * (arc.end == (9, 9))


# Cubics and contours ---------------------------------------------------------------------


def bezier(p: tuple[Point, Point, Point, Point], count: int = 200) -> Floats:
    """Points of a cubic by de Casteljau's halving of ratios."""
    t = np.linspace(0, 1, count)[:, None]
    level: list[Any] = [np.array(point)[None] for point in p]
    while len(level) > 1:
        level = [(1 - t) * a + t * b for a, b in pairwise(level)]
    out: Floats = level[0]
    return out


@settings(max_examples=120, deadline=None)
@given(
    p=st.tuples(POINTS, POINTS, POINTS, POINTS), tolerance=st.sampled_from([0.001, 0.02, 1])
)
def test_flattened_cubics_keep_to_the_tolerance(
    p: tuple[Point, Point, Point, Point], tolerance: float
) -> None:
    assume(math.dist(p[0], p[3]) > 1e-6)
    flat = Contour(p[0], (Cubic(*p[1:]),)).flattened(tolerance)
    assert far_from(bezier(p), flat) <= tolerance * 1.0001 + 1e-9
    assert near(tuple(flat[0]), p[0], 1e-9)
    assert near(tuple(flat[-1]), p[3], 1e-9)


@given(POINTS, POINTS, POINTS, st.floats(0, 1))
def test_a_quadratic_raised_to_a_cubic_is_the_same_curve(
    a: Point, control: Point, b: Point, t: float
) -> None:
    cubic = quadratic(a, control, b)
    raised = bezier((a, cubic.c1, cubic.c2, cubic.end), 2 + int(t * 90))
    u = np.linspace(0, 1, len(raised))[:, None]
    first, second, third = (np.array(q) for q in (a, control, b))
    assert raised == pytest.approx(
        (1 - u) ** 2 * first + 2 * u * (1 - u) * second + u * u * third, abs=1e-9
    )


def crooked(rng: random.Random) -> Contour:
    """A closed contour of lines, arcs and cubics."""

    def point() -> Point:
        return (rng.uniform(-40, 40), rng.uniform(-40, 40))

    segments: list[Segment] = []
    for _ in range(rng.randint(2, 6)):
        kind = rng.randrange(3)
        if kind == 0:
            segments.append(Line(point()))
        elif kind == 1:
            segments.append(Cubic(point(), point(), point()))
        else:
            radii = (rng.uniform(5, 50), rng.uniform(5, 50))
            turns = (rng.uniform(0, 180), rng.random() < 0.5, rng.random() < 0.5)
            segments.append(Arc(*radii, *turns, point()))
    return Contour(point(), tuple(segments), closed=True)


@settings(max_examples=120, deadline=None)
@given(seed=st.integers(0, 10**9), by=AFFINES)
def test_a_mapped_contour_is_the_map_of_the_contour(seed: int, by: Affine) -> None:
    stretch = np.linalg.svd(np.array([[by.a, by.c], [by.b, by.d]]), compute_uv=False)
    assume(stretch[1] > 0.05)
    contour = crooked(random.Random(seed))
    mapped = contour.transformed(by)
    assert mapped.closed
    assert [type(s) for s in mapped.segments] == [type(s) for s in contour.segments]
    fine = by.many(contour.flattened(0.001 / stretch[0]))
    flat = mapped.flattened(0.001)
    assert far_from(fine, np.concatenate([flat, flat[:1]])) < 0.005
    assert far_from(flat, np.concatenate([fine, fine[:1]])) < 0.005
    area = signed_area(contour.flattened(0.001))
    assert signed_area(flat) == pytest.approx(
        by.determinant * area, abs=0.01 * len(flat) + 1
    )


@pytest.mark.parametrize("radius", [0.5, 4.0, 32.0, 150.0])
@pytest.mark.parametrize("tolerance", [0.001, 0.02])
def test_a_circle_has_the_area_length_and_box_of_a_circle(
    radius: float, tolerance: float
) -> None:
    ring = circle((7, -3), radius)
    points = ring.flattened(tolerance)
    assert signed_area(points) == pytest.approx(
        math.pi * radius**2, abs=7 * radius * tolerance
    )
    assert 0 < signed_area(points) < math.pi * radius**2
    assert ring.length_mm() == pytest.approx(2 * math.pi * radius, rel=2e-3)
    box = (7 - radius, -3 - radius, 7 + radius, -3 + radius)
    assert ring.bounds() == pytest.approx(box, abs=0.002)
    assert len(np.unique(points.round(9), axis=0)) == len(points)


def test_lengths_and_areas_worked_by_hand() -> None:
    square = polyline([(0, 0), (3, 0), (3, 4), (0, 4)], closed=True)
    assert square.length_mm() == 14
    assert signed_area(square.flattened(0.1)) == 12
    assert signed_area(square.flattened(0.1)[::-1]) == -12
    assert polyline([(0, 0), (3, 4)]).length_mm() == 5
    starts, ends = segment_pairs(square.flattened(0.1), closed=True)
    assert ends.tolist() == [*starts.tolist()[1:], starts.tolist()[0]]
    starts, ends = segment_pairs(square.flattened(0.1), closed=False)
    assert (len(starts), len(ends)) == (3, 3)


@pytest.mark.parametrize(
    ("contour", "straight"),
    [
        (polyline([(0, 0), (10, 5)]), True),
        (polyline([(0, 0), (4, 2), (10, 5)]), True),
        (Contour((0, 0), (Cubic((1, 1), (3, 3), (9, 9)),)), True),
        (Contour((0, 0), (Arc(0, 1, 0, False, True, (5, 5)),)), True),
        (polyline([(0, 0), (4, 2.1), (10, 5)]), False),
        (polyline([(0, 0), (10, 5), (4, 2)]), False),
        (polyline([(0, 0), (10, 5)], closed=True), False),
        (Contour((0, 0), (Arc(50, 50, 0, False, True, (5, 5)),)), False),
        (polyline([(1, 1)]), False),
    ],
)
def test_a_straight_line_is_told_from_others(contour: Contour, straight: bool) -> None:
    assert is_straight(contour) is straight


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
