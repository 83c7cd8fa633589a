"""Affine maps of the plane, written as in SVG and PDF: [a b c d e f]."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Point = tuple[float, float]
Points = NDArray[np.float64]
"""Many points: an array of shape (n, 2)."""


@dataclass(frozen=True, slots=True)
class Affine:
    """The map x' = a x + c y + e, y' = b x + d y + f.

    ``(f @ g)`` applies g first, as a product of the matrices [[a c e], [b d f], [0 0 1]].
    """

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __post_init__(self) -> None:
        """Refuse NaN and infinity here, where the wrong number is made."""
        # One NaN or infinity makes the sum one; so does a sum past 1e308, no length.
        if not math.isfinite(self.a + self.b + self.c + self.d + self.e + self.f):
            raise ValueError(f"not a finite map: {self.tuple}")

    @property
    def tuple(self) -> tuple[float, float, float, float, float, float]:
        """The six numbers in file order."""
        return (self.a, self.b, self.c, self.d, self.e, self.f)

    def __matmul__(self, g: "Affine") -> "Affine":
        """Apply `g`, then this map."""
        return Affine(
            self.a * g.a + self.c * g.b,
            self.b * g.a + self.d * g.b,
            self.a * g.c + self.c * g.d,
            self.b * g.c + self.d * g.d,
            self.a * g.e + self.c * g.f + self.e,
            self.b * g.e + self.d * g.f + self.f,
        )

    def __call__(self, point: Point) -> Point:
        """Map one point."""
        x, y = point
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def many(self, points: NDArray[Any]) -> Points:
        """Map an array of shape (n, 2)."""
        out: Points = points @ np.array([[self.a, self.b], [self.c, self.d]])
        out += (self.e, self.f)
        return out

    @property
    def determinant(self) -> float:
        """Signed area factor; negative where the map mirrors."""
        return self.a * self.d - self.b * self.c

    def inverse(self) -> "Affine":
        """Give the map that undoes this one; ZeroDivisionError when there is none."""
        det = self.determinant
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Affine(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))


IDENTITY = Affine()
FLIP_Y = Affine(1, 0, 0, -1, 0, 0)
"""Mirror in the x axis: between y up (here, PDF, DXF) and y down (SVG)."""


def translation(dx: float, dy: float) -> Affine:
    """Shift by (dx, dy)."""
    return Affine(1, 0, 0, 1, dx, dy)


def scaling(sx: float, sy: float | None = None) -> Affine:
    """Scale about the origin by sx and sy (sy = sx when not given)."""
    return Affine(sx, 0, 0, sx if sy is None else sy, 0, 0)


def rotation(turn_deg: float, about: Point = (0.0, 0.0)) -> Affine:
    """Turn counter-clockwise (y up) by `turn_deg` about a point; quarter turns are exact.

    >>> rotation(90)((1.0, 0.0))
    (0.0, 1.0)
    """
    quarter, rest = divmod(turn_deg % 360, 90)
    if rest == 0:
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        angle = math.radians(turn_deg)
        cos, sin = math.cos(angle), math.sin(angle)
    x, y = about
    return Affine(cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)


def reflection(a: Point, b: Point) -> Affine:
    """Mirror in the line through the points a and b (which must differ)."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    p, q = (dx * dx - dy * dy) / square, 2 * dx * dy / square
    return Affine(p, q, q, -p, a[0] - p * a[0] - q * a[1], a[1] - q * a[0] + p * a[1])
