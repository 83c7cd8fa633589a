"""CSV files that cannot be read."""

import pytest

from personalize.errors import InputError
from personalize.messages.csv import read_csv
from personalize.messages.table import BY_EVIDENCE, ReadOptions

NO_HEADING = (
    "there is no heading over this column, but row 2 has a value in it. Write a heading, "
    "or empty the column; if the headings are in another row, give --heading-row."
)
OR_TITLE = " Or give --heading-row, if row 1 is a title."
SAVE = "Save the spreadsheet as CSV UTF-8."

REFUSED: list[tuple[bytes, ReadOptions, list[str]]] = [
    (b"", BY_EVIDENCE, ["g.csv: the file is empty. Put headings and rows in it."]),
    (b" \n,\n", BY_EVIDENCE, ["g.csv: the file is empty. Put headings and rows in it."]),
    (
        b"name,dish\n",
        BY_EVIDENCE,
        ["g.csv: there is a heading row, but no row under it. Add a row for each piece."],
    ),
    (
        b"name,,\nIda,3,2\nBo,4,1\n",
        BY_EVIDENCE,
        [f"g.csv, row 1, column {c}: {NO_HEADING}" for c in "BC"],
    ),
    (
        b"Guests\nName,Dish\nIda,Jam\n",
        BY_EVIDENCE,
        [
            f"g.csv, row {n}: there are 2 values under 1 heading. Put quote marks round a "
            f"value that holds a comma.{OR_TITLE}"
            for n in (2, 3)
        ],
    ),
    (
        b"name,dish\nIda,Jam, red\nBo\n",
        BY_EVIDENCE,
        [
            "g.csv, row 2: there are 3 values under 2 headings. Put quote marks round a "
            "value that holds a comma.",
            "g.csv, row 3: there is 1 value under 2 headings. Fill the row up: one comma "
            "between every two values, empty or not.",
        ],
    ),
    (
        b"name,dish,name\nIda,Jam,x\n",
        BY_EVIDENCE,
        [
            "g.csv, row 1, columns A and C: these columns have the same heading, 'name'. "
            "Give each column a heading of its own."
        ],
    ),
    (
        b'name,dish\nIda,"Jam\nBo,Pie\n',
        BY_EVIDENCE,
        [
            "g.csv, row 2: a quote mark opens a cell here and is never closed. Close the "
            "cell with a quote mark, or take the mark away."
        ],
    ),
    (
        b"name\nI\0da\n",
        BY_EVIDENCE,
        [f"g.csv, line 2: there is a NUL character, which no text has. {SAVE}"],
    ),
    (
        "name\nI\0da\n".encode("utf-16"),
        BY_EVIDENCE,
        [f"g.csv, line 2: there is a NUL character, which no text has. {SAVE}"],
    ),
    (
        "name\nIda\n".encode("utf-16")[:-1],
        BY_EVIDENCE,
        [f"g.csv, line 2: byte 19 of the file (0x0A) is no UTF-16 text. {SAVE}"],
    ),
    (
        "name\nZoë, é, à, ü, ö\n".encode() + b"J\xfcrgen\n",
        BY_EVIDENCE,
        [f"g.csv, line 3: byte 28 of the file (0xFC) is no UTF-8 text. {SAVE}"],
    ),
    (
        "name\nZoë\n".encode() + b"J\xfcrgen\n",
        BY_EVIDENCE,
        [
            "g.csv, line 3: byte 12 of the file (0xFC) is no UTF-8 text, though other "
            "parts are. Save the spreadsheet as CSV UTF-8, or give --encoding."
        ],
    ),
    (
        b"name\n" + bytes(range(1, 256)) + b"\n",
        BY_EVIDENCE,
        [
            "g.csv, line 3: byte 133 of the file (0x80) is no UTF-8 text, and no older "
            "encoding makes words of the file. Save the spreadsheet as CSV UTF-8, or give "
            "--encoding."
        ],
    ),
    (
        "name\nZoë\n".encode("cp1252"),
        ReadOptions(encoding="utf-8"),
        [f"g.csv, line 2: byte 8 of the file (0xEB) is no UTF-8 text. {SAVE}"],
    ),
    (
        "name\n„Zoë“\n".encode("cp1252"),
        ReadOptions(encoding="iso8859-2"),
        [
            "--encoding: read as iso8859-2, line 2 of g.csv has the control code U+0084, "
            "so it is another encoding. Give another one, or leave --encoding out."
        ],
    ),
    (
        "name\nZoë\n".encode("utf-8-sig"),
        ReadOptions(encoding="cp1252"),
        [
            "--encoding: g.csv begins with the mark of UTF-8, so it is not cp1252. Leave "
            "--encoding out."
        ],
    ),
    (
        b"name,dish\nIda,Jam\n",
        ReadOptions(delimiter="tab"),
        ["--delimiter: there is no tab in g.csv. Leave --delimiter out, or give another."],
    ),
    (
        b"name\n\nIda\n",
        ReadOptions(heading_row=2),
        ["--heading-row: row 2 is blank. Give the number of the row with the headings."],
    ),
    (
        b"name\n\nIda\n",
        ReadOptions(heading_row=7),
        [
            "--heading-row: there is no row 7; the last one with something in it is 3. "
            "Give the number of the row with the headings."
        ],
    ),
]


@pytest.mark.parametrize(("data", "options", "expected"), REFUSED)
def test_what_cannot_be_read_is_told_in_full(
    data: bytes, options: ReadOptions, expected: list[str]
) -> None:
    with pytest.raises(InputError) as caught:
        read_csv(data, "g.csv", options)
    assert [str(problem) for problem in caught.value.problems] == expected
