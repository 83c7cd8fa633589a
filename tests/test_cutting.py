"""How lines are cut: the order, where the blade sets down, dashes, nicks, shared edges.

Lengths and places are measured with shapely, which takes no part in cutting.
"""

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.ops
from hypothesis import given
from hypothesis import strategies as st

import personalize
from personalize.checks.wall import Expected, check_wall
from personalize.cut_files import expected_of
from personalize.design.design import Design, LineKind
from personalize.errors import InputError
from personalize.geometry.affine import Affine, translation
from personalize.geometry.along import Track
from personalize.geometry.path import Arc, Contour, Cubic, Line, circle, polyline
from personalize.output.cut_svg import cut_svg
from personalize.sheet.cut_layouts import CutLayout, cut_layouts
from personalize.sheet.cutting import Why, alike, cutting
from personalize.sheet.machine import Correction
from personalize.sheet.paper import Paper
from personalize.sheet.plan import Plan
from personalize.sheet.planning import plan_sheets
from personalize.sheet.route import set_downs, short_route
from personalize.sheet.rules import SheetRules
from personalize.sheet.uncut import CREASE_DASHES, PERFORATION, CutRules, dash_gaps

A4 = Paper("A4", 210.0, 297.0)
DASHED = CutRules({LineKind.CREASING: CREASE_DASHES, LineKind.PERFORATING: PERFORATION})


def drawing(folder: Path, lines: str, body: str, size: str = "60 40") -> Design:
    w, h = size.split()
    (folder / "own.svg").write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm"'
        f' viewBox="0 0 {w} {h}"><g fill="none" stroke="#000">{body}</g></svg>'
    )
    (folder / "own.toml").write_text(f"[lines]\n{lines}\n")
    return personalize.load_design(folder / "own.toml")


def laid(design: Design, rules: CutRules, spacing: float | None = None) -> CutLayout:
    return planned(design, rules, spacing)[1]


def planned(
    design: Design, rules: CutRules, spacing: float | None = None
) -> tuple[Plan, CutLayout]:
    """Lay out a full sheet and let the wall read its cut file."""
    plan = plan_sheets(design, SheetRules(A4, spacing_mm=spacing), fully=False)
    (layout,) = cut_layouts(plan, plan.per_sheet, lambda one: rules)
    expected = expected_of(plan, plan.per_sheet, layout, lambda one: rules)
    check_wall(cut_svg(layout).encode(), "cut.svg", expected)
    return plan, layout


def line_of(contour: Contour) -> shapely.LineString:
    points = contour.flattened(0.001)
    if contour.closed:
        points = np.concatenate([points, points[:1]])
    return shapely.LineString(points)


def of_kind(layout: CutLayout, kind: LineKind) -> list[Contour]:
    return [line.contour for line in layout.lines if line.kind is kind]


CURVY = Contour(
    (0, 0),
    (Cubic((20, 40), (60, -30), (80, 10)), Arc(30, 20, 15, True, False, (90, 40))),
)


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_part_of_a_curve_is_the_curve_there(a: float, b: float) -> None:
    track, whole = Track(CURVY), line_of(CURVY)
    low, high = sorted((a * track.length_mm, b * track.length_mm))
    if high - low < 0.1:
        return
    part = track.part(low, high)
    assert {type(s) for s in part.segments} <= {Cubic, Arc}
    assert line_of(part).length == pytest.approx(high - low, abs=0.01)
    assert shapely.hausdorff_distance(
        line_of(part), shapely.ops.substring(whole, low, high)
    ) == pytest.approx(0, abs=0.02)


def test_lines_come_in_the_order_that_keeps_the_piece_in_its_sheet(tmp_path: Path) -> None:
    design = drawing(
        tmp_path,
        'Cutting = ["#edge", "#hole"]\nCreasing = ["#fold"]\n'
        'PartialCutting = ["#kiss"]\nPerforating = ["#perf"]',
        '<rect id="edge" x="5" y="5" width="50" height="30"/>'
        '<circle id="hole" cx="12" cy="12" r="4"/>'
        '<path id="fold" d="M30 5V35"/><path id="perf" d="M5 30H55"/>'
        '<rect id="kiss" x="34" y="8" width="4" height="4"/>',
    )
    layout = laid(design, CutRules())
    kinds = [line.kind for line in layout.lines]
    order = ["Creasing", "PartialCutting", "Perforating", "Cutting"]
    assert list(dict.fromkeys(kinds)) == order
    assert kinds == sorted(kinds, key=order.index)
    cuts = of_kind(layout, LineKind.CUTTING)
    for i in range(0, len(cuts), 2):
        *inner, outline = cuts[i : i + 2]
        assert outline.closed
        held = shapely.Polygon(outline.flattened(0.01))
        assert all(held.covers(line_of(c)) for c in inner)


@pytest.mark.parametrize("name", personalize.sample_names())
def test_closed_lines_run_one_way_and_begin_away_from_corners(name: str) -> None:
    design = personalize.load_design(name)
    for contour in of_kind(laid(design, CutRules()), LineKind.CUTTING):
        points = contour.flattened(0.001)
        assert shapely.LinearRing(points).is_ccw
        track = Track(contour)
        before, after = track.point(-0.1), track.point(0.1)
        x, y = contour.start
        # Straight on, or nearly: no corner within a tenth of a millimetre.
        ways = [(x - before[0], y - before[1]), (after[0] - x, after[1] - y)]
        turn = math.degrees(math.acos(min(1, np.dot(*ways) / 0.01)))
        assert turn < 5


def test_the_blade_sets_down_in_the_middle_of_a_long_straight() -> None:
    box = polyline([(0, 0), (40, 0), (40, 10), (0, 10)], closed=True)
    assert set_downs(Track(box)) == [20, 70]
    ways = set_downs(Track(circle((0, 0), 10)))
    assert len(ways) == 64


def test_it_sets_down_on_the_side_that_it_comes_from(tmp_path: Path) -> None:
    design = drawing(
        tmp_path,
        'Cutting = ["#edge"]',
        '<rect id="edge" x="5" y="5" width="50" height="30"/>',
    )
    layout = laid(design, CutRules())
    at = (0.0, 0.0)
    for contour in of_kind(layout, LineKind.CUTTING):
        x0, y0, x1, y1 = contour.bounds()
        long = [((x0 + x1) / 2, y) for y in (y0, y1)]
        sides = [*long, *((x, (y0 + y1) / 2) for x in (x0, x1))]
        nearest = min(math.dist(at, side) for side in sides)
        assert math.dist(at, contour.start) == pytest.approx(nearest, abs=0.01)
        at = contour.start


@given(st.lists(st.tuples(st.floats(0, 300), st.floats(0, 300)), min_size=1, max_size=40))
def test_the_way_takes_in_every_piece_once_and_is_no_longer_than_row_by_row(
    points: list[tuple[float, float]],
) -> None:
    order = short_route(points, (0, 0))
    assert sorted(order) == list(range(len(points)))
    nearest, left, at = 0.0, list(points), (0.0, 0.0)
    while left:
        after = min(left, key=lambda p: math.dist(at, p))
        nearest += math.dist(at, after)
        left.remove(after)
        at = after
    way = [(0.0, 0.0), *(points[i] for i in order)]
    length = sum(math.dist(a, b) for a, b in pairwise(way))
    assert length <= nearest + 1e-6


@given(st.floats(1, 900))
def test_dashes_are_whole_even_and_keep_off_the_ends(length: float) -> None:
    gaps = dash_gaps(length, CREASE_DASHES, closed=False)
    ends = [0.0, *(b for _, b in gaps)]
    starts = [*(a for a, _ in gaps), length]
    cuts = [b - a for a, b in zip(ends, starts, strict=True) if b - a > 1e-9]
    inner = [b - a for a, b in gaps[1:-1]]
    assert max(cuts) - min(cuts) < 1e-9
    assert gaps[0][0] == 0
    assert gaps[-1][1] == pytest.approx(length)
    if length >= 6:  # common practice: 2 mm at either end stay uncut
        assert gaps[0][1] == 2
        assert length - gaps[-1][0] == pytest.approx(2)
    if inner:
        assert max(inner) - min(inner) < 1e-9
        assert cuts[0] == pytest.approx(inner[0])
        assert 1.3 < cuts[0] < 2.7


def test_a_curved_crease_is_dashed_along_it_and_stays_curved(
    tmp_path: Path,
) -> None:
    design = drawing(
        tmp_path,
        'Cutting = ["#edge"]\nCreasing = ["#fold"]\nPerforating = ["#perf"]',
        '<rect id="edge" x="5" y="5" width="50" height="30"/>'
        '<path id="fold" d="M5 20C20 5 40 35 55 20"/>'
        '<path id="perf" d="M5 10A80 80 0 0 1 55 10"/>',
    )
    plan, layout = planned(design, DASHED)
    fold = next(line for line in design.lines if line.kind == "Creasing")
    dashes = of_kind(layout, LineKind.CREASING)
    assert len(dashes) % plan.per_sheet == 0
    assert all(isinstance(s, Cubic) for dash in dashes for s in dash.segments)
    lengths = [line_of(dash).length for dash in dashes]
    assert max(lengths) - min(lengths) < 0.01
    gaps = [u for u in layout.uncut if u.why is Why.GAP and u.place == 0]
    assert len(dashes) // plan.per_sheet == len([u for u in gaps if u.line == 1]) - 1
    whole = line_of(fold.contour).length
    assert sum(lengths) / plan.per_sheet == pytest.approx((whole - 4) * 0.5, rel=0.05)
    perforation = of_kind(layout, LineKind.PERFORATING)
    assert all(isinstance(s, Arc) for dash in perforation for s in dash.segments)
    assert line_of(perforation[0]).length == pytest.approx(3, abs=0.4)


@pytest.mark.parametrize("name", personalize.sample_names())
@pytest.mark.parametrize("nicks", [1, 3, 4])
def test_nicks_hold_each_piece_evenly_and_away_from_corners(name: str, nicks: int) -> None:
    design = personalize.load_design(name)
    plan, layout = planned(design, CutRules(nicks=nicks, nick_mm=0.6))
    told = [u for u in layout.uncut if u.place == 0]
    assert {u.why for u in told} == {Why.NICK}
    outline = line_of(design.outline)
    assert len(told) == nicks  # holes of the samples are small: none in them
    ways = sorted(outline.project(shapely.Point(u.middle)) for u in told)
    steps = np.diff([*ways, ways[0] + outline.length])
    assert steps.max() / (outline.length / nicks) < 1.6
    assert all(
        math.dist(u.start, u.end) == pytest.approx(0.6, abs=0.01)
        and Track(design.outline).from_corners(outline.project(shapely.Point(u.middle)))
        >= 1
        for u in told
    )
    placed = outline.length * plan.per_sheet
    cut = sum(line_of(c).length for c in of_kind(layout, LineKind.CUTTING))
    holes = sum(line_of(h).length for h in design.holes) * plan.per_sheet
    assert placed + holes - cut == pytest.approx(0.6 * nicks * plan.per_sheet, abs=0.1)


def test_large_holes_are_nicked_and_small_ones_are_not(tmp_path: Path) -> None:
    design = drawing(
        tmp_path,
        'Cutting = ["#edge", ".hole"]',
        '<rect id="edge" x="5" y="5" width="90" height="50"/>'
        '<circle class="hole" cx="25" cy="30" r="11"/>'
        '<circle class="hole" cx="75" cy="30" r="9"/>',
        "100 60",
    )
    layout = laid(design, CutRules(nicks=2))
    nicked = {u.line for u in layout.uncut}
    widths = [line.contour.bounds() for line in design.lines]
    assert nicked == {i for i, b in enumerate(widths) if b[2] - b[0] >= 20}
    assert len(nicked) == 2


def test_more_nicks_than_there_is_room_for_are_refused_in_a_sentence() -> None:
    plan = plan_sheets(personalize.load_design("herb-tag"), SheetRules(A4))
    with pytest.raises(InputError, match=r"99 nicks of 5 mm are too many for a line"):
        cut_layouts(plan, 1, lambda one: CutRules(nicks=99, nick_mm=5))


BOX = '<rect id="edge" x="5" y="5" width="50" height="30"/>'
WAVY = (
    '<path id="edge" d="M5 5C20 10 40 0 55 5A40 40 0 0 1 55 35C40 30 20 40 5 35'
    'A40 40 0 0 0 5 5Z"/>'
)


@pytest.mark.parametrize("body", [BOX, WAVY])
@pytest.mark.parametrize("nicks", [0, 2])
def test_an_edge_that_two_pieces_share_is_cut_once(
    tmp_path: Path, body: str, nicks: int
) -> None:
    design = drawing(tmp_path, 'Cutting = ["#edge"]', body)
    rules = CutRules(nicks=nicks)
    places = [translation(20 + i * 50, 20 + j * 30) for j in range(3) for i in range(3)]
    pieces = alike(design, places, rules)
    cut = cutting(pieces, 0.0)
    layout = CutLayout("cut.svg", A4, cut.lines, cut.uncut)
    check_wall(cut_svg(layout).encode(), "cut.svg", Expected(pieces, A4, cut.uncut))
    drawn = [line_of(line.contour) for line in cut.lines]
    every = shapely.unary_union([line_of(design.outline.transformed(at)) for at in places])
    whole = sum(line_of(design.outline.transformed(at)).length for at in places)
    written = sum(line.length for line in drawn)
    held = sum(math.dist(u.start, u.end) for u in cut.uncut if u.why is Why.NICK)
    if body is BOX:  # a grid of 3 x 3: 4 + 4 lines right across
        assert written + held == pytest.approx(4 * 150 + 4 * 90, abs=0.05)
    assert written < whole - 5 * 30
    near = shapely.unary_union(drawn).buffer(0.02 + nicks)
    assert near.covers(every)


def test_pieces_that_only_touch_at_a_corner_share_nothing(tmp_path: Path) -> None:
    design = drawing(tmp_path, 'Cutting = ["#edge"]', BOX)
    cut = cutting(alike(design, [translation(0, 50), translation(50, 80)]), 0.0)
    assert cut.uncut == ()


def test_stickers_are_kissed_and_a_cut_runs_round_all_of_them(tmp_path: Path) -> None:
    design = drawing(
        tmp_path, 'PartialCutting = ["#edge"]', '<circle id="edge" cx="30" cy="20" r="15"/>'
    )
    plan, layout = planned(design, CutRules(around_mm=2))
    kissed = of_kind(layout, LineKind.PARTIAL_CUTTING)
    (frame,) = of_kind(layout, LineKind.CUTTING)
    assert layout.lines[-1].contour is frame
    room = shapely.Polygon(frame.flattened(0.01))
    assert len(kissed) == plan.per_sheet
    assert all(room.contains(line_of(c)) for c in kissed)
    for mark in plan.marks:
        assert not room.buffer(-0.001).intersects(shapely.box(*mark.clear_zone))


def test_a_cut_round_the_pieces_that_leaves_the_paper_is_refused() -> None:
    plan = plan_sheets(personalize.load_design("jar-lid"), SheetRules(A4))
    with pytest.raises(InputError, match="would leave the paper"):
        cut_layouts(plan, 1, lambda _: CutRules(around_mm=90))


def test_two_runs_cut_alike() -> None:
    plan = plan_sheets(personalize.load_design("plant-flag"), SheetRules(A4))
    rules = CutRules(DASHED.dashes, nicks=3)
    first, again = (cut_layouts(plan, 9, lambda _: rules) for _ in range(2))
    assert first == again


def test_a_closed_line_that_does_not_come_back_is_closed_by_a_line() -> None:
    open_ended = Contour((0, 0), (Line((10, 0)), Line((10, 5))), closed=True)
    assert Track(open_ended).length_mm == pytest.approx(15 + math.hypot(10, 5))


def test_a_corrected_sheet_keeps_its_nicks_and_dashes() -> None:
    design = personalize.load_design("table-tent")
    larger = Correction(cut=Affine(1.01, 0, 0, 1.008, 0.3, -0.2))
    plan = plan_sheets(design, SheetRules(A4, correction=larger), fully=False)
    rules = CutRules(DASHED.dashes, nicks=3, nick_mm=5, around_mm=2)
    (layout,) = cut_layouts(plan, plan.per_sheet, lambda one: rules)
    expected = expected_of(plan, plan.per_sheet, layout, lambda one: rules)
    check_wall(cut_svg(layout).encode(), "cut.svg", expected)
