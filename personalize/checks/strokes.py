"""How thin the thinnest strokes of a font are, measured on its outlines."""

from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from fontTools.pens.recordingPen import RecordingPen
from numpy.typing import NDArray

from personalize.fonts.catalogue import Font
from personalize.geometry.affine import Points
from personalize.geometry.zone import filled

LETTERS = "aeghnostEHRS"
"""Letters that have the thick and the thin strokes of a face."""
OTHERS = "人永あ가א"
"""Measured where a face has no Latin letters."""
THIN_SHARE = 0.1
"""This much of an outline may face paper that is thinner still: serifs and joints come
to points in every face. Judgement."""
_STEPS = np.linspace(0, 1, 7)[1:, None]
_SAMPLES_EM = 0.02
"""Distance of the places on an outline that are looked at."""


@lru_cache(maxsize=64)
def thinnest_em(font: Font) -> float | None:
    """Thickness of a font's thinnest strokes in em; None where it has no known letter.

    At places along each outline a ray goes straight into the ink, and ends where it comes
    out. Of a letter, the tenth part of its outline with the least ink behind it is left
    out; the least of all letters counts.
    """
    for letters in (LETTERS, OTHERS):
        found = [thin for letter in letters if (thin := _thin(font, letter)) is not None]
        if found:
            return min(found)
    return None


def thinnest_of_em(font: Font, gids: Iterable[int]) -> float | None:
    """Thickness in em of the thinnest strokes of some glyphs; None where none has ink."""
    found = [thin for gid in gids if (thin := _glyph_thin(font, gid)) is not None]
    return min(found, default=None)


def _thin(font: Font, letter: str) -> float | None:
    gid = font.face.nominal(letter)
    return _glyph_thin(font, gid) if gid else None


@lru_cache(maxsize=4096)
def _glyph_thin(font: Font, gid: int) -> float | None:
    if font.face.ink(gid) is None or font.face.layers(gid):
        return None
    try:
        # Letters are often drawn of parts that lie over each other.
        parts = filled(rings_of(font, gid))
    except ValueError:
        return None
    rings = tuple(ring for part in parts for ring in part.rings())
    return stroke_of(rings) if rings else None


@lru_cache(maxsize=2048)
def rings_of(font: Font, gid: int) -> tuple[Points, ...]:
    """Closed polylines of a glyph's outline, in em; each of shape (n, 2)."""
    pen = RecordingPen()
    font.face.draw(gid, pen)
    upem = font.face.upem
    rings: list[Points] = []
    parts: list[Points] = []
    at = np.zeros(2)
    for operator, operands in pen.value:
        if operator in ("closePath", "endPath"):
            if parts:
                rings.append(np.concatenate(parts) / upem)
            parts = []
            continue
        through = np.array(operands, dtype=float)
        parts.append(_drawn(operator, at, through))
        at = through[-1]
    return tuple(ring for ring in rings if len(ring) > 2)


def _drawn(operator: str, start: Points, through: Points) -> Points:
    """Points along one piece of an outline, its end included, its start not."""
    t, u = _STEPS, 1 - _STEPS
    if operator == "qCurveTo":
        ends = [*((through[:-2] + through[1:-1]) / 2), through[-1]]
        parts = []
        for control, end in zip(through[:-1], ends, strict=True):
            parts.append(u * u * start + 2 * u * t * control + t * t * end)
            start = end
        return np.concatenate(parts) if parts else through
    if operator == "curveTo":
        c1, c2, end = through
        out: Points = u**3 * start + 3 * u * u * t * c1 + 3 * u * t * t * c2 + t**3 * end
        return out
    return through


def stroke_of(rings: tuple[Points, ...]) -> float | None:
    """Thickness of the thinnest strokes that rings enclose (even-odd), in their unit."""
    starts = np.concatenate(rings)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    along = ends - starts
    lengths = np.hypot(*along.T)
    kept = lengths > 1e-9
    starts, ends, along, lengths = starts[kept], ends[kept], along[kept], lengths[kept]
    places, ways, weights = _places(starts, along, lengths)
    if not len(places):
        return None
    thick = np.minimum(_through(places, ways, starts, along), 9.0)
    other = np.minimum(_through(places, -ways, starts, along), 9.0)
    # Of the two sides of an outline the ink's is the one with an odd number of edges.
    inward = inside(places + ways * 1e-4, starts, ends)
    ink = np.where(inward, thick, other)
    order = np.argsort(ink, kind="stable")
    reached = np.cumsum(weights[order]) / weights.sum()
    return float(ink[order][int(np.searchsorted(reached, THIN_SHARE))])


def _places(
    starts: Points, along: Points, lengths: Points
) -> tuple[Points, Points, Points]:
    """Places on the edges with the direction across and the length they stand for."""
    counts = np.maximum(1, np.ceil(lengths / _SAMPLES_EM).astype(int))
    edge = np.repeat(np.arange(len(starts)), counts)
    nth = np.arange(len(edge)) - np.repeat(np.cumsum(counts) - counts, counts)
    share = (nth + 0.5) / counts[edge]
    places = starts[edge] + along[edge] * share[:, None]
    across = np.column_stack([-along[edge, 1], along[edge, 0]]) / lengths[edge, None]
    return places, across, lengths[edge] / counts[edge]


def _through(places: Points, ways: Points, starts: Points, along: Points) -> Points:
    """Distance from each place, along its way, to the next edge."""
    between = starts[None, :, :] - places[:, None, :]
    area = ways[:, None, 0] * along[None, :, 1] - ways[:, None, 1] * along[None, :, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        far = between[..., 0] * along[None, :, 1] - between[..., 1] * along[None, :, 0]
        far = far / area
        on = between[..., 0] * ways[:, None, 1] - between[..., 1] * ways[:, None, 0]
        on = on / area
    hit = (np.abs(area) > 1e-12) & (on >= 0) & (on <= 1) & (far > 1e-6)
    least: Points = np.where(hit, far, np.inf).min(axis=1)
    return least


def inside(places: Points, starts: Points, ends: Points) -> NDArray[np.bool_]:
    """Even-odd rule over all edges, shape (n,)."""
    px, py = places[:, :1], places[:, 1:]
    (x0, y0), (x1, y1) = starts.T, ends.T
    spans = (y0 > py) != (y1 > py)
    with np.errstate(divide="ignore", invalid="ignore"):
        left = px < x0 + (py - y0) * (x1 - x0) / (y1 - y0)
    odd: NDArray[np.bool_] = (spans & left).sum(axis=1) % 2 == 1
    return odd


@lru_cache(maxsize=2048)
def ink_points(font: Font, gid: int) -> Points:
    """Places spread evenly under the ink of a glyph, in em, shape (n, 2)."""
    rings = rings_of(font, gid)
    if not rings:
        return np.empty((0, 2))
    points = np.concatenate(rings)
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    columns, rows = (max(3, int((b - a) / 0.06)) for a, b in ((x0, x1), (y0, y1)))
    xs = x0 + (np.arange(columns) + 0.5) * (x1 - x0) / columns
    ys = y0 + (np.arange(rows) + 0.5) * (y1 - y0) / rows
    grid = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    under: Points = grid[inside(grid, points, ends)]
    return under
