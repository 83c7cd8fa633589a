"""OpenDocument spreadsheets give the words that their program saved as seen.

Every case is a small file written here, as OpenDocument 1.3 sets it down: part 2 is about
the zip file, part 3 about the XML in it.
"""

import pytest

from personalize.messages.table import Table
from tests.ods_made import HEADING, cell, problems, read, row, table, words
from tests.workbooks import cells, told

ODD = "unreadable-format"


def one(cell_xml: str) -> Table:
    """Read the cell under the heading name; x stands beside it under dish."""
    return read(HEADING + row(cell_xml, words("x")))


# ---- What is seen ----


@pytest.mark.parametrize(
    ("inside", "seen"),
    [
        ("<text:p>Ida</text:p>", "Ida"),
        ("<text:p>Ida</text:p><text:p>and Bo</text:p>", "Ida\nand Bo"),
        ("<text:p>Ida<text:line-break/>and Bo</text:p>", "Ida\nand Bo"),
        ("<text:p>Ida<text:tab/>Bo</text:p>", "Ida\tBo"),
        ("<text:p>Ida<text:s/>Bo</text:p>", "Ida Bo"),
        ('<text:p>Ida <text:s text:c="2"/>Bo</text:p>', "Ida   Bo"),
        ("<text:p><text:s/>Ida<text:s/></text:p>", " Ida "),
        ("<text:p>Plum <text:span>Lane</text:span> picnic</text:p>", "Plum Lane picnic"),
        ("<text:p><text:span>a<text:span>b</text:span>c</text:span></text:p>", "abc"),
        ('<text:p><text:a xlink:href="x">Ida</text:a></text:p>', "Ida"),
        ("<text:p>Ida<!-- x --> &amp; Bo</text:p>", "Ida & Bo"),
        ("<text:p>梅園</text:p>", "梅園"),
        # 6.1.2: blanks run together, and are dropped at both ends.
        ("<text:p>\n  Plum \n\t Lane \n </text:p>", "Plum Lane"),
        ("<text:p>  Ida</text:p>", "Ida"),
        # LibreOffice saves a space that was typed at the end of a cell as it is.
        ("<text:p><text:s/>Ida </text:p>", " Ida "),
        ("<text:p>Plum <text:span> Lane</text:span></text:p>", "Plum Lane"),
        # 6.4: how a word is read aloud is no part of it.
        (
            "<text:p><text:ruby><text:ruby-base>梅園</text:ruby-base>"
            "<text:ruby-text>うめぞの</text:ruby-text></text:ruby>!</text:p>",
            "梅園!",
        ),
        # 14.1: comments, 10: drawings, 6.3: notes, with paragraphs of their own.
        (
            "<office:annotation><dc:creator>Bo</dc:creator><text:p>ask her</text:p>"
            "</office:annotation><text:p>Ida</text:p>",
            "Ida",
        ),
        ("<text:p>I<office:annotation><text:p>x</text:p></office:annotation>da</text:p>",
         "Ida"),
        ("<text:p>Ida</text:p><draw:frame><draw:text-box><text:p>x</text:p></draw:text-box>"
         "</draw:frame>", "Ida"),
        ("<text:p>Ida<text:note><text:note-body><text:p>x</text:p></text:note-body>"
         "</text:note>!</text:p>", "Ida!"),
        ("<text:list><text:list-item><text:p>Ida</text:p></text:list-item>"
         "<text:list-item><text:p>Bo</text:p></text:list-item></text:list>", "Ida\nBo"),
        # 7: fields show what they were when the file was saved.
        ("<text:p>At <text:sheet-name>guests</text:sheet-name></text:p>", "At guests"),
    ],
)  # fmt: skip
def test_texts(inside: str, seen: str) -> None:
    found = one(cell(inside))
    assert (cells(found), found.findings) == ([(seen, "x")], ())


# 19.387 value-type, 19.386 value and the like: the text is what is seen of the value.
@pytest.mark.parametrize(
    ("more", "text"),
    [
        ('office:value-type="float" office:value="7"', "007"),
        ('office:value-type="float" office:value="5"', "5"),
        ('office:value-type="float" office:value="12.5"', "12,5"),
        ('office:value-type="percentage" office:value="0.256"', "26 %"),
        ('office:value-type="currency" office:currency="EUR" office:value="1.5"', "1,50 €"),
        ('office:value-type="date" office:date-value="2027-06-04"', "4. Juni 2027"),
        ('office:value-type="time" office:time-value="PT18H30M00S"', "18:30"),
        ('office:value-type="boolean" office:boolean-value="true"', "WAHR"),
        ('office:value-type="string" office:string-value="Ida"', "Dear Ida"),
        ('table:formula="of:=[.B2]" office:value-type="string"', "Ana & Bo"),
        ('table:formula="of:=1+1" office:value-type="float" office:value="2"', "2"),
        ('office:value-type="string"', "007"),
        ('office:value-type="string"', "NULL"),
        ('office:value-type="string"', "#N/A"),
        ('table:style-name="ce1"', "no kind"),
    ],
)
def test_kinds_of_cells(more: str, text: str) -> None:
    found = one(words(text, more))
    assert (cells(found), found.findings) == ([(text, "x")], ())


def test_a_text_without_lines_is_its_value() -> None:
    found = one(cell("", 'office:value-type="string" office:string-value="Ida"'))
    assert (cells(found), found.findings) == ([("Ida", "x")], ())


def test_gaps_that_line_figures_up_are_dropped() -> None:
    more = 'office:value-type="float" office:value="5"'
    found = one(cell("<text:p><text:s/>5,00 €<text:s/></text:p>", more))
    assert cells(found) == [("5,00 €", "x")]


@pytest.mark.parametrize(
    ("xml", "text", "rule", "severity"),
    [
        (words("#N/A", 'table:formula="of:=NA()" office:value-type="string" '
               'office:string-value="" calcext:value-type="error"'),
         "#N/A", "error-cell", "error"),
        (words("#REF!", 'table:formula="of:=[.#REF!]" office:value-type="float" '
               'office:value="0"'), "#REF!", "error-cell", "error"),
        (words("Err:502", 'table:formula="of:=X" office:value-type="string"'),
         "Err:502", "error-cell", "error"),
        (cell("", 'calcext:value-type="error" table:formula="of:=NA()"'),
         "#N/A", "error-cell", "error"),
        (cell("", 'table:formula="of:=[.B2]"'), "=of:=[.B2]", "formula-not-saved", "error"),
        (cell("", 'table:formula="of:=[.B2]" office:value-type="string"'),
         "=of:=[.B2]", "formula-not-saved", "error"),
        (cell("", 'office:value-type="float" office:value="46542"'), "46542", ODD, "error"),
        (cell("", 'office:value-type="date" office:date-value="2027-06-04"'),
         "2027-06-04", ODD, "error"),
        (cell("", 'office:value-type="boolean" office:boolean-value="true"'),
         "true", ODD, "error"),
        (cell("<text:p/>", 'office:value-type="float" office:value="5"'),
         "", "shows-nothing", "warning"),
        (cell("<text:p/>", 'office:value-type="float" office:value="0"'),
         "", "shows-nothing", "note"),
        (cell("<text:p/>", 'office:value-type="string" office:string-value="Ida"'),
         "", "shows-nothing", "warning"),
    ],
)  # fmt: skip
def test_cells_that_cannot_be_read(xml: str, text: str, rule: str, severity: str) -> None:
    found = one(xml)
    assert cells(found) == [(text, "x")]
    assert told(found) == [(rule, severity, 2, "name")]


def test_a_formula_that_gives_no_words_is_an_empty_cell() -> None:
    more = (
        'table:formula="of:=&quot;&quot;" office:value-type="string" office:string-value=""'
    )
    found = one(cell("<text:p/>", more))
    assert (cells(found), found.findings) == ([("", "x")], ())


# ---- Rows and columns ----


def test_repeated_cells_and_rows() -> None:
    # 19.675 number-columns-repeated, 19.679 number-rows-repeated.
    twice = 'office:value-type="string" table:number-columns-repeated="2"'
    found = read(
        HEADING
        + row(words("Ida", twice), cell("", 'table:number-columns-repeated="16382"'))
        + row(cell("", 'table:number-columns-repeated="16384"'),
              more=' table:number-rows-repeated="3"')
        + row(words("Bo"), words("Pie"), more=' table:number-rows-repeated="2"')
        + row(cell("", 'table:number-columns-repeated="16384"'),
              more=' table:number-rows-repeated="1048569"')
    )  # fmt: skip
    assert [(r.number, r.cells) for r in found.rows] == [
        (2, ("Ida", "Ida")),
        (6, ("Bo", "Pie")),
        (7, ("Bo", "Pie")),
    ]
    assert found.findings == ()


def test_rows_in_groups_and_headers() -> None:
    rows = (
        f"<table:table-header-rows>{HEADING}</table:table-header-rows>"
        f"<table:table-row-group>{row(words('Ida'))}</table:table-row-group>"
        f"<table:table-rows>{row(words('Bo'))}</table:table-rows>"
    )
    assert [r.number for r in read(rows).rows] == [2, 3]


@pytest.mark.parametrize(
    "hidden",
    [
        row(words("Ida"), more=' table:visibility="collapse"'),
        row(words("Ida"), more=' table:visibility="filter"'),
        row(words("Ida"), more=' table:style-name="flat"'),
        '<table:table-row-group table:display="false">'
        f"{row(words('Ida'))}</table:table-row-group>",
    ],
)
def test_hidden_rows_are_left_out_and_told(hidden: str) -> None:
    flat = (
        '<style:style style:name="flat" style:family="table-row">'
        '<style:table-row-properties style:row-height="0cm"/></style:style>'
        '<style:style style:name="tall" style:family="table-row">'
        '<style:table-row-properties style:row-height="0.45cm"/></style:style>'
    )
    rows = HEADING + hidden + row(words("Bo"), more=' table:style-name="tall"')
    found = read(rows, flat)
    assert [(r.number, r.cells[0]) for r in found.rows] == [(3, "Bo")]
    assert told(found) == [("hidden-rows", "warning", None, None)]
    assert "Row 2 is hidden" in found.findings[0].says


def test_hidden_columns_are_read_and_told() -> None:
    columns = (
        '<table:table-column table:number-columns-repeated="1"/>'
        '<table:table-column table:visibility="collapse" '
        'table:number-columns-repeated="16383"/>'
    )
    found = read(columns + HEADING + row(words("Ida"), words("Pie")))
    assert (cells(found), found.findings) == ([("Ida", "Pie")], ())
    assert found.source.decisions == ("Column B is hidden, and is read like the others.",)


def test_merged_cells() -> None:
    spanned = 'office:value-type="string" table:number-rows-spanned="2"'
    covered = "<table:covered-table-cell/>"
    found = read(
        HEADING
        + row(words("Table 1", spanned), words("Ann"))
        + row(covered, words("Bea"))
    )  # fmt: skip
    assert cells(found) == [("Table 1", "Ann"), ("", "Bea")]
    assert told(found) == [("merged-cells", "warning", 2, "name")]
    assert "A2:A3" in found.findings[0].says


def test_what_lies_under_merged_cells_is_left_out_and_told() -> None:
    spanned = 'office:value-type="string" table:number-columns-spanned="2"'
    covered = words("under").replace("table-cell", "covered-table-cell")
    found = read(HEADING + row(words("Ida", spanned), covered))
    assert cells(found) == [("Ida", "")]
    assert "What lies under it in B2 is left out." in found.findings[0].says


def test_tables_that_are_no_worksheets_are_passed_over() -> None:
    # Charts in flat files and links to other files have tables of their own.
    other = f"<table:table>{row(words('stray'))}</table:table>"
    chart = f"<draw:frame><draw:object>{other}</draw:object></draw:frame>"
    found = read(
        "",
        tables=table(f"<table:shapes>{chart}</table:shapes>{HEADING}{row(words('Ida'))}")
        + f"<table:dde-links><table:dde-link>{other}</table:dde-link></table:dde-links>",
    )
    assert cells(found) == [("Ida", "")]


# ---- Which worksheet ----

HIDDEN = (
    '<style:style style:name="away" style:family="table">'
    '<style:table-properties table:display="false"/></style:style>'
)


def test_hidden_worksheets_are_read_only_when_named() -> None:
    tables = table(HEADING + row(words("Ida"))) + table(
        HEADING + row(words("Pie")), "choices", ' table:style-name="away"'
    )
    found = read("", HIDDEN, tables=tables)
    assert (found.source.worksheet, cells(found)) == ("guests", [("Ida", "")])
    found = read("", HIDDEN, tables=tables, worksheet="Choices")
    assert cells(found) == [("Pie", "")]
    (said,) = problems(lambda: read("", HIDDEN, tables=tables, worksheet="cooks"))
    assert "no worksheet 'cooks'. It has 'guests', 'choices'." in said


def test_two_worksheets_with_words_need_a_choice() -> None:
    tables = table(HEADING + row(words("Ida"))) + table(HEADING, "helpers")
    (said,) = problems(lambda: read("", tables=tables))
    assert "'guests', 'helpers'" in said
    (said,) = problems(lambda: read("", tables=table("", "none")))
    assert "no visible worksheet has anything" in said
