"""Write cut.dxf: die lines only, in mm, a layer for each kind. Takes `DieLine` alone.

The only module that uses ezdxf. Every line is one entity, of a form that the maker's
program can read:

    arcs       LWPOLYLINE: straight pieces, circular arcs as bulges (tan of a quarter of the
               angle), other curves in chords within `FLATTEN_MM`
    splines    the same, and lines with other curves are one SPLINE, which is the true curve
    polylines  R12 POLYLINE in chords alone, for old readers; R12 files tell no unit
"""

import io
import logging
import math
from collections.abc import Iterator
from typing import Any

from personalize.geometry.affine import Point
from personalize.geometry.path import Arc, Contour, Line, arc_centre, segment_points
from personalize.output.bezier import Bezier, beziers
from personalize.output.cut_svg import ORDER
from personalize.sheet.cut_layouts import CutLayout

CURVES = ("arcs", "splines", "polylines")
VERSION, OLD_VERSION = "R2010", "R12"
MILLIMETRES = 4
"""DXF header variable $INSUNITS (Autodesk DXF reference, 2019)."""
FLATTEN_MM = 0.005
"""Half of what print and cut may disagree by."""
_ROUND = 1e-6

Vertex = tuple[float, float, float]
"""x, y, and the bulge of the piece that begins there."""


def cut_dxf(layout: CutLayout, curves: str = "arcs") -> str:
    """Write the die lines of a sheet as a DXF document; the same input, the same text.

    `curves` is one of `CURVES`.
    """
    # Here: it is slow to load, and few want the file.
    import ezdxf

    # It would tell the maker what is told in docs/cutting.md: that R12 has no unit.
    logging.getLogger("ezdxf").addHandler(logging.NullHandler())
    # Both are its documented names. Fixed: no date and no new GUIDs.
    ezdxf.options.write_fixed_meta_data_for_testing = True  # type: ignore[attr-defined]
    old = curves == "polylines"
    document = ezdxf.new(  # type: ignore[attr-defined]
        OLD_VERSION if old else VERSION, setup=False, units=0 if old else MILLIMETRES
    )
    if not old:
        document.header["$MEASUREMENT"] = 1
    page = (layout.paper.width_mm, layout.paper.height_mm)
    document.header["$LIMMIN"], document.header["$LIMMAX"] = (0.0, 0.0), page
    space = document.modelspace()
    for kind in ORDER:
        lines = [line for line in layout.lines if line.kind is kind]
        if lines:
            document.layers.add(kind.value)
        for line in lines:
            _add(space, line.contour, curves, {"layer": kind.value})
    # The library goes through a set of these: in its order the bytes would be by chance.
    for name in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(name)
    out = io.StringIO()
    document.write(out)
    return out.getvalue()


def _add(space: Any, contour: Contour, curves: str, attributes: dict[str, str]) -> None:
    if curves == "polylines":
        points = contour.flattened(FLATTEN_MM).round(6).tolist()
        space.add_polyline2d(points, close=contour.closed, dxfattribs=attributes)
    elif curves == "splines" and not _is_plain(contour):
        _add_spline(space, beziers(contour), attributes)
    else:
        vertices = list(_vertices(contour))
        space.add_lwpolyline(
            vertices, format="xyb", close=contour.closed, dxfattribs=attributes
        )


def _is_plain(contour: Contour) -> bool:
    """Whether lines and circular arcs are all that a contour is made of."""
    at = contour.start
    for segment in contour.segments:
        plain = isinstance(segment, Line) or (
            isinstance(segment, Arc)
            and (_is_straight(at, segment) or _bulge(at, segment) is not None)
        )
        if not plain:
            return False
        at = segment.end
    return True


def _add_spline(space: Any, pieces: list[Bezier], attributes: dict[str, str]) -> None:
    """Add Bézier pieces as one B-spline of degree 3: each knot between them thrice."""
    spline = space.add_spline(dxfattribs=attributes)
    points = [pieces[0].points[0], *(p for piece in pieces for p in piece.points[1:])]
    weights = [1.0, *(w for piece in pieces for w in piece.weights[1:])]
    count = len(pieces)
    spline.dxf.degree = 3
    spline.control_points = [(round(x, 6), round(y, 6), 0.0) for x, y in points]
    spline.knots = (
        [0.0] * 4
        + [float(i) for i in range(1, count) for _ in range(3)]
        + [float(count)] * 4
    )
    if any(weight != 1.0 for weight in weights):
        spline.weights = [round(weight, 12) for weight in weights]


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
