"""Read a spreadsheet file, whatever it is called: what it is, its first bytes tell."""

import codecs
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from personalize.errors import InputError, Problem, refuse
from personalize.messages.csv import DELIMITER, delimiter_named, read_csv
from personalize.messages.decode import ENCODING, encoding_named, is_wide
from personalize.messages.grid import HEADING_ROW
from personalize.messages.ods import is_ods, read_ods
from personalize.messages.table import ReadOptions, Table
from personalize.messages.xlsx import read_xlsx, refuse_other_zip

MOST_BYTES = 64 * 1024 * 1024
"""Largest file read. Judgement: a million rows of a short name and a dish are 30 MB."""

_SAVE_AS = "Save it as .xlsx, as .ods or as CSV UTF-8."
_NOT_LIST = "Give the spreadsheet with the list, as .xlsx, .ods or CSV UTF-8."
_ZIP = (b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08")
_WIDE_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, codecs.BOM_UTF32_BE)
_STARTS = (
    # An OLE file, [MS-CFB] section 2.2.
    (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1",
        "this is an old .xls workbook, or one with a password.",
        "Take the password away, and save it as .xlsx, .ods or CSV UTF-8.",
    ),
    (b"%PDF-", "this is a PDF.", _NOT_LIST),  # ISO 32000-1, section 7.5.2
    (b"{\\rtf", "this is a text document.", _SAVE_AS),
    # PNG (third edition) 5.2; ISO/IEC 10918-1 annex B; GIF89a specification 17; TIFF 6.0.
    (b"\x89PNG\r\n\x1a\n", "this is a picture.", _NOT_LIST),
    (b"\xff\xd8\xff", "this is a picture.", _NOT_LIST),
    (b"GIF8", "this is a picture.", _NOT_LIST),
    (b"II*\0", "this is a picture.", _NOT_LIST),
    (b"MM\0*", "this is a picture.", _NOT_LIST),
)
_MARKUP = (b"<?xml", b"<svg", b"<!doctype", b"<html", b"<table")


def read_table(
    path: str | Path,
    *,
    worksheet: str | None = None,
    encoding: str | None = None,
    delimiter: str | None = None,
    heading_row: int | None = None,
) -> Table:
    """Read the spreadsheet at `path`: a workbook or a CSV file.

    Parameters
    ----------
    path
        The file. Its name does not matter, only what is in it.
    worksheet
        Title of the worksheet to read; None takes the only visible one with something in
        it. A CSV file has none.
    encoding
        Encoding of a CSV file, as Python names it; None tells it by the bytes.
    delimiter
        Delimiter of a CSV file: comma, semicolon, tab or pipe, by word or character; None
        tells it by the rows.
    heading_row
        Number of the row with the headings; None takes the first row that is no title.

    Returns
    -------
    Table
        All cells as text, as they are seen, with the row numbers of the spreadsheet.

    Raises
    ------
    InputError
        There is no such file, it cannot be read, it is something else, an option does not
        suit it, or something in it is not as it should be. Every problem is told, each in
        one sentence.
    """
    options = ReadOptions(worksheet, encoding, delimiter, heading_row)
    path = Path(path)
    return replace(_read(path, options), folder=path.parent)


def _read(path: Path, options: ReadOptions) -> Table:
    data = _bytes(path)
    name = path.name
    ods = is_ods(data)
    text = not ods and not data.startswith(_ZIP)
    if text:
        _refuse_other(data, name)
    if problems := list(_option_problems(options, name, text=text)):
        raise InputError(problems)
    if text:
        return read_csv(data, name, options)
    if ods:
        return read_ods(data, name, options)
    refuse_other_zip(data, name)
    return read_xlsx(data, name, options)


def _option_problems(options: ReadOptions, name: str, *, text: bool) -> Iterator[Problem]:
    """Tell which options do not suit the kind of file, or suit none."""
    if options.heading_row is not None and options.heading_row < 1:
        says = f"{options.heading_row} is no row number."
        yield Problem(HEADING_ROW, says, "Rows are counted from 1.")
    if text:
        if options.worksheet is not None:
            says = f"a CSV file has no worksheet {options.worksheet!r}."
            yield Problem(name, says, "Leave the worksheet out, or give the workbook.")
        yield from _unknown(encoding_named, options.encoding)
        yield from _unknown(delimiter_named, options.delimiter)
        return
    for place, value in ((ENCODING, options.encoding), (DELIMITER, options.delimiter)):
        if value is not None:
            says = f"{name} is a workbook, which has none of this."
            yield Problem(place, says, f"Leave {place} out, or give the CSV file.")


def _unknown(
    named: Callable[[str | None], str | None], value: str | None
) -> tuple[Problem, ...]:
    try:
        named(value)
    except InputError as error:
        return error.problems
    return ()


def _bytes(path: Path) -> bytes:
    """Read the file, and not more of it than may be."""
    try:
        if path.is_dir():
            raise refuse(path.name or str(path), "this is a folder.", _NOT_LIST)
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise refuse(path.name, "there is no such file.", "Check its name.") from None
    except (OSError, ValueError) as error:
        raise _not_opened(path, error) from error
    if len(data) > MOST_BYTES:
        raise refuse(
            path.name,
            f"the file is larger than {MOST_BYTES // 1024**2} MB.",
            "Keep the list alone in it, without pictures.",
        )
    if not data:
        raise refuse(path.name, "the file is empty.", "Put headings and rows in it.")
    return data


def _not_opened(path: Path, error: OSError | ValueError) -> InputError:
    """Say why the operating system would not let us read the file."""
    if isinstance(error, PermissionError):
        return refuse(
            path.name,
            "the file may not be read.",
            "Close it in other programs, and allow yourself to read it.",
        )
    reason = getattr(error, "strerror", None) or str(error)
    return refuse(path.name, f"the file cannot be read ({reason}).", "Check its name.")


def _refuse_other(data: bytes, name: str) -> None:
    """Refuse what is no text, and text that is no list."""
    for start, says, do in _STARTS:
        if data.startswith(start):
            raise refuse(name, says, do)
    marked = data.startswith(_WIDE_MARKS)
    if not marked and b"\0" in data[:4096] and not is_wide(data):
        raise refuse(name, "this is neither a spreadsheet nor text.", _NOT_LIST)
    head = data.removeprefix(codecs.BOM_UTF8)[:4096].lstrip().lower()
    if head.startswith(_MARKUP):
        raise refuse(name, "this is a web page or a drawing.", _NOT_LIST)
