"""Dates and texts in workbooks, as their number formats show them."""

import pytest
from openpyxl.styles import numbers
from openpyxl.worksheet.worksheet import Worksheet

from personalize.finding import faulty_rows
from tests.workbooks import HEADING, book, cells, parts, read, told
from tests.xlsx_made import DOLLAR, ODD, one, stored

DATES = [
    ("46542", "dd mmmm yyyy", "04 June 2027"),
    ("46542", "d/m/yy", "4/6/27"),
    ("46542", "ddd d mmm", "Fri 4 Jun"),
    ("46542", "dddd, mmmm d, yyyy", "Friday, June 4, 2027"),
    ("46542", "YYYY-MM-DD", "2027-06-04"),
    ("46542", "mmmmm", "J"),
    ("46542", "dd\\.mm\\.yyyy", "04.06.2027"),
    ("46542", "d.m.yyyy;@", "4.6.2027"),
    ("46542", 'yyyy"年"m"月"d"日"', "2027年6月4日"),
    ("46542", "[$-407]d. mmmm yyyy", "4. Juni 2027"),
    ("46542", "[$-de-DE]dddd", "Freitag"),
    ("46542", "[$-40C]d mmmm yyyy", "4 juin 2027"),
    ("46542", '[$-C0A]d "de" mmmm', "4 de junio"),
    ("46542", "[$-410]d mmmm", "4 giugno"),
    ("46542", "[$-413]d mmmm", "4 juni"),
    ("46542", "[$-416]dddd d mmmm", "sexta-feira 4 junho"),
    ("46542", "[$-409]d-mmm", "4-Jun"),
    ("46542", "[$-en-GB]d-mmm", "4-Jun"),
    ("46542", "[$-415]d.mm.yyyy", "4.06.2027"),
    # A slash stands for the sign of the language, as LibreOffice writes it.
    ("46542", "[$-407]d/ mmmm yyyy", "4. Juni 2027"),
    ("46542", "[$-413]d/m/yyyy", "4-6-2027"),
    ("46542", "[$-407]d\\/m", "4/6"),
    ("46542.75", "h:mm AM/PM", "6:00 PM"),
    ("46542", "h AM/PM", "12 AM"),
    ("0.5", "h:mm AM/PM", "12:00 PM"),
    ("46542.75", "hh:mm", "18:00"),
    ("46542.1", "mm:hh", "06:02"),
    ("46542.1", "hh:m:s", "02:24:0"),
    ("46542.5208333333", 'h"h"mm', "12h30"),
    ("46542.75", "yyyy-mm-dd hh:mm:ss", "2027-06-04 18:00:00"),
    # Parts of a second are rounded, and carry over to the next day.
    ("46542.999999", "yyyy-mm-dd hh:mm:ss", "2027-06-05 00:00:00"),
    ("46542.9999999999", "yyyy-mm-dd", "2027-06-05"),
    ("46542.9999", "yyyy-mm-dd", "2027-06-04"),
    ("46542.99999", "hh:mm", "23:59"),
    ("46542.999999", "hh:mm", "00:00"),
    ("0.00069", "mm:ss", "01:00"),
    ("0.0007", "mm:ss.0", "01:00.5"),
    ("0.0007", "[ss].00", "60.48"),
    ("0.5000001", "hh:mm:ss.000", "12:00:00.009"),
    ("1.5", "[h]:mm", "36:00"),
    ("1.5", "[mm]:ss", "2160:00"),
    ("1.999999", "[h]:mm:ss", "48:00:00"),
    # 1900 counts as a leap year, and days of the week are shifted before its leap day.
    ("1", "yyyy-mm-dd", "1900-01-01"),
    ("59", "yyyy-mm-dd", "1900-02-28"),
    ("60", "d mmmm yyyy", "29 February 1900"),
    ("61", "yyyy-mm-dd dddd", "1900-03-01 Thursday"),
    ("1", "dddd", "Sunday"),
    ("2958465", "yyyy-mm-dd", "9999-12-31"),
]


@pytest.mark.parametrize(("value", "code", "seen"), DATES)
def test_dates_and_times(value: str, code: str, seen: str) -> None:
    table = one(stored(value), code)
    assert (table.rows[0].cells[0], table.findings) == (seen, ())


@pytest.mark.parametrize(
    ("value", "code"),
    [
        ("0", "yyyy-mm-dd"),
        ("0.5", "d mmm"),
        ("-1", "yyyy-mm-dd"),
        ("-1", "[h]:mm"),
        ("2958466", "yyyy-mm-dd"),
        ("46542", "ggge"),
        ("46542", "yyy"),
        ("46542", "y"),
        ("46542", "ddddd"),
        ("46542", "[$-415]d mmmm"),
        ("46542", "[$-C07]d mmmm"),
        ("46542", "[$-407]mmm"),
        ("46542", "[$-407]h AM/PM"),
        ("46542", "[$-411]dddd"),
        ("46542", "[$-415]d/m"),
        ("46542", "[$-1070000]d/m/yyyy"),
        ("46542", "h:mm A/P"),
        ("46542", "yyyy-mm-ddThh:mm"),
        ("46542", "d 0"),
        ("46542", "hh.00"),
        ("46542", "d%"),
        ("twelve", "yyyy-mm-dd"),
    ],
)
def test_dates_that_cannot_be_shown_for_certain(value: str, code: str) -> None:
    table = one(stored(value), code)
    assert table.rows[0].cells == (value, "x")
    assert told(table) == [(ODD, "error", 2, "name")]


# Formats known by number alone: [MS-OI29500], section 2.1.704, says what some of those of
# section 18.8.30 really are.
@pytest.mark.parametrize(
    ("number", "value", "seen", "rule"),
    [
        (1, "5.5", "6", ""),
        (4, "1234.5", "1,234.50", ""),
        (9, "0.5", "50%", ""),
        (10, "0.5", "50.00%", ""),
        (11, "12345", "1.23E+04", ""),
        (12, "0.5", "1/2", ""),
        (14, "46542", "2027-06-04", "date-format"),
        (15, "46542", "4-Jun-27", ""),
        (17, "46542", "Jun-27", ""),
        (18, "0.75", "6:00 PM", ""),
        (20, "0.25", "6:00", ""),
        (22, "46542.5", "2027-06-04 12:00", "date-format"),
        (37, "-5", "(5)", ""),
        (40, "1234.5", "1,234.50", ""),
        (45, "0.0007", "01:00", ""),
        (46, "1.5", "36:00:00", ""),
        (47, "0.0007", "01:00.5", ""),
        (48, "12345", "12.3E+3", ""),
        (49, "7", "7", ""),
        (27, "46542", "46542", ODD),
        (44, "5", "5", ODD),
    ],
)
def test_formats_known_by_number(number: int, value: str, seen: str, rule: str) -> None:
    styles = f'<cellXfs><xf numFmtId="0"/><xf numFmtId="{number}"/></cellXfs>'
    rows = f'{HEADING}<row r="2">{stored(value)}</row>'
    table = read(parts(rows, styles=styles))
    assert cells(table) == [(seen,)]
    assert [f.rule for f in table.findings] == ([rule] if rule else [])


def test_a_date_that_each_computer_shows_in_its_own_way() -> None:
    # Spelt out or not, number 14 follows the computer ([MS-OI29500], section 2.1.704), and
    # so do the codes F800 and x-sysdate (common practice, no source).
    for number, code in [(14, "mm-dd-yy"), (164, "[$-F800]dddd, mmmm dd, yyyy"),
                         (164, "[$-x-sysdate]dddd, mmmm dd, yyyy")]:  # fmt: skip
        table = one(stored("46542"), code, number=number)
        assert table.rows[0].cells[0] == "2027-06-04"
        assert told(table) == [("date-format", "warning", 2, "name")]
        assert "'2027-06-04' is printed" in table.findings[0].says
    table = one(stored("0.75"), "[$-F400]h:mm:ss AM/PM")
    assert table.rows[0].cells[0] == "18:00:00"
    assert told(table) == [("date-format", "warning", 2, "name")]


def test_one_finding_for_all_such_dates_of_a_column() -> None:
    def fill(sheet: Worksheet) -> None:
        for row in range(2, 6):
            sheet.append([f"guest {row}", 46542 + row])
            sheet.cell(row, 2).number_format = numbers.FORMAT_DATE_XLSX14

    table = read(book(fill))
    assert told(table) == [("date-format", "warning", 2, "dish")]
    assert table.findings[0].says.startswith("cell B2 and 3 more of its column: ")
    assert table.findings[0].figures == {"cells": 4}


@pytest.mark.parametrize(
    ("settings", "value", "seen"),
    [
        ('date1904="1"', "45080", "2027-06-04"),
        ('date1904="true"', "0", "1904-01-01"),
        ('date1904="0"', "46542", "2027-06-04"),
        ('dateCompatibility="0"', "1", "1899-12-31"),
        ('dateCompatibility="0"', "46542", "2027-06-04"),
    ],
)
def test_other_first_days(settings: str, value: str, seen: str) -> None:
    # ECMA-376 part 1, section 18.2.28.
    table = one(stored(value), "yyyy-mm-dd", settings=settings)
    assert (table.rows[0].cells[0], table.findings) == (seen, ())


@pytest.mark.parametrize(
    ("value", "code", "seen"),
    [
        ("2027-06-04", "d mmmm yyyy", "4 June 2027"),
        ("2027-06-04T18:30:00", "d mmm hh:mm", "4 Jun 18:30"),
        ("18:30", "h:mm AM/PM", "6:30 PM"),
        ("1900-01-31", "yyyy-mm-dd", "1900-01-31"),
    ],
)
def test_dates_in_words(value: str, code: str, seen: str) -> None:
    # ECMA-376 part 1, section 18.18.11: type d is a date as ISO 8601 writes it.
    table = one(f'<c r="A2" s="1" t="d"><v>{value}</v></c>', code)
    assert (table.rows[0].cells[0], table.findings) == (seen, ())


# A text section puts words round a text, or hides it.
@pytest.mark.parametrize(
    ("code", "seen"),
    [
        ("General", "Ida"),
        ("@", "Ida"),
        ("0.00", "Ida"),
        ("dd/mm/yyyy", "Ida"),
        ("0;-0;0;@", "Ida"),
        (";;;@", "Ida"),
        (DOLLAR, "Ida"),
        ('"Dear "@', "Dear Ida"),
        ('@" and family"', "Ida and family"),
        ("@@", "IdaIda"),
        ('0;"to "@', "to Ida"),
        ('0;-0;0;"no number"', "no number"),
        ('0" ; @"', "Ida"),
        ("\\@0", "Ida"),
    ],
)
def test_texts_with_a_number_format(code: str, seen: str) -> None:
    cell = '<c r="A2" s="1" t="inlineStr"><is><t>Ida</t></is></c>'
    table = one(cell, code)
    assert (table.rows[0].cells[0], table.findings) == (seen, ())


def test_texts_that_a_number_format_hides_or_spoils() -> None:
    cell = '<c r="A2" s="1" t="inlineStr"><is><t>Ida</t></is></c>'
    table = one(cell, ";;;")
    assert table.rows[0].cells == ("", "x")
    assert told(table) == [("shows-nothing", "warning", 2, "name")]
    table = one(cell, "0;0;0;@*-")
    assert table.rows[0].cells == ("Ida", "x")
    assert told(table) == [(ODD, "error", 2, "name")]


@pytest.mark.parametrize(
    ("cell", "text", "rule"),
    [
        ('<c r="A2" t="e"><v>#N/A</v></c>', "#N/A", "error-cell"),
        ('<c r="A2" t="e"><f>1/0</f><v>#DIV/0!</v></c>', "#DIV/0!", "error-cell"),
        ('<c r="A2"><f>B2&amp;" x"</f></c>', '=B2&" x"', "formula-not-saved"),
        ('<c r="A2"><f>B2</f><v></v></c>', "=B2", "formula-not-saved"),
        ('<c r="A2" t="str"><f>B2</f></c>', "=B2", "formula-not-saved"),
        ('<c r="A2"><f t="shared" si="0"/></c>', "=…", "formula-not-saved"),
        ('<c r="A2" t="d"><v>2027-06-04</v></c>', "2027-06-04", ODD),
        ('<c r="A2" s="1" t="d"><v>2027-13-04</v></c>', "2027-13-04", ODD),
        ('<c r="A2"><v>twelve</v></c>', "twelve", ODD),
        ('<c r="A2" t="b"><v>2</v></c>', "2", ODD),
        ('<c r="A2" t="zz"><v>2</v></c>', "2", ODD),
        ('<c r="A2" t="inlineStr"><is><t>_xD83C_x</t></is></c>', "?x", ODD),
        ('<c r="A2" t="inlineStr"><is><t>_x0000_x</t></is></c>', "?x", ODD),
    ],
)
def test_cells_that_cannot_be_read(cell: str, text: str, rule: str) -> None:
    table = one(cell, "yyyy-mm-dd")
    assert table.rows[0].cells == (text, "x")
    assert told(table) == [(rule, "error", 2, "name")]


def test_other_rows_go_on() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Ida", "Pie"])
        sheet.append(["#N/A", "Pie"])
        sheet.append(["=A2", 1 / 3])
        sheet.append(["Bo", "Pie"])

    table = read(book(fill))
    assert [row.number for row in table.rows] == [2, 3, 4, 5]
    assert told(table) == [
        ("error-cell", "error", 3, "name"),
        ("formula-not-saved", "error", 4, "name"),
        (ODD, "error", 4, "dish"),
    ]
    assert faulty_rows(table.findings) == {3, 4}


def test_what_the_language_of_the_computer_would_change_is_told_once() -> None:
    def said(cell: str, code: str = "General") -> bool:
        decisions = one(cell, code).source.decisions
        return any("as in English" in decision for decision in decisions)

    assert said(stored("12.5"))
    assert said(stored("1234"), "#,##0")
    assert said(stored("46542"), "d mmmm")
    assert said(stored("46542"), "d/m/yyyy")
    assert said('<c r="A2" t="b"><v>1</v></c>')
    assert not said(stored("12"))
    assert not said(stored("46542"), "d.m.yyyy")
    assert not said(stored("46542"), "[$-407]d. mmmm")
    assert not said('<c r="A2" t="inlineStr"><is><t>12.5</t></is></c>')
