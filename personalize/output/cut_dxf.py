"""Write cut.dxf: die lines only, in mm, a layer for each kind. Takes `DieLine` alone.

The only module that uses ezdxf. Every line is one LWPOLYLINE: straight pieces, circular
arcs as bulges (tan of a quarter of the angle), other curves in chords within
`FLATTEN_MM`. Nothing else stands in the file: many readers follow nothing else.
"""

import io
import math
from collections.abc import Iterator

from personalize.geometry.affine import Point
from personalize.geometry.path import Arc, Contour, Line, arc_centre, segment_points
from personalize.output.cut_svg import ORDER
from personalize.sheet.fill import CutLayout

VERSION = "R2010"
MILLIMETRES = 4
"""DXF header variable $INSUNITS (Autodesk DXF reference, 2019)."""
FLATTEN_MM = 0.005
"""Half of what print and cut may disagree by."""
_ROUND = 1e-6

Vertex = tuple[float, float, float]
"""x, y, and the bulge of the piece that begins there."""


def cut_dxf(layout: CutLayout) -> str:
    """Write the die lines of a sheet as a DXF document; the same input, the same text."""
    # Here: it is slow to load, and few want the file.
    import ezdxf

    # Both are its documented names. Fixed: no date and no new GUIDs.
    ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]
    document = ezdxf.new(  # type: ignore[attr-defined]
        VERSION, setup=False, units=MILLIMETRES
    )
    document.header["$MEASUREMENT"] = 1
    page = (layout.paper.width_mm, layout.paper.height_mm)
    document.header["$LIMMIN"], document.header["$LIMMAX"] = (0.0, 0.0), page
    space = document.modelspace()
    for kind in ORDER:
        lines = [line for line in layout.lines if line.kind is kind]
        if lines:
            document.layers.add(kind.value)
        for line in lines:
            space.add_lwpolyline(
                list(_vertices(line.contour)),
                format="xyb",
                close=line.contour.closed,
                dxfattribs={"layer": kind.value},
            )
    out = io.StringIO()
    document.write(out)
    return out.getvalue()


def _vertices(contour: Contour) -> Iterator[Vertex]:
    """Give the vertices of a contour; a closed one does not repeat the first."""
    found: list[Vertex] = []
    at = contour.start
    for segment in contour.segments:
        if isinstance(segment, Arc) and (bulge := _bulge(at, segment)) is not None:
            found.append((*at, bulge))
        elif isinstance(segment, Line | Arc) and _is_straight(at, segment):
            found.append((*at, 0.0))
        else:
            points = [at, *segment_points(at, segment, FLATTEN_MM)[:-1]]
            found += [(float(x), float(y), 0.0) for x, y in points]
        at = segment.end
    back = math.dist(at, contour.start) <= _ROUND
    if not (contour.closed and back):
        found.append((*at, 0.0))
    # Two vertices in one place confuse readers that look for the way to go on.
    for vertex, after in zip(found, [*found[1:], None], strict=True):
        if after is None or math.dist(vertex[:2], after[:2]) > _ROUND:
            yield (round(vertex[0], 6), round(vertex[1], 6), round(vertex[2], 9))


def _is_straight(start: Point, segment: Line | Arc) -> bool:
    return isinstance(segment, Line) or arc_centre(start, segment) is None


def _bulge(start: Point, arc: Arc) -> float | None:
    """Bulge of a circular arc, more than 0 counter-clockwise; None for an ellipse."""
    form = arc_centre(start, arc)
    if form is None or abs(form[1] - form[2]) > _ROUND:
        return None
    return math.tan(form[4] / 4)
