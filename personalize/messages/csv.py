"""Read a CSV file: text, with cells kept exactly as they were typed.

The form is RFC 4180 (https://www.rfc-editor.org/rfc/rfc4180), with semicolons and tabs as
further delimiters. We cut the records ourselves, because a reader of the standard library
drops quote marks that somebody typed by hand, and cannot say where an open one began.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from personalize.errors import InputError, Problem, refuse
from personalize.messages.grid import Record, filled, plain_breaks, table_of, uneven
from personalize.messages.table import Source, Table

DELIMITERS = ("\t", ";", ",")
"""In the order of trust where more than one gives every row the heading's width: a tab
cannot be typed into a cell, and a list with semicolons often has decimal commas (common
practice, no source)."""

_QUOTED = re.compile(r'"((?:[^"]++|"")*+)("?)')
_UTF8_MARK = b"\xef\xbb\xbf"
_WIDE_MARKS = (b"\xff\xfe", b"\xfe\xff")
_SAVE_AS = "Save the spreadsheet as CSV UTF-8."


@dataclass(slots=True)
class _Quotes:
    """What the quote marks of one reading were like."""

    stray: int = 0
    """Cells with marks that are not the file's own quoting; the marks are kept as typed."""
    torn: list[int] = field(default_factory=list)
    """Rows whose quoted cell goes over a line break and then on after its closing mark."""
    unclosed: int | None = None
    """The row whose quoted cell reaches the end of the file."""


@dataclass(frozen=True, slots=True)
class _Reading:
    """The whole text cut up at one delimiter."""

    delimiter: str
    records: list[Record]
    quotes: _Quotes
    uneven: int

    @property
    def fits(self) -> bool:
        """Say whether every row has the heading's width and every quote mark a partner."""
        return not (self.uneven or self.quotes.torn or self.quotes.unclosed)

    @property
    def badness(self) -> tuple[bool, int, int]:
        """Order readings: whole ones first, then those with fewer uneven rows and marks."""
        return not self.fits, self.uneven, self.quotes.stray


def read_csv(data: bytes, name: str) -> Table:
    r"""Read the CSV file `data`, which messages call `name`.

    The delimiter (comma, semicolon or tab) is the one that gives every row as many values
    as there are headings. Row numbers count records from 1, heading and blank rows
    included, as a spreadsheet program does. Blank rows are left out. Cells are kept
    exactly, but for line breaks, which become ``\n``; headings lose the spaces at both
    ends. Quote marks that somebody typed by hand, and that are no quoting, stay.

    Raises
    ------
    InputError
        The file is empty or no text (see `decode_text`), a quote mark is not closed, or
        its rows and headings do not match (see `grid.table_of`).
    """
    text, encoding = decode_text(data, name)
    reading = _best_reading(plain_breaks(text))
    if reading is None:
        raise refuse(name, "the file is empty.", "Put headings and rows in it.")
    problems = list(_quote_problems(reading, name))
    if problems:
        raise InputError(problems)
    one_column = len(reading.records[0][1]) == 1
    source = Source(name, encoding, None if one_column else reading.delimiter)
    return table_of(source, reading.records)


def decode_text(data: bytes, name: str) -> tuple[str, str]:
    """Turn the bytes of a text file into text; give it with the encoding's name.

    Text is UTF-8, with or without a mark at its start, or else UTF-16 with its mark, as
    spreadsheet programs write "Unicode text". No older encoding is guessed: bytes that
    are Polish in one are French in another, and nothing in the file tells which.

    Raises
    ------
    InputError
        The bytes are no such text, or there are NUL characters in it.
    """
    encoding = "utf-16" if data.startswith(_WIDE_MARKS) else "utf-8"
    try:
        text = data.removeprefix(_UTF8_MARK).decode(encoding)
    except UnicodeDecodeError as error:
        start = error.start + len(data) - len(error.object)
        line = data.count(b"\n", 0, start) + 1
        raise refuse(
            f"{name}, line {line}",
            f"byte {start + 1} of the file (0x{data[start]:02X}) is no "
            f"{encoding.upper()} text.",
            _SAVE_AS,
        ) from error
    if (nul := text.find("\0")) >= 0:
        line = text.count("\n", 0, nul) + 1
        raise refuse(
            f"{name}, line {line}",
            "there is a NUL character, which no text has.",
            _SAVE_AS,
        )
    return text, encoding


def _best_reading(text: str) -> _Reading | None:
    """Cut `text` at the delimiter that suits it; None when it holds nothing.

    Only a delimiter that the heading row has counts. Where it has none, this is a list of
    one column, and any delimiter that leaves every row whole will do.
    """
    first = {mark: _first_record(text, mark) for mark in DELIMITERS}
    splitting = [mark for mark in DELIMITERS if len(first[mark]) > 1]
    readings = [_read(text, mark) for mark in splitting or DELIMITERS]
    return min(
        (reading for reading in readings if reading.records),
        key=lambda reading: reading.badness,
        default=None,
    )


def _first_record(text: str, delimiter: str) -> list[str]:
    return next(filter(any, _records(text, delimiter, _Quotes())), [])


def _read(text: str, delimiter: str) -> _Reading:
    quotes = _Quotes()
    records = filled(enumerate(_records(text, delimiter, quotes), start=1))
    return _Reading(delimiter, records, quotes, len(uneven(records)) if records else 0)


def _records(text: str, delimiter: str, quotes: _Quotes) -> Iterator[list[str]]:
    """Cut `text` into records of cells, noting in `quotes` what the marks were like."""
    start, row, length = 0, 0, len(text)
    while start < length:
        row += 1
        end = text.find("\n", start)
        end = length if end < 0 else end
        if text.find('"', start, end) < 0:
            # Most lines hold no quote mark, and splitting is ten times as fast.
            yield text[start:end].split(delimiter)
            start = end + 1
        else:
            cells, start = _quoted_record(text, start, delimiter, row, quotes)
            yield cells


def _quoted_record(
    text: str, start: int, delimiter: str, row: int, quotes: _Quotes
) -> tuple[list[str], int]:
    """Cut one record that has quote marks; give it and where the next record starts."""
    cells = []
    while True:
        cell, start = _cell(text, start, delimiter, row, quotes)
        cells.append(cell)
        if start >= len(text) or text[start] == "\n":
            return cells, start + 1
        start += 1


def _cell(
    text: str, start: int, delimiter: str, row: int, quotes: _Quotes
) -> tuple[str, int]:
    """Cut one cell; give it and where it ends (a delimiter, a line break or the end).

    A quote mark opens a quoted cell only if its partner closes the cell. Other marks were
    typed by hand and are words: the cell then ends at the next delimiter.
    """
    quoted = _QUOTED.match(text, start)
    if quoted is not None:
        end = quoted.end()
        if not quoted[2]:
            quotes.unclosed = row
            return quoted[1], len(text)
        if end == len(text) or text[end] in (delimiter, "\n"):
            return quoted[1].replace('""', '"'), end
        if "\n" in quoted[1]:
            quotes.torn.append(row)
    end = _cell_end(text, start, delimiter)
    cell = text[start:end]
    quotes.stray += '"' in cell
    return cell, end


def _cell_end(text: str, start: int, delimiter: str) -> int:
    """Find where a cell without quoting ends."""
    line_end = text.find("\n", start)
    line_end = len(text) if line_end < 0 else line_end
    end = text.find(delimiter, start, line_end)
    return line_end if end < 0 else end


def _quote_problems(reading: _Reading, name: str) -> Iterator[Problem]:
    """Tell where quote marks are open; what follows such a mark cannot be judged."""
    for row in reading.quotes.torn:
        yield Problem(
            f"{name}, row {row}",
            "a quote mark opens a cell here, and the next one does not close a cell.",
            "Close the cell with a quote mark, and double each mark inside it.",
        )
    if reading.quotes.unclosed is not None:
        yield Problem(
            f"{name}, row {reading.quotes.unclosed}",
            "a quote mark opens a cell here and is never closed.",
            "Close the cell with a quote mark, or take the mark away.",
        )
