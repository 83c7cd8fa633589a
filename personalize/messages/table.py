"""A spreadsheet as it is seen: headings, and rows of text with their row numbers."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Source:
    """Where a table came from and what was decided while reading it."""

    file: str
    """Bare file name: a report never tells where on a disk it lay."""
    encoding: str | None = None
    delimiter: str | None = None
    worksheet: str | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One row of cells, all text; `number` is what a spreadsheet program shows."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Headings and rows; every row has as many cells as there are headings."""

    source: Source
    headings: tuple[str, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Message:
    """The words for one piece, and how many copies of it are wanted."""

    row: int
    words: Mapping[str, str]
    """Cell text by heading, reserved headings left out."""
    copies: int = 1
    version: str = ""
