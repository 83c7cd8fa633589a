"""Write cut.svg: die lines only, in mm, curves kept. Takes `DieLine` and nothing else.

together.svg holds the same lines over one picture of the print.
"""

import base64
from collections.abc import Iterable

from personalize.design.design import LineKind
from personalize.geometry.affine import FLIP_Y, Affine, Point, translation
from personalize.geometry.path import Contour, Cubic, Line
from personalize.sheet.cut_layouts import CutLayout
from personalize.sheet.ink import DieLine
from personalize.sheet.paper import Paper
from personalize.units import number

DASHES = {
    LineKind.CREASING: "3 1.5",
    LineKind.PERFORATING: "1 1",
    LineKind.PARTIAL_CUTTING: "6 1 1 1",
    LineKind.GLUING: "0.5 1",
}
"""Kinds are told apart by pattern and word, as in carton drawings; never by colour."""
ORDER = (
    LineKind.GLUING,
    LineKind.CREASING,
    LineKind.PARTIAL_CUTTING,
    LineKind.PERFORATING,
    LineKind.CUTTING,
)
"""The piece must still hang in its sheet while it is creased. The order within a kind is
that of the layout."""


def cut_svg(layout: CutLayout) -> str:
    """Write the die lines of a sheet as an SVG document, a group for each kind."""
    return "\n".join([*_opening(layout.paper), *_groups(layout), "</svg>\n"])


def together_svg(layout: CutLayout, png: bytes) -> str:
    """Write the print of a sheet, as a picture of all of it, under its die lines."""
    width, height = number(layout.paper.width_mm), number(layout.paper.height_mm)
    picture = (
        f'<image x="0" y="0" width="{width}" height="{height}" preserveAspectRatio="none"'
        f' href="data:image/png;base64,{base64.b64encode(png).decode()}"/>'
    )
    return "\n".join([*_opening(layout.paper), picture, *_groups(layout), "</svg>\n"])


def _opening(paper: Paper) -> Iterable[str]:
    width, height = number(paper.width_mm), number(paper.height_mm)
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm"'
        f' height="{height}mm" viewBox="0 0 {width} {height}">'
    )


def _groups(layout: CutLayout) -> Iterable[str]:
    to_page = translation(0, layout.paper.height_mm) @ FLIP_Y
    for kind in ORDER:
        lines = [line for line in layout.lines if line.kind is kind]
        if lines:
            yield from _group(kind, lines, to_page)


def _group(kind: LineKind, lines: Iterable[DieLine], to_page: Affine) -> Iterable[str]:
    dashes = DASHES.get(kind)
    pattern = f' stroke-dasharray="{dashes}"' if dashes else ""
    yield f'<g id="{kind.value}" fill="none" stroke="#000" stroke-width="0.1"{pattern}>'
    for line in lines:
        yield f'<path d="{path_data(line.contour.transformed(to_page))}"/>'
    yield "</g>"


def path_data(contour: Contour) -> str:
    """Write a contour, its y axis pointing down, as SVG path data."""
    out = [f"M{_point(contour.start)}"]
    for segment in contour.segments:
        if isinstance(segment, Line):
            out.append(f"L{_point(segment.end)}")
        elif isinstance(segment, Cubic):
            out.append(f"C{' '.join(map(_point, (segment.c1, segment.c2, segment.end)))}")
        else:
            radii = f"{number(segment.rx, 5)} {number(segment.ry, 5)}"
            flags = f"{int(segment.large)} {int(segment.sweep)}"
            turn = number(segment.turn_deg, 5)
            out.append(f"A{radii} {turn} {flags} {_point(segment.end)}")
    if contour.closed:
        out.append("Z")
    return "".join(out)


def _point(point: Point) -> str:
    return f"{number(point[0], 5)} {number(point[1], 5)}"
