"""Write marks.svg: the register marks of a sheet alone, as lines and circles in mm."""

from collections.abc import Iterable, Sequence

from personalize.geometry.affine import FLIP_Y, IDENTITY, Affine, Point, translation
from personalize.geometry.path import Contour
from personalize.sheet.ink import MARK_LINE_MM, RegisterMark
from personalize.sheet.own_marks import circle_of
from personalize.sheet.paper import Paper
from personalize.units import number


def marks_svg(marks: Sequence[RegisterMark], paper: Paper, lying: Affine = IDENTITY) -> str:
    """Write the marks where they stand on the sheet; each is a group.

    `lying` maps the printed sheet to how it lies before the cutter, as the cut file has it.
    """
    width, height = number(paper.width_mm), number(paper.height_mm)
    to_page = translation(0, paper.height_mm) @ FLIP_Y @ lying
    out = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">',
    ]
    style = f'fill="none" stroke="#000" stroke-width="{number(MARK_LINE_MM)}"'
    for count, mark in enumerate(marks, 1):
        out.append(f'<g id="mark-{count}" {style}>')
        for contour in mark.contours():
            out += _elements(contour, to_page)
        out.append("</g>")
    return "\n".join([*out, "</svg>\n"])


def _elements(contour: Contour, to_page: Affine) -> Iterable[str]:
    ring = circle_of(contour)
    if ring is not None:
        x, y = to_page(ring[:2])
        yield f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(ring[2])}"/>'
        return
    points: list[Point] = [contour.start, *(s.end for s in contour.segments)]
    if contour.closed:
        points.append(contour.start)
    for a, b in zip(map(to_page, points), map(to_page, points[1:]), strict=False):
        if a != b:
            ends = f'x1="{_n(a[0])}" y1="{_n(a[1])}" x2="{_n(b[0])}" y2="{_n(b[1])}"'
            yield f"<line {ends}/>"


def _n(value: float) -> str:
    return number(value, 5)
