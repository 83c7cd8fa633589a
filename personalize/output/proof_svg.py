"""Parts of the proof's pictures, as SVG in the frame of the piece."""

import base64
from collections.abc import Iterable, Sequence

from personalize.design.design import Design
from personalize.geometry.affine import Affine
from personalize.geometry.zone import Region
from personalize.output.cut_svg import path_data
from personalize.units import number

_EDGE_MM = 2.0
"""Room round each picture."""


def lines(design: Design) -> str:
    """Draw outline, holes and creases, and the safe zones, over the artwork."""
    out = [
        f'<path class="line {line.kind.value}" d="{path_data(line.contour)}"/>'
        for line in design.lines
    ]
    out += [f'<path class="zone" d="{rings(panel.zone)}"/>' for panel in design.panels]
    return "".join(out)


def view(box: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """Give what is shown of a box: some room round it."""
    x0, y0, x1, y1 = box
    return (x0 - _EDGE_MM, y0 - _EDGE_MM, x1 + _EDGE_MM, y1 + _EDGE_MM)


def picture(box: tuple[float, float, float, float], inner: str) -> str:
    """An SVG element that shows a box of the piece, y up."""
    x0, y0, x1, y1 = box
    width, height = number(x1 - x0, 2), number(y1 - y0, 2)
    return (
        f'<svg viewBox="0 0 {width} {height}" width="{width}mm">'
        f'<g transform="matrix(1 0 0 -1 {number(-x0)} {number(y1)})">{inner}</g></svg>'
    )


def image(key: str, png: bytes, place: Affine) -> str:
    """Embed a picture that fills the unit square of `place`."""
    data = base64.b64encode(png).decode("ascii")
    onto = matrix(place @ Affine(1, 0, 0, -1, 0, 1))
    return (
        f'<image id="{key}" href="data:image/png;base64,{data}" width="1" height="1"'
        f' preserveAspectRatio="none" transform="{onto}"/>'
    )


def matrix(by: Affine) -> str:
    """Write a map as SVG's `transform`."""
    linear = " ".join(number(v, 7) for v in by.tuple[:4])
    return f"matrix({linear} {number(by.e)} {number(by.f)})"


def rings(region: Region) -> str:
    """Write a region as path data."""
    return "".join(
        "M" + " ".join(f"{number(x, 2)} {number(y, 2)}" for x, y in ring) + "Z"
        for ring in _points(region)
    )


def _points(region: Region) -> Iterable[Sequence[tuple[float, float]]]:
    return (region.outer, *region.holes)
