"""From numbered records to a table: headings checked, blank rows and columns dropped."""

from collections.abc import Iterable, Sequence

from personalize.errors import InputError, Problem, refuse
from personalize.messages.table import Row, Source, Table

Record = tuple[int, Sequence[str]]
"""A row number as a spreadsheet program shows it, and the cells of that row."""

_DELIMITER_NAMES = {",": "comma", ";": "semicolon", "\t": "tab"}


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
    return text.replace("\r\n", "\n").replace("\r", "\n")


def filled(records: Iterable[Record]) -> list[Record]:
    """Keep the records with a cell that is not empty; the first one is the heading."""
    return [(number, cells) for number, cells in records if any(cells)]


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


def table_of(source: Source, records: Iterable[Record]) -> Table:
    """Make a table of `records`, of which the first that is not blank holds the headings.

    Headings lose the spaces at both ends; cells are kept exactly. Columns with neither a
    heading nor a value are dropped.

    Raises
    ------
    InputError
        There is nothing to read, a heading is missing or stands twice, or a row has more
        or fewer values than there are headings. All such problems are told at once.
    """
    rows = filled(records)
    if not rows:
        raise refuse(source.file, "there is nothing in it.", "Put headings and rows in it.")
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
    return _built(source, rows[1:], heading)


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
                "Write a heading, or empty the column.",
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
    mark = _DELIMITER_NAMES.get(source.delimiter or "", "delimiter")
    for number, count in uneven(rows):
        yield Problem(
            f"{source.file}, row {number}",
            f"there {'is' if count == 1 else 'are'} {_counted(count, 'value')} "
            f"under {_counted(wanted, 'heading')}.",
            f"Put quote marks round a value that holds a {mark}."
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
