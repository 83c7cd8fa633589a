"""Is all ink of the text inside the safe zone? Asked anew, of the outlines themselves.

Shares nothing with the fitter: outlines come from fontTools instead of HarfBuzz, and
distances are measured to the design's own lines, not to a computed zone. (Blocks of one
panel are parted by no line: there the ink must also lie in the block's own zone.)
"""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from fontTools.misc.transform import Identity
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables.otTables import PaintFormat
from numpy.typing import NDArray

from personalize.design.design import Design, Panel
from personalize.design.panels import crease_margin_mm
from personalize.errors import InputError, InsideError, refuse
from personalize.fonts.catalogue import Font
from personalize.geometry.affine import Points
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region
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


@dataclass(frozen=True, slots=True)
class _Edge:
    """A line of the design with the distance that ink keeps from it."""

    starts: Points
    ends: Points
    margin_mm: float


class InsideCheck:
    """Proves texts of one design to be inside their safe zones."""

    def __init__(self, design: Design) -> None:
        self._edges = _edges(design)
        self._panels = {panel.name: panel for panel in design.panels}

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
        if not _inside(np.concatenate(corners), panel.region).all():
            raise InsideError(f"{where}: ink of {text.text!r} lies outside its panel.")
        points: Points | None = None
        if panel.block is not None:
            points = _ink(text)
            if _beyond(points, panel) > TOLERANCE_MM:
                raise InsideError(f"{where}: ink of {text.text!r} leaves its block.")
        for edge in self._edges:
            if all(_clear(box, edge) for box in corners):
                continue  # the whole box of each line is far enough, so its ink is
            points = _ink(text) if points is None else points
            near = min(
                _distances(points, edge).min(),
                # A spike of the edge could reach in between two points of the ink.
                min(_to_box(edge.starts, box).min() for box in bare) - rim,
            )
            if near < edge.margin_mm - TOLERANCE_MM:
                raise InsideError(
                    f"{where}: ink of {text.text!r} is {near:.3f} mm from an edge,"
                    f" and not {edge.margin_mm:g} mm."
                )


def _clear(box: Points, edge: _Edge) -> bool:
    """Whether an edge keeps its margin from all of a line's ink box.

    Its nearest point to the box is a corner of the one or of the other, unless they cross.
    """
    away = edge.margin_mm - TOLERANCE_MM / 2
    low, high = box.min(axis=0) - away, box.max(axis=0) + away
    near = (np.minimum(edge.starts, edge.ends) < high).all(axis=1)
    near &= (np.maximum(edge.starts, edge.ends) > low).all(axis=1)
    if not near.any():
        return True
    close = _Edge(edge.starts[near], edge.ends[near], edge.margin_mm)
    if _distances(box, close).min() < away:
        return False
    ends = np.concatenate([close.starts, close.ends])
    return bool(_to_box(ends, box).min() >= away) and not _crosses(box, close)


def _crosses(box: Points, edge: _Edge) -> bool:
    """Whether an edge has corners of a box on both sides, anywhere along its line."""
    along = edge.ends - edge.starts
    rel = box[None, :, :] - edge.starts[:, None, :]
    side = along[:, None, 0] * rel[..., 1] - along[:, None, 1] * rel[..., 0]
    both = (side.min(axis=1) < 0) & (side.max(axis=1) > 0)
    if not both.any():
        return False
    # On the line's own axis: does the edge reach the stretch that the box covers?
    square = np.maximum((along**2).sum(axis=1), 1e-18)
    share = (rel * along[:, None, :]).sum(axis=2) / square[:, None]
    return bool((both & (share.min(axis=1) < 1) & (share.max(axis=1) > 0)).any())


def _edges(design: Design) -> tuple[_Edge, ...]:
    margins = design.margins
    lines: list[tuple[Contour, float]] = [(design.outline, margins.outline)]
    lines += [(hole, margins.hole) for hole in design.holes]
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
            out.append(_Edge(points[:-1], points[1:], margin))
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


def _distances(points: Points, edge: _Edge) -> Points:
    """Distance of each point to a polyline, shape (n,)."""
    along = edge.ends - edge.starts
    square = np.maximum((along**2).sum(axis=1), 1e-18)
    rel = points[:, None, :] - edge.starts
    share = np.clip(np.einsum("ijk,jk->ij", rel, along) / square, 0, 1)
    rel -= share[..., None] * along
    least: Points = np.sqrt(np.einsum("ijk,ijk->ij", rel, rel).min(axis=1))
    return least


def _to_box(points: Points, corners: Points) -> Points:
    """Distance of points to a turned box (0 inside), shape (n,)."""
    origin, right, up = corners[0], corners[1] - corners[0], corners[3] - corners[0]
    rel = points - origin
    out = np.zeros(len(points))
    for axis in (right, up):
        length = max(float(np.hypot(*axis)), 1e-12)
        along = rel @ axis / length
        out += np.maximum(np.maximum(-along, along - length), 0) ** 2
    return np.sqrt(out)


def _beyond(points: Points, panel: Panel) -> float:
    """How far points lie outside the zone of a block, at most (0 where all are inside).

    Here a computed zone is asked: no line of the design parts two blocks.
    """
    out = points[~_inside(points, panel.zone)]
    if not len(out):
        return 0.0
    rings = [(ring, np.roll(ring, -1, axis=0)) for ring in panel.zone.rings()]
    near = [_distances(out, _Edge(starts, ends, 0.0)) for starts, ends in rings]
    return float(np.min(near, axis=0).max())


def _inside(points: Points, region: Region) -> NDArray[np.bool_]:
    """Even-odd rule over all rings of a region."""
    inside = np.zeros(len(points), dtype=bool)
    for ring in region.rings():
        x0, y0 = ring.T
        x1, y1 = np.roll(ring, -1, axis=0).T
        px, py = points[:, :1], points[:, 1:]
        spans = (y0 > py) != (y1 > py)
        with np.errstate(divide="ignore", invalid="ignore"):
            left = px < x0 + (py - y0) * (x1 - x0) / (y1 - y0)
        inside ^= (spans & left).sum(axis=1) % 2 == 1
    return inside


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
