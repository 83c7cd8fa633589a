"""The worksheets of an OpenDocument spreadsheet: OpenDocument 1.3, part 3 (the schema).

The words of a cell stand in it as its program showed them when the file was saved, so no
number format has to be applied here.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from lxml import etree

from personalize.messages.grid import MOST_COLUMNS, MOST_LETTERS, MOST_ROWS
from personalize.messages.package import (
    DamagedError,
    TooLargeError,
    elements_of,
    local,
)
from personalize.messages.seen import (
    Seen,
    error_cell,
    not_saved,
    shows_nothing,
    unreadable,
)
from personalize.messages.worksheet import Area, SeenCell, Worksheet, within

_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
_STYLE = "{urn:oasis:names:tc:opendocument:xmlns:style:1.0}"
_CALCEXT = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}"

_TAGS = (
    "style",
    "table",
    "table-row-group",
    "table-column-group",
    "table-column",
    "table-row",
)
_MOST_CELLS = 1_000_000
"""Most filled cells, each repeated one counted. Judgement: a list of 100 000 names."""
_CELL_LETTERS, _MOST_LETTERS = 1_000_000, 64_000_000
"""Most letters of a cell, of a worksheet. Judgement: one short element can stand for
thousands of spaces, so that a small file could fill the memory."""
_ERROR = re.compile(r"#(?:N/A|REF!|DIV/0!|VALUE!|NAME\?|NULL!|NUM!)|Err:[0-9]{3}")
_NOTHING = re.compile(r"0*\.?0+(?:[a-z]+|%)?")
_BLANKS = re.compile("[ \t\r\n]+")
_ENDS = re.compile("^[ \t\r\n]+|[ \t]*[\r\n][ \t\r\n]*$")
"""Blanks at both ends are none of the words: part 3, section 6.1.2. But LibreOffice saves a
space that was typed at the end of a cell as it is, so only those with a line break go."""
_HARD_SPACE, _TAB, _BREAK = "\x00", "\x01", "\x02"
"""XML can hold none of these, so they can stand for what its elements say."""
_HARD = str.maketrans({_HARD_SPACE: " ", _TAB: "\t", _BREAK: "\n"})
_ASIDE = {"note", "ruby-text"}
"""Elements of text that are not seen in its line."""
_SAVE = "Open the workbook in a spreadsheet program and save it."


@dataclass(slots=True)
class _Sheet:
    """A worksheet while it is being read."""

    title: str
    visible: bool
    row: int = 0
    column: int = 0
    cells: list[SeenCell] = field(default_factory=list)
    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: list[tuple[int, int]] = field(default_factory=list)
    merged: list[Area] = field(default_factory=list)
    letters: int = 0

    def finished(self) -> Worksheet:
        return Worksheet(
            self.title,
            tuple(self.cells),
            frozenset(self.hidden_rows),
            within((cell.column for cell in self.cells), self.hidden_columns),
            tuple(self.merged),
        )


def worksheets_of(content: bytes, part: str) -> list[tuple[Worksheet, bool]]:
    """Read all worksheets, each with whether it is visible; messages call the XML `part`.

    Raises
    ------
    DamagedError, TooLargeError
        It is no whole XML, or not as the schema says, or holds more than a list does.
    """
    reading = _Reading()
    for event, element in elements_of(content, part, _TAGS, after=False):
        if event == "start":
            reading.start(element)
        else:
            reading.end(element)
    return [(sheet.finished(), sheet.visible) for sheet in reading.sheets]


class _Reading:
    """What is known at one place of the content: styles, groups, the open worksheet."""

    def __init__(self) -> None:
        self.sheets: list[_Sheet] = []
        self._hidden_styles: set[tuple[str, str]] = set()
        self._tables: list[bool] = []
        self._closed_groups = 0

    @property
    def _sheet(self) -> _Sheet | None:
        """The open worksheet; charts and links to other files have tables of their own."""
        return self.sheets[-1] if self._tables == [True] else None

    def start(self, element: etree._Element) -> None:
        match local(element):
            case "table":
                parent = element.getparent()
                mine = parent is not None and parent.tag == f"{_OFFICE}spreadsheet"
                if parent is not None and parent.tag == f"{_TABLE}table-cell":
                    raise DamagedError("a table stands in a cell of another table")
                self._tables.append(mine)
                if self._tables == [True]:
                    visible = not self._is_hidden("table", element)
                    title = element.get(f"{_TABLE}name") or ""
                    self.sheets.append(_Sheet(title, visible))
            case "table-row-group" | "table-column-group":
                self._closed_groups += element.get(f"{_TABLE}display") == "false"

    def end(self, element: etree._Element) -> None:
        match local(element):
            case "table":
                self._tables.pop()
            case "table-row-group" | "table-column-group":
                self._closed_groups -= element.get(f"{_TABLE}display") == "false"
            case "style" if element.tag == f"{_STYLE}style":
                self._style(element)
            case "table-column" if self._sheet is not None:
                self._column(element, self._sheet)
            case "table-row" if self._sheet is not None:
                self._row(element, self._sheet)

    def _style(self, element: etree._Element) -> None:
        """Note the styles that hide a table, or make a row or column of no size."""
        for properties in element:
            sizes = (properties.get(f"{_STYLE}{name}") for name in _SIZES)
            if properties.get(f"{_TABLE}display") == "false" or any(
                size is not None and _NOTHING.fullmatch(size) for size in sizes
            ):
                family = element.get(f"{_STYLE}family") or ""
                self._hidden_styles.add((family, element.get(f"{_STYLE}name") or ""))

    def _is_hidden(self, family: str, element: etree._Element) -> bool:
        style = element.get(f"{_TABLE}style-name") or ""
        return (
            element.get(f"{_TABLE}visibility") in {"collapse", "filter"}
            or (family, style) in self._hidden_styles
            or (family != "table" and self._closed_groups > 0)
        )

    def _column(self, element: etree._Element, sheet: _Sheet) -> None:
        count = _count(element, "number-columns-repeated")
        if self._is_hidden("table-column", element):
            sheet.hidden_columns.append((sheet.column, sheet.column + count - 1))
        sheet.column += count

    def _row(self, element: etree._Element, sheet: _Sheet) -> None:
        first = sheet.row + 1
        count = _count(element, "number-rows-repeated")
        sheet.row += count
        cells = list(_cells(element, first, sheet))
        if not cells:
            return
        if sheet.row > MOST_ROWS:
            raise TooLargeError(f"{sheet.title} has more than {MOST_ROWS:,} rows")
        if len(sheet.cells) + len(cells) * count > _MOST_CELLS:
            raise TooLargeError(f"{sheet.title} has more than {_MOST_CELLS:,} cells")
        for row in range(first, first + count):
            sheet.cells += [SeenCell(row, column, seen) for column, seen in cells]
        if self._is_hidden("table-row", element):
            sheet.hidden_rows |= set(range(first, first + count))


_SIZES = ("row-height", "column-width")


def _cells(element: etree._Element, row: int, sheet: _Sheet) -> Iterator[tuple[int, Seen]]:
    """Give the filled cells of a row, and note the merged ones."""
    column = 0
    for cell in element.iterchildren(f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell"):
        count = _count(cell, "number-columns-repeated")
        seen = _seen(cell)
        if seen is not None:
            if column + count > MOST_COLUMNS:
                raise TooLargeError(f"row {row} has more than {MOST_COLUMNS:,} columns")
            sheet.letters += len(seen.text)
            if sheet.letters > _MOST_LETTERS:
                raise TooLargeError(f"{sheet.title} has far too many letters")
            for at in range(column, column + count):
                yield at, seen
        down = _count(cell, "number-rows-spanned") - 1
        right = _count(cell, "number-columns-spanned") - 1
        if (down or right) and seen is not None:
            sheet.merged.append(Area(row, column, row + down, column + right))
        column += count


def _seen(cell: etree._Element) -> Seen | None:
    """Write a cell as it is seen; None where nothing is in it.

    Its kind and value are those of part 3, sections 19.387 and 19.386.
    """
    kind = cell.get(f"{_OFFICE}value-type")
    formula = cell.get(f"{_TABLE}formula")
    lines = list(_lines(cell))
    text = "\n".join(lines)
    value = cell.get(f"{_OFFICE}{'string-value' if kind == 'string' else 'value'}")
    for name in ("date-value", "time-value", "boolean-value"):
        value = value if value is not None else cell.get(f"{_OFFICE}{name}")
    is_error = cell.get(f"{_CALCEXT}value-type") == "error"
    if is_error or (formula is not None and _ERROR.fullmatch(text)):
        return Seen(text or "#N/A", error_cell(text or "#N/A"))
    if text:
        # Gaps that line figures up in a column cannot be seen at the ends of a piece.
        return Seen(text if kind == "string" else text.strip(" "))
    if formula is not None and value is None:
        return Seen(f"={formula}", not_saved())
    if not value:
        return None
    if lines:
        zero = kind != "string" and _NOTHING.fullmatch(value) is not None
        return Seen("", shows_nothing(value, "its number format", zero=zero))
    if kind == "string":
        # Without lines of text the value is what is seen (section 19.385).
        return Seen(value)
    says = f"the value {value[:40]!r} was saved without the text that is seen."
    return Seen(value, unreadable(says, _SAVE))


def _lines(cell: etree._Element) -> Iterator[str]:
    """Give the paragraphs of a cell; comments and drawings have ones that are not its."""
    for child in cell:
        if child.tag in {f"{_TEXT}p", f"{_TEXT}h"}:
            pieces: list[str] = []
            letters = 0
            for piece in _words(child):
                pieces.append(piece)
                letters += len(piece)
                if letters > _CELL_LETTERS:
                    raise TooLargeError("it has a cell of over a million letters")
            told = _ENDS.sub("", "".join(pieces))
            yield _BLANKS.sub(" ", told).translate(_HARD)
        elif child.tag in {f"{_TEXT}list", f"{_TEXT}list-item", f"{_TEXT}list-header"}:
            yield from _lines(child)


def _words(element: etree._Element) -> Iterator[str]:
    """Give the words of a paragraph as part 3, section 6.1 says they are to be read."""
    yield element.text or ""
    for child in element:
        name = local(child)
        if not child.tag.startswith(_TEXT) or name in _ASIDE:
            pass
        elif name == "s":
            yield _HARD_SPACE * _count(child, "c", MOST_LETTERS, _TEXT)
        elif name == "tab":
            yield _TAB
        elif name == "line-break":
            yield _BREAK
        else:
            yield from _words(child)
        yield child.tail or ""


def _count(
    element: etree._Element, name: str, most: int = 10**9, space: str = _TABLE
) -> int:
    """Read how often something is repeated; once, where nothing is said."""
    text = element.get(f"{space}{name}")
    if text is None:
        return 1
    number = int(text) if re.fullmatch("[0-9]{1,9}", text.strip()) else 0
    if not 1 <= number <= most:
        raise DamagedError(f"it has a number {text[:20]!r} that counts nothing")
    return number
