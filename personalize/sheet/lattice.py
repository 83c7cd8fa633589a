"""Places in even rows: one turn, or two head to tail, each second row moved along.

Small pieces lie closest so. A row repeats a unit of one piece, or of two turned by half a
turn against each other; rows of two kinds take turns. How near rows come is read off the
no-fit polygons (`stamps`), drawn on a grid finer than that of `nest`:

    period      first free place beside a piece in its own row
    distance    first free place above all pieces of the row below, for each shift

All shifts of a unit are weighed at once. Fixed work: the same answer every time.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Points
from personalize.sheet.stamps import Stamp, stamp_of

Ints = NDArray[np.int_]
CELLS = 160
"""Cells of the grid along the longer side of a piece."""
LEAST_STEP_MM, MOST_STEP_MM = 0.02, 0.5
LEVELS = 24
"""Heights that are tried for the second piece of a unit."""
KEPT = 6
"""Of the fullest, where some pieces must yield to clear zones."""

Spot = tuple[int, float, float]
"""Quarter turns, and the lower left corner of the piece's box in mm."""
Member = tuple[int, int, int]
"""Quarter turns, and where its corner lies in the unit, in cells."""


@dataclass(frozen=True, slots=True)
class Shape:
    """A piece at one turn, its box's lower left corner in the origin."""

    size: tuple[float, float]
    parts: tuple[Points, ...]
    """Convex parts of the outline grown by half the spacing."""


@dataclass(frozen=True, slots=True)
class _Row:
    """What a row repeats."""

    members: tuple[Member, ...]
    high: int


@dataclass(frozen=True, slots=True)
class _Found:
    """Rows of two kinds in turn, in cells."""

    count: int
    rows: tuple[_Row, _Row]
    period: int
    shift: int
    up: int
    """From a row of the first kind to the next of the second."""
    both: int
    """From a row of the first kind to the next of the same."""
    swapped: bool
    """Laid out with the room turned by a quarter."""


class Lattices:
    """Even rows of a piece in a room."""

    def __init__(self, shapes: Mapping[int, Shape], room: tuple[float, float]) -> None:
        """Draw the no-fit polygons of a piece at four quarter turns."""
        longest = max(max(shape.size) for shape in shapes.values())
        self._step = min(max(longest / CELLS, LEAST_STEP_MM), MOST_STEP_MM)
        self._room = room
        self._shapes = shapes
        self._cells = {
            q: (self._up(s.size[0]), self._up(s.size[1])) for q, s in shapes.items()
        }
        self._stamps: dict[tuple[int, int], Stamp] = {}

    def _up(self, mm: float) -> int:
        return math.ceil(mm / self._step - 1e-9)

    def best(self) -> Iterator[list[Spot]]:
        """Give layouts, the fullest first."""
        found = [
            one
            for swapped in (False, True)
            for rows, period in self._units()
            for one in self._laid(rows, period, swapped=swapped)
        ]
        found.sort(key=lambda one: -one.count)
        for one in found[:KEPT]:
            yield list(self._spots(one))

    def _stamp(self, a: int, b: int) -> Stamp:
        if (a, b) not in self._stamps:
            one, other = self._shapes[a].parts, self._shapes[b].parts
            self._stamps[a, b] = stamp_of(one, other, self._step)
        return self._stamps[a, b]

    def _beside(self, a: int, b: int, up: int) -> int:
        """Give the first free place right of a piece, for one so much higher."""
        stamp = self._stamp(a, b)
        row = up - stamp.bottom
        if not 0 <= row < stamp.mask.shape[0] or not stamp.mask[row].any():
            return 0
        return int(stamp.mask[row].nonzero()[0][-1]) + 1 + stamp.left

    def _units(self) -> Iterator[tuple[tuple[_Row, _Row], int]]:
        """Give pairs of rows with the period that they share."""
        for q in (0, 1):
            other = q + 2
            high = self._cells[q][1]
            one, two = (_Row(((t, 0, 0),), high) for t in (q, other))
            own = self._beside(q, q, 0)
            yield (one, one), own
            yield (one, two), own
            levels = {round(high * i / LEVELS) for i in range(-LEVELS, LEVELS + 1)}
            for up in sorted(levels):
                across = self._beside(q, other, up)
                back = self._beside(other, q, -up)
                if across <= 0 or back <= 0:
                    continue
                low = min(0, up)
                members = ((q, 0, -low), (other, across, up - low))
                row = _Row(members, high + abs(up))
                yield (row, row), max(across + back, own)

    def _laid(
        self, rows: tuple[_Row, _Row], period: int, *, swapped: bool
    ) -> Iterator[_Found]:
        """Give the shift that holds the most, if any place is there."""
        wide, high = self._turned(swapped=swapped)
        first, second = rows
        if period <= 0:
            return
        shifts = np.arange(period)
        own = self._above(first, first, period)
        alike = first == second
        over = own if alike else self._above(first, second, period)
        under = own if alike else self._above(second, first, period)
        up = np.maximum(over, 0)
        down = np.maximum(under, 0)[-shifts % period]
        least = max(own[0], own[0] if alike else self._above(second, second, period)[0])
        both = np.maximum(np.maximum(up + down, least), 1)
        starts = np.zeros_like(shifts)
        count = self._along(first, starts, wide, period) * _times(high - first.high, both)
        count += self._along(second, shifts, wide, period) * _times(
            high - second.high - up, both
        )
        at = int(count.argmax())
        if count[at] > 0:
            yield _Found(
                int(count[at]), rows, period, at, int(up[at]), int(both[at]), swapped
            )

    def _turned(self, *, swapped: bool) -> tuple[int, int]:
        """Give the room in whole cells, across and up as the rows lie."""
        wide, high = (int(mm / self._step + 1e-9) for mm in self._room)
        return (high, wide) if swapped else (wide, high)

    def _above(self, below: _Row, row: _Row, period: int) -> Ints:
        """Give how far above another a row must lie, for each shift."""
        out = np.full(period, -(10**9))
        for a, ax, ay in below.members:
            for b, bx, by in row.members:
                stamp = self._stamp(a, b)
                some = stamp.mask.any(axis=0)
                last = stamp.mask.shape[0] - stamp.mask[::-1].argmax(axis=0)
                columns = np.flatnonzero(some)
                top = last[columns] + stamp.bottom - (by - ay)
                # From the offset of the pieces to that of the rows.
                np.maximum.at(out, (columns + stamp.left - (bx - ax)) % period, top)
        return out

    def _along(self, row: _Row, starts: Ints, wide: int, period: int) -> Ints:
        """Count the pieces of a row for each start."""
        out = np.zeros_like(starts)
        for q, x, _ in row.members:
            first = -((starts + x) // period)
            last = (wide - self._cells[q][0] - starts - x) // period
            out += np.maximum(last - first + 1, 0)
        return out

    def _spots(self, found: _Found) -> Iterator[Spot]:
        wide, high = self._turned(swapped=found.swapped)
        for nth, row in enumerate(found.rows):
            bottom, start = (found.up, found.shift) if nth else (0, 0)
            times = int(_times(high - row.high - bottom, np.array(found.both)))
            for j in range(times):
                for q, x, y in row.members:
                    first = -((start + x) // found.period)
                    last = (wide - self._cells[q][0] - start - x) // found.period
                    for k in range(first, last + 1):
                        at = (start + x + k * found.period, bottom + y + j * found.both)
                        yield self._spot(q, at, swapped=found.swapped)

    def _spot(self, q: int, at: tuple[int, int], *, swapped: bool) -> Spot:
        x, y = at[0] * self._step, at[1] * self._step
        if not swapped:
            return (q, x, y)
        # Turn all of it back, clockwise by a quarter.
        width = self._shapes[q].size[0]
        return ((q - 1) % 4, y, self._room[1] - x - width)


def _times(room: Ints | int, step: Ints) -> Ints:
    """Count how often a step goes into what is left behind the first."""
    return np.where(np.asarray(room) >= 0, np.asarray(room) // step + 1, 0)
