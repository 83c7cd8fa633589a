"""Did everything that went in come out? The written print.pdf is read back.

Has a small reader of its own for the marked content that `personalize.output.pdf`
documents. Other programs cannot be the judge here: what they make of right-to-left and
Indic scripts in a PDF is at best the letters in another order (measured).
"""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import pikepdf

from personalize.design.design import Design
from personalize.errors import KeptError
from personalize.messages.table import Message
from personalize.type.itemise import is_blank

_TOKEN = re.compile(
    rb"/(\w+)\s*<<((?:[^<>]|<[0-9A-Fa-f]*>)*)>>\s*BDC\b|\b(BMC|BDC|EMC|Tj|TJ|Do|f)\b"
)
_SHOWS = (b"Tj", b"TJ", b"Do", b"f")
"""Operators that put letters on the page: as text, as colour pictures, as curves."""
_TEXT = re.compile(rb"/(\w+)\s*<FEFF([0-9A-F]*)>")
_BRACES = re.compile(r"\{\{|\}\}|\{([^{}]*)\}")
"""A doubled brace, or a heading between two: read from the left, as it was written."""
_NUMBER = re.compile(rb"/(\w+)\s+(\d+)")
_PLACE = re.compile(rb"\s*q\s+((?:[-+.\d]+\s+){6})cm\b")


@dataclass(frozen=True, slots=True)
class ReadPiece:
    """A piece as the file has it."""

    page: int
    row: int | None
    copy: int
    texts: tuple[tuple[str, str], ...]
    """Panel and words, in the order of the file."""
    version: str = ""
    picture: str = ""
    design: str = ""
    place: tuple[float, ...] = ()
    """The six numbers of the map, in pt, that its artwork is drawn through."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the file must hold."""

    message: Message
    copy: int
    number: int
    """Of the piece in the whole batch, from 1."""


@dataclass(frozen=True, slots=True)
class Due:
    """What the file must hold of one design."""

    design: Design
    wanted: Sequence[Wanted]
    total: int
    """Pieces of the design in the whole batch, for patterns that tell it."""
    spares: int
    """Pieces without words."""


Key = tuple[str, int, int]
"""Design, row and copy."""


def check_kept(pdf: Path, due: Sequence[Due]) -> None:
    """Prove that a file holds every wanted piece once, with exactly its words.

    Raises KeptError at the first difference, in any design.
    """
    found: Counter[Key] = Counter()
    spares: Counter[str] = Counter()
    read: dict[Key, ReadPiece] = {}
    for piece in read_pieces(pdf):
        if piece.row is not None:
            key = (piece.design, piece.row, piece.copy)
            found[key] += 1
            read[key] = piece
        else:
            spares[piece.design] += 1
            if piece.texts:
                raise KeptError(f"a spare on page {piece.page} has words: {piece.texts}.")
    asked = Counter(
        (one.design.name, wanted.message.row, wanted.copy)
        for one in due
        for wanted in one.wanted
    )
    for (name, row, copy), count in ((found - asked) + (asked - found)).items():
        has = found[name, row, copy]
        raise KeptError(
            f"row {row}, copy {copy} of {name} is {has} times in the file, off by {count}."
        )
    for one in due:
        if spares[one.design.name] != one.spares:
            raise KeptError(
                f"there are {spares[one.design.name]} spares of {one.design.name}, not"
                f" {one.spares}."
            )
        for wanted in one.wanted:
            key = (one.design.name, wanted.message.row, wanted.copy)
            _compare(one.design, wanted, one.total, read[key])
    if strange := set(spares) - {one.design.name for one in due}:
        raise KeptError(f"there are spares of {min(strange)!r}, which is no design.")


def _compare(design: Design, one: Wanted, total: int, piece: ReadPiece) -> None:
    expected = _expected(design, one, total)
    where = f"row {one.message.row}, copy {one.copy} of {design.name}"
    if dict(piece.texts) != expected or len(piece.texts) != len(expected):
        raise KeptError(f"{where} reads {dict(piece.texts)}, not {expected}.")
    version = design.version(one.message.version)
    drawn = (version.name if version else "", one.message.picture * bool(design.picture))
    if (piece.version, piece.picture) != drawn:
        raise KeptError(f"{where} shows {(piece.version, piece.picture)}, not {drawn}.")


def _expected(design: Design, one: Wanted, total: int) -> Mapping[str, str]:
    """Words of each panel, straight from the cells and the patterns."""
    cells = dict(one.message.words)
    own = {"n": str(one.number), "total": str(total)}
    own |= {"copies": str(one.message.copies), "version": one.message.version}
    own |= {"text_colour": one.message.text_colour, "picture": one.message.picture}
    raw = {}
    for panel in design.panels:
        raw[panel.name] = _BRACES.sub(
            lambda m: m[0][0] if m[1] is None else _cell(cells, own, m[1].strip()),
            panel.pattern.text,
        )
    shown = {
        panel.name: raw[panel.name]
        if not panel.faces or not is_blank(raw[panel.name])
        else raw[panel.faces]
        for panel in design.panels
    }
    return {name: text for name, text in shown.items() if not is_blank(text)}


def _cell(cells: Mapping[str, str], own: Mapping[str, str], heading: str) -> str:
    """Find a cell; upper and lower case do not matter in a reserved heading."""
    return cells.get(heading, own.get(heading, own.get(heading.lower(), "")))


def read_pieces(pdf: Path) -> Iterator[ReadPiece]:
    """Read our own marked content, page by page."""
    with pikepdf.open(pdf) as document:
        for number, page in enumerate(document.pages, 1):
            contents = page.Contents
            assert isinstance(contents, pikepdf.Stream)
            yield from _pieces(contents.read_bytes(), number)


class _Reader:
    """Follows the nesting of marked content on one page."""

    def __init__(self, page: int) -> None:
        self.page = page
        self.open: list[str] = []
        self.row: int | None = None
        self.copy = 1
        self.drawn = ("", "", "")
        self.place: tuple[float, ...] = ()
        self.texts: list[tuple[str, str]] = []
        self.glyphs = 0

    def begin(self, tag: str, properties: bytes) -> None:
        """Enter marked content."""
        self.open.append(tag)
        if tag == "PersonalizePiece":
            numbers = {key: int(value) for key, value in _NUMBER.findall(properties)}
            self.row, self.copy, self.texts = numbers.get(b"Row"), numbers[b"Copy"], []
            said = {key: _decoded(value) for key, value in _TEXT.findall(properties)}
            keys = (b"Version", b"Picture", b"Design")
            version, picture, design = (said.get(key, "") for key in keys)
            self.drawn = (version, picture, design)
        elif tag == "PersonalizeText":
            said = {key: _decoded(value) for key, value in _TEXT.findall(properties)}
            self.texts.append((said[b"Panel"], said[b"Text"]))
            self.glyphs = 0

    def end(self) -> ReadPiece | None:
        """Leave marked content; gives the piece that ends here."""
        tag = self.open.pop()
        if tag == "PersonalizeText" and not self.glyphs:
            # Words in the properties alone would never be seen on paper.
            where = f"page {self.page}, row {self.row}"
            raise KeptError(f"{where}: {self.texts[-1]} shows no glyph.")
        if tag != "PersonalizePiece":
            return None
        texts = tuple(self.texts)
        return ReadPiece(self.page, self.row, self.copy, texts, *self.drawn, self.place)


def _pieces(content: bytes, page: int) -> Iterator[ReadPiece]:
    reader = _Reader(page)
    for match in _TOKEN.finditer(content):
        tag, properties, operator = match.groups()
        if operator in _SHOWS:
            reader.glyphs += 1
        elif operator == b"EMC":
            piece = reader.end()
            if piece is not None:
                yield piece
        else:
            reader.begin((tag or b"").decode("ascii"), properties or b"")
            drawn = _PLACE.match(content, match.end())
            if tag == b"PersonalizePiece":
                reader.place = tuple(map(float, drawn[1].split())) if drawn else ()
    if reader.open:
        raise KeptError(f"page {page} has marked content that never ends: {reader.open}.")


def _decoded(digits: bytes) -> str:
    return bytes.fromhex(digits.decode("ascii")).decode("utf-16-be")
