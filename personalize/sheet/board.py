"""Laying shapes into each other: free places on a grid, and rules which to take first.

Shapes are laid one by one, each time at the free grid point that a rule likes best; what
meets it is then erased from the free points of every shape and turn (`stamps`). Rules are
weights of the place across and up, asked of a corner or of the middle of the piece.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Affine, Points, rotation, translation
from personalize.geometry.convex import convex_parts
from personalize.geometry.zone import Region
from personalize.sheet.paper import Rect
from personalize.sheet.stamps import Mask, Stamp, stamp_of

Floats = NDArray[np.float64]
STEP_MM = 1.0
"""Grid of places. Half as much held no more (measured on seven shapes)."""
ROUND_MM = 0.1
"""How far a curved outline may be simplified, outward."""
_E = 1e-3
WEIGHTS = (
    *((_E, 1.0), (1.0, _E), (-_E, 1.0), (1.0, -_E), (1.0, 1.0)),
    *((0.3, 1.0), (1.0, 0.3), (0.1, 1.0), (1.0, 0.1)),
)
"""Rules that are written down: weights across and up."""
CORNERS = 3
"""What of a piece is weighed: lower left corner, upper right corner, middle."""

Key = int
"""A shape at one turn: four times its number, and its quarter turns."""
Spot = tuple[Key, int, int]
"""Shape and turn, column and row on the grid."""
Scores = Mapping[Key, Floats]


@dataclass(frozen=True, slots=True)
class Turned:
    """A shape at one turn, its box's lower left corner in the origin."""

    at: Affine
    size: tuple[float, float]
    middle: tuple[float, float]
    parts: tuple[Points, ...]
    """Convex parts of the outline grown by half the spacing."""
    printed: tuple[Points, ...]
    """Convex parts of the outline grown by the bleed."""


@dataclass
class Work:
    """How much was done, so that it can be bounded without a clock."""

    done: int = 0
    """Places looked at; what else is done counts as so many as take as long."""


_STAMP_WORK = 100_000
"""For each pair of convex parts that a stamp is drawn of (0.1 ms)."""
_LOOK_WORK = 10_000
"""For each look at the free places of a shape (10 us)."""


class Shapes:
    """Outlines at four turns each, and where two of them meet."""

    def __init__(
        self, outlines: Sequence[Region], spacing_mm: float, bleed_mm: float
    ) -> None:
        """Measure all turns; stamps are drawn when they are asked for."""
        self.turned: dict[Key, Turned] = {
            4 * i + quarters: _turned(outline, quarters, spacing_mm, bleed_mm)
            for i, outline in enumerate(outlines)
            for quarters in range(4)
        }
        self._stamps: dict[tuple[Key, Key], Stamp] = {}
        self.work = Work()

    def stamp(self, first: Key, second: Key) -> Stamp:
        """Give where the second cannot lie beside the first."""
        found = self._stamps.get((first, second))
        if found is None:
            one, other = self.turned[first], self.turned[second]
            found = stamp_of(one.parts, other.parts, STEP_MM)
            self._stamps[first, second] = found
            self._stamps[second, first] = found.seen_from_second()
            self.work.done += _STAMP_WORK * len(one.parts) * len(other.parts)
        return found


def _turned(outline: Region, quarters: int, spacing_mm: float, bleed_mm: float) -> Turned:
    turn = rotation(90 * quarters)
    x0, y0, x1, y1 = outline.mapped(turn).box
    at = translation(-x0, -y0) @ turn
    here = outline.mapped(at)
    return Turned(
        at,
        (x1 - x0, y1 - y0),
        here.centroid,
        convex_parts(here, spacing_mm / 2, ROUND_MM),
        convex_parts(here, bleed_mm, ROUND_MM),
    )


class Board:
    """The free places of an area for some shapes."""

    def __init__(
        self,
        shapes: Shapes,
        area: Rect,
        bleed_mm: float,
        clear_zones: Sequence[Rect] = (),
    ) -> None:
        """Find the free places: the bleed stays in the area and out of clear zones."""
        self.shapes = shapes
        self.origin = (area[0] + bleed_mm, area[1] + bleed_mm)
        self.room = (
            area[2] - area[0] - 2 * bleed_mm,
            area[3] - area[1] - 2 * bleed_mm,
        )
        self.turned = {
            key: turned
            for key, turned in shapes.turned.items()
            if min(self._grid(turned)) > 0
        }
        self.free = {key: self._clear(t, clear_zones) for key, t in self.turned.items()}

    def _grid(self, turned: Turned) -> tuple[int, int]:
        """Rows and columns of places where the piece is inside the area."""
        (w, h), (wide, high) = turned.size, self.room
        return (
            math.floor((high - h) / STEP_MM + 1e-9) + 1,
            math.floor((wide - w) / STEP_MM + 1e-9) + 1,
        )

    def _clear(self, turned: Turned, zones: Sequence[Rect]) -> Mask:
        free = np.ones(self._grid(turned), dtype=bool)
        for x0, y0, x1, y1 in zones:
            corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]) - self.origin
            stamp_of([corners], turned.printed, STEP_MM).erase(free, 0, 0)
        return free

    def scores(self, across: float, up: float, corner: int) -> dict[Key, Floats]:
        """Weigh every place by its lower left corner, its upper right, or its middle."""
        out = {}
        for key, turned in self.turned.items():
            x, y = ((0.0, 0.0), turned.size, turned.middle)[corner]
            rows, columns = self._grid(turned)
            self.shapes.work.done += 2 * rows * columns
            out[key] = (
                across * (np.arange(columns) * STEP_MM + x)[None, :]
                + up * (np.arange(rows) * STEP_MM + y)[:, None]
            )
        return out

    def placed(self, spot: tuple[Key, float, float]) -> tuple[Affine, Rect]:
        """Turn the corner of a box, in mm on the board, into a place and its box."""
        key, x, y = spot
        turned = self.turned[key]
        x0, y0 = self.origin[0] + x, self.origin[1] + y
        box = (x0, y0, x0 + turned.size[0], y0 + turned.size[1])
        return translation(x0, y0) @ turned.at, box


class Laying:
    """Pieces that are laid on a board one by one, by one rule.

    The best of each row is kept: after a piece only the rows that it meets are looked at
    again.
    """

    def __init__(self, board: Board, keys: Sequence[Key], scores: Scores) -> None:
        """Begin with a free board; only these shapes and turns are laid."""
        self._shapes, self._keys = board.shapes, keys
        self._liked = {k: np.where(board.free[k], scores[k], np.inf) for k in keys}
        self._least = {k: self._liked[k].min(axis=1) for k in keys}
        self._shapes.work.done += 4 * sum(one.size for one in self._liked.values())
        self.spots: list[Spot] = []

    def lay(self, keys: Sequence[Key]) -> bool:
        """Lay one piece, of one of these shapes and turns; False where none has a place."""
        best: tuple[float, Key, int] | None = None
        for key in keys:
            row = int(self._least[key].argmin())
            score = float(self._least[key][row])
            if score < np.inf and (best is None or score < best[0] - 1e-9):
                best = (score, key, row)
        if best is None:
            return False
        _, key, row = best
        column = int(self._liked[key][row].argmin())
        self.spots.append((key, column, row))
        for other in self._keys:
            some = self._liked[other]
            rows = self._shapes.stamp(key, other).wall(some, column, row)
            self._least[other][rows] = some[rows].min(axis=1)
            self._shapes.work.done += _LOOK_WORK + 2 * some[rows].size
        return True


def chance(number: int) -> Iterator[float]:
    """Give numbers from 0 to 1 without end, always the same for the same number.

    A linear congruence (Park and Miller 1988, CACM 31: 16807 modulo 2**31 - 1).
    """
    state = 12345 + 7919 * number
    for _ in range(4):
        state = state * 16807 % 2147483647
    while True:
        state = state * 16807 % 2147483647
        yield state / 2147483647


def draws(number: int) -> list[float]:
    """Give the first eight of these numbers."""
    return list(islice(chance(number), 8))
