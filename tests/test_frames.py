"""Tables go to pandas and back unchanged; what a frame has lost is not made up."""

import datetime

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from personalize.bundled import folder
from personalize.errors import InputError
from personalize.messages.frames import frame_from_table, table_from_frame
from personalize.messages.read import read_table
from personalize.messages.table import Row, Source, Table


def problems(frame: pd.DataFrame) -> list[str]:
    with pytest.raises(InputError) as caught:
        table_from_frame(frame, "guests")
    return [str(problem) for problem in caught.value.problems]


def test_the_picnic_list_there_and_back() -> None:
    table = read_table(folder("samples") / "picnic.csv")
    frame = frame_from_table(table)
    assert frame.index.name == "row"
    assert list(frame.index) == [row.number for row in table.rows]
    assert set(frame.dtypes) == {np.dtype(object)}
    back = table_from_frame(frame, "picnic")
    assert back == Table(Source("picnic", heading_row=1), table.headings, table.rows)


cell = st.text(st.characters(codec="utf-8", exclude_characters="\0\r"), max_size=8)


@settings(deadline=None)  # a slow machine is no fault
@given(
    st.dictionaries(
        st.integers(2, 500),
        st.tuples(cell, cell).filter(lambda row: "".join(row).strip()),
        min_size=1,
        max_size=8,
    )
)
def test_any_table_there_and_back(rows: dict[int, tuple[str, str]]) -> None:
    table = Table(
        Source("table", heading_row=1),
        ("name", "dish"),
        tuple(Row(number, rows[number]) for number in sorted(rows)),
    )
    assert table_from_frame(frame_from_table(table)) == table


def test_rows_count_from_two_and_blank_ones_are_left_out() -> None:
    frame = pd.DataFrame({" name ": ["Ida", "", "Null"], "seat": [7, 8, 9]}, dtype=object)
    frame.loc[1, "seat"] = ""
    table = table_from_frame(frame)
    assert table.headings == ("name", "seat")
    assert table.rows == (Row(2, ("Ida", "7")), Row(4, ("Null", "9")))


@pytest.mark.parametrize("kind", ["int64", "uint8", "Int64", object])
def test_whole_numbers_become_plain_figures(kind: str | type) -> None:
    seats = pd.Series([7, 200], dtype=kind)
    frame = pd.DataFrame({"seat": seats})
    assert [row.cells for row in table_from_frame(frame).rows] == [("7",), ("200",)]


def test_line_breaks_are_written_in_one_way() -> None:
    table = table_from_frame(pd.DataFrame({"name": ["Ida\r\nBo\rCy"]}))
    assert table.rows[0].cells == ("Ida\nBo\nCy",)


@pytest.mark.parametrize(
    ("cells", "says"),
    [
        ([1.0, 2.5], "a decimal number in row 2 and 1 more"),
        (["Ida", None], "no value at all in row 3"),
        (["Ida", float("nan")], "no value at all in row 3"),
        (["Ida", pd.NA], "no value at all in row 3"),
        ([pd.NaT, "Ida"], "no value at all in row 2"),
        ([1, np.nan], "a decimal number in row 2"),
        ([True, False], "a truth value in row 2 and 1 more"),
        (["Ida", True], "a truth value in row 3"),
        ([datetime.date(2027, 6, 4)], "a date or a time in row 2"),
        ([pd.Timestamp("2027-06-04")], "a date or a time in row 2"),
        ([["Ida"]], "a value of type list in row 2"),
        ([b"Ida"], "a value of type bytes in row 2"),
        (["\ud83c"], "a character that no text has in row 2"),
        (["I\0da"], "a character that no text has in row 2"),
    ],
)
def test_what_a_frame_has_lost_is_refused(cells: list[object], says: str) -> None:
    series = pd.Series(cells, dtype=object if "Ida" in cells else None)
    told = problems(pd.DataFrame({"name": series}))
    assert told[0].startswith(f"guests, column name: there is {says}.")
    assert "Turn the column into text" in told[0]


def test_all_problems_are_told_one_for_a_column_and_kind() -> None:
    frame = pd.DataFrame(
        {"a": [1.5, None, 2.5], "b": [None, True, "Ida"], 3: ["x", "y", "z"]}
    ).astype({"a": object})
    told = problems(frame)
    assert [line.split(": ")[0] for line in told] == [
        "guests, column a", "guests, column a", "guests, column b", "guests, column b",
        "guests, column number 3",
    ]  # fmt: skip


def test_headings_are_checked_as_in_any_table() -> None:
    frame = pd.DataFrame([["Ida", "Pie"]], columns=["dish", "dish "])
    (told,) = problems(frame)
    assert told.startswith("guests, row 1, columns A and B: ")
    assert "nothing in it" in problems(pd.DataFrame())[0]
    assert "no row under it" in problems(pd.DataFrame({"name": []}, dtype=object))[0]


@pytest.mark.parametrize("index", [[3, 2], [2, 2], [1, 2], ["a", "b"], [2.0, 3.0]])
def test_row_numbers_that_do_not_rise(index: list[object]) -> None:
    frame = pd.DataFrame({"name": ["Ida", "Bo"]}, index=pd.Index(index, name="row"))
    (told,) = problems(frame)
    assert "index 'row'" in told
