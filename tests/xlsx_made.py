"""What the tests of workbooks share."""

from xml.sax.saxutils import quoteattr

from personalize.messages.table import Table
from tests.workbooks import HEADING, parts, read, text_cell

ODD = "unreadable-format"
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
