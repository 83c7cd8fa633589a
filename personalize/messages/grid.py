"""From numbered records to a table: headings found and checked, blank rows dropped."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from personalize.errors import InputError, Problem, refuse
from personalize.messages.heading import heading_at
from personalize.messages.table import Row, Source, Table

Record = tuple[int, Sequence[str]]
"""A row number as a spreadsheet program shows it, and the cells of that row."""

MOST_ROWS = 1_048_576
MOST_COLUMNS = 16_384
MOST_LETTERS = 32_767
"""Rows and columns of a worksheet, and letters of one cell, at most: what the programs
themselves hold (their published "specifications and limits"). More is no list."""

DELIMITER_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "pipe"}

HEADING_ROW = "--heading-row"
_MOST_TOLD = 12
"""Runs of rows named in one sentence; a maker reads no more of them. Judgement."""
_MOST_SHOWN = 80
"""Letters of a title that are shown. Judgement."""


def column_letters(index: int) -> str:
    """Name the column at `index` (from 0) as a spreadsheet program does.

    >>> column_letters(0), column_letters(25), column_letters(26), column_letters(701)
    ('A', 'Z', 'AA', 'ZZ')
    """
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def plain_breaks(text: str) -> str:
    r"""Write every line break as ``\n``, whichever system it comes from."""
    if "\r" not in text:
        return text
    return text.replace("\r\n", "\n").replace("\r", "\n")


def filled(records: Iterable[Record]) -> list[Record]:
    """Keep the records with a cell in which more than spaces can be seen."""
    return [record for record in records if "".join(record[1]).strip()]


def uneven(records: Sequence[Record]) -> list[tuple[int, int]]:
    """Find the rows whose values do not match the heading one to one.

    `records` are filled ones, heading first. Gives row numbers, each with how many values
    that row has. Empty cells beyond the last heading are no values: a spreadsheet program
    writes them for every column that was ever touched.
    """
    width = len(records[0][1])
    least = _heading_count(records[0][1])
    return [
        (number, _used(cells) if len(cells) > least else len(cells))
        for number, cells in records[1:]
        if len(cells) != width and (len(cells) < least or any(cells[width:]))
    ]


def table_of(
    source: Source,
    records: Iterable[Record],
    heading_row: int | None = None,
    *,
    whole: bool = True,
) -> Table:
    """Make a table of `records`, one of which, mostly the first, holds the headings.

    Headings lose the spaces at both ends; cells are kept exactly. Rows above the headings,
    blank rows, and columns with neither a heading nor a value are dropped, and told in the
    source's decisions; its `heading_row` is set.

    Parameters
    ----------
    source
        Where the records come from.
    records
        Rows from the top; blank ones may be among them or not.
    heading_row
        Number of the row with the headings; None finds it (see `heading_at`).
    whole
        Whether rows that are missing from `records` are blank ones. False for a part of a
        list, such as a data frame.

    Raises
    ------
    InputError
        There is nothing to read, a heading is missing or stands twice, or a row has more
        or fewer values than there are headings. All such problems are told at once.
    """
    records = list(records)
    rows = filled(records)
    if not rows:
        raise refuse(source.file, "there is nothing in it.", "Put headings and rows in it.")
    at = heading_at(rows) if heading_row is None else _asked_heading(rows, heading_row)
    kept = {number for number, _ in rows}
    blank = _gaps(rows) if whole else list(runs_of(n for n, _ in records if n not in kept))
    told = [*_titles_told(rows, at), *_blank_told(blank)]
    rows = rows[at:]
    heading = [cell.strip() for cell in rows[0][1]]
    problems = [
        *_heading_problems(source, rows, heading),
        *_uneven_problems(source, rows),
    ]
    if problems:
        raise InputError(problems)
    if len(rows) == 1:
        raise refuse(
            source.file,
            "there is a heading row, but no row under it.",
            "Add a row for each piece.",
        )
    told += _columns_told(heading)
    source = replace(source, heading_row=rows[0][0], decisions=(*source.decisions, *told))
    return _built(source, rows[1:], heading)


def numbers_told(noun: str, runs: Sequence[tuple[str, str]]) -> str:
    """Name rows or columns, with a dash for each run of them.

    >>> numbers_told("row", [("4", "4")]), numbers_told("row", [("4", "4"), ("7", "9")])
    ('row 4', 'rows 4, 7-9')
    """
    shown = [first if first == last else f"{first}-{last}" for first, last in runs]
    more = f" and {len(shown) - _MOST_TOLD} more" if len(shown) > _MOST_TOLD else ""
    many = len(runs) > 1 or runs[0][0] != runs[0][1]
    return f"{noun}{'s' if many else ''} {', '.join(shown[:_MOST_TOLD])}{more}"


def runs_of(numbers: Iterable[int]) -> Iterator[tuple[int, int]]:
    """Join rising numbers that follow each other.

    >>> list(runs_of([4, 7, 8, 9]))
    [(4, 4), (7, 9)]
    """
    first = last = None
    for number in numbers:
        if first is None or last is None or number != last + 1:
            if first is not None and last is not None:
                yield first, last
            first = number
        last = number
    if first is not None and last is not None:
        yield first, last


def _asked_heading(rows: Sequence[Record], number: int) -> int:
    """Find the row that the maker names as the one with the headings."""
    for at, (found, _) in enumerate(rows):
        if found == number:
            return at
    last = rows[-1][0]
    says = (
        f"row {number} is blank."
        if 1 <= number < last
        else f"there is no row {number}; the last one with something in it is {last}."
    )
    raise refuse(HEADING_ROW, says, "Give the number of the row with the headings.")


def _titles_told(rows: Sequence[Record], at: int) -> Iterator[str]:
    """Tell what stands above the headings, in its own words."""
    if at:
        numbers = [(str(a), str(b)) for a, b in runs_of(n for n, _ in rows[:at])]
        words = (" ".join(" ".join(cells).split()) for _, cells in rows[:at])
        shown = ", ".join(
            repr(text if len(text) <= _MOST_SHOWN else text[: _MOST_SHOWN - 1] + "…")
            for text in list(words)[:_MOST_TOLD]
        )
        yield (
            f"The headings are in row {rows[at][0]}; what stands above them in "
            f"{numbers_told('row', numbers)} is not printed: {shown}."
        )


def _blank_told(blank: Sequence[tuple[int, int]]) -> Iterator[str]:
    """Tell which rows are blank, by the first and last of each run."""
    if blank:
        told = numbers_told("row", [(str(a), str(b)) for a, b in blank])
        one = told.startswith("row ")
        yield (
            f"{told[0].upper()}{told[1:]} {'is' if one else 'are'} blank "
            f"and {'makes' if one else 'make'} no piece."
        )


def _gaps(rows: Sequence[Record]) -> list[tuple[int, int]]:
    """Find the rows missing above the last one."""
    if rows[-1][0] == len(rows):
        return []
    befores = [0, *(number for number, _ in rows)]
    return [
        (before + 1, number - 1)
        for before, (number, _) in zip(befores, rows, strict=False)
        if number > before + 1
    ]


def _columns_told(heading: Sequence[str]) -> Iterator[str]:
    """Tell which columns have neither a heading nor a value."""
    empty = [index for index, text in enumerate(heading) if not text]
    if empty:
        runs = [(column_letters(a), column_letters(b)) for a, b in runs_of(empty)]
        told = numbers_told("column", runs)
        one = told.startswith("column ")
        yield (
            f"{told[0].upper()}{told[1:]} {'has' if one else 'have'} neither a heading "
            f"nor a value and {'is' if one else 'are'} left out."
        )


def _heading_count(cells: Sequence[str]) -> int:
    """Count the headings up to the last one that says something."""
    return max((i + 1 for i, cell in enumerate(cells) if cell.strip()), default=0)


def _used(cells: Sequence[str]) -> int:
    return max((i + 1 for i, cell in enumerate(cells) if cell), default=0)


def _heading_problems(
    source: Source, rows: list[Record], heading: list[str]
) -> Iterable[Problem]:
    """Tell which headings stand twice and which filled columns have none."""
    number = rows[0][0]
    columns: dict[str, list[str]] = {}
    for index, text in enumerate(heading):
        if text:
            columns.setdefault(text, []).append(column_letters(index))
        elif (row := _first_filled(rows[1:], index)) is not None:
            yield Problem(
                f"{source.file}, row {number}, column {column_letters(index)}",
                f"there is no heading over this column, but row {row} has a value in it.",
                "Write a heading, or empty the column; if the headings are in another "
                f"row, give {HEADING_ROW}.",
            )
    for text, letters in columns.items():
        if len(letters) > 1:
            places = f"{', '.join(letters[:-1])} and {letters[-1]}"
            yield Problem(
                f"{source.file}, row {number}, columns {places}",
                f"these columns have the same heading, {text!r}.",
                "Give each column a heading of its own.",
            )


def _first_filled(rows: list[Record], index: int) -> int | None:
    """Find the first row with a value in the column at `index`."""
    return next((n for n, cells in rows if len(cells) > index and cells[index]), None)


def _uneven_problems(source: Source, rows: list[Record]) -> Iterable[Problem]:
    """Tell which rows have more or fewer values than there are headings."""
    wanted = _heading_count(rows[0][1])
    mark = DELIMITER_NAMES.get(source.delimiter or "", "delimiter")
    # A title may have been taken for a heading.
    or_title = f" Or give {HEADING_ROW}, if row {rows[0][0]} is a title."
    for number, count in uneven(rows):
        yield Problem(
            f"{source.file}, row {number}",
            f"there {'is' if count == 1 else 'are'} {_counted(count, 'value')} "
            f"under {_counted(wanted, 'heading')}.",
            f"Put quote marks round a value that holds a {mark}." + or_title * (wanted == 1)
            if count > wanted
            else f"Fill the row up: one {mark} between every two values, empty or not.",
        )


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def _built(source: Source, rows: list[Record], heading: list[str]) -> Table:
    """Build the table from faultless rows, leaving out the columns without a heading."""
    keep = [index for index, text in enumerate(heading) if text]
    width = len(heading)
    plain = len(keep) == width
    return Table(
        source,
        tuple(heading[index] for index in keep),
        tuple(
            Row(number, tuple(cells))
            if plain and len(cells) == width
            else Row(number, tuple(cells[i] if i < len(cells) else "" for i in keep))
            for number, cells in rows
        ),
    )
