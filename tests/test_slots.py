"""Room for slug and rules: beside true outlines, and where it takes no more paper."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import personalize
from personalize.fold.piece import spare
from personalize.geometry.affine import IDENTITY
from personalize.geometry.zone import region_of
from personalize.sheet.backs import Flip
from personalize.sheet.check_page import Filled, check_pages
from personalize.sheet.fill import fill, slug_of
from personalize.sheet.furniture import ARROW_MM, line_of_text
from personalize.sheet.ink import InkStroke, InkText
from personalize.sheet.plan import Plan
from personalize.sheet.planning import plan_kits, plan_sheets
from personalize.sheet.rules import SheetRules
from personalize.sheet.slots import SHORT_SLUG_MM, bands, find_slots, strips
from tests.conftest import SAMPLES, command
from tests.kits_made import report_of
from tests.test_nest import SHAPES

A4 = SheetRules(personalize.parse_paper("A4"))
FULL = 11
"""Herb tags on a sheet of A4 with marks."""


def tags() -> Plan:
    return plan_sheets(personalize.load_design("herb-tag"), A4)


@given(
    st.sampled_from(sorted(SHAPES)), st.floats(0.2, 2), st.floats(0, 360, exclude_max=True)
)
def test_bands_hold_all_of_an_outline_and_touch_it_on_all_sides(
    name: str, scale: float, degrees: float
) -> None:
    a = np.radians(degrees)
    turn = np.array([(np.cos(a), -np.sin(a)), (np.sin(a), np.cos(a))]) * scale
    ring = SHAPES[name] @ turn.T
    piece = shapely.Polygon(ring)
    boxes = [shapely.box(*band) for band in bands(region_of(ring))]
    assert shapely.union_all(boxes).buffer(1e-6).covers(piece)
    for box in boxes:
        here = piece.intersection(box.buffer(1e-9))
        assert here.bounds[::2] == pytest.approx(box.bounds[::2], abs=1e-6)


def test_the_slug_goes_beside_a_round_piece_where_its_box_would_be_in_the_way() -> None:
    ring = SHAPES["circle 50"] * 4 + 100
    whole = [region_of(ring).box]
    assert find_slots((0, 0, 200, 200), whole) is None
    found = find_slots((0, 0, 200, 200), bands(region_of(ring)))
    assert found is not None
    assert found.short
    assert shapely.box(*found.slug.box).distance(shapely.Polygon(ring)) > 0.5


@pytest.mark.parametrize(
    ("wide_mm", "free_mm", "told"),
    [(200, 4, None), (SHORT_SLUG_MM + 2, 6, 1), (200, 6, 2), (200, 120, 4)],
)
def test_the_less_room_there_is_the_less_is_told_on_the_sheet(
    wide_mm: float, free_mm: float, told: int | None
) -> None:
    found = find_slots((0, 0, wide_mm, 280), [(0, free_mm, wide_mm, 280)])
    assert (found.told if found else None) == told


@settings(max_examples=25, deadline=None)
@given(st.floats(120, 900), st.floats(120, 900))
def test_strips_are_room_enough_for_all(wide_mm: float, high_mm: float) -> None:
    area = (6.4, 12.7, 6.4 + wide_mm, 12.7 + high_mm)
    free = shapely.union_all([shapely.box(*one) for one in strips(area)])
    # All but the strips is taken, in boxes between their edges.
    xs = sorted({x for one in (area, *strips(area)) for x in one[::2]})
    ys = sorted({y for one in (area, *strips(area)) for y in one[1::2]})
    cells = [(x0, y0, x1, y1) for x0, x1 in pairwise(xs) for y0, y1 in pairwise(ys)]
    taken = [c for c in cells if not free.buffer(1e-6).covers(shapely.box(*c))]
    found = find_slots(area, taken)
    assert found is not None
    assert found.told == 4


def words_of(plan: Plan, count: int) -> list[list[str]]:
    """Give what is written on each sheet beside the pieces."""
    pieces = (spare(plan.design) for _ in range(count))
    return [
        [ink.line.text for ink in sheet.furniture if isinstance(ink, InkText)]
        for sheet in fill(plan, pieces, count)
    ]


@pytest.mark.usefixtures("whole_work")
def test_a_full_sheet_says_which_it_is_and_which_edge_goes_first() -> None:
    plan = tags()
    assert plan.per_sheet >= FULL
    assert plan.slots is not None
    assert plan.slots.short
    assert words_of(plan, 2 * plan.per_sheet) == [["sheet 1 of 2"], ["sheet 2 of 2"]]
    (first, _) = fill(plan, (spare(plan.design) for _ in range(20)), 20)
    arrows = [ink for ink in first.furniture if isinstance(ink, InkStroke)]
    assert len(arrows) == 2
    (page,) = check_pages([Filled(plan, [[2, 3], [4]])])
    told = [ink.line.text for ink in page if isinstance(ink, InkText)]
    assert any("sheet 2 of 2, row 4. A4, top edge first." in text for text in told)


@pytest.mark.parametrize("back", [False, True])
def test_a_short_slug_can_be_read_on_both_sides(back: bool) -> None:
    plan = tags()
    both = replace(plan, rules=replace(plan.rules, flip=Flip.UPRIGHT))
    words = slug_of(both, 12, 34, [2], back=back, short=True)
    assert words == f"sheet 12 of 34, {'back' if back else 'front'}"
    text = line_of_text(words, IDENTITY, SHORT_SLUG_MM - ARROW_MM)
    # 5 pt: common practice for the least that is read at hand, no source.
    assert text.place.d * 72 / 25.4 >= 5


@pytest.mark.usefixtures("whole_work")
def test_rules_and_slug_are_on_the_sheets_where_that_takes_no_more_of_them() -> None:
    plan = tags()
    for count in range(1, 60):
        chosen = plan.for_kits(count)
        assert chosen.sheets_for(count) == plan.sheets_for(count)
        other = plan.roomier
        assert other is not None
        assert other.tells_all
        if other.sheets_for(count) == plan.sheets_for(count):
            assert chosen is other
            assert not check_pages([Filled(chosen, [[2]])])
    assert plan.for_kits(FULL - 1).tells_all
    assert not plan.for_kits(plan.per_sheet).tells_all


@pytest.mark.usefixtures("whole_work")
def test_kits_have_a_roomier_plan_too() -> None:
    designs = [personalize.load_design(name) for name in ("herb-tag", "table-tent")]
    plan = plan_kits(designs, A4)
    assert (plan.per_sheet, plan.tells_all) == (3, False)
    told = {kits: plan.for_kits(kits).tells_all for kits in (1, 2, 3, 4, 5, 6)}
    assert told == {1: True, 2: True, 3: False, 4: True, 5: False, 6: False}


def test_few_pieces_are_made_without_a_page_for_rules(tmp_path: Path) -> None:
    words = ("--design", "herb-tag", "--rows", "2-9", "--out", tmp_path / "out")
    done = command("make", SAMPLES / "picnic.csv", *words)
    assert done.exit_code == 0, done.output
    report = report_of(tmp_path / "out")
    assert len(report["sheets"]) == 1
