"""From a table to messages, and the choice of some of them by their row numbers."""

import re
from collections.abc import Iterator, Mapping, Sequence

from personalize.errors import InputError, Problem
from personalize.finding import Finding, Severity
from personalize.messages.reserved import (
    COPIES,
    PICTURE,
    RESERVED,
    TEXT_COLOUR,
    VERSION,
    near,
    reserved,
)
from personalize.messages.table import Message, Row, Table
from personalize.rules import Rule

MOST_COPIES = 10_000
"""Most copies of one message. Judgement: ten thousand pieces are over a thousand sheets,
and a larger number is a slip (a year, a telephone number in the wrong column)."""

ROWS = "--rows"
_OWN_FIELDS = (VERSION, TEXT_COLOUR, PICTURE)
"""Reserved headings whose cells a message keeps as they are, in its own order."""

_FIGURES = re.compile(r"\d{1,9}")
# A sign before three figures groups thousands or starts decimals, by country.
_GROUPED = re.compile(r"\d{1,3}(?:[.,'’ \u00a0\u202f]\d{3})+")
_DECIMAL = re.compile(r"-?\d+[.,]\d+")
_LOOKS = {
    # Words for colours are words for many other things: only figures are sure.
    TEXT_COLOUR: re.compile(r"#[0-9a-f]{3}(?:[0-9a-f]{3})?", re.IGNORECASE),
    PICTURE: re.compile(r".+\.(?:png|jpe?g)", re.IGNORECASE),
}
_RANGE = re.compile(r"([0-9]{1,9})(?:\s*([-–])\s*([0-9]{1,9})?)?")


class Words(Mapping[str, str]):
    """Cells of one row by their headings; the same headings serve all rows.

    A dictionary for each message would take twice the memory of all the rest of it.
    """

    __slots__ = ("_at", "_cells")

    def __init__(self, at: Mapping[str, int], cells: tuple[str, ...]) -> None:
        self._at = at
        self._cells = cells

    def __getitem__(self, heading: str) -> str:
        return self._cells[self._at[heading]]

    def __iter__(self) -> Iterator[str]:
        return iter(self._at)

    def __len__(self) -> int:
        return len(self._at)

    def __repr__(self) -> str:
        return repr(dict(self))


def messages_of(table: Table) -> tuple[Message, ...]:
    """Make a message of each row.

    The headings ``copies``, ``version``, ``text_colour`` and ``picture``, in upper or lower
    case, are reserved: they are not among the words. Copies are a whole number from 0 to
    `MOST_COPIES`, spaces at both ends aside, and 1 where the cell is blank. The others lose
    the spaces at both ends.

    Raises
    ------
    InputError
        A cell is no number of copies, or a reserved heading stands twice. All such
        problems are told at once.
    """
    kinds = [reserved(heading) for heading in table.headings]
    problems = list(_doubled(table, kinds))
    at = {h: i for i, (h, k) in enumerate(zip(table.headings, kinds, strict=True)) if not k}
    copies_at = kinds.index(COPIES) if COPIES in kinds else None
    fields = [kinds.index(k) if k in kinds else None for k in _OWN_FIELDS]
    messages = []
    for row in table.rows:
        copies: int | None = 1
        if copies_at is not None and (cell := row.cells[copies_at].strip()):
            copies = _count(cell)
        if copies is None or problems:
            # Nothing comes of the messages any more: every problem is looked for.
            problems += _no_counts(table, row, kinds)
        else:
            own = ("" if i is None else row.cells[i].strip() for i in fields)
            messages.append(Message(row.number, Words(at, row.cells), copies, *own))
    if problems:
        raise InputError(problems)
    return tuple(messages)


def heading_findings(table: Table) -> tuple[Finding, ...]:
    """Tell which headings of words are near to a reserved one that is not there.

    A column headed "Qty" is taken for words and gives one piece for each row, so the maker
    is asked. Headings such as "number" or "colour", which may well be words, are told only
    where all their cells could stand under the other one.
    """
    kinds = {reserved(heading) for heading in table.headings}
    found = []
    for column, heading in enumerate(table.headings):
        kind, sure = near(heading)
        if kind is None or kind in kinds or reserved(heading):
            continue
        if not sure and not _all_are(kind, [row.cells[column] for row in table.rows]):
            continue
        found.append(
            Finding(
                Rule(f"heading-near-{kind}"),
                Severity.NOTE,
                f"The column {heading!r} is taken for words.",
                f"Did you mean {kind!r}? Then give it that heading.",
                row=table.source.heading_row,
                column=heading,
            )
        )
    return tuple(found)


def _all_are(kind: str, cells: Sequence[str]) -> bool:
    """Tell whether cells look like those of a kind, blank ones aside, and at least one."""
    filled = [cell.strip() for cell in cells if cell.strip()]
    if kind == COPIES:
        return bool(filled) and all(_count(cell) is not None for cell in filled)
    look = _LOOKS[kind]
    return bool(filled) and all(look.fullmatch(cell) for cell in filled)


def choose_rows(messages: Sequence[Message], text: str) -> tuple[Message, ...]:
    """Choose messages by the row numbers that a spreadsheet program shows.

    Parameters
    ----------
    messages
        All of the run, in the order of their rows.
    text
        Numbers and ranges between commas: ``3,5-9,12-`` (the last one: 12 and all after).
        A range may run over blank rows, but not past the first or the last message.

    Returns
    -------
    tuple of Message
        The chosen ones, each once, in the order of their rows.

    Raises
    ------
    InputError
        A part cannot be read, runs backwards, or names a row that is no message.
    """
    rows = [message.row for message in messages]
    chosen: set[int] = set()
    problems = []
    for part in text.split(","):
        told = _rows_of(part.strip(), rows)
        if isinstance(told, Problem):
            problems.append(told)
        else:
            chosen |= told
    if problems:
        raise InputError(problems)
    return tuple(message for message in messages if message.row in chosen)


def _doubled(table: Table, kinds: Sequence[str | None]) -> Iterator[Problem]:
    for kind in RESERVED:
        same = [h for h, k in zip(table.headings, kinds, strict=True) if k == kind]
        if len(same) > 1:
            yield Problem(
                table.source.file,
                f"the headings {' and '.join(same)} mean the same.",
                f"Keep one column headed {kind}.",
            )


def _count(cell: str) -> int | None:
    number = _whole(cell)
    return None if number is None or number > MOST_COPIES else number


def _no_counts(table: Table, row: Row, kinds: Sequence[str | None]) -> Iterator[Problem]:
    """Tell which cells of a row are no number of copies."""
    for heading, kind, cell in zip(table.headings, kinds, row.cells, strict=True):
        if kind == COPIES and cell.strip() and _count(cell.strip()) is None:
            yield Problem(
                f"{table.source.file}, row {row.number}, column {heading}",
                _no_count(cell),
                f"Write a whole number from 0 to {MOST_COPIES} in plain figures, "
                "or leave the cell empty for one copy.",
            )


def _no_count(cell: str) -> str:
    """Say why a cell is no number of copies."""
    text = cell.strip()
    if _GROUPED.fullmatch(text):
        return (
            f"{cell!r} can be read as thousands in one country and as a part of one in "
            "another, so it is no number of copies."
        )
    if _DECIMAL.fullmatch(text):
        return f"{cell!r} is no whole number, and a part of a copy cannot be made."
    return f"{cell!r} is no number of copies."


def _whole(text: str) -> int | None:
    """Read a whole number in the figures of any script; None for anything else."""
    return int(text) if _FIGURES.fullmatch(text) else None


def _rows_of(part: str, rows: Sequence[int]) -> set[int] | Problem:
    """Find the rows that one part of a choice names."""
    asked = f"Give rows from {rows[0]} to {rows[-1]}" if rows else "Add rows first"
    match = _RANGE.fullmatch(part)
    if match is None:
        return Problem(
            ROWS,
            f"{part!r} is no row number and no range." if part else "a part is empty.",
            "Write numbers and ranges with commas between them, such as 3,5-9,12-.",
        )
    first = int(match[1])
    end = int(match[3]) if match[3] else None
    if end is not None and end < first:
        return Problem(ROWS, f"{part} runs backwards.", f"Write {end}-{first}.")
    open_end = rows[-1] if match[2] and rows else first
    last = open_end if end is None else end
    found = {row for row in rows if first <= row <= last}
    if found and rows[0] <= first and last <= rows[-1]:
        return found
    lacking = sorted({number for number in (first, end or first) if number not in found})
    says = f"there is no message in row {' or '.join(map(str, lacking))}."
    return Problem(ROWS, says, f"{asked}, as the spreadsheet numbers them.")
