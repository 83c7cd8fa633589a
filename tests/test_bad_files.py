"""Fonts, folders and consoles that are at fault; all problems at once."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables.DefaultTable import DefaultTable

from tests.bad_made import GUESTS, OWN_FONT, SPOILED, TAG, Case, refused
from tests.conftest import ROOT, command, drawing, line, put, snapshot

NUNITO = ROOT / "fonts_open" / "nunito" / "Nunito-Bold.ttf"


def first_half(data: bytes) -> bytes:
    return data[: len(data) // 2]


def all_but_the_end(data: bytes) -> bytes:
    return data[:-100]


def first_bytes(data: bytes) -> bytes:
    return data[:40]


@pytest.mark.parametrize("cut", [first_bytes, first_half, all_but_the_end])
def test_a_font_file_that_is_cut_off_is_told(
    cut: Callable[[bytes], bytes], tmp_path: Path
) -> None:
    told = ("tag.toml, line 2", "'Spoiled.ttf' cannot be used", "another font")
    refused(
        tmp_path, Case([told], {"tag.toml": OWN_FONT, SPOILED: cut(NUNITO.read_bytes())})
    )


def test_a_whole_font_file_beside_the_design_is_used(tmp_path: Path) -> None:
    # Else the tests of spoiled ones would prove nothing.
    put(tmp_path, {"guests.csv": GUESTS, "tag.svg": TAG, "tag.toml": OWN_FONT})
    put(tmp_path, {SPOILED: NUNITO.read_bytes()})
    done = command("check", tmp_path / "guests.csv", "--design", tmp_path / "tag.svg")
    assert done.exit_code == 0, done.output


def test_a_font_of_pictures_only_is_told(tmp_path: Path) -> None:
    # OpenType 1.9.1, "CBDT": a font may hold pictures in place of outlines.
    pictures = DefaultTable("CBDT")
    pictures.data = b"\0\3\0\0"
    with TTFont(NUNITO, recalcBBoxes=False) as font:
        del font["glyf"], font["loca"]
        font["CBDT"] = pictures
        font.save(tmp_path / SPOILED)
    told = ("tag.toml, line 2", "draws its letters as pictures", "another font")
    refused(tmp_path, Case([told], {"tag.toml": OWN_FONT}))


def test_a_folder_of_problems_that_is_not_ours_is_told(tmp_path: Path) -> None:
    told = ("picnic-problems", "not ours: to-maple.txt", "Give another folder")
    files: dict[str, str | bytes] = {
        "guests.csv": f"front\n{'Wilhelmina' * 9}\n",
        "picnic-problems/to-maple.txt": "Dear Maple",
    }
    refused(tmp_path, Case([told], files))


@pytest.mark.parametrize("out", [".", "", ".."])
def test_the_folder_that_one_is_in_is_never_replaced(
    out: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(tmp_path, {"list/guests.csv": GUESTS, "list/tag.svg": TAG})
    (tmp_path / "here" / "below").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "here" / ("below" if out == ".." else ""))
    before = snapshot(tmp_path)
    folder = tmp_path / "list"
    done = command(
        *("make", folder / "guests.csv", "--design", folder / "tag.svg", "--out", out)
    )
    assert done.exit_code == 2
    assert done.stderr.startswith(f"{Path(out)}: this is the folder that you are in")
    assert done.stderr.count("\n") == 1
    assert snapshot(tmp_path) == before
    assert Path.cwd().samefile(".")


def test_all_problems_of_list_design_options_and_folder_are_told_at_once(
    tmp_path: Path,
) -> None:
    refused(
        tmp_path,
        Case(
            [
                ("guests.csv, row 2, column copies", "'-1' is no number", "whole number"),
                ("guests.csv, row 3, column copies", "'some' is no number", "whole"),
                ("tag.toml, line 2", "no key bled in [margins]", "Did you mean bleed?"),
                ("tag.toml, line 4", "'plumm' is not a solid colour", "Write it"),
                ("--paper", "'A99' is no paper size", "Use A4"),
                ("--margin", "'wide' is neither one distance nor four", "Write 5"),
                ("--spacing", "'-1' is no distance", "Write a number"),
                ("--also", "'paper' names no kind of file", "dxf"),
                ("shed", "a file, not a folder", "Give another folder"),
            ],
            {
                "guests.csv": "front,copies\nMaple,-1\nOttoline,some\n",
                "tag.toml": '[margins]\nbled = 1\n[type]\ncolour = "plumm"\n',
                "shed": "tools",
            },
            (
                *("--paper", "A99", "--margin", "wide", "--spacing", "-1"),
                *("--also", "paper", "--out", "FOLDER/shed"),
            ),
        ),
    )


def test_all_problems_of_a_drawing_and_a_list_that_go_together_are_told_at_once(
    tmp_path: Path,
) -> None:
    refused(
        tmp_path,
        Case(
            [
                ("guests.csv", "no column headed 'front'", "Rename 'frnt'"),
                ("tag.svg", "does not fit on A4 paper", "Take larger paper"),
            ],
            {
                "guests.csv": "frnt\nMaple\n",
                "tag.svg": drawing(line("M2 2H398V298H2Z"), 400, 300),
            },
        ),
    )


@pytest.mark.parametrize("name", ["check", "proof"])
def test_check_and_proof_refuse_in_the_same_way(name: str, tmp_path: Path) -> None:
    put(tmp_path, {"guests.csv": "", "tag.svg": ""})
    out = ["--out", tmp_path / "picnic"] if name == "proof" else []
    before = snapshot(tmp_path)
    done = command(name, tmp_path / "guests.csv", "--design", tmp_path / "tag.svg", *out)
    assert done.exit_code == 2
    assert [told.split(":")[0] for told in done.stderr.splitlines()] == [
        *("guests.csv", "tag.svg")
    ]
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize(
    ("files", "place"),
    [
        ({"guests.csv": "front\n"}, "guests.csv"),
        ({"tag.svg": "Dear Maple"}, "tag.svg, line 1"),
        ({"tag.toml": "[type"}, "tag.toml, line 1"),
        ({"picnic/to-maple.txt": "Dear Maple"}, "picnic"),
        ({"guests.csv": "front,back\nमीना\n"}, "guests.csv, row 2"),
        ({"tag.toml": '[[panel]]\nname="front"\ntext="{गाजर}"\n'}, "guests.csv"),
    ],
)
def test_a_real_run_says_the_same_in_an_old_console(
    files: dict[str, str | bytes], place: str, tmp_path: Path
) -> None:
    put(tmp_path, {"guests.csv": GUESTS, "tag.svg": TAG} | files)
    before = snapshot(tmp_path)
    done = subprocess.run(
        [
            *(sys.executable, "-m", "personalize", "make", tmp_path / "guests.csv"),
            *("--design", tmp_path / "tag.svg", "--out", tmp_path / "picnic"),
        ],
        cwd=ROOT,
        env=os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
        capture_output=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 2, done.stderr
    assert done.stdout == b""
    assert done.stderr.startswith(f"{place}: ".encode())
    assert done.stderr.count(b"\n") == 1
    assert b"Traceback" not in done.stderr
    assert snapshot(tmp_path) == before


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["make"], "Missing option '--design'"),
        (["make", "guests.csv"], "Missing option '--design'"),
        (["make", "guests.csv", "--design", "tag.svg"], "Missing option '--out'"),
        (["check", "guests.csv", "--design", "tag.svg", "--mark"], "No such option"),
        (["make", "guests.csv", "--design", "tag.svg", "--creases", "all"], "'all' is not"),
        (["bake"], "No such command 'bake'"),
    ],
)
def test_words_that_are_no_command_are_told_with_how_to_get_help(
    words: list[str], says: str
) -> None:
    done = command(*words)
    assert done.exit_code == 2
    assert done.stdout == ""
    assert says in done.stderr
    assert "--help" in done.stderr
    assert "Traceback" not in done.stderr
