"""Letters in several colours: the layers of a colour glyph, as filled shapes.

Tables COLR 0 and COLR 1 (OpenType 1.9.1, "COLR"): solid fills, linear and radial
gradients. A glyph that needs more (blending of layers, sweeps, gradients that repeat or
fade) is not taken apart: it is then printed in one colour, or from another font.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.recordingPen import RecordingPen
from fontTools.pens.transformPen import TransformPen

Rgb = tuple[float, float, float]
Matrix = tuple[float, float, float, float, float, float]
_SAME = 1e-3
_CLIP_ROOM = 0.01
"""How far, in em, a layer may reach over the glyph's stated box: rounding."""


@dataclass(frozen=True, slots=True)
class Solid:
    """One colour; None for that of the text."""

    colour: Rgb | None
    alpha: float


@dataclass(frozen=True, slots=True)
class Gradient:
    """Colours along a line, or from one circle to another.

    `ends` is (x0, y0, x1, y1), or (x0, y0, r0, x1, y1, r1), mapped to em by `matrix`;
    `stops` are from 0 to 1.
    """

    ends: tuple[float, ...]
    stops: tuple[tuple[float, Rgb], ...]
    matrix: Matrix


@dataclass(frozen=True, slots=True)
class Layer:
    """A filled shape: what a fontTools pen records, in em."""

    shape: tuple[tuple[str, tuple[Any, ...]], ...]
    fill: Solid | Gradient


class LayerPainter:
    """Gathers layers from the calls of a painted glyph (`Face.paint`)."""

    def __init__(self, draw: Any, upem: int) -> None:
        self._draw, self._em = draw, upem
        self._matrices: list[Matrix] = [(1 / upem, 0.0, 0.0, 1 / upem, 0.0, 0.0)]
        self._clips: list[tuple[tuple[str, tuple[Any, ...]], ...] | None] = []
        self._box: tuple[float, float, float, float] | None = None
        self.layers: list[Layer] = []
        self.is_whole = True

    def push_transform(self, *by: float) -> None:
        """Enter a map: xx, yx, xy, yy, dx, dy."""
        self._matrices.append(_product(self._matrices[-1], by))

    def pop_transform(self) -> None:
        """Leave it."""
        self._matrices.pop()

    def push_clip_glyph(self, gid: int) -> None:
        """Paint inside a glyph's outline from here on."""
        if any(clip is not None for clip in self._clips):
            self.is_whole = False
        pen = RecordingPen()
        self._draw(gid, TransformPen(pen, self._matrices[-1]))
        self._clips.append(tuple((op, tuple(points)) for op, points in pen.value))

    def push_clip_rectangle(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Paint inside a box: all that we take apart lies in it anyway."""
        a, b, c, d, e, f = self._matrices[-1]
        if b or c:
            self.is_whole = False
        self._box = (x0 * a + e, y0 * d + f, x1 * a + e, y1 * d + f)
        self._clips.append(None)

    def pop_clip(self) -> None:
        """Leave the outline or box."""
        self._clips.pop()

    def refuse(self) -> None:
        """Meet something that cannot be taken apart."""
        self.is_whole = False

    def solid(self, colour: Rgb, alpha: float, *, is_text: bool) -> None:
        """Fill the outline with one colour."""
        self._fill(Solid(None if is_text else colour, alpha))

    def gradient(
        self, ends: tuple[float, ...], stops: Sequence[tuple[float, Rgb, float]]
    ) -> None:
        """Fill the outline with a gradient."""
        given = sorted(stops, key=lambda stop: stop[0])
        if len(given) < 2 or any(alpha < 1 for *_, alpha in given):
            self.is_whole = False
            return
        first, last = given[0][0], given[-1][0]
        if last - first < _SAME:
            self.is_whole = False
            return
        even = tuple(((at - first) / (last - first), rgb) for at, rgb, _ in given)
        half = len(ends) // 2
        start, end = ends[:half], ends[half:]
        shifted = (
            *(a + first * (b - a) for a, b in zip(start, end, strict=True)),
            *(a + last * (b - a) for a, b in zip(start, end, strict=True)),
        )
        if half == 3 and not _inside(shifted):
            self.is_whole = False
        self._fill(Gradient(shifted, even, self._matrices[-1]))

    def _fill(self, fill: Solid | Gradient) -> None:
        shape = next((clip for clip in reversed(self._clips) if clip is not None), None)
        if shape is None:
            self.is_whole = False
        elif shape:
            self.layers.append(Layer(shape, fill))

    def finished(self) -> tuple[Layer, ...]:
        """Give the layers; none where they do not tell all of the glyph."""
        if not self.is_whole or not self.layers:
            return ()
        box = box_of(self.layers)
        if self._box is not None and box is not None:
            over = [
                self._box[0] - box[0],
                self._box[1] - box[1],
                box[2] - self._box[2],
                box[3] - self._box[3],
            ]
            if max(over) > _CLIP_ROOM:
                return ()
        return tuple(self.layers)


def box_of(layers: Iterable[Layer]) -> tuple[float, float, float, float] | None:
    """Box round all layers, in em."""
    pen = BoundsPen(None)
    for layer in layers:
        replay(layer, pen)
    return pen.bounds and tuple(pen.bounds)


def replay(layer: Layer, pen: Any) -> None:
    """Draw a layer's shape with a pen."""
    for operator, points in layer.shape:
        getattr(pen, operator)(*points)


def reduced(  # noqa: PLR0917 - three points
    x0: float, y0: float, x1: float, y1: float, x2: float, y2: float
) -> tuple[float, ...]:
    """Turn the three points of a COLR gradient into the two ends of a plain one.

    OpenType 1.9.1, "COLR", linear gradients: the colours run at right angles to the line
    from the first point to the third.
    """
    qx, qy = x2 - x0, y2 - y0
    square = qx * qx + qy * qy
    if square < 1e-6:
        return (x0, y0, x1, y1)
    along = ((x1 - x0) * qx + (y1 - y0) * qy) / square
    return (x0, y0, x1 - along * qx, y1 - along * qy)


def _inside(ends: tuple[float, ...]) -> bool:
    """Whether the first circle lies in the second: what SVG can draw."""
    x0, y0, r0, x1, y1, r1 = ends
    away = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    return r0 >= 0 and r1 > r0 and away + r0 <= r1 + _SAME


def _product(outer: Matrix, inner: Sequence[float]) -> Matrix:
    a, b, c, d, e, f = outer
    p, q, r, s, t, u = inner
    return (
        a * p + c * q,
        b * p + d * q,
        a * r + c * s,
        b * r + d * s,
        a * t + c * u + e,
        b * t + d * u + f,
    )
