"""A starter holds what its design asks for, and runs as it is."""

from pathlib import Path

import openpyxl
import pytest

import personalize
from personalize.starter import columns, write_starter
from tests.conftest import command


@pytest.mark.parametrize("kind", [".csv", ".xlsx"])
@pytest.mark.parametrize("name", personalize.sample_names())
def test_it_runs_with_its_design_as_it_is(name: str, kind: str, tmp_path: Path) -> None:
    to = tmp_path / f"guests{kind}"
    design = personalize.load_design(name)
    write_starter(design, to)
    table = personalize.read_table(to)
    wanted = {h for panel in design.panels for h in panel.pattern.headings}
    assert set(table.headings) == wanted | {"copies"}
    result = personalize.check(table, design)
    assert result.worst in (None, personalize.Severity.NOTE)
    assert result.pieces == 2


def test_the_limit_that_it_names_is_near_the_truth() -> None:
    # The words tried fit, and twice as many letters of the same kind do not.
    for name in personalize.sample_names():
        design = personalize.load_design(name)
        for column in columns(design)[:-1]:
            letters = int(column.note.split()[1])
            words = "Rosemary Basil Fern Maeve "
            fits = (words * 20)[: letters // 2].strip()
            over = (words * 20)[: letters * 2].strip()
            rows = (personalize.Row(2, (fits,)), personalize.Row(3, (over,)))
            headings = tuple(dict.fromkeys(
                h for panel in design.panels for h in panel.pattern.headings
            ))  # fmt: skip
            full = tuple(personalize.Row(r.number, r.cells * len(headings)) for r in rows)
            table = personalize.Table(personalize.Source("list"), headings, full)
            errors = {
                f.row for f in personalize.check(table, design).findings
                if f.severity is personalize.Severity.ERROR
            }  # fmt: skip
            assert errors == {3}, (name, letters)


def test_a_workbook_keeps_cells_as_text_and_checks_copies(tmp_path: Path) -> None:
    # ECMA-376 part 1, 18.3.1.33 (dataValidation) and 18.8.30 (format "@" is text).
    to = tmp_path / "guests.xlsx"
    write_starter(personalize.load_design("plant-flag"), to)
    sheet = openpyxl.load_workbook(to).active
    assert sheet is not None
    assert [cell.value for cell in sheet[1]] == ["name", "back", "copies"]
    assert all(cell.comment is not None for cell in sheet[1])
    assert all(cell.number_format == "@" for cell in sheet[2])
    (rule,) = sheet.data_validations.dataValidation
    assert str(rule.sqref).startswith("C2:")


def test_a_list_that_is_there_is_never_replaced(tmp_path: Path) -> None:
    to = tmp_path / "guests.csv"
    to.write_text("name\nIo\n")
    done = command("starter", "plant-flag", "--out", to)
    assert done.exit_code == 2
    assert "is there already" in done.stderr
    assert to.read_text() == "name\nIo\n"


def test_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    done = command("starter", "plant-flag", "--out", tmp_path / "guests.pdf")
    assert done.exit_code == 2
    assert "is no .csv or .xlsx" in done.stderr
    assert list(tmp_path.iterdir()) == []
