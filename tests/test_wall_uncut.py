"""The wall and what is left uncut: nothing is left out, or smuggled in, unsaid."""

import dataclasses
from collections.abc import Callable

import pytest

import personalize
from personalize.checks.wall import Expected, check_wall
from personalize.cut_files import expected_of
from personalize.design.design import LineKind
from personalize.errors import WallError
from personalize.geometry.affine import translation
from personalize.geometry.path import Contour, polyline
from personalize.output.cut_dxf import cut_dxf
from personalize.output.cut_svg import cut_svg
from personalize.sheet.cut_layouts import CutLayout, cut_layouts
from personalize.sheet.cutting import Uncut, Why, alike, cutting
from personalize.sheet.ink import DieLine
from personalize.sheet.paper import Paper
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from personalize.sheet.uncut import CREASE_DASHES, CutRules
from tests.test_wall import glyph_outline

A4 = Paper("A4", 210.0, 297.0)
RULES = CutRules({LineKind.CREASING: CREASE_DASHES}, nicks=3, around_mm=2.0)
Change = Callable[[CutLayout], CutLayout]


@pytest.fixture(scope="module")
def cut() -> tuple[CutLayout, Expected]:
    """A sheet of table tents with dashes, nicks and a cut round them."""
    design = personalize.load_design("table-tent")
    plan = plan_sheets(design, SheetRules(A4), fully=False)
    (layout,) = cut_layouts(plan, plan.per_sheet, lambda one: RULES)
    return layout, expected_of(plan, plan.per_sheet, layout, lambda one: RULES)


def proved(layout: CutLayout, expected: Expected) -> None:
    said = dataclasses.replace(expected, uncut=layout.uncut)
    for file, text in (("cut.svg", cut_svg(layout)), ("cut.dxf", cut_dxf(layout))):
        check_wall(text.encode(), file, said)


def test_the_files_as_written_pass(cut: tuple[CutLayout, Expected]) -> None:
    proved(*cut)


def lines(layout: CutLayout, *, kind: LineKind) -> list[DieLine]:
    return [line for line in layout.lines if line.kind is kind]


def with_lines(layout: CutLayout, old: DieLine, *new: DieLine) -> CutLayout:
    every = [n for line in layout.lines for n in (new if line is old else (line,))]
    return dataclasses.replace(layout, lines=tuple(every))


def with_uncut(layout: CutLayout, old: Uncut, *new: Uncut) -> CutLayout:
    every = [n for one in layout.uncut for n in (new if one is old else (one,))]
    return dataclasses.replace(layout, uncut=tuple(every))


def first(layout: CutLayout, why: Why) -> Uncut:
    return next(one for one in layout.uncut if one.why is why)


def a_dash_is_left_out(layout: CutLayout) -> CutLayout:
    return with_lines(layout, lines(layout, kind=LineKind.CREASING)[3])


def part_of_an_outline_is_left_out(layout: CutLayout) -> CutLayout:
    return with_lines(layout, lines(layout, kind=LineKind.CUTTING)[1])


def a_dash_fills_a_gap(layout: CutLayout) -> CutLayout:
    one, two = lines(layout, kind=LineKind.CREASING)[:2]
    joined = DieLine(one.kind, polyline([one.contour.start, ends(two.contour)]))
    return with_lines(with_lines(layout, one, joined), two)


def ends(contour: Contour) -> tuple[float, float]:
    return contour.segments[-1].end


def a_gap_that_is_longer_than_said(layout: CutLayout) -> CutLayout:
    one = lines(layout, kind=LineKind.CREASING)[2]
    (x0, y0), (x1, y1) = one.contour.start, ends(one.contour)
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    return with_lines(layout, one, DieLine(one.kind, polyline([middle, (x1, y1)])))


def a_gap_that_nobody_told(layout: CutLayout) -> CutLayout:
    return with_uncut(layout, first(layout, Why.GAP))


def a_nick_that_nobody_told(layout: CutLayout) -> CutLayout:
    return with_uncut(layout, first(layout, Why.NICK))


def a_gap_told_twice(layout: CutLayout) -> CutLayout:
    one = first(layout, Why.GAP)
    return with_uncut(layout, one, one, one)


def a_gap_told_as_a_nick(layout: CutLayout) -> CutLayout:
    one = first(layout, Why.GAP)
    return with_uncut(layout, one, dataclasses.replace(one, why=Why.NICK))


def a_nick_told_as_a_gap(layout: CutLayout) -> CutLayout:
    one = first(layout, Why.NICK)
    return with_uncut(layout, one, dataclasses.replace(one, why=Why.GAP))


def a_nick_told_as_shared(layout: CutLayout) -> CutLayout:
    one = first(layout, Why.NICK)
    return with_uncut(layout, one, dataclasses.replace(one, why=Why.SHARED))


def a_crease_told_as_one_gap(layout: CutLayout) -> CutLayout:
    creases = lines(layout, kind=LineKind.CREASING)
    own = [u for u in layout.uncut if u.why is Why.GAP and u.place == 0]
    whole = dataclasses.replace(own[0], middle=own[len(own) // 2].middle, end=own[-1].end)
    left = tuple(u for u in layout.uncut if u not in own)
    y = personalize.load_design("table-tent")
    at = plan_sheets(y, SheetRules(A4), fully=False).arrangement.places[0]
    near = at(whole.middle)[1]
    kept = [
        c for c in layout.lines if c not in creases or abs(c.contour.start[1] - near) > 1
    ]
    return dataclasses.replace(layout, lines=tuple(kept), uncut=(whole, *left))


def a_nick_parted_in_two(layout: CutLayout) -> CutLayout:
    """Two short bridges instead of one: no longer in all, but one too many."""
    one = first(layout, Why.NICK)
    (x0, y0), (x1, y1) = one.start, one.end

    def at(share: float) -> tuple[float, float]:
        return (x0 + (x1 - x0) * share, y0 + (y1 - y0) * share)

    halves = [
        dataclasses.replace(one, start=at(a), middle=at((a + b) / 2), end=at(b))
        for a, b in ((0, 0.3), (0.7, 1))
    ]
    design = personalize.load_design("table-tent")
    plan = plan_sheets(design, SheetRules(A4), fully=False)
    place = plan.arrangement.places[one.place]
    bridge = polyline([place(at(0.3)), place(at(0.7))])
    told = with_uncut(layout, one, *halves)
    more = (DieLine(LineKind.CUTTING, bridge), *told.lines)
    return dataclasses.replace(told, lines=more)


def a_gap_beside_the_line(layout: CutLayout) -> CutLayout:
    one = first(layout, Why.GAP)
    x, y = one.middle
    return with_uncut(layout, one, dataclasses.replace(one, middle=(x, y + 0.5)))


def a_gap_in_a_line_that_is_not_there(layout: CutLayout) -> CutLayout:
    one = first(layout, Why.GAP)
    return with_uncut(layout, one, one, dataclasses.replace(one, place=99))


def no_cut_round_the_pieces(layout: CutLayout) -> CutLayout:
    return with_lines(layout, layout.lines[-1])


def a_letter_for_the_cut_round_the_pieces(layout: CutLayout) -> CutLayout:
    letter = DieLine(LineKind.CUTTING, glyph_outline())
    return with_lines(layout, layout.lines[-1], letter)


def a_letter_beside_the_cut_round_the_pieces(layout: CutLayout) -> CutLayout:
    letter = DieLine(LineKind.CUTTING, glyph_outline())
    return with_lines(layout, layout.lines[-1], letter, layout.lines[-1])


def a_cut_round_the_pieces_through_one(layout: CutLayout) -> CutLayout:
    moved = layout.lines[-1].contour.transformed(translation(4, 0))
    return with_lines(layout, layout.lines[-1], DieLine(LineKind.CUTTING, moved))


def a_slanting_cut_round_the_pieces(layout: CutLayout) -> CutLayout:
    slanting = polyline([(0, 0), (210, 1), (210, 297), (1, 297)], closed=True)
    return with_lines(layout, layout.lines[-1], DieLine(LineKind.CUTTING, slanting))


BREACHES: tuple[Change, ...] = (
    a_dash_is_left_out,
    part_of_an_outline_is_left_out,
    a_dash_fills_a_gap,
    a_gap_that_is_longer_than_said,
    a_gap_that_nobody_told,
    a_nick_that_nobody_told,
    a_gap_told_twice,
    a_gap_told_as_a_nick,
    a_nick_told_as_a_gap,
    a_nick_told_as_shared,
    a_crease_told_as_one_gap,
    a_nick_parted_in_two,
    a_gap_beside_the_line,
    a_gap_in_a_line_that_is_not_there,
    no_cut_round_the_pieces,
    a_letter_for_the_cut_round_the_pieces,
    a_letter_beside_the_cut_round_the_pieces,
    a_cut_round_the_pieces_through_one,
    a_slanting_cut_round_the_pieces,
)


@pytest.mark.parametrize("change", BREACHES, ids=lambda change: change.__name__)
def test_what_is_left_out_or_put_in_unsaid_is_a_breach(
    cut: tuple[CutLayout, Expected], change: Change
) -> None:
    layout, expected = cut
    changed = change(layout)
    assert changed != layout
    with pytest.raises(WallError):
        proved(changed, expected)


@pytest.mark.parametrize(
    "rules",
    [
        dataclasses.replace(RULES, nicks=0),
        dataclasses.replace(RULES, nicks=2),
        dataclasses.replace(RULES, nick_mm=0.4),
        dataclasses.replace(RULES, dashes={}),
        dataclasses.replace(RULES, around_mm=None),
    ],
)
def test_what_the_maker_did_not_ask_for_is_a_breach(
    cut: tuple[CutLayout, Expected], rules: CutRules
) -> None:
    layout, expected = cut
    pieces = [dataclasses.replace(one, rules=rules) for one in expected.pieces]
    with pytest.raises(WallError):
        proved(layout, dataclasses.replace(expected, pieces=pieces))


def test_a_missing_line_is_said_to_be_missing_inside_a_cut_round_the_pieces(
    cut: tuple[CutLayout, Expected],
) -> None:
    layout, expected = cut
    part = next(one for one in layout.lines if one.kind is LineKind.CUTTING)
    with pytest.raises(WallError, match="lacks a Cutting line of the design near"):
        proved(with_lines(layout, part), expected)


def test_a_shared_edge_must_be_cut_by_the_other_piece() -> None:
    design = personalize.load_design("table-tent")
    x0, y0, _, y1 = design.outline.bounds()
    places = [translation(20 - x0, 20 - y0), translation(20 - x0, 20 - y0 + (y1 - y0))]
    done = cutting(alike(design, places), 0.0)
    shared = [one for one in done.uncut if one.why is Why.SHARED]
    assert shared
    layout = CutLayout("cut.svg", A4, done.lines, done.uncut)
    expected = Expected(alike(design, places), A4)
    proved(layout, expected)
    # Moved apart by a little over the tolerance, the edge is no longer one.
    apart = [places[0], translation(20 - x0, 20.02 - y0 + (y1 - y0))]
    with pytest.raises(WallError):
        proved(layout, dataclasses.replace(expected, pieces=alike(design, apart)))
    # Nor is it one where both leave it to the other.
    other = 1 - shared[0].place
    there, back = (
        places[shared[0].place],
        translation(*(-v for v in places[other].tuple[4:])),
    )
    moved = [back(there(p)) for p in (shared[0].start, shared[0].middle, shared[0].end)]
    both = Uncut(Why.SHARED, other, shared[0].line, *moved)
    with pytest.raises(WallError):
        proved(dataclasses.replace(layout, uncut=(*done.uncut, both)), expected)
