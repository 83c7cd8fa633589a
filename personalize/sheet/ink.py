"""What goes on a sheet, as three types that never turn into each other.

Ink is printed. Die lines guide a tool. Register marks are printed and looked for by a
machine or a person. A writer of cut files takes die lines and nothing else.
"""

from dataclasses import dataclass
from enum import StrEnum

from personalize.design.design import LineKind
from personalize.design.style import Colour
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


TICK_MM = 10.0
"""Length of both lines of a corner tick. Common practice, no source."""


class MarkKind(StrEnum):
    """What a register mark looks like."""

    CROSS_HAIR = "cross-hair"
    """Two lines across each other, in a circle."""
    CORNER = "corner"
    """Two lines that meet in a corner and run inward along the sheet's edges."""
    OWN = "own"
    """What the maker has drawn."""


@dataclass(frozen=True, slots=True)
class RegisterMark:
    """A mark to line the cut up with the print."""

    centre: Point
    """Of a corner tick: where its lines meet."""
    look: MarkKind = MarkKind.CROSS_HAIR
    inward: Point = (1.0, 1.0)
    """Of a corner tick: which ways its lines run, each 1 or -1."""
    drawn: tuple[Contour, ...] = ()
    """Lines of the maker's own mark."""

    def contours(self) -> tuple[Contour, ...]:
        """Lines of the mark, in sheet mm."""
        if self.look is MarkKind.OWN:
            return self.drawn
        (x, y), r = self.centre, MARK_RADIUS_MM
        if self.look is MarkKind.CORNER:
            dx, dy = (TICK_MM * way for way in self.inward)
            return (polyline([(x + dx, y), (x, y), (x, y + dy)]),)
        return (
            circle(self.centre, r - MARK_LINE_MM / 2),
            polyline([(x - r, y), (x + r, y)]),
            polyline([(x, y - r), (x, y + r)]),
        )

    @property
    def clear_zone(self) -> tuple[float, float, float, float]:
        """Box that pieces leave free."""
        half = MARK_LINE_MM / 2
        if self.look is MarkKind.CROSS_HAIR:
            (x, y), reach = self.centre, MARK_RADIUS_MM + MARK_CLEAR_MM
            return (x - reach, y - reach, x + reach, y + reach)
        boxes = [contour.bounds() for contour in self.contours()]
        low = [min(box[i] for box in boxes) - half - MARK_CLEAR_MM for i in (0, 1)]
        high = [max(box[i] for box in boxes) + half + MARK_CLEAR_MM for i in (2, 3)]
        return (low[0], low[1], high[0], high[1])
