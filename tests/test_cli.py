"""The command line: what it writes, what it says, and its exit codes."""

import json
import os
import re
import subprocess
import sys
import tomllib
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
import shapely
from lxml import etree

from personalize.cli import main
from personalize.errors import WallError
from tests.conftest import EDGE, ROOT, SAMPLES, command, drawing, line, put, snapshot
from tests.outside import Pdfium

TAG = drawing(EDGE)
GUESTS = "front\nMaple\nOttoline\nRowan\n"
TOO_LONG = "Wilhelmina" * 9
ALL_FILES = ["cut.svg", "print.pdf", "proof.html", "report.json"]
Box = tuple[float, float, float, float]


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    """Give a folder with a list of three guests and a plain tag."""
    put(tmp_path, {"guests.csv": GUESTS, "tag.svg": TAG})
    return tmp_path


def words(desk: Path, *options: str | Path, name: str = "make") -> list[str | Path]:
    out = [] if name == "check" else ["--out", desk / "picnic"]
    return [name, desk / "guests.csv", "--design", desk / "tag.svg", *out, *options]


def report_of(folder: Path) -> dict[str, Any]:
    value: dict[str, Any] = json.loads((folder / "report.json").read_text("utf-8"))
    return value


def made_here(desk: Path, *options: str) -> dict[str, Any]:
    """Make the tags, and give the report."""
    done = command(*words(desk, *options))
    assert done.exit_code == 0, done.output
    return report_of(desk / "picnic")


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


# ---- Exit codes ----


def test_exit_0_when_nothing_is_above_a_note(desk: Path) -> None:
    done = command(*words(desk))
    assert done.exit_code == 0
    assert done.stderr.startswith("3 pieces on 1 sheet of A4, ")
    said, files = done.stdout.splitlines()
    assert said == "Nothing to mend."
    assert files.startswith("3 pieces on 1 sheet. Files in ")
    assert names(desk / "picnic") == ALL_FILES


def test_a_note_is_counted_and_does_not_matter(desk: Path) -> None:
    put(desk, {"guests.csv": "front\nMaple\nमीना\n"})
    done = command(*words(desk))
    assert done.exit_code == 0
    assert "Found: 1 note (see the proof)." in done.stdout


def test_exit_1_when_a_warning_stands_though_the_files_are_made(desk: Path) -> None:
    put(desk, {"guests.csv": "front,dish\nMaple,Figs\n,Plums\n"})
    done = command(*words(desk))
    assert done.exit_code == 1
    heading, line, *_ = done.stdout.splitlines()
    assert heading == "Look at this (1)"
    assert line.startswith("  row 3: There are no words")
    assert names(desk / "picnic") == ALL_FILES
    assert names(desk) == ["guests.csv", "picnic", "tag.svg"]


def test_exit_1_when_an_error_stands_and_only_a_proof_is_written_beside(
    desk: Path,
) -> None:
    put(desk, {"guests.csv": f"front\nMaple\n{TOO_LONG}\n"})
    done = command(*words(desk))
    assert done.exit_code == 1
    heading, line, *_ = done.stdout.splitlines()
    assert heading == "Must be mended (1)"
    assert line.startswith("  row 3, panel front: ")
    assert "No sheets were written" in done.stdout
    assert f"{desk / 'picnic-problems' / 'proof.html'}" in done.stdout
    assert names(desk) == ["guests.csv", "picnic-problems", "tag.svg"]
    assert names(desk / "picnic-problems") == ["proof.html", "report.json"]
    report = report_of(desk / "picnic-problems")
    assert [(f["rule"], f["row"]) for f in report["findings"]] == [("does-not-fit", 3)]
    assert report["pieces"] == report["sheets"] == []


def test_an_error_leaves_an_earlier_result_as_it_was(desk: Path) -> None:
    made_here(desk)
    before = snapshot(desk / "picnic")
    put(desk, {"guests.csv": f"front\nMaple\n{TOO_LONG}\n"})
    for _ in range(2):  # the folder of problems is ours too, and may be there already
        assert command(*words(desk)).exit_code == 1
    assert snapshot(desk / "picnic") == before
    assert names(desk) == ["guests.csv", "picnic", "picnic-problems", "tag.svg"]


def test_exit_2_when_the_input_cannot_be_used_leaves_an_earlier_result(
    desk: Path,
) -> None:
    made_here(desk)
    put(desk, {"guests.csv": "front\n"})
    before = snapshot(desk)
    assert command(*words(desk)).exit_code == 2
    assert snapshot(desk) == before


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        (WallError("cut.svg holds a letter"), "cut.svg holds a letter"),
        (RuntimeError("a plum fell in"), "RuntimeError: a plum fell in"),
    ],
)
@pytest.mark.parametrize("check", ["cut_files.check_wall", "writers.check_kept"])
@pytest.mark.parametrize("earlier", [True, False])
def test_exit_3_when_we_are_at_fault_and_nothing_is_moved_into_place(
    desk: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    fault: Exception,
    told: str,
    check: str,
    earlier: bool,
) -> None:
    if earlier:
        made_here(desk)
        put(desk, {"guests.csv": "front\nQuillfeather\n"})
    before = snapshot(desk)

    def breaks(*_: object) -> None:
        raise fault

    monkeypatch.setattr(f"personalize.{check}", breaks)
    monkeypatch.setattr("sys.argv", ["personalize", *map(str, words(desk))])
    with pytest.raises(SystemExit) as ended:
        main()
    said = capsys.readouterr()
    assert ended.value.code == 3
    assert said.out == ""
    assert "\nOur own fault, nothing was written" in said.err
    assert told in said.err
    assert ("Traceback" in said.err) == isinstance(fault, RuntimeError)
    assert snapshot(desk) == before


@pytest.mark.parametrize(
    ("guests", "code"),
    [(GUESTS, 0), (f"front\n{TOO_LONG}\n", 1), ("front\n", 2)],
)
def test_the_installed_command_ends_with_the_same_codes(
    desk: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    guests: str,
    code: int,
) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert project["scripts"] == {"personalize": "personalize.cli:main"}
    put(desk, {"guests.csv": guests})
    monkeypatch.setattr("sys.argv", ["personalize", *map(str, words(desk))])
    with pytest.raises(SystemExit) as ended:
        main()
    here = capsys.readouterr()
    beside = command(*words(desk))
    assert ended.value.code == beside.exit_code == code
    assert (here.out, here.err) == (beside.stdout, beside.stderr)


# ---- Check, proof and JSON ----


@pytest.mark.parametrize(
    ("guests", "code", "rules"),
    [(GUESTS, 0, []), (f"front\n{TOO_LONG}\nMaple\n", 1, ["does-not-fit"])],
)
def test_check_finds_the_same_and_writes_nothing(
    desk: Path, guests: str, code: int, rules: list[str]
) -> None:
    put(desk, {"guests.csv": guests})
    before = snapshot(desk)
    done = command(*words(desk, "--json", name="check"))
    assert done.exit_code == code
    said = json.loads(done.stdout)
    assert [finding["rule"] for finding in said["findings"]] == rules
    assert (said["made"], said["folder"], said["files"]) == (False, None, [])
    assert snapshot(desk) == before


def test_proof_writes_the_proof_and_the_report_alone(desk: Path) -> None:
    put(desk, {"guests.csv": f"front\nMaple\n{TOO_LONG}\n"})
    done = command(*words(desk, name="proof"))
    assert done.exit_code == 1
    assert names(desk / "picnic") == report_of(desk / "picnic")["files"]
    assert names(desk / "picnic") == ["proof.html", "report.json"]
    assert names(desk) == ["guests.csv", "picnic", "tag.svg"]


def test_json_tells_what_was_made_and_the_findings_of_the_report(desk: Path) -> None:
    put(desk, {"guests.csv": "front,copies\nMaple,2\nमीना,1\n"})
    done = command(*words(desk, "--json"))
    said = json.loads(done.stdout)
    assert (done.exit_code, done.stderr) == (0, "")
    assert said.pop("findings") == report_of(desk / "picnic")["findings"] != []
    assert sorted(said.pop("files")) == ALL_FILES
    assert said == {
        "made": True,
        "folder": str(desk / "picnic"),
        "pieces": 3,
        "sheets": 1,
        "left_out": 0,
        "designs": [
            {
                "design": "tag",
                "stock": "",
                "pieces": 3,
                "sheets": 1,
                "cut_files": ["cut.svg"],
            }
        ],
    }


def test_json_tells_of_a_run_that_made_no_sheets(desk: Path) -> None:
    put(desk, {"guests.csv": f"front\nMaple\n{TOO_LONG}\n"})
    done = command(*words(desk, "--json"))
    said = json.loads(done.stdout)
    assert done.exit_code == 1
    assert said["made"] is False
    assert said["folder"] == str(desk / "picnic-problems")
    assert said["left_out"] == 1


def test_names_in_any_script_come_through_as_json(desk: Path) -> None:
    put(desk, {"guests.csv": "front\n" + "תפוזים" * 20 + "\n"})
    done = command(*words(desk, "--json", name="check"))
    assert "תפוזים" in done.stdout
    assert json.loads(done.stdout)["findings"][0]["rule"] == "does-not-fit"


# ---- What is placed ----


def by_piece(report: dict[str, Any]) -> dict[tuple[int, int], list[dict[str, Any]]]:
    """Give the texts by row and copy, without what depends on the sheet."""
    kept = ("panel", "text", "font", "size_pt", "largest_pt", "leading_pt", "lines")
    return {
        (piece["row"], piece["copy"]): [{k: t[k] for k in kept} for t in piece["texts"]]
        for piece in report["pieces"]
        if piece["row"] is not None
    }


def test_rows_places_these_alone_with_the_sizes_of_the_whole_batch(
    made: Path, tmp_path: Path
) -> None:
    done = command(
        *("make", SAMPLES / "picnic.csv", "--design", "plant-flag"),
        *("--out", tmp_path / "picnic", "--rows", "2-3,35"),
    )
    assert done.exit_code == 0, done.output
    whole, part = by_piece(report_of(made)), by_piece(report_of(tmp_path / "picnic"))
    assert list(part) == [(2, 1), (3, 1), (3, 2), (35, 1), (35, 2), (35, 3)]
    assert part == {key: whole[key] for key in part}


def test_sizes_of_chosen_rows_differ_from_those_of_a_batch_of_their_own(
    desk: Path,
) -> None:
    # Else the test above would prove nothing: here the long name sets the sizes.
    put(desk, {"guests.csv": f"front\nIo\n{'Castellanos ' * 6}\n"})
    put(desk, {"tag.toml": '[type]\nsizes = "same"\n'})
    whole = by_piece(made_here(desk, "--rows", "2"))
    put(desk, {"guests.csv": "front\nIo\n"})
    alone = by_piece(made_here(desk))
    assert whole[2, 1][0]["size_pt"] < alone[2, 1][0]["size_pt"] / 2


def test_rows_adds_no_spares(desk: Path) -> None:
    whole = made_here(desk)
    assert whole["sheets"][0]["filled"] > 0
    part = made_here(desk, "--rows", "3-")
    assert [piece["row"] for piece in part["pieces"]] == [3, 4]
    assert [sheet["filled"] for sheet in part["sheets"]] == [0]


def test_an_error_in_a_row_that_is_not_asked_for_stops_nothing(desk: Path) -> None:
    put(desk, {"guests.csv": f"front\nMaple\n{TOO_LONG}\nRowan\n"})
    done = command(*words(desk, "--rows", "2,4"))
    assert done.exit_code == 1  # it stands all the same
    assert [piece["row"] for piece in report_of(desk / "picnic")["pieces"]] == [2, 4]


def test_leave_out_faulty_makes_all_the_others(desk: Path) -> None:
    put(desk, {"guests.csv": f"front,copies\nMaple,2\n{TOO_LONG},3\nRowan,1\n"})
    done = command(*words(desk, "--leave-out-faulty"))
    assert done.exit_code == 1
    assert "3 pieces on 1 sheet, 3 left out." in done.stdout
    assert names(desk) == ["guests.csv", "picnic", "tag.svg"]
    report = report_of(desk / "picnic")
    rows = Counter(piece["row"] for piece in report["pieces"])
    assert (rows[2], rows[3], rows[4]) == (2, 0, 1)
    assert [finding["row"] for finding in report["findings"]] == [3]


def test_leave_out_faulty_makes_no_sheets_of_nothing(desk: Path) -> None:
    put(desk, {"guests.csv": f"front\n{TOO_LONG}\n"})
    assert command(*words(desk, "--leave-out-faulty")).exit_code == 1
    assert names(desk) == ["guests.csv", "picnic-problems", "tag.svg"]


def test_no_proof_leaves_the_proof_out(desk: Path) -> None:
    report = made_here(desk, "--no-proof")
    assert names(desk / "picnic") == ["cut.svg", "print.pdf", "report.json"]
    assert report["files"] == ["cut.svg", "print.pdf", "report.json"]


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


# ---- Again ----


def run_apart(*told: str | Path, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "personalize", *map(str, told)],
        cwd=ROOT,
        env=os.environ | env,
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=120,
    )


def test_the_same_input_gives_the_same_bytes_in_another_process(
    made: Path, tmp_path: Path
) -> None:
    # PYTHONHASHSEED: another order of sets and of hashes (docs.python.org, "Command line
    # and environment"); TZ: another day.
    done = run_apart(
        *("make", SAMPLES / "picnic.csv", "--design", "plant-flag"),
        *("--out", tmp_path / "picnic"),
        PYTHONHASHSEED="1974",
        TZ="Pacific/Kiritimati",
    )
    assert done.returncode == 0, done.stderr
    assert names(tmp_path / "picnic") == ALL_FILES
    for name in ALL_FILES:
        assert (tmp_path / "picnic" / name).read_bytes() == (made / name).read_bytes(), name


def test_a_second_run_replaces_the_first_as_a_whole(desk: Path) -> None:
    made_here(desk, "--rows", "2")
    first = snapshot(desk / "picnic")
    made_here(desk, "--no-proof")
    assert names(desk / "picnic") == ["cut.svg", "print.pdf", "report.json"]
    made_here(desk, "--rows", "2")
    assert snapshot(desk / "picnic") == first
    assert names(desk) == ["guests.csv", "picnic", "tag.svg"]


def test_a_run_does_not_touch_what_it_reads(desk: Path) -> None:
    put(desk, {"tag.toml": 'name = "Bean tag"\n'})
    before = snapshot(desk)
    made_here(desk)
    after = snapshot(desk)
    assert {name: after[name] for name in before} == before


# ---- Help ----


def options_of(help_text: str) -> Sequence[str]:
    return re.findall(r"^\s+(?:-\w, )?(--[\w-]+)", help_text, re.MULTILINE)


def test_help_names_the_commands_and_the_samples() -> None:
    done = run_apart("--help")
    assert (done.returncode, done.stderr) == (0, "")
    for word in ("check", "proof", "make", "plant-flag", "herb-tag", "table-tent"):
        assert re.search(rf"\b{word}\b", done.stdout)


def test_help_of_make_explains_every_option() -> None:
    told = command("make", "-h").stdout
    assert set(options_of(told)) == {
        *("--design", "--worksheet", "--paper", "--margin", "--spacing", "--marks"),
        *(
            "--rows",
            "--json",
            "--out",
            "--also",
            "--curves",
            "--no-proof",
            "--leave-out-faulty",
        ),
        *("--encoding", "--delimiter", "--heading-row", "--clean", "--where", "--sort"),
        *("--sizes-from", "--help", "--piece", "--clear", "--machine"),
        *("--creases", "--perforations", "--nicks", "--around", "--dxf-curves", "--count"),
        "--against",
        *("--profile", "--mirror", "--face-down", "--labels", "--first-place", "--order"),
    }
    assert "A4" in told


def test_version_is_that_of_the_project() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    done = run_apart("--version")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.strip() == f"personalize, version {project['version']}"


@pytest.mark.parametrize(
    "words",
    [
        ("check", "list.csv", "--json"),
        ("check", "--json", "--design", "jar-lid"),
        ("make", "list.csv", "--design", "jar-lid", "--json", "--colour"),
        ("starter", "--json"),
        ("--json", "check"),
        ("bake", "--json"),
    ],
)
def test_a_wrong_use_is_told_as_json_too(words: tuple[str, ...]) -> None:
    done = command(*words)
    assert done.exit_code == 2
    (problem,) = json.loads(done.stdout)["problems"]
    assert problem["place"].split()[-1] in (*words, "cli", "personalize")
    assert problem["says"].endswith((".", "?", ")"))
    assert "--help" in problem["do"]
