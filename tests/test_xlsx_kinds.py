"""What is seen in each kind of cell of an xlsx workbook, and what is told about it.

Every case is a workbook of its own. What numbers look like is said in ECMA-376 part 1,
sections 18.8.30 (formats known by number) and 18.8.31 (format codes), and dates in
18.17.4.1; where a case rests on more than that, it says on what.
"""

import pytest

from personalize.finding import faulty_rows
from tests.workbooks import told
from tests.xlsx_made import DOLLAR, ODD, one, stored

EURO = '_-* #,##0.00\\ "€"_-;-* #,##0.00\\ "€"_-;_-* "-"??\\ "€"_-;_-@_-'


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
