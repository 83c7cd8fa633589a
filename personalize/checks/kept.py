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
_NUMBER = re.compile(rb"/(\w+)\s+(\d+)")


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


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the file must hold."""

    message: Message
    copy: int
    number: int
    """Of the piece in the whole batch, from 1."""


def check_kept(
    pdf: Path, design: Design, wanted: Sequence[Wanted], total: int, spares: int
) -> None:
    """Prove that a file holds every wanted piece once, with exactly its words.

    `total` is the number of pieces in the batch, for patterns that tell it; `spares` the
    number of pieces without words. Raises KeptError at the first difference.
    """
    pieces = list(read_pieces(pdf))
    found: Counter[tuple[int, int]] = Counter()
    read = {}
    for piece in pieces:
        if piece.row is not None:
            found[piece.row, piece.copy] += 1
            read[piece.row, piece.copy] = piece
        elif piece.texts:
            raise KeptError(f"a spare on page {piece.page} has words: {piece.texts}.")
    due = Counter((one.message.row, one.copy) for one in wanted)
    for (row, copy), count in ((found - due) + (due - found)).items():
        has = found[row, copy]
        raise KeptError(
            f"row {row}, copy {copy} is {has} times in the file, off by {count}."
        )
    if len(pieces) - found.total() != spares:
        raise KeptError(f"there are {len(pieces) - found.total()} spares, not {spares}.")
    for one in wanted:
        _compare(design, one, total, read[one.message.row, one.copy])


def _compare(design: Design, one: Wanted, total: int, piece: ReadPiece) -> None:
    expected = _expected(design, one, total)
    where = f"row {one.message.row}, copy {one.copy}"
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
        said = panel.pattern.text.replace("{{", "\0").replace("}}", "\1")
        said = re.sub("{([^{}]*)}", lambda m: _cell(cells, own, m[1].strip()), said)
        raw[panel.name] = said.replace("\0", "{").replace("\1", "}")
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
        self.drawn = ("", "")
        self.texts: list[tuple[str, str]] = []
        self.glyphs = 0

    def begin(self, tag: str, properties: bytes) -> None:
        """Enter marked content."""
        self.open.append(tag)
        if tag == "PersonalizePiece":
            numbers = {key: int(value) for key, value in _NUMBER.findall(properties)}
            self.row, self.copy, self.texts = numbers.get(b"Row"), numbers[b"Copy"], []
            said = {key: _decoded(value) for key, value in _TEXT.findall(properties)}
            self.drawn = said.get(b"Version", ""), said.get(b"Picture", "")
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
        return ReadPiece(self.page, self.row, self.copy, tuple(self.texts), *self.drawn)


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
    if reader.open:
        raise KeptError(f"page {page} has marked content that never ends: {reader.open}.")


def _decoded(digits: bytes) -> str:
    return bytes.fromhex(digits.decode("ascii")).decode("utf-16-be")
