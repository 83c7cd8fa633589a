"""Workbooks give what is seen in their cells, or say which cell they cannot show."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.worksheet.worksheet import Worksheet

from personalize.messages.seen import Seen
from personalize.messages.xlsx_seen import seen_number
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


@settings(deadline=None)  # a slow machine is no fault
@given(st.integers(-99_999_999_999, 99_999_999_999))
def test_whole_numbers_in_general_are_plain_figures(number: int) -> None:
    assert seen_number(str(number), "General") == Seen(str(number))
    assert seen_number(f"{number}.0", "General") == Seen(str(number))


@settings(deadline=None)  # a slow machine is no fault
@given(st.integers(0, 999_999), st.integers(1, 9))
def test_leading_zeros(number: int, width: int) -> None:
    assert seen_number(str(number), "0" * width) == Seen(str(number).zfill(width))


@settings(deadline=None)  # a slow machine is no fault
@given(st.decimals(-9999, 9999, places=3), st.integers(0, 3))
def test_fixed_places_are_the_nearest(number: object, places: int) -> None:
    # Within half a unit of the last place shown, by plain arithmetic on the text.
    code = "0." + "0" * places if places else "0"
    seen = seen_number(str(number), code)
    assert seen.fault is None
    assert len(seen.text.partition(".")[2]) == places
    assert abs(float(seen.text) - float(str(number))) <= 0.5 * 10**-places + 1e-9


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
    wanted = [(n, row) for n, row in enumerate(rows, 2) if "".join(row).strip()]
    assume(wanted)

    def fill(sheet: Worksheet) -> None:
        for number, row in enumerate(rows, 2):
            for column, text in enumerate(row, 1):
                cell = sheet.cell(number, column, text)
                cell.data_type = "s"  # "=1" is meant as text here

    table = read(book(fill))
    assert [(row.number, row.cells) for row in table.rows] == wanted


# ---- What cannot be read ----


def test_faults_of_the_headings_are_told_with_those_of_the_cells() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["C1"] = "dish"
        sheet["D2"] = "stray"
        sheet["A2"] = "#REF!"

    said = problems(book(fill))
    assert len(said) == 3
    assert said[0].startswith("picnic.xlsx, cell A2: ")
    assert said[1].startswith("picnic.xlsx, row 1, column D: ")
    assert said[2].startswith("picnic.xlsx, row 1, columns B and C: ")


def test_a_heading_that_cannot_be_read_stops_the_run() -> None:
    def fill(sheet: Worksheet) -> None:
        sheet["C1"] = "=A2"
        sheet.append(["Ida", "Pie", "x"])

    assert problems(book(fill)) == [
        "picnic.xlsx, cell C1: the formula has no saved result. "
        "Open the workbook in a spreadsheet program and save it."
    ]


def test_a_cell_that_is_far_too_long_is_refused_by_name() -> None:
    rows = f'{HEADING}<row r="2">{text_cell("A2", "x" * 40_000)}</row>'
    (said,) = problems(parts(rows))
    assert said.startswith("picnic.xlsx, cell A2: the cell holds 40,000 letters")
