"""Messages from rows, their copies, and the choice of some rows."""

import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from personalize.errors import InputError
from personalize.finding import Severity
from personalize.messages.message import (
    MOST_COPIES,
    choose_rows,
    heading_findings,
    messages_of,
)
from personalize.messages.table import Message, Row, Source, Table


def table(headings: tuple[str, ...], *rows: tuple[str, ...]) -> Table:
    numbered = tuple(Row(n, cells) for n, cells in enumerate(rows, 2))
    return Table(Source("picnic.csv"), headings, numbered)


def problems(headings: tuple[str, ...], *rows: tuple[str, ...]) -> list[str]:
    with pytest.raises(InputError) as caught:
        messages_of(table(headings, *rows))
    return [str(problem) for problem in caught.value.problems]


def test_reserved_headings_are_no_words() -> None:
    found = messages_of(
        table(("name", "copies", "version"), ("Ida ", "2", " blue "), ("Bo", "", ""))
    )
    assert found == (
        Message(2, {"name": "Ida "}, 2, "blue"),
        Message(3, {"name": "Bo"}, 1, ""),
    )


def test_reserved_headings_in_capitals_count_too() -> None:
    (message,) = messages_of(table(("name", "Copies", "VERSION"), ("Ida", "3", "red")))
    assert message == Message(2, {"name": "Ida"}, 3, "red")


@pytest.mark.parametrize(
    ("cell", "copies"),
    [("", 1), ("  ", 1), ("3", 3), (" 3 ", 3), ("0", 0), ("007", 7), ("३", 3), ("３", 3)],
)
def test_copies(cell: str, copies: int) -> None:
    (message,) = messages_of(table(("name", "copies"), ("Ida", cell)))
    assert message.copies == copies


@pytest.mark.parametrize(
    "cell",
    ["-1", "1.5", "two", "1,000", "+3", "3.0", "1e2", "²", "1_0", "NA", "2 3",
     str(MOST_COPIES + 1), "9" * 5000],
)  # fmt: skip
def test_no_number_of_copies(cell: str) -> None:
    (told,) = problems(("name", "copies"), ("Ida", cell))
    assert told.startswith("picnic.csv, row 2, column copies: ")
    assert "whole number from 0 to 10000" in told


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ("2,0", "'2,0' is no whole number, and a part of a copy cannot be made."),
        ("1.5", "'1.5' is no whole number, and a part of a copy cannot be made."),
        ("1.000", "'1.000' can be read as thousands in one country and as a part of one"),
        ("1 000", "'1 000' can be read as thousands in one country"),
        ("1\u202f000", "can be read as thousands in one country"),
        ("two", "'two' is no number of copies."),
        ("10001", "'10001' is no number of copies."),
    ],
)
def test_why_a_cell_is_no_number_of_copies(cell: str, says: str) -> None:
    (told,) = problems(("name", "copies"), ("Ida", cell))
    assert says in told


@pytest.mark.parametrize(
    ("heading", "cell", "rule"),
    [
        ("Qty", "x", "heading-near-copies"),
        ("copy", "", "heading-near-copies"),
        ("No. of copies", "2", "heading-near-copies"),
        ("number_of_copies", "2", "heading-near-copies"),
        ("How many?", "2", "heading-near-copies"),
        ("coppies", "2", "heading-near-copies"),
        ("Count", "2", "heading-near-copies"),
        ("number", " 3 ", "heading-near-copies"),
        ("ver", "", "heading-near-version"),
        ("Versions", "", "heading-near-version"),
        ("verson", "", "heading-near-version"),
    ],
)
def test_a_heading_near_to_a_reserved_one(heading: str, cell: str, rule: str) -> None:
    (finding,) = heading_findings(table(("name", heading), ("Ida", cell), ("Bo", "")))
    assert (finding.rule, finding.severity) == (rule, Severity.NOTE)
    assert finding.column == heading
    assert repr(heading) in finding.says
    assert repr(rule.removeprefix("heading-near-")) in finding.do


@pytest.mark.parametrize(
    ("headings", "cells"),
    [
        (("name", "dish"), ("Ida", "2")),
        (("name", "copies"), ("Ida", "2")),
        (("copies", "Qty"), ("2", "2")),
        (("name", "count"), ("Ida", "The Count")),
        (("name", "count"), ("Ida", "")),
        (("name", "number"), ("Ida", "20555")),
        (("copier", "person"), ("Ida", "Bo")),
        (("version", "ver"), ("blue", "2")),
    ],
)
def test_a_heading_that_is_near_to_none(
    headings: tuple[str, ...], cells: tuple[str, ...]
) -> None:
    assert heading_findings(table(headings, cells)) == ()


def test_words_are_a_mapping_without_the_reserved_headings() -> None:
    (message,) = messages_of(table(("copies", "name", "dish"), ("2", "Ida", "Jam")))
    assert dict(message.words) == {"name": "Ida", "dish": "Jam"}
    assert message.words == {"dish": "Jam", "name": "Ida"}
    assert list(message.words) == ["name", "dish"]
    assert "copies" not in message.words
    with pytest.raises(KeyError):
        message.words["copies"]
    assert repr(message.words) == "{'name': 'Ida', 'dish': 'Jam'}"
    assert pickle.loads(pickle.dumps(message)) == message


def test_all_problems_are_told_at_once() -> None:
    told = problems(("copies", "Copies"), ("x", "1"), ("1", "y"))
    assert [line.split(": ")[0] for line in told] == [
        "picnic.csv",
        "picnic.csv, row 2, column copies",
        "picnic.csv, row 3, column Copies",
    ]


MESSAGES = tuple(Message(row, {"name": str(row)}) for row in (2, 3, 5, 6, 9, 12))


def chosen(text: str) -> list[int]:
    return [message.row for message in choose_rows(MESSAGES, text)]


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("3", [3]),
        ("9,3", [3, 9]),
        ("3,3,2-3", [2, 3]),
        ("3-9", [3, 5, 6, 9]),
        ("4-8", [5, 6]),
        ("6-", [6, 9, 12]),
        ("7-", [9, 12]),
        (" 3 , 5 - 6 ", [3, 5, 6]),
        ("5–6", [5, 6]),
        ("2-12", [2, 3, 5, 6, 9, 12]),
        ("12-", [12]),
    ],
)
def test_choose_rows(text: str, rows: list[int]) -> None:
    assert chosen(text) == rows


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "a part is empty."),
        ("3,,5", "a part is empty."),
        ("three", "'three' is no row number"),
        ("-5", "'-5' is no row number"),
        ("3-5-9", "'3-5-9' is no row number"),
        ("3;5", "'3;5' is no row number"),
        ("²", "'²' is no row number"),
        ("9-3", "9-3 runs backwards. Write 3-9."),
        ("4", "no message in row 4. Give rows from 2 to 12"),
        ("1", "no message in row 1."),
        ("0", "no message in row 0."),
        ("1-5", "no message in row 1."),
        ("0-0", "no message in row 0."),
        ("9-99", "no message in row 99."),
        ("13-", "no message in row 13."),
        ("7-8", "no message in row 7 or 8."),
        ("999999999999", "is no row number"),
    ],
)
def test_rows_that_cannot_be_chosen(text: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        chosen(text)
    (problem,) = caught.value.problems
    assert problem.place == "--rows"
    assert says in f"{problem.says} {problem.do}"


def test_every_bad_part_is_told() -> None:
    with pytest.raises(InputError) as caught:
        chosen("4,3,x,9-2")
    assert len(caught.value.problems) == 3


def test_no_messages_to_choose_from() -> None:
    with pytest.raises(InputError, match="no message in row 2"):
        choose_rows((), "2-")


@given(st.sets(st.integers(2, 60), min_size=1), st.data())
def test_a_choice_of_single_rows_is_just_these(rows: set[int], data: st.DataObject) -> None:
    messages = tuple(Message(row, {}) for row in sorted(rows))
    asked = data.draw(st.lists(st.sampled_from(sorted(rows)), min_size=1))
    found = choose_rows(messages, ",".join(map(str, asked)))
    assert [message.row for message in found] == sorted(set(asked))


@given(st.sets(st.integers(2, 60), min_size=2))
def test_a_range_and_its_open_end_agree(rows: set[int]) -> None:
    messages = tuple(Message(row, {}) for row in sorted(rows))
    assert choose_rows(messages, f"{min(rows)}-{max(rows)}") == messages
    assert choose_rows(messages, f"{min(rows)}-") == messages
