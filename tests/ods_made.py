"""ODS files made by hand, and how they are read."""

from collections.abc import Callable
from xml.sax.saxutils import escape

import pytest

from personalize.errors import InputError
from personalize.messages.ods import is_ods, read_ods
from personalize.messages.table import ReadOptions, Table
from tests.workbooks import zipped

KIND = "application/vnd.oasis.opendocument.spreadsheet"
SPACES = "".join(
    f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for name in ("office", "table", "text", "style", "draw", "meta")
) + (
    ' xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
    ' xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xlink="http://www.w3.org/1999/xlink"'
)
MANIFEST = (
    "<manifest:manifest xmlns:manifest="
    '"urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
    f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{KIND}"/>'
    "{}</manifest:manifest>"
)


def content(tables: str, styles: str = "", document: str = "document-content") -> str:
    return (
        f"<office:{document}{SPACES}"
        + (f' office:mimetype="{KIND}"' if document == "document" else "")
        + f"><office:automatic-styles>{styles}</office:automatic-styles>"
        f"<office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body>"
        f"</office:{document}>"
    )


def package(xml: str, *, manifest: str = "") -> bytes:
    return zipped(
        {
            "mimetype": KIND,
            "content.xml": xml,
            "META-INF/manifest.xml": MANIFEST.format(manifest),
        }
    )


def table(rows: str, title: str = "guests", more: str = "") -> str:
    return f'<table:table table:name="{title}"{more}>{rows}</table:table>'


def row(*cells_of_row: str, more: str = "") -> str:
    return f"<table:table-row{more}>{''.join(cells_of_row)}</table:table-row>"


def cell(inside: str = "", more: str = 'office:value-type="string"') -> str:
    return f"<table:table-cell {more}>{inside}</table:table-cell>"


def words(text: str, more: str = 'office:value-type="string"') -> str:
    return cell(f"<text:p>{escape(text)}</text:p>", more)


HEADING = row(words("name"), words("dish"))


def read(
    rows: str, styles: str = "", *, worksheet: str | None = None, tables: str = ""
) -> Table:
    data = package(content(tables or table(rows), styles))
    assert is_ods(data)
    return read_ods(data, "picnic.ods", ReadOptions(worksheet=worksheet))


def problems(call: Callable[[], object]) -> list[str]:
    with pytest.raises(InputError) as caught:
        call()
    return [str(problem) for problem in caught.value.problems]
