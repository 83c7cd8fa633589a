"""Two-sided sheets against the outside: pages drawn by another program, turned over."""

import dataclasses
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

import personalize
from personalize.checks.turned import check_turned
from personalize.errors import InputError, KeptError
from personalize.geometry.affine import Affine, Points, rotation, scaling, translation
from personalize.sheet.backs import Flip, back_place
from personalize.sheet.machine import read_machine, written
from personalize.sheet.paper import Paper, PaperMargins
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from tests.conftest import command
from tests.outside import Pdfium, poppler_picture
from tests.two_sided import tag

DPI = 160
A4, A5 = Paper("A4", 210, 297), Paper("A5", 148, 210)
RECORD = (
    "print_scale = [0.99714, 1.00474]\nprint_shift_mm = [0.9, -0.7]\n"
    "back_shift_mm = [-1.2, 0.8]\n"
)
RUNS = [
    ("upright", "A4", False),
    ("upright", "A4", True),
    ("upright", "A4 landscape", True),
    ("level", "A4", True),
    ("level", "A4 landscape", True),
]
Grid = NDArray[np.float64]


class Made:
    """A two-sided run, printed on a made-up printer."""

    def __init__(self, folder: Path, flip: str, machine: bool) -> None:
        self.folder, self.flip = folder, flip
        self.report: dict[str, Any] = json.loads(
            (folder / "out" / "report.json").read_text("utf-8")
        )
        sheet = self.report["sheets"][0]
        self.size = (sheet["width_mm"], sheet["height_mm"])
        record = read_machine(RECORD, "odd.toml", "odd") if machine else None
        scale = record.print_scale if record else (1.0, 1.0)
        front = record.print_shift_mm if record else (0.0, 0.0)
        back = record.back_shift_mm if record and record.back_shift_mm else (0.0, 0.0)
        # What the printer does: from mm of the file to mm of the paper as it lies.
        self.prints = [translation(*at) @ scaling(*scale) for at in (front, back)]
        pdf = folder / "out" / "print.pdf"
        self.pictures = [poppler_picture(pdf, page, DPI, folder) for page in (1, 2)]

    def on_paper(self, side: int, points: Points) -> Grid:
        """Colours at points of one side of the paper, as that side lies."""
        at = self.prints[side].inverse().many(points) * DPI / 25.4
        picture = self.pictures[side].astype(float)
        column = np.clip(at[:, 0].astype(int), 0, picture.shape[1] - 1)
        row = np.clip(picture.shape[0] - 1 - at[:, 1].astype(int), 0, picture.shape[0] - 1)
        return picture[row, column]

    def through(self, points: Points) -> Points:
        """Where points of the front are as the sheet lies turned over."""
        out = points.copy()
        axis = 0 if self.flip == "upright" else 1
        out[:, axis] = self.size[axis] - out[:, axis]
        return out


@pytest.fixture(scope="module", params=RUNS, ids=lambda run: "-".join(map(str, run)))
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Made:
    flip, paper, machine = request.param
    folder = tmp_path_factory.mktemp("two")
    design = tag(folder)
    (folder / "odd.toml").write_text(RECORD, "utf-8")
    more = ("--machine", folder / "odd.toml") if machine else ()
    words = ("make", folder / "list.csv", "--design", design, "--paper", paper, *more)
    kept = ("--two-sided", flip, "--also", "shop", "--no-proof", "--out", folder / "out")
    done = command(*words, *kept)
    assert done.exit_code in (0, 1), done.output
    return Made(folder, flip, machine)


def grid(x0: float, y0: float, x1: float, y1: float, step: float = 0.5) -> Points:
    xs, ys = np.meshgrid(np.arange(x0, x1, step), np.arange(y0, y1, step))
    return np.column_stack([xs.ravel(), ys.ravel()])


def test_every_outline_lies_on_its_front_held_against_the_light(made: Made) -> None:
    points = grid(1, 1, made.size[0] - 1, made.size[1] - 1)
    green, orange = ((34, 170, 102), (204, 102, 34))
    front = np.abs(made.on_paper(0, points) - green).sum(axis=1) < 120
    back = np.abs(made.on_paper(1, made.through(points)) - orange).sum(axis=1) < 120
    both, either = (front & back).sum(), (front | back).sum()
    assert either > 20_000  # words are in both, and the blot on the back
    assert both / either > 0.92
    # An outline that was not turned over would miss much more.
    astray = np.abs(made.on_paper(1, points) - orange).sum(axis=1) < 120
    assert (front & astray).sum() / (front | astray).sum() < 0.9


def test_words_of_the_back_lie_behind_their_piece_in_every_turn(made: Made) -> None:
    """Seen through the paper, each back is the upright one of shop.pdf, mirrored."""
    shop = Pdfium(made.folder / "out" / "shop.pdf")
    pieces = [one for one in made.report["pieces"] if one["row"] is not None]
    assert len(shop) == 2 * len(pieces) == 8
    upright = grid(7, 7, 53, 13)  # of the front piece; the blot is elsewhere
    upright = np.concatenate([upright, grid(7, 13, 23, 33)])
    upright[:, 1] = 40 - upright[:, 1]  # the drawing's y runs down
    for nth, piece in enumerate(pieces):
        seen = made.on_paper(1, made.through(Affine(*piece["at"]).many(upright)))
        # On the shop's page the back's lower left corner is at (7, 7), without a bleed.
        picture = shop.picture(2 * nth + 2, DPI / 25.4).astype(float)
        x, y = upright.T
        at = np.column_stack([7 + 55 - x, 7 + y - 5]) * DPI / 25.4
        column, row = at.astype(int).T
        wanted = picture[picture.shape[0] - 1 - row, column]
        ink = wanted.sum(axis=1) < 200
        assert 20 < ink.sum() < len(upright) / 2
        differ = np.abs(seen - wanted).sum(axis=1) > 250
        assert differ.mean() < 0.05, piece["row"]
        # Another row's words differ more, so that these are the right ones.
        other = shop.picture(2 * ((nth + 1) % 4) + 2, DPI / 25.4).astype(float)
        wrong = other[other.shape[0] - 1 - row, column]
        assert np.abs(seen - wrong).sum() > 1.5 * np.abs(seen - wanted).sum()


def test_the_words_of_each_back_are_read_where_the_report_tells(made: Made) -> None:
    cells = {2: "Sown in May", 3: "Water it", 4: "Loves sun", 5: "In a pot"}
    turns = {
        round(math.degrees(math.atan2(*p["at"][1::-1]))) for p in made.report["pieces"]
    }
    assert len(turns) > 1  # pieces lie turned on the sheet
    for piece in made.report["pieces"]:
        back = Affine(*piece["back"]["at"])
        front_deg = math.degrees(math.atan2(piece["at"][1], piece["at"][0]))
        told = -front_deg if made.flip == "upright" else 180 - front_deg
        off = math.degrees(math.atan2(back.b, back.a)) - told
        assert math.isclose(math.cos(math.radians(off)), 1, abs_tol=1e-9)
        assert back.determinant == pytest.approx(1)
        if piece["row"] is None:
            assert piece["back"]["texts"] == []
            continue
        (text,) = piece["back"]["texts"]
        assert text["text"] == cells[piece["row"]]
    sides = [(one["number"], one["side"]) for one in made.report["sheets"]]
    assert sides == [(1, "front"), (1, "back")]


def test_marks_and_die_lines_are_on_the_front_alone(made: Made) -> None:
    """A mark is black; the back is white where the front has one."""
    for mark in made.report["marks"]:
        x, y = mark["centre_mm"]
        near = grid(x - 4, y - 4, x + 4, y + 4, 0.25)
        assert (made.on_paper(0, near).sum(axis=1) < 300).sum() > 30
        assert made.on_paper(1, made.through(near)).min() > 250
        assert made.on_paper(1, near).min() > 250
    plain = made.folder / "plain"
    words = ("make", made.folder / "list.csv", "--design", made.folder / "ell.toml")
    if made.size == (210, 297) and made.flip == "upright":
        assert command(*words, "--two-sided", "none", "--out", plain).exit_code in (0, 1)
        assert len(Pdfium(plain / "print.pdf")) <= 2  # no back


@pytest.mark.parametrize(
    ("flip", "box"), [(Flip.UPRIGHT, (130, 20, 190, 60)), (Flip.LEVEL, (20, 237, 80, 277))]
)
def test_a_piece_is_found_again_where_common_practice_has_it(
    flip: Flip, box: tuple[float, ...]
) -> None:
    """A4, a piece at x 20 to 80: its back at 130 to 190, or as far from the top.

    Common practice, no source; the boxes are reckoned by hand.
    """
    over = Affine(-1, 0, 0, 1, 60, 0)
    back = back_place(translation(20, 20), over, flip, A4)
    corners = back.many(np.array([(0.0, 0.0), (60.0, 40.0)]))
    assert (*corners.min(axis=0), *corners.max(axis=0)) == pytest.approx(box)
    assert (back.a > 0) == (flip is Flip.UPRIGHT)


@given(
    st.sampled_from([Flip.UPRIGHT, Flip.LEVEL]),
    st.floats(0, 360),
    st.tuples(st.floats(10, 200), st.floats(10, 280)),
    st.tuples(st.floats(0, 60), st.floats(0, 40)),
)
def test_a_sheet_turned_over_in_space_shows_the_back_there(
    flip: Flip, turn: float, corner: tuple[float, float], point: tuple[float, float]
) -> None:
    """Half a turn in space about an axis through the middle of the sheet."""
    at = translation(*corner) @ rotation(turn)
    across = np.array([0.0, 1.0, 0.0] if flip is Flip.UPRIGHT else [1.0, 0.0, 0.0])
    half_turn = 2 * np.outer(across, across) - np.eye(3)  # Rodrigues' formula for 180 deg
    middle = np.array([A4.width_mm / 2, A4.height_mm / 2, 0.0])
    seen = half_turn @ (np.array([*at(point), 0.0]) - middle) + middle
    over = Affine(-1, 0, 0, 1, 60, 0)
    printed = back_place(at, over, flip, A4)(over(point))
    assert printed == pytest.approx(tuple(seen[:2]), abs=1e-9)


@pytest.mark.parametrize("turn", [0, 90, 180, 270, 37])
def test_a_back_is_turned_the_other_way(turn: float) -> None:
    """Upright axis: -q; level axis: 180 - q. Neither mirrors."""
    at, over = translation(80, 90) @ rotation(turn), Affine(-1, 0, 0, 1, 60, 0)
    for flip, wanted in ((Flip.UPRIGHT, -turn), (Flip.LEVEL, 180 - turn)):
        back = back_place(at, over, flip, A4)
        turned = rotation(wanted)
        assert (back.a, back.b, back.c, back.d) == pytest.approx(turned.tuple[:4])


@pytest.mark.parametrize("flip", [Flip.UPRIGHT, Flip.LEVEL])
def test_both_sides_keep_the_printer_s_margins(tmp_path: Path, flip: Flip) -> None:
    design = personalize.load_design(tag(tmp_path))
    margins = PaperMargins(5, 8, 20, 11)
    plan = plan_sheets(design, SheetRules(A5, margins, flip=flip))
    x0, y0, x1, y1 = margins.within(A5)
    assert plan.per_sheet > 4
    for box in plan.arrangement.boxes:
        for left, low, right, high in (box, flip.box(box, A5)):
            assert left >= x0 - 1e-6
            assert low >= y0 - 1e-6
            assert right <= x1 + 1e-6
            assert high <= y1 + 1e-6


def test_backs_astray_are_our_own_fault_and_told(tmp_path: Path) -> None:
    design = personalize.load_design(tag(tmp_path))
    table = personalize.read_table(tmp_path / "list.csv")
    options = personalize.Options(SheetRules(A5, flip=Flip.UPRIGHT), proof=False)
    personalize.make(table, design, tmp_path / "out", options)
    pdf = tmp_path / "out" / "print.pdf"
    check_turned(pdf, [design], Flip.UPRIGHT, A5)
    with pytest.raises(KeptError, match="mm off it"):
        check_turned(pdf, [design], Flip.LEVEL, A5)
    with pytest.raises(KeptError, match="mm off it"):
        check_turned(pdf, [design], Flip.UPRIGHT, Paper("odd", 210.05, 297))
    with pikepdf.open(pdf) as document:
        document.pages.insert(0, document.pages[1])
        del document.pages[2]
        document.save(tmp_path / "odd.pdf")
    with pytest.raises(KeptError, match="no front comes before it"):
        check_turned(tmp_path / "odd.pdf", [design], Flip.UPRIGHT, A5)


def test_two_sides_need_a_back_and_no_film(tmp_path: Path) -> None:
    design = personalize.load_design(tag(tmp_path))
    table = personalize.read_table(tmp_path / "list.csv")
    mirrored = personalize.Options(SheetRules(A4, flip=Flip.LEVEL, mirror=True))
    with pytest.raises(InputError, match="--mirror is for film"):
        personalize.check(table, design, mirrored)
    other = dataclasses.replace(design, name="ell, back", back=None)
    both = personalize.Options(SheetRules(A4, flip=Flip.LEVEL))
    with pytest.raises(InputError, match="'ell, back' is a design's name, and that of the"):
        personalize.check(table, (design, other), both)
    bare = personalize.load_design("herb-tag")
    with pytest.raises(InputError, match="there is no back to print: Herb tag has none"):
        personalize.check(table, bare, personalize.Options(SheetRules(A4, flip=Flip.LEVEL)))


def test_a_record_without_a_measured_back_shifts_it_like_the_front() -> None:
    """The same printer moves what it prints the same way on the page as it lies."""
    plain = read_machine("print_shift_mm = [1, 2]\n", "a.toml", "a")
    assert plain.correction.back == plain.correction.print == translation(-1, -2)
    own = read_machine("print_shift_mm = [1, 2]\nback_shift_mm = [0, 0]\n", "a.toml", "a")
    assert own.correction.back == translation(0, 0)
    both = "two_sided_shift_mm = 0.6\nback_shift_mm = [-0.5, 0.25]\n"
    record = read_machine(both, "a.toml", "a")
    assert read_machine(written(record), "a.toml", "a") == record


def test_each_page_says_which_side_it_is(tmp_path: Path) -> None:
    design = tag(tmp_path)
    words = ("make", tmp_path / "list.csv", "--design", design, "--no-proof")
    for flip, way in (("upright", "left to right"), ("level", "top to bottom")):
        more = ("--two-sided", flip, "--spacing", "25", "--out", tmp_path / flip)
        assert command(*words, *more).exit_code in (0, 1)
        pages = Pdfium(tmp_path / flip / "print.pdf")
        assert len(pages) == 2
        front, back = (pages.text(page, [0, 0, 210, 297]) for page in (1, 2))
        assert "ell, sheet 1 of 1, front, rows 2-5. A4, top edge first." in front
        assert f"ell, sheet 1 of 1, back, turned over {way}, rows 2-5." in back
