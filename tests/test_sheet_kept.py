"""How sheets are filled: distances, counts, order, marks."""

import functools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from personalize.geometry.zone import Region, region_of
from personalize.sheet.boxes import Arrangement
from personalize.sheet.furniture import register_marks
from personalize.sheet.grid import grids
from personalize.sheet.ink import RegisterMark
from personalize.sheet.paper import (
    Paper,
    PaperMargins,
    parse_paper,
)

A4 = Paper("A4", 210.0, 297.0)

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
