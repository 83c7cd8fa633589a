"""Lists as people save them, through the whole command: what is told, and where."""

import json
from pathlib import Path
from typing import Any

from tests.conftest import command, drawing, line, put

TAG = drawing(line("M2 2H60V30H2Z"))
TOML = '[[panel]]\nname = "front"\ntext = "{name}"\n'


def made(folder: Path, data: bytes | str, *options: str) -> tuple[Any, dict[str, Any]]:
    put(folder, {"guests.csv": data, "tag.svg": TAG, "tag.toml": TOML})
    done = command(
        *("make", folder / "guests.csv", "--design", folder / "tag.svg"),
        *("--out", folder / "out", *options),
    )
    found = folder / "out" if (folder / "out").exists() else folder / "out-problems"
    report: dict[str, Any] = json.loads((found / "report.json").read_text("utf-8"))
    return done, report


def words(report: dict[str, Any]) -> list[str]:
    return [t["text"] for piece in report["pieces"] for t in piece["texts"]]


def test_an_old_encoding_is_read_and_always_told(tmp_path: Path) -> None:
    # WHATWG Encoding Standard, index windows-1252.
    data = "name\nZoë Tamblyn\nSøren Blåbærdal\nJosé Núñez\n".encode("cp1252")
    done, report = made(tmp_path, data, "--encoding", "cp1252")
    assert words(report) == ["Zoë Tamblyn", "Søren Blåbærdal", "José Núñez"]
    assert report["source"]["encoding"] == "cp1252"
    done, report = made(tmp_path, data)
    assert done.exit_code == 1
    rules = [finding["rule"] for finding in report["findings"]]
    assert "encoding-guessed" in rules


def test_a_title_above_the_headings_is_left_out_and_told(tmp_path: Path) -> None:
    text = "Picnic of Plum Lane,,\n\nname,plant,copies\nIo,Basil,2\nBo,Mint,1\n"
    done, report = made(tmp_path, text)
    assert done.exit_code == 0, done.output
    assert report["source"]["heading_row"] == 3
    assert [piece["row"] for piece in report["pieces"] if piece["row"]] == [4, 4, 5]
    assert report["source"]["decisions"]
    proof = (tmp_path / "out" / "proof.html").read_text("utf-8")
    assert "How the list was read" in proof


def test_stray_spaces_are_printed_as_they_are_and_cleaned_when_asked(
    tmp_path: Path,
) -> None:
    text = "name,plant\n Io  Fern ,x\nBo\u200b,y\n"
    done, report = made(tmp_path, text)
    assert words(report) == [" Io  Fern ", "Bo\u200b"]
    rules = {finding["rule"] for finding in report["findings"]}
    assert {"spaces", "invisible-characters"} <= rules
    assert done.exit_code == 1  # an invisible character is a warning
    done, report = made(tmp_path, text, "--clean")
    assert done.exit_code == 0, done.output
    assert words(report) == ["Io Fern", "Bo"]
    assert len(report["source"]["decisions"]) >= 2


def test_what_is_wrong_in_a_column_that_is_not_printed_is_not_told(tmp_path: Path) -> None:
    done, report = made(tmp_path, "name,note\nIo, stray \nBo,\u200bhidden\n")
    assert done.exit_code == 0
    assert {finding["rule"] for finding in report["findings"]} <= {"bleed-missing"}


def test_garbled_words_are_told_with_a_guess_and_printed_as_they_are(
    tmp_path: Path,
) -> None:
    done, report = made(tmp_path, "name\nZoÃ« Tamblyn\n")
    assert words(report) == ["ZoÃ« Tamblyn"]
    (told,) = [f for f in report["findings"] if f["rule"] == "wrong-decoding"]
    assert "Zoë" in told["says"] + told["do"]
    assert done.exit_code == 1


def test_a_cell_that_cannot_be_shown_keeps_its_piece_off_the_sheets(tmp_path: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (("name",), ("Io",), ("=1/0",), ("Bo",)):
        sheet.append(row)
    book.save(tmp_path / "guests.xlsx")
    put(tmp_path, {"tag.svg": TAG, "tag.toml": TOML})
    run = ("make", tmp_path / "guests.xlsx", "--design", tmp_path / "tag.svg")
    done = command(*run, "--out", tmp_path / "out")
    assert done.exit_code == 1
    assert not (tmp_path / "out").exists()
    assert "row 3" in done.output
    done = command(*run, "--out", tmp_path / "out", "--leave-out-faulty")
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    assert [piece["row"] for piece in report["pieces"] if piece["row"]] == [2, 4]
