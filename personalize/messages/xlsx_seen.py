"""What a cell of an xlsx workbook looks like, whatever its kind and number format."""

import math
import re
from decimal import Context, Decimal

from personalize.messages.dates import DateSystem, serial_of, shown_date
from personalize.messages.format_code import (
    SYSTEM_DATE,
    SYSTEM_TIME,
    Kind,
    number_section,
    text_section,
)
from personalize.messages.grid import plain_breaks
from personalize.messages.number_format import DIGITS, formatted, general, joined
from personalize.messages.seen import (
    Seen,
    UnseenError,
    depends_on_computer,
    error_cell,
    not_saved,
    shows_nothing,
    unreadable,
)
from personalize.messages.xlsx_parts import GENERAL, Cell

_STORED = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_TRUTH = {"0": "FALSE", "false": "FALSE", "1": "TRUE", "true": "TRUE"}
_ENGLISH = re.compile(r"[0-9][.,][0-9]")
_HALF = re.compile("[\ud800-\udfff]")
_MOST_TOLD = 40


def seen_cell(cell: Cell, system: DateSystem, *, zeros: bool = True) -> Seen:
    """Write a cell as it is seen.

    Where that cannot be told, the stored value is given, with the reason.

    Parameters
    ----------
    cell
        Of the workbook.
    system
        From which day the workbook counts its days.
    zeros
        Whether the worksheet shows cells that hold zero.
    """
    if cell.unsaved:
        return Seen(f"={cell.formula}", not_saved())
    told = cell.value[:_MOST_TOLD]
    match cell.kind:
        case "text":
            return _seen_text(cell.value, cell.format_code)
        case "n":
            return seen_number(cell.value, cell.format_code, system, zeros=zeros)
        case "b" if cell.value.strip() in _TRUTH:
            return Seen(_TRUTH[cell.value.strip()], english=True)
        case "e":
            return Seen(cell.value, error_cell(told))
        case "d":
            return _seen_date(cell.value, cell.format_code, system)
    return Seen(cell.value, unreadable(f"the cell holds {told!r}, which is unknown."))


def seen_number(
    stored: str,
    code: str,
    system: DateSystem = DateSystem.FROM_1900,
    *,
    zeros: bool = True,
) -> Seen:
    """Write a number as it is seen in its cell.

    The decimal sign is a point, as a workbook does not say in which country it is read.

    Parameters
    ----------
    stored
        As in the workbook, such as ``12.5`` or ``1E-3``.
    code
        Number format, as ECMA-376 part 1, section 18.8.31 describes them.
    system
        From which day the workbook counts its days.
    zeros
        Whether the worksheet shows cells that hold zero.

    Examples
    --------
    >>> seen_number("5.0", "General").text, seen_number("7", "000").text
    ('5', '007')
    >>> seen_number("0.30000000000000004", "General").text
    '0.3'
    >>> seen_number("46542", "d mmm").text, seen_number("-1", "d mmm").fault.rule.value
    ('4 Jun', 'unreadable-format')
    """
    if not _STORED.fullmatch(stored) or not math.isfinite(float(stored)):
        says = f"the cell holds {stored[:_MOST_TOLD]!r}, which is no number."
        return Seen(stored, unreadable(says))
    number = Context(prec=DIGITS).create_decimal_from_float(float(stored))
    if not number and not zeros:
        return Seen("", shows_nothing(stored, "its worksheet", zero=True))
    return _seen_decimal(number, stored, code, system)


def _seen_decimal(number: Decimal, stored: str, code: str, system: DateSystem) -> Seen:
    try:
        if code.lower() in {GENERAL.lower(), "@", ""}:
            return _english(general(number))
        section, minus = number_section(code, number)
        if section.is_date:
            text, english = shown_date(section, number, system)
            if section.language in {SYSTEM_DATE, SYSTEM_TIME}:
                return Seen(text, depends_on_computer(text))
            return Seen(text, english=english)
        seen = _english(formatted(section, number, minus=minus))
    except UnseenError as error:
        told = f"its format {code!r} {error}"
        if code.lower() in {GENERAL.lower(), "@", ""}:
            told = str(error)
        says = f"the number {stored[:_MOST_TOLD]} cannot be shown for certain: {told}."
        return Seen(stored, unreadable(says))
    if not seen.text:
        return Seen("", shows_nothing(stored, _hider(code), zero=not number))
    return seen


def _hider(code: str) -> str:
    return f"its number format {code!r}"


def _english(text: str) -> Seen:
    return Seen(text, english=_ENGLISH.search(text) is not None)


def _seen_date(stored: str, code: str, system: DateSystem) -> Seen:
    """Write a date that is stored in the words of ISO 8601."""
    try:
        number = serial_of(stored, system)
        section, _ = number_section(code, number)
        if section.is_date:
            return _seen_decimal(number, stored, code, system)
    except UnseenError:
        pass
    says = f"the date {stored[:_MOST_TOLD]!r} has the format {code!r}, which is no date."
    return Seen(stored, unreadable(says))


def _paired(stored: str) -> str:
    """Join halves of characters beyond U+FFFF, as escapes spell them; a lone one is NUL."""
    try:
        return stored.encode("utf-16", "surrogatepass").decode("utf-16")
    except UnicodeDecodeError:
        return "\0"


def _seen_text(stored: str, code: str) -> Seen:
    text = stored if _HALF.search(stored) is None else _paired(stored)
    if "\0" in text:
        fault = unreadable(
            "there is a character that no text has.", "Type the words again."
        )
        return Seen(stored.encode("utf-8", "replace").decode().replace("\0", "?"), fault)
    text = plain_breaks(text)
    section = text_section(code)
    if section is None or not text:
        return Seen(text)
    if section.odd or not section.tokens_are(Kind.WORDS, Kind.GAP, Kind.TEXT, Kind.GENERAL):
        says = f"the number format {code!r} changes how the words are seen."
        return Seen(text, unreadable(says))
    mine = {Kind.TEXT, Kind.GENERAL}
    shown = joined(
        [
            text if token.kind in mine else (None if token.kind == Kind.GAP else token.text)
            for token in section.tokens
        ]
    )
    return Seen(shown) if shown else Seen("", shows_nothing(text, _hider(code), zero=False))
