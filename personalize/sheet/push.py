"""Room for one piece more: pieces are strewn over a sheet, then pushed apart one by one.

Each piece in turn goes to where it lies least deep in others. What stays stuck in others
weighs more and more, so that these give way (guided local search: Voudouris and Tsang,
European Journal of Operational Research 113, 1999; with penalties of nested pieces:
Egeblad, Nielsen and Odgaard, the same 183, 2007; both from memory). Depths are counted on
the grid of `board`, so where none is left, all distances are kept.
"""

from collections.abc import Callable, Iterator, Sequence
from itertools import count
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from personalize.sheet.board import Board, Key, Spot, chance
from personalize.sheet.stamps import Mask

Levels = NDArray[np.float32]
Set = TypeVar("Set")
MOST_WORK = 5_000_000_000
"""Places looked at in all tries for a sheet (`board.Work`): a little over a second here."""
MOVES_EACH = 20
"""Moves in one try, for each piece. What gets apart at all mostly does by then; so many
held most on 23 shapes and sheets, with 10 to 45 tried."""
MOST_SWEEPS = 4
"""Rounds in which pieces settle. Judgement."""
_FINE = 16
"""Steps in which weights grow: so sums of them are exact."""
_ADD_WORK, _MEASURE_WORK = 15_000, 2_000
"""Beside the places looked at: what it costs to add a piece to the places of a shape
(15 us), and to measure how deep it lies in another (2 us)."""


class Pushing:
    """Tries to lay a number of pieces on a board."""

    def __init__(self, board: Board) -> None:
        """Depths are measured when they are asked for."""
        self._board = board
        self._depths: dict[tuple[Key, Key], _Depth] = {}

    def apart(self, pieces: Sequence[tuple[Key, ...]], number: int) -> list[Spot] | None:
        """Lay pieces apart from each other, each at one of its shapes and turns.

        `number` chooses how they are strewn at first. None where they stay stuck.
        """
        usable = [self.usable(keys) for keys in pieces]
        if not all(usable):
            return None
        return _Try(self, usable, number).apart()

    def usable(self, keys: Sequence[Key]) -> tuple[Key, ...]:
        """Give those shapes and turns that have a place on the empty board."""
        free = self._board.free
        return tuple(key for key in keys if key in free and free[key].any())

    def depth(self, first: Key, second: Key) -> "_Depth":
        """Measure how deep the second would lie in the first."""
        found = self._depths.get((first, second))
        if found is None:
            found = _Depth(self._board, first, second)
            self._depths[first, second] = found
        return found

    @property
    def board(self) -> Board:
        """Where pieces are laid."""
        return self._board


class _Depth:
    """How deep a second piece lies in a first, for every offset on the grid."""

    def __init__(self, board: Board, first: Key, second: Key) -> None:
        stamp = board.shapes.stamp(first, second)
        self._levels = levels(stamp.mask)
        self._left, self._bottom = stamp.left, stamp.bottom
        board.shapes.work.done += int(self._levels.size * (self._levels.max() + 1))

    def at(self, first: Spot, second: Spot) -> float:
        """Give the depth at two spots, 0 where they are apart."""
        column = second[1] - first[1] - self._left
        row = second[2] - first[2] - self._bottom
        rows, columns = self._levels.shape
        if 0 <= row < rows and 0 <= column < columns:
            return float(self._levels[row, column])
        return 0.0

    def add(self, costs: Levels, first: Spot, weight: float) -> int:
        """Add the depths in a piece to the costs of places; give how many were touched."""
        c0, r0 = first[1] + self._left, first[2] + self._bottom
        rows, columns = self._levels.shape
        cs, rs = max(c0, 0), max(r0, 0)
        c1, r1 = min(c0 + columns, costs.shape[1]), min(r0 + rows, costs.shape[0])
        if cs >= c1 or rs >= r1:
            return 0
        part = self._levels[rs - r0 : r1 - r0, cs - c0 : c1 - c0]
        costs[rs:r1, cs:c1] += np.float32(weight) * part
        return part.size


def levels(mask: Mask) -> Levels:
    """Count for each point of a mask the steps out of it, straight and aslant in turn.

    >>> levels(np.ones((3, 4), dtype=bool)).astype(int).tolist()
    [[1, 1, 1, 1], [1, 2, 2, 1], [1, 1, 1, 1]]
    """
    out = np.zeros(mask.shape, dtype=np.float32)
    left = np.pad(mask, 1)
    aslant = False
    while left.any():
        out += left[1:-1, 1:-1]
        inner = left[1:-1, 1:-1] & left[:-2, 1:-1] & left[2:, 1:-1]
        inner &= left[1:-1, :-2] & left[1:-1, 2:]
        if aslant:
            inner &= left[:-2, :-2] & left[2:, 2:] & left[:-2, 2:] & left[2:, :-2]
        left = np.pad(inner, 1)
        aslant = not aslant
    return out


class _Try:
    """One try: pieces strewn anyhow, and what it costs to lie anywhere."""

    def __init__(
        self, pushing: Pushing, pieces: Sequence[tuple[Key, ...]], number: int
    ) -> None:
        self._pushing, self._pieces = pushing, pieces
        self._work = pushing.board.shapes.work
        self._chance = chance(number)
        free = pushing.board.free
        every = sorted({key for keys in pieces for key in keys})
        self._costs: dict[Key, Levels] = {
            key: np.where(free[key], np.float32(0), np.float32(np.inf)) for key in every
        }
        self._weights = [1.0] * len(pieces)
        self._spots = [self._strewn(keys) for keys in pieces]
        self._deep = np.zeros((len(pieces), len(pieces)))
        for i in range(len(pieces)):
            self._add(i, 1.0)
            self._measure(i)

    def _strewn(self, keys: Sequence[Key]) -> Spot:
        """Lay a piece anywhere."""
        key = keys[int(next(self._chance) * len(keys))]
        rows, columns = self._costs[key].shape
        column, row = next(self._chance) * columns, next(self._chance) * rows
        return (key, int(column), int(row))

    def apart(self) -> list[Spot] | None:
        """Push pieces until none lies in another, or no more moves are left."""
        moves = 0
        while self._stuck():
            for i in self._in_turn():
                if self._deep[i].any() or not self._is_free(i):
                    self._move(i)
                    moves += 1
            if moves >= MOVES_EACH * len(self._pieces):
                return None
            self._weigh()
        return self._spots

    def _stuck(self) -> bool:
        every = range(len(self._pieces))
        return bool(self._deep.any()) or not all(map(self._is_free, every))

    def _is_free(self, i: int) -> bool:
        """Whether a piece lies where the sheet itself lets it."""
        key, column, row = self._spots[i]
        return bool(self._pushing.board.free[key][row, column])

    def _in_turn(self) -> list[int]:
        order = [(next(self._chance), i) for i in range(len(self._pieces))]
        return [i for _, i in sorted(order)]

    def _move(self, i: int) -> None:
        """Bring a piece to where it costs least."""
        self._add(i, -self._weights[i])
        best: tuple[float, Spot] | None = None
        for key in self._pieces[i]:
            costs = self._costs[key]
            row, column = divmod(int(costs.argmin()), costs.shape[1])
            cost = float(costs[row, column])
            if best is None or cost < best[0]:
                best = (cost, (key, column, row))
            self._work.done += costs.size
        assert best is not None
        self._spots[i] = best[1]
        self._add(i, self._weights[i])
        self._measure(i)

    def _add(self, i: int, weight: float) -> None:
        """Let all places know how deep they lie in a piece."""
        spot = self._spots[i]
        for key, costs in self._costs.items():
            depth = self._pushing.depth(spot[0], key)
            self._work.done += _ADD_WORK + 2 * depth.add(costs, spot, weight)

    def _measure(self, i: int) -> None:
        mine = self._spots[i]
        for j, other in enumerate(self._spots):
            if j != i:
                deep = self._pushing.depth(other[0], mine[0]).at(other, mine)
                self._deep[i, j] = self._deep[j, i] = deep
        self._work.done += _MEASURE_WORK * len(self._spots)

    def _weigh(self) -> None:
        """Give more weight to what is stuck, the more the deeper."""
        stuck = self._deep.max(axis=1)
        most = stuck.max()
        if most > 0:
            for i, more in enumerate(np.round(stuck / most * _FINE) / _FINE):
                if more > 0:
                    self._add(i, float(more))
                    self._weights[i] += float(more)


def more(
    pushing: Pushing,
    sets: Sequence[Set],
    pieces: Callable[[Set, int], Sequence[tuple[Key, ...]]],
    least: int,
    bound: int,
) -> Iterator[tuple[Set, list[Spot]]]:
    """Lay one more and one more than `least`, up to `bound`, till the work is done.

    Parameters
    ----------
    pushing
        The board.
    sets
        Choices of turns, taken in turn.
    pieces
        Gives the pieces of so many, at the turns of a set.

    Yields
    ------
    tuple
        The set, and the places of all its pieces, settled.
    """
    work = pushing.board.shapes.work
    until = work.done + MOST_WORK
    for number in count() if sets else ():
        if work.done > until or least >= bound:
            return
        chosen = sets[number % len(sets)]
        spots = pushing.apart(pieces(chosen, least + 1), number // len(sets))
        if spots is not None:
            least += 1
            yield chosen, settled(pushing.board, spots)


def settled(board: Board, spots: Sequence[Spot]) -> list[Spot]:
    """Bring pieces down, then to the left, where there is room: what is free joins."""
    laid = list(spots)
    for _ in range(MOST_SWEEPS):
        before = list(laid)
        for i in sorted(range(len(laid)), key=lambda i: (laid[i][2], laid[i][1])):
            laid[i] = _lowest(board, laid[i], [*laid[:i], *laid[i + 1 :]])
        if laid == before:
            break
    return laid


def _lowest(board: Board, spot: Spot, others: Sequence[Spot]) -> Spot:
    """Give the lowest place that a piece could have among others."""
    key, _, row = spot
    free = board.free[key][: row + 1].copy()
    for other in others:
        board.shapes.stamp(other[0], key).erase(free, other[1], other[2])
    board.shapes.work.done += free.size * 2
    rows, columns = free.nonzero()
    return (key, int(columns[0]), int(rows[0])) if rows.size else spot
