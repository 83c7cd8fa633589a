"""A trial sheet: one sheet of the rows that are most likely to disappoint."""

import json
from pathlib import Path

import pytest

import personalize
from personalize.checks.kept import read_pieces
from personalize.options import Result
from personalize.trial import trial
from tests.conftest import command

ROOT = Path(__file__).resolve().parent.parent
LIST = ROOT / "samples" / "picnic.csv"


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Result]:
    """The whole batch, a trial of it, and what the trial says."""
    folder = tmp_path_factory.mktemp("trial")
    table, design = personalize.read_table(LIST), personalize.load_design("plant-flag")
    personalize.make(table, design, folder / "whole")
    result = trial(table, design, folder / "trial")
    return folder / "whole", folder / "trial", result


def pieces_of(folder: Path) -> list[dict[str, object]]:
    pieces = json.loads((folder / "report.json").read_text("utf-8"))["pieces"]
    return [piece for piece in pieces if piece["row"] is not None]


def test_it_is_one_sheet_without_spares(both: tuple[Path, Path, Result]) -> None:
    whole, tried, result = both
    sheets = json.loads((tried / "report.json").read_text("utf-8"))["sheets"]
    full = json.loads((whole / "report.json").read_text("utf-8"))["sheets"][0]
    assert len(sheets) == 1
    assert 0 < sheets[0]["pieces"] <= full["pieces"]
    assert sheets[0]["filled"] == 0
    assert {piece.row for piece in read_pieces(tried / "print.pdf")} == {
        risk.row for risk in result.risks
    }


def test_sizes_are_those_of_the_whole_batch(both: tuple[Path, Path, Result]) -> None:
    whole, tried, _ = both
    sizes = [
        {
            (piece["row"], text["panel"]): text["size_pt"]
            for piece in pieces_of(folder)
            for text in piece["texts"]  # type: ignore[attr-defined]
        }
        for folder in (whole, tried)
    ]
    assert sizes[1].items() <= sizes[0].items()


def test_every_reason_is_true(both: tuple[Path, Path, Result]) -> None:
    whole, _, result = both
    why = {risk.why.split(",")[0]: risk.row for risk in result.risks}
    least, letters = {}, {}
    for piece in pieces_of(whole):
        texts = piece["texts"]
        least[piece["row"]] = min(text["size_pt"] for text in texts)  # type: ignore[attr-defined]
        letters[piece["row"]] = sum(len(text["text"]) for text in texts)  # type: ignore[attr-defined]
    assert least[why["the smallest letters"]] == min(least.values())
    assert letters[why["the most letters"]] == max(letters.values())
    assert letters[why["the fewest letters"]] == min(letters.values())
    words = personalize.read_table(LIST).rows
    thai = why["letters in Thai"]
    assert any("\u0e00" <= c <= "\u0e7f" for cell in words[thai - 2].cells for c in cell)
    assert not [name for name in why if "Latin" in name]


def test_a_faulty_row_is_not_tried_and_a_short_list_is_tried_whole(tmp_path: Path) -> None:
    long = "Wilhelmina" * 30
    (tmp_path / "list.csv").write_text(f"name,back\nAda,\n{long},\nBo,\n")
    done = command(
        "trial", tmp_path / "list.csv", "--design", "plant-flag", "--out", tmp_path / "out"
    )
    assert done.exit_code == 1
    assert "row 3, panel front" in done.output
    assert {piece["row"] for piece in pieces_of(tmp_path / "out")} == {2, 4}


def test_reasons_are_told_in_words_and_as_json(tmp_path: Path) -> None:
    words = ("trial", LIST, "--design", "jar-lid", "--out")
    told = command(*words, tmp_path / "a").output
    assert "Try it on plain paper" in told
    entry = json.loads(command(*words, tmp_path / "b", "--json").output)
    assert entry["risks"]
    for risk in entry["risks"]:
        assert f"row {risk['row']}: {risk['why']}" in told


def test_of_several_designs_each_is_tried_and_named(tmp_path: Path) -> None:
    words = ("trial", LIST, "--design", "jar-lid", "--design", "herb-tag", "--out")
    told = command(*words, tmp_path / "a").output
    (first, second), *_ = entries = [
        line.split(": ", 1) for line in told.splitlines() if line.startswith("  row ")
    ]
    assert first.endswith(", Jar lid")
    assert second.startswith("the smallest letters")
    assert {place.split(", ")[1] for place, _ in entries} == {"Jar lid", "Herb tag"}
    assert [place.split(", ")[1] for place, _ in entries[:2]] == ["Jar lid", "Herb tag"]
    rows = {int(place.split(", ")[0].removeprefix("  row ")) for place, _ in entries}
    made = pieces_of(tmp_path / "a")
    assert {piece["row"] for piece in made if piece["row"]} == rows
    for name in ("Jar lid", "Herb tag"):
        assert {p["row"] for p in made if p["design"] == name} >= rows
