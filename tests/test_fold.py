"""Folding: which way words stand on each panel, which zones they share, what stays clear.

Designs are drawn here, loaded as a maker's would be, and asked about their panels.
"""

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely

import personalize
from personalize.design.design import Panel
from personalize.design.pose import FLAT, Fold, Pose, folded, lying_on, poses
from personalize.design.reading import Reading, Stance, reading_of
from personalize.errors import InputError
from personalize.fold.across import faces_of
from personalize.geometry.zone import Region
from personalize.job import prepare
from tests.conftest import SAMPLES
from tests.fold_drawn import (
    Drawn,
    Xy,
    away,
    differ_mm2,
    folded_disc,
    mirrored,
    polygon,
    shape,
)

HAIR_DEG = 0.005
"""Lines are joined on a grid of 0.001 mm, which turns a crease of 80 mm by less."""


# How words stand -----------------------------------------------------------------------

# Derived: the print is outside, and one walks round the upright axis to see the back.
# Its text stands at 2 p + 180 - a. The table is that of the design, worked by hand.
TURNS = {
    (90, 0): 0,  # a flag round a stick
    (0, 0): 180,  # a tent
    (45, 0): 270,
    (60, 0): 300,
    (135, 0): 90,
    (0, 90): 90,
    (45, 30): 240,
    (90, 15): 345,
}


@pytest.mark.parametrize(("p", "a"), TURNS)
@pytest.mark.parametrize("side", [1, -1])
def test_words_on_the_back_stand_as_the_fold_asks(
    p: float, a: float, side: int, tmp_path: Path
) -> None:
    design = folded_disc(p, a, side).load(tmp_path)
    front, back = design.panel("front"), design.panel("back")
    assert front.turn_deg == a
    assert back.turn_deg == pytest.approx(TURNS[p, a], abs=HAIR_DEG)
    assert (2 * p + 180 - a) % 360 == TURNS[p, a]


@pytest.mark.parametrize("a", [0, 40, 200])
@pytest.mark.parametrize("p", [7, 33, 90, 121, 175])
def test_up_on_the_back_is_up_on_the_front_once_folded(
    p: float, a: float, tmp_path: Path
) -> None:
    # Told in pictures, not in angles: hold the folded piece so that the front reads
    # upright, and mirror the back in the crease to where it comes to lie. Seen through the
    # front, up on it is the front's up, and its words run from right to left: so they
    # run from left to right for whoever stands behind.
    design = folded_disc(p, a).load(tmp_path)
    front, back = (design.panel(name) for name in ("front", "back"))
    up, right = ((axis(panel, 90), axis(panel, 0)) for panel in (front, back))
    up, right = (up[0], right[0]), (up[1], right[1])
    crease = (away(p, 50), away(p + 180, 50))
    seen_up = mirrored([up[1], (0, 0)], *crease)
    seen_right = mirrored([right[1], (0, 0)], *crease)
    assert seen_up[0] - seen_up[1] == pytest.approx(np.array(up[0]), abs=5e-5)
    assert seen_right[0] - seen_right[1] == pytest.approx(-np.array(right[0]), abs=5e-5)


def axis(panel: Panel, angle_deg: float) -> Xy:
    """Give a direction of the panel's text, on the flat piece."""
    place = panel.to_reading.inverse()
    return away(angle_deg + math.degrees(math.atan2(place.b, place.a)), 1.0, (0.0, 0.0))


@pytest.mark.parametrize(("p", "a"), TURNS)
def test_text_is_never_mirrored_and_the_outline_is(
    p: float, a: float, tmp_path: Path
) -> None:
    design = folded_disc(p, a).load(tmp_path)
    for panel in design.panels:
        assert panel.to_reading.determinant == pytest.approx(1, abs=1e-12)
    for face in faces_of(design):
        assert face.to_view.determinant == pytest.approx(1, abs=1e-12)
    front, back = (design.panel(name) for name in ("front", "back"))
    (_, pose) = poses((front.region, back.region), 0)
    onto = lying_on(FLAT, pose)
    assert onto is not None
    assert onto.determinant == pytest.approx(-1, abs=1e-9)
    assert differ_mm2(shape(back.region.mapped(onto)), shape(front.region)) < 0.02 * 260


@pytest.mark.parametrize("name", personalize.sample_names())
def test_no_letter_of_a_sample_is_mirrored(name: str) -> None:
    job = prepare(
        personalize.read_table(SAMPLES / "picnic.csv"), personalize.load_design(name)
    )
    lines = [
        (text.size_mm, text.line_to_piece(line))
        for unit in job.units
        for text in job.composed(unit)
        for line in text.lines
    ]
    assert len(lines) > 48
    for size, place in lines:
        assert place.determinant == pytest.approx(size**2, rel=1e-9)
        assert place.a == pytest.approx(place.d, rel=1e-9)


def test_the_front_is_the_right_or_the_lower_panel_when_nobody_says(tmp_path: Path) -> None:
    box = polygon((20, 30), (100, 30), (100, 90), (20, 90))
    for crease, front in (
        (((60, 30), (60, 90)), (80, 60)),
        (((20, 60), (100, 60)), (60, 45)),
    ):
        design = Drawn(box, [crease]).load(tmp_path)
        assert {panel.name for panel in design.panels} == {"front", "back"}
        assert design.panel("front").region.contains(front)
        assert not design.panel("back").region.contains(front)
        assert design.panel("front").turn_deg == 0


# Chains of creases ---------------------------------------------------------------------


def strip(p1: float, p2: float) -> Drawn:
    """A long card with two creases at angles p1 and p2, 50 mm apart."""
    box = polygon((5, 20), (115, 20), (115, 100), (5, 100))
    reach = 150.0
    creases = []
    for angle, middle in ((p1, (40.0, 60.0)), (p2, (80.0, 60.0))):
        line = shapely.LineString(
            [away(angle, reach, middle), away(angle + 180, reach, middle)]
        )
        cut = line.intersection(shapely.box(5, 20, 115, 100))
        creases.append(tuple(cut.coords))
    panels = [
        (name, (x, 60.0), "") for name, x in (("one", 15), ("two", 60), ("three", 105))
    ]
    return Drawn(box, creases, panels=panels)


@pytest.mark.parametrize(("p1", "p2"), [(90, 90), (90, 70), (75, 100), (100, 90), (85, 65)])
def test_two_folds_turn_the_far_text_by_twice_the_angle_between_them(
    p1: float, p2: float, tmp_path: Path
) -> None:
    # Two mirrors make a turn by twice the angle between them (Euclid's plane).
    design = strip(p1, p2).load(tmp_path)
    one, two, three = (design.panel(name) for name in ("one", "two", "three"))
    assert one.turn_deg == 0
    assert two.turn_deg == pytest.approx((2 * p1 + 180) % 360, abs=HAIR_DEG)
    assert three.turn_deg == pytest.approx(2 * (p2 - p1) % 360, abs=HAIR_DEG)


def spine(wide: float) -> tuple[Region, ...]:
    """Three panels over each other, joined by level creases `wide` mm apart."""
    ys = (0.0, 40.0, 40.0 + wide, 80.0 + wide)
    return tuple(
        Region(((0.0, low), (30.0, low), (30.0, high), (0.0, high)))
        for low, high in pairwise(ys)
    )


@pytest.mark.parametrize("valley", [False, True])
@pytest.mark.parametrize("wide", [3.0, 12.0])
def test_a_spine_folded_twice_by_a_right_angle_turns_the_far_text_upside_down(
    wide: float, valley: bool
) -> None:
    _, back, far = poses(spine(wide), 0, Fold(90, valley))
    assert reading_of(far, Stance(0)).turn_deg == pytest.approx(180, abs=1e-6)
    # The spine itself lies level, so that paper alone cannot say which way is up on it.
    assert reading_of(back, Stance(0)).level
    # The far panel stands back to back with the first, a spine's width away from it.
    assert lying_on(FLAT, far) is None
    away_mm = abs(float((far.turn @ np.array([0.0, 40.0 + wide, 0.0]) + far.shift)[2]))
    assert away_mm == pytest.approx(wide)


def test_a_mountain_fold_takes_the_far_side_behind_and_a_valley_fold_before() -> None:
    for valley, way in ((False, -1), (True, 1)):
        pose = folded((0, 0), (0, 10), (5, 5), Fold(90, valley))
        x, _, z = pose.turn @ np.array([5.0, 5.0, 0.0]) + pose.shift
        assert (x, z) == pytest.approx((0, way * 5), abs=1e-12)


@pytest.mark.parametrize("angle", [0.0, 35.0, 90.0, 180.0])
@pytest.mark.parametrize("valley", [False, True])
def test_folding_moves_paper_and_never_stretches_it(angle: float, valley: bool) -> None:
    a, b = (3.0, 4.0), (20.0, 11.0)
    pose = folded(a, b, (5.0, 30.0), Fold(angle, valley))
    assert pose.turn @ pose.turn.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(pose.turn) == pytest.approx(1)
    for end in (a, b):
        assert pose.turn @ np.array([*end, 0]) + pose.shift == pytest.approx((*end, 0))
    undone = pose.inverse().after(pose)
    assert undone.turn == pytest.approx(np.eye(3), abs=1e-12)
    assert undone.shift == pytest.approx(np.zeros(3), abs=1e-9)


def test_panels_that_lie_apart_do_not_face_each_other(tmp_path: Path) -> None:
    drawn = strip(90, 90)
    panels = [("one", (15, 60), 'faces = "three"'), ("three", (105, 60), "")]
    with pytest.raises(InputError, match="do not lie back to back"):
        Drawn(drawn.outline, drawn.creases, panels=panels).load(tmp_path)


def test_a_pose_of_nothing_is_flat() -> None:
    assert isinstance(FLAT, Pose)
    assert reading_of(FLAT, Stance(30)) == Reading(30)
    assert lying_on(FLAT, FLAT) is None  # both faces look the same way
