"""report.json keeps its contract, and says what the other files say."""

import json
from collections import Counter
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import personalize
from tests.conftest import ROOT, SAMPLES

SCHEMA = json.loads((ROOT / "docs" / "report.schema.json").read_text("utf-8"))


def report_of(folder: Path) -> dict[str, Any]:
    value: dict[str, Any] = json.loads((folder / "report.json").read_text("utf-8"))
    return value


def table(
    *rows: tuple[str, ...], headings: tuple[str, ...] = ("front",)
) -> personalize.Table:
    numbered = tuple(personalize.Row(i, row) for i, row in enumerate(rows, 2))
    return personalize.Table(personalize.Source("guests.csv"), headings, numbered)


@pytest.mark.parametrize("name", personalize.sample_names())
def test_every_sample_keeps_the_schema(name: str, tmp_path: Path) -> None:
    # JSON Schema, draft 2020-12 (json-schema.org), by the jsonschema library.
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    guests = personalize.read_table(SAMPLES / "picnic.csv")
    personalize.make(guests, personalize.load_design(name), tmp_path / "out")
    jsonschema.validate(report_of(tmp_path / "out"), SCHEMA)


def test_the_schema_refuses_what_is_no_report(made: Path) -> None:
    for key in ("pieces", "findings", "source"):
        broken = report_of(made)
        del broken[key]
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(broken, SCHEMA)
    broken = report_of(made)
    broken["pieces"][0]["texts"][0]["size_pt"] = -1
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(broken, SCHEMA)


def test_a_proof_with_errors_keeps_the_schema_too(tmp_path: Path) -> None:
    (tmp_path / "tag.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm"'
        ' viewBox="0 0 30 20"><rect id="edge" width="30" height="20" fill="none"'
        ' stroke="#000"/></svg>'
    )
    design = personalize.load_design(tmp_path / "tag.svg")
    guests = table(("Basil",), ("Wilhelminavonderaueundzuhohenbirken",), ("\U000e0f00",))
    result = personalize.make(guests, design, tmp_path / "out")
    assert not result.made
    assert result.folder == tmp_path / "out-problems"
    report = report_of(result.folder)
    jsonschema.validate(report, SCHEMA)
    rules = {finding["rule"] for finding in report["findings"]}
    assert {"does-not-fit"} <= rules
    assert report["pieces"] == []
    assert sorted(p.name for p in result.folder.iterdir()) == report["files"]


def test_it_lists_exactly_the_files_beside_it(made: Path) -> None:
    assert sorted(path.name for path in made.iterdir()) == report_of(made)["files"]


def test_rows_are_those_of_the_spreadsheet_and_copies_are_counted(made: Path) -> None:
    guests = personalize.read_table(SAMPLES / "picnic.csv")
    column = guests.headings.index("copies")
    wanted = Counter({row.number: int(row.cells[column] or 1) for row in guests.rows})
    pieces = [p for p in report_of(made)["pieces"] if p["row"] is not None]
    assert Counter(p["row"] for p in pieces) == wanted
    assert min(wanted) == 2  # the heading is row 1


def test_texts_are_the_cells_exactly_and_an_empty_back_repeats_the_front(
    made: Path,
) -> None:
    guests = personalize.read_table(SAMPLES / "picnic.csv")
    cells = {
        row.number: dict(zip(guests.headings, row.cells, strict=True))
        for row in guests.rows
    }
    for piece in report_of(made)["pieces"]:
        said = {text["panel"]: text["text"] for text in piece["texts"]}
        if piece["row"] is None:
            assert said == {}
        else:
            row = cells[piece["row"]]
            assert said == {"front": row["name"], "back": row["back"] or row["name"]}


def test_ink_lies_in_the_box_of_its_zone(made: Path) -> None:
    for piece in report_of(made)["pieces"]:
        for text in piece["texts"]:
            ink, zone = text["ink_mm"], text["zone_box_mm"]
            assert zone[0] - 0.01 <= ink[0] < ink[2] <= zone[2] + 0.01
            assert zone[1] - 0.01 <= ink[1] < ink[3] <= zone[3] + 0.01


def test_both_faces_of_a_flag_have_one_size(made: Path) -> None:
    for piece in report_of(made)["pieces"]:
        assert len({text["size_pt"] for text in piece["texts"]}) <= 1


def test_a_batch_has_at_most_three_sizes_and_notes_for_the_rest(made: Path) -> None:
    report = report_of(made)
    noted = {f["row"] for f in report["findings"] if f["rule"] == "own-size"}
    sizes = {
        text["size_pt"]
        for piece in report["pieces"]
        if piece["row"] not in noted
        for text in piece["texts"]
    }
    assert 1 <= len(sizes) <= 3
    top = max(sizes)
    for size in sizes:
        assert min(abs(size / top - step) for step in (1, 0.84, 0.71)) < 0.001


def test_sizes_never_pass_the_largest_nor_go_under_the_floor(made: Path) -> None:
    # x-height of 1.2 mm: Regulation (EU) 1169/2011, article 13(2) and annex IV.
    for piece in report_of(made)["pieces"]:
        for text in piece["texts"]:
            assert text["size_pt"] <= text["largest_pt"] + 1e-9
            assert text["size_pt"] >= 7
            assert text["x_height_mm"] >= 1.2 - 1e-6


def test_a_report_holds_no_place_of_this_machine(made: Path) -> None:
    words = (made / "report.json").read_text("utf-8")
    assert str(ROOT) not in words
    assert str(made.parent) not in words
