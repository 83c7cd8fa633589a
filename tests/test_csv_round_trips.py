"""CSV files that were written come back the same; options, limits, a published set."""

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from personalize.errors import InputError
from personalize.messages.csv import read_csv
from personalize.messages.read import read_table
from personalize.messages.table import Table


def test_wrong_options_are_told_together(tmp_path: Path) -> None:
    path = tmp_path / "g.csv"
    path.write_text("name\nIda\n")
    with pytest.raises(InputError) as caught:
        read_table(path, worksheet="x", encoding="rot13", delimiter="stars", heading_row=0)
    assert [problem.place for problem in caught.value.problems] == [
        "--heading-row",
        "g.csv",
        "--encoding",
        "--delimiter",
    ]


def test_a_workbook_has_no_encoding_and_no_delimiter(tmp_path: Path) -> None:
    path = tmp_path / "g.xlsx"
    path.write_bytes(b"PK\x03\x04")
    with pytest.raises(InputError) as caught:
        read_table(path, encoding="cp1252", delimiter=",")
    assert [problem.place for problem in caught.value.problems] == [
        "--encoding",
        "--delimiter",
    ]


def test_options_reach_the_reader(tmp_path: Path) -> None:
    path = tmp_path / "g.csv"
    path.write_bytes("x;y\nname;dish\nJiří;a,b\n".encode("cp1250"))
    table = read_table(path, encoding="cp1250", delimiter=";", heading_row=2)
    assert table.headings == ("name", "dish")
    assert table.rows[0].cells == ("Jiří", "a,b")


def test_utf_16_without_a_mark_is_a_list_and_no_binary(tmp_path: Path) -> None:
    path = tmp_path / "g.csv"
    path.write_bytes("name\nZoë\n".encode("utf-16-le"))
    assert read_table(path).rows[0].cells == ("Zoë",)


# The limits of a worksheet: "Specifications and limits" of a spreadsheet program's maker.
@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b",".join(b"h%d" % i for i in range(16_385)) + b"\n", "16,385 values"),
        (b"name,x\n" + b"a" * 32_768 + b",1\n", "32,768 letters in one cell"),
        (b'name,x\n"' + b"a\n" * 16_384 + b'",1\n', "32,768 letters in one cell"),
        (b"n\n" + b"a\n" * 1_048_576, "more than 1,048,576 rows"),
        (b",\n" * 4_000_001, "more than 8 million cells"),
    ],
    ids=["columns", "letters", "letters in quote marks", "rows", "cells"],
)
def test_more_than_a_worksheet_holds_is_refused(data: bytes, says: str) -> None:
    with pytest.raises(InputError, match=says):
        read_csv(data, "g.csv")


@pytest.mark.parametrize(
    "data",
    [
        b",".join(b"h%d" % i for i in range(16_384)) + b"\n" + b"," * 16_383 + b"x\n",
        b"name,x\n" + b"a" * 32_767 + b",1\n",
    ],
    ids=["columns", "letters"],
)
def test_what_a_worksheet_holds_is_read(data: bytes) -> None:
    assert len(read_csv(data, "g.csv").rows) == 1


def test_a_long_file_is_cut_at_the_delimiter_that_suits_its_end() -> None:
    # The sample at the top fits commas too; the whole file fits semicolons alone.
    text = "a,b;c\n" + "1,2;3\n" * 20_000 + "1;2\n"
    table = read_csv(text.encode(), "g.csv")
    assert table.source.delimiter == ";"
    assert table.rows[-1].cells == ("1", "2")
    text = "a,b;c\n" + "1,2;3\n" * 20_000 + "1,2\n"
    assert read_csv(text.encode(), "g.csv").source.delimiter == ","


# ---- Round trips ----

SEEN = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z")) | st.sampled_from(" ,;\t|"),
    min_size=1,
    max_size=12,
).filter(lambda text: text.strip() != "")


@settings(deadline=None)  # a slow machine is no fault
@given(
    st.lists(st.tuples(SEEN, SEEN), min_size=1, max_size=6),
    st.sampled_from([",", ";", "\t", "|"]),
    st.sampled_from(["\r\n", "\n", "\r"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32"]),
    st.booleans(),
)
def test_what_is_written_is_read_back(
    rows: list[tuple[str, str]], delimiter: str, end: str, encoding: str, sep: bool
) -> None:
    def quoted(cell: str) -> str:
        return '"' + cell.replace('"', '""') + '"'

    lines = [delimiter.join(map(quoted, row)) for row in [("name", "dish"), *rows]]
    head = [f"sep={delimiter}"] if sep else []
    data = "".join(line + end for line in [*head, *lines]).encode(encoding)
    table = read_csv(data, "g.csv")
    assert table.headings == ("name", "dish")
    assert [(row.number, row.cells) for row in table.rows] == list(enumerate(rows, 2))
    assert table.source.delimiter == delimiter


WESTERN = [
    "Jürgen", "Zoë", "Renée", "François", "Müller", "Strauß", "Ångström", "Søren", "Bjørn",
    "Núñez", "João", "Conceição", "Íñigo", "Frédérique", "Grün", "Köhler", "Jäger", "Peña",
    "Muñoz", "Élodie", "Benoît",
]  # fmt: skip


@settings(deadline=None)
@given(st.lists(st.sampled_from(WESTERN), min_size=3, max_size=9, unique=True))
def test_western_names_in_cp1252_come_back_with_a_warning(names: list[str]) -> None:
    data = "".join(f"{name}\n" for name in ["name", *names]).encode("cp1252")
    table = read_csv(data, "g.csv")
    assert [row.cells[0] for row in table.rows] == names
    (finding,) = table.findings
    assert any(repr(name) in finding.says for name in names)


# ---- A published set of files ----


@pytest.fixture(scope="session")
def spectrum(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of the package csv-spectrum: CSV files, each with its cells as JSON."""
    npm = shutil.which("npm")
    assert npm is not None, "This test needs npm on the PATH to fetch csv-spectrum."
    folder = tmp_path_factory.mktemp("spectrum")
    fetched = subprocess.run(
        [npm, "pack", "--silent", "csv-spectrum@2.0.0"],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    assert fetched.returncode == 0, f"npm could not fetch csv-spectrum: {fetched.stderr}"
    shutil.unpack_archive(folder / "csv-spectrum-2.0.0.tgz", folder, filter="data")
    return folder / "package"


def test_csv_spectrum(spectrum: Path) -> None:
    files = sorted((spectrum / "csvs").glob("*.csv"))
    assert len(files) == 12
    for path in files:
        wanted = json.loads((spectrum / "json" / f"{path.stem}.json").read_text("utf-8"))
        rows = [wanted] if isinstance(wanted, dict) else wanted
        # We write every line break as one sign; the set keeps the two of Windows.
        cells = [{k: v.replace("\r\n", "\n") for k, v in row.items()} for row in rows]
        if path.stem == "location_coordinates":
            # The set contradicts itself here: the CSV file has another telephone number.
            cells[0]["Contact Phone Number"] = "2095257564"
        assert as_dicts(read_table(path)) == cells, path.name


def as_dicts(table: Table) -> list[dict[str, str]]:
    return [dict(zip(table.headings, row.cells, strict=True)) for row in table.rows]
