"""Is all ink of the text inside the safe zone? Asked anew, of the outlines themselves.

Shares nothing with the fitter: outlines come from fontTools instead of HarfBuzz, and
distances are measured to the design's own lines, not to a computed zone.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

from personalize.design.design import Design, Panel
from personalize.design.panels import crease_margin_mm
from personalize.errors import InsideError
from personalize.fonts.catalogue import Font
from personalize.geometry.affine import Points
from personalize.geometry.path import Contour
from personalize.type.compose import ComposedText
from personalize.units import FLATTEN_MM, TOLERANCE_MM

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
        points, corners = _ink(text)
        if not len(points):
            return
        where = f"row {row}, panel {text.panel}"
        ink = np.concatenate([points, *corners])
        low, high = ink.min(axis=0), ink.max(axis=0)
        # No panel edge comes nearer to the ink than a margin (below), so the corners of
        # the lines tell for all of it.
        if not _inside(np.concatenate(corners), panel):
            raise InsideError(f"{where}: ink of {text.text!r} lies outside its panel.")
        for whole in self._edges:
            edge = _near(whole, low, high)
            if edge is None:
                continue
            near = min(
                _distances(points, edge).min(),
                # A spike of the edge could reach in between two points of the ink.
                min(_to_box(edge.starts, box).min() for box in corners),
            )
            if near < edge.margin_mm - TOLERANCE_MM:
                raise InsideError(
                    f"{where}: ink of {text.text!r} is {near:.3f} mm from an edge,"
                    f" and not {edge.margin_mm:g} mm."
                )


def _edges(design: Design) -> tuple[_Edge, ...]:
    margins = design.margins
    lines: list[tuple[Contour, float]] = [(design.outline, margins.outline)]
    lines += [(hole, margins.hole) for hole in design.holes]
    lines += [(c, crease_margin_mm(margins, design.stick)) for c in design.creases]
    out = []
    for contour, margin in lines:
        points = contour.flattened(FLATTEN_MM / 4)
        if contour.closed:
            points = np.concatenate([points, points[:1]])
        if len(points) > 1:
            out.append(_Edge(points[:-1], points[1:], margin))
    return tuple(out)


def _near(edge: _Edge, low: Points, high: Points) -> _Edge | None:
    """Leave out the pieces whose box lies farther from that of the ink than a margin."""
    away = edge.margin_mm
    lows, highs = np.minimum(edge.starts, edge.ends), np.maximum(edge.starts, edge.ends)
    keep = ((lows <= high + away) & (highs >= low - away)).all(axis=1)
    if not keep.any():
        return None
    return _Edge(edge.starts[keep], edge.ends[keep], edge.margin_mm)


def _ink(text: ComposedText) -> tuple[Points, list[Points]]:
    """Give outline points of all glyphs, and corners of each line's ink box.

    Both in the flat piece, corners counter-clockwise from the lower left.
    """
    parts, corners = [], []
    for line in text.lines:
        hulls, shifts = [], []
        for run in line.shaped.runs:
            for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True):
                points = outline_points(run.font, gid)
                if len(points):
                    hulls.append(points)
                    shifts.append((x, y))
        if not hulls:
            continue
        ink = np.concatenate(hulls) + np.repeat(shifts, [len(h) for h in hulls], axis=0)
        place = text.line_to_piece(line)
        parts.append(place.many(ink))
        (x0, y0), (x1, y1) = ink.min(axis=0), ink.max(axis=0)
        corners.append(place.many(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])))
    return (np.concatenate(parts) if parts else np.empty((0, 2))), corners


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


def _inside(points: Points, panel: Panel) -> bool:
    """Even-odd rule over all rings of the panel."""
    inside = np.zeros(len(points), dtype=bool)
    for ring in panel.region.rings():
        x0, y0 = ring.T
        x1, y1 = np.roll(ring, -1, axis=0).T
        px, py = points[:, :1], points[:, 1:]
        spans = (y0 > py) != (y1 > py)
        with np.errstate(divide="ignore", invalid="ignore"):
            left = px < x0 + (py - y0) * (x1 - x0) / (y1 - y0)
        inside ^= (spans & left).sum(axis=1) % 2 == 1
    return bool(inside.all())


@lru_cache(maxsize=16)
def _glyph_set(font: Font) -> tuple[Any, list[str], int]:
    data = io.BytesIO(font.path.read_bytes())  # an open file would outlive the run
    ttf = TTFont(data, fontNumber=font.index, lazy=True)
    return ttf.getGlyphSet(), ttf.getGlyphOrder(), ttf["head"].unitsPerEm


@lru_cache(maxsize=4096)
def outline_points(font: Font, gid: int) -> Points:
    """Corners of the convex hull of a glyph's outline, in em, shape (n, 2).

    The hull will do: lines of text are fitted by their boxes, which hold it.
    """
    glyphs, order, upem = _glyph_set(font)
    pen = DecomposingRecordingPen(glyphs)
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
