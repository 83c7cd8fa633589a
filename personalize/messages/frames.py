"""Tables from and to pandas data frames, for those who prepare their lists in Python."""

import datetime
import numbers
import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from personalize.errors import InputError, Problem, refuse
from personalize.messages.grid import plain_breaks, table_of
from personalize.messages.table import Source, Table

if TYPE_CHECKING:
    import pandas as pd

ROW_INDEX = "row"
"""Name of an index that holds the row numbers of a spreadsheet."""

_HALF = re.compile("[\ud800-\udfff]")
"""Half of a character: no file can hold it."""

_AS_TEXT = (
    "Turn the column into text before, as it is to be seen, with an empty text for "
    "what is missing; or give the file itself."
)


def table_from_frame(frame: "pd.DataFrame", name: str = "table") -> Table:
    r"""Make a table of a data frame.

    Text is taken exactly, but for line breaks, which become ``\n``; whole numbers in
    plain figures. Everything else is refused:
    a frame keeps no look of a number, date or truth value (``5`` has become ``5.0``), and
    writes the names "NA" and "Null" like a missing value.

    Parameters
    ----------
    frame
        Columns with text for headings. An index named ``row`` holds the row numbers of the
        spreadsheet, rising from 2 on; without one the rows count from 2, as in a
        spreadsheet that was saved without the index.
    name
        What messages call it.

    Raises
    ------
    InputError
        Something in it is neither text nor a whole number (one problem for each column and
        kind, with the first row), the index ``row`` does not rise, or headings and rows
        do not match as in `table_of`.
    """
    columns = [list(frame.iloc[:, at]) for at in range(frame.shape[1])]
    rows = _row_numbers(frame, name)
    problems: list[Problem] = []
    for nth, heading in enumerate(frame.columns, 1):
        if not isinstance(heading, str):
            says = f"its heading {heading!r} is no text."
            problems.append(Problem(f"{name}, column number {nth}", says, "Rename it."))
        problems += _cell_problems(f"{name}, column {heading}", columns[nth - 1], rows)
    if problems:
        raise InputError(problems)
    texts = [[plain_breaks(str(cell)) for cell in column] for column in columns]
    cells = zip(*texts, strict=True)
    return table_of(
        Source(name),
        [(1, [str(heading) for heading in frame.columns]), *zip(rows, cells, strict=False)],
        1,
        whole=False,
    )


def frame_from_table(table: Table) -> "pd.DataFrame":
    """Make a data frame of a table: text in every cell, the row numbers as its index.

    The index is named ``row``, so that `table_from_frame` gives the same rows back.
    """
    import pandas as pd

    return pd.DataFrame(
        [row.cells for row in table.rows],
        columns=pd.Index(table.headings, dtype=object),
        index=pd.Index([row.number for row in table.rows], name=ROW_INDEX),
        dtype=object,
    )


def _row_numbers(frame: "pd.DataFrame", name: str) -> list[int]:
    if frame.index.name != ROW_INDEX:
        return list(range(2, len(frame) + 2))
    index = list(frame.index)
    if all(_is_whole(number) and number > 1 for number in index):
        told = [int(number) for number in index]
        if told == sorted(set(told)):
            return told
    raise refuse(
        name,
        f"its index {ROW_INDEX!r} does not hold row numbers that rise from 2 on.",
        "Sort the frame by it, or give the index another name.",
    )


def _cell_problems(
    place: str, column: Sequence[object], rows: Sequence[int]
) -> Iterator[Problem]:
    """Tell of what is no text in a column: one problem for each kind."""
    found: dict[str, list[int]] = {}
    for row, cell in zip(rows, column, strict=True):
        if not _is_text(cell) and not _is_whole(cell):
            found.setdefault(_kind(cell), []).append(row)
    for kind, at in found.items():
        more = f" and {len(at) - 1} more" if len(at) > 1 else ""
        yield Problem(place, f"there is {kind} in row {at[0]}{more}.", _AS_TEXT)


def _is_text(cell: object) -> bool:
    return isinstance(cell, str) and "\0" not in cell and not _HALF.search(cell)


def _is_whole(cell: object) -> bool:
    # A truth value is a whole number to Python, but is seen as a word.
    return isinstance(cell, numbers.Integral) and not isinstance(cell, bool)


def _kind(cell: object) -> str:
    """Name the kind of a cell in words."""
    name = type(cell).__name__
    if isinstance(cell, str):
        return "a character that no text has"
    if cell is None or name in {"NAType", "NaTType"}:
        return "no value at all"
    if name in {"bool", "bool_"}:
        return "a truth value"
    if isinstance(cell, numbers.Real) and cell != cell:
        return "no value at all"
    if isinstance(cell, numbers.Real):
        return "a decimal number"
    if isinstance(cell, datetime.date | datetime.time | datetime.timedelta):
        return "a date or a time"
    return f"a value of type {name}"
