"""Straight lines and cubic curves through the points of a traced edge.

Corners are found first and set where the sides that meet there would cross: a raster
rounds them off. Between corners runs are fitted by least squares, split where they are
furthest off, with one tangent on both sides of each split (Schneider, "An algorithm for
automatically fitting digitized curves", Graphics Gems, 1990).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Point, Points
from personalize.geometry.path import Contour, Cubic, Line, Segment

CORNER_DEG = 32.0
"""Sharper turns are corners. Judgement."""
_NEAR = 1.6
"""Steps within which a raster rounds a corner off: points there tell nothing of it."""
_FAR = 5.0
"""Steps from a corner that its sides are read from."""
_STRAIGHT = 0.3
"""How far in steps the points of a straight side may lie from it."""
_LEAST = 3
"""Points between the ends of a curve, at least: fewer say nothing of its bend."""
_SIDE = 24.0
"""Steps that a straight side between curves has at least."""
_ROUNDS = 4
"""Times that the places of points along a curve are looked for anew."""


def fitted(ring: Points, within_mm: float, step_mm: float) -> Contour:
    """Fit lines and cubics to a closed polyline.

    Parameters
    ----------
    ring
        Shape (n, 2), the first point not repeated.
    within_mm
        How far its points may be from the curve.
    step_mm
        Size of the steps that it was traced in (a pixel): smaller features are noise.
    """
    ring = _spaced(ring, step_mm / 8)
    if len(ring) < 8:
        first, *rest = (_point(p) for p in (*ring, ring[0]))
        return Contour(first, tuple(Line(p) for p in rest), closed=True)
    runs = _runs(ring, step_mm)
    segments: list[Segment] = []
    for run in runs:
        segments += _Fitter(run.points, within_mm, step_mm).segments(run)
    return Contour(_point(runs[0].points[0]), tuple(segments), closed=True)


@dataclass(frozen=True, slots=True)
class _Run:
    """Points between two corners; or all of a ring that has none."""

    points: Points
    tangent: Points | None = None
    """Of both ends, where they are one point of a ring without corners."""


def _point(values: NDArray[np.float64]) -> Point:
    return (float(values[0]), float(values[1]))


def _spaced(ring: Points, least: float) -> Points:
    """Leave out points that lie nearer than a distance to the one before."""
    gaps = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T)
    out: Points = ring[gaps > least]
    return out


def _runs(ring: Points, step: float) -> list[_Run]:
    closed = np.concatenate([ring, ring[:1]])
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    corners = _corners(closed, along, step)
    if not corners:
        tangent = _unit(_at(closed, along, 1.5 * step) - _at(closed, along, -1.5 * step))
        return [_Run(closed, tangent)]
    total = along[-1]
    places = [_sharpened(closed, along, at, step) for at in corners]
    out = []
    for nth, at in enumerate(corners):
        after = (nth + 1) % len(corners)
        until = corners[after] if corners[after] > at else corners[after] + total
        # What lies at a corner is the raster's rounding, not a side.
        away = (along[:-1] - at) % total
        inner = np.flatnonzero((away > _NEAR * step) & (away < until - at - _NEAR * step))
        inner = inner[np.argsort(away[inner], kind="stable")]
        points = np.concatenate([[places[nth]], closed[inner], [places[after]]])
        out.append(_Run(points))
    return out


def _at(closed: Points, along: NDArray[np.float64], where: float) -> Points:
    """Give the point of a closed polyline at a length, counted round and round."""
    where %= along[-1]
    return np.array([np.interp(where, along, closed[:, i]) for i in (0, 1)])


def _corners(closed: Points, along: NDArray[np.float64], step: float) -> list[float]:
    """Find the lengths at which the polyline turns sharply."""
    total = along[-1]
    reach = min(3 * step, total / 6)
    places = along[:-1]

    def all_at(shift: float) -> Points:
        where = (places + shift) % total
        return np.column_stack([np.interp(where, along, closed[:, i]) for i in (0, 1)])

    before = closed[:-1] - all_at(-reach)
    after = all_at(reach) - closed[:-1]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.abs(np.degrees(np.arctan2(cross, (before * after).sum(axis=1))))
    out: list[float] = []
    for nth in np.argsort(-turn, kind="stable"):
        if turn[nth] < CORNER_DEG:
            break
        apart = (abs(places[nth] - other) for other in out)
        if all(min(gap, total - gap) > reach for gap in apart):
            out.append(float(places[nth]))
    return sorted(out)


def _sharpened(
    closed: Points, along: NDArray[np.float64], at: float, step: float
) -> Points:
    """Give the place where both sides of a corner would meet, if they are straight."""
    own = _at(closed, along, at)
    steps = np.linspace(_NEAR, _FAR, 8) * step
    sides = [
        np.array([_at(closed, along, at + sign * s) for s in steps]) for sign in (-1, 1)
    ]
    middles = [side.mean(axis=0) for side in sides]
    ways = []
    for side, middle in zip(sides, middles, strict=True):
        _, _, axes = np.linalg.svd(side - middle)
        off = (side - middle) @ axes[1]
        if np.abs(off).max() > _STRAIGHT * step:
            return own
        ways.append(axes[0])
    across = ways[0][0] * ways[1][1] - ways[0][1] * ways[1][0]
    if abs(across) < math.sin(math.radians(CORNER_DEG / 2)):
        return own
    between = middles[1] - middles[0]
    share = (between[0] * ways[1][1] - between[1] * ways[1][0]) / across
    met = middles[0] + share * ways[0]
    return met if np.hypot(*(met - own)) < 3 * step else own


def _unit(vector: Points) -> Points:
    length = float(np.hypot(*vector))
    return vector / length if length > 0 else np.array([1.0, 0.0])


@dataclass(frozen=True, slots=True)
class _Span:
    """Some points of a run, and the directions into it at both of its ends."""

    first: int
    last: int
    leave: Points
    arrive: Points


class _Fitter:
    """Fits one run of points."""

    def __init__(self, points: Points, within: float, step: float) -> None:
        self._points = points
        self._within = within
        self._step = step
        self._along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])

    def segments(self, run: _Run) -> list[Segment]:
        last = len(self._points) - 1
        if run.tangent is None:
            return self._fit(_Span(0, last, self._way(0, 1), self._way(last, -1)))
        # A ring is split in two: a curve cannot come back to where it began.
        half = int(np.searchsorted(self._along, self._along[-1] / 2))
        way = self._through(half)
        return [
            *self._fit(_Span(0, half, run.tangent, -way)),
            *self._fit(_Span(half, last, way, -run.tangent)),
        ]

    def _way(self, at: int, sign: int) -> Points:
        """Give the direction in which the run leaves one of its ends."""
        reach = min(3 * self._step, self._along[-1] / 3)
        there = self._on(self._along[at] + sign * reach)
        return _unit(there - self._points[at])

    def _through(self, at: int) -> Points:
        reach = min(2 * self._step, self._along[at], self._along[-1] - self._along[at])
        return _unit(self._on(self._along[at] + reach) - self._on(self._along[at] - reach))

    def _on(self, where: float) -> Points:
        return np.array([np.interp(where, self._along, self._points[:, i]) for i in (0, 1)])

    def _fit(self, whole: _Span) -> list[Segment]:
        """Split a span until all of it fits, then join what fits as one after all."""
        fits: list[tuple[_Span, Segment]] = []
        todo = [whole]
        while todo:
            span = todo.pop()
            found, worst = self._one(span, least=span.last - span.first < 2 * _LEAST)
            if found is not None:
                fits.append((span, found))
                continue
            split = min(max(worst, span.first + _LEAST), span.last - _LEAST)
            way = self._through(split)
            todo.append(_Span(split, span.last, way, span.arrive))
            todo.append(_Span(span.first, split, span.leave, -way))
        out = fits[:1]
        for span, segment in fits[1:]:
            before = out[-1][0]
            both = _Span(before.first, span.last, before.leave, span.arrive)
            joined, _ = self._one(both)
            if joined is None:
                out.append((span, segment))
            else:
                out[-1] = (both, joined)
        return [segment for _, segment in out]

    def _one(self, span: _Span, *, least: bool = False) -> tuple[Segment | None, int]:
        """Fit one segment to a span; None where it is too far off, and the worst point."""
        a, b = span.first, span.last
        end = _point(self._points[b])
        if b - a < 2 or self._is_straight(a, b):
            return Line(end), a
        cubic, off, worst = self._cubic(span)
        if off <= self._within or least:
            return Cubic(_point(cubic[1]), _point(cubic[2]), end), a
        return None, a + worst

    def _is_straight(self, a: int, b: int) -> bool:
        """Whether points make a side: short bits of a curve would show as facets."""
        whole = a == 0 and b == len(self._points) - 1
        if not whole and self._along[b] - self._along[a] < _SIDE * self._step:
            return False
        bend = _bend(self._points[a : b + 1])
        return bend < min(self._within / 2, _STRAIGHT * self._step)

    def _cubic(self, span: _Span) -> tuple[Points, float, int]:
        """Fit one cubic: its four points, how far off it is at most, and where."""
        a, b = span.first, span.last
        points = self._points[a : b + 1]
        t = (self._along[a : b + 1] - self._along[a]) / (self._along[b] - self._along[a])
        best = None
        for _ in range(_ROUNDS):
            cubic = _least_squares(points, t, span.leave, span.arrive)
            gaps = np.hypot(*(_on_cubic(cubic, t) - points).T)
            worst = int(gaps.argmax())
            if best is None or gaps[worst] < best[1]:
                best = (cubic, float(gaps[worst]), worst)
            if best[1] <= self._within or gaps[worst] > 20 * self._within:
                break
            t = _nearer(cubic, t, points)
        assert best is not None
        return best


def _bend(points: Points) -> float:
    """How far points lie from the straight line between the first and the last."""
    way = points[-1] - points[0]
    length = float(np.hypot(*way))
    off = points - points[0]
    if length == 0:
        return float(np.hypot(*off.T).max())
    share = np.clip(off @ way / length**2, 0, 1)
    return float(np.hypot(*(off - share[:, None] * way).T).max())


def _basis(t: NDArray[np.float64]) -> NDArray[np.float64]:
    u = 1 - t
    return np.stack([u**3, 3 * u * u * t, 3 * u * t * t, t**3])


def _on_cubic(cubic: Points, t: NDArray[np.float64]) -> Points:
    out: Points = _basis(t).T @ cubic
    return out


def _least_squares(
    points: Points, t: NDArray[np.float64], leave: Points, arrive: Points
) -> Points:
    """Find how far the handles reach along their directions."""
    b = _basis(t)
    first, last = points[0], points[-1]
    rest = points - (np.outer(b[0] + b[1], first) + np.outer(b[2] + b[3], last))
    one, two = np.outer(b[1], leave), np.outer(b[2], arrive)
    c00, c01, c11 = (one * one).sum(), (one * two).sum(), (two * two).sum()
    x0, x1 = (one * rest).sum(), (two * rest).sum()
    chord = float(np.hypot(*(last - first)))
    det = c00 * c11 - c01 * c01
    reach = [chord / 3, chord / 3]
    if abs(det) > 1e-12 * max(c00 * c11, 1e-30):
        solved = [(x0 * c11 - x1 * c01) / det, (c00 * x1 - c01 * x0) / det]
        # A handle that points back, or far past the other end, makes a loop.
        if all(1e-3 * chord < v < 3 * chord + 1e-9 for v in solved):
            reach = solved
    return np.array([first, first + reach[0] * leave, last + reach[1] * arrive, last])


def _nearer(cubic: Points, t: NDArray[np.float64], points: Points) -> NDArray[np.float64]:
    """Move each place along the curve towards its point by a step of Newton's."""
    d1 = 3 * np.diff(cubic, axis=0)
    d2 = 2 * np.diff(d1, axis=0)
    u = 1 - t
    speed = np.stack([u * u, 2 * u * t, t * t]).T @ d1
    bend = np.stack([u, t]).T @ d2
    off = _on_cubic(cubic, t) - points
    above = (off * speed).sum(axis=1)
    below = (speed * speed).sum(axis=1) + (off * bend).sum(axis=1)
    safe = np.where(np.abs(below) > 1e-12, below, np.inf)
    moved = np.clip(t - above / safe, 0, 1)
    out: NDArray[np.float64] = np.maximum.accumulate(moved)
    return out
