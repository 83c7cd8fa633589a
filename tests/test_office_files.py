"""What we see in a workbook is what LibreOffice 7.4 shows of it, but where it errs.

The files were made by `make_office_files`, which says how.
"""

import ast
import csv

import pytest

from personalize.messages.dates import DateSystem
from personalize.messages.read import read_table
from personalize.messages.xlsx_parts import Cell
from personalize.messages.xlsx_seen import seen_cell
from tests.make_office_files import FILES

REFUSED = {
    "General": "how far it shortens a number is each program's own",
    "#.##": "the standard leaves open whether a last point is shown",
    "0.###": "the same",
    '[<100]0" small";0" big"': "it leaves open the minus sign of conditional sections",
    "[>=100]0.0;0": "the same",
    '[<0]"m"0;0': "the same",
    '[>0]0;"neg "0': "the same",
    '[>0]0;[<0]"neg "0;0': "the same",
    '"x"': "it leaves open the minus sign of words",
    "0*-": "what is seen depends on the width of the column",
    "[$-415]d mmmm yyyy": "Polish months have a case, and programs differ",
    "[$-407]mmm": "short names differ between programs",
    "[$-40C]mmm": "the same",
    "[$-816]d/m/yyyy": "a hyphen here, a slash elsewhere",
    "h:mm A/P": "18.8.31 leaves open whether a or A is shown",
    "yyyy-mm-dd": "a day before the first one, or after the last: 18.17.4.1",
    "ggge": "no part of 18.8.31 outside of Japan",
    "e": "the same",
    "yyy": "no part of 18.8.31",
    "y": "the same",
    "ddddd": "the same",
    "0": "more figures than a program keeps",
    "#,##0": "the same",
    "0/0": "a fraction without room",
    "0 kg": "a letter that 18.8.31 does not show without quotes",
    "0x": "the same",
    "[DBNum1]0": "figures of other scripts",
    "[$-D000000]0": "the same",
    "0.0.0": "two points",
}
"""Formats, some of whose values we refuse to show, and why."""

OTHERWISE = {
    ("46542.9999999", "hh:mm"): "00:00",  # noise of a stored time, not a second's part
    ("0.0007", "[ss].00"): "60.48",  # 18.8.31: seconds beyond a minute, with parts
    ("0.00069", "mm:ss"): "01:00",  # 59.616 s is rounded, as LibreOffice does at 59.9 s
    ("1", "yyyy-mm-dd"): "1900-01-01",  # 18.17.4.1: day 1 of the 1900 system
    ("59", "yyyy-mm-dd"): "1900-02-28",
    ("60", "yyyy-mm-dd"): "1900-02-29",
    ("True", "0"): "TRUE",  # 18.18.11: type b is a truth value, and 18.8.31 is on numbers
    ("5", "0_x0"): "0 5",  # 18.8.31: one gap, as wide as an x
}
"""Values that we show in another way, by sections of ECMA-376 part 1."""


def rows(name: str) -> list[list[str]]:
    with (FILES / name).open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


FORMATS = rows("formats.csv")[1:]


@pytest.mark.parametrize(("value", "code", "shown"), FORMATS)
def test_a_format_shows_what_libreoffice_shows(value: str, code: str, shown: str) -> None:
    stored = ast.literal_eval(value)
    kind = "text" if isinstance(stored, str) else "b" if isinstance(stored, bool) else "n"
    text = str(int(stored)) if kind == "b" else str(stored)
    seen = seen_cell(Cell(1, 1, kind, text, code), DateSystem.FROM_1900)
    if (value, code) in OTHERWISE:
        assert seen.text == OTHERWISE[value, code] != shown
    elif seen.fault is not None and seen.fault.rule == "unreadable-format":
        assert code in REFUSED
    else:
        # Gaps at the ends, which line figures up in a column, are none of the words.
        assert seen.text == shown.strip(" ")
        assert (seen.fault is not None) == (not shown)


def test_the_exceptions_are_few_and_none_is_stale() -> None:
    known = {(value, code) for value, code, _ in FORMATS}
    assert set(OTHERWISE) <= known
    assert set(REFUSED) <= {code for _, code in known}
    refused = sum(
        seen_cell(Cell(1, 1, "n", value, code), DateSystem.FROM_1900).fault is not None
        for value, code, shown in FORMATS
        if code in REFUSED and shown
    )
    assert refused < len(FORMATS) / 6


@pytest.mark.parametrize("name", ["picnic.xlsx", "picnic.ods"])
def test_a_list_that_libreoffice_wrote(name: str) -> None:
    table = read_table(FILES / name)
    shown = rows("picnic.csv")
    assert list(table.headings) == shown[0]
    # Row 6 is filtered away, which the CSV file does not tell.
    wanted = [(n, texts) for n, texts in enumerate(shown, 1) if n not in {1, 6}]
    for row, (number, texts) in zip(table.rows, wanted, strict=True):
        assert row.number == number
        for at, (cell, text) in enumerate(zip(row.cells, texts, strict=True)):
            # Only words keep gaps at their ends.
            assert cell == (text if at < 2 else text.strip(" "))
    assert [finding.rule for finding in table.findings] == ["hidden-rows"]
    assert table.source.worksheet == "guests"
