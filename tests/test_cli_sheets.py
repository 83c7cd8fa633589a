"""Options of sheets and designs on the command line."""

from pathlib import Path
from typing import Any

import pytest
import shapely
from lxml import etree

from tests.cli_made import TAG, made_here, report_of, words
from tests.conftest import EDGE, SAMPLES, command, drawing, line, put, snapshot
from tests.outside import Pdfium

Box = tuple[float, float, float, float]


# ---- Sheets ----


def boxes(report: dict[str, Any]) -> list[Box]:
    """Give the outline's box at each place, in sheet mm: EDGE is 2..58 x 2..38 mm."""
    found = []
    for piece in report["pieces"]:
        a, b, c, d, e, f = piece["at"]
        corners = [(a * x + c * y + e, b * x + d * y + f) for x in (2, 58) for y in (2, 38)]
        xs, ys = zip(*corners, strict=True)
        found.append((min(xs), min(ys), max(xs), max(ys)))
    return found


def room(report: dict[str, Any]) -> list[float]:
    """Give the paper left at the top, right, bottom and left of all pieces."""
    all_boxes = boxes(report)
    width, height = (report["sheets"][0][key] for key in ("width_mm", "height_mm"))
    return [
        height - max(box[3] for box in all_boxes),
        width - max(box[2] for box in all_boxes),
        min(box[1] for box in all_boxes),
        min(box[0] for box in all_boxes),
    ]


def gaps(report: dict[str, Any]) -> set[float]:
    """Give the distance of each rectangle to the one that lies nearest to it."""
    placed = [shapely.box(*box) for box in boxes(report)]
    return {
        round(min(one.distance(other) for other in placed if other is not one), 3)
        for one in placed
    }


@pytest.mark.parametrize(
    ("paper", "size_mm"),
    [
        # ISO 216; ANSI/ASME Y14.1 for Letter (8.5 x 11 inches).
        ("A4", (210.0, 297.0)),
        ("a5", (148.0, 210.0)),
        ("Letter", (215.9, 279.4)),
        ("8x10in", (203.2, 254.0)),
        ("20x30cm", (200.0, 300.0)),
    ],
)
def test_paper_is_the_size_of_every_file(
    desk: Path, paper: str, size_mm: tuple[float, float]
) -> None:
    sheet = made_here(desk, "--paper", paper)["sheets"][0]
    assert (sheet["width_mm"], sheet["height_mm"]) == size_mm
    height_px, width_px, _ = Pdfium(desk / "picnic" / "print.pdf").picture(1, 4.0).shape
    assert (width_px / 4, height_px / 4) == pytest.approx(size_mm, abs=0.3)
    svg = etree.parse(desk / "picnic" / "cut.svg").getroot()
    assert [float(svg.get(key, "").removesuffix("mm")) for key in ("width", "height")] == [
        *size_mm
    ]


def test_one_margin_is_kept_on_all_sides(desk: Path) -> None:
    # The bleed of 2 mm is printed round each piece, and keeps inside the margin as well.
    assert min(room(made_here(desk, "--marks", "none"))) < 40 + 2
    assert min(room(made_here(desk, "--marks", "none", "--margin", "40"))) >= 40 + 2


@pytest.mark.parametrize("side", range(4), ids=["top", "right", "bottom", "left"])
def test_four_margins_are_top_right_bottom_left(desk: Path, side: int) -> None:
    margins = [6.0] * 4
    margins[side] = 70.0
    text = ",".join(f"{margin:g}" for margin in margins)
    kept = room(made_here(desk, "--marks", "none", "--margin", text))
    for margin, space in zip(margins, kept, strict=True):
        assert space >= margin + 2
    assert kept[(side + 2) % 4] < 70  # the margin is on that side alone


def test_margins_may_be_in_inches(desk: Path) -> None:
    report = made_here(desk, "--marks", "none", "--margin", "2in")
    assert min(room(report)) >= 2 * 25.4 + 2


@pytest.mark.parametrize(
    ("options", "apart"),
    [((), 4.0), (("--spacing", "12"), 12.0), (("--spacing", "0.5in"), 12.7)],
)
def test_pieces_lie_as_far_apart_as_told_or_twice_the_bleed(
    desk: Path, options: tuple[str, ...], apart: float
) -> None:
    found = gaps(made_here(desk, *options))
    # Pieces that are laid into each other stand on a grid of 1 mm.
    assert apart <= min(found) <= max(found) < apart + 1


def test_pieces_may_lie_edge_to_edge(desk: Path) -> None:
    assert gaps(made_here(desk, "--spacing", "0")) == {0.0}


def test_marks_none_reserves_nothing(desk: Path) -> None:
    marked, ink = [], []
    for options in ((), ("--marks", "none")):
        report = made_here(desk, *options)
        marked.append([mark["centre_mm"] for mark in report["marks"]])
        sheet = Pdfium(desk / "picnic" / "print.pdf").picture(1, 2.0)
        ink.append((sheet < 128).any(axis=2))
    assert len(marked[0]) >= 3
    assert marked[1] == []
    for x, y in marked[0]:
        row, column = round((297 - y) * 2), round(x * 2)
        near = slice(row - 6, row + 6), slice(column - 6, column + 6)
        assert [bool(sheet[near].any()) for sheet in ink] == [True, False]


def test_marks_none_makes_room_for_larger_pieces(desk: Path) -> None:
    put(desk, {"tag.svg": drawing(line("M2 2H192V272H2Z"), 194, 274)})
    assert command(*words(desk)).exit_code == 2
    assert len(made_here(desk, "--marks", "none")["pieces"]) == 3


# ---- Designs ----


def texts(report: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Give the texts of the first piece by panel, with their zones' middles (piece mm)."""
    piece = report["pieces"][0]
    a, b, c, d, e, f = piece["at"]
    found = {}
    for text in piece["texts"]:
        x0, y0, x1, y1 = text["zone_box_mm"]
        x, y = (x0 + x1) / 2 - e, (y0 + y1) / 2 - f
        # The map turns and shifts alone, so that its inverse turns the other way.
        assert a * d - b * c == pytest.approx(1)
        found[text["panel"]] = text | {"middle": (a * x + b * y, c * x + d * y)}
    return found


def test_a_bare_drawing_has_one_panel_called_front(desk: Path) -> None:
    found = texts(made_here(desk))
    assert list(found) == ["front"]
    assert found["front"]["text"] == "Maple"
    assert found["front"]["turn_deg"] == 0


@pytest.mark.parametrize(
    ("crease", "front_side", "back_turn"),
    # Printed faces outward, folded by 180 degrees, the viewer walks round the upright
    # axis: across a crease at angle p the text turns by 2p + 180 degrees.
    [("M30 2V38", (1, 0), 0), ("M2 20H58", (0, -1), 180)],
    ids=["upright", "level"],
)
def test_a_bare_drawing_with_a_crease_reads_upright_on_both_faces(
    desk: Path, crease: str, front_side: tuple[int, int], back_turn: float
) -> None:
    put(desk, {"tag.svg": drawing(EDGE + line(crease, "fold"))})
    put(desk, {"guests.csv": "front,back\nMaple,figs\nRowan,\n"})
    report = made_here(desk)
    found = texts(report)
    assert (found["front"]["text"], found["back"]["text"]) == ("Maple", "figs")
    assert (found["front"]["turn_deg"], found["back"]["turn_deg"]) == (0, back_turn)
    assert found["front"]["size_pt"] == found["back"]["size_pt"]
    # The front is the right or the lower panel.
    for panel, sign in (("front", 1), ("back", -1)):
        x, y = found[panel]["middle"]
        along = (x - 30) * front_side[0] + (y - 20) * front_side[1]
        assert along * sign > 5
    # Where the back is empty, it says what the front says.
    said = {text["panel"]: text["text"] for text in report["pieces"][1]["texts"]}
    assert said == {"front": "Rowan", "back": "Rowan"}


def test_a_bare_drawing_with_two_creases_has_three_numbered_panels(desk: Path) -> None:
    put(desk, {"tag.svg": drawing(EDGE + line("M20 2V38M40 2V38", "fold"))})
    put(desk, {"guests.csv": "panel1,panel2,panel3\nFigs,Plums,Mint\n"})
    found = texts(made_here(desk))
    assert [(name, text["text"]) for name, text in found.items()] == [
        *(("panel1", "Figs"), ("panel2", "Plums"), ("panel3", "Mint"))
    ]
    assert [round(text["middle"][0]) for text in found.values()] == [11, 30, 49]
    # Two folds of 180 degrees at the same angle turn by 2 (p2 - p1) = 0, one at 90 by 0.
    assert {text["turn_deg"] for text in found.values()} == {0}


def test_panels_after_the_first_may_have_no_column(desk: Path) -> None:
    put(desk, {"tag.svg": drawing(EDGE + line("M20 2V38M40 2V38", "fold"))})
    put(desk, {"guests.csv": "panel1\nFigs\n"})
    assert list(texts(made_here(desk))) == ["panel1"]


def test_a_design_is_the_same_by_its_drawing_and_by_its_toml(desk: Path) -> None:
    put(desk, {"tag.toml": 'name = "Bean tag"\n[type]\nfont = "Lora Bold"\n'})
    results = []
    for file in ("tag.svg", "tag.toml"):
        out = desk / file.replace(".", "-")
        done = command("make", desk / "guests.csv", "--design", desk / file, "--out", out)
        assert done.exit_code == 0, done.output
        results.append(snapshot(out))
    assert results[0] == results[1]
    piece = report_of(desk / "tag-svg")["pieces"][0]
    assert (piece["design"], piece["texts"][0]["font"]) == ("Bean tag", "Lora Bold")


def test_a_toml_from_an_editor_that_marks_utf_8_is_read(desk: Path) -> None:
    put(desk, {"tag.toml": b"\xef\xbb\xbf" + 'name = "Zoë"\n'.encode()})
    assert made_here(desk)["pieces"][0]["design"] == "Zoë"


def test_a_sample_is_the_same_by_its_name_and_by_its_files(tmp_path: Path) -> None:
    results = []
    for design in ("herb-tag", SAMPLES / "herb-tag.toml"):
        done = command(
            *("make", SAMPLES / "picnic.csv", "--design", design),
            *("--out", tmp_path / "picnic", "--rows", "2"),
        )
        assert done.exit_code == 0, done.output
        results.append(snapshot(tmp_path / "picnic"))
    assert results[0] == results[1]


def test_a_file_wins_over_a_sample_of_its_name(
    desk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(desk, {"jar-lid": TAG})
    monkeypatch.chdir(desk)
    done = command("make", "guests.csv", "--design", "jar-lid", "--out", "picnic")
    assert done.exit_code == 0, done.output
    assert list(texts(report_of(desk / "picnic"))) == ["front"]
