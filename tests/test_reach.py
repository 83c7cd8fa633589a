"""What a cutter reaches, and where its file has the die lines: as the sheet lies before it.

cut.svg is measured by svgelements, print.pdf is read by pdfium.
"""

import dataclasses
import re
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import svgelements
from numpy.typing import NDArray

import personalize
from personalize.checks.sheet_findings import sheet_findings
from personalize.geometry.path import polyline
from personalize.sheet.backs import Flip
from personalize.sheet.check_page import Filled, check_pages
from personalize.sheet.hand import ByHand
from personalize.sheet.ink import InkStroke, InkText, MarkKind, RegisterMark
from personalize.sheet.paper import PaperMargins, parse_paper
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from tests.conftest import command, drawing, line, put

# Unlike its own mirror image; 50 x 30 mm at (5, 5).
PIECE = line("M5 5H55V15H20V35H5Z")
TOML = '[lines]\nCutting = "#edge"\n[margins]\nbleed = 1\n[[panel]]\nname = "front"\n'
RECORD = (
    "margins_mm = [3, 4, 12, 6]\nreach_mm = [10, 60, 25, 5]\ncut_shift_mm = [2, -1.5]\n"
)
Boxes = NDArray[np.float64]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("reach")
    rows = "front\n" + "".join(f"Guest {n}\n" for n in range(1, 30))
    files = {"ell.svg": drawing(PIECE), "ell.toml": TOML + "at = [30, 10]\n"}
    put(folder, files | {"list.csv": rows, "kitchen.toml": RECORD})
    return folder


def made(desk: Path, name: str, *more: str) -> Path:
    words = ("make", desk / "list.csv", "--design", desk / "ell.toml", "--no-proof")
    done = command(*words, *more, "--out", desk / name)
    assert done.exit_code == 0, done.output
    return desk / name


def boxes(file: Path) -> Boxes:
    """Left, top, right and bottom of every line, in mm."""
    svg = svgelements.SVG.parse(file, ppi=25.4)
    return np.array([e.bbox() for e in svg.elements() if isinstance(e, svgelements.Path)])


def words_of(folder: Path) -> list[str]:
    pages = pypdfium2.PdfDocument(folder / "print.pdf")
    return [page.get_textpage().get_text_range() for page in pages]


def told(folder: Path) -> list[float]:
    """Width, height, left and top of the die lines, as the first slug tells them.

    It stands on the sheet, or on a page of its own behind all sheets.
    """
    words = " ".join(words_of(folder))
    found = re.search(
        r"Die lines(?:, print down)?: ([\d.]+) x ([\d.]+) mm, ([\d.]+) from the left,"
        r" ([\d.]+) from the top",
        " ".join(words.split()),
    )
    assert found is not None, words
    return [float(number) for number in found.groups()]


def around_all(lines: Boxes) -> list[float]:
    (x0, y0), (x1, y1) = lines[:, :2].min(axis=0), lines[:, 2:].max(axis=0)
    return [x1 - x0, y1 - y0, x0, y0]


@pytest.mark.parametrize("way", [(), ("--face-down",)])
def test_a_cutter_reaches_every_line_as_the_sheet_lies_before_it(
    desk: Path, way: tuple[str, ...]
) -> None:
    out = made(desk, f"near{len(way)}", "--machine", str(desk / "kitchen.toml"), *way)
    # The file is 2 mm left and 1.5 mm down of where the blade comes out: undo that.
    lines = boxes(out / "cut.svg") + np.array([2, 1.5, 2, 1.5])
    assert lines[:, 0].min() >= 5 + 1 - 0.01
    assert lines[:, 1].min() >= 10 + 1 - 0.01
    assert lines[:, 2].max() <= 210 - 60 - 1 + 0.01
    assert lines[:, 3].max() <= 297 - 25 - 1 + 0.01


def test_the_back_of_a_sheet_is_not_cut_and_keeps_the_printer_s_margins_alone() -> None:
    paper = parse_paper("A4")
    margins, reach = PaperMargins(3, 4, 12, 6), PaperMargins(10, 60, 25, 5)
    rules = SheetRules(paper, margins, reach=reach, flip=Flip.LEVEL)
    assert rules.all_margins == PaperMargins(top=12, right=60, bottom=25, left=6)
    over = SheetRules(paper, margins, reach=reach, flip=Flip.UPRIGHT, face_down=True)
    assert over.all_margins == PaperMargins(top=10, right=6, bottom=25, left=60)


def test_scissors_reach_what_the_cutter_does_not() -> None:
    margins, reach = PaperMargins(3, 4, 12, 6), PaperMargins(10, 60, 25, 5)
    rules = SheetRules(parse_paper("A4"), margins, reach=reach, by_hand=ByHand.SCISSORS)
    assert rules.all_margins == margins


def test_a_record_that_leaves_nothing_of_the_paper_is_refused(desk: Path) -> None:
    put(desk, {"far.toml": "reach_mm = [180, 100, 180, 120]\n"})
    words = ("make", desk / "list.csv", "--design", desk / "ell.toml")
    done = command(*words, "--machine", str(desk / "far.toml"), "--out", desk / "no")
    assert done.exit_code == 2
    assert "leaves nothing of A4 paper" in done.output


CASES = {
    "plain": (),
    "shifted": ("--machine", "kitchen.toml"),
    "down": ("--machine", "kitchen.toml", "--face-down"),
    "framed": ("--around", "3", "--rows", "2-4"),
}


@pytest.mark.parametrize("name", CASES)
def test_the_slug_tells_where_the_cut_file_has_the_die_lines(desk: Path, name: str) -> None:
    """A program that adds marks of its own has them laid there by hand."""
    more = [str(desk / one) if one.endswith("toml") else one for one in CASES[name]]
    out = made(desk, name, "--clear", "top left 14x14", *more)
    assert told(out) == pytest.approx(around_all(boxes(out / "cut.svg")), abs=0.006)


def test_sheets_without_room_tell_it_on_a_page_of_their_own(desk: Path) -> None:
    small = ("--paper", "70x62mm", "--margin", "5", "--clear", "top left 6x6")
    out = made(desk, "small", *small, "--rows", "2-3")
    assert [("Guest" in words, "Die lines" in words) for words in words_of(out)] == [
        (True, False),
        (False, True),
    ]
    assert told(out) == pytest.approx(around_all(boxes(out / "cut.svg")), abs=0.006)


def test_a_cut_round_the_pieces_keeps_off_a_clear_zone_face_down(desk: Path) -> None:
    zone = ("--clear", "bottom right 40x60", "--around", "3", "--margin", "8")
    out = made(desk, "down-framed", *zone, "--face-down")
    svg = svgelements.SVG.parse(out / "cut.svg", ppi=25.4)
    paths = [e for e in svg.elements() if isinstance(e, svgelements.Path)]
    frame = max(paths, key=lambda path: path.bbox()[2] - path.bbox()[0])
    # Turned over, the zone lies in the lower left corner: 40 mm wide, 60 mm high.
    for one in frame.as_points():
        assert one.x >= 40 - 0.01 or one.y <= 297 - 60 + 0.01
    corner = [p for p in frame.as_points() if p.x < 41 and p.y > 297 - 61]
    assert corner, "the frame was to step in at the zone"


@pytest.mark.parametrize("size", ["62x62mm", "80x70mm", "90x140mm", "A4"])
def test_rules_on_a_page_of_their_own_end_inside_the_margins(size: str) -> None:
    paper, margins = parse_paper(size), PaperMargins()
    plan = plan_sheets(personalize.load_design("herb-tag"), SheetRules(parse_paper("A4")))
    rules = SheetRules(paper, margins)
    full = dataclasses.replace(plan, rules=rules, slots=None)
    (page,) = check_pages([Filled(full, [[2]])])
    x0, y0, x1, y1 = margins.within(paper)
    for ink in page:
        if isinstance(ink, InkStroke):
            a, b, c, d = ink.contour.bounds()
            assert x0 <= a
            assert y0 <= b
            assert c <= x1
            assert d <= y1
    words = [ink.line.text for ink in page if isinstance(ink, InkText)]
    assert any("mm long" in one for one in words)


@pytest.mark.parametrize(
    ("x", "face_down", "told"),
    [
        (100, False, None),
        (2, False, "the edge that the printer leaves blank"),
        (8, False, "out of what the cutter can read"),
        (8, True, "out of what the cutter can read"),
        (160, False, "out of what the cutter can read"),
        (160, True, None),
    ],
)
def test_a_mark_that_is_not_seen_is_told(
    x: float, face_down: bool, told: str | None
) -> None:
    """Margins left 3 mm; the cutter reaches from 10 mm on, and to 60 mm of the right."""
    paper = parse_paper("A4")
    mark = RegisterMark(
        (x, 150), MarkKind.OWN, drawn=(polyline([(x - 2, 150), (x + 2, 150)]),)
    )
    rules = SheetRules(
        paper,
        PaperMargins(left=3),
        own_marks=(mark,),
        reach=PaperMargins(left=10, right=60),
        face_down=face_down,
    )
    found = [f for f in sheet_findings(rules) if f.rule == "mark-in-margin"]
    assert [told in f.says for f in found] == [True] * (told is not None)
