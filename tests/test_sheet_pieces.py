"""Pieces of the samples on their sheets."""

import dataclasses
import functools
import itertools
import math
import re

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import personalize
from personalize.design.design import Design
from personalize.errors import InputError
from personalize.fold.piece import Piece
from personalize.geometry.affine import Affine
from personalize.geometry.zone import Region
from personalize.sheet.check_page import Filled, check_pages
from personalize.sheet.cut_layouts import cut_layouts
from personalize.sheet.fill import fill
from personalize.sheet.furniture import slug_words
from personalize.sheet.ink import Ink, InkStroke, InkText
from personalize.sheet.paper import (
    Paper,
    parse_margins,
    parse_paper,
)
from personalize.sheet.plan import Plan
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from personalize.sheet.slots import find_slots

A4 = Paper("A4", 210.0, 297.0)

# Whole sheets --------------------------------------------------------------------------

NAMES = personalize.sample_names()


@functools.cache
def design_of(name: str) -> Design:
    return personalize.load_design(name)


def moved(region: Region, at: Affine) -> shapely.Polygon:
    return shapely.transform(shapely.Polygon(region.outer, region.holes), at.many)


def ink_of(ink: Ink) -> shapely.Geometry:
    """Give the area that a rule or a line of words covers."""
    if isinstance(ink, InkStroke):
        line = shapely.LineString(ink.contour.flattened(0.01))
        return line.buffer(ink.width_mm / 2, cap_style="flat")
    assert isinstance(ink, InkText)
    assert ink.line.ink is not None
    return shapely.transform(shapely.box(*ink.line.ink), ink.place.many)


def pieces_of(design: Design, count: int) -> list[Piece]:
    return [Piece(design, row, 1, "", ()) for row in range(2, count + 2)]


@pytest.mark.parametrize("marks", [True, False])
@pytest.mark.parametrize("paper", ["A4", "Letter", "A3"])
@pytest.mark.parametrize("name", NAMES)
def test_nothing_printed_on_a_sheet_lies_over_anything_else(
    name: str, paper: str, marks: bool
) -> None:
    design = design_of(name)
    rules = SheetRules(parse_paper(paper), marks=marks)
    plan = plan_sheets(design, rules)
    printable = shapely.box(*rules.margins.within(rules.paper))
    bleed = shapely.Polygon(design.silhouette.outer).buffer(plan.member.bleed_mm)
    for sheet in fill(plan, pieces_of(design, 48), 48):
        pieces = [shapely.transform(bleed, p.at.many) for p in sheet.placed]
        things = [ink_of(ink) for ink in sheet.furniture]
        zones = [shapely.box(*mark.clear_zone) for mark in sheet.marks]
        assert things or plan.slots is None
        for piece in pieces:
            assert printable.buffer(0.01).covers(piece)
        for piece, thing in itertools.product(pieces, things):
            assert piece.distance(thing) > 0.5
        for zone, other in itertools.product(zones, [*pieces, *things]):
            assert zone.intersection(other).area < 1e-6
        for thing in things:
            # Half the width of a rule's last tick, 0.1 mm, may reach into the margin.
            assert printable.buffer(0.11).covers(thing)
        for one, other in itertools.combinations(pieces, 2):
            assert one.intersection(other).area < 1e-3
        if plan.slots is not None:
            slots = [shapely.box(*box) for box in plan.slots.boxes]
            assert all(a.disjoint(b) for a, b in itertools.combinations(slots, 2))
            assert all(any(s.buffer(0.11).covers(t) for s in slots) for t in things)


@pytest.mark.parametrize("name", NAMES)
def test_rules_and_slug_have_room_on_the_sheets_or_get_a_page_of_their_own(
    name: str,
) -> None:
    plan = plan_sheets(design_of(name), SheetRules(A4))
    own_pages = check_pages([Filled(plan, [[2, 3], [4]])])
    sheets = list(fill(plan, pieces_of(plan.design, 3), 3))
    with_rules = plan.slots is not None and plan.slots.rules is not None
    assert all(sheet.furniture for sheet in sheets) is (plan.slots is not None)
    assert bool(own_pages) is not with_rules
    every = (*sheets[0].furniture, *(ink for page in own_pages for ink in page))
    words = [ink.line.text for ink in every if isinstance(ink, InkText)]
    assert sum("mm long" in text for text in words) == 2
    # A short slug says on the sheet which it is; all else is on the page then.
    short = plan.slots is not None and plan.slots.short
    assert sum("sheet 1 of" in text for text in words) == 1 + short
    assert sum("top edge first" in text and "sheet 1 of" in text for text in words) == 1


def full(name: str) -> Plan:
    """Give a plan whose sheets have room for nothing but pieces."""
    plan = plan_sheets(design_of(name), SheetRules(A4))
    return dataclasses.replace(plan, slots=None)


def test_every_sheet_without_room_is_told_on_as_many_pages_as_it_takes() -> None:
    plan = full("plant-flag")
    pages = check_pages([Filled(plan, [[row] for row in range(2, 132)])])
    assert len(pages) == 3
    words = [[i.line.text for i in page if isinstance(i, InkText)] for page in pages]
    told = [text for own in words for text in own if ", sheet " in text]
    assert [f"sheet {n} of 130" in text for n, text in enumerate(told, 1)] == [True] * 130
    assert all(sum("mm long" in text for text in own) == 2 for own in words)
    room = shapely.box(5, 5, 205, 292)
    assert all(room.covers(shapely.box(*_box_of(ink))) for page in pages for ink in page)


def _box_of(ink: Ink) -> tuple[float, float, float, float]:
    if isinstance(ink, InkStroke):
        return ink.contour.bounds()
    (x0, y0), (x1, y1) = (
        ink.place(corner) for corner in (ink.line.ink[:2], ink.line.ink[2:])
    )
    return (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def test_a_sheet_with_room_for_the_slug_alone_has_it() -> None:
    taken = [(5.0, 5.0, 205.0, 284.0)]
    slots = find_slots((5, 5, 205, 292), taken)
    assert slots is not None
    assert slots.rules is None
    assert slots.slug.box[1] >= 284
    plan = dataclasses.replace(full("plant-flag"), slots=slots)
    (sheet,) = fill(plan, pieces_of(plan.design, 1), 1)
    assert any(
        "sheet 1 of 1" in i.line.text for i in sheet.furniture if isinstance(i, InkText)
    )
    (page,) = check_pages([Filled(plan, [[2]])])
    told = [ink.line.text for ink in page if isinstance(ink, InkText)]
    assert sum("the sheets of Plant flag have no room" in text for text in told) == 1
    assert not any("sheet 1 of 1" in text for text in told)


@pytest.mark.parametrize("name", NAMES)
def test_rules_are_as_long_as_they_say_on_both_axes(name: str) -> None:
    design = design_of(name)
    plan = plan_sheets(design, SheetRules(A4))
    (sheet,) = fill(plan, pieces_of(design, 1), 1)
    pages = check_pages([Filled(plan, [[2]])])
    furniture = [*sheet.furniture, *(ink for page in pages for ink in page)]
    strokes = [ink for ink in furniture if isinstance(ink, InkStroke)]
    words = [ink.line.text for ink in furniture if isinstance(ink, InkText)]
    told = {float(m[1]) for w in words if (m := re.search(r"is (\d+) mm long", w))}
    boxes = [stroke.contour.bounds() for stroke in strokes]
    (length,) = told
    assert length in (50, 100)
    assert max(x1 - x0 for x0, _, x1, _ in boxes) == pytest.approx(length, abs=1e-9)
    assert max(y1 - y0 for _, y0, _, y1 in boxes) == pytest.approx(length, abs=1e-9)


@pytest.mark.parametrize(
    ("bleed", "spacing", "effective", "apart"),
    [
        (3, None, 3, 6),
        (3, 8, 3, 8),
        (3, 4, 2, 4),
        (3, 0, 0, 0),
        (0, None, 0, 3),
        (0, 5, 0, 5),
    ],
)
def test_bleed_on_a_sheet_is_at_most_half_the_spacing(
    bleed: float, spacing: float | None, effective: float, apart: float
) -> None:
    design = design_of("jar-lid")
    design = dataclasses.replace(
        design, margins=dataclasses.replace(design.margins, bleed=bleed)
    )
    plan = plan_sheets(design, SheetRules(A4, spacing_mm=spacing))
    assert (plan.member.bleed_mm, plan.spacing_mm) == (effective, apart)
    assert effective == min(bleed, apart / 2)
    outline = shapely.Polygon(design.silhouette.outer)
    pieces = [shapely.transform(outline, at.many) for at in plan.arrangement.places]
    gaps = [a.distance(b) for a, b in itertools.combinations(pieces, 2)]
    # Shapes are laid out on a grid of 1 mm: at most so much is lost between two.
    assert apart - 1e-6 <= min(gaps) <= apart + 1.5


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("spares", [True, False])
@pytest.mark.parametrize("count", [1, 7, 48])
def test_every_piece_gets_one_place_in_order_and_spares_fill_the_last_sheet(
    name: str, spares: bool, count: int
) -> None:
    design = design_of(name)
    plan = plan_sheets(design, SheetRules(A4, spares=spares))
    sheets = list(fill(plan, pieces_of(design, count), count))
    assert len(sheets) == plan.sheets_for(count) == math.ceil(count / plan.per_sheet)
    placed = [p for sheet in sheets for p in sheet.placed]
    rows = [p.piece.row for p in placed]
    assert rows[:count] == list(range(2, count + 2))
    assert set(rows[count:]) <= {None}
    assert all(p.piece.texts == () for p in placed[count:])
    assert len(placed) == (len(sheets) * plan.per_sheet if spares else count)
    for sheet in sheets:
        assert len({p.at for p in sheet.placed}) == len(sheet.placed) <= plan.per_sheet
    assert [sheet.number for sheet in sheets] == list(range(1, len(sheets) + 1))


@pytest.mark.parametrize("name", NAMES)
def test_sheets_filled_alike_share_one_cut_file(name: str) -> None:
    design = design_of(name)
    plan = plan_sheets(design, SheetRules(A4))
    assert len(cut_layouts(plan, 48)) == 1
    sparing = plan_sheets(design, SheetRules(A4, spares=False))
    count = sparing.per_sheet + 1
    first, last = cut_layouts(sparing, count)
    sheets = list(fill(sparing, pieces_of(design, count), count))
    assert [sheet.cut_file for sheet in sheets] == [first.file, last.file]
    assert first.file != last.file
    assert len(first.lines) == sparing.per_sheet * len(last.lines)


def outline_area(design: Design) -> float:
    return float(shapely.Polygon(design.outline.flattened(0.01)).area)


@pytest.mark.parametrize("name", NAMES)
def test_a_piece_is_cut_loose_last(name: str) -> None:
    design = design_of(name)
    plan = plan_sheets(design, SheetRules(A4))
    (layout,) = cut_layouts(plan, 2)
    kinds = [line.kind for line in layout.lines]
    cuts = [line.contour for line in layout.lines if line.kind == "Cutting"]
    # Creases of the whole sheet come first.
    assert kinds == [k for k in kinds if k != "Cutting"] + ["Cutting"] * len(cuts)
    per_piece = len(cuts) // plan.per_sheet
    for i in range(0, len(cuts), per_piece):
        *before, last = (
            shapely.Polygon(c.flattened(0.01)) for c in cuts[i : i + per_piece]
        )
        assert last.area == pytest.approx(outline_area(design), rel=1e-3)
        for hole in before:
            assert last.contains(hole)


@pytest.mark.parametrize(
    ("paper", "margins", "marks", "says"),
    [
        ("60x60mm", "0", False, "does not fit on 60x60mm paper"),
        ("A6", "6.4", True, "92.2 x 135.2 mm inside the margins, and the register marks"),
        ("A4", "110,80,110,80", False, "there are 50.0 x 77.0 mm inside the margins."),
    ],
)
def test_a_piece_too_large_for_its_paper_is_refused_with_figures(
    paper: str, margins: str, marks: bool, says: str
) -> None:
    sheet = parse_paper(paper)
    rules = SheetRules(sheet, parse_margins(margins, sheet), marks=marks)
    with pytest.raises(InputError, match=re.escape(says)):
        plan_sheets(design_of("plant-flag"), rules)


def test_what_is_said_to_help_a_piece_that_is_too_large_does() -> None:
    design = design_of("plant-flag")
    a6 = parse_paper("A6")
    with pytest.raises(InputError) as refused_for_marks:
        plan_sheets(design, SheetRules(a6))
    do = refused_for_marks.value.problems[0].do
    assert "(A3 has room)" in do
    plan_sheets(design, SheetRules(parse_paper("A3")))
    scale = re.search(r"drawn at (\d+)% of its size", do)
    assert scale is not None
    # 135.2 mm are inside the margins, less the bleed of 3 mm at both ends.
    assert (design.box_mm[2] - design.box_mm[0]) * int(scale[1]) / 100 <= 129.2
    tight = parse_paper("175x70mm")
    with pytest.raises(InputError, match=re.escape("--marks none (then it fits)")):
        plan_sheets(design, SheetRules(tight))
    plan_sheets(design, SheetRules(tight, marks=False))


@settings(max_examples=60, deadline=None)
@given(rows=st.lists(st.integers(2, 400), max_size=60))
def test_the_slug_tells_the_rows_on_the_sheet_and_no_names(rows: list[int]) -> None:
    words = slug_words("Picnic", 2, 5, rows, "A4")
    assert words.startswith("Picnic, sheet 2 of 5")
    assert words.endswith(". A4, top edge first.")
    assume(rows)
    several = "s" if len(set(rows)) > 1 else ""
    listed = re.search(rf"row{several} (.*)\. A4", words)
    assert listed is not None
    if " to " in listed[1]:  # too many stretches for one line: the first and the last
        assert [int(n) for n in listed[1].split(" to ")] == [min(rows), max(rows)]
        return
    told: list[int] = []
    for part in listed[1].split(", "):
        first, last = (part.split("-") * 2)[:2]
        told += range(int(first), int(last) + 1)
    assert told == sorted(set(rows))


def test_the_piece_on_the_sheet_is_the_piece_of_the_design() -> None:
    # The place is a turn and a shift: nothing is mirrored or scaled.
    plan: Plan = plan_sheets(design_of("herb-tag"), SheetRules(A4))
    for place, box in zip(plan.arrangement.places, plan.arrangement.boxes, strict=True):
        assert place.determinant == pytest.approx(1)
        assert np.hypot(place.a, place.b) == pytest.approx(1)
        outline = moved(plan.design.silhouette, place)
        assert outline.bounds == pytest.approx(box, abs=1e-6)
