"""Register marks of the maker's own, drawn as lines and circles on a sheet."""

import math
from collections.abc import Sequence
from pathlib import Path

from personalize.design.files import bytes_of
from personalize.design.svg import parse_svg
from personalize.errors import InputError, Problem
from personalize.geometry.path import Arc, Contour, Line, arc_centre
from personalize.sheet.ink import MarkKind, RegisterMark
from personalize.sheet.paper import Paper, Rect

SIZE_MM = 0.5
"""How far the drawing's page may be off the sheet's size."""
_TOGETHER_MM = 0.5
"""Lines nearer than this make up one mark."""
_ROUND_MM = 0.001


def read_marks(path: Path, paper: Paper) -> tuple[RegisterMark, ...]:
    """Read marks from a drawing of the whole sheet; they stand where they are drawn.

    Raises InputError where the drawing has another size, or holds anything but lines and
    circles.
    """
    drawing = parse_svg(bytes_of(path), path.name)
    problems = []
    width, height = drawing.width_mm, drawing.height_mm
    if max(abs(width - paper.width_mm), abs(height - paper.height_mm)) > SIZE_MM:
        problems.append(
            Problem(
                path.name,
                f"the drawing of marks is {width:.1f} x {height:.1f} mm, and the sheet is"
                f" {paper.width_mm:.1f} x {paper.height_mm:.1f} mm.",
                "Draw the marks where they shall stand on a page of the sheet's size.",
            )
        )
    contours = [c for shape in drawing.shapes for c in shape.contours]
    for shape in drawing.shapes:
        for contour in shape.contours:
            if not is_line_or_circle(contour):
                x, y = contour.start
                where = f"{path.name}, line {shape.line}" if shape.line else path.name
                says = f"a mark at {x:.1f} mm across, {height - y:.1f} mm down is made of"
                problems.append(
                    Problem(
                        where,
                        f"{says} other curves than circles.",
                        "Use straight lines and whole circles only.",
                    )
                )
    if not contours:
        problems.append(
            Problem(path.name, "there are no marks in it.", "Draw lines or circles.")
        )
    if problems:
        raise InputError(problems)
    return tuple(_mark(group) for group in _groups(contours))


def is_line_or_circle(contour: Contour) -> bool:
    """Whether a contour is made of straight lines, or is one whole circle."""
    if all(isinstance(segment, Line) for segment in contour.segments):
        return True
    return circle_of(contour) is not None


def circle_of(contour: Contour) -> tuple[float, float, float] | None:
    """Give centre and radius of a contour that is a whole circle."""
    at, turned, forms = contour.start, 0.0, []
    for segment in contour.segments:
        form = arc_centre(at, segment) if isinstance(segment, Arc) else None
        if form is None or abs(form[1] - form[2]) > _ROUND_MM:
            return None
        forms.append((*form[0], form[1]))
        turned += form[4]
        at = segment.end
    if not forms or abs(abs(turned) - 2 * math.pi) > 1e-3:
        return None
    same = all(math.dist(form, forms[0]) <= _ROUND_MM for form in forms)
    return forms[0] if same else None


def _groups(contours: Sequence[Contour]) -> list[list[Contour]]:
    """Gather lines that lie together."""
    groups: list[tuple[Rect, list[Contour]]] = []
    for contour in contours:
        box, own = contour.bounds(), [contour]
        apart = []
        for other, members in groups:
            if _near(box, other):
                box, own = _both(box, other), [*members, *own]
            else:
                apart.append((other, members))
        groups = [*apart, (box, own)]
    return [members for _, members in groups]


def _near(a: Rect, b: Rect) -> bool:
    by = _TOGETHER_MM
    return (
        a[0] <= b[2] + by and b[0] <= a[2] + by and a[1] <= b[3] + by and b[1] <= a[3] + by
    )


def _both(a: Rect, b: Rect) -> Rect:
    return (min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3]))


def _mark(contours: Sequence[Contour]) -> RegisterMark:
    box = contours[0].bounds()
    for contour in contours[1:]:
        box = _both(box, contour.bounds())
    centre = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    return RegisterMark(centre, MarkKind.OWN, drawn=tuple(contours))
