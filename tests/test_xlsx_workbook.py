"""Which worksheet of a workbook is read, and what is no sound workbook."""

import io
import zipfile
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from personalize.errors import InputError
from personalize.messages.package import Package, TooLargeError
from personalize.messages.read import read_table
from personalize.messages.xlsx import refuse_other_zip
from tests.workbooks import (
    HEADING,
    cells,
    parts,
    problems,
    read,
    saved,
    sheet_of,
    text_cell,
    zipped,
)

# ---- Which worksheet ----


def workbook_of(**sheets: list[str]) -> openpyxl.Workbook:
    workbook = openpyxl.Workbook()
    workbook.remove(sheet_of(workbook))
    for title, column in sheets.items():
        sheet = workbook.create_sheet(title)
        for word in column:
            sheet.append([word])
    return workbook


def test_empty_worksheets_are_passed_over() -> None:
    workbook = workbook_of(Sheet1=[], guests=["name", "Ida"], Sheet3=[])
    table = read(saved(workbook))
    assert (table.source.worksheet, cells(table)) == ("guests", [("Ida",)])


def test_two_worksheets_with_words_need_a_choice() -> None:
    data = saved(workbook_of(guests=["name", "Ida"], helpers=["name", "Bo"]))
    (told,) = problems(data)
    assert "'guests', 'helpers'" in told
    assert cells(read(data, "helpers")) == [("Bo",)]
    assert cells(read(data, "Helpers ")) == [("Bo",)]
    (told,) = problems(data, "cooks")
    assert "no worksheet 'cooks'. It has 'guests', 'helpers'." in told


def test_hidden_worksheets_are_read_only_when_named() -> None:
    workbook = workbook_of(guests=["name", "Ida"], choices=["name", "Pie"])
    workbook["choices"].sheet_state = "veryHidden"
    data = saved(workbook)
    assert cells(read(data)) == [("Ida",)]
    assert cells(read(data, "choices")) == [("Pie",)]


def test_an_empty_workbook() -> None:
    data = saved(workbook_of(guests=[]))
    assert "no visible worksheet has anything" in problems(data)[0]
    assert "nothing in it" in problems(data, "guests")[0]
    assert "no row under it" in problems(saved(workbook_of(guests=["name"])))[0]


# ---- What is no sound workbook ----


@pytest.mark.parametrize(
    "rows",
    [
        "<row r='1'><c r='A1' t='s'><v>7</v></c></row>",
        "<row r='1'><c r='A1' t='s'><v>-1</v></c></row>",
        "<row r='1'><c r='A1' s='9'><v>7</v></c></row>",
        "<row r='2'/><row r='1'/>",
        "<row r='2'/><row r='2'/>",
        "<row r='1048577'/>",
        "<row r='one'/>",
        "<row r='1'><c r='B1'><v>1</v></c><c r='A1'><v>1</v></c></row>",
        "<row r='1'><c r='A1'><v>1</v></c><c r='A1'><v>2</v></c></row>",
        "<row r='1'><c r='A2'><v>1</v></c></row>",
        "<row r='1'><c r='XFE1'><v>1</v></c></row>",
        "<row r='1'><c r='1A'><v>1</v></c></row>",
        "<row r='1'>",
    ],
)
def test_a_damaged_worksheet(rows: str) -> None:
    (told,) = problems(parts(rows))
    assert told.startswith("picnic.xlsx: the workbook is damaged: ")


@pytest.mark.parametrize(
    "lost",
    ["xl/worksheets/a.xml", "xl/_rels/workbook.xml.rels", "xl/s.xml", "xl/styles.xml"],
)
def test_a_workbook_with_a_part_missing(lost: str) -> None:
    with zipfile.ZipFile(io.BytesIO(parts(HEADING))) as archive:
        names = [name for name in archive.namelist() if name != lost]
        files = {name: archive.read(name).decode() for name in names}
    assert f"its part {lost} is missing" in problems(zipped(files))[0]


def test_a_document_type_is_refused() -> None:
    # ECMA-376 part 2, 6.3.4.3: no part may hold a document type.
    with zipfile.ZipFile(io.BytesIO(parts(HEADING))) as archive:
        files = {name: archive.read(name).decode() for name in archive.namelist()}
    dtd = '<!DOCTYPE sst [<!ENTITY a "Ida">]>'
    for part in ("xl/s.xml", "xl/workbook.xml"):
        hostile = files | {
            part: dtd + files[part].replace("</sst>", "<si><t>&a;</t></si></sst>")
        }
        assert "document type" in problems(zipped(hostile))[0]


@settings(deadline=None)  # a slow machine is no fault
@given(st.data())
def test_a_workbook_with_flipped_bytes_is_read_or_refused(data: st.DataObject) -> None:
    whole = bytearray(parts(f'{HEADING}<row r="2">{text_cell("A2", "Ida")}</row>'))
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(whole) - 1))
        whole[at] = data.draw(st.integers(0, 255))
    try:
        refuse_other_zip(bytes(whole), "picnic.xlsx")
        table = read(bytes(whole))
    except InputError:
        return
    assert cells(table) == [("Ida",)]


@settings(deadline=None)  # a slow machine is no fault
@given(st.data())
def test_a_workbook_that_is_cut_off_is_refused(data: st.DataObject) -> None:
    whole = parts(f'{HEADING}<row r="2">{text_cell("A2", "Ida")}</row>')
    end = data.draw(st.integers(0, len(whole) - 1))
    with pytest.raises(InputError):
        read(whole[:end])


def test_too_much_by_what_the_zip_file_says(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("personalize.messages.package.MOST_BYTES", 20_000)
    rows = "".join(f'<row r="{n}">{text_cell(f"A{n}", "Ida")}</row>' for n in range(1, 500))
    data = parts(rows)
    assert len(data) < 20_000
    assert "unpacks to more than" in problems(data)[0]
    with pytest.raises(InputError, match="unpacks to more than"):
        refuse_other_zip(data, "picnic.xlsx")


def test_a_zip_file_that_lies_about_a_size_is_refused() -> None:
    # PKWARE APPNOTE 6.3.10, section 4.3.12: in the central directory the size of a file
    # unpacked stands at byte 24 of its header, and its name at byte 46.
    data = bytearray(parts(HEADING + " " * 500_000))
    header = data.rindex(b"xl/worksheets/a.xml") - 46
    assert data[header : header + 4] == b"PK\x01\x02"
    assert int.from_bytes(data[header + 24 : header + 28], "little") > 500_000
    data[header + 24 : header + 28] = (100).to_bytes(4, "little")
    assert "xl/worksheets/a.xml cannot be unpacked" in problems(bytes(data))[0]


def test_a_part_that_says_the_same_over_and_over_is_refused() -> None:
    data = parts(HEADING + "<x/>" * 2_200_000)
    assert len(data) < 40_000
    assert "unpacks to over 200 times its size" in problems(data)[0]


def test_more_tags_than_a_list_has_are_not_built(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = "".join(f'<row r="{n}">{text_cell(f"A{n}", "Ida")}</row>' for n in range(2, 99))
    data = parts(HEADING + rows)
    assert len(cells(read(data))) == 97
    monkeypatch.setattr("personalize.messages.package.MOST_MARKS", 600)
    assert "holds more cells than a list does" in problems(data)[0]


def test_more_columns_than_a_worksheet_has() -> None:
    rows = f"{HEADING}<row r='2'>{'<c><v>1</v></c>' * 20_000}</row>"
    assert "row 2 has more than 16,384 columns" in problems(parts(rows))[0]


def test_too_much_while_reading(monkeypatch: pytest.MonkeyPatch) -> None:
    # A part that many links lead to is counted each time it is unpacked.
    data = parts(HEADING + " " * 50_000)
    package = Package(data)
    monkeypatch.setattr(package, "_left", 100_000)
    package.part("xl/worksheets/a.xml")
    with pytest.raises(TooLargeError):
        package.part("xl/worksheets/a.xml")


@pytest.mark.parametrize(
    ("files", "says"),
    [
        ({"mimetype": "application/epub+zip"}, "another zip file"),
        ({"word/document.xml": "<w/>"}, "another zip file"),
        ({"xl/workbook.bin": "x"}, "binary .xlsb"),
    ],
)
def test_other_zip_files(tmp_path: Path, files: dict[str, str], says: str) -> None:
    path = tmp_path / "picnic.xlsx"
    path.write_bytes(zipped(files))
    with pytest.raises(InputError, match=says):
        read_table(path)


def test_a_far_cell_does_not_fill_the_memory() -> None:
    rows = HEADING + "".join(
        f'<row r="{n}">{text_cell(f"A{n}", "Ida")}</row>' for n in range(2, 3000)
    )
    (told,) = problems(parts(rows + f'<row r="9000">{text_cell("XFD9000", "far")}</row>'))
    assert told.startswith("picnic.xlsx, row 1, column XFD: ")
