"""Sheets: paper sizes, the places of pieces, marks, rules and the slug."""

import dataclasses
import math

import pytest

from personalize.errors import InputError
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
