"""The parts of an xlsx workbook, read as ECMA-376 part 1 sets them down.

Only what decides what is seen in a cell is read, so odd fonts, charts or filters cannot
stop us. We read the XML ourselves, because the usual library for it drops what we need:
it cannot tell a formula without a saved result from an empty cell in one reading, and it
takes ``_x005F_`` out of shared strings before anyone can tell an escape from plain words.
"""

import posixpath
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO

from lxml import etree

MOST_BYTES = 256 * 1024 * 1024
"""Most bytes that a workbook may unpack to. Judgement: a list of 100 000 names is 30 MB;
a zip file of a few kB can be made to unpack to any size."""
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
"""The size of a worksheet in today's spreadsheet programs (common practice, no source)."""

WORKBOOK = "xl/workbook.xml"

_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, OSError, struct.error)
# Passwords, and ways and versions of packing that the library does not know.
_UNKNOWN = (RuntimeError, NotImplementedError, ValueError)
_ESCAPE = re.compile("_x([0-9A-Fa-f]{4})_")
_REFERENCE = re.compile(r"\$?([A-Z]{1,3})\$?([1-9][0-9]{0,6})")


class DamagedError(Exception):
    """A part of the workbook cannot be read. Says which, in words for a person."""


class TooLargeError(Exception):
    """The workbook unpacks to more than `MOST_BYTES`."""


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


@dataclass(frozen=True, slots=True)
class Area:
    """A block of cells; rows from 1, columns from 0, both ends included."""

    top: int
    left: int
    bottom: int
    right: int
    name: str


@dataclass(frozen=True, slots=True)
class Grid:
    """What a worksheet holds: its filled cells by row, and what hides or joins cells."""

    cells: tuple[Cell, ...]
    """Row by row, from the left."""
    hidden_rows: frozenset[int]
    hidden_columns: tuple[tuple[int, int], ...]
    """First and last of each run of hidden columns, from 0."""
    merged: tuple[Area, ...]


class Package:
    """The zip file of a workbook. Unpacks parts, and never more than `MOST_BYTES`."""

    def __init__(self, data: bytes) -> None:
        try:
            self._zip = zipfile.ZipFile(BytesIO(data))
        except (*_BROKEN, *_UNKNOWN) as error:
            raise DamagedError("it is no whole zip file") from error
        # Part names are compared without regard to case (ECMA-376 part 2, section 6.2).
        self._infos = {info.filename.lower(): info for info in self._zip.infolist()}
        self._left = MOST_BYTES
        if sum(info.file_size for info in self._zip.infolist()) > MOST_BYTES:
            raise TooLargeError

    def __contains__(self, name: str) -> bool:
        return name.lower() in self._infos

    def names(self) -> list[str]:
        """Name all parts, in lower case."""
        return list(self._infos)

    def part(self, name: str) -> bytes:
        """Unpack one part; what the zip file says of its size is not believed."""
        info = self._infos.get(name.lower())
        if info is None:
            raise DamagedError(f"its part {name} is missing")
        try:
            with self._zip.open(info) as stream:
                data = stream.read(self._left + 1)
        except _BROKEN as error:
            raise DamagedError(f"its part {name} cannot be unpacked") from error
        except _UNKNOWN as error:
            raise DamagedError(f"its part {name} is packed in an unknown way") from error
        self._left -= len(data)
        if self._left < 0:
            raise TooLargeError
        return data


GENERAL = "General"
BUILT_IN = {
    0: GENERAL, 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%",
    11: "0.00E+00", 12: "# ?/?", 13: "# ??/??", 14: "mm-dd-yy", 15: "d-mmm-yy",
    16: "d-mmm", 17: "mmm-yy", 18: "h:mm AM/PM", 19: "h:mm:ss AM/PM", 20: "h:mm",
    21: "h:mm:ss", 22: "m/d/yy h:mm", 37: "#,##0 ;(#,##0)", 38: "#,##0 ;[Red](#,##0)",
    39: "#,##0.00;(#,##0.00)", 40: "#,##0.00;[Red](#,##0.00)", 45: "mm:ss",
    46: "[h]:mm:ss", 47: "mmss.0", 48: "##0.0E+0", 49: "@",
}  # fmt: skip
"""Formats that a workbook need not spell out: ECMA-376 part 1, section 18.8.30."""


class Workbook:
    """The worksheets of a workbook, with the strings and formats that they share."""

    def __init__(self, package: Package) -> None:
        self._package = package
        links = dict(_links(package))
        root = _root(package.part(WORKBOOK), WORKBOOK)
        self.sheets = tuple(_sheets(root, links))
        parts = dict(links.values())
        strings = parts.get("sharedStrings")
        self._strings = list(_strings(package, strings)) if strings else []
        styles = parts.get("styles")
        self._formats = _formats(package, styles) if styles else []
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
        last = 0
        tags = ("row", "col", "mergeCell")
        for element in _elements(self._package, sheet.part, tags):
            match _local(element):
                case "row":
                    row = _number(element.get("r"), last + 1, LAST_ROW)
                    if row <= last:
                        raise DamagedError(f"row {row} of {sheet.title} is out of order")
                    last = row
                    cells += self._cells(element, row)
                    if _hidden(element, "ht"):
                        hidden_rows.add(row)
                case "col" if _hidden(element, "width"):
                    first = _number(element.get("min"), 1, LAST_COLUMN)
                    end = _number(element.get("max"), first, LAST_COLUMN)
                    hidden_columns.append((first - 1, end - 1))
                case "mergeCell":
                    merged.append(_area(element.get("ref") or ""))
        return Grid(
            tuple(cells), frozenset(hidden_rows), tuple(hidden_columns), tuple(merged)
        )

    def _cells(self, row_element: etree._Element, row: int) -> Iterator[Cell]:
        column = -1
        for element in row_element.iterfind("{*}c"):
            reference = element.get("r")
            previous = column
            told, column = _place(reference) if reference else (row, column + 1)
            if told != row:
                raise DamagedError(f"cell {reference} stands in row {row}")
            if not previous < column < LAST_COLUMN:
                raise DamagedError(f"the cells of row {row} are out of order")
            cell = self._cell(element, row, column)
            if cell.value or cell.unsaved:
                yield cell

    def _cell(self, element: etree._Element, row: int, column: int) -> Cell:
        kind = element.get("t") or "n"
        children = {_local(child): child for child in element}
        stored = children.get("v")
        value = (stored.text or "") if stored is not None else ""
        # A saved result that is an empty string is written as <v></v> of type "str".
        unsaved = "f" in children and (stored is None or (not value and kind != "str"))
        if kind == "s" and value:
            index = _number(value, 0, len(self._strings) - 1, least=0)
            value = self._strings[index]
        elif kind == "inlineStr":
            value = _string(children["is"]) if "is" in children else ""
            unsaved = False
        elif kind == "str":
            value = unescaped(value)
        if kind in {"s", "str", "inlineStr"}:
            kind = "text"
        return Cell(row, column, kind, value, self._format(element.get("s")), unsaved)

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
    for link in _root(package.part(part), part).iterfind("{*}Relationship"):
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
    for element in _elements(package, part, ("si",)):
        yield _string(element)


def _string(element: etree._Element) -> str:
    """Join the plain text or the runs of a string; what says how to read it stays out."""
    runs = [run for run in element if _local(run) == "r"]
    texts = [part for run in (element, *runs) for part in run if _local(part) == "t"]
    return unescaped("".join(text.text or "" for text in texts))


def _local(element: etree._Element) -> str:
    """Name of an element without its namespace, which strict workbooks have another of."""
    return element.tag.rpartition("}")[2]


def _formats(package: Package, part: str) -> list[str]:
    """Give the number format of every cell style, by its index."""
    root = _root(package.part(part), part)
    codes = dict(BUILT_IN)
    for element in root.iterfind("{*}numFmts/{*}numFmt"):
        number = _number(element.get("numFmtId"), 0, 2**31, least=0)
        codes[number] = unescaped(element.get("formatCode") or "")
    numbers = [
        _number(xf.get("numFmtId"), 0, 2**31, least=0)
        for xf in root.iterfind("{*}cellXfs/{*}xf")
    ]
    return [codes.get(number, f"number {number}") for number in numbers]


def _root(data: bytes, part: str) -> etree._Element:
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError, LookupError) as error:
        raise DamagedError(f"its part {part} is no whole XML") from error
    _no_dtd(root, part)
    return root


def _elements(
    package: Package, part: str, names: Sequence[str]
) -> Iterator[etree._Element]:
    """Give the elements of these names, each whole, and forget them one by one."""
    reading = etree.iterparse(
        BytesIO(package.part(part)),
        tag=[f"{{*}}{name}" for name in names],
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        # A comment would cut the words round it in two.
        remove_comments=True,
        remove_pis=True,
    )
    try:
        for _, element in reading:
            _no_dtd(element, part)
            yield element
            element.clear(keep_tail=True)
            while element.getprevious() is not None:
                del element.getparent()[0]
    except (etree.XMLSyntaxError, ValueError, LookupError) as error:
        raise DamagedError(f"its part {part} is no whole XML") from error


def _no_dtd(element: etree._Element, part: str) -> None:
    """Refuse a document type: entities could hide words (and ECMA-376 part 2 bars it)."""
    if element.getroottree().docinfo.internalDTD is not None:
        raise DamagedError(f"its part {part} has a document type")


def _hidden(element: etree._Element, size: str) -> bool:
    return element.get("hidden") in {"1", "true"} or _is_zero(element.get(size))


def _is_zero(text: str | None) -> bool:
    return text is not None and re.fullmatch(r"0*\.?0+", text.strip()) is not None


def _number(text: str | None, default: int, most: int, *, least: int = 1) -> int:
    if text is None:
        return default
    number = int(text) if re.fullmatch(r"[0-9]{1,10}", text.strip()) else -1
    if not least <= number <= most:
        raise DamagedError(f"it has a number {text[:20]!r} that counts nothing")
    return number


def _place(reference: str) -> tuple[int, int]:
    """Read a reference such as ``C5``: its row from 1 and its column from 0."""
    match = _REFERENCE.fullmatch(reference)
    if match is None:
        raise DamagedError(f"it has no cell {reference[:20]!r}")
    column = 0
    for letter in match[1]:
        column = column * 26 + ord(letter) - ord("A") + 1
    return int(match[2]), column - 1


def _area(name: str) -> Area:
    first, _, last = name.partition(":")
    (top, left), (bottom, right) = _place(first), _place(last or first)
    return Area(top, left, bottom, right, name)
