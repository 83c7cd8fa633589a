"""What goes on a sheet, as three types that never turn into each other.

Ink is printed. Die lines guide a tool. Register marks are printed and looked for by a
machine or a person. A writer of cut files takes die lines and nothing else.
"""

from dataclasses import dataclass

from personalize.design.design import Colour, LineKind
from personalize.geometry.affine import Affine, Point
from personalize.geometry.path import Contour, circle, polyline
from personalize.type.shape import ShapedLine

GREY = Colour(0.35, 0.35, 0.35)


@dataclass(frozen=True, slots=True)
class InkStroke:
    """A printed line, in sheet mm."""

    contour: Contour
    width_mm: float
    colour: Colour = GREY


@dataclass(frozen=True, slots=True)
class InkText:
    """A printed line of letters; `place` maps its em to sheet mm."""

    line: ShapedLine
    place: Affine
    colour: Colour = GREY


Ink = InkStroke | InkText


@dataclass(frozen=True, slots=True)
class DieLine:
    """A line that a tool follows, in sheet mm."""

    kind: LineKind
    contour: Contour


MARK_RADIUS_MM = 4.0
MARK_LINE_MM = 0.5
MARK_CLEAR_MM = 5.0
MARK_FROM_EDGE_MM = 10.0
"""A cross-hair in a circle of 8 mm, its line 0.5, 5 mm clear round it, at least 10 mm
from the paper's edge. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class RegisterMark:
    """A cross-hair in a circle, to line the cut up with the print."""

    centre: Point

    def contours(self) -> tuple[Contour, ...]:
        """Lines of the mark, in sheet mm."""
        (x, y), r = self.centre, MARK_RADIUS_MM
        return (
            circle(self.centre, r - MARK_LINE_MM / 2),
            polyline([(x - r, y), (x + r, y)]),
            polyline([(x, y - r), (x, y + r)]),
        )

    @property
    def clear_zone(self) -> tuple[float, float, float, float]:
        """Box that pieces leave free."""
        (x, y), r = self.centre, MARK_RADIUS_MM + MARK_CLEAR_MM
        return (x - r, y - r, x + r, y + r)
