"""Labels that are cut already: pieces lie in them, and nobody cuts."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import personalize
from personalize.errors import InputError
from personalize.geometry.affine import translation
from personalize.geometry.zone import region_of
from personalize.sheet.paper import Paper
from personalize.sheet.planning import plan_sheets
from personalize.sheet.precut import Precut, arranged, first_place, fit_of, read_precut
from personalize.sheet.rules import SheetRules
from tests.conftest import EDGE, command, drawing, put

TABLE = """paper = "A4"
rows = 7
columns = 3
first_mm = [9, 15]
size_mm = [56, 36]
pitch_mm = [66, 38]
"""
TOML = '[lines]\nCutting = "#edge"\n[margins]\nbleed = 0\n'


def files(folder: Path, rows: int = 30, table: str = TABLE, svg: str = EDGE) -> None:
    """Put a bean tag, a list of guests and a table of labels into a folder."""
    names = "".join(f"Ada {n}\n" for n in range(rows))
    put(
        folder,
        {
            "tag.svg": drawing(svg),
            "tag.toml": TOML,
            "guests.csv": f"front\n{names}",
            "labels.toml": table,
        },
    )


def make(folder: Path, *more: str) -> dict[str, Any]:
    """Make labels; give the report."""
    given = ("--design", folder / "tag.toml", "--labels", folder / "labels.toml")
    out = folder / "out"
    result = command("make", folder / "guests.csv", *given, "--out", out, *more)
    assert result.exit_code in {0, 1}, result.output
    return json.loads((out / "report.json").read_text("utf-8"))


def test_every_label_has_its_piece_where_a_ruler_finds_it(tmp_path: Path) -> None:
    files(tmp_path)
    report = make(tmp_path)
    # Measured by hand from the table: columns 66 mm apart from 9 mm on, rows 38 mm from 15.
    middles = [
        (9 + 66 * c + 28, 297 - 15 - 38 * r - 18)
        for _ in range(2)
        for r in range(7)
        for c in range(3)
    ]
    for piece, middle in zip(report["pieces"], middles, strict=False):
        a, b, c, d, e, f = piece["at"]
        x, y = 30, 20  # the middle of the tag
        found = (a * x + c * y + e, b * x + d * y + f)
        assert found == pytest.approx(middle, abs=0.01)


@pytest.mark.parametrize(
    ("option", "told"),
    [
        (["--nicks", "4,0.5"], "--labels: how a machine cuts is asked for"),
        (["--nicks", "0"], "--labels: how a machine cuts is asked for"),
        (["--around", "3"], "--labels: how a machine cuts is asked for"),
        (["--creases", "dashes"], "--labels: how a machine cuts is asked for"),
        (["--perforations", "lines"], "--labels: how a machine cuts is asked for"),
        (["--dxf-curves", "splines"], "--labels: how a machine cuts is asked for"),
        (["--face-down"], "--face-down: the labels are cut already."),
    ],
)
def test_how_a_machine_cuts_is_refused_and_not_passed_over(
    option: list[str], told: str, tmp_path: Path
) -> None:
    files(tmp_path, 3)
    given = ("--design", tmp_path / "tag.toml", "--labels", tmp_path / "labels.toml")
    out = tmp_path / "out"
    done = command("make", tmp_path / "guests.csv", *given, "--out", out, *option)
    assert done.exit_code == 2
    assert done.stderr.startswith(told)
    assert not out.exists()


@pytest.mark.parametrize(
    ("size", "room"), [([60, 40], 2.0), ([56, 36], 0.0), ([57, 36.5], 0.25)]
)
def test_artwork_of_a_back_has_the_room_of_its_front(
    size: list[float], room: float, tmp_path: Path
) -> None:
    # Labels side by side without a gap: a tag of 56 x 36 mm has half of what is left over.
    files(tmp_path, 3)
    bleeds = '[margins]\nbleed = 5\n[back]\nsvg = "tag.svg"\n'
    put(tmp_path, {"tag.toml": f'[lines]\nCutting = "#edge"\n{bleeds}'})
    table = (
        f"rows = 3\ncolumns = 3\nfirst_mm = [9, 15]\nsize_mm = {size}\npitch_mm = {size}"
    )
    rules = SheetRules(Paper("A4", 210, 297), precut=read_precut(table, "labels.toml"))
    plan = plan_sheets(personalize.load_design(tmp_path / "tag.toml"), rules)
    assert plan.member.bleed_mm == pytest.approx(room, abs=1e-6)
    assert plan.member.back_bleed_mm == plan.member.bleed_mm


def test_labels_are_not_cut_and_those_left_stay_blank(tmp_path: Path) -> None:
    files(tmp_path)
    report = make(tmp_path)
    out = tmp_path / "out"
    assert {p.name for p in out.iterdir()} == {"print.pdf", "proof.html", "report.json"}
    assert [s["cut_file"] for s in report["sheets"]] == ["", ""]
    assert [s["filled"] for s in report["sheets"]] == [0, 0]
    assert [s["pieces"] for s in report["sheets"]] == [21, 9]
    assert report["marks"] == []
    assert "cut-already" in {f["rule"] for f in report["findings"]}


def test_a_part_used_sheet_is_gone_on_with(tmp_path: Path) -> None:
    files(tmp_path)
    whole = make(tmp_path)
    begun = make(tmp_path, "--first-place", "3,2")
    assert [s["pieces"] for s in begun["sheets"]] == [14, 16]
    # The seven places before the third row's second stay as they are.
    places = [[piece["at"] for piece in report["pieces"]] for report in (whole, begun)]
    assert places[1][:14] == places[0][7:21]
    assert [p["row"] for p in begun["pieces"]] == list(range(2, 32))


def test_a_second_design_begins_on_a_fresh_sheet(tmp_path: Path) -> None:
    files(tmp_path, 4)
    other = tmp_path / "other.toml"
    other.write_text('name = "other"\nsvg = "tag.svg"\n' + TOML, "utf-8")
    report = make(tmp_path, "--first-place", "7,1", "--design", str(other))
    assert [s["pieces"] for s in report["sheets"]] == [3, 1, 4]
    assert len(report["pieces"]) == 8


@pytest.mark.parametrize("place", ["0,1", "8,1", "1,4", "3", "a,b", "1,1,1"])
def test_a_place_that_is_not_there_is_refused(place: str) -> None:
    with pytest.raises(InputError, match=r"labels\.toml, which has 7 rows and 3"):
        first_place(place, read_precut(TABLE, "labels.toml"))


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("rows = 7", "rows = 0", "rows must be a whole number"),
        ("columns = 3", "columns = true", "columns must be a whole number"),
        ("size_mm = [56, 36]", "size_mm = [56]", "size_mm must be two lengths"),
        ("size_mm = [56, 36]", "size_mm = [0, 36]", "size_mm must be two lengths"),
        ("pitch_mm = [66, 38]", "", "pitch_mm must be two lengths"),
        ("pitch_mm = [66, 38]", "pitch_mm = [50, 38]", "the labels lie over each other"),
        ("first_mm = [9, 15]", "first_mm = [40, 15]", "the last label ends"),
        ('paper = "A4"', 'paper = "A99"', "is no paper size"),
        ("rows = 7", "row = 7", "there is no key row"),
        ("rows = 7", "rows = ", "this is not TOML"),
    ],
)
def test_a_faulty_table_is_told_in_one_sentence(old: str, new: str, says: str) -> None:
    with pytest.raises(InputError) as told:
        read_precut(TABLE.replace(old, new), "labels.toml")
    assert any(says in problem.says for problem in told.value.problems)
    assert all(p.place.startswith("labels.toml") for p in told.value.problems)


def test_a_piece_that_is_larger_than_its_label_is_refused(tmp_path: Path) -> None:
    files(tmp_path, table=TABLE.replace("[56, 36]", "[54, 36]"))
    given = ("--design", tmp_path / "tag.toml", "--labels", tmp_path / "labels.toml")
    result = command("check", tmp_path / "guests.csv", *given)
    assert result.exit_code == 2
    assert "its labels are 54 x 36 mm, and the piece is 56.0 x 36.0 mm" in result.output


def test_a_piece_turns_where_only_that_fits(tmp_path: Path) -> None:
    table = "rows = 4\ncolumns = 4\nfirst_mm = [10, 20]\nsize_mm = [36, 56]\n"
    files(tmp_path, 4, table + "pitch_mm = [40, 60]\n")
    report = make(tmp_path)
    a, b, *_ = report["pieces"][0]["at"]
    assert (a, b) == pytest.approx((0, 1), abs=1e-9)


def test_an_outline_unlike_its_label_is_told_with_how_far(tmp_path: Path) -> None:
    files(tmp_path, 3, TABLE.replace("[56, 36]", "[60, 37]"))
    (found,) = [f for f in make(tmp_path)["findings"] if f["rule"] == "unlike-its-label"]
    # The corners: 2 mm across and half a millimetre up.
    assert found["figures"]["apart_mm"] == pytest.approx(np.hypot(2, 0.5), abs=0.01)
    files(tmp_path, 3, TABLE + "corner_mm = 4\n")
    (found,) = [f for f in make(tmp_path)["findings"] if f["rule"] == "unlike-its-label"]
    # A square corner reaches (sqrt 2 - 1) r past a round one.
    assert found["figures"]["past_mm"] == pytest.approx(4 * (2**0.5 - 1), abs=0.01)
    assert "Words may come as near as 0.8 mm" in found["says"]


def test_lines_that_nobody_cuts_are_told(tmp_path: Path) -> None:
    hole = '<circle id="hole" cx="8" cy="20" r="2.5" fill="none" stroke="#000"/>'
    files(tmp_path, 3, svg=EDGE + hole)
    toml = '[lines]\nCutting = ["#edge", "#hole"]\n[margins]\nbleed = 0\n'
    (tmp_path / "tag.toml").write_text(toml, "utf-8")
    (found,) = [f for f in make(tmp_path)["findings"] if f["rule"] == "cut-already"]
    assert found["severity"] == "warning"
    assert "Nobody cuts or scores the design's hole or slit." in found["says"]


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--marks", "crosses"), "labels are cut already"),
        (("--paper", "Letter"), "are on A4 paper"),
        (("--spacing", "3"), "says where the labels are"),
        (("--order", "piles"), "cut as a stack"),
        (("--also", "dxf"), "dxf is for cutting"),
    ],
)
def test_what_labels_cannot_have_is_refused(
    tmp_path: Path, more: tuple[str, ...], says: str
) -> None:
    files(tmp_path, 3)
    given = ("--design", tmp_path / "tag.toml", "--labels", tmp_path / "labels.toml")
    result = command(
        "make", tmp_path / "guests.csv", *given, "--out", tmp_path / "o", *more
    )
    assert (result.exit_code, says in result.output) == (2, True), result.output


def test_a_first_place_needs_a_table(tmp_path: Path) -> None:
    files(tmp_path, 3)
    given = ("--design", tmp_path / "tag.toml", "--first-place", "2,1")
    result = command("check", tmp_path / "guests.csv", *given)
    assert result.exit_code == 2
    assert "for sheets of labels that are cut already" in result.output


@given(
    st.integers(1, 6),
    st.integers(1, 5),
    st.floats(5, 30),
    st.floats(5, 30),
    st.floats(0, 5),
    st.floats(0, 20),
)
def test_pieces_lie_in_the_middle_of_labels_and_bleed_on_no_neighbour(
    rows: int, columns: int, w: float, h: float, gap: float, corner: float
) -> None:
    paper = personalize.parse_paper("A4")
    pitch = (w + gap, h + gap)
    precut = Precut("t.toml", paper, rows, columns, (3, 4), (w, h), pitch, corner)
    ring = np.array([(0, 0), (w * 0.9, 0), (w * 0.9, h * 0.8), (0, h * 0.8)])
    outline = region_of(ring).mapped(translation(17, -9))
    fit = fit_of(outline, precut)
    found = arranged(outline, precut, fit)
    assert len(found.places) == rows * columns
    for number, (at, box) in enumerate(zip(found.places, precut.boxes, strict=True)):
        r, c = divmod(number, columns)
        assert box[0] == pytest.approx(3 + c * (w + gap))
        assert box[3] == pytest.approx(297 - 4 - r * (h + gap))
        x0, y0, x1, y1 = outline.mapped(at).box
        assert (x0 + x1, y0 + y1) == pytest.approx((box[0] + box[2], box[1] + box[3]))
        if rows * columns > 1:
            # Half way to the neighbour at most.
            assert x0 - fit.room_mm >= box[0] - gap / 2 - 1e-6
            assert y0 - fit.room_mm >= box[1] - gap / 2 - 1e-6


def test_both_sides_of_labels_are_printed_back_behind_front(tmp_path: Path) -> None:
    files(tmp_path, 4)
    back = '[back]\n[[back.panel]]\nname = "grown"\ntext = "by {front}"\n'
    (tmp_path / "tag.toml").write_text(TOML + back, "utf-8")
    report = make(tmp_path, "--two-sided", "upright")
    assert {p.name for p in (tmp_path / "out").iterdir()} == {
        *("print.pdf", "proof.html", "report.json")
    }
    sides = [sheet["side"] for sheet in report["sheets"]]
    assert sides == ["front", "back"]
    for piece in report["pieces"]:
        assert [text["text"] for text in piece["back"]["texts"]] == [
            "by " + piece["texts"][0]["text"]
        ]
        # Turned over an upright edge, both middles of the tag (at 30, 20) are one place.
        (x, y), (back_x, back_y) = (
            (a * 30 + c * 20 + e, b * 30 + d * 20 + f)
            for a, b, c, d, e, f in (piece["at"], piece["back"]["at"])
        )
        assert (x + back_x, y) == pytest.approx((210, back_y), abs=0.01)


def test_a_design_that_asks_for_piles_goes_on_labels_as_they_are(tmp_path: Path) -> None:
    files(tmp_path, 4)
    (tmp_path / "tag.toml").write_text(TOML + '[sheet]\norder = "piles"\n', "utf-8")
    assert [p["row"] for p in make(tmp_path)["pieces"]] == [2, 3, 4, 5]


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("none.toml", "none.toml: there is no such file. Check its name, and the folder"),
        (".", "this is a folder. Name a file in it."),
    ],
)
def test_a_table_that_is_not_there_is_told_as_that(
    name: str, says: str, tmp_path: Path
) -> None:
    words = ("make", "--design", "jar-lid", "--count", "2", "--out", tmp_path / "out")
    done = command(*words, "--labels", tmp_path / name)
    assert done.exit_code == 2
    assert says in done.output
    assert "permissions" not in done.output


def test_what_would_help_a_piece_that_is_too_large_is_one_sentence(tmp_path: Path) -> None:
    words = ("make", "--design", "jar-lid", "--count", "2", "--out", tmp_path / "out")
    small = ("--paper", "60x60mm")
    zone = ("--clear", "top left 14x14")
    done = command(*words, *small, "--marks", "none")
    assert "(A3 has room) or smaller margins" in done.output
    done = command(*words, *small, *zone)
    assert "(A3 has room), smaller margins or smaller clear zones" in done.output
    done = command(*words, *small)
    assert "(A3 has room), smaller margins or --marks none" in done.output
