"""Font files: unpacked where they are packed, and asked what fonts they hold.

Everything here goes by the font's own tables (fontTools reads them), so a file may have
any name. Only module that unpacks brotli.
"""

import io
import logging
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import brotli
from fontTools.ttLib import TTFont
from fontTools.ttLib.woff2 import WOFF2DirectoryEntry, woff2DirectorySize

Axes = tuple[tuple[str, float], ...]
"""A place on the axes of a variable font: tags with values."""
SUFFIXES = (".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2")
MOST_BYTES = 256 * 2**20
"""A font file larger than this, or that unpacks to more, is no font for paper kits."""

_SFNT = frozenset({b"\0\1\0\0", b"OTTO", b"true"})
_COLLECTION, _WOFF, _WOFF2 = b"ttcf", b"wOFF", b"wOF2"
_MOST_MEMBERS = 500
# What fontTools finds odd in a font is not for the person to read.
logging.getLogger("fontTools").addHandler(logging.NullHandler())


class UnreadableFontError(ValueError):
    """The bytes are no font that can be drawn from; the text says why."""


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis along which a font can be varied (OpenType 1.9.1, "fvar")."""

    tag: str
    least: float
    default: float
    most: float


@dataclass(frozen=True, slots=True)
class Instance:
    """A point of those axes that the font's makers gave a name."""

    name: str
    axes: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Member:
    """One font in a file (a collection holds several)."""

    path: Path
    index: int
    family: str
    style: str
    full_name: str
    names: frozenset[str]
    """Further full and PostScript names of it, in any language, folded for comparing."""
    families: frozenset[str]
    """Family names in any language, folded."""
    axes: tuple[Axis, ...]
    instances: tuple[Instance, ...]


def folded(name: str) -> str:
    """Fold a font's name for comparing: case and spacing do not count."""
    return " ".join(name.casefold().split())


@lru_cache(maxsize=32)
def unpacked(path: Path) -> bytes:
    """Give a font file as TrueType or OpenType, unpacked if it is WOFF or WOFF2.

    Kept for the process. Raises OSError or UnreadableFontError.
    """
    if path.stat().st_size > MOST_BYTES:
        raise UnreadableFontError("it is too large for a font")
    data = path.read_bytes()
    signature = data[:4]
    if signature in _SFNT or signature == _COLLECTION:
        return data
    if signature not in (_WOFF, _WOFF2):
        raise UnreadableFontError("it is not a font file (TrueType, OpenType or WOFF)")
    try:
        if signature == _WOFF2:
            _bounded_woff2(data)
        else:
            _bounded_woff(data)
        # The time of saving would be written into the font else: not the same each day.
        font = TTFont(io.BytesIO(data), recalcTimestamp=False, recalcBBoxes=False)
        font.flavor = None
        out = io.BytesIO()
        font.save(out, reorderTables=None)
    except UnreadableFontError:
        raise
    except Exception as error:  # whatever a damaged file makes the reader stumble over
        raise UnreadableFontError("it cannot be unpacked: it is damaged") from error
    return out.getvalue()


def _bounded_woff(data: bytes) -> None:
    """Refuse a file whose tables unpack to too much (WOFF 1.0, section 4)."""
    (count,) = struct.unpack_from(">H", data, 12)
    lengths = (struct.unpack_from(">L", data, 44 + 20 * i + 12)[0] for i in range(count))
    if sum(lengths) > MOST_BYTES:
        raise UnreadableFontError("it unpacks to more than a font can be")


def _bounded_woff2(data: bytes) -> None:
    """Refuse a file that unpacks to too much, before it is unpacked as a whole.

    What it says of its own size may be false, so its stream is tried in parts.
    """
    if data[4:8] == _COLLECTION:
        raise UnreadableFontError("it is a collection packed as WOFF2")
    (count,) = struct.unpack_from(">H", data, 12)
    (packed,) = struct.unpack_from(">L", data, 20)
    rest = data[woff2DirectorySize:]
    for _ in range(count):
        rest = WOFF2DirectoryEntry().fromString(rest)
    stream, size = brotli.Decompressor(), 0
    part = rest[:packed]
    while not stream.is_finished():
        got = stream.process(part, output_buffer_limit=2**20)
        part, size = b"", size + len(got)
        if size > MOST_BYTES:
            raise UnreadableFontError("it unpacks to more than a font can be")
        if not got and stream.can_accept_more_data():
            break  # cut off: the reader proper will tell


def count_of(data: bytes) -> int:
    """Give how many fonts an unpacked file holds."""
    if data[:4] != _COLLECTION:
        return 1
    return min(int.from_bytes(data[8:12], "big"), _MOST_MEMBERS)


def check_whole(data: bytes, index: int) -> None:
    """Refuse a file whose tables do not all lie inside it.

    OpenType 1.9.1, "Table directory" and "Font collections". HarfBuzz takes a table that
    is cut off for an empty one: its letters would be blank.
    """
    start = 0
    if data[:4] == _COLLECTION:
        entry = 12 + 4 * index
        start = int.from_bytes(data[entry : entry + 4], "big")
    count = int.from_bytes(data[start + 4 : start + 6], "big")
    records = data[start + 12 : start + 12 + 16 * count]
    ends = (
        int.from_bytes(records[at + 8 : at + 12], "big")
        + int.from_bytes(records[at + 12 : at + 16], "big")
        for at in range(0, len(records), 16)
    )
    if not (count > 0 and len(records) == 16 * count and max(ends) <= len(data)):
        raise UnreadableFontError("the file is cut off or damaged")


def members(path: Path) -> tuple[Member, ...]:
    """Tell what fonts a file holds, by their own name tables.

    Raises OSError or UnreadableFontError.
    """
    with path.open("rb") as file:
        signature = file.read(4)
        if signature in _SFNT:
            file.seek(0)
            return (_member(TTFont(file, lazy=True), path, 0),)
        if signature == _COLLECTION:
            file.seek(0)
            count = count_of(file.read(12))
            return tuple(
                _member(TTFont(file, lazy=True, fontNumber=i), path, i)
                for i in range(count)
            )
    data = unpacked(path)
    return (_member(TTFont(io.BytesIO(data), lazy=True), path, 0),)


def read_members(path: Path) -> tuple[Member, ...]:
    """Do the same, with whatever a damaged file brings up told as UnreadableFontError."""
    try:
        return members(path)
    except (OSError, UnreadableFontError):
        raise
    except Exception as error:
        raise UnreadableFontError("its names cannot be read: it is damaged") from error


def _member(font: TTFont, path: Path, index: int) -> Member:
    table = font["name"]

    def every(*ids: int) -> frozenset[str]:
        return frozenset(filter(None, map(folded, _texts(table, ids))))

    family = table.getBestFamilyName() or path.stem
    style = table.getBestSubFamilyName() or ""
    full = table.getBestFullName() or f"{family} {style}".strip()
    return Member(
        path,
        index,
        family,
        style,
        full,
        every(4, 6) | {folded(full), folded(f"{family} {style}")},
        every(1, 16) | {folded(family)},
        *_variations(font),
    )


def _texts(table: object, ids: tuple[int, ...]) -> Iterator[str]:
    """Give the names of some kinds in every language; those that are damaged are left."""
    for record in table.names:  # type: ignore[attr-defined]
        if record.nameID in ids:
            try:
                yield record.toUnicode()
            except UnicodeError:
                continue


def _variations(font: TTFont) -> tuple[tuple[Axis, ...], tuple[Instance, ...]]:
    if "fvar" not in font:
        return (), ()
    fvar, names = font["fvar"], font["name"]
    axes = tuple(Axis(a.axisTag, a.minValue, a.defaultValue, a.maxValue) for a in fvar.axes)
    instances = tuple(
        Instance(
            names.getDebugName(i.subfamilyNameID) or f"number {n}",
            tuple(sorted(i.coordinates.items())),
        )
        for n, i in enumerate(fvar.instances, 1)
    )
    return axes, instances
