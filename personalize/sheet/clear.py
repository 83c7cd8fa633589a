"""Clear zones: parts of a sheet that pieces leave free, measured from its corners.

They are for the marks that a machine's own program adds, a roller's grip, a held edge.
A zone is a box, or any shape by its corners; points run inward from the named corner of
the paper, so that a zone holds for paper of any size.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from personalize.errors import InputError, Problem
from personalize.geometry.affine import Point
from personalize.sheet.paper import Paper, Rect
from personalize.units import length_mm

STRIP_MM = 1.0
"""A slanted zone is covered by boxes of this height: pieces keep at most so much more."""

CORNERS = ("top left", "top right", "bottom left", "bottom right")
MOST_MM = 5000.0
_HOW = (
    'Write a corner and a size in mm, such as "top left 14x14", or a corner and'
    ' three points or more counted inward from it, such as "bottom right 0,0 30,0 0,30".'
)


@dataclass(frozen=True, slots=True)
class ClearZone:
    """A part of a sheet that stays free."""

    corner: str
    """Of `CORNERS`."""
    points: tuple[Point, ...]
    """Corners of the zone in mm, counted inward from the corner of the paper."""

    def on(self, paper: Paper) -> tuple[Point, ...]:
        """Give its corners on a sheet, in sheet mm, y up."""
        top, left = self.corner.startswith("top"), self.corner.endswith("left")
        return tuple(
            (x if left else paper.width_mm - x, paper.height_mm - y if top else y)
            for x, y in self.points
        )

    def boxes(self, paper: Paper) -> tuple[Rect, ...]:
        """Cover it with boxes: one for a box, strips for other shapes."""
        corners = self.on(paper)
        xs, ys = [p[0] for p in corners], [p[1] for p in corners]
        whole = (min(xs), min(ys), max(xs), max(ys))
        if _is_box(corners, whole):
            return (whole,)
        return tuple(_strips(corners, whole))


def _is_box(corners: tuple[Point, ...], box: Rect) -> bool:
    return len(corners) == 4 and set(corners) == {
        (x, y) for x in box[::2] for y in box[1::2]
    }


def _strips(corners: tuple[Point, ...], box: Rect) -> Iterator[Rect]:
    """Cut a shape into level strips, each as wide as the shape is in it."""
    count = max(1, -int((box[1] - box[3]) // STRIP_MM))
    height = (box[3] - box[1]) / count
    for i in range(count):
        y0, y1 = box[1] + i * height, box[1] + (i + 1) * height
        xs = [x for edge in _edges(corners) for x in _within(edge, y0, y1)]
        if xs:
            yield (min(xs), y0, max(xs), y1)


def _edges(corners: tuple[Point, ...]) -> Iterator[tuple[Point, Point]]:
    return zip(corners, (*corners[1:], corners[0]), strict=True)


def _within(edge: tuple[Point, Point], y0: float, y1: float) -> Iterator[float]:
    """Give where an edge begins and ends across, as far as it lies in a strip."""
    (ax, ay), (bx, by) = edge
    if max(ay, by) < y0 or min(ay, by) > y1:
        return
    if ay == by:
        yield from (ax, bx)
        return
    for y in (min(max(ay, y0), y1), min(max(by, y0), y1)):
        yield ax + (y - ay) / (by - ay) * (bx - ax)


_BOX = re.compile(r"([\d.]+\s*[a-z]*)\s*[x×]\s*([\d.]+\s*[a-z]*)\Z", re.I)


def parse_clear(text: str, place: str = "--clear") -> ClearZone:
    """Read a clear zone as a maker writes it. Raises InputError, told at `place`."""
    words = " ".join(text.split()).casefold()
    corner = next((c for c in CORNERS if words.startswith(c + " ")), None)
    points = _points(words[len(corner) :].strip()) if corner else None
    if corner is None or points is None:
        raise InputError(Problem(place, f"{text!r} is no clear zone.", _HOW))
    return ClearZone(corner, points)


def _points(words: str) -> tuple[Point, ...] | None:
    try:
        if size := _BOX.match(words):
            w, h = (length_mm(side) for side in size.groups())
            points: tuple[Point, ...] = ((0, 0), (w, 0), (w, h), (0, h))
        else:
            points = tuple(_point(pair) for pair in words.split())
    except ValueError:
        return None
    spans = [max(axis) - min(axis) for axis in zip(*points, strict=True)] if points else []
    inside = all(0 <= v <= MOST_MM for point in points for v in point)
    return points if inside and len(points) >= 3 and min(spans) > 0 else None


def _point(pair: str) -> Point:
    x, y = (length_mm(part) for part in pair.split(","))
    return (x, y)
