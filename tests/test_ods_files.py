"""What an ODS file is: locked, damaged, too large, or well."""

from pathlib import Path
from xml.sax.saxutils import escape

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from personalize.errors import InputError
from personalize.messages.ods import is_ods, read_ods
from personalize.messages.read import read_table
from personalize.messages.table import ReadOptions
from tests.ods_made import (
    HEADING,
    KIND,
    MANIFEST,
    cell,
    content,
    package,
    problems,
    read,
    row,
    table,
    words,
)
from tests.workbooks import cells, zipped

# ---- Files ----


def test_what_an_ods_file_is() -> None:
    xml = content(table(HEADING))
    assert is_ods(package(xml))
    assert is_ods(
        zipped({"content.xml": xml, "META-INF/manifest.xml": MANIFEST.format("")})
    )
    assert is_ods(content("", document="document").encode())
    assert is_ods(b'<?xml version="1.0"?>\n' + content("", document="document").encode())
    for other in ("application/vnd.oasis.opendocument.text", "application/epub+zip"):
        assert not is_ods(zipped({"mimetype": other, "content.xml": xml}))
    assert not is_ods(zipped({"xl/workbook.xml": "<a/>"}))
    assert not is_ods(b"")
    assert not is_ods(b"PK;dish\n1;2\n")
    assert not is_ods(b"name,note\nIda,<office:document office:mimetype='" + KIND.encode())
    assert not is_ods(package(xml)[:90])


def test_a_file_is_read_whatever_it_is_called(tmp_path: Path) -> None:
    rows = table(HEADING + row(words("Ida"), words("Pie")))
    for name, data in (
        ("picnic.xlsx", package(content(rows))),
        ("picnic.fods", content(rows, document="document").encode()),
    ):
        (tmp_path / name).write_bytes(data)
        found = read_table(tmp_path / name)
        assert cells(found) == [("Ida", "Pie")]
        assert found.source.file == name
    (said,) = problems(lambda: read_table(tmp_path / "picnic.xlsx", encoding="cp1252"))
    assert "is a workbook" in said


def test_a_workbook_with_a_password() -> None:
    locked = (
        '<manifest:file-entry manifest:full-path="content.xml">'
        "<manifest:encryption-data/></manifest:file-entry>"
    )
    data = package("\x07\x08 no XML", manifest=locked)
    assert is_ods(data)
    (said,) = problems(lambda: read_ods(data, "picnic.ods", ReadOptions()))
    assert said == (
        "picnic.ods: the workbook has a password. Take the password away and save it."
    )


def once(number: str) -> str:
    return words("x", f'office:value-type="string" {number}')


@pytest.mark.parametrize(
    ("xml", "says"),
    [
        ("<office:document-content", "content.xml is no whole XML"),
        ("<!DOCTYPE a [<!ENTITY b 'x'>]><a>&b;</a>", "has a document type"),
        (content(table(row(once('table:number-columns-repeated="0"')))), "counts nothing"),
        (content(table(row(once('table:number-rows-spanned="-1"')))), "counts nothing"),
        (content(table(row(cell('<text:p>a<text:s text:c="99999"/></text:p>')))),
         "counts nothing"),
        (content(table(row(cell(table(row(words("x"))))))), "a table stands in a cell"),
        (content(table(row(once('table:number-columns-repeated="1000000"')))),
         "row 1 has more than 16,384 columns"),
        (content(table(row(words("x"), more=' table:number-rows-repeated="1048577"'))),
         "guests has more than 1,048,576 rows"),
        (content(table(row(once('table:number-columns-repeated="9"'),
                           more=' table:number-rows-repeated="1000000"'))),
         "guests has more than 1,000,000 cells"),
    ],
)  # fmt: skip
def test_files_that_are_damaged_or_too_large(xml: str, says: str) -> None:
    data = package(xml)
    (said,) = problems(lambda: read_ods(data, "picnic.ods", ReadOptions()))
    assert said.startswith("picnic.ods: the ")
    assert says in said


def test_a_workbook_without_its_content() -> None:
    data = zipped({"mimetype": KIND})
    (said,) = problems(lambda: read_ods(data, "picnic.ods", ReadOptions()))
    assert "its part content.xml is missing" in said


def test_a_cell_of_ten_million_letters() -> None:
    spaces = '<text:s text:c="32767"/>' * 40
    data = package(content(table(HEADING + row(cell(f"<text:p>{spaces}</text:p>")))))
    (said,) = problems(lambda: read_ods(data, "picnic.ods", ReadOptions()))
    assert "it has a cell of over a million letters" in said
    cells_of_spaces = cell(f"<text:p>a{spaces[: 25 * 24]}b</text:p>") * 90
    data = package(content(table(HEADING + row(cells_of_spaces) * 2)))
    (said,) = problems(lambda: read_ods(data, "picnic.ods", ReadOptions()))
    assert "guests has far too many letters" in said
    # Letters that differ, or the zip file would be refused for being packed so tight.
    text = (
        "".join(chr(33 + n * n % 89) for n in range(97)).replace("<", "").replace("&", "")
    )
    flat = content(table(HEADING + row(cell(f"<text:p>{text * 120_000}</text:p>"))),
                   document="document")  # fmt: skip
    assert len(flat) > 10_000_000
    (said,) = problems(lambda: read_ods(flat.encode(), "picnic.fods", ReadOptions()))
    assert "a cell of over ten million letters" in said


storable = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"])
    | st.sampled_from("\n\t "),
    max_size=12,
).filter(lambda text: not any(c in text for c in "\ufffe\uffff"))


def spelt(text: str) -> str:
    """Write a text as 6.1 says, by a way of its own: every blank as an element."""
    signs = {" ": "<text:s/>", "\t": "<text:tab/>"}
    lines = ("".join(signs.get(c, escape(c)) for c in line) for line in text.split("\n"))
    return "".join(f"<text:p>{line}</text:p>" for line in lines)


@settings(deadline=None)  # a slow machine is no fault
@given(st.lists(st.tuples(storable, storable), min_size=1, max_size=5))
def test_texts_come_back_as_they_were(rows: list[tuple[str, str]]) -> None:
    filled = [pair for pair in rows if "".join(pair).strip()]
    xml = HEADING + row(words("first"), words("x"))
    xml += "".join(row(*(cell(spelt(text)) for text in pair)) for pair in rows)
    assert cells(read(xml))[1:] == filled


@settings(deadline=None)  # a slow machine is no fault
@given(st.data())
def test_a_workbook_with_flipped_bytes_is_read_or_refused(data: st.DataObject) -> None:
    whole = bytearray(package(content(table(HEADING + row(words("Ida"), words("Pie"))))))
    for _ in range(data.draw(st.integers(1, 4))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    try:
        found = read_ods(bytes(whole), "picnic.ods", ReadOptions())
    except InputError:
        return
    assert cells(found) == [("Ida", "Pie")]
