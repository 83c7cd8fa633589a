"""Two small exact solvers: the largest size under linear conditions, the nearest point.

Three unknowns, or two, and tens of conditions: general solvers spend more on being
called than these on the answer (measured: 0.05 ms against 1 ms).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Point

Floats = NDArray[np.float64]

EPSILON_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Vertex:
    """A solved programme: its answer and the three conditions that hold it."""

    size: float
    at: Point
    held: tuple["Row", "Row", "Row"]
    ends: tuple[float, float, float]
    weights: tuple[tuple[int, float], ...] = ()
    """Active rows and their weights (of a first programme)."""


class Programme:
    """Maximise s with n.t + s h <= d, and again with more conditions.

    A dual simplex on three rows: begin with loose bounds on s and t, then bring in the
    condition that is broken most, until none is. With a condition added it goes on from
    the three that held before, which mostly takes one or two steps.
    """

    def __init__(self, normals: Floats, h: Floats, d: Floats, more: int = 0) -> None:
        """Make ready for the conditions of a hull and at most `more` others."""
        m = self._m = len(d)
        self._rows = np.empty((m + more, 3))
        self._rows[:m, :2], self._rows[:m, 2] = normals, h
        self._ends = np.empty(m + more)
        self._ends[:m] = d
        self._scale = np.maximum(1.0, np.abs(self._rows[:, 2]))
        self.spent = 0

    def first(self) -> Vertex | None:
        """Solve with the hull's conditions alone; None when there is no answer."""
        m = self._m
        far = 4 * (float(np.abs(self._ends[:m]).max()) + 1)
        basis = [m, m + 1, m + 2]
        held: list[Row] = [(0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)]
        return self._solved(m, held, [1e6, far, far], basis, None, 0.0)

    def keep(self, depth: int, row: "Row", end: float) -> None:
        """Make a condition the last of those that hold below this depth."""
        at = self._m + depth
        self._rows[at], self._ends[at], self._scale[at] = row, end, max(1.0, abs(row[2]))

    def with_row(
        self, vertex: Vertex, depth: int, row: "Row", end: float, least: float
    ) -> Vertex | None:
        """Solve with one more condition; None when no size above `least` is possible."""
        self.keep(depth, row, end)
        held, ends = list(vertex.held), list(vertex.ends)
        count = self._m + depth + 1
        return self._solved(count, held, ends, [0, 0, 0], (row, end), least)

    def _solved(  # noqa: PLR0917 - the state of a simplex
        self,
        count: int,
        held: list["Row"],
        ends: list[float],
        basis: list[int],
        entering: tuple["Row", float] | None,
        least: float,
    ) -> Vertex | None:
        self.spent += 1
        rows, d, scale = self._rows[:count], self._ends[:count], self._scale[:count]
        enter = -1
        for _ in range(200):
            x, columns = _vertex(held, ends)
            if x[2] <= least:
                return None
            if entering is None:
                broken = (rows @ x - d) / scale
                enter = int(broken.argmax())
                if broken[enter] <= 1e-10:
                    break
                entering = tuple(rows[enter].tolist()), float(d[enter])
            row, end = entering
            entering = None
            weights = [column[2] for column in columns]
            leave = _leaving(weights, [_dot(row, column) for column in columns])
            if leave is None:
                return None
            basis[leave], held[leave], ends[leave] = enter, row, end
        used = [(i, c[2]) for i, c in zip(basis, columns, strict=True) if i < self._m]
        a, b, c = held
        e, f, g = ends
        return Vertex(x[2], (x[0], x[1]), (a, b, c), (e, f, g), tuple(used))


Row = tuple[float, float, float]


def _vertex(held: list[Row], ends: list[float]) -> tuple[Row, tuple[Row, Row, Row]]:
    """Where three conditions r.x = e meet, and the columns of the inverse of the rows r.

    Written out, since this is the innermost step of every fit: loops cost twice as much.
    """
    (a0, a1, a2), (b0, b1, b2), (c0, c1, c2) = held
    p0, p1, p2 = b1 * c2 - b2 * c1, b2 * c0 - b0 * c2, b0 * c1 - b1 * c0
    q0, q1, q2 = c1 * a2 - c2 * a1, c2 * a0 - c0 * a2, c0 * a1 - c1 * a0
    r0, r1, r2 = a1 * b2 - a2 * b1, a2 * b0 - a0 * b2, a0 * b1 - a1 * b0
    det = a0 * p0 + a1 * p1 + a2 * p2
    p0, p1, p2 = p0 / det, p1 / det, p2 / det
    q0, q1, q2 = q0 / det, q1 / det, q2 / det
    r0, r1, r2 = r0 / det, r1 / det, r2 / det
    e, f, g = ends
    x = (
        e * p0 + f * q0 + g * r0,
        e * p1 + f * q1 + g * r1,
        e * p2 + f * q2 + g * r2,
    )
    return x, ((p0, p1, p2), (q0, q1, q2), (r0, r1, r2))


def _dot(a: Row, b: Row) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _leaving(weights: list[float], shares: list[float]) -> int | None:
    """Row that leaves the basis: the first whose weight falls to nothing."""
    best, least = None, math.inf
    for i in range(3):
        if shares[i] > 1e-13 and max(weights[i], 0.0) / shares[i] < least:
            best, least = i, max(weights[i], 0.0) / shares[i]
    return best


def project(normals: Floats, room: Floats, target: Point) -> Point | None:
    """Give the point nearest `target` with n.p <= room, or None when there is none.

    A dual active set in the plane (Goldfarb and Idnani 1983, with two unknowns): at most
    two conditions hold the point, and each step brings in the one broken most.
    """
    at = np.array(target)
    active: list[int] = []
    for _ in range(4 * len(room) + 8):
        broken = normals @ at - room
        worst = int(broken.argmax())
        if broken[worst] <= EPSILON_MM:
            return (float(at[0]), float(at[1]))
        for held in ([worst], *([old, worst] for old in active)):
            place = _held(normals, room, np.array(target), held)
            if place is not None and all(
                normals[i] @ place - room[i] <= EPSILON_MM for i in active
            ):
                at, active = place, held
                break
        else:
            return None
    return None


def _held(normals: Floats, room: Floats, target: Floats, held: list[int]) -> Floats | None:
    """Nearest point to the target on the given conditions' lines, if they all push."""
    n, r = normals[held], room[held]
    gram = n @ n.T
    if len(held) == 2 and abs(gram[0, 0] * gram[1, 1] - gram[0, 1] ** 2) < 1e-14:
        return None
    push = np.linalg.solve(gram, n @ target - r)
    if push.min() < -1e-12:
        return None
    place: Floats = target - push @ n
    return place
