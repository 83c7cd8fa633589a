"""What a design asks of its sheets and cuts; the command line goes first."""

import json
from pathlib import Path
from typing import Any

import pytest

import personalize
from personalize.cut_files import CutOptions
from personalize.design.design import LineKind
from personalize.errors import InputError
from personalize.sheet.uncut import CREASE_DASHES, PERFORATION, CutRules
from tests.conftest import EDGE, command, drawing, line, put

TOML = """
[lines]
Cutting = "#edge"
Creasing = "#fold"
[margins]
bleed = 0
"""
FLAG = EDGE + line("M30 2V38", "fold")


def load(folder: Path, more: str = "", svg: str = FLAG) -> personalize.Design:
    files = {"tag.svg": drawing(svg), "tag.toml": TOML + more}
    put(folder, {**files, "guests.csv": "front,back\nAda,Bo\n"})
    return personalize.load_design(folder / "tag.toml")


def lines(folder: Path, *more: str) -> dict[str, int]:
    """Make the tag; count the runs of each kind in its cut file."""
    out = folder / "out"
    given = ("make", folder / "guests.csv", "--design", folder / "tag.toml", "--out", out)
    result = command(*given, *more)
    assert result.exit_code in {0, 1}, result.output
    text = (out / "cut.svg").read_text("utf-8")
    return {
        kind: text.split(f'id="{kind}"')[1].split("</g>")[0].count("M")
        for kind in ("Creasing", "Cutting")
        if f'id="{kind}"' in text
    }


def test_a_design_asks_for_its_cut_and_the_command_line_goes_first(tmp_path: Path) -> None:
    load(tmp_path)
    plain = lines(tmp_path)
    load(tmp_path, '[cut]\ncreases = "dashes"\nnicks = 3\n')
    asked = lines(tmp_path)
    # 36 mm less both ends of 2 mm: eight dashes of 2 mm and their gaps to each crease.
    assert asked["Creasing"] == 8 * plain["Creasing"]
    assert asked["Cutting"] == 3 * plain["Cutting"]
    assert lines(tmp_path, "--creases", "lines", "--nicks", "0") == plain
    assert lines(tmp_path, "--nicks", "5")["Cutting"] == 5 * plain["Cutting"]


def test_a_cut_round_all_pieces_may_stand_in_the_design(tmp_path: Path) -> None:
    load(tmp_path)
    plain = lines(tmp_path, "--marks", "none")
    load(tmp_path, "[cut]\naround_mm = 2\n")
    found = lines(tmp_path, "--marks", "none")
    assert found["Cutting"] == plain["Cutting"] + 1


@pytest.mark.parametrize(
    ("more", "rules"),
    [
        ("", CutRules()),
        ('[cut]\ncreases = "dashes"\n', CutRules({LineKind.CREASING: CREASE_DASHES})),
        (
            '[cut]\nperforations = "dashes"\n',
            CutRules({LineKind.PERFORATING: PERFORATION}),
        ),
        ('[cut]\ncreases = "lines"\nnicks = 4\nnick_mm = 0.8\n', CutRules({}, 4, 0.8)),
        ("[cut]\nnicks = 4\naround_mm = 3\n", CutRules({}, 4, around_mm=3.0)),
    ],
)
def test_what_a_design_says_is_what_is_cut(
    tmp_path: Path, more: str, rules: CutRules
) -> None:
    assert CutOptions().rules_for(load(tmp_path, more)) == rules


def test_what_is_said_of_this_run_stands(tmp_path: Path) -> None:
    design = load(tmp_path, '[cut]\ncreases = "dashes"\nnicks = 4\naround_mm = 3\n')
    every = frozenset({"creases", "perforations", "nicks", "around"})
    assert CutOptions(told=every).rules_for(design) == CutRules()
    mine = CutRules({}, 2, 0.3, 5.0)
    assert CutOptions(mine).rules_for(design) == CutRules(
        {LineKind.CREASING: CREASE_DASHES}, 2, 0.3, 5.0
    )


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ('[cut]\ncreases = "dotted"\n', "creases cannot be 'dotted'"),
        ("[cut]\nnicks = 2.5\n", "nicks must be a whole number"),
        ("[cut]\nnicks = true\n", "nicks must be a whole number"),
        ("[cut]\naround_mm = 500\n", "around_mm must be a number from 0.5 to 100"),
        ("[cut]\nnick = 3\n", "there is no key nick in [cut]"),
        ("[sheet]\npaper_g_m2 = 5\n", "paper_g_m2 must be a number from 20 to 2000"),
        ('[sheet]\nturns = "quarter"\n', "turns cannot be 'quarter'"),
    ],
)
def test_a_faulty_wish_is_told_with_its_line(tmp_path: Path, more: str, says: str) -> None:
    with pytest.raises(InputError) as told:
        load(tmp_path, more)
    (problem,) = told.value.problems
    assert says in problem.says
    assert problem.place == "tag.toml, line 8"


def turns(folder: Path) -> set[int]:
    """Quarter turns of the pieces of a sheet, half turns taken for none."""
    given = ("make", folder / "guests.csv", "--design", folder / "tag.toml")
    out = folder / "out"
    assert command(*given, "--out", out, "--marks", "none").exit_code in {0, 1}
    report: dict[str, Any] = json.loads((out / "report.json").read_text("utf-8"))
    return {abs(round(piece["at"][0])) for piece in report["pieces"]}


@pytest.mark.parametrize(
    ("more", "crossed"),
    [
        ("", True),
        ("[sheet]\npaper_g_m2 = 160\n", True),
        ("[sheet]\npaper_g_m2 = 170\n", False),
        ('[sheet]\npaper_g_m2 = 250\nturns = "any"\n', True),
        ('[sheet]\nturns = "half"\n', False),
    ],
)
def test_creases_go_one_way_on_heavy_paper(
    tmp_path: Path, more: str, crossed: bool
) -> None:
    load(tmp_path, more)
    assert (len(turns(tmp_path)) == 2) is crossed


def test_heavy_paper_without_creases_may_turn(tmp_path: Path) -> None:
    load(tmp_path)
    bare = TOML.replace('Creasing = "#fold"\n', "") + "[sheet]\npaper_g_m2 = 250\n"
    put(tmp_path, {"tag.svg": drawing(EDGE), "tag.toml": bare})
    assert len(turns(tmp_path)) == 2
