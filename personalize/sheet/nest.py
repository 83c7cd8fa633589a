"""Places for identical pieces on a sheet: as many as a fixed amount of work finds.

Three ways are tried and the fullest sheet is taken: a plain grid, straight cuts right
across (`guillotine`), and shapes laid into each other (here). No clock and no chance:
the same answer every time.

Shapes are laid one by one, each time at the free grid point that a fixed rule likes
best; what meets it is then erased from the free points of every turn (`stamps`). Rules
are weights of the place across and up, asked of a corner or of the middle of the piece.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Affine, Points, rotation, translation
from personalize.geometry.convex import convex_parts, lie_apart
from personalize.geometry.zone import Region, grown
from personalize.sheet.boxes import Arrangement
from personalize.sheet.grid import grids
from personalize.sheet.guillotine import guillotined
from personalize.sheet.paper import Rect
from personalize.sheet.stamps import Mask, Stamp, stamp_of

Floats = NDArray[np.float64]
STEP_MM = 1.0
"""Grid of places. Half as much held no more (measured on seven shapes)."""
ROUND_MM = 0.1
"""How far a curved outline may be simplified, outward."""
TRIES = 160
"""Rules drawn from a fixed row of numbers, after those that are written down."""
_E = 1e-3
_WEIGHTS = (
    *((_E, 1.0), (1.0, _E), (-_E, 1.0), (1.0, -_E), (1.0, 1.0)),
    *((0.3, 1.0), (1.0, 0.3), (0.1, 1.0), (1.0, 0.1)),
)
_TURNS = ((0, 2), (1, 3), (0, 1, 2, 3))
"""Quarter turns that may be mixed: head to tail first, as it looks tidier."""
_FULL = 0.985
"""A piece that fills its box so far is taken for a rectangle (round corners, say)."""
_ROW_MM = 5.0
"""Pieces whose tops are this near are read as one row."""

Spot = tuple[int, int, int]
"""Quarter turns, column and row on the grid."""


@lru_cache(maxsize=16)
def arrangements(
    outline: Region,
    area: Rect,
    *,
    spacing_mm: float,
    bleed_mm: float,
    clear_zones: tuple[Rect, ...] = (),
) -> tuple[Arrangement, ...]:
    """Give arrangements with the most pieces that were found, the plainest first.

    Parameters
    ----------
    outline
        Of the piece, in mm, without holes.
    area
        Where pieces may lie, in sheet mm.
    spacing_mm
        Least distance between two outlines.
    bleed_mm
        Printed round each outline; it stays in the area and out of the clear zones.
    clear_zones
        Boxes that stay free.

    Returns
    -------
    tuple of Arrangement
        None when no piece fits. Each was proved to keep all distances.
    """
    rules = {"spacing_mm": spacing_mm, "bleed_mm": bleed_mm}
    plain = list(grids(outline, area, clear_zones=clear_zones, **rules))
    cut = guillotined(outline.box, area, clear_zones=clear_zones, **rules)
    found = [*plain, cut] if cut.places else plain
    most = max((len(one.places) for one in found), default=0)
    if most < _bound(outline, area, spacing_mm, bleed_mm):
        laid = _Nest(outline, area, spacing_mm, bleed_mm, clear_zones).best(most)
        if laid is not None and lie_apart(
            [outline.mapped(at) for at in laid.places],
            spacing_mm,
            area,
            bleed_mm,
            clear_zones,
        ):
            found.append(laid)
            most = len(laid.places)
    return tuple(one for one in found if most and len(one.places) == most)


def _bound(outline: Region, area: Rect, spacing_mm: float, bleed_mm: float) -> int:
    """Count the pieces that a sheet could hold if they filled it without a gap.

    Piece and room are both grown by half the spacing. What rectangles leave between them
    no nesting fills: there straight cuts have the last word, but for clear zones.
    """
    x0, y0, x1, y1 = outline.box
    if outline.area_mm2 > _FULL * (x1 - x0) * (y1 - y0):
        rules = {"spacing_mm": spacing_mm, "bleed_mm": bleed_mm}
        return len(guillotined(outline.box, area, clear_zones=(), **rules).places)
    wide = area[2] - area[0] - 2 * bleed_mm + spacing_mm
    high = area[3] - area[1] - 2 * bleed_mm + spacing_mm
    return int(max(wide, 0) * max(high, 0) / grown(outline, spacing_mm / 2).area_mm2)


@dataclass(frozen=True, slots=True)
class _Turned:
    """The piece at one turn, its box's lower left corner in the origin."""

    at: Affine
    size: tuple[float, float]
    middle: tuple[float, float]
    parts: tuple[Points, ...]
    """Convex parts of the outline grown by half the spacing."""
    printed: tuple[Points, ...]
    """Convex parts of the outline grown by the bleed."""


class _Nest:
    """The free places of a sheet, and the rules to fill them by."""

    def __init__(
        self,
        outline: Region,
        area: Rect,
        spacing_mm: float,
        bleed_mm: float,
        clear_zones: Sequence[Rect],
    ) -> None:
        self._origin = (area[0] + bleed_mm, area[1] + bleed_mm)
        self._room = (
            area[2] - area[0] - 2 * bleed_mm,
            area[3] - area[1] - 2 * bleed_mm,
        )
        self._outline = outline
        self._fixed = bool(clear_zones)
        turned = {q: _turned(outline, q, spacing_mm, bleed_mm) for q in range(4)}
        self._turned = {q: t for q, t in turned.items() if min(self._shape(t)) > 0}
        self._stamps: dict[tuple[int, int], Stamp] = {
            (a, b): stamp_of(one.parts, other.parts, STEP_MM)
            for a, one in self._turned.items()
            for b, other in self._turned.items()
        }
        self._free = {
            q: self._clear(t, clear_zones, self._origin) for q, t in self._turned.items()
        }

    def _shape(self, turned: _Turned) -> tuple[int, int]:
        """Rows and columns of places where the piece is inside the area."""
        (w, h), (wide, high) = turned.size, self._room
        return (
            math.floor((high - h) / STEP_MM + 1e-9) + 1,
            math.floor((wide - w) / STEP_MM + 1e-9) + 1,
        )

    def _clear(
        self, turned: _Turned, zones: Sequence[Rect], origin: tuple[float, float]
    ) -> Mask:
        free = np.ones(self._shape(turned), dtype=bool)
        for x0, y0, x1, y1 in zones:
            corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]) - origin
            stamp_of([corners], turned.printed, STEP_MM).erase(free, 0, 0)
        return free

    def best(self, least: int) -> Arrangement | None:
        """Lay out as many as possible; None where that is not more than `least`."""
        most: list[Spot] = []
        for turns, scores in self._rules():
            spots = self._filled(turns, scores)
            if len(spots) > len(most):
                most = spots
        return self._arranged(most) if len(most) > least else None

    def _rules(self) -> Iterator[tuple[tuple[int, ...], Mapping[int, Floats]]]:
        sets = [t for t in (tuple(q for q in s if q in self._turned) for s in _TURNS) if t]
        for turns in dict.fromkeys(sets):
            for corner in range(3):
                for across, up in _WEIGHTS:
                    yield turns, self._scores(across, up, corner)
        for number in range(TRIES if sets else 0):
            draws = _draws(number)
            corner = int(draws[2] * 3)
            scores = self._scores(draws[0] * 2 - 1, draws[1] * 2 - 1, corner)
            for q, draw in zip(scores, draws[3:7], strict=False):
                scores[q] += (draw - 0.5) * 20
            yield sets[int(draws[7] * len(sets))], scores

    def _scores(self, across: float, up: float, corner: int) -> dict[int, Floats]:
        """Weigh every place by its lower left corner, its upper right, or its middle."""
        out = {}
        for q, turned in self._turned.items():
            x, y = ((0.0, 0.0), turned.size, turned.middle)[corner]
            rows, columns = self._shape(turned)
            out[q] = (
                across * (np.arange(columns) * STEP_MM + x)[None, :]
                + up * (np.arange(rows) * STEP_MM + y)[:, None]
            )
        return out

    def _filled(self, turns: Sequence[int], scores: Mapping[int, Floats]) -> list[Spot]:
        free = {q: self._free[q].copy() for q in turns}
        spots: list[Spot] = []
        while True:
            best: tuple[float, Spot] | None = None
            for q in turns:
                liked = np.where(free[q], scores[q], np.inf)
                at = int(liked.argmin())
                score = float(liked.flat[at])
                if score < np.inf and (best is None or score < best[0] - 1e-9):
                    row, column = divmod(at, liked.shape[1])
                    best = (score, (q, column, row))
            if best is None:
                return spots
            q, column, row = best[1]
            spots.append(best[1])
            for other in turns:
                self._stamps[q, other].erase(free[other], column, row)

    def _arranged(self, spots: Sequence[Spot]) -> Arrangement:
        """Turn grid points into places; where nothing else is fixed, in the middle."""
        corners = [(column * STEP_MM, row * STEP_MM) for _, column, row in spots]
        sizes = [self._turned[q].size for q, _, _ in spots]
        shift = [0.0, 0.0]
        for axis in (0, 1) if not self._fixed else ():
            start = min(c[axis] for c in corners)
            end = max(c[axis] + s[axis] for c, s in zip(corners, sizes, strict=True))
            shift[axis] = (self._room[axis] - start - end) / 2
        placed = []
        for (q, _, _), (x, y), (w, h) in zip(spots, corners, sizes, strict=True):
            x0, y0 = self._origin[0] + shift[0] + x, self._origin[1] + shift[1] + y
            at = translation(x0, y0) @ self._turned[q].at
            placed.append((at, (x0, y0, x0 + w, y0 + h)))
        placed.sort(key=lambda p: (-round(p[1][3] / _ROW_MM), p[1][0], p[1][1]))
        return Arrangement(tuple(at for at, _ in placed), tuple(box for _, box in placed))


def _turned(outline: Region, quarters: int, spacing_mm: float, bleed_mm: float) -> _Turned:
    turn = rotation(90 * quarters)
    x0, y0, x1, y1 = outline.mapped(turn).box
    at = translation(-x0, -y0) @ turn
    here = outline.mapped(at)
    return _Turned(
        at,
        (x1 - x0, y1 - y0),
        here.centroid,
        convex_parts(here, spacing_mm / 2, ROUND_MM),
        convex_parts(here, bleed_mm, ROUND_MM),
    )


def _draws(number: int) -> list[float]:
    """Eight numbers from 0 to 1, always the same for the same number.

    A linear congruence (Park and Miller 1988, CACM 31: 16807 modulo 2**31 - 1).
    """
    state = 12345 + 7919 * number
    out = []
    for _ in range(12):
        state = state * 16807 % 2147483647
        out.append(state / 2147483647)
    return out[4:]
