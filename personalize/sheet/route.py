"""The blade's way: which piece comes next, and where on a closed line it sets down.

By a fixed amount of work: the nearest next, then crossings of the way taken out.
"""

import math
from collections.abc import Callable, Sequence
from typing import TypeVar

import numpy as np

from personalize.geometry.affine import Point
from personalize.geometry.along import Track
from personalize.geometry.path import Line

_MOST_LOOKS = 200_000
"""Pairs looked at while crossings are taken out."""
_STRAIGHT_MM = 3.0
"""A shorter straight is no place to set down: it may be a chord of a curve."""
_PLACES = 64
_FREE_MM = 2.0

Thing = TypeVar("Thing")


def short_route(points: Sequence[Point], start: Point) -> list[int]:
    """Give an order of points that makes a short way from a start."""
    if not points:
        return []
    where = np.array([start, *points])
    apart = np.hypot(*(where[:, None] - where).transpose(2, 0, 1))
    left = np.ones(len(where), dtype=bool)
    left[0] = False
    order = [0]
    while left.any():
        gaps = np.where(left, apart[order[-1]], np.inf)
        order.append(int(gaps.argmin()))
        left[order[-1]] = False
    _untangle(order, apart.tolist())
    return [at - 1 for at in order[1:]]


def _untangle(order: list[int], apart: list[list[float]]) -> None:
    """Turn parts of the way round, in place, as long as that makes it shorter."""
    count, looks, better = len(order), 0, True
    while better and looks < _MOST_LOOKS:
        better = False
        for i in range(1, count - 1):
            a, b = order[i - 1], order[i]
            for j in range(i + 1, count):
                looks += 1
                c = order[j]
                change = apart[a][c] - apart[a][b]
                if j + 1 < count:
                    d = order[j + 1]
                    change += apart[b][d] - apart[c][d]
                if change < -1e-6:
                    order[i : j + 1] = order[i : j + 1][::-1]
                    better, b = True, order[i]


def nearest_next(
    things: Sequence[Thing], at: Point, far: Callable[[Thing, Point], float]
) -> Thing:
    """Give the thing that is nearest; the first of equals."""
    return min(things, key=lambda thing: round(far(thing, at), 6))


def set_downs(track: Track) -> list[float]:
    """Places where a blade may set down on a closed line, as ways along it.

    The middles of the long straights; where there are none, the gentlest of even places
    that are away from corners. A blade leaves a small mark where it sets down.
    """
    straights = [
        (track.ways[i + 1] - track.ways[i], (track.ways[i] + track.ways[i + 1]) / 2)
        for i, segment in enumerate(track.segments)
        if isinstance(segment, Line)
    ]
    longest = max((length for length, _ in straights), default=0.0)
    if longest >= _STRAIGHT_MM:
        return [middle for length, middle in straights if length >= longest / 2]
    ways = [track.length_mm * i / _PLACES for i in range(_PLACES)]
    free = [way for way in ways if track.from_corners(way) >= _FREE_MM]
    if not free:
        return [max(ways, key=track.from_corners)]
    bends = [_bend(track, way) for way in free]
    least = min(bends)
    return [way for way, bend in zip(free, bends, strict=True) if bend <= least + 0.02]


def _bend(track: Track, way: float) -> float:
    """How much the line turns within a millimetre, in radians."""
    reach = min(0.5, track.length_mm / 20)
    a, b, c = (track.point(way + by) for by in (-reach, 0.0, reach))
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]
    return abs(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)) / reach
