"""The basic shapes and paths of SVG 2 chapters 9 and 10, as contours in user units.

The contours are y down here; mapping them by a mirroring `Affine` turns arcs round.
"""

import re
from collections.abc import Callable
from itertools import pairwise

from fontTools.svgLib.path import parse_path
from lxml import etree

from personalize.design.svg_lengths import NUMBER, Viewport, length
from personalize.design.svg_style import Declared
from personalize.design.svg_values import numbers
from personalize.geometry.affine import Point
from personalize.geometry.path import (
    Arc,
    Contour,
    Cubic,
    Line,
    Segment,
    polyline,
    quadratic,
)

Contours = tuple[Contour, ...]


def contours(tag: str, own: Declared, data: str, viewport: Viewport) -> Contours | None:
    """Give the contours of one shape element.

    Parameters
    ----------
    tag
        Name of the element without its namespace.
    own
        Its declared properties (attributes and CSS): x, y, width, r and so on.
    data
        Its ``d`` or ``points`` attribute (empty for the others); for a ``line`` the
        four coordinates parted by blanks.
    viewport
        What percentages refer to.

    Returns
    -------
    tuple[Contour, ...] | None
        None when the element is no shape; empty when it draws nothing.
    """
    if tag == "path":
        return path(data)
    if tag in ("polyline", "polygon"):
        return _poly(data, closed=tag == "polygon")
    if tag == "line":
        return _line(data, viewport)
    maker = _MAKERS.get(tag)
    return None if maker is None else maker(own, viewport)


def _px(
    own: Declared, name: str, axis: str, viewport: Viewport, default: float | None = 0.0
) -> float | None:
    one = length(own.get(name))
    value = None if one is None else viewport.px(one, axis)
    return default if value is None else value


def _at(own: Declared, name: str, axis: str, viewport: Viewport) -> float:
    return _px(own, name, axis, viewport) or 0.0


def _radii(own: Declared, viewport: Viewport) -> tuple[float, float]:
    """Give rx and ry; one that is absent, auto or negative takes the other's value."""
    rx = _px(own, "rx", "x", viewport, None)
    ry = _px(own, "ry", "y", viewport, None)
    rx = None if rx is not None and rx < 0 else rx
    ry = None if ry is not None and ry < 0 else ry
    first = ry if rx is None else rx
    second = rx if ry is None else ry
    return (first or 0.0, second or 0.0)


def _rect(own: Declared, viewport: Viewport) -> Contours:
    """Follow SVG 2 section 10.2, step by step."""
    x, y = _at(own, "x", "x", viewport), _at(own, "y", "y", viewport)
    w, h = _at(own, "width", "x", viewport), _at(own, "height", "y", viewport)
    if w <= 0 or h <= 0:
        return ()
    rx, ry = _radii(own, viewport)
    rx, ry = min(rx, w / 2), min(ry, h / 2)
    if rx == 0 or ry == 0:
        corners = ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
        return (polyline(corners, closed=True),)
    stops = (
        ((x + w - rx, y), (x + w, y + ry)),
        ((x + w, y + h - ry), (x + w - rx, y + h)),
        ((x + rx, y + h), (x, y + h - ry)),
        ((x, y + ry), (x + rx, y)),
    )
    at: Point = (x + rx, y)
    segments: list[Segment] = []
    for straight, turned in stops:
        if straight != at:
            segments.append(Line(straight))
        segments.append(Arc(rx, ry, 0.0, large=False, sweep=True, end=turned))
        at = turned
    return (Contour((x + rx, y), tuple(segments), closed=True),)


def _circle(own: Declared, viewport: Viewport) -> Contours:
    r = _at(own, "r", "other", viewport)
    return _oval(own, (r, r), viewport)


def _ellipse(own: Declared, viewport: Viewport) -> Contours:
    return _oval(own, _radii(own, viewport), viewport)


def _oval(own: Declared, radii: tuple[float, float], viewport: Viewport) -> Contours:
    """Four quarter arcs from three o'clock, as SVG 2 section 10.3 has them."""
    rx, ry = radii
    if rx <= 0 or ry <= 0:
        return ()
    cx, cy = _at(own, "cx", "x", viewport), _at(own, "cy", "y", viewport)
    stops = ((cx, cy + ry), (cx - rx, cy), (cx, cy - ry), (cx + rx, cy))
    arcs = tuple(Arc(rx, ry, 0.0, large=False, sweep=True, end=stop) for stop in stops)
    return (Contour((cx + rx, cy), arcs, closed=True),)


_MAKERS: dict[str, Callable[[Declared, Viewport], Contours]] = {
    "rect": _rect,
    "circle": _circle,
    "ellipse": _ellipse,
}
SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})


def _line(data: str, viewport: Viewport) -> Contours:
    axes = ("x", "y", "x", "y")
    ends: list[float] = []
    for word, axis in zip(data.split(";"), axes, strict=True):
        one = length(word)
        ends.append((None if one is None else viewport.px(one, axis)) or 0.0)
    start, end = (ends[0], ends[1]), (ends[2], ends[3])
    return () if start == end else (polyline((start, end)),)


def _poly(data: str, *, closed: bool) -> Contours:
    """Read points; an odd last number is left out (SVG 2 section 10.6: in error)."""
    values = numbers(data)
    points = list(zip(values[::2], values[1::2], strict=False))
    if len(points) < 2:
        return ()
    return (polyline(points, closed=closed),)


_COMMAND = re.compile(r"\s*([MmZzLlHhVvCcSsQqTtAa])")
_GAP = re.compile(r"\s*,?\s*")
_VALUE = re.compile(NUMBER)
_FLAG = re.compile(r"[01]")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}


def path(data: str) -> Contours:
    """Read path data; of data that is wrong somewhere, what stands before the error.

    SVG 2 section 9.5.4: render up to the last complete segment before the error.

    >>> path("M 0 0 L 10 0 L 5 oops")[0].segments
    (Line(end=(10.0, 0.0)),)
    """
    pen = _Pen()
    parse_path(" ".join(_valid(data)), pen)
    return pen.contours()


def _valid(data: str) -> list[str]:
    """Give the longest valid prefix by the grammar of SVG 2 section 9.3.9.

    Written out plainly (one command letter before each set of numbers), because
    `parse_path` skips what it does not know instead of stopping there.
    """
    out: list[str] = []
    at = 0
    while match := _COMMAND.match(data, at):
        letter, at = match[1], match.end()
        if not out and letter not in "Mm":
            return out
        takes = _TAKES.get(letter.upper(), 0)
        if not takes:
            out.append(letter)
            continue
        sets = 0
        while (one := _arguments(data, at, letter, first=not sets)) is not None:
            words, at = one
            plain = {"M": "L", "m": "l"}.get(letter, letter) if sets else letter
            out.append(plain + " " + " ".join(words))
            sets += 1
        if not sets or not _COMMAND.match(data, at):
            return out
    return out


def _arguments(
    data: str, at: int, letter: str, *, first: bool
) -> tuple[list[str], int] | None:
    """One set of numbers for a command from position `at`, and where it ends."""
    words: list[str] = []
    takes = _TAKES[letter.upper()]
    for i in range(takes):
        gap = _GAP.match(data, at)
        if gap is not None and not (first and i == 0 and "," in gap[0]):
            at = gap.end()
        is_flag = letter in "Aa" and i in (3, 4)
        match = (_FLAG if is_flag else _VALUE).match(data, at)
        if match is None:
            return None
        value = float(match[0])
        if not abs(value) < 1e9:
            return None  # no drawing reaches there; its square would lose all precision
        words.append(match[0] if is_flag else repr(value))
        at = match.end()
    return words, at


class _Pen:
    """Collects contours; has ``arcTo``, so that `parse_path` hands arcs over whole."""

    def __init__(self) -> None:
        self._done: list[Contour] = []
        self._start: Point = (0.0, 0.0)
        self._segments: list[Segment] = []

    def moveTo(self, point: Point) -> None:  # noqa: N802  # the pen protocol is camelCase
        self._start, self._segments = point, []

    def lineTo(self, point: Point) -> None:  # noqa: N802
        self._segments.append(Line(point))

    def curveTo(self, c1: Point, c2: Point, end: Point) -> None:  # noqa: N802
        self._segments.append(Cubic(c1, c2, end))

    def qCurveTo(self, control: Point, end: Point) -> None:  # noqa: N802
        at = self._segments[-1].end if self._segments else self._start
        self._segments.append(quadratic(at, control, end))

    def arcTo(  # noqa: N802, PLR0917  # the protocol of parse_path
        self,
        rx: float,
        ry: float,
        turn_deg: float,
        large: bool,  # noqa: FBT001
        sweep: bool,  # noqa: FBT001
        end: Point,
    ) -> None:
        at = self._segments[-1].end if self._segments else self._start
        if at == end:
            return  # SVG 2 section 9.5.1: an arc that ends where it starts is left out
        straight = rx == 0 or ry == 0
        self._segments.append(
            Line(end) if straight else Arc(rx, ry, turn_deg, large, sweep, end)
        )

    def closePath(self) -> None:  # noqa: N802
        last = self._segments[-1] if self._segments else None
        if isinstance(last, Line) and last.end == self._start and len(self._segments) > 2:
            self._segments.pop()  # closing says it already
        self._keep(closed=True)

    def endPath(self) -> None:  # noqa: N802
        self._keep(closed=False)

    def _keep(self, *, closed: bool) -> None:
        """Keep a contour that goes anywhere; a lone moveto draws nothing."""
        ends = [self._start, *(segment.end for segment in self._segments)]
        if any(a != b for a, b in pairwise(ends)) or any(
            isinstance(segment, Cubic) for segment in self._segments
        ):
            self._done.append(Contour(self._start, tuple(self._segments), closed))
        self._segments = []

    def contours(self) -> Contours:
        return tuple(self._done)


_CSS_PATH = re.compile(r"\s*path\(\s*([\"'])(.*?)\1\s*\)\s*", re.IGNORECASE | re.DOTALL)


def path_data(text: str) -> str:
    """Give the path data in a ``d`` attribute or in the property of that name.

    >>> path_data("M0 0h4"), path_data("path('M0 0h4')")
    ('M0 0h4', 'M0 0h4')
    """
    match = _CSS_PATH.fullmatch(text) if text.lstrip()[:1] in ("p", "P") else None
    return match[2] if match else text


def shape_data(tag: str, element: etree._Element, own: Declared) -> str:
    """Give what holds the coordinates of a path, polyline or line."""
    if tag == "path":
        return path_data(own.get("d", ""))
    if tag == "line":
        return ";".join(element.get(name) or "" for name in ("x1", "y1", "x2", "y2"))
    return (element.get("points") or "") if tag in ("polyline", "polygon") else ""
