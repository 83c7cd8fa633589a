"""Workbooks for the tests, and their tables.

They are written by openpyxl, which shares no code with our reader, or are small parts of
XML written out here, as ECMA-376 part 1 sets them down.
"""

import io
import zipfile
from collections.abc import Callable

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from personalize.errors import InputError
from personalize.finding import Finding
from personalize.messages.table import ReadOptions, Table
from personalize.messages.xlsx import read_xlsx

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
LINKS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT_LINKS = "http://purl.oclc.org/ooxml/officeDocument/relationships"
PACKAGE_LINKS = "http://schemas.openxmlformats.org/package/2006/relationships"


PLAIN = '<cellXfs><xf numFmtId="0"/></cellXfs>'


def sheet_of(workbook: openpyxl.Workbook) -> Worksheet:
    sheet = workbook.active
    assert isinstance(sheet, Worksheet)
    return sheet


def saved(workbook: openpyxl.Workbook) -> bytes:
    file = io.BytesIO()
    workbook.save(file)
    return file.getvalue()


def book(fill: Callable[[Worksheet], object]) -> bytes:
    """Make a workbook of one sheet with the headings name and dish."""
    workbook = openpyxl.Workbook()
    sheet = sheet_of(workbook)
    sheet.title = "guests"
    sheet.append(["name", "dish"])
    fill(sheet)
    return saved(workbook)


def parts(
    rows: str,
    *,
    strings: str = "",
    styles: str = PLAIN,
    main: str = MAIN,
    links: str = LINKS,
    settings: str = "",
    before: str = "",
    after: str = "",
) -> bytes:
    """Make a workbook of these bits of XML.

    `styles` are numFmt and xf elements, `settings` attributes of the workbook, and
    `before` and `after` stand round the rows of the worksheet.
    """
    files = {
        "[Content_Types].xml": "<Types/>",
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{links}">'
        f"<workbookPr {settings}/><sheets>"
        '<sheet name="guests" sheetId="1" r:id="rId1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE_LINKS}">'
        f'<Relationship Id="rId1" Type="{links}/worksheet" Target="worksheets/a.xml"/>'
        f'<Relationship Id="rId2" Type="{links}/sharedStrings" Target="/xl/s.xml"/>'
        f'<Relationship Id="rId3" Type="{links}/styles" Target="styles.xml"/>'
        "</Relationships>",
        "xl/worksheets/a.xml": f'<worksheet xmlns="{main}">{before}<sheetData>{rows}'
        f"</sheetData>{after}</worksheet>",
        "xl/s.xml": f'<sst xmlns="{main}">{strings}</sst>',
        "xl/styles.xml": f'<styleSheet xmlns="{main}">{styles}</styleSheet>',
    }
    return zipped(files)


def zipped(files: dict[str, str]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in files.items():
            archive.writestr(name, text)
    return file.getvalue()


def text_cell(reference: str, text: str) -> str:
    return f'<c r="{reference}" t="inlineStr"><is><t>{text}</t></is></c>'


HEADING = f'<row r="1">{text_cell("A1", "name")}</row>'


def read(
    data: bytes, worksheet: str | None = None, *, heading_row: int | None = None
) -> Table:
    options = ReadOptions(worksheet=worksheet, heading_row=heading_row)
    return read_xlsx(data, "picnic.xlsx", options)


def cells(table: Table) -> list[tuple[str, ...]]:
    return [row.cells for row in table.rows]


def problems(data: bytes, worksheet: str | None = None) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(data, worksheet)
    return [str(problem) for problem in caught.value.problems]


def told(table: Table) -> list[tuple[str, str, int | None, str | None]]:
    """Give rule, severity, row and column of each finding."""
    return [brief(finding) for finding in table.findings]


def brief(finding: Finding) -> tuple[str, str, int | None, str | None]:
    return finding.rule, str(finding.severity), finding.row, finding.column
