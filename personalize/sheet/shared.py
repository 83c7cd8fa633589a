"""Edges that two lines have in common: the blade follows them once.

Straight pieces are shared where they overlap; curves where they are equal.
"""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from personalize.geometry.affine import Affine, Point, Points
from personalize.geometry.along import Track, point_at
from personalize.geometry.path import Line, Segment
from personalize.sheet.uncut import Span, merged
from personalize.units import TOLERANCE_MM

_NEAR_MM = TOLERANCE_MM * 0.7
"""Across and along: both together stay within the tolerance."""
LEAST_SHARED_MM = 0.1
"""Pieces that touch at a point share nothing."""
_AT = (0.0, 0.25, 0.5, 0.75, 1.0)


class SharedEdges:
    """The edges of one kind that are cut so far; lines come in the order of cutting."""

    def __init__(self) -> None:
        """Begin with nothing cut."""
        self._boxes: Points = np.empty((0, 4))
        self._cut: list[tuple[bool, tuple[Point, ...]]] = []

    def add(self, track: Track, at: Affine) -> list[Span]:
        """Give the spans of a line that were cut before, and count all of it as cut now."""
        spans: list[Span] = []
        own = []
        for way, length, start, segment in zip(
            track.ways,
            np.diff(track.ways),
            track.starts,
            track.segments,
            strict=False,
        ):
            straight = isinstance(segment, Line)
            points = tuple(at(p) for p in _samples(start, segment))
            for other in self._near(points):
                was_straight, others = self._cut[other]
                if straight and was_straight:
                    found = _overlap(points, others)
                elif not straight and not was_straight and _equal(points, others):
                    found = (0.0, float(length))
                else:
                    found = None
                if found is not None:
                    spans.append((way + found[0], way + found[1]))
            own.append((straight, points))
        self._keep(own)
        return merged(spans, track.length_mm) if spans else []

    def _near(self, points: Sequence[Point]) -> Iterable[int]:
        if not len(self._boxes):
            return ()
        x0, y0, x1, y1 = _box(points)
        b = self._boxes
        meets = (b[:, 0] <= x1) & (b[:, 2] >= x0) & (b[:, 1] <= y1) & (b[:, 3] >= y0)
        return map(int, np.flatnonzero(meets))

    def _keep(self, own: Sequence[tuple[bool, tuple[Point, ...]]]) -> None:
        self._cut += own
        boxes = np.array([_box(points) for _, points in own]).reshape(-1, 4)
        self._boxes = np.concatenate([self._boxes, boxes])


def _samples(start: Point, segment: Segment) -> list[Point]:
    if isinstance(segment, Line):
        return [start, segment.end]
    return [point_at(start, segment, t) for t in _AT]


def _box(points: Sequence[Point]) -> tuple[float, float, float, float]:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (
        min(xs) - TOLERANCE_MM,
        min(ys) - TOLERANCE_MM,
        max(xs) + TOLERANCE_MM,
        max(ys) + TOLERANCE_MM,
    )


def _overlap(line: Sequence[Point], other: Sequence[Point]) -> Span | None:
    """Give the span of a straight piece that another covers."""
    (ax, ay), (bx, by) = line
    length = math.hypot(bx - ax, by - ay)
    if length < LEAST_SHARED_MM:
        return None
    ux, uy = (bx - ax) / length, (by - ay) / length
    ends = sorted(
        ((x - ax) * ux + (y - ay) * uy, (y - ay) * ux - (x - ax) * uy) for x, y in other
    )
    (t0, d0), (t1, d1) = ends
    low, high = max(0.0, t0), min(length, t1)
    if high - low < LEAST_SHARED_MM:
        return None
    slope = (d1 - d0) / (t1 - t0)
    if max(abs(d0 + slope * (t - t0)) for t in (low, high)) > _NEAR_MM:
        return None
    # A hair at an end would be cut on its own.
    low = 0.0 if low <= _NEAR_MM else low
    high = length if high >= length - _NEAR_MM else high
    return low, high


def _equal(curve: Sequence[Point], other: Sequence[Point]) -> bool:
    return any(
        all(math.dist(p, q) <= _NEAR_MM for p, q in zip(curve, way, strict=True))
        for way in (other, other[::-1])
    )
