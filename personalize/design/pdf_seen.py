"""What the one page of an artwork's PDF paints: pictures at their size, and colours.

A walk through its content (ISO 32000-1, 7.8 and 8.4) that keeps track of where things are
and in what colours. What lies outside the page, or is clipped away by its box, is not
told. Nothing is drawn.
"""

import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import pikepdf
from pikepdf import Dictionary, Name

from personalize.geometry.affine import IDENTITY, Affine, Point
from personalize.units import MM_PER_INCH

DEEPEST = 24
"""Forms within forms that are followed. Judgement; drawings nest a few."""
MOST_STEPS = 1_000_000
"""Operators that are followed in all: some ten seconds. Judgement."""
_HAIR_PT = 0.05
Box = tuple[float, float, float, float]

FILLS = frozenset({"f", "F", "f*", "B", "B*", "b", "b*"})
STROKES = frozenset({"S", "s", "B", "B*", "b", "b*"})
_ENDS = FILLS | STROKES | {"n"}
_TEXT = frozenset({"Tj", "TJ", "'", '"'})
_DEVICE = {"g": Name.DeviceGray, "rg": Name.DeviceRGB, "k": Name.DeviceCMYK}


class TooMuchError(Exception):
    """The page holds more than is followed."""


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour that something is painted with."""

    space: Any
    """Name or array of its colour space."""
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Shading:
    """A gradient that is painted."""

    shading: Any


@dataclass(frozen=True, slots=True)
class Image:
    """A picture that is painted."""

    stream: Any
    """The image, or an inline one."""
    size_px: tuple[int, int]
    size_mm: tuple[float, float]
    """Along its own rows and columns, however it is turned."""
    middle_mm: Point
    """From the page's lower left corner."""
    is_mask: bool
    """Whether it is a stencil for a colour, which comes before it."""

    @property
    def px_per_inch(self) -> float:
        """Pixels to the inch as it is printed, the coarser of both ways."""
        pairs = zip(self.size_px, self.size_mm, strict=True)
        return min(px / mm * MM_PER_INCH for px, mm in pairs)


Seen = Colour | Shading | Image


def seen_on(page: bytes) -> Iterator[Seen]:
    """Give what a PDF of one page paints within its page, in the order of painting.

    Raises TooMuchError, or pikepdf.PdfError and ValueError for content that is broken.
    The things are to be looked at before the next is asked for: the file is open till then.
    """
    with pikepdf.open(io.BytesIO(page)) as pdf:
        sheet = pdf.pages[0]
        x0, y0, x1, y1 = (float(v) for v in sheet.mediabox)
        walk = _Walk((x0, y0))
        state = _State(IDENTITY, (x0, y0, x1, y1))
        yield from walk.content(sheet, sheet.obj.get("/Resources"), state, 0)


def holds_pictures(page: bytes) -> bool:
    """Whether there is any picture in a PDF, beside those within its content itself."""
    with pikepdf.open(io.BytesIO(page)) as pdf:
        return any(
            isinstance(one, pikepdf.Stream) and str(one.get("/Subtype", "")) == "/Image"
            for one in pdf.objects
        )


@dataclass(slots=True)
class _State:
    """The graphics state, as far as it is kept (ISO 32000-1, 8.4.1)."""

    ctm: Affine
    clip: Box
    fill: Seen | Any = field(default_factory=lambda: Colour(Name.DeviceGray, (0.0,)))
    stroke: Seen | Any = field(default_factory=lambda: Colour(Name.DeviceGray, (0.0,)))
    fill_space: Any = Name.DeviceGray
    stroke_space: Any = Name.DeviceGray
    mode: int = 0
    """How text is painted (table 106)."""


@dataclass(slots=True)
class _Walk:
    corner: Point
    steps: int = 0

    def content(
        self, holder: Any, resources: Any, state: _State, depth: int
    ) -> Iterator[Seen]:
        """Follow the content of a page, a form or a pattern."""
        if depth > DEEPEST:
            raise TooMuchError
        stream = _Stream(self, resources or Dictionary(), replace(state), depth)
        for one in pikepdf.parse_content_stream(holder):
            self.steps += 1
            if self.steps > MOST_STEPS:
                raise TooMuchError
            yield from stream.step(one)


class _Stream:
    """One content stream that is followed operator by operator."""

    def __init__(self, walk: _Walk, resources: Any, state: _State, depth: int) -> None:
        self._walk, self._resources, self._depth = walk, resources, depth
        self._now, self._kept = state, list[_State]()
        self._base = state.ctm
        self._path = list[Point]()
        self._clips = False
        self._line = self._text = IDENTITY

    def step(self, one: Any) -> Iterator[Seen]:
        """Do one operator; give what it paints."""
        operator, values = str(one.operator), list(one.operands)
        if operator == "INLINE IMAGE":
            yield from self._image(one.iimage, one.iimage.width, one.iimage.height)
        elif operator == "Do":
            yield from self._do(self._found("/XObject", values[0]))
        elif operator == "sh":
            yield Shading(self._found("/Shading", values[0]))
        elif operator in _ENDS:
            yield from self._painted(operator)
        elif operator in _TEXT:
            yield from self._words()
        elif not (self._placed(operator, values) or self._drawn(operator, values)):
            self._coloured(operator, values)

    def _found(self, kind: str, name: Any) -> Any:
        return self._resources.get(kind, Dictionary()).get(str(name))

    def _placed(self, operator: str, values: Sequence[Any]) -> bool:
        """Keep track of the state and of where text stands."""
        if operator == "q":
            self._kept.append(replace(self._now))
        elif operator == "Q":
            self._now = self._kept.pop() if self._kept else self._now
        elif operator == "cm":
            self._now.ctm = self._now.ctm @ _affine(values)
        elif operator == "BT":
            self._line = IDENTITY
        elif operator == "Tm":
            self._line = _affine(values)
        elif operator in ("Td", "TD"):
            x, y = (float(v) for v in values)
            self._line = self._line @ Affine(1, 0, 0, 1, x, y)
        elif operator == "Tr":
            self._now.mode = int(values[0])
        else:
            return False
        return True

    def _drawn(self, operator: str, values: Sequence[Any]) -> bool:
        """Keep track of the path, as far as its box goes."""
        if operator == "re":
            x, y, wide, high = (float(v) for v in values)
            self._path += [(x, y), (x + wide, y), (x, y + high), (x + wide, y + high)]
        elif operator in ("m", "l", "c", "v", "y"):
            flat = [float(v) for v in values]
            self._path += zip(flat[::2], flat[1::2], strict=True)
        elif operator in ("W", "W*"):
            self._clips = True
        else:
            return False
        return True

    def _coloured(self, operator: str, values: Sequence[Any]) -> None:
        """Keep track of colours (ISO 32000-1, 8.6)."""
        which = "fill" if operator[:1].islower() else "stroke"
        plain = operator.lower()
        if plain in _DEVICE:
            self._set(which, _DEVICE[plain], values)
        elif plain == "cs":
            space = self._found("/ColorSpace", values[0])
            space = values[0] if space is None else space
            self._set(which, space, _first(space))
        elif plain in ("sc", "scn"):
            space = getattr(self._now, f"{which}_space")
            if values and isinstance(values[-1], Name):
                setattr(self._now, which, self._found("/Pattern", values[-1]))
                # A pattern without colours of its own is in the colour before its name.
                values = values[:-1]
                if not values:
                    return
                space = space[1] if isinstance(space, pikepdf.Array) else space
                setattr(self._now, which, Colour(space, _floats(values)))
                return
            self._set(which, space, values)

    def _set(self, which: str, space: Any, values: Sequence[Any]) -> None:
        setattr(self._now, f"{which}_space", space)
        setattr(self._now, which, Colour(space, _floats(values)))

    def _painted(self, operator: str) -> Iterator[Seen]:
        """End a path: paint it, and clip by its box where that was asked for."""
        points, self._path = self._path, []
        clips, self._clips = self._clips, False
        if not points:
            return
        box = _common(_box([self._now.ctm(point) for point in points]), self._now.clip)
        if box is not None:
            if operator in FILLS:
                yield from self._with(self._now.fill)
            if operator in STROKES:
                yield from self._with(self._now.stroke)
        if clips:
            self._now.clip = box or (0.0, 0.0, -1.0, -1.0)

    def _words(self) -> Iterator[Seen]:
        at = (self._now.ctm @ self._line)((0.0, 0.0))
        if _common((*at, *at), self._now.clip) is None:
            return
        if self._now.mode in (0, 2, 4, 6):
            yield from self._with(self._now.fill)
        if self._now.mode in (1, 2, 5, 6):
            yield from self._with(self._now.stroke)

    def _with(self, paint: Any) -> Iterator[Seen]:
        """Give what is painted with a colour or a pattern (ISO 32000-1, 8.7)."""
        if isinstance(paint, Colour):
            if paint.values:
                yield paint
        elif paint is not None and int(paint.get("/PatternType", 0)) == 2:
            yield Shading(paint.Shading)
        elif paint is not None:
            place = self._base @ _affine(paint.get("/Matrix"))
            inner = _State(place, (-1e9, -1e9, 1e9, 1e9))
            yield from self._walk.content(
                paint, paint.get("/Resources"), inner, self._depth + 1
            )

    def _do(self, thing: Any) -> Iterator[Seen]:
        kind = "" if thing is None else str(thing.get("/Subtype", ""))
        if kind == "/Image":
            yield from self._image(thing, int(thing.Width), int(thing.Height))
        elif kind == "/Form":
            state = replace(self._now, ctm=self._now.ctm @ _affine(thing.get("/Matrix")))
            x0, y0, x1, y1 = (float(v) for v in thing.BBox)
            ring = [state.ctm(p) for p in ((x0, y0), (x1, y0), (x0, y1), (x1, y1))]
            clip = _common(_box(ring), state.clip)
            if clip is not None:
                state.clip = clip
                resources = thing.get("/Resources", self._resources)
                yield from self._walk.content(thing, resources, state, self._depth + 1)

    def _image(self, stream: Any, wide: int, high: int) -> Iterator[Seen]:
        ctm = self._now.ctm
        box = _common(
            _box([ctm(p) for p in ((0, 0), (1, 0), (0, 1), (1, 1))]), self._now.clip
        )
        size = [math.hypot(*way) * _MM for way in ((ctm.a, ctm.b), (ctm.c, ctm.d))]
        if box is None or min(size) <= 0:
            return
        is_mask = bool(
            stream.image_mask
            if isinstance(stream, pikepdf.PdfInlineImage)
            else stream.get("/ImageMask", False)
        )
        if is_mask:
            yield from self._with(self._now.fill)
        x, y = ((box[i] + box[i + 2]) / 2 - self._walk.corner[i] for i in (0, 1))
        yield Image(
            stream, (wide, high), (size[0], size[1]), (x * _MM, y * _MM), is_mask=is_mask
        )


def _first(space: Any) -> tuple[float, ...]:
    """Give the colour that holds in a space till one is set (ISO 32000-1, table 74)."""
    parts = list(space) if isinstance(space, pikepdf.Array) else [space]
    match str(parts[0]):
        case "/DeviceCMYK" | "/CMYK":
            return (0.0, 0.0, 0.0, 1.0)
        case "/DeviceRGB" | "/RGB" | "/CalRGB" | "/Lab":
            return (0.0, 0.0, 0.0)
        case "/ICCBased":
            return (0.0,) * int(parts[1].get("/N", 1))
        case "/Separation":
            return (1.0,)
        case "/DeviceN":
            return (1.0,) * len(parts[1])
        case "/Pattern":
            return ()
    return (0.0,)


_MM = MM_PER_INCH / 72


def _floats(values: Sequence[Any]) -> tuple[float, ...]:
    return tuple(float(v) for v in values)


def _affine(values: Any) -> Affine:
    if values is None:
        return IDENTITY
    a, b, c, d, e, f = (float(v) for v in values)
    return Affine(a, b, c, d, e, f)


def _box(points: Sequence[Point]) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs), min(ys), max(xs), max(ys))


def _common(one: Box, other: Box) -> Box | None:
    """Give what two boxes have in common; None where they lie apart."""
    x0, y0 = max(one[0], other[0]), max(one[1], other[1])
    x1, y1 = min(one[2], other[2]), min(one[3], other[3])
    return (x0, y0, x1, y1) if x1 - x0 >= -_HAIR_PT and y1 - y0 >= -_HAIR_PT else None
