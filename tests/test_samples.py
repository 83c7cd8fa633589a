"""Every bundled sample, with the bundled guest list, runs as it comes."""

import csv
import json
import re
import unicodedata
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import personalize
from tests.conftest import SAMPLES, command

Guest = dict[str, str]
PANELS: dict[str, dict[str, Callable[[Guest], str]]] = {
    "plant-flag": {
        "front": lambda guest: guest["name"],
        "back": lambda guest: guest["back"] or guest["name"],
    },
    "herb-tag": {"leaf": lambda guest: guest["plant"]},
    "table-tent": {
        "front": lambda guest: guest["name"],
        "back": lambda guest: guest["name"],
    },
    "jar-lid": {
        "lid / dish": lambda guest: guest["dish"],
        "lid / picnic": lambda guest: "Plum Lane harvest picnic",
    },
}
"""What each panel of a sample is to say, by samples/README.md."""


@dataclass(frozen=True)
class Made:
    """A sample with its result."""

    name: str
    folder: Path
    report: dict[str, Any]


def made_of(name: str, file: str, out: Path) -> Made:
    done = command("make", SAMPLES / file, "--design", name, "--out", out)
    assert done.exit_code == 0, done.output
    # Nothing but how much paper it takes is told there.
    (use,) = done.stderr.splitlines()
    assert " m2 of paper, " in use
    assert "error" not in done.stdout
    assert "warning" not in done.stdout
    return Made(name, out, json.loads((out / "report.json").read_text("utf-8")))


@pytest.fixture(scope="module", params=PANELS)
def sample(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Made:
    """Make each sample once from the CSV list, by its name and with no option."""
    return made_of(
        request.param, "picnic.csv", tmp_path_factory.mktemp(request.param) / "picnic"
    )


@pytest.fixture(scope="module")
def guests() -> dict[int, Guest]:
    """Give the list by row, as Python's own reader of CSV reads it; no row is blank."""
    with (SAMPLES / "picnic.csv").open(encoding="utf-8", newline="") as file:
        return dict(enumerate(csv.DictReader(file), 2))


def test_these_are_all_the_samples() -> None:
    assert sorted(PANELS) == list(personalize.sample_names())


def test_it_runs_with_no_option_and_only_notes_stand(sample: Made) -> None:
    assert {finding["severity"] for finding in sample.report["findings"]} <= {"note"}
    assert sample.report["files"] == ["cut.svg", "print.pdf", "proof.html", "report.json"]
    assert sorted(path.name for path in sample.folder.iterdir()) == sample.report["files"]


def test_the_workbook_gives_the_same_as_the_list(sample: Made, tmp_path: Path) -> None:
    book = made_of(sample.name, "picnic.xlsx", tmp_path / "picnic")
    said, expected = dict(book.report), dict(sample.report)
    source = said.pop("source"), expected.pop("source")
    assert said == expected
    assert [one["file"] for one in source] == ["picnic.xlsx", "picnic.csv"]
    assert source[0]["rows"] == source[1]["rows"]
    for file in ("print.pdf", "cut.svg"):
        assert (book.folder / file).read_bytes() == (sample.folder / file).read_bytes()


def test_there_are_as_many_pieces_as_copies(sample: Made, guests: dict[int, Guest]) -> None:
    wanted = {row: int(guest["copies"] or 1) for row, guest in guests.items()}
    pieces = [piece for piece in sample.report["pieces"] if piece["row"] is not None]
    assert Counter(piece["row"] for piece in pieces) == wanted
    assert {(piece["row"], piece["copy"]) for piece in pieces} == {
        (row, copy) for row, copies in wanted.items() for copy in range(1, copies + 1)
    }
    assert sample.report["source"]["rows"] == len(guests)


def test_every_panel_says_its_cell_exactly(sample: Made, guests: dict[int, Guest]) -> None:
    for piece in sample.report["pieces"]:
        said = [
            (" / ".join(filter(None, (text["panel"], text["block"]))), text["text"])
            for text in piece["texts"]
        ]
        guest = guests.get(piece["row"])
        panels = PANELS[sample.name].items() if guest else ()
        assert said == [(panel, words(guest or {})) for panel, words in panels]


def test_spares_fill_the_last_sheet_and_no_other(sample: Made) -> None:
    *others, last = sample.report["sheets"]
    places = others[0]["pieces"]
    assert [sheet["pieces"] for sheet in others] == [places] * len(others)
    assert [sheet["filled"] for sheet in others] == [0] * len(others)
    assert last["pieces"] > 0
    assert last["pieces"] + last["filled"] == places
    spares = [piece for piece in sample.report["pieces"] if piece["row"] is None]
    assert len(spares) == last["filled"]
    assert {piece["sheet"] for piece in spares} <= {last["number"]}


# ---- The list holds what a real list can hold ----


def letters(text: str, script: str) -> bool:
    """Say whether there is a letter of a script, by the names of the Unicode standard."""
    return any(unicodedata.name(char, "").startswith(script) for char in text)


def test_the_list_has_more_than_forty_messages_and_counts(
    guests: dict[int, Guest],
) -> None:
    assert len(guests) > 40
    assert {guest["copies"] for guest in guests.values()} >= {"", "1", "2", "3"}


def test_names_are_short_and_very_long(guests: dict[int, Guest]) -> None:
    lengths = [len(guest["name"]) for guest in guests.values()]
    assert min(lengths) == 2
    assert max(lengths) > 40


@pytest.mark.parametrize("char", ["'", "\u2019", "-", "&", "."])
def test_names_have_marks_between_letters(char: str, guests: dict[int, Guest]) -> None:
    assert any(re.search(rf"\S *{re.escape(char)}", g["name"]) for g in guests.values())


@pytest.mark.parametrize(
    "script",
    [
        *("LATIN", "GREEK", "CYRILLIC", "HEBREW", "ARABIC", "DEVANAGARI", "THAI"),
        *("HIRAGANA", "CJK UNIFIED IDEOGRAPH", "SUNFLOWER"),
    ],
)
def test_names_are_in_many_scripts(script: str, guests: dict[int, Guest]) -> None:
    assert any(letters(guest["name"], script) for guest in guests.values())


def test_plants_and_dishes_are_in_many_scripts_too(guests: dict[int, Guest]) -> None:
    for column in ("plant", "dish"):
        for script in ("GREEK", "CYRILLIC", "HEBREW", "ARABIC", "DEVANAGARI", "THAI"):
            assert any(letters(guest[column], script) for guest in guests.values())


def test_one_name_is_typed_in_both_ways_and_kept_so(
    made: Path, guests: dict[int, Guest]
) -> None:
    # Unicode Standard Annex #15: composed (NFC) and decomposed (NFD) forms.
    composed, decomposed = (
        unicodedata.normalize(form, "Zoë Tamblyn") for form in ("NFC", "NFD")
    )
    assert composed != decomposed
    rows = {guest["name"]: row for row, guest in guests.items()}
    report = json.loads((made / "report.json").read_text("utf-8"))
    said = {piece["row"]: piece["texts"] for piece in report["pieces"]}
    for form in (composed, decomposed):
        assert said[rows[form]][0]["text"] == form
    sizes = [said[rows[form]][0]["size_pt"] for form in (composed, decomposed)]
    assert sizes[0] == sizes[1]


@pytest.mark.parametrize("name", ["Null", "NA", "007"])
def test_words_that_programs_take_for_something_else_stay_words(
    name: str, made: Path, guests: dict[int, Guest]
) -> None:
    rows = [row for row, guest in guests.items() if guest["name"] == name]
    assert len(rows) == 1
    report = json.loads((made / "report.json").read_text("utf-8"))
    (piece,) = [piece for piece in report["pieces"] if piece["row"] == rows[0]]
    assert [text["text"] for text in piece["texts"]] == [name, name]


def test_backs_are_empty_and_not(guests: dict[int, Guest]) -> None:
    backs = Counter(bool(guest["back"]) for guest in guests.values())
    assert min(backs[True], backs[False]) > 5


@pytest.mark.parametrize("flip", ["upright", "level"])
def test_the_tag_with_a_back_has_who_grew_it_on_the_other_side(
    flip: str, tmp_path: Path, guests: dict[int, Guest]
) -> None:
    design = ["--design", SAMPLES / "herb-tag-both.toml", "--two-sided", flip]
    out = ["--out", tmp_path / "out", "--no-proof"]
    assert command("make", SAMPLES / "picnic.csv", *design, *out).exit_code == 0
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    said = {
        piece["row"]: [piece["texts"][0]["text"], piece["back"]["texts"][0]["text"]]
        for piece in report["pieces"]
        if piece["row"] is not None
    }
    assert said == {
        row: [guest["plant"], f"grown by {guest['name']}"] for row, guest in guests.items()
    }


def test_the_picture_is_a_design_for_the_same_guests(tmp_path: Path) -> None:
    asked = [SAMPLES / "picnic.csv", "--design", SAMPLES / "plum.png", "--rows", "2-4"]
    assert command("make", *asked, "--out", tmp_path / "out").exit_code == 0
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    words = {piece["texts"][0]["text"] for piece in report["pieces"]}
    assert words == {
        "Io",
        "Bo",
        "Wilhelmina Featherstone-Castellanos de la Cruz",
    }
