"""Sheets: paper sizes, the places of pieces, marks, rules and the slug."""

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
from personalize.geometry.zone import Region, region_of
from personalize.sheet.boxes import Arrangement
from personalize.sheet.check_page import Filled, check_page
from personalize.sheet.cut_layouts import cut_layouts
from personalize.sheet.fill import (
    Plan,
    SheetRules,
    fill,
    plan_sheets,
)
from personalize.sheet.furniture import register_marks, slug_words
from personalize.sheet.grid import grids
from personalize.sheet.ink import Ink, InkStroke, InkText, RegisterMark
from personalize.sheet.paper import (
    PAPERS,
    Paper,
    PaperMargins,
    parse_margins,
    parse_paper,
)

A4 = Paper("A4", 210.0, 297.0)

# ISO 216:2007, tables of the A and B series (trimmed sizes in mm), as published in many
# places; not derived here.
ISO_216 = {
    "A0": (841, 1189), "A1": (594, 841), "A2": (420, 594), "A3": (297, 420),
    "A4": (210, 297), "A5": (148, 210), "A6": (105, 148), "A7": (74, 105),
    "A8": (52, 74), "A9": (37, 52), "A10": (26, 37),
    "B0": (1000, 1414), "B1": (707, 1000), "B2": (500, 707), "B3": (353, 500),
    "B4": (250, 353), "B5": (176, 250), "B6": (125, 176), "B7": (88, 125),
    "B8": (62, 88), "B9": (44, 62), "B10": (31, 44),
}  # fmt: skip
# Common sizes of North America, in inches; from memory, widely published. The ANSI
# series is that of ANSI/ASME Y14.1 (drawing sheet sizes A to E).
INCHES = {
    "Letter": (8.5, 11), "Legal": (8.5, 14), "Tabloid": (11, 17), "ANSI A": (8.5, 11),
    "ANSI B": (11, 17), "ANSI C": (17, 22), "ANSI D": (22, 34), "ANSI E": (34, 44),
}  # fmt: skip


# Paper ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ISO_216)
def test_iso_sizes_are_those_of_the_standard(name: str) -> None:
    paper = parse_paper(name)
    assert (paper.name, paper.width_mm, paper.height_mm) == (name, *ISO_216[name])
    # Theory before rounding: a half of the one before, sides as 1 to the root of 2.
    series, n = name[0], int(name[1:])
    width = 1000 * 2 ** (-n / 2 - (0.25 if series == "A" else 0))
    assert abs(paper.width_mm - width) < 1
    assert abs(paper.height_mm - width * math.sqrt(2)) < 1


@pytest.mark.parametrize("name", INCHES)
def test_american_sizes_are_whole_numbers_of_points(name: str) -> None:
    paper = parse_paper(name)
    width, height = INCHES[name]
    assert (paper.width_mm, paper.height_mm) == pytest.approx((25.4 * width, 25.4 * height))
    assert (paper.width_mm / 25.4 * 72) % 1 == pytest.approx(0)


def test_no_other_sizes_are_listed_and_all_stand_upright() -> None:
    assert set(PAPERS) == set(ISO_216) | set(INCHES)
    assert all(width < height for width, height in PAPERS.values())


@pytest.mark.parametrize(
    ("text", "width", "height"),
    [
        ("a4", 210, 297),
        (" LETTER ", 215.9, 279.4),
        ("200x300", 200, 300),
        ("200x300mm", 200, 300),
        ("20cmx30cm", 200, 300),
        ("20cm x 300mm", 200, 300),
        ("8x10in", 203.2, 254),
        ("8inx10in", 203.2, 254),
        ("12 × 12 in", 304.8, 304.8),
        ("300x200mm", 300, 200),
        ("20x5000", 20, 5000),
        ("ansi c", 431.8, 558.8),
        ("12in square", 304.8, 304.8),
        ("30 cm square", 300, 300),
        ("A4 landscape", 297, 210),
        ("A4 Portrait", 210, 297),
        ("Letter  LANDSCAPE", 279.4, 215.9),
        ("300x200 portrait", 200, 300),
        ("300x200 landscape", 300, 200),
        ("20X30CM", 200, 300),
        ("12in square landscape", 304.8, 304.8),
    ],
)
def test_paper_can_be_named_or_measured(text: str, width: float, height: float) -> None:
    paper = parse_paper(text)
    assert (paper.width_mm, paper.height_mm) == pytest.approx((width, height))


@pytest.mark.parametrize(
    "text",
    ["", "A11", "A 4", "quarto", "200", "200x", "x300", "19x300", "200x5001", "0x0",
     "landscape", "A4 sideways", "landscape A4", "square", "0.5in square",
     "-200x300", "200x300pt", "1.2.3x300", "200x300x400", "nanxnan", "infx200", "2e2x300"],
)  # fmt: skip
def test_what_is_no_paper_size_is_refused_with_a_way_out(text: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_paper(text)
    assert str(caught.value).startswith(f"--paper: {text!r} is no paper size.")
    assert "A4" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "margins"),
    [
        ("5", PaperMargins(5, 5, 5, 5)),
        ("0", PaperMargins(0, 0, 0, 0)),
        ("1,2,3,4", PaperMargins(top=1, right=2, bottom=3, left=4)),
        (" 1 2  3, 4 ", PaperMargins(1, 2, 3, 4)),
        ("1cm,0.5in,3,4mm", PaperMargins(10, 12.7, 3, 4)),
    ],
)
def test_margins_are_one_or_four(text: str, margins: PaperMargins) -> None:
    found = parse_margins(text, A4)
    assert dataclasses.astuple(found) == pytest.approx(dataclasses.astuple(margins))


@pytest.mark.parametrize("text", ["", "5,5", "1,2,3,4,5", "-1", "5,5,-5,5", "wide", "nan"])
def test_what_are_no_margins_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="neither one distance nor four"):
        parse_margins(text, A4)


@pytest.mark.parametrize("text", ["101", "0,205,0,0", "150,0,140,0", "1e9"])
def test_margins_that_leave_nothing_are_refused(text: str) -> None:
    with pytest.raises(InputError, match="leave nothing of A4 paper"):
        parse_margins(text, A4)


def test_the_area_within_margins_has_its_origin_at_the_lower_left() -> None:
    area = PaperMargins(top=1, right=2, bottom=3, left=4).within(A4)
    assert area == (4, 3, 208, 296)
    # A quarter inch, and half an inch at the trailing edge (common practice, no source).
    assert PaperMargins() == PaperMargins(6.4, 6.4, 12.7, 6.4)


# Places --------------------------------------------------------------------------------

EDGES = st.floats(0, 30)
SHEETS = {
    "width": st.floats(15, 160),
    "height": st.floats(10, 200),
    "margins": st.builds(PaperMargins, EDGES, EDGES, EDGES, EDGES),
    "spacing": st.floats(0, 15),
    "bleed_part": st.floats(0, 0.5),
    "marks": st.booleans(),
    "paper": st.sampled_from(
        [A4, parse_paper("Letter"), parse_paper("A5"), Paper("wide", 300, 120)]
    ),
}


def box_region(x0: float, y0: float, x1: float, y1: float) -> Region:
    return region_of(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))


def laid_out(
    width: float,
    height: float,
    margins: PaperMargins,
    spacing: float,
    bleed: float,
    marks: tuple[RegisterMark, ...],
    paper: Paper,
) -> list[Arrangement]:
    return list(
        grids(
            box_region(3.0, -2.0, 3.0 + width, height - 2.0),
            margins.within(paper),
            spacing_mm=spacing,
            bleed_mm=bleed,
            clear_zones=[mark.clear_zone for mark in marks],
        )
    )


@settings(max_examples=80, deadline=None)
@given(**SHEETS)
def test_pieces_keep_apart_from_each_other_from_margins_and_from_marks(
    width: float,
    height: float,
    margins: PaperMargins,
    spacing: float,
    bleed_part: float,
    marks: bool,
    paper: Paper,
) -> None:
    x0, y0, x1, y1 = margins.within(paper)
    standing = register_marks(paper, margins) if marks else ()
    bleed = bleed_part * spacing
    outline = shapely.box(3.0, -2.0, 3.0 + width, height - 2.0)
    zones = shapely.box(*np.array([mark.clear_zone for mark in standing]).reshape(-1, 4).T)
    for grid in laid_out(width, height, margins, spacing, bleed, standing, paper):
        pieces = [shapely.transform(outline, place.many) for place in grid.places]
        boxes = shapely.bounds(pieces)
        assert boxes == pytest.approx(np.array(grid.boxes), abs=1e-6)
        assert all(place.determinant == pytest.approx(1) for place in grid.places)
        printed = boxes + np.array([-bleed, -bleed, bleed, bleed])
        assert (printed[:, :2].min(axis=0) >= np.array((x0, y0)) - 1e-5).all()
        assert (printed[:, 2:].max(axis=0) <= np.array((x1, y1)) + 1e-5).all()
        over = shapely.intersection(shapely.box(*printed.T)[:, None], zones[None])
        assert shapely.area(over).max(initial=0) < 1e-3
        # No other piece comes nearer than the spacing: only each piece finds itself.
        near = shapely.STRtree(pieces).query(pieces, "dwithin", max(0.0, spacing - 1e-5))
        if spacing > 1e-4:
            assert (near[0] == near[1]).all()
        assert shapely.union_all(pieces).area == pytest.approx(len(pieces) * outline.area)


@settings(max_examples=80, deadline=None)
@given(**SHEETS)
def test_no_plain_grid_from_a_corner_holds_more_pieces(
    width: float,
    height: float,
    margins: PaperMargins,
    spacing: float,
    bleed_part: float,
    marks: bool,
    paper: Paper,
) -> None:
    standing = register_marks(paper, margins) if marks else ()
    bleed = bleed_part * spacing
    x0, y0, x1, y1 = margins.within(paper)
    zones = [mark.clear_zone for mark in standing]
    most = 0
    for w, h in ((width, height), (height, width)):
        count = 0
        x = x0 + bleed
        while x + w + bleed <= x1:
            y = y0 + bleed
            while y + h + bleed <= y1:
                count += not any(
                    x - bleed < right and left < x + w + bleed
                    and y - bleed < top and bottom < y + h + bleed
                    for left, bottom, right, top in zones
                )  # fmt: skip
                y += h + spacing
            x += w + spacing
        most = max(most, count)
    found = laid_out(width, height, margins, spacing, bleed, standing, paper)
    if not found:
        assert most == 0
    for grid in found:
        assert len(grid.places) >= most
        assert len(grid.places) == len(found[0].places)


def test_a_sheet_holds_what_arithmetic_says() -> None:
    # By hand: 194 x 281 mm of A4 hold 3 x 5 squares of 50 mm, 2 mm apart; and 50 x 90 mm
    # cards go 3 x 3 upright, or 2 x 5 a quarter turned.
    margins = PaperMargins(8, 8, 8, 8)
    assert len(laid_out(50, 50, margins, 2, 1, (), A4)[0].places) == 15
    assert len(laid_out(50, 90, margins, 2, 1, (), A4)[0].places) == 10
    # A piece that just fits is not lost to rounding.
    assert len(laid_out(194, 281, margins, 0, 0, (), A4)[0].places) == 1
    assert len(laid_out(97, 281 / 3, margins, 0, 0, (), A4)[0].places) == 6
    assert laid_out(194.01, 281.01, margins, 0, 0, (), A4) == []


@settings(max_examples=40, deadline=None)
@given(**SHEETS)
def test_the_same_question_has_the_same_answer(
    width: float,
    height: float,
    margins: PaperMargins,
    spacing: float,
    bleed_part: float,
    marks: bool,
    paper: Paper,
) -> None:
    standing = register_marks(paper, margins) if marks else ()
    ask = functools.partial(
        laid_out, width, height, margins, spacing, bleed_part * spacing, standing, paper
    )
    assert ask() == ask()


def test_places_are_filled_row_by_row_from_the_top() -> None:
    for grid in laid_out(60, 40, PaperMargins(), 4, 2, (), A4):
        tops = [(-round(box[1], 6), round(box[0], 6)) for box in grid.boxes]
        assert tops == sorted(tops)


# Marks ---------------------------------------------------------------------------------


@settings(max_examples=100, deadline=None)
@given(margins=SHEETS["margins"], paper=SHEETS["paper"])
def test_register_marks_stand_ten_millimetres_from_the_papers_edge_and_can_be_printed(
    margins: PaperMargins, paper: Paper
) -> None:
    # 10 mm and 5 mm clear round them: common practice, no source.
    sheet = shapely.box(0, 0, paper.width_mm, paper.height_mm)
    printable = shapely.box(*margins.within(paper))
    marks = register_marks(paper, margins)
    assert len(marks) == 4
    for mark in marks:
        lines = [shapely.LineString(c.flattened(0.01)) for c in mark.contours()]
        drawn = shapely.union_all(lines)
        # The circle's line is 0.5 mm wide, so half of it lies outside.
        inked = shapely.box(*drawn.bounds)
        assert inked.bounds[2] - inked.bounds[0] == pytest.approx(8)
        assert sheet.exterior.distance(inked) >= 10 - 1e-9
        assert printable.buffer(1e-9).covers(inked)
        clear = shapely.box(*mark.clear_zone)
        assert clear.exterior.distance(drawn) == pytest.approx(5)
    xs, ys = ({mark.centre[i] for mark in marks} for i in (0, 1))
    assert (len(xs), len(ys)) == (2, 2)


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
    bleed = shapely.Polygon(design.silhouette.outer).buffer(plan.bleed_mm)
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
            three = (plan.slots.level_rule, plan.slots.upright_rule, plan.slots.slug)
            slots = [shapely.box(*slot.box) for slot in three]
            assert all(a.disjoint(b) for a, b in itertools.combinations(slots, 2))
            assert all(any(s.buffer(0.11).covers(t) for s in slots) for t in things)


@pytest.mark.parametrize("name", NAMES)
def test_rules_and_slug_have_room_on_the_sheets_or_get_a_page_of_their_own(
    name: str,
) -> None:
    plan = plan_sheets(design_of(name), SheetRules(A4))
    own_page = check_page([Filled(plan, [[2, 3], [4]])])
    sheets = list(fill(plan, pieces_of(plan.design, 3), 3))
    assert all(sheet.furniture for sheet in sheets) is (plan.slots is not None)
    assert bool(own_page) is (plan.slots is None)
    words = [
        ink.line.text
        for ink in (own_page or sheets[0].furniture)
        if isinstance(ink, InkText)
    ]
    assert sum("mm long" in text for text in words) == 2
    assert any("sheet 1 of" in text for text in words)


@pytest.mark.parametrize("name", NAMES)
def test_rules_are_as_long_as_they_say_on_both_axes(name: str) -> None:
    design = design_of(name)
    plan = plan_sheets(design, SheetRules(A4))
    (sheet,) = fill(plan, pieces_of(design, 1), 1)
    furniture = sheet.furniture or check_page([Filled(plan, [[2]])])
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
    assert (plan.bleed_mm, plan.spacing_mm) == (effective, apart)
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
    listed = re.search(r"rows (.*)\. A4", words)
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
