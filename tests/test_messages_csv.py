"""CSV files are read as they were typed, and what is wrong in one is told in full."""

import csv
import io
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from personalize.bundled import folder
from personalize.errors import InputError
from personalize.messages.csv import read_csv
from personalize.messages.read import read_table
from personalize.messages.table import Table

HEADINGS = ("name", "plant", "dish")


def read(text: str, encoding: str = "utf-8") -> Table:
    return read_csv(text.encode(encoding), "picnic.csv")


def cells(table: Table) -> list[tuple[str, ...]]:
    return [row.cells for row in table.rows]


def problems(text: str | bytes) -> list[str]:
    data = text.encode() if isinstance(text, str) else text
    with pytest.raises(InputError) as caught:
        read_csv(data, "picnic.csv")
    return [str(problem) for problem in caught.value.problems]


# RFC 4180 sections 2.1 to 2.7, each rule with its own case.
@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("name,dish\r\nIda,Plum cake\r\n", [("Ida", "Plum cake")]),
        ("name,dish\r\nIda,Plum cake", [("Ida", "Plum cake")]),
        ("name,dish\r\nIda, Plum cake \r\n", [("Ida", " Plum cake ")]),
        ('"name","dish"\r\n"Ida",Plum cake\r\n', [("Ida", "Plum cake")]),
        (
            'name,dish\r\n"Ida\r\nand Bo","Salad, green"\r\n',
            [("Ida\nand Bo", "Salad, green")],
        ),
        ('name,dish\r\n"The ""Plum"" Lane",x\r\n', [('The "Plum" Lane', "x")]),
    ],
)
def test_the_rules_of_rfc_4180(text: str, expected: list[tuple[str, ...]]) -> None:
    assert cells(read(text)) == expected


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_delimiters_are_found_by_the_headings(delimiter: str) -> None:
    table = read(f"name{delimiter}dish\nIda{delimiter}Plum cake\n")
    assert table.source.delimiter == delimiter
    assert cells(table) == [("Ida", "Plum cake")]


def test_quote_marks_typed_by_hand_do_not_mislead() -> None:
    table = read('guest;wish\nAda;"Hi", she said, "hello"\nBo;"ok", he said, "fine"\n')
    assert table.source.delimiter == ";"
    assert cells(table) == [
        ("Ada", '"Hi", she said, "hello"'),
        ("Bo", '"ok", he said, "fine"'),
    ]


def test_a_decimal_comma_in_a_list_with_semicolons() -> None:
    assert cells(read("name;metres\nIda;1,5\nBo;2,5\n")) == [("Ida", "1,5"), ("Bo", "2,5")]


@pytest.mark.parametrize(
    "text",
    ["Null", "NULL", "None", "NA", "n/a", "nan", "-", "007", "TRUE", "1e5", "2024-01-02",
     "=1+1", "1,000", " x ", "'5", "#N/A", "+44 20"],
)  # fmt: skip
def test_a_cell_stays_the_text_that_was_typed(text: str) -> None:
    quoted = f'"{text}"' if "," in text else text
    assert cells(read(f"name,dish\n{quoted},Plum cake\n")) == [(text, "Plum cake")]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_encodings_that_can_be_told_for_certain(encoding: str) -> None:
    # RFC 3629 section 6 and RFC 2781 section 3.2: the mark at the start of a text.
    table = read('"guest"\t"table"\r\n"Zoë"\t"3"\r\n', encoding)
    assert table.headings == ("guest", "table")
    assert cells(table) == [("Zoë", "3")]
    assert table.source.encoding == encoding.removesuffix("-sig")


def test_an_older_encoding_is_guessed_and_told() -> None:
    table = read("name\nIda\nJürgen\n", "cp1252")
    assert cells(table) == [("Ida",), ("Jürgen",)]
    assert table.source.encoding == "cp1252"
    (finding,) = table.findings
    assert finding.rule == "encoding-guessed"
    assert table.source.decisions == (f"{finding.says} {finding.do}",)


def test_row_numbers_count_what_a_spreadsheet_shows() -> None:
    table = read('\nname,dish\n\n"Ida\nMay",Pie\n,\nBo,Jam\n')
    assert [row.number for row in table.rows] == [4, 6]


def test_every_uneven_row_is_told() -> None:
    told = problems("table,guest,wish\n1,Ana,Hip, hip\n2,Bo,Hooray\n3,Cy\n")
    assert [line.split(":")[0] for line in told] == [
        "picnic.csv, row 2",
        "picnic.csv, row 4",
    ]
    assert "4 values under 3 headings" in told[0]
    assert "2 values under 3 headings" in told[1]


def test_two_equal_headings_and_a_missing_one_are_told_together() -> None:
    told = problems("name,dish,dish,\nIda,Pie,Jam,Tea\n")
    assert len(told) == 2
    assert "columns B and C" in told[1]
    assert "column D" in told[0]


@pytest.mark.parametrize(
    ("text", "place", "says"),
    [
        ('name,dish\nIda,"Pie\nBo,Jam\n', "picnic.csv, row 2", "never closed"),
        ('name,dish\nIda,"Pie\nBo" x,Jam\n', "picnic.csv, row 2", "does not close a cell"),
        ("", "picnic.csv", "empty"),
        ("\n\n", "picnic.csv", "empty"),
        ("name,dish\n", "picnic.csv", "no row under it"),
        ("name\n\0\n", "picnic.csv, line 2", "NUL"),
    ],
)
def test_what_cannot_be_read_is_told(text: str, place: str, says: str) -> None:
    told = problems(text)
    assert len(told) == 1
    assert told[0].startswith(place + ": ")
    assert says in told[0]


def test_one_column_needs_no_delimiter() -> None:
    table = read("name\nIda\nBo\n")
    assert (table.source.delimiter, cells(table)) == (None, [("Ida",), ("Bo",)])


def test_both_forms_of_the_picnic_list_are_the_same_table() -> None:
    text = read_table(folder("samples") / "picnic.csv")
    book = read_table(folder("samples") / "picnic.xlsx")
    assert len(text.rows) == 48
    assert (text.headings, text.rows) == (book.headings, book.rows)
    assert {"Null", "NA", "007"} <= {row.cells[0] for row in text.rows}


# What Python's csv writer does with line breaks and quote marks, RFC 4180 also says.
any_cell = st.text(
    st.characters(codec="utf-8", exclude_characters="\0\r"), max_size=12
) | st.sampled_from(["Null", "007", '"', '""', ',";\t', "\n", " ", '"a",b', "Zoë\n\n"])


@settings(deadline=None)  # a slow machine is no fault
@given(
    st.lists(st.tuples(any_cell, any_cell, any_cell), min_size=1, max_size=6),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["\r\n", "\n"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
)
def test_what_python_writes_is_read_back(
    rows: list[tuple[str, str, str]], delimiter: str, end: str, encoding: str
) -> None:
    # A row of spaces alone is blank to the eye, and is told as such.
    wanted = [(n, row) for n, row in enumerate(rows, 2) if "".join(row).strip()]
    assume(wanted)
    file = io.StringIO()
    writer = csv.writer(file, delimiter=delimiter, lineterminator=end)
    writer.writerow(HEADINGS)
    writer.writerows(rows)
    table = read(file.getvalue(), encoding)
    assert [(row.number, row.cells) for row in table.rows] == wanted


# ---- What a file is, its bytes tell ----


def read_bytes(tmp_path: Path, data: bytes, name: str = "picnic.csv") -> Table:
    path = tmp_path / name
    path.write_bytes(data)
    return read_table(path)


def test_a_workbook_called_csv_and_a_text_called_xlsx(tmp_path: Path) -> None:
    book = (folder("samples") / "picnic.xlsx").read_bytes()
    assert len(read_bytes(tmp_path, book, "picnic.csv").rows) == 48
    assert cells(read_bytes(tmp_path, b"name\nIda\n", "picnic.xlsx")) == [("Ida",)]


# The first bytes: [MS-CFB] 2.2, ISO 32000-1 7.5.2, PNG (third edition) 5.2, ISO/IEC
# 10918-1 annex B; the rest common practice, no source.
@pytest.mark.parametrize(
    ("data", "says"),
    [
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600),
            "old .xls workbook, or one with",
        ),
        (b"%PDF-1.7\n", "this is a PDF"),
        (b"\x89PNG\r\n\x1a\n" + bytes(9), "this is a picture"),
        (b"\xff\xd8\xff\xe0" + bytes(9), "this is a picture"),
        (b"{\\rtf1 hello}", "text document"),
        (b"\xef\xbb\xbf<?xml version='1.0'?><svg/>", "web page or a drawing"),
        (b"\n<HTML><table>", "web page or a drawing"),
        (b"\x7fELF" + bytes(20), "neither a spreadsheet nor text"),
        (b"PK\x03\x04 and then nothing", "damaged or cut off"),
        (b"", "empty"),
    ],
)
def test_other_files_are_refused_by_name(tmp_path: Path, data: bytes, says: str) -> None:
    with pytest.raises(InputError) as caught:
        read_bytes(tmp_path, data)
    (problem,) = caught.value.problems
    assert problem.place == "picnic.csv"
    assert says in problem.says
    assert problem.do


def test_no_file_a_folder_and_an_impossible_name(tmp_path: Path) -> None:
    for path, says in [
        (tmp_path / "guests.csv", "no such file"),
        (tmp_path, "this is a folder"),
        (tmp_path / ("x" * 999), "cannot be read"),
        (tmp_path / "a\0b", "cannot be read"),
    ]:
        with pytest.raises(InputError, match=says):
            read_table(path)


def test_a_file_that_may_not_be_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def barred(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", barred)
    with pytest.raises(InputError, match="may not be read"):
        read_table(tmp_path / "picnic.csv")


def test_a_csv_file_has_no_worksheet(tmp_path: Path) -> None:
    path = tmp_path / "picnic.csv"
    path.write_text("name\nIda\n")
    with pytest.raises(InputError, match="a CSV file has no worksheet 'guests'"):
        read_table(path, worksheet="guests")


def test_a_huge_file_is_not_read_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("personalize.messages.read.MOST_BYTES", 1000)
    with pytest.raises(InputError, match="larger than"):
        read_bytes(tmp_path, b"name\n" + b"Ida\n" * 300)
