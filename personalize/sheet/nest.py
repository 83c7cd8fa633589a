"""Places for identical pieces on a sheet: as many as a fixed amount of work finds.

Four ways are tried and the fullest sheet is taken: a plain grid, straight cuts right
across (`guillotine`), even rows (`lattice`), and shapes laid into each other (here). No
clock and no chance: the same answer every time.

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
from personalize.sheet.boxes import Arrangement, meets_any, wider
from personalize.sheet.grid import grids
from personalize.sheet.guillotine import guillotined
from personalize.sheet.lattice import Lattices, Shape
from personalize.sheet.lattice import Spot as Place
from personalize.sheet.paper import Rect
from personalize.sheet.remembered import remembered
from personalize.sheet.stamps import Mask, Stamp, stamp_of

Floats = NDArray[np.float64]
STEP_MM = 1.0
"""Grid of places. Half as much held no more (measured on seven shapes)."""
ROUND_MM = 0.1
"""How far a curved outline may be simplified, outward."""
TRIES = 160
"""Rules drawn from a fixed row of numbers, after those that are written down."""
MOST_LAID = 27_000
"""Pieces laid in all tries together. Of pieces so small that this matters even rows hold
more than hundreds of tries did (measured on fifteen shapes)."""
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
    along_grain: bool = False,
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
    along_grain
        All pieces lie the same way, or turned by half a turn against each other.

    Returns
    -------
    tuple of Arrangement
        None when no piece fits. Each was proved to keep all distances.
    """
    rules = {"spacing_mm": spacing_mm, "bleed_mm": bleed_mm}
    plain = list(grids(outline, area, clear_zones=clear_zones, **rules))
    cut = guillotined(outline.box, area, clear_zones=clear_zones, **rules)
    may = cut.places and not (along_grain and _mixed(cut))
    found = (*plain, cut) if may else tuple(plain)
    most = max((len(one.places) for one in found), default=0)
    bound = _bound(outline, area, spacing_mm, bleed_mm)
    if most < bound:
        turns = _TURNS[:2] if along_grain else _TURNS
        question = (area, spacing_mm, bleed_mm, clear_zones, turns)

        def laid() -> tuple[Arrangement, ...]:
            return tuple(_laid(_Nest(outline, *question), most, bound))

        found += remembered((*question, most, bound), outline, laid)
        most = max((len(one.places) for one in found), default=0)
    return tuple(one for one in found if most and len(one.places) == most)


def _mixed(found: Arrangement) -> bool:
    """Whether some pieces lie across the others."""
    return len({abs(round(at.a, 6)) for at in found.places}) > 1


def _laid(nest: "_Nest", most: int, bound: int) -> Iterator[Arrangement]:
    """Give layouts that hold more than others did, each proved to keep all distances."""
    for way in (nest.best, nest.in_rows):
        laid = way(most) if most < bound else None
        if laid is not None and nest.lie_apart(laid):
            yield laid
            most = len(laid.places)


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

    def __init__(  # noqa: PLR0917 - the whole of one question, asked in one place
        self,
        outline: Region,
        area: Rect,
        spacing_mm: float,
        bleed_mm: float,
        clear_zones: tuple[Rect, ...],
        turns: tuple[tuple[int, ...], ...],
    ) -> None:
        self._area, self._spacing, self._sets = area, spacing_mm, turns
        self._origin = (area[0] + bleed_mm, area[1] + bleed_mm)
        self._room = (
            area[2] - area[0] - 2 * bleed_mm,
            area[3] - area[1] - 2 * bleed_mm,
        )
        self._outline = outline
        self._fixed = bool(clear_zones)
        self._bleed, self._zones = bleed_mm, clear_zones
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

    def lie_apart(self, laid: Arrangement) -> bool:
        """Prove that all distances are kept."""
        pieces = [self._outline.mapped(at) for at in laid.places]
        return lie_apart(pieces, self._spacing, self._area, self._bleed, self._zones)

    def in_rows(self, least: int) -> Arrangement | None:
        """Lay out even rows; None where they hold no more than `least`."""
        if not self._turned:
            return None
        size = max(max(turned.size) for turned in self._turned.values())
        rough = min(ROUND_MM, size / 500)
        half = self._spacing / 2
        shapes = {
            q: Shape(t.size, convex_parts(self._outline.mapped(t.at), half, rough))
            for q, t in self._turned.items()
        }
        if len(shapes) < 4:
            return None
        most: list[Place] = []
        for spots in Lattices(shapes, self._room).best():
            kept = [spot for spot in spots if not self._in_zone(spot)]
            if len(kept) > len(most):
                most = kept
        return self._arranged(most) if len(most) > least else None

    def _in_zone(self, spot: Place) -> bool:
        q, x, y = spot
        w, h = self._turned[q].size
        x0, y0 = self._origin[0] + x, self._origin[1] + y
        return meets_any(wider((x0, y0, x0 + w, y0 + h), self._bleed), self._zones)

    def best(self, least: int) -> Arrangement | None:
        """Lay out as many as possible; None where that is not more than `least`."""
        most: list[Spot] = []
        laid = 0
        for turns, scores in self._rules():
            if laid > MOST_LAID:
                break
            spots = self._filled(turns, scores)
            laid += len(spots)
            if len(spots) > len(most):
                most = spots
        if len(most) <= least:
            return None
        return self._arranged([(q, c * STEP_MM, r * STEP_MM) for q, c, r in most])

    def _rules(self) -> Iterator[tuple[tuple[int, ...], Mapping[int, Floats]]]:
        each = (tuple(q for q in turns if q in self._turned) for turns in self._sets)
        sets = [turns for turns in each if turns]
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
        """Lay pieces where they are liked best until nothing is free.

        The best of each row is kept: after a piece only the rows that it meets are looked
        at again.
        """
        liked = {q: np.where(self._free[q], scores[q], np.inf) for q in turns}
        least = {q: liked[q].min(axis=1) for q in turns}
        spots: list[Spot] = []
        while True:
            best: tuple[float, int, int] | None = None
            for q in turns:
                row = int(least[q].argmin())
                score = float(least[q][row])
                if score < np.inf and (best is None or score < best[0] - 1e-9):
                    best = (score, q, row)
            if best is None:
                return spots
            _, q, row = best
            column = int(liked[q][row].argmin())
            spots.append((q, column, row))
            for other in turns:
                some = liked[other]
                rows = self._stamps[q, other].wall(some, column, row)
                least[other][rows] = some[rows].min(axis=1)

    def _arranged(self, spots: Sequence[Place]) -> Arrangement:
        """Turn corners of boxes into places; where nothing else is fixed, in the middle."""
        corners = [(x, y) for _, x, y in spots]
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
