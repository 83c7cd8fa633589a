"""What a number, or a text, looks like in a cell with a given number format.

Only formats whose look does not depend on the program, the country or the width of the
column are applied. For all others there is no answer, and the cell must be refused.
"""

import math
import re
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import lru_cache

from personalize.messages.xlsx_parts import GENERAL

_FIXED = re.compile(r"0+(?:\.(0+))?")
_STORED = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")

_DIGITS = 15
"""A spreadsheet program keeps and shows 15 digits of a number (common practice, no
source); what a binary number adds after them is noise: 0.1 + 0.2 is seen as 0.3."""
_GENERAL_WIDTH = 11
"""Figures, with the point, that fit in a General cell before a program rounds the number
or writes it with an exponent, each in its own way (common practice, no source)."""
_GENERAL_LEAST = Decimal("0.0001")
"""Smaller ones are written with an exponent by some programs (same)."""

_WIDE = Context(prec=400)
_UNSURE = Decimal(10) ** _DIGITS

# Words, gaps ("_)" leaves room, "* " fills a cell), colours and places, other signs:
# ECMA-376 part 1, section 18.8.31.
_TOKEN = re.compile(
    r'(?P<words>"[^"]*"?|\\.)|(?P<gap>_.|\*.|\[[^\]]*\])|(?P<sign>.)', re.DOTALL
)


def seen_number(stored: str, code: str) -> str | None:
    """Write a number as it is seen in its cell.

    Parameters
    ----------
    stored
        As in the workbook, such as ``12.5`` or ``1E-3``.
    code
        Number format: General and ``@`` show the shortest form; ``0``, ``000``, ``0.00``
        and the like show at least so many figures before and just so many after the
        point, rounded half away from zero. The decimal sign is a point, as a workbook
        does not say in which country it is read.

    Returns
    -------
    str or None
        None where the format is another one, where the number is no finite one, or where
        General has to shorten it: how far it does depends on the program.

    Examples
    --------
    >>> seen_number("5.0", "General"), seen_number("7", "000"), seen_number("2.5", "0")
    ('5', '007', '3')
    >>> seen_number("0.30000000000000004", "General"), seen_number("46542", "d mmm")
    ('0.3', None)
    """
    if not _STORED.fullmatch(stored) or not math.isfinite(float(stored)):
        return None
    number = Context(prec=_DIGITS).create_decimal_from_float(float(stored))
    if code.lower() in {GENERAL.lower(), "@", ""}:
        return _general(number)
    fixed = _FIXED.fullmatch(code)
    return None if fixed is None else _fixed(number, code, len(fixed[1] or ""))


@lru_cache(maxsize=1024)
def text_is_plain(code: str) -> bool:
    """Tell whether a cell with this number format shows a text just as it is.

    The fourth section of a format, or an ``@`` in its last one, is for text and can put
    words round it or hide it (ECMA-376 part 1, section 18.8.31).

    >>> text_is_plain("0.00"), text_is_plain('"Table "@'), text_is_plain(";;;")
    (True, False, False)
    """
    sections = [""]
    for token in _TOKEN.finditer(code):
        if token["sign"] == ";":
            sections.append("")
        elif token["words"] is not None:
            sections[-1] += "words"
        elif token["sign"] is not None:
            sections[-1] += token["sign"]
    if len(sections) > 3:
        return sections[3].strip() in {"@", GENERAL}
    return "@" not in sections[-1] or sections[-1].strip() == "@"


def _general(number: Decimal) -> str | None:
    if (number and abs(number) < _GENERAL_LEAST) or abs(number) >= _UNSURE:
        return None
    sign = "-" if number < 0 else ""
    text = f"{abs(number):f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return sign + text if len(text) <= _GENERAL_WIDTH else None


def _fixed(number: Decimal, code: str, places: int) -> str | None:
    if abs(number) >= _UNSURE:
        return None
    rounded = number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP, _WIDE)
    sign = "-" if rounded < 0 else ""
    return sign + f"{abs(rounded):f}".zfill(len(code))
