"""A spreadsheet as it is seen: headings, and rows of text with their row numbers."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from personalize.finding import Finding


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """How to read a file, where the maker says so; None leaves it to the evidence."""

    worksheet: str | None = None
    """Title of the worksheet of a workbook."""
    encoding: str | None = None
    """Name of the encoding of a text file, such as ``cp1252``."""
    delimiter: str | None = None
    """What stands between two cells of a text file: its name or the character itself."""
    heading_row: int | None = None
    """Number of the row that holds the headings, as a spreadsheet program shows it."""


BY_EVIDENCE = ReadOptions()
"""Nothing is said: all of it is told by what is in the file."""


@dataclass(frozen=True, slots=True)
class Source:
    """Where a table came from and what was decided while reading it."""

    file: str
    """Bare file name: a report never tells where on a disk it lay."""
    encoding: str | None = None
    delimiter: str | None = None
    worksheet: str | None = None
    heading_row: int | None = None
    """Number of the row that holds the headings."""
    decisions: tuple[str, ...] = ()
    """Sentences for a person: rows and columns left out and why, a guessed encoding."""


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
    findings: tuple[Finding, ...] = ()
    """What is wrong with single cells: told like any finding, the other rows go on."""
    folder: Path | None = None
    """Where its pictures lie; None where it comes from no file."""


@dataclass(frozen=True, slots=True)
class Message:
    """The words for one piece, and how many copies of it are wanted."""

    row: int
    words: Mapping[str, str]
    """Cell text by heading, reserved headings left out."""
    copies: int = 1
    version: str = ""
    text_colour: str = ""
    """As the cell has it; empty for the design's own."""
    picture: str = ""
    """Name of a picture's file; empty for none."""

    def own(self, kind: str) -> str:
        """Give the cell under a reserved heading."""
        return str(getattr(self, kind))
