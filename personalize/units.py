"""Lengths: one internal unit (mm), one place for every conversion and tolerance."""

import re

MM_PER_INCH = 25.4
PT_PER_MM = 72 / MM_PER_INCH
"""Points in a millimetre (a point is 1/72 inch: CSS Values 4, "Absolute lengths")."""
MM_PER_PX = MM_PER_INCH / 96
"""Millimetres in a CSS pixel (96 to the inch: CSS Values 4, "Absolute lengths")."""

TOLERANCE_MM = 0.01
"""How far two files of one run may disagree. A hundredth of a millimetre is a tenth of
what the finest home cutter steps, so no blade can show it."""
FLATTEN_MM = 0.02
"""Largest gap between a curve and its chords where a format has no curves, and in safe
zones. A fifth of the thinnest stroke we allow (0.1 mm)."""

_MM_PER = {
    "mm": 1.0,
    "cm": 10.0,
    "in": MM_PER_INCH,
    "pt": MM_PER_INCH / 72,
    "pc": MM_PER_INCH / 6,
    "px": MM_PER_PX,
    "q": 0.25,
    "Q": 0.25,
}
_LENGTH = re.compile(
    r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(mm|cm|in|pt|pc|px|q|Q)?\s*\Z"
)


def length_mm(text: str, default_unit: str = "mm") -> float:
    """Read a length such as ``210``, ``8.5in`` or ``12 pt`` and give it in mm.

    A bare number takes `default_unit`. Raises ValueError for anything else.

    >>> length_mm("1in"), length_mm("96", "px")
    (25.4, 25.4)
    """
    match = _LENGTH.match(text)
    if match is None:
        raise ValueError(f"{text!r} is not a length")
    return float(match[1]) * _MM_PER[match[2] or default_unit]


def number(value: float, places: int = 4) -> str:
    """Write `value` for a PDF or SVG: plain decimals, no exponent, no trailing zeros.

    Refuses NaN and infinity with ValueError: they would reach a file as words.

    >>> number(1.50), number(-0.00001), number(2e-3)
    ('1.5', '0', '0.002')
    """
    if value != value or value in (float("inf"), float("-inf")):
        raise ValueError(f"{value} cannot be written as a number")
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
