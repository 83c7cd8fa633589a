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
from tests.geometry_made import AFFINES, NUMBERS, near

Floats = NDArray[np.float64]
POINTS = st.tuples(NUMBERS, NUMBERS)
ANGLES = st.floats(-720, 720)


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
