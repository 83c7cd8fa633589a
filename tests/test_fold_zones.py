"""Safe zones of panels that are folded: shared, round a stick, less their margins."""

import math
from pathlib import Path

import pytest
import shapely
import shapely.affinity

import personalize
from personalize.design.design import Stick
from personalize.design.keep_off import crease_margin_mm, stick_allowance_mm
from personalize.errors import InputError
from personalize.job import prepare
from tests.conftest import SAMPLES
from tests.fold_drawn import (
    Drawn,
    away,
    differ_mm2,
    disc,
    folded_disc,
    mirrored,
    polygon,
    shape,
)

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
