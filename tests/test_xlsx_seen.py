"""What of a workbook is seen: hidden rows, merged cells, conditions, far cells."""

import pytest
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles.differential import DifferentialStyle
from openpyxl.styles.numbers import NumberFormat
from openpyxl.worksheet.worksheet import Worksheet

from personalize.errors import InputError
from tests.workbooks import HEADING, book, cells, parts, problems, read, text_cell, told

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
