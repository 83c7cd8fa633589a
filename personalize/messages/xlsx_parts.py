"""The parts of an xlsx workbook, read as ECMA-376 part 1 sets them down.

Only what decides what is seen in a cell is read, so odd fonts, charts or filters cannot
stop us. We read the XML ourselves, because the usual library for it drops what we need:
it cannot tell a formula without a saved result from an empty cell in one reading, and it
takes ``_x005F_`` out of shared strings before anyone can tell an escape from plain words.
"""

import posixpath
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from lxml import etree

from personalize.messages.dates import DateSystem
from personalize.messages.grid import MOST_COLUMNS, MOST_ROWS
from personalize.messages.package import (
    DamagedError,
    Package,
    TooLargeError,
    elements_of,
    local,
    root_of,
)
from personalize.messages.worksheet import Area

WORKBOOK = "xl/workbook.xml"

_ESCAPE = re.compile("_x([0-9A-Fa-f]{4})_")
_REFERENCE = re.compile(r"\$?([A-Z]{1,3})\$?([1-9][0-9]{0,6})")
_ON = {"1", "true", "on"}
_OFF = {"0", "false", "off"}


@dataclass(frozen=True, slots=True)
class Sheet:
    """One worksheet of the workbook, not read yet."""

    title: str
    visible: bool
    part: str


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell that holds something, as it is stored."""

    row: int
    """From 1."""
    column: int
    """From 0."""
    kind: str
    """The type of section 18.18.11, with ``text`` for all three kinds of string."""
    value: str
    """As stored; a string with its runs joined and its escapes decoded."""
    format_code: str
    """The number format of the cell."""
    unsaved: bool = False
    """Whether it is a formula whose result was not saved."""
    formula: str = ""
    """That formula."""


@dataclass(frozen=True, slots=True)
class Grid:
    """What a worksheet holds: its filled cells by row, and what hides or joins cells."""

    cells: tuple[Cell, ...]
    """Row by row, from the left."""
    hidden_rows: frozenset[int]
    hidden_columns: tuple[tuple[int, int], ...]
    """First and last of each run of hidden columns, from 0."""
    merged: tuple[Area, ...]
    reformatted: tuple[Area, ...] = ()
    """Areas with conditions that change the number format."""
    zeros: bool = True
    """Whether cells that hold zero show it."""


GENERAL = "General"
BUILT_IN = {
    0: GENERAL, 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%",
    11: "0.00E+00", 12: "# ?/?", 13: "# ??/??", 14: "[$-x-sysdate]yyyy-mm-dd",
    15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy", 18: "h:mm AM/PM", 19: "h:mm:ss AM/PM",
    20: "h:mm", 21: "h:mm:ss", 22: "[$-x-sysdate]yyyy-mm-dd h:mm",
    37: "#,##0_);(#,##0)", 38: "#,##0_);[Red](#,##0)", 39: "#,##0.00_);(#,##0.00)",
    40: "#,##0.00_);[Red](#,##0.00)", 45: "mm:ss", 46: "[h]:mm:ss", 47: "mm:ss.0",
    48: "##0.0E+0", 49: "@",
}  # fmt: skip
"""Formats that a workbook need not spell out: ECMA-376 part 1, section 18.8.30, as
[MS-OI29500] section 2.1.704 says that they are really meant. Numbers 14 and 22 follow the
settings of the computer (same)."""
_OF_THE_COMPUTER = {14, 22}


class Workbook:
    """The worksheets of a workbook, with the strings and formats that they share."""

    def __init__(self, package: Package) -> None:
        self._package = package
        links = dict(_links(package))
        root = root_of(package.part(WORKBOOK), WORKBOOK)
        self.sheets = tuple(_sheets(root, links))
        self.date_system = _date_system(root)
        parts = dict(links.values())
        strings = parts.get("sharedStrings")
        self._strings = list(_strings(package, strings)) if strings else []
        styles = parts.get("styles")
        self._formats, self._conditional = _formats(package, styles) if styles else ([], [])
        self._by_style: dict[str | None, str] = {}

    def grid(self, sheet: Sheet) -> Grid:
        """Read a worksheet.

        Raises
        ------
        DamagedError
            It is not as ECMA-376 part 1, section 18.3.1 says.
        """
        cells: list[Cell] = []
        hidden_rows: set[int] = set()
        hidden_columns: list[tuple[int, int]] = []
        merged: list[Area] = []
        reformatted: list[Area] = []
        zeros = True
        last = 0
        tags = ("row", "col", "mergeCell", "conditionalFormatting", "sheetView")
        for _, element in elements_of(self._package.part(sheet.part), sheet.part, tags):
            match local(element):
                case "row":
                    row = _number(element.get("r"), last + 1, MOST_ROWS)
                    if row <= last:
                        raise DamagedError(f"row {row} of {sheet.title} is out of order")
                    last = row
                    cells += self._cells(element, row)
                    if _hidden(element, "ht"):
                        hidden_rows.add(row)
                case "col" if _hidden(element, "width"):
                    first = _number(element.get("min"), 1, MOST_COLUMNS)
                    end = _number(element.get("max"), first, MOST_COLUMNS)
                    hidden_columns.append((first - 1, end - 1))
                case "mergeCell":
                    merged.append(_area(element.get("ref") or ""))
                case "conditionalFormatting":
                    reformatted += self._reformatted(element)
                case "sheetView":
                    zeros = element.get("showZeros") not in _OFF
        return Grid(
            tuple(cells),
            frozenset(hidden_rows),
            tuple(hidden_columns),
            tuple(merged),
            tuple(reformatted),
            zeros,
        )

    def _reformatted(self, element: etree._Element) -> Iterator[Area]:
        """Give the areas of a condition that has a number format of its own.

        A condition of the 2009 extension ([MS-XLSX], CT_ConditionalFormatting; from memory)
        has its format inside, and its areas as an element.
        """
        rules = element.iterfind("{*}cfRule[@dxfId]")
        numbers = [_number(rule.get("dxfId"), 0, 2**31, least=0) for rule in rules]
        known = self._conditional
        inside = element.find("{*}cfRule/{*}dxf/{*}numFmt") is not None
        if inside or any(n < len(known) and known[n] for n in numbers):
            areas = element.get("sqref") or element.findtext("{*}sqref") or ""
            yield from map(_area, areas.split())

    def _cells(self, row_element: etree._Element, row: int) -> Iterator[Cell]:
        column = -1
        for element in row_element.iterfind("{*}c"):
            reference = element.get("r")
            previous = column
            told, column = _place(reference) if reference else (row, column + 1)
            if told != row:
                raise DamagedError(f"cell {reference} stands in row {row}")
            if column >= MOST_COLUMNS and not reference:
                raise TooLargeError(f"row {row} has more than {MOST_COLUMNS:,} columns")
            if not previous < column < MOST_COLUMNS:
                raise DamagedError(f"the cells of row {row} are out of order")
            cell = self._cell(element, row, column)
            if cell.value or cell.unsaved:
                yield cell

    def _cell(self, element: etree._Element, row: int, column: int) -> Cell:
        kind = element.get("t") or "n"
        stored = formula = inline = None
        for child in element:
            match child.tag.rpartition("}")[2]:
                case "v":
                    stored = child
                case "f":
                    formula = child
                case "is":
                    inline = child
        value = (stored.text or "") if stored is not None else ""
        # A saved result that is an empty string is written as <v></v> of type "str".
        unsaved = formula is not None and (stored is None or (not value and kind != "str"))
        if kind == "s" and value:
            index = _number(value, 0, len(self._strings) - 1, least=0)
            value = self._strings[index]
        elif kind == "inlineStr":
            value = _string(inline) if inline is not None else ""
            unsaved = False
        elif kind == "str":
            value = unescaped(value)
        if kind in {"s", "str", "inlineStr"}:
            kind = "text"
        code = self._format(element.get("s"))
        told = formula.text or "…" if unsaved and formula is not None else ""
        return Cell(row, column, kind, value, code, unsaved, told)

    def _format(self, style: str | None) -> str:
        if not self._formats:
            return GENERAL
        if style not in self._by_style:
            index = _number(style, 0, len(self._formats) - 1, least=0)
            self._by_style[style] = self._formats[index]
        return self._by_style[style]


def unescaped(text: str) -> str:
    r"""Decode the escapes of a stored string: ECMA-376 part 1, section 22.9.2.19.

    >>> unescaped("one_x000A_two, _x005F_x000A_")
    'one\ntwo, _x000A_'
    """
    if "_x" not in text:
        return text
    return _ESCAPE.sub(lambda match: chr(int(match[1], 16)), text)


def _links(package: Package) -> Iterator[tuple[str, tuple[str, str]]]:
    """Give the relations of the workbook: id, and the kind and name of the part."""
    part = "xl/_rels/workbook.xml.rels"
    for link in root_of(package.part(part), part).iterfind("{*}Relationship"):
        if link.get("TargetMode") != "External":
            kind = (link.get("Type") or "").rpartition("/")[2]
            target = posixpath.normpath(posixpath.join("/xl", link.get("Target") or ""))
            yield link.get("Id") or "", (kind, target.lstrip("/"))


def _sheets(root: etree._Element, links: dict[str, tuple[str, str]]) -> Iterator[Sheet]:
    for sheet in root.iterfind("{*}sheets/{*}sheet"):
        # Transitional and strict workbooks have different namespaces for this.
        ids = [v for k, v in sheet.attrib.items() if str(k).endswith("/relationships}id")]
        kind, part = links.get(str(ids[0]) if ids else "", ("", ""))
        if kind == "worksheet":
            visible = (sheet.get("state") or "visible") == "visible"
            yield Sheet(unescaped(sheet.get("name") or ""), visible, part)


def _strings(package: Package, part: str) -> Iterator[str]:
    for _, element in elements_of(package.part(part), part, ("si",)):
        yield _string(element)


def _string(element: etree._Element) -> str:
    """Join the plain text or the runs of a string; what says how to read it stays out."""
    texts = []
    for part in element:
        if part.tag.endswith("}t"):
            texts.append(part)
        elif part.tag.endswith("}r"):
            texts += [text for text in part if text.tag.endswith("}t")]
    return unescaped("".join(text.text or "" for text in texts))


def _date_system(root: etree._Element) -> DateSystem:
    """Tell from which day the workbook counts: ECMA-376 part 1, section 18.2.28."""
    settings = root.find("{*}workbookPr")
    if settings is None:
        return DateSystem.FROM_1900
    if settings.get("dateCompatibility") in _OFF:
        return DateSystem.FROM_1899
    is_1904 = settings.get("date1904") in _ON
    return DateSystem.FROM_1904 if is_1904 else DateSystem.FROM_1900


def _formats(package: Package, part: str) -> tuple[list[str], list[bool]]:
    """Give the number format of every cell style, by its index.

    Second comes whether a conditional format, by its index, has a number format.
    """
    root = root_of(package.part(part), part)
    codes = dict(BUILT_IN)
    for element in root.iterfind("{*}numFmts/{*}numFmt"):
        number = _number(element.get("numFmtId"), 0, 2**31, least=0)
        if number not in _OF_THE_COMPUTER:
            codes[number] = unescaped(element.get("formatCode") or "")
    numbers = [
        _number(xf.get("numFmtId"), 0, 2**31, least=0)
        for xf in root.iterfind("{*}cellXfs/{*}xf")
    ]
    conditional = [d.find("{*}numFmt") is not None for d in root.iterfind("{*}dxfs/{*}dxf")]
    return [codes.get(number, f"number {number}") for number in numbers], conditional


def _hidden(element: etree._Element, size: str) -> bool:
    return element.get("hidden") in _ON or _is_zero(element.get(size))


def _is_zero(text: str | None) -> bool:
    return text is not None and re.fullmatch(r"0*\.?0+", text.strip()) is not None


def _number(text: str | None, default: int, most: int, *, least: int = 1) -> int:
    if text is None:
        return default
    text = text.strip()
    plain = text.isascii() and text.isdigit() and len(text) <= 10
    number = int(text) if plain else -1
    if not least <= number <= most:
        raise DamagedError(f"it has a number {text[:20]!r} that counts nothing")
    return number


def _place(reference: str) -> tuple[int, int]:
    """Read a reference such as ``C5``: its row from 1 and its column from 0."""
    match = _REFERENCE.fullmatch(reference)
    if match is None:
        raise DamagedError(f"it has no cell {reference[:20]!r}")
    return int(match[2]), _column(match[1])


@lru_cache(maxsize=MOST_COLUMNS)
def _column(letters: str) -> int:
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - ord("A") + 1
    return column - 1


def _area(name: str) -> Area:
    first, _, last = name.partition(":")
    (top, left), (bottom, right) = _place(first), _place(last or first)
    return Area(top, left, bottom, right)
