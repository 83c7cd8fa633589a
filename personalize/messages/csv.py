"""Read a CSV file: text, with cells kept exactly as they were typed.

The form is RFC 4180 (https://www.rfc-editor.org/rfc/rfc4180), with semicolons, tabs and
pipes as further delimiters. We cut the records ourselves, because a reader of the standard
library drops quote marks that somebody typed by hand, and cannot say where an open one
began.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache

from personalize.errors import InputError, Problem, refuse
from personalize.messages.decode import decode
from personalize.messages.grid import (
    DELIMITER_NAMES,
    MOST_COLUMNS,
    MOST_LETTERS,
    MOST_ROWS,
    Record,
    column_letters,
    filled,
    numbers_told,
    plain_breaks,
    runs_of,
    table_of,
    uneven,
)
from personalize.messages.heading import heading_at
from personalize.messages.table import BY_EVIDENCE, ReadOptions, Source, Table

DELIMITERS = ("\t", ";", ",", "|")
"""In the order of trust where more than one gives every row the heading's width: a tab
cannot be typed into a cell, and a list with semicolons often has decimal commas (common
practice, no source)."""

DELIMITER = "--delimiter"
NO_DELIMITER = "\0"
"""Stands for one column; no text has it."""

_SAMPLE = 1 << 16
"""Letters at the top of a long file that tell which delimiter to try first. Judgement."""
_MOST_CELLS = 8_000_000
"""Cells of one file, at most. Judgement: a million rows of eight columns."""

_QUOTED = re.compile(r'"((?:[^"]++|"")*+)("?)')
# A first line that names the delimiter (common practice, no source).
_SEP_LINE = re.compile(r'("?)sep=([^\w\s"]|\t)\1[,;|\t]*(?:\n|$)', re.IGNORECASE)


@dataclass(slots=True)
class _Quotes:
    """What the quote marks of one reading were like."""

    stray: list[int] = field(default_factory=list)
    """Rows with marks that are not the file's own quoting; they are kept as typed."""
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
    heading_at: int
    uneven: int

    @property
    def fits(self) -> bool:
        """Say whether every row has the heading's width and every quote mark a partner."""
        return not (self.uneven or self.quotes.torn or self.quotes.unclosed)

    @property
    def splits(self) -> bool:
        """Say whether the delimiter makes columns, and not only pieces of sentences.

        One that the heading row lacks does so only where it cuts every row below alike:
        a heading over the second column is then missing, and that has to be told.
        """
        if len(self.records[self.heading_at][1]) > 1:
            return True
        body = self.records[self.heading_at + 1 :]
        width = len(body[0][1]) if len(body) > 1 else 1
        return width > 1 and all(
            len(cells) == width and not any(cell.startswith(" ") for cell in cells[1:])
            for _, cells in body
        )

    @property
    def badness(self) -> tuple[bool, int, int]:
        """Order readings: whole ones first, then those with fewer uneven rows and marks."""
        return not self.fits, self.uneven, len(self.quotes.stray)


def read_csv(data: bytes, name: str, options: ReadOptions = BY_EVIDENCE) -> Table:
    r"""Read the CSV file `data`, which messages call `name`.

    The delimiter (comma, semicolon, tab or pipe) is the one that gives every row as many
    values as there are headings, unless a first line such as ``sep=;`` or `options` names
    it. Row numbers count records from 1, heading and blank rows included, as a spreadsheet
    program does (which does not show a ``sep=`` line). Blank rows and titles above the
    headings are left out and told in the source's decisions. Cells are kept exactly, but
    for line breaks, which become ``\n``; headings lose the spaces at both ends. Quote
    marks that somebody typed by hand, and that are no quoting, stay.

    Raises
    ------
    InputError
        The file is empty, no text (see `decode`) or too large, a quote mark is not
        closed, an option cannot be used, or its rows and headings do not match (see
        `grid.table_of`).
    """
    wanted = delimiter_named(options.delimiter)
    decoded = decode(data, name, options.encoding)
    text, sep, told = _sep_line(plain_breaks(decoded.text))
    if wanted is not None and wanted not in text and any(d in text for d in DELIMITERS):
        says = f"there is no {DELIMITER_NAMES[wanted]} in {name}."
        raise refuse(DELIMITER, says, f"Leave {DELIMITER} out, or give another.")
    reading = _best_reading(text, name, wanted or sep, options.heading_row)
    if reading is None:
        raise refuse(name, "the file is empty.", "Put headings and rows in it.")
    problems = list(_quote_problems(reading, name))
    if problems:
        raise InputError(problems)
    one_column = len(reading.records[reading.heading_at][1]) == 1 and not reading.uneven
    source = Source(
        name,
        decoded.encoding,
        None if one_column else reading.delimiter,
        decisions=(*decoded.decisions, *told, *_stray_told(reading.quotes.stray)),
    )
    table = table_of(source, reading.records, options.heading_row)
    return Table(table.source, table.headings, table.rows, decoded.findings)


def delimiter_named(text: str | None) -> str | None:
    r"""Give the delimiter that a maker names by a word or by the character itself.

    Raises
    ------
    InputError
        It is none of comma, semicolon, tab and pipe.

    Examples
    --------
    >>> delimiter_named("semicolon"), delimiter_named("|"), delimiter_named(r"\t")
    (';', '|', '\t')
    """
    if text is None:
        return None
    for mark, word in DELIMITER_NAMES.items():
        if text == mark or text.strip().casefold() in {mark, word, repr(mark)[1:-1]}:
            return mark
    raise refuse(
        DELIMITER,
        f"{text!r} is no delimiter.",
        f"Give one of {', '.join(DELIMITER_NAMES.values())}.",
    )


def _sep_line(text: str) -> tuple[str, str | None, tuple[str, ...]]:
    """Take off a first line that names the delimiter; give the rest, the mark, the news."""
    found = _SEP_LINE.match(text)
    if found is None:
        return text, None, ()
    mark = DELIMITER_NAMES.get(found[2], repr(found[2]))
    told = f"The first line of the file says that the delimiter is {mark}; it is no row."
    return text[found.end() :], found[2], (told,)


def _best_reading(
    text: str, name: str, wanted: str | None, heading_row: int | None
) -> _Reading | None:
    """Cut `text` at the delimiter that suits it; None when it holds nothing.

    Only a delimiter that the heading row has counts. Where it has none, this is a list of
    one column.
    """
    if wanted is not None:
        return _read(text, name, wanted, heading_row)
    marks = [mark for mark in DELIMITERS if mark in text]
    if len(text) > _SAMPLE and len(marks) > 1:
        marks = _likely_first(text, name, marks, heading_row)
    best: _Reading | None = None
    too_much: InputError | None = None
    for mark in marks:
        try:
            reading = _read(text, name, mark, heading_row)
        except InputError as error:
            too_much = too_much or error
            continue
        if reading is None:
            # Nothing but delimiters and spaces.
            return None
        if reading.splits:
            best = reading if best is None else min(best, reading, key=_badness)
            if best.badness == (False, 0, 0) and len(text) > _SAMPLE:
                break
    if best is None and too_much is not None:
        raise too_much
    return best or _read(text, name, NO_DELIMITER, heading_row)


def _likely_first(
    text: str, name: str, marks: Sequence[str], heading_row: int | None
) -> list[str]:
    """Order delimiters by how well they cut the top of a long file."""
    sample = text[: text.rfind("\n", 0, _SAMPLE) + 1] or text[:_SAMPLE]

    def rank(mark: str) -> tuple[bool, tuple[bool, int, int]]:
        try:
            reading = _read(sample, name, mark, heading_row)
        except InputError:
            reading = None
        if reading is None:
            return True, (True, 0, 0)
        return not reading.splits, reading.badness

    return sorted(marks, key=rank)


def _badness(reading: _Reading) -> tuple[bool, int, int]:
    return reading.badness


def _read(text: str, name: str, delimiter: str, heading_row: int | None) -> _Reading | None:
    """Cut all of a text; None when nothing but delimiters and spaces is in it."""
    if text.count(delimiter) + text.count("\n") > _MOST_CELLS:
        raise refuse(name, "it has more than 8 million cells.", "Keep the list alone.")
    quotes = _Quotes()
    records = filled(enumerate(_records(text, name, delimiter, quotes), start=1))
    if not records:
        return None
    at = heading_at(records)
    if heading_row is not None:
        at = next((i for i, (n, _) in enumerate(records) if n == heading_row), at)
    return _Reading(delimiter, records, quotes, at, len(uneven(records[at:])))


def _records(
    text: str, name: str, delimiter: str, quotes: _Quotes
) -> Iterator[tuple[str, ...]]:
    """Cut `text` into records of cells, noting in `quotes` what the marks were like."""
    start, row, length = 0, 0, len(text)
    between = f'"{delimiter}"'
    while start < length:
        row += 1
        before = start
        end = text.find("\n", start)
        line = text[start:] if end < 0 else text[start:end]
        if '"' not in line:
            # Most lines hold no quote mark, and splitting is ten times as fast.
            cells = line.split(delimiter)
            start += len(line) + 1
        else:
            cells = line[1:-1].split(between)
            if line[0] == line[-1] == '"' and line.count('"') == 2 * len(cells):
                # Each cell in quote marks, none with more of them inside.
                start += len(line) + 1
            else:
                cells, start = _quoted_record(text, start, delimiter, row, quotes)
        if start - before > MOST_COLUMNS or row > MOST_ROWS:
            _refuse_excess(cells, row, name)
        # Python's collector of cycles need not look into tuples of text: half the time.
        yield tuple(cells)


def _refuse_excess(cells: Sequence[str], row: int, name: str) -> None:
    """Refuse what no spreadsheet program holds."""
    place = f"{name}, row {row}"
    if row > MOST_ROWS:
        raise refuse(place, f"there are more than {MOST_ROWS:,} rows.", "Split the list.")
    if len(cells) > MOST_COLUMNS:
        raise refuse(
            place,
            f"there are {len(cells):,} values, and a worksheet has {MOST_COLUMNS:,} "
            "columns.",
            "Keep the list alone in the file.",
        )
    for index, cell in enumerate(cells):
        if len(cell) > MOST_LETTERS:
            raise refuse(
                f"{place}, column {column_letters(index)}",
                f"there are {len(cell):,} letters in one cell, and a worksheet holds "
                f"{MOST_LETTERS:,}.",
                "Shorten the words; is a quote mark missing that should close a cell?",
            )


def _quoted_record(
    text: str, start: int, delimiter: str, row: int, quotes: _Quotes
) -> tuple[list[str], int]:
    """Cut one record that has quote marks; give it and where the next record starts."""
    cells = []
    while True:
        cell, start = _cell(text, start, delimiter, row, quotes)
        cells.append(cell)
        if start >= len(text) or text[start] == "\n" or len(cells) > MOST_COLUMNS:
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
    # One search for both: two would read a long line once for every cell.
    found = _end_of_cell(delimiter).search(text, start)
    end = len(text) if found is None else found.start()
    cell = text[start:end]
    if cell.lstrip().startswith('"'):
        quotes.stray.append(row)
    return cell, end


@cache
def _end_of_cell(delimiter: str) -> re.Pattern[str]:
    return re.compile(f"[{re.escape(delimiter)}\n]")


def _stray_told(rows: Sequence[int]) -> Iterator[str]:
    """Tell which cells open with a quote mark that is printed with the words."""
    if rows:
        runs = [(str(a), str(b)) for a, b in runs_of(sorted(set(rows)))]
        yield (
            f"In {numbers_told('row', runs)} a cell opens with a quote mark that its "
            "partner does not close: the marks are printed as typed."
        )


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
