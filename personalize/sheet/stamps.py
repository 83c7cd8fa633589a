"""Where a second piece cannot lie beside a first: no-fit polygons drawn on a grid.

The no-fit polygon of two convex parts is the hull of all differences of their corners
(their Minkowski sum, one of them turned by half a turn). A piece is a union of convex
parts, so its stamp is the union of the stamps of the pairs. Grid points strictly inside
are ruled out: what is left is exact, since it is polygons that are asked at each point.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Points
from personalize.geometry.convex import hull_of

Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]
_HAIR = 1e-9


@dataclass(frozen=True)
class Stamp:
    """Offsets at which two pieces meet, on a grid."""

    mask: Mask
    """(rows, columns), the lowest row first."""
    left: int
    bottom: int
    """Grid offset of the first column and row."""

    @cached_property
    def _walls(self) -> Floats:
        """Infinite where two pieces meet, and nothing elsewhere."""
        return np.where(self.mask, np.inf, -np.inf)

    def wall(self, scores: Floats, column: int, row: int) -> slice:
        """Make what meets a piece at (column, row) endlessly bad, in place.

        Gives the rows where something may have changed.
        """
        c0, r0 = column + self.left, row + self.bottom
        c1 = min(c0 + self.mask.shape[1], scores.shape[1])
        r1 = min(r0 + self.mask.shape[0], scores.shape[0])
        cs, rs = max(c0, 0), max(r0, 0)
        if cs >= c1 or rs >= r1:
            return slice(0, 0)
        part = scores[rs:r1, cs:c1]
        np.maximum(part, self._walls[rs - r0 : r1 - r0, cs - c0 : c1 - c0], out=part)
        return slice(rs, r1)

    def seen_from_second(self) -> "Stamp":
        """Give where the first cannot lie beside the second: turned by half a turn."""
        rows, columns = self.mask.shape
        mask = np.ascontiguousarray(self.mask[::-1, ::-1])
        return Stamp(mask, 1 - self.left - columns, 1 - self.bottom - rows)

    def erase(self, free: Mask, column: int, row: int) -> None:
        """Take what meets a piece at (column, row) from the free places, in place."""
        c0, r0 = column + self.left, row + self.bottom
        c1 = min(c0 + self.mask.shape[1], free.shape[1])
        r1 = min(r0 + self.mask.shape[0], free.shape[0])
        cs, rs = max(c0, 0), max(r0, 0)
        if cs < c1 and rs < r1:
            free[rs:r1, cs:c1] &= ~self.mask[rs - r0 : r1 - r0, cs - c0 : c1 - c0]


def stamp_of(first: Iterable[Points], second: Sequence[Points], step_mm: float) -> Stamp:
    """Draw the no-fit polygon of two pieces given by their convex parts."""
    polygons = [
        hull_of((a[:, None, :] - b[None, :, :]).reshape(-1, 2))
        for a in first
        for b in second
    ]
    corners = np.concatenate(polygons)
    left, bottom = (int(v) for v in np.floor(corners.min(axis=0) / step_mm))
    right, top = (int(v) for v in np.ceil(corners.max(axis=0) / step_mm))
    # Where a row of a polygon begins counts one up, where it ends one down.
    edges = np.zeros((top - bottom + 1, right - left + 2), dtype=np.int32)
    for polygon in polygons:
        rows, x0, x1 = _rows(polygon, bottom, top, step_mm)
        start = np.floor(x0 / step_mm + _HAIR).astype(int) + 1 - left
        end = np.ceil(x1 / step_mm - _HAIR).astype(int) - left
        some = start < end
        edges[rows[some], start[some]] += 1
        edges[rows[some], end[some]] -= 1
    return Stamp(edges.cumsum(axis=1)[:, :-1] > 0, left, bottom)


def _rows(
    polygon: Points, bottom: int, top: int, step_mm: float
) -> tuple[NDArray[np.int_], Points, Points]:
    """Cut a convex polygon by the rows of the grid: rows, where they begin and end."""
    ends = np.roll(polygon, -1, axis=0)
    (ax, ay), (bx, by) = polygon.T, ends.T
    first = max(bottom, int(np.floor(polygon[:, 1].min() / step_mm)))
    last = min(top, int(np.ceil(polygon[:, 1].max() / step_mm)))
    rows = np.arange(first, last + 1)
    y = rows[:, None] * step_mm
    spans = (ay <= y) != (by <= y)
    with np.errstate(divide="ignore", invalid="ignore"):
        x = ax + (y - ay) * (bx - ax) / (by - ay)
    two = spans.sum(axis=1) == 2
    least = np.where(spans, x, np.inf).min(axis=1)
    most = np.where(spans, x, -np.inf).max(axis=1)
    return rows[two] - bottom, least[two], most[two]
