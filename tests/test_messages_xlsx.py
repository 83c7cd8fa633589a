"""Workbooks give what is seen in their cells, or say which cell they cannot show."""

from datetime import datetime

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.worksheet.worksheet import Worksheet

from personalize.errors import InputError
from personalize.messages.xlsx_seen import seen_number, text_is_plain
from tests.workbooks import (
    HEADING,
    STRICT,
    STRICT_LINKS,
    book,
    cells,
    parts,
    problems,
    read,
    text_cell,
)

# ---- What is seen ----


def test_strings_and_row_numbers() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["A3"] = "Ida"
        sheet["B3"] = "Plum\r\ncake "
        sheet["A7"] = "Bo"

    table = read(book(fill))
    assert [(row.number, row.cells) for row in table.rows] == [
        (3, ("Ida", "Plum\ncake ")),
        (7, ("Bo", "")),
    ]
    assert (table.source.file, table.source.worksheet) == ("picnic.xlsx", "guests")


# ECMA-376 part 1: General and the formats 0 to 4 and 49 in 18.8.30, digits and sections
# in 18.8.31. The widths of General: common practice, no source.
@pytest.mark.parametrize(
    ("stored", "code", "seen"),
    [
        ("5", "General", "5"),
        ("5.0", "General", "5"),
        ("12.5", "General", "12.5"),
        ("-12.50", "General", "-12.5"),
        ("0", "General", "0"),
        ("-0", "General", "0"),
        ("1E3", "General", "1000"),
        ("0.30000000000000004", "General", "0.3"),
        ("46542", "General", "46542"),
        ("12345678901", "General", "12345678901"),
        ("123456789012", "General", None),
        ("0.33333333333333331", "General", None),
        ("0.0001", "General", "0.0001"),
        ("0.00001", "General", None),
        ("1E+300", "General", None),
        ("7", "@", "7"),
        ("7", "0", "7"),
        ("7", "000", "007"),
        ("1234", "000", "1234"),
        ("-7", "000", "-007"),
        ("2.5", "0", "3"),
        ("-2.5", "0", "-3"),
        ("-0.4", "0", "0"),
        ("2", "0.00", "2.00"),
        ("2.345", "0.00", "2.35"),
        ("1.005", "0.00", "1.01"),
        ("123456789012", "0", "123456789012"),
        ("1e15", "0", None),
        ("5", "#,##0", None),
        ("5", "0%", None),
        ("46542", "dd mmmm yyyy", None),
        ("5", '0" kg"', None),
        ("5", "0;-0", None),
        ("nan", "General", None),
        ("1_0", "General", None),
        ("1e999", "General", None),
        ("", "General", None),
    ],
)
def test_numbers_as_they_are_seen(stored: str, code: str, seen: str | None) -> None:
    assert seen_number(stored, code) == seen


@settings(deadline=None)  # a slow machine is no fault
@given(st.integers(-99_999_999_999, 99_999_999_999))
def test_whole_numbers_in_general_are_plain_figures(number: int) -> None:
    assert seen_number(str(number), "General") == str(number)
    assert seen_number(f"{number}.0", "General") == str(number)


@settings(deadline=None)  # a slow machine is no fault
@given(st.integers(0, 999_999), st.integers(1, 9))
def test_leading_zeros(number: int, width: int) -> None:
    assert seen_number(str(number), "0" * width) == str(number).zfill(width)


@settings(deadline=None)  # a slow machine is no fault
@given(st.decimals(-9999, 9999, places=3), st.integers(0, 3))
def test_fixed_places_are_the_nearest(number: object, places: int) -> None:
    # Within half a unit of the last place shown, by plain arithmetic on the text.
    code = "0." + "0" * places if places else "0"
    seen = seen_number(str(number), code)
    assert seen is not None
    assert len(seen.partition(".")[2]) == places
    assert abs(float(seen) - float(str(number))) <= 0.5 * 10**-places + 1e-9


# ECMA-376 part 1, 18.8.31: up to four sections, the last of four for text.
@pytest.mark.parametrize(
    ("code", "plain"),
    [
        ("General", True),
        ("@", True),
        ("0.00", True),
        ("dd/mm/yyyy", True),
        ("0;-0;0;@", True),
        (';;;@', True),
        ('_("$"* #,##0.00_);_("$"* \\(#,##0.00\\);_("$"* "-"??_);_(@_)', True),
        (";;;", False),
        ('"Table "@', False),
        ('@" and family"', False),
        ("@@", False),
        ('0;-0;0;"no number"', False),
        ('0" ; @"', True),
        ("\\@0", True),
    ],
)  # fmt: skip
def test_formats_that_change_how_a_text_is_seen(code: str, *, plain: bool) -> None:
    assert text_is_plain(code) is plain


def test_formats_of_a_real_workbook() -> None:
    def fill(sheet: Worksheet) -> None:
        for row, (value, code) in enumerate(
            [(7, "000"), (5, "General"), (12.5, "General"), (2, "0.00"), (8, "@")], 2
        ):
            sheet.cell(row, 1, value).number_format = code
        sheet["A7"] = True
        sheet["A8"] = False
        sheet["A9"] = "007"
        sheet["B9"] = "2024-01-02"

    assert [row[0] for row in cells(read(book(fill)))] == [
        "007", "5", "12.5", "2.00", "8", "TRUE", "FALSE", "007",
    ]  # fmt: skip


def test_rich_text_is_joined() -> None:
    bold = InlineFont(b=True)
    rich = CellRichText("Plum ", TextBlock(bold, "Lane"), " picnic")
    assert cells(read(book(lambda sheet: sheet.append([rich, "x"])))) == [
        ("Plum Lane picnic", "x")
    ]


def test_shared_strings_runs_reading_aids_and_comments() -> None:
    # ECMA-376 part 1: 18.4.8 si, 18.4.4 r, 18.4.6 rPh (how a word is read aloud).
    strings = (
        "<si><t>name</t></si>"
        '<si><r><rPr><b/></rPr><t xml:space="preserve">梅園 </t></r><r><t>さくら</t></r>'
        '<rPh sb="0" eb="2"><t>うめぞの</t></rPh><phoneticPr fontId="1"/></si>'
        "<si><t>Ida<!-- x --> &amp; Bo</t></si>"
    )
    rows = (
        '<row r="1"><c r="A1" t="s"><v>0</v></c></row>'
        '<row r="2"><c r="A2" t="s"><v>1</v></c></row>'
        '<row r="3"><c r="A3" t="s"><v>2</v></c></row>'
    )
    assert cells(read(parts(rows, strings=strings))) == [("梅園 さくら",), ("Ida & Bo",)]


@pytest.mark.parametrize(
    ("stored", "seen"),
    [
        # ECMA-376 part 1, 22.9.2.19: _xHHHH_ is a character, _x005F_ its first sign.
        ("one_x000A_two", "one\ntwo"),
        ("one_x000D__x000A_two", "one\ntwo"),
        ("_x005F_x000A_", "_x000A_"),
        ("max_x005F_", "max_"),
        ("_xD83C__xDF3B_", "🌻"),
        ("_x41_", "_x41_"),
    ],
)
def test_escapes_are_decoded(stored: str, seen: str) -> None:
    rows = f'{HEADING}<row r="2"><c r="A2" t="s"><v>0</v></c></row>'
    shared = parts(rows, strings=f"<si><t>{stored}</t></si>")
    inline = parts(f'{HEADING}<row r="2">{text_cell("A2", stored)}</row>')
    saved_result = parts(
        f'{HEADING}<row r="2"><c r="A2" t="str"><f>B2</f><v>{stored}</v></c></row>'
    )
    assert (
        cells(read(shared)) == cells(read(inline)) == cells(read(saved_result)) == [(seen,)]
    )


def test_a_strict_workbook_and_cells_without_places() -> None:
    # ECMA-376 part 1 annex A: the strict namespaces; 18.3.1.4 and 18.3.1.73: r is optional.
    rows = (
        '<row><c t="inlineStr"><is><t>name</t></is></c></row>'
        "<row/><row><c><v>5</v></c></row>"
    )
    table = read(parts(rows, main=STRICT, links=STRICT_LINKS))
    assert [(row.number, row.cells) for row in table.rows] == [(3, ("5",))]


def test_formulas_give_their_saved_results() -> None:
    rows = (
        f'{HEADING}<row r="2"><c r="A2" t="str"><f>B2</f><v>Ana &amp; Bo</v></c></row>'
        '<row r="3"><c r="A3"><f>1+1</f><v>2</v></c></row>'
        '<row r="4"><c r="A4" t="str"><f>B2</f><v></v></c></row>'
        '<row r="5"><c r="A5" t="b"><f>1=1</f><v>1</v></c></row>'
    )
    assert cells(read(parts(rows))) == [("Ana & Bo",), ("2",), ("TRUE",)]


# What openpyxl cannot store, or stores as an escape of its own, is left out.
storable = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]) | st.sampled_from("\n\t"),
    max_size=12,
).filter(lambda text: "_x" not in text and not any(c in text for c in "\ufffe\uffff"))


@settings(deadline=None)  # a slow machine is no fault
@given(st.lists(st.tuples(storable, storable), min_size=1, max_size=5))
def test_what_openpyxl_writes_is_read_back(rows: list[tuple[str, str]]) -> None:
    wanted = [(n, row) for n, row in enumerate(rows, 2) if any(row)]
    assume(wanted)

    def fill(sheet: Worksheet) -> None:
        for number, row in enumerate(rows, 2):
            for column, text in enumerate(row, 1):
                cell = sheet.cell(number, column, text)
                cell.data_type = "s"  # "=1" is meant as text here

    table = read(book(fill))
    assert [(row.number, row.cells) for row in table.rows] == wanted


# ---- What is refused, cell by cell ----


def test_every_cell_that_cannot_be_shown_is_named() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["A2"] = datetime(2027, 6, 4)
        sheet["A3"] = "=B2"
        sheet["A4"] = "#N/A"
        sheet["A5"] = 0.5
        sheet["A5"].number_format = "0%"
        sheet["A6"] = 1 / 3
        sheet["B2"] = "Ida"
        sheet["B2"].number_format = '"Dear "@'
        sheet["B6"] = "Pie"

    told = problems(book(fill))
    assert [line.split(": ")[0] for line in told] == [
        f"picnic.xlsx, cell {name}" for name in ("A2", "B2", "A3", "A4", "A5", "A6")
    ]
    for line, says in zip(
        told,
        ["yyyy-mm-dd", "Dear", "no saved result", "error #N/A", "'0%'", "shorten"],
        strict=True,
    ):
        assert says in line


def test_faults_of_the_headings_are_told_with_those_of_the_cells() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["C1"] = "dish"
        sheet["D2"] = "stray"
        sheet["A2"] = "#REF!"

    told = problems(book(fill))
    assert len(told) == 3
    assert told[0].startswith("picnic.xlsx, cell A2: ")
    assert told[1].startswith("picnic.xlsx, row 1, column D: ")
    assert told[2].startswith("picnic.xlsx, row 1, columns B and C: ")


def test_words_in_hidden_rows_and_columns() -> None:
    def fill(sheet: Worksheet) -> None:
        for row in range(2, 8):
            sheet.append([f"guest {row}", "Pie", "plum" if row == 2 else None])
        sheet["C1"] = "fruit"
        for row in (3, 5, 6, 20):
            sheet.row_dimensions[row].hidden = True
        sheet.column_dimensions.group("B", "C", hidden=True)
        sheet.column_dimensions["F"].hidden = True

    told = problems(book(fill))
    assert [line.split(": ")[0] for line in told] == [
        "picnic.xlsx, rows 3, 5-6",
        "picnic.xlsx, columns B-C",
    ]


def test_hidden_cells_without_words_do_not_matter() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["A2"] = "Ida"
        sheet.row_dimensions[3].hidden = True
        sheet.column_dimensions["D"].hidden = True

    assert cells(read(book(fill))) == [("Ida", "")]


def test_merged_cells_with_words() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["A2"] = "Ida"
        sheet["B2"], sheet["B3"] = "Ann", "Bea"
        sheet.merge_cells("A2:A3")
        sheet.merge_cells("D4:E9")

    (told,) = problems(book(fill))
    assert told.startswith("picnic.xlsx, cell A2: the cells A2:A3 are merged")


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ('<c r="A2" t="d"><v>2027-06-04</v></c>', "a date"),
        ('<c r="A2"><v>twelve</v></c>', "'twelve'|number twelve"),
        ('<c r="A2" t="b"><v>2</v></c>', "'2'"),
        ('<c r="A2" t="zz"><v>2</v></c>', "'2'"),
        ('<c r="A2" t="inlineStr"><is><t>_xD83C_</t></is></c>', "no text has"),
        ('<c r="A2" t="inlineStr"><is><t>_x0000_</t></is></c>', "no text has"),
        ('<c r="A2" t="str"><f>B1</f></c>', "no saved result"),
    ],
)
def test_odd_cells_are_named(cell: str, says: str) -> None:
    with pytest.raises(InputError, match=says) as caught:
        read(parts(f'{HEADING}<row r="2">{cell}</row>'))
    assert [p.place for p in caught.value.problems] == ["picnic.xlsx, cell A2"]
