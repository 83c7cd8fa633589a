"""Lengths as SVG 2 and CSS write them, with ``calc()``, and what percentages refer to."""

import math
import re
from dataclasses import dataclass

from personalize.units import MM_PER_PX

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
"""A number of SVG 2 section 4.2, and the older form with nothing after the point."""

_PX_PER = {
    "": 1.0,
    "px": 1.0,
    "mm": 1 / MM_PER_PX,
    "cm": 10 / MM_PER_PX,
    "q": 0.25 / MM_PER_PX,
    "in": 96.0,
    "pt": 96 / 72,
    "pc": 16.0,
}
"""How many CSS pixels is one <unit>? CSS Values 4, "Absolute Lengths"."""
PHYSICAL = frozenset({"mm", "cm", "q", "in", "pt", "pc"})
"""Units that say a size on paper; a pixel may have been meant as 1/72 or 1/90 inch."""
_LENGTH = re.compile(rf"\s*({NUMBER})(%|[a-zA-Z]*)\s*\Z")
SHARE = "~"
"""Stands before a percentage out of a ``calc()``; no drawing may have it."""


@dataclass(frozen=True, slots=True)
class Length:
    """A number with its unit in lower case ("" when bare, "%" for a percentage)."""

    value: float
    unit: str
    share: float = 0.0
    """Percentage to be added, where ``calc()`` mixes it with a length."""

    @property
    def is_shared(self) -> bool:
        """Whether it depends on what percentages refer to."""
        return self.unit == "%" or self.share != 0


@dataclass(frozen=True, slots=True)
class Viewport:
    """What percentages and font-relative units refer to, in user units."""

    width: float
    height: float
    font_px: float = 16.0

    def share(self, axis: str) -> float:
        """Length that 100 % stands for along "x", "y" or any other direction.

        SVG 2 section 8.9: the diagonal divided by the square root of two.
        """
        if axis == "x":
            return self.width
        if axis == "y":
            return self.height
        return math.hypot(self.width, self.height) / math.sqrt(2)

    def px(self, length: Length, axis: str) -> float | None:
        """Give a length in user units, or None for a unit that we do not know."""
        if length.unit == "%":
            return length.value / 100 * self.share(axis)
        per = {"em": self.font_px, "rem": 16.0, "ex": self.font_px / 2}
        factor = per.get(length.unit, _PX_PER.get(length.unit))
        if factor is None:
            return None
        return length.value * factor + length.share / 100 * self.share(axis)


def length(text: str | None) -> Length | None:
    """Read one length; None for nothing, ``auto``, or what is not a finite length.

    >>> length("12.5MM"), length("auto")
    (Length(value=12.5, unit='mm', share=0.0), None)
    """
    if text and "calc(" in text.lower():
        return calculated(text)
    match = _LENGTH.match(text or "")
    if match is None or not math.isfinite(float(match[1])):
        return None
    return Length(float(match[1]), match[2].lower())


def calculated(text: str) -> Length | None:
    """Read ``calc()`` of lengths in one unit, or of sizes and percentages.

    CSS Values 4, section 10. None where it is wrong.

    >>> calculated("calc(2 * (1in - 46px))"), calculated("calc(10% + 1px)")
    (Length(value=100.0, unit='px', share=0.0), Length(value=1.0, unit='px', share=10.0))
    """
    tokens = _CALC.findall(text.strip().lower())
    if "".join(tokens) != "".join(text.lower().split()):
        return None
    try:
        result, left = _sum(["(", *tokens[1:]] if tokens[0] == "calc(" else [])
    except (IndexError, ValueError, RecursionError, ZeroDivisionError):
        return None
    if left or result.unit == "" or not math.isfinite(result.value + result.share):
        return None
    return result


_CALC = re.compile(rf"calc\(|[()*/]|{NUMBER}(?:%|[a-z]+)?|[+-]")


_CALLED = re.compile(r"calc\((?:[^()]|\((?:[^()]|\([^()]*\))*\))*\)", re.IGNORECASE)


def _put(match: re.Match[str]) -> str:
    """Put the value of a ``calc()`` in its place; one that is wrong stays.

    A percentage in it stands behind a sign that no drawing may have there.
    """
    one = calculated(match[0])
    if one is None:
        return match[0]
    return f"{one.value!r}{one.unit}" + (f"{SHARE}{one.share!r}" if one.share else "")


def _sum(tokens: list[str]) -> tuple[Length, list[str]]:
    """Read one bracket, or one value, and give the tokens after it. Raises ValueError."""
    if tokens[0] not in ("(", "calc("):
        match = _LENGTH.match(tokens[0])
        if match is None:
            raise ValueError(tokens[0])
        return Length(float(match[1]), match[2]), tokens[1:]
    total, rest = _product(tokens[1:])
    while rest[0] != ")":
        sign = {"+": 1.0, "-": -1.0}[rest[0]] if rest[0] in "+-" else None
        if sign is None:
            raise ValueError(rest[0])
        other, rest = _product(rest[1:])
        total = _added(total, other, sign)
    return total, rest[1:]


def _product(tokens: list[str]) -> tuple[Length, list[str]]:
    total, rest = _sum(tokens)
    while rest[0] in ("*", "/"):
        other, after = _sum(rest[1:])
        if rest[0] == "/":
            other = Length(1 / other.value, other.unit)
        if total.unit and (other.unit or (rest[0] == "/" and other.unit)):
            raise ValueError("a length times a length")
        share = total.share * other.value + other.share * total.value
        total = Length(total.value * other.value, total.unit or other.unit, share)
        rest = after
    return total, rest


def _added(a: Length, b: Length, sign: float) -> Length:
    if a.unit == b.unit:
        return Length(a.value + sign * b.value, a.unit, a.share + sign * b.share)
    (px, share), (px_b, share_b) = _parts(a), _parts(b)
    return Length(px + sign * px_b, "px", share + sign * share_b)


def _parts(one: Length) -> tuple[float, float]:
    """Give pixels and percentage. Raises ValueError for another unit, or none."""
    if one.unit == "%":
        return 0.0, one.value
    if one.unit == "" or one.unit not in _PX_PER:
        raise ValueError("units that cannot be added")
    return one.value * _PX_PER[one.unit], one.share


def worked_out(text: str) -> str:
    """Put the value of each ``calc()`` in its place."""
    return _CALLED.sub(_put, text)


def px_of(text: str | None, axis: str, viewport: Viewport) -> float | None:
    """Give a length in user units; None where it is none."""
    one = length(text)
    return None if one is None else viewport.px(one, axis)


def first_px(texts: tuple[str | None, ...], axis: str, viewport: Viewport) -> float:
    """Give the first that is a length; otherwise ``auto``, which is 100 %."""
    for text in texts:
        value = px_of(text, axis, viewport)
        if value is not None:
            return value
    return viewport.share(axis)
