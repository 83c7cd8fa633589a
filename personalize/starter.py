"""A spreadsheet to fill in: the headings that a design asks for, an example, its limits."""

import csv
import io
import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import cycle, islice
from pathlib import Path
from typing import TYPE_CHECKING

from personalize.design.design import Design
from personalize.errors import refuse
from personalize.messages.message import MOST_COPIES
from personalize.type.compose import Typesetter
from personalize.type.sizes import reaches

if TYPE_CHECKING:
    from openpyxl.worksheet.datavalidation import DataValidation

_WORDS = ("Rosemary", "Ottoline", "Basil", "Tamblyn", "Fern", "Maeve", "Sorrel", "Io")
"""Words of common lengths (five letters on average, as in names) to try panels with."""
_MOST_WORDS = 40
COPIES_NOTE = "How many pieces; empty means 1."
VERSION_NOTE = "One of {names}; empty means {first}."
PICTURE_NOTE = "Name of a PNG or JPEG file in this folder; may stay empty."


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a starter."""

    heading: str
    example: str
    note: str
    choices: tuple[str, ...] = ()
    """What may stand in it; empty where that is free."""


def columns(designs: Design | Sequence[Design]) -> tuple[Column, ...]:
    """Give the columns that designs ask for, with an example and a note on the room.

    A heading that several panels use takes the note of the tightest.
    """
    fronts = (designs,) if isinstance(designs, Design) else tuple(designs)
    sides = ((front, front.back) for front in fronts)
    every = [side for both in sides for side in both if side is not None]
    rooms: dict[str, tuple[int, str]] = {}
    for design in every:
        setter = Typesetter(design)
        for panel in design.panels:
            letters = _letters(setter, panel.name)
            for heading in panel.pattern.headings:
                if heading not in rooms or letters < rooms[heading][0]:
                    rooms[heading] = (letters, panel.name)
    examples = cycle(("Rosemary", "Ottoline Fern", "Basil"))
    words = [
        Column(
            heading,
            example,
            f"About {letters} letters fit on the panel {panel}, in the smallest size.",
        )
        for (heading, (letters, panel)), example in zip(
            rooms.items(), examples, strict=False
        )
    ]
    own: dict[str, Column] = {}
    for design in every:
        for column in _choices(design):
            own.setdefault(column.heading, column)
    return (*words, Column("copies", "2", COPIES_NOTE), *own.values())


def _choices(design: Design) -> Iterator[Column]:
    """Give columns for what a row can choose of this design."""
    names = tuple(version.name for version in design.versions)
    if names:
        note = VERSION_NOTE.format(names=", ".join(names), first=names[0])
        yield Column("version", names[-1], note, names)
    if design.picture is not None:
        yield Column("picture", "", PICTURE_NOTE)


def _letters(setter: Typesetter, panel: str) -> int:
    """Count the letters of the longest of a row of trial texts that still fits."""
    low, high = 0, _MOST_WORDS
    while low < high:
        middle = (low + high + 1) // 2
        text = " ".join(islice(cycle(_WORDS), middle))
        (survey,) = setter.survey({panel: text})
        if reaches(survey.largest_pt, survey.floor_pt):
            low = middle
        else:
            high = middle - 1
    return len(" ".join(islice(cycle(_WORDS), low)))


def write_starter(designs: Design | Sequence[Design], to: Path) -> tuple[Column, ...]:
    """Write a starter for one design or several as .csv or .xlsx; gives its columns.

    A CSV file holds headings and an example alone: there a note would be taken for a row.
    Raises InputError when the file exists (it may hold a list), its name ends otherwise, or
    it cannot be written.
    """
    kind = to.suffix.casefold()
    if kind not in (".csv", ".xlsx"):
        raise refuse("--out", f"{to.name!r} is no .csv or .xlsx.", "Name it guests.xlsx.")
    if os.path.lexists(to):
        raise refuse("--out", f"{to.name} is there already.", "Give a new name.")
    found = columns(designs)
    data = _as_csv(found) if kind == ".csv" else _as_xlsx(found)
    try:
        with to.open("xb") as file:
            file.write(data)
    except OSError as error:
        if not isinstance(error, FileExistsError):
            with suppress(OSError):  # half a list would be taken for a whole one
                to.unlink()
        raise refuse(
            "--out", f"{to.name} cannot be written ({error.strerror}).", "Check the folder."
        ) from None
    return found


def _as_csv(found: Sequence[Column]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([column.heading for column in found])
    writer.writerow([column.example for column in found])
    # The mark at the start tells spreadsheet programs that this is UTF-8.
    return text.getvalue().encode("utf-8-sig")


def _as_xlsx(found: Sequence[Column]) -> bytes:
    """Write a workbook: every cell as text, notes on the headings, copies checked."""
    from openpyxl import Workbook
    from openpyxl.comments import Comment
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "messages"
    sheet.freeze_panes = "A2"
    for i, column in enumerate(found, 1):
        letter = get_column_letter(i)
        heading = sheet.cell(1, i, column.heading)
        heading.font = Font(bold=True)
        heading.comment = Comment(column.note, "personalize", height=90, width=220)
        sheet.column_dimensions[letter].width = 24
        # Text, so that 007 stays 007 when it is typed.
        sheet.column_dimensions[letter].number_format = "@"
        sheet.cell(2, i, column.example or None).number_format = "@"
        rule = _rule(column, letter)
        if rule is not None:
            rule.add(f"{letter}2:{letter}1048576")
            sheet.add_data_validation(rule)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _rule(column: Column, letter: str) -> "DataValidation | None":
    """Let the program that fills a column in say at once what cannot stand there."""
    from openpyxl.worksheet.datavalidation import DataValidation

    if column.heading == "copies":
        return DataValidation(
            type="custom",
            formula1=f"AND(ISNUMBER(VALUE({letter}2)),VALUE({letter}2)>=0,"
            f"VALUE({letter}2)<={MOST_COPIES},INT(VALUE({letter}2))=VALUE({letter}2))",
            allow_blank=True,
            showErrorMessage=True,
            errorTitle="copies",
            error=f"A whole number from 0 to {MOST_COPIES}.",
        )
    listed = ",".join(column.choices)
    # A list inside the rule is split at its commas and holds 255 characters at most.
    plain = all(not set(name) & set(',"') for name in column.choices)
    if not listed or len(listed) > 255 or not plain:
        return None
    return DataValidation(
        type="list",
        formula1=f'"{listed}"',
        allow_blank=True,
        showErrorMessage=True,
        errorTitle=column.heading,
        error=f"One of {', '.join(column.choices)}."[:255],
    )
