"""Numbers, transforms and viewports as SVG 2 and CSS write them.

User units here, y down; only `personalize.design.svg` turns them into mm with y up.
"""

import math
import re
from collections.abc import Mapping

from personalize.design.svg_lengths import (
    NUMBER,
    SHARE,
    Length,
    Viewport,
    length,
    px_of,
    worked_out,
)
from personalize.geometry.affine import IDENTITY, Affine, rotation, scaling, translation

_DEGREES_PER = {
    "": 1.0,
    "deg": 1.0,
    "grad": 0.9,
    "turn": 360.0,
    "rad": 180 / math.pi,
}
_NUMBERS = re.compile(NUMBER)
_FUNCTION = re.compile(r"\s*,?\s*([a-zA-Z]+)\s*\(([^()]*)\)")
_ARGUMENT = re.compile(rf"\s*,?\s*({NUMBER})(%|[a-zA-Z]*)(?:{SHARE}({NUMBER}))?")
_ALLOWED = {
    "matrix": (6,),
    "translate": (1, 2),
    "translatex": (1,),
    "translatey": (1,),
    "scale": (1, 2),
    "scalex": (1,),
    "scaley": (1,),
    "rotate": (1, 3),
    "skewx": (1,),
    "skewy": (1,),
    "skew": (1, 2),
}


def numbers(text: str) -> tuple[float, ...]:
    """Read numbers parted by blanks or commas, up to the first thing that is neither."""
    found: list[float] = []
    at = 0
    for match in _NUMBERS.finditer(text):
        if text[at : match.start()].strip(" \t\r\n\f,"):
            break
        value = float(match[0])
        if not math.isfinite(value):
            break
        found.append(value)
        at = match.end()
    return tuple(found)


def transform(text: str | None, viewport: Viewport) -> Affine | None:
    """Read a transform list, of the attribute or of CSS.

    Parameters
    ----------
    text
        Functions such as ``rotate(30 10 20)`` or ``translate(5mm, 10%)``.
    viewport
        What percentages refer to (transform-box view-box, the default for SVG).

    Returns
    -------
    Affine | None
        IDENTITY for nothing or ``none``; None when the list is wrong anywhere, which
        CSS Transforms 1 treats as if the property were not there.
    """
    if SHARE in (text or ""):
        return None
    rest = worked_out((text or "").strip())
    if rest in ("", "none"):
        return IDENTITY
    whole, at = IDENTITY, 0
    while at < len(rest):
        match = _FUNCTION.match(rest, at)
        if match is None:
            return None
        one = _function(match[1].lower(), match[2], viewport)
        if one is None:
            return None
        try:
            whole = whole @ one
        except ValueError:
            return None  # overflowed: no map at all
        at = match.end()
        if not rest[at:].strip(" \t\r\n\f,"):
            break
    return whole


def single_transform(name: str, text: str, viewport: Viewport) -> Affine | None:
    """Read one of the properties ``translate``, ``rotate``, ``scale``.

    CSS Transforms 2, section 5. None for ``none``, for what is wrong, and for turns out of
    the plane.
    """
    if SHARE in text:
        return None
    words = worked_out(text).split()
    if name == "rotate" and len(words) == 2 and words[0].lower() == "z":
        words = words[1:]
    if not 1 <= len(words) <= (1 if name == "rotate" else 2):
        return None
    values = [length(word) for word in words]
    if name != "scale" and any(one and one.unit == "" and one.value for one in values):
        return None  # a bare number is no length, and no angle
    return _function(name, " ".join(words), viewport)


def _function(name: str, text: str, viewport: Viewport) -> Affine | None:
    arguments: list[Length] = []
    at = 0
    while at < len(text.rstrip()):
        match = _ARGUMENT.match(text, at)
        one = None if match is None else _argument(match)
        if match is None or one is None:
            return None
        arguments.append(one)
        at = match.end()
    if len(arguments) not in _ALLOWED.get(name, ()):
        return None
    try:
        return _affine(name, arguments, viewport)
    except (KeyError, ValueError):
        return None


def _argument(match: re.Match[str]) -> Length | None:
    value, share = float(match[1]), float(match[3] or 0)
    return Length(value, match[2].lower(), share) if math.isfinite(value) else None


def _affine(name: str, given: list[Length], viewport: Viewport) -> Affine:
    """Build one function of CSS Transforms 1. KeyError for a unit that does not fit."""
    values = [one.value / 100 if one.unit == "%" else one.value for one in given]
    if name == "matrix":
        return Affine(*values)
    if name.startswith("translate"):
        axes = ("y",) if name == "translatey" else ("x", "y")
        shift = [_shift(one, a, viewport) for one, a in zip(given, axes, strict=False)]
        if name == "translatey":
            return translation(0.0, shift[0])
        return translation(shift[0], shift[1] if len(shift) > 1 else 0.0)
    if name.startswith("scale"):
        if name == "scaley":
            return scaling(1.0, values[0])
        other = 1.0 if name == "scalex" else values[-1]
        return scaling(values[0], other)
    degrees = [one.value * _DEGREES_PER[one.unit] for one in given[:2]]
    if name == "rotate":
        about = (
            (_shift(given[1], "x", viewport), _shift(given[2], "y", viewport))
            if len(given) == 3
            else (0.0, 0.0)
        )
        return rotation(given[0].value * _DEGREES_PER[given[0].unit], about)
    tangents = [math.tan(math.radians(angle)) for angle in degrees]
    if name == "skewy":
        return Affine(1, tangents[0], 0, 1, 0, 0)
    return Affine(1, tangents[1] if len(tangents) > 1 else 0.0, tangents[0], 1, 0, 0)


def _shift(one: Length, axis: str, viewport: Viewport) -> float:
    value = viewport.px(one, axis)
    if value is None:
        raise KeyError(one.unit)
    return value


def corner_of(own: Mapping[str, str], viewport: Viewport) -> Affine:
    """Give the shift by x and y: of a ``use`` the last of its transforms."""
    return translation(
        px_of(own.get("x"), "x", viewport) or 0.0, px_of(own.get("y"), "y", viewport) or 0.0
    )


_KEYWORDS = {"left": 0.0, "top": 0.0, "center": 50.0, "right": 100.0, "bottom": 100.0}


def origin(
    text: str | None, box: tuple[float, float, float, float], viewport: Viewport
) -> tuple[float, float] | None:
    """Read ``transform-origin`` in the reference box (x, y, width, height).

    None when it is absent or wrong; the corner of the box is meant then (CSS Transforms
    1, section 6: 0 0 for elements of SVG).
    """
    words = worked_out(text or "").replace(",", " ").split()[:2]
    if not words:
        return None
    if len(words) == 1:
        words.append("center")
    if words[0] in ("top", "bottom") or words[1] in ("left", "right"):
        words.reverse()
    sides = Viewport(box[2], box[3], viewport.font_px)
    out: list[float] = []
    for word, axis, start in zip(words, ("x", "y"), box[:2], strict=True):
        one = Length(_KEYWORDS[word], "%") if word in _KEYWORDS else _read(word)
        value = None if one is None else sides.px(one, axis)
        if value is None:
            return None
        out.append(start + value)
    return (out[0], out[1])


def _read(word: str) -> Length | None:
    match = _ARGUMENT.fullmatch(word)
    return None if match is None else _argument(match)


def view_box(text: str | None) -> tuple[float, float, float, float] | None:
    """Read a viewBox; None when it is absent, wrong or has a negative side."""
    values = numbers(text or "")
    if len(values) != 4 or values[2] < 0 or values[3] < 0:
        return None
    return (values[0], values[1], values[2], values[3])


_ASPECT = re.compile(
    r"(none|x(?:Min|Mid|Max)Y(?:Min|Mid|Max))(?:[ \t\r\n\f]+(meet|slice))?"
)
"""What preserveAspectRatio may say (SVG 2 section 8.6); anything else counts as absent."""
_PART = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}


def fit_view_box(
    box: tuple[float, float, float, float],
    size: tuple[float, float],
    aspect: str | None,
) -> Affine:
    """Map viewBox units into a viewport of `size`, by SVG 2 section 8.2.

    `box` and `size` must have sides above zero.
    """
    sx, sy = size[0] / box[2], size[1] / box[3]
    named = _ASPECT.fullmatch((aspect or "").strip()) or _ASPECT.fullmatch("xMidYMid")
    assert named is not None
    align, how = named[1], named[2]
    if align == "none":
        fx = fy = 0.0
    else:
        sx = sy = max(sx, sy) if how == "slice" else min(sx, sy)
        fx, fy = _PART[align[1:4]], _PART[align[5:8]]
    return Affine(
        sx,
        0,
        0,
        sy,
        (size[0] - box[2] * sx) * fx - box[0] * sx,
        (size[1] - box[3] * sy) * fy - box[1] * sy,
    )
