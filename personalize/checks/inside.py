"""Is all ink of the text inside the safe zone? Asked anew, of the outlines themselves.

Shares nothing with the fitter: outlines come from fontTools instead of HarfBuzz, and
distances are measured to the design's own lines, not to a computed zone. (Blocks of one
panel are parted by no line: there the ink must also lie in the block's own zone.)
"""

import io
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
from fontTools.misc.transform import Identity
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables.otTables import PaintFormat

from personalize.checks.edges import (
    Edge,
    beyond,
    clear,
    distances,
    inside,
    near_part,
    to_box,
)
from personalize.design.design import AREA_MM, Design
from personalize.design.keep_off import crease_margin_mm
from personalize.errors import InputError, InsideError, refuse
from personalize.fonts.catalogue import Font
from personalize.geometry.affine import Points
from personalize.geometry.path import Contour
from personalize.geometry.zone import region_of
from personalize.type.compose import ComposedText
from personalize.units import FLATTEN_MM, TOLERANCE_MM

_SAME_EM = 0.01
"""Two readers agree on an outline whose boxes differ by less: variations are rounded to
whole units by one of them."""
_ROUND = np.array(
    [(np.cos(a), np.sin(a)) for a in np.linspace(0, 2 * np.pi, 24, endpoint=False)]
)
"""Ways that a rim reaches from each point of an outline."""
_CURVE_STEPS = np.linspace(0, 1, 9)[1:, None]


class InsideCheck:
    """Proves texts of one design to be inside their safe zones."""

    def __init__(self, design: Design) -> None:
        self._edges = _edges(design)
        # A text area that the maker drew takes the place of the margins.
        self._least = tuple(
            replace(edge, margin_mm=min(edge.margin_mm, AREA_MM)) for edge in self._edges
        )
        self._panels = {panel.name: panel for panel in design.panels}
        self._areas = {
            panel.name: region_of(panel.area.flattened(FLATTEN_MM / 4))
            for panel in design.panels
            if panel.area is not None
        }
        self._glue = [
            region_of(ring)
            for one in design.glue
            if one.closed and len(ring := one.flattened(FLATTEN_MM / 4)) > 2
        ]

    def check(self, text: ComposedText, row: int | None) -> None:
        """Raise InsideError where ink is nearer to an edge than its margin, or outside."""
        panel = self._panels[text.panel]
        bare = _line_corners(text)
        if not bare:
            return
        rim = text.rim.mm if text.rim else 0.0
        corners = _line_corners(text, rim / text.size_mm) if rim else bare
        where = f"row {row}, panel {text.panel}"
        # No panel edge comes nearer to the ink than a margin (below), so the corners of
        # the lines tell for all of it.
        every = np.concatenate(corners)
        if not inside(every, panel.region).all():
            raise InsideError(f"{where}: ink of {text.text!r} lies outside its panel.")
        if any(inside(every, area).any() for area in self._glue):
            raise InsideError(f"{where}: ink of {text.text!r} lies on a glue area.")
        points: Points | None = None
        area = self._areas.get(panel.name)
        if panel.block is not None or area is not None:
            points = _ink(text)
            # No line of the design parts two blocks: here a computed zone is asked.
            if panel.block is not None and beyond(points, panel.zone) > TOLERANCE_MM:
                raise InsideError(f"{where}: ink of {text.text!r} leaves its block.")
            if area is not None and beyond(points, area) > TOLERANCE_MM:
                raise InsideError(f"{where}: ink of {text.text!r} leaves its text area.")
        for edge in self._edges if area is None else self._least:
            near = near_part(edge, every)
            if not len(near.starts) or all(clear(box, near) for box in corners):
                continue  # the whole box of each line is far enough, so its ink is
            points = _ink(text) if points is None else points
            _refuse_near(points, near, bare, rim, f"{where}: ink of {text.text!r}")


def _refuse_near(
    points: Points, edge: Edge, boxes: Sequence[Points], rim_mm: float, whose: str
) -> None:
    """Raise InsideError where ink is nearer to an edge than its margin."""
    near = min(
        distances(points, edge).min(),
        # A spike of the edge could reach in between two points of the ink.
        min(to_box(edge.starts, box).min() for box in boxes) - rim_mm,
    )
    if near < edge.margin_mm - TOLERANCE_MM:
        raise InsideError(
            f"{whose} is {near:.3f} mm from an edge, and not {edge.margin_mm:g} mm."
        )


def _edges(design: Design) -> tuple[Edge, ...]:
    margins = design.margins
    lines: list[tuple[Contour, float]] = [(design.outline, margins.outline)]
    lines += [(hole, margins.hole) for hole in (*design.holes, *design.slits)]
    lines += [(line, margins.glue) for line in design.glue]
    if design.picture is not None and design.picture.beside_words:
        lines.append((design.picture.contour, margins.hole))
    lines += [
        (crease, crease_margin_mm(margins, design.stick, deg))
        for crease, deg in zip(design.creases, design.crease_degs, strict=True)
    ]
    out = []
    for contour, margin in lines:
        points = contour.flattened(FLATTEN_MM / 4)
        if contour.closed:
            points = np.concatenate([points, points[:1]])
        if len(points) > 1:
            out.append(Edge(points[:-1], points[1:], margin))
    return tuple(out)


def _ink(text: ComposedText) -> Points:
    """Outline points of all glyphs, or of the rim round them, in the flat piece."""
    if text.soft:
        return np.concatenate([ring for part in text.soft for ring in part.rings()])
    parts = [
        text.line_to_piece(line).many(
            outline_points(run.font, gid) * run.scale + np.array((x, y))
        )
        for line in text.lines
        for run in line.shaped.runs
        for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True)
        if _glyph_box(run.font, gid) is not None
    ]
    points = np.concatenate(parts)
    if text.rim is None:
        return points
    return (points[:, None, :] + text.rim.mm * _ROUND).reshape(-1, 2)


def _line_corners(text: ComposedText, wider_em: float = 0.0) -> list[Points]:
    """Corners of the ink box of each line, in the flat piece, counter-clockwise."""
    out = []
    for line in text.lines:
        boxes = [
            (
                box[0] * run.scale + x,
                box[1] * run.scale + y,
                box[2] * run.scale + x,
                box[3] * run.scale + y,
            )
            for run in line.shaped.runs
            for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True)
            if (box := _glyph_box(run.font, gid)) is not None
        ]
        if boxes:
            lefts, bottoms, rights, tops = zip(*boxes, strict=True)
            x0, y0 = min(lefts) - wider_em, min(bottoms) - wider_em
            x1, y1 = max(rights) + wider_em, max(tops) + wider_em
            corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
            out.append(text.line_to_piece(line).many(corners))
    return out


@lru_cache(maxsize=4096)
def _glyph_box(font: Font, gid: int) -> tuple[float, float, float, float] | None:
    """Box of a glyph's outline in em; None for a blank one."""
    points = outline_points(font, gid)
    if not len(points):
        return None
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return (x0, y0, x1, y1)


@lru_cache(maxsize=16)
def _glyph_set(font: Font) -> tuple[Any, list[str], int]:
    """Open a font's own file as fontTools reads it, a variable one at the font's place."""
    data = io.BytesIO(font.path.read_bytes())  # an open file would outlive the run
    ttf = TTFont(data, fontNumber=font.index, lazy=True)
    glyphs = ttf.getGlyphSet(location=dict(font.axes) or None)
    return glyphs, ttf.getGlyphOrder(), ttf["head"].unitsPerEm


@lru_cache(maxsize=4096)
def outline_points(font: Font, gid: int) -> Points:
    """Corners of the convex hull of a glyph's outline, in em, shape (n, 2).

    The hull will do: lines of text are fitted by their boxes, which hold it. Raises
    InputError where the font is damaged: its outline cannot be read, or is another than
    the one that goes to print.
    """
    try:
        points = _outline_points(font, gid)
    except Exception:  # whatever a damaged font makes its reader stumble over
        raise _damaged(font, gid) from None
    printed = font.face.ink(gid)
    if (printed is None) != (not len(points)):
        raise _damaged(font, gid)
    if printed is not None:
        box = (*points.min(axis=0).tolist(), *points.max(axis=0).tolist())
        if any(abs(a - b) > _SAME_EM for a, b in zip(box, printed, strict=True)):
            raise _damaged(font, gid)
    return points


def _damaged(font: Font, gid: int) -> InputError:
    return refuse(
        font.path.name,
        f"the font is damaged: its glyph number {gid} is drawn one way by one reader of"
        " fonts and another way by the next, or not at all.",
        "Get the font anew, or choose another.",
    )


def _outline_points(font: Font, gid: int) -> Points:
    glyphs, order, upem = _glyph_set(font)
    pen = DecomposingRecordingPen(glyphs)
    if font.face.layers(gid):
        for name, matrix in _layers(font, order[gid]):
            glyphs[name].draw(TransformPen(pen, matrix))
    else:
        glyphs[order[gid]].draw(pen)
    parts: list[Points] = []
    at = np.zeros(2)
    for operator, operands in pen.value:
        if operator in ("closePath", "endPath"):
            continue
        given = [p for p in operands if p is not None]
        if not given:
            continue
        through = np.array(given, dtype=float)
        parts.append(_curve(operator, at, through))
        at = through[-1]
    if not parts:
        return np.empty((0, 2))
    return _hull(np.concatenate(parts)) / upem


@lru_cache(maxsize=16)
def _colours(font: Font) -> Any:
    """The table of colour glyphs, as fontTools reads it."""
    data = io.BytesIO(font.path.read_bytes())
    return TTFont(data, fontNumber=font.index, lazy=True)["COLR"]


def _layers(font: Font, name: str) -> Iterator[tuple[str, Any]]:
    """Give the outlines that a colour glyph is made of, each with its map.

    OpenType 1.9.1, "COLR": versions 0 and 1.
    """
    colours = _colours(font)
    if colours.version == 0:
        for layer in colours.ColorLayers[name]:
            yield layer.name, Identity
        return
    table = colours.table
    base = {
        record.BaseGlyph: record.Paint
        for record in table.BaseGlyphList.BaseGlyphPaintRecord
    }

    def walk(paint: Any, at: Any) -> Iterator[tuple[str, Any]]:
        at = at.transform(paint.getTransform())
        if paint.Format == PaintFormat.PaintGlyph:
            yield paint.Glyph, at
        elif paint.Format == PaintFormat.PaintColrGlyph:
            yield from walk(base[paint.Glyph], at)
        else:
            for child in paint.getChildren(table):
                yield from walk(child, at)

    if name in base:
        yield from walk(base[name], Identity)
    elif table.BaseGlyphRecordArray is not None:
        records = table.BaseGlyphRecordArray.BaseGlyphRecord
        (mine,) = (record for record in records if record.BaseGlyph == name)
        first, count = mine.FirstLayerIndex, mine.NumLayers
        for layer in table.LayerRecordArray.LayerRecord[first : first + count]:
            yield layer.LayerGlyph, Identity


def _curve(operator: str, start: Points, through: Points) -> Points:
    """Points along a drawn piece: the pieces of a TrueType spline, or a cubic."""
    if operator == "curveTo" and len(through) == 3:
        t, u = _CURVE_STEPS, 1 - _CURVE_STEPS
        c1, c2, end = through
        out: Points = u**3 * start + 3 * u * u * t * c1 + 3 * u * t * t * c2 + t**3 * end
        return out
    if operator == "qCurveTo":
        t, u = _CURVE_STEPS, 1 - _CURVE_STEPS
        parts = []
        middles = (through[:-2] + through[1:-1]) / 2
        ends = [*middles, through[-1]]
        for control, end in zip(through[:-1], ends, strict=True):
            parts.append(u * u * start + 2 * u * t * control + t * t * end)
            start = end
        return np.concatenate(parts) if parts else through
    return through


def _hull(points: Points) -> Points:
    """Convex hull by the monotone chain of A. M. Andrew (1979), Inf. Proc. Letters 9."""
    ordered: Sequence[tuple[float, float]] = sorted(set(map(tuple, points.tolist())))
    if len(ordered) < 3:
        return np.array(ordered)
    halves = []
    for run in (ordered, ordered[::-1]):
        half: list[tuple[float, float]] = []
        for p in run:
            while len(half) > 1 and _turn(half[-2], half[-1], p) <= 0:
                half.pop()
            half.append(p)
        halves.append(half[:-1])
    return np.array(halves[0] + halves[1])


def _turn(o: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> float:
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
