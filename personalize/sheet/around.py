"""A cut round all pieces of a sheet, as for stickers that are lifted out together."""

from collections.abc import Sequence

from personalize.errors import refuse
from personalize.geometry.affine import Point
from personalize.geometry.path import Contour, polyline
from personalize.sheet.paper import Paper, Rect

_EDGE_MM = 1.0
"""The cut keeps so far inside the paper."""


def around(
    pieces: Sequence[Rect],
    marks: Sequence[Rect],
    paper: Paper,
    distance_mm: float,
    asked: str = "--around",
) -> Contour:
    """Give a box round all pieces, so far away, that steps in where a mark stands.

    `pieces` and `marks` are boxes of outlines and clear zones in sheet mm, `asked` what
    asks for the cut. Raises
    InputError where the cut would leave the paper or run through a mark.
    """
    x0 = min(box[0] for box in pieces) - distance_mm
    y0 = min(box[1] for box in pieces) - distance_mm
    x1 = max(box[2] for box in pieces) + distance_mm
    y1 = max(box[3] for box in pieces) + distance_mm
    if min(x0, y0, paper.width_mm - x1, paper.height_mm - y1) < _EDGE_MM:
        raise refuse(
            asked,
            f"a cut {distance_mm:g} mm round the pieces would leave the paper.",
            "Take a smaller distance, or wider margins.",
        )
    frame = (x0, y0, x1, y1)
    meeting = [box for box in marks if _meet(box, frame)]
    points: list[Point] = []
    # From the lower left corner on, counter-clockwise.
    for right, top in ((False, False), (True, False), (True, True), (False, True)):
        corner = (x1 if right else x0, y1 if top else y0)
        here = [box for box in meeting if _holds(box, corner)]
        meeting = [box for box in meeting if box not in here]
        if not here:
            points.append(corner)
            continue
        x = min(b[0] for b in here) if right else max(b[2] for b in here)
        y = min(b[1] for b in here) if top else max(b[3] for b in here)
        step = [(corner[0], y), (x, y), (x, corner[1])]
        points += step if right == top else step[::-1]
    if meeting:
        raise refuse(
            asked,
            f"a cut {distance_mm:g} mm round the pieces would run through a register mark.",
            "Take a smaller distance, or --marks none.",
        )
    return polyline(points, closed=True)


def _meet(a: Rect, b: Rect) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _holds(box: Rect, point: Point) -> bool:
    return box[0] <= point[0] <= box[2] and box[1] <= point[1] <= box[3]
