"""Folding: which way words stand on each panel, which zones they share, what stays clear.

Designs are drawn here, loaded as a maker's would be, and asked about their panels.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.affinity
from numpy.typing import NDArray

import personalize
from personalize.design.design import Design, Panel, Stick
from personalize.design.keep_off import crease_margin_mm, stick_allowance_mm
from personalize.design.pose import FLAT, Fold, Pose, folded, lying_on, poses
from personalize.design.reading import reading_turn
from personalize.errors import InputError
from personalize.fold.across import faces_of
from personalize.geometry.zone import Region
from personalize.job import prepare
from tests.conftest import SAMPLES

Xy = tuple[float, float]
SIDE = 120.0
"""Side of the page of every drawing here, mm."""
MIDDLE = (60.0, 60.0)
HAIR_DEG = 0.005
"""Lines are joined on a grid of 0.001 mm, which turns a crease of 80 mm by less."""


@dataclass(frozen=True)
class Drawn:
    """A piece to be drawn: everything in mm with y up, from the page's lower left."""

    outline: str
    creases: Sequence[tuple[Xy, Xy]] = ()
    holes: Sequence[tuple[Xy, float]] = ()
    margins: str = "outline = 2\ncrease = 3\nhole = 2\nbleed = 0"
    panels: Sequence[tuple[str, Xy, str]] = ()
    """Name, a point inside, and more lines of TOML."""
    stick: str = ""
    more: str = field(default="")

    def load(self, folder: Path) -> Design:
        """Write the drawing and its TOML, and load them."""
        parts = [f'<path id="edge" fill="none" stroke="#000" d="{self.outline}"/>']
        for a, b in self.creases:
            (x0, y0), (x1, y1) = down(a), down(b)
            parts.append(f'<path class="fold" stroke="#00f" d="M{x0} {y0}L{x1} {y1}"/>')
        for (x, y), radius in self.holes:
            cx, cy = down((x, y))
            parts.append(
                f'<circle class="hole" fill="none" cx="{cx}" cy="{cy}" r="{radius}"/>'
            )
        size = f'width="{SIDE}mm" height="{SIDE}mm" viewBox="0 0 {SIDE} {SIDE}"'
        (folder / "piece.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{"".join(parts)}</svg>'
        )
        toml = ["[lines]", 'Cutting = ["#edge"' + (', ".hole"]' if self.holes else "]")]
        if self.creases:
            toml.append('Creasing = ".fold"')
        toml += ["[margins]", self.margins]
        if self.stick:
            toml += ["[stick]", self.stick]
        for name, at, lines in self.panels:
            x, y = down(at)
            toml += ["[[panel]]", f'name = "{name}"', f"at = [{x}, {y}]", 'text = "{name}"']
            toml += [lines]
        (folder / "piece.toml").write_text("\n".join(toml) + "\n")
        return personalize.load_design(folder / "piece.toml")


def down(point: Xy) -> Xy:
    """From y up to the y down of SVG."""
    return (point[0], SIDE - point[1])


def polygon(*points: Xy) -> str:
    return "M" + "L".join(f"{x!r} {y!r}" for x, y in map(down, points)) + "Z"


def disc(radius: float) -> str:
    x, y = MIDDLE
    left, right, arc = x - radius, x + radius, f"A{radius} {radius} 0 1 0"
    return f"M{right} {SIDE - y}{arc} {left} {SIDE - y}{arc} {right} {SIDE - y}Z"


def away(angle_deg: float, distance: float, start: Xy = MIDDLE) -> Xy:
    """Give the point at a distance in a direction (counter-clockwise, y up)."""
    turn = math.radians(angle_deg)
    return (start[0] + distance * math.cos(turn), start[1] + distance * math.sin(turn))


def mirrored(points: Sequence[Xy], a: Xy, b: Xy) -> NDArray[np.float64]:
    """Reflect points in the line a-b: p' = 2 (a + ((p - a).u) u) - p."""
    p, start = np.array(points), np.array(a)
    u = np.array(b) - start
    u /= np.hypot(*u)
    foot = start + ((p - start) @ u)[:, None] * u
    return 2 * foot - p  # type: ignore[no-any-return]


def shape(region: Region) -> shapely.Polygon:
    return shapely.Polygon(region.outer, region.holes)


def differ_mm2(a: shapely.Polygon, b: shapely.Polygon) -> float:
    return float(a.symmetric_difference(b).area)


def folded_disc(p: float, a: float, side: int = 1, *, hole: bool = False) -> Drawn:
    """A disc with one crease through its middle at angle p, its front's text at angle a."""
    front, back = (away(p + 90 * side * way, 20) for way in (1, -1))
    return Drawn(
        disc(50),
        [(away(p, 50), away(p + 180, 50))],
        [(away(p - 90 * side, 22), 4)] if hole else [],
        panels=[
            ("front", front, f'turn_deg = {a}\nfaces = "back"'),
            ("back", away(p - 90 * side, 40) if hole else back, ""),
        ],
    )


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
    assert reading_turn(far, 0) == pytest.approx(180, abs=1e-6)
    # The spine itself lies level, so that paper alone cannot say which way is up on it.
    assert reading_turn(back, 0) is None
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
    assert reading_turn(FLAT, 30) == 30
    assert lying_on(FLAT, FLAT) is None  # both faces look the same way


# Shared zones --------------------------------------------------------------------------


@pytest.mark.parametrize("hole", [False, True])
@pytest.mark.parametrize("p", [0, 30, 90, 130])
def test_the_zones_of_facing_panels_are_each_others_reflection(
    p: float, hole: bool, tmp_path: Path
) -> None:
    design = folded_disc(p, 0, hole=hole).load(tmp_path)
    front, back = (design.panel(name) for name in ("front", "back"))
    crease = (away(p, 50), away(p + 180, 50))
    over = shapely.Polygon(
        mirrored(back.zone.outer, *crease), [mirrored(h, *crease) for h in back.zone.holes]
    )
    assert differ_mm2(over, shape(front.zone)) < 0.001 * shape(front.zone).length
    assert front.zone.area_mm2 == pytest.approx(back.zone.area_mm2, rel=1e-9)
    # The front has no hole of its own, but keeps clear of the one behind it.
    (hx, hy), _ = mirrored([away(p - 90, 22), (0, 0)], *crease)
    assert front.zone.contains((hx, hy)) is not hole
    for panel in (front, back):
        assert shape(panel.region).contains(shape(panel.zone))


def test_the_shared_zone_is_what_both_panels_leave(tmp_path: Path) -> None:
    # The upper panel is narrower than the lower one: both get the narrower's width.
    outline = polygon((20, 10), (100, 10), (100, 60), (80, 60), (80, 110), (40, 110),
                      (40, 60), (20, 60))  # fmt: skip
    creases = [((40.0, 60.0), (80.0, 60.0))]
    margins = "outline = 5\ncrease = 5\nbleed = 0"
    apart = [("low", (60, 30), ""), ("high", (60, 90), "")]
    facing = [("low", (60, 30), 'faces = "high"'), ("high", (60, 90), "")]
    alone = Drawn(outline, creases, margins=margins, panels=apart).load(tmp_path)
    shared = Drawn(outline, creases, margins=margins, panels=facing).load(tmp_path)
    low, high = (shape(alone.panel(name).zone) for name in ("low", "high"))
    over = shapely.affinity.scale(high, 1, -1, origin=(60, 60))
    assert differ_mm2(shape(shared.panel("low").zone), low.intersection(over)) < 1e-6
    assert differ_mm2(shape(shared.panel("high").zone), high) < 1e-6
    assert shared.panel("low").zone.area_mm2 < low.area - 100


@pytest.mark.parametrize("name", ["plant-flag", "table-tent"])
def test_texts_of_facing_panels_get_one_size(name: str) -> None:
    job = prepare(
        personalize.read_table(SAMPLES / "picnic.csv"), personalize.load_design(name)
    )
    pairs = [job.composed(unit) for unit in job.units]
    assert len(pairs) >= 48
    assert all(front.size_pt == back.size_pt for front, back in pairs)


# Sticks --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("diameter", "thickness", "half_turn"),
    # Half a turn of paper of thickness t round a stick d: pi (d + t) / 2. Derived.
    [
        (4, 0.25, 6.676),
        (4, 0.17, 6.550),
        (1.5, 0.3, 2.827),
        (1, 1.5, 3.927),
        (0.5, 0.1, 0.942),
    ],
)
def test_text_keeps_from_the_part_that_goes_round_a_stick(
    diameter: float, thickness: float, half_turn: float
) -> None:
    allowance = stick_allowance_mm(Stick(diameter, thickness))
    # Half of it on each side of the crease, and 2 mm; twice the diameter at least.
    assert allowance == pytest.approx(max(2 * diameter, half_turn / 2 + 2), abs=3e-4)


@pytest.mark.parametrize(
    ("stick", "crease", "distance"),
    [
        ("diameter_mm = 4\nthickness_mm = 0.25", 2, 8.0),
        ("diameter_mm = 1.5\nthickness_mm = 0.3", 2, 3.4137),
        ("diameter_mm = 1.5\nthickness_mm = 0.3", 9, 9.0),
        ("", 2, 2.0),
    ],
)
def test_the_zone_of_a_flag_begins_that_far_from_its_crease(
    stick: str, crease: float, distance: float, tmp_path: Path
) -> None:
    design = Drawn(
        polygon((10, 40), (110, 40), (110, 80), (10, 80)),
        [((60, 40), (60, 80))],
        margins=f"outline = 1\ncrease = {crease}\nbleed = 0",
        stick=stick,
    ).load(tmp_path)
    line = shapely.LineString([(60, 0), (60, 120)])
    for panel in design.panels:
        assert shape(panel.zone).distance(line) == pytest.approx(distance, abs=1e-3)
    assert crease_margin_mm(design.margins, design.stick) == pytest.approx(
        distance, abs=1e-3
    )


# Safe zones: areas worked out by hand -----------------------------------------------------

ROOT3 = math.sqrt(3)
# A - P r + r^2 sum(cot(theta / 2)) for convex polygons (Steiner's formula for the inset;
# from memory), with the figures recomputed by hand.
INSETS = {
    "rectangle": (polygon((20, 30), (100, 30), (100, 80), (20, 80)), 5, 2800.0),
    "equilateral triangle": (
        polygon((30, 30), (90, 30), (60, 30 + 30 * ROOT3)), 5, 788.7495),
    "triangle 30-40-50": (polygon((30, 30), (70, 30), (30, 60)), 5, 150.0),
    "hexagon": (polygon(*(away(60 * i, 20) for i in range(6))), 5, 525.8330),
    # Less r^2 (theta - pi) / 2 for the reflex corner, which stays round.
    "L": (polygon((30, 30), (90, 30), (90, 60), (60, 60), (60, 90), (30, 90)), 5, 1605.365),
    "swallow-tailed flag": (
        polygon((10, 40), (110, 40), (90, 60), (110, 80), (10, 80)), 3, 2764.68),
    "disc": (disc(30), 5, math.pi * 25**2),
    "rounded rectangle": (
        "M25 30H95A5 5 0 0 1 100 35V75A5 5 0 0 1 95 80H25A5 5 0 0 1 20 75V35A5 5 0 0 1"
        " 25 30Z",
        3, 3252.566),
}  # fmt: skip


@pytest.mark.parametrize("name", INSETS)
def test_the_safe_zone_is_the_panel_less_its_margin(name: str, tmp_path: Path) -> None:
    outline, margin, area = INSETS[name]
    margins = f"outline = {margin}\nbleed = 0"
    (panel,) = Drawn(outline, margins=margins).load(tmp_path).panels
    # A curve flattened to 0.02 mm takes that much of the edge; corners that a margin
    # rounds are drawn to 0.01 mm.
    curved = 0.02 * shape(panel.zone).length if "A" in outline else 0.0
    assert panel.zone.area_mm2 == pytest.approx(area, abs=0.05 + curved)
    # Curves are flattened inward: the zone is never larger than the true one.
    assert panel.zone.area_mm2 <= area + 0.05


def test_holes_and_creases_have_margins_of_their_own(tmp_path: Path) -> None:
    design = Drawn(
        polygon((10, 10), (110, 10), (110, 110), (10, 110)),
        [((10, 60), (110, 60))],
        [((60, 90), 5)],
        margins="outline = 2\ncrease = 4\nhole = 3\nbleed = 0",
        panels=[("low", (60, 30), ""), ("high", (30, 90), "")],
    ).load(tmp_path)
    low, high = (shape(design.panel(name).zone) for name in ("low", "high"))
    assert differ_mm2(low, shapely.box(12, 12, 108, 56)) < 1e-6
    clear = shapely.Point(60, 90).buffer(8, quad_segs=400)
    wanted = shapely.box(12, 64, 108, 108).difference(clear)
    assert differ_mm2(high, wanted) < 8 * 2 * math.pi * 0.03
    assert high.distance(shapely.Point(60, 90)) >= 8 - 0.02


def test_a_panel_without_room_is_named(tmp_path: Path) -> None:
    box = polygon((20, 30), (100, 30), (100, 80), (20, 80))
    margins = "outline = 26\nbleed = 0"
    with pytest.raises(InputError, match=r"panel 'one' \(80\.0 x 50\.0 mm\) has no room"):
        Drawn(box, margins=margins, panels=[("one", (50, 50), "")]).load(tmp_path)


def test_a_crease_that_ends_inside_a_panel_divides_nothing(tmp_path: Path) -> None:
    box = polygon((20, 30), (100, 30), (100, 80), (20, 80))
    loose = Drawn(box, [((60, 30), (60, 70))]).load(tmp_path)
    assert (len(loose.panels), loose.loose_creases) == (1, 1)
    # One that stops a hair short is taken to reach the edge.
    short = Drawn(box, [((60, 30.5), (60, 79.3))]).load(tmp_path)
    assert (len(short.panels), short.loose_creases) == (2, 0)
