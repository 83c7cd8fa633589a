"""What is seen in each kind of cell of an xlsx workbook, and what is told about it.

Every case is a workbook of its own. What numbers look like is said in ECMA-376 part 1,
sections 18.8.30 (formats known by number) and 18.8.31 (format codes), and dates in
18.17.4.1; where a case rests on more than that, it says on what.
"""

from xml.sax.saxutils import quoteattr

import pytest
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import numbers
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.styles.numbers import NumberFormat
from openpyxl.worksheet.worksheet import Worksheet

from personalize.errors import InputError
from personalize.finding import faulty_rows
from personalize.messages.table import Table
from tests.workbooks import HEADING, book, cells, parts, problems, read, text_cell, told

ODD = "unreadable-format"
EURO = '_-* #,##0.00\\ "€"_-;-* #,##0.00\\ "€"_-;_-* "-"??\\ "€"_-;_-@_-'
DOLLAR = '_("$"* #,##0.00_);_("$"* \\(#,##0.00\\);_("$"* "-"??_);_(@_)'


def one(
    cell: str, code: str = "General", *, number: int = 164, settings: str = ""
) -> Table:
    """Read a workbook with the heading name, and one cell under it, in style 1."""
    styles = (
        f'<numFmts><numFmt numFmtId="{number}" formatCode={quoteattr(code)}/></numFmts>'
        f'<cellXfs><xf numFmtId="0"/><xf numFmtId="{number}"/></cellXfs>'
    )
    rows = f'{HEADING}<row r="2">{text_cell("B2", "x")}</row>'
    rows = rows.replace('<c r="B2"', f'{cell}<c r="B2"')
    rows = rows.replace("</row>", f"{text_cell('B1', 'dish')}</row>", 1)
    return read(parts(rows, styles=styles, settings=settings))


def stored(value: str) -> str:
    return f'<c r="A2" s="1"><v>{value}</v></c>'


# General is as wide as 11 figures (common practice, no source): what is longer is
# shortened, by each program in its own way.
@pytest.mark.parametrize(
    ("value", "seen"),
    [
        ("5", "5"),
        ("5.0", "5"),
        ("12.5", "12.5"),
        ("-12.50", "-12.5"),
        ("0", "0"),
        ("-0", "0"),
        ("1E3", "1000"),
        ("0.30000000000000004", "0.3"),
        ("46542", "46542"),
        ("12345678901", "12345678901"),
        ("0.0001", "0.0001"),
    ],
)
def test_general(value: str, seen: str) -> None:
    table = one(stored(value))
    assert (table.rows[0].cells[0], table.findings) == (seen, ())
    assert one(stored(value), "@").rows == table.rows


@pytest.mark.parametrize(
    "value",
    ["123456789012", "0.33333333333333331", "0.00001", "1E+300", "nan", "1_0", "1e999"],
)
def test_general_that_programs_shorten_and_what_is_no_number(value: str) -> None:
    table = one(stored(value))
    assert table.rows[0].cells[0] == value
    assert told(table) == [(ODD, "error", 2, "name")]
    assert faulty_rows(table.findings) == {2}


NUMBERS = [
    ("7", "000", "007"),
    ("1234", "000", "1234"),
    ("-7", "000", "-007"),
    ("7", "0", "7"),
    ("2.5", "0", "3"),
    ("-2.5", "0", "-3"),
    ("-0.4", "0", "0"),
    ("2", "0.00", "2.00"),
    ("2.345", "0.00", "2.35"),
    ("1.005", "0.00", "1.01"),
    ("123456789012", "0", "123456789012"),
    ("0.5", "#.##", ".5"),
    ("0.5", ".00", ".50"),
    ("12.5", ".00", "12.50"),
    ("123.456", "0.0##", "123.456"),
    ("123", "0.0##", "123.0"),
    ("5.25", "0.0?", "5.25"),
    ("5", "?0.0?", "5.0"),
    ("5", "0#", "05"),
    ("1234567", "#,##0", "1,234,567"),
    ("999", "#,##0", "999"),
    ("-1234.5", "#,##0.00", "-1,234.50"),
    ("5", "0,000", "0,005"),
    ("1234567", "0,", "1235"),
    ("1234567", '0.0,,"M"', "1.2M"),
    ("12345.678", "#,##0.0,", "12.3"),
    ("0.256", "0%", "26%"),
    ("0.256", "0.0%", "25.6%"),
    ("-0.5", "0%", "-50%"),
    ("0.5", "0.0 %", "50.0 %"),
    ("0.05", "%0", "%5"),
    ("12", '"No. "0', "No. 12"),
    ("-12", '"No. "0', "-No. 12"),
    ("3", '0" kg"', "3 kg"),
    ("3", '0\\ "kg"', "3 kg"),
    ("5", "\\#0", "#5"),
    ("5", "$0", "$5"),
    ("5", "(0)", "(5)"),
    ("5", "€ 0", "€ 5"),
    ("5", 'General" kg"', "5 kg"),
    ("-5", 'General" kg"', "-5 kg"),
    ("1.5", "[$€-407] 0.00", "€ 1.50"),
    ("1234.5", "#,##0.00 [$€-407]", "1,234.50 €"),
    ("1.5", "[$£-809]#,##0.00", "£1.50"),
    ("1.5", "[$CHF] 0.00", "CHF 1.50"),
    ("1234.5", EURO, "1,234.50 €"),
    ("0", EURO, "-   €"),
    ("-1234.5", DOLLAR, "$(1,234.50)"),
    ("-1234.5", "#,##0_);(#,##0)", "(1,235)"),
    ("-5", "0;[Red]-0", "-5"),
    ("-5", "[Blue]0;[Color 3]0", "5"),
    ("0", '0;-0;"none"', "none"),
    ("5", '0;-0;"none"', "5"),
    ("-5", '0" left";"none left"', "none left"),
    ("5", '"x"', "x"),
    ("5", '"Table "@', "5"),
    ("5", '0.0;@', "5.0"),
    ("50", '[<100]0" small";0" big"', "50 small"),
    ("150", '[<100]0" small";0" big"', "150 big"),
    ("1", '[=1]0" guest";0" guests"', "1 guest"),
    ("2", '[=1]0" guest";0" guests"', "2 guests"),
    ("0", '[=1]0" guest";[=0]"nobody";0" guests"', "nobody"),
    ("3", '[>=10]"many";[<>3]"some";"three"', "three"),
    ("12345", "0.00E+00", "1.23E+04"),
    ("0.00012", "0.00E+00", "1.20E-04"),
    ("-12345", "0.00E+00", "-1.23E+04"),
    ("0", "0.00E+00", "0.00E+00"),
    ("9999", "0.0E+0", "1.0E+4"),
    ("12345", "##0.0E+0", "12.3E+3"),
    ("12345", "0.00E-00", "1.23E04"),
    ("1.5", "# ?/?", "1 1/2"),
    ("0.3333333", "# ?/?", "1/3"),
    ("2", "# ?/?", "2"),
    ("0.25", "?/?", "1/4"),
    ("1.26", "# ??/??", "1 13/50"),
    ("1.25", "# ?/8", "1 2/8"),
    ("0.99", "# ?/8", "1"),
    ("-1.5", "# ?/?", "-1 1/2"),
    ("0.5", '# ?/?" cup"', "1/2 cup"),
    ("123456789", "000-00-0000", "123-45-6789"),
    ("5551234", "(000) 000-0000", "(000) 555-1234"),
    ("5551234567", "(000) 000-0000", "(555) 123-4567"),
    ("15", '0"a"0', "1a5"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "code", "seen"), NUMBERS)
def test_numbers(value: str, code: str, seen: str) -> None:
    table = one(stored(value), code)
    assert (table.rows[0].cells[0], table.findings) == (seen, ())


# The standard leaves these open; LibreOffice 7.4 and what is published of other programs
# differ, or the look depends on the width of the column or on the computer.
@pytest.mark.parametrize(
    ("value", "code"),
    [
        ("5", "#.##"),
        ("123", "0.###"),
        ("0", "#.##"),
        ("5", "0*-"),
        ("-5", "[<100]0;0"),
        ("-5", "[<0]0;0"),
        ("5", "[<3]0"),
        ("5", "[<3]0;[>9]0"),
        ("5", "[<3]0;0;0"),
        ("-5", '"x"'),
        ("-5", "0;"),
        ("1e15", "0"),
        ("1e14", "0%"),
        ("5", "0.0.0"),
        ("5", ",0"),
        ("5", "0x"),
        ("5", "0 kg"),
        ("5", "0/0/0"),
        ("0.123456", "# ????/????"),
        ("5", "E+0"),
        ("5", "00.0E+0"),
        ("5", "0E+x"),
        ("5", "[DBNum1]0"),
        ("5", "[$-D000000]0"),
        ("5", "[NatNum4]0"),
        ("5", '0"kg'),
        ("5", "0;0;0;@;0"),
        ("5", "0\\"),
        ("5", "Standard"),
    ],
)
def test_numbers_that_cannot_be_shown_for_certain(value: str, code: str) -> None:
    table = one(stored(value), code)
    assert table.rows[0].cells == (value, "x")
    assert told(table) == [(ODD, "error", 2, "name")]
    (finding,) = table.findings
    assert finding.says.startswith("cell A2: the number")
    assert repr(code) in finding.says
    assert "Format the cell as text" in finding.do


@pytest.mark.parametrize(
    ("value", "code", "severity"),
    [
        ("5", ";;;", "warning"),
        ("-5", "0;;", "warning"),
        ("0", "0;-0;", "note"),
        ("0", "0;-0;;@", "note"),
        ("0", "#", "note"),
        ("0", "#,###", "note"),
    ],
)
def test_a_format_that_shows_nothing(value: str, code: str, severity: str) -> None:
    table = one(stored(value), code)
    assert table.rows[0].cells == ("", "x")
    assert told(table) == [("shows-nothing", severity, 2, "name")]


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


# ---- Hidden rows and columns, merged cells ----


def guests(sheet: Worksheet) -> None:
    for row in range(2, 8):
        sheet.append([f"guest {row}", "Pie"])


def test_hidden_rows_are_left_out_and_told() -> None:
    def fill(sheet: Worksheet) -> None:
        guests(sheet)
        for row in (3, 5, 6, 20):
            sheet.row_dimensions[row].hidden = True

    table = read(book(fill))
    assert [row.number for row in table.rows] == [2, 4, 7]
    assert told(table) == [("hidden-rows", "warning", None, None)]
    assert "Rows 3, 5-6 are hidden or filtered away" in table.findings[0].says
    assert table.findings[0].figures == {"rows": 3}
    assert "Rows 3, 5-6 are hidden" in table.source.decisions[0]


def test_blank_rows_are_told_and_hidden_ones_are_not_among_them() -> None:
    def fill(sheet: Worksheet) -> None:
        for row in (3, 4, 7, 8):
            sheet.cell(row, 1, f"guest {row}")
        sheet.row_dimensions[4].hidden = True

    assert read(book(fill)).source.decisions == (
        "Row 4 is hidden or filtered away, and is left out.",
        "Rows 2, 5-6 are blank and make no piece.",
    )


def test_a_row_of_no_height_is_hidden() -> None:
    rows = (
        f"{HEADING}<row r='2' ht='0' customHeight='1'>{text_cell('A2', 'Ida')}</row>"
        f"<row r='3' ht='0.5'>{text_cell('A3', 'Bo')}</row>"
    )
    assert cells(read(parts(rows))) == [("Bo",)]


def test_a_filter_that_hides_nothing_does_not_matter() -> None:
    def fill(sheet: Worksheet) -> None:
        guests(sheet)
        sheet.auto_filter.ref = "A1:B7"

    table = read(book(fill))
    assert (len(table.rows), table.findings, table.source.decisions) == (6, (), ())


def test_headings_in_a_hidden_row_must_be_shown_or_named() -> None:
    def fill(sheet: Worksheet) -> None:
        guests(sheet)
        sheet.row_dimensions[1].hidden = True

    (said,) = problems(book(fill))
    assert said.startswith("picnic.xlsx, row 1: the first row with words in it is hidden")
    table = read(book(fill), heading_row=1)
    assert (table.headings, len(table.rows)) == (("name", "dish"), 6)


def test_a_list_whose_rows_are_all_hidden() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Ida", "Pie"])
        sheet.row_dimensions[2].hidden = True

    said = problems(book(fill))
    assert said[0] == (
        "picnic.xlsx: row 2 is hidden or filtered away, and is left out. "
        "Show what is to be printed."
    )
    assert "no row under it" in said[1]


def test_hidden_columns_are_read_and_told() -> None:
    def fill(sheet: Worksheet) -> None:
        guests(sheet)
        sheet.column_dimensions["B"].hidden = True
        sheet.column_dimensions["F"].hidden = True

    table = read(book(fill))
    assert cells(table)[0] == ("guest 2", "Pie")
    assert table.findings == ()
    assert table.source.decisions == ("Column B is hidden, and is read like the others.",)


def test_merged_cells_count_for_their_first_cell() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["A2"] = "Table 1"
        sheet["B2"], sheet["B3"] = "Ann", "Bea"
        sheet.merge_cells("A2:A3")

    table = read(book(fill))
    assert cells(table) == [("Table 1", "Ann"), ("", "Bea")]
    assert told(table) == [("merged-cells", "warning", 2, "name")]
    assert "the cells A2:A3 are merged" in table.findings[0].says


def test_merged_cells_beside_each_other() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Ida and Bo", None])
        sheet.append(["Ann", "Pie"])
        sheet.merge_cells("A2:B2")

    assert told(read(book(fill))) == [("merged-cells", "warning", 2, "name")]


@pytest.mark.parametrize("area", ["A5:A9", "D2:E3", "C3:F3", "A3:A3"])
def test_merged_cells_that_no_word_misses(area: str) -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Ida", "Pie"])
        sheet.append(["Ann", "Pie"])
        sheet.merge_cells(area)

    assert read(book(fill)).findings == ()


def test_what_lies_under_merged_cells_is_left_out_and_told() -> None:
    rows = (
        f"{HEADING}<row r='2'>{text_cell('A2', 'Ida')}</row>"
        f"<row r='3'>{text_cell('A3', 'under')}</row>"
        f"<row r='4'>{text_cell('A4', 'Bo')}</row>"
    )
    merged = '<mergeCells><mergeCell ref="A2:A3"/></mergeCells>'
    table = read(parts(rows, after=merged))
    assert cells(table) == [("Ida",), ("Bo",)]
    assert told(table) == [("merged-cells", "warning", 2, "name")]
    assert "What lies under it in A3 is left out." in table.findings[0].says


def test_merged_cells_over_each_other_are_damage() -> None:
    rows = f"{HEADING}<row r='2'>{text_cell('A2', 'Ida')}</row>"
    merged = '<mergeCell ref="A1:B9"/>' * 5
    (said,) = problems(parts(rows, after=f"<mergeCells>{merged}</mergeCells>"))
    assert "its merged cells lie over each other" in said


def test_a_title_in_merged_cells_does_not_matter() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.insert_rows(1)
        sheet["A1"] = "Plum Lane harvest picnic"
        sheet.merge_cells("A1:B1")
        sheet["A3"], sheet["B3"] = "Ida", "Pie"

    table = read(book(fill))
    assert (table.headings, table.findings) == (("name", "dish"), ())
    assert table.source.heading_row == 2


# ---- What else decides what is seen ----


def test_zeros_that_a_worksheet_does_not_show() -> None:
    # ECMA-376 part 1, section 18.3.1.87.
    rows = f"{HEADING}<row r='2'>{text_cell('A2', 'Ida')}<c r='B2'><v>0</v></c></row>"
    rows = rows.replace("</row>", f"{text_cell('B1', 'seats')}</row>", 1)
    view = '<sheetViews><sheetView showZeros="0" workbookViewId="0"/></sheetViews>'
    table = read(parts(rows, before=view))
    assert cells(table) == [("Ida", "")]
    assert told(table) == [("shows-nothing", "note", 2, "seats")]


def test_a_condition_that_changes_number_formats_is_told() -> None:
    def fill(sheet: Worksheet, code: str | None) -> None:
        guests(sheet)
        style = DifferentialStyle(
            numFmt=NumberFormat(numFmtId=170, formatCode=code) if code else None
        )
        rule = CellIsRule(  # type: ignore[no-untyped-call]
            operator="greaterThan", formula=["3"]
        )
        rule.dxf = style
        sheet.conditional_formatting.add("B2:B9", rule)

    table = read(book(lambda sheet: fill(sheet, '0" kg"')))
    assert told(table) == [("conditional-format", "warning", 2, "dish")]
    assert "B2:B9" in table.findings[0].says
    assert read(book(lambda sheet: fill(sheet, None))).findings == ()


def test_a_condition_of_the_extension_is_told_too() -> None:
    # [MS-XLSX], CT_ConditionalFormatting of the 2009 extension, from memory: the format
    # stands inside of the rule, and the cells in an element.
    rule = (
        "<extLst><ext><x14:conditionalFormattings"
        ' xmlns:x14="http://schemas.microsoft.com/office/spreadsheetml/2009/9/main"'
        ' xmlns:xm="http://schemas.microsoft.com/office/excel/2006/main">'
        '<x14:conditionalFormatting><x14:cfRule type="expression"><xm:f>TRUE</xm:f>'
        "<x14:dxf>{}</x14:dxf></x14:cfRule><xm:sqref>A2:A9</xm:sqref>"
        "</x14:conditionalFormatting></x14:conditionalFormattings></ext></extLst>"
    )
    rows = f"{HEADING}<row r='2'>{text_cell('A2', 'Ida')}</row>"
    numbers = rule.format('<numFmt numFmtId="170" formatCode="0"/>')
    table = read(parts(rows, after=numbers))
    assert [f.rule for f in table.findings] == ["conditional-format"]
    assert "A2:A9" in table.findings[0].says
    assert read(parts(rows, after=rule.format("<font/>"))).findings == ()


def test_formatting_far_below_and_far_right_is_ignored() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Ida", "Pie"])
        sheet.cell(9000, 1).number_format = "0.00"
        sheet.cell(2, 300).number_format = "0.00"

    table = read(book(fill))
    assert cells(table) == [("Ida", "Pie")]
    assert (table.findings, table.source.decisions) == ((), ())


def test_the_row_of_headings_can_be_said() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet.append(["Guest", "Dish"])
        sheet.append(["Ida", "Pie"])

    table = read(book(fill), heading_row=2)
    assert (table.headings, cells(table)) == (("Guest", "Dish"), [("Ida", "Pie")])


def test_faults_above_the_headings_are_not_told() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["A1"], sheet["B1"] = "#REF!", None
        sheet.append(["Guest", "Dish"])
        sheet.append(["Ida", "Pie"])

    assert read(book(fill), heading_row=2).findings == ()


def test_rows_with_one_cell_far_to_the_right_do_not_fill_the_memory() -> None:
    rows = HEADING + "".join(
        f'<row r="{n}">{text_cell(f"XFD{n}", "far")}</row>' for n in range(2, 3000)
    )
    with pytest.raises(InputError, match="room for more than 8,000,000 cells"):
        read(parts(rows))
