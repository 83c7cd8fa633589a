"""Places along a contour, told by their way from its start, and true parts of it.

A part of a cubic is a cubic and a part of an arc is an arc: nothing is flattened.
"""

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np

from personalize.geometry.affine import Point, Points
from personalize.geometry.path import Arc, Contour, Cubic, Line, Segment, arc_centre

_STEPS = 256
"""Chords by which the way along one curve is measured: a cubic of 100 mm is known to
1e-4 mm (measured)."""
_SAME_MM = 1e-7


class Track:
    """A contour with a measure of the way along it, in mm from its start."""

    def __init__(self, contour: Contour) -> None:
        """Measure a contour; a closed one is closed by a line where it is not."""
        at = contour.start
        starts: list[Point] = []
        segments: list[Segment] = []
        closing = [Line(contour.start)] if contour.closed else []
        for segment in (*contour.segments, *closing):
            if math.dist(at, segment.end) > _SAME_MM or not isinstance(segment, Line):
                starts.append(at)
                segments.append(segment)
            at = segment.end
        self.closed = contour.closed
        self.starts: Sequence[Point] = starts
        self.segments: Sequence[Segment] = segments
        self._tables = [_table(a, s) for a, s in zip(starts, segments, strict=True)]
        ways = [0.0]
        for _, way in self._tables:
            ways.append(ways[-1] + float(way[-1]))
        self.ways: Sequence[float] = ways
        """Way to the start of each segment, and to the end of the last."""

    @property
    def length_mm(self) -> float:
        """Length of the whole."""
        return self.ways[-1]

    def point(self, way_mm: float) -> Point:
        """Give the point so far along; round again past the end of a closed one."""
        i, t = self._at(self._round(way_mm))
        return point_at(self.starts[i], self.segments[i], t)

    def whole(self, from_mm: float = 0.0) -> Contour:
        """Give the whole contour; a closed one begins so far along."""
        if not self.closed:
            return Contour(self.starts[0], tuple(self.segments))
        part = self.part(from_mm, from_mm + self.length_mm)
        # The last point is the first: no hair is left between.
        *most, last = part.segments
        if isinstance(last, Line):
            return Contour(part.start, tuple(most), closed=True)
        return Contour(part.start, (*most, _ending(last, part.start)), closed=True)

    def part(self, from_mm: float, to_mm: float) -> Contour:
        """Give an open part; of a closed contour also one that runs over its start."""
        if self.closed:
            round_mm = math.floor(from_mm / self.length_mm) * self.length_mm
            from_mm, to_mm = from_mm - round_mm, to_mm - round_mm
        runs = [(from_mm, min(to_mm, self.length_mm))]
        if to_mm > self.length_mm + _SAME_MM and self.closed:
            runs.append((0.0, to_mm - self.length_mm))
        pieces: list[Segment] = []
        for a, b in runs:
            pieces += self._pieces(a, b)
        return Contour(self.point(from_mm), tuple(pieces))

    def _pieces(self, a: float, b: float) -> list[Segment]:
        out = []
        for i, (start, segment) in enumerate(zip(self.starts, self.segments, strict=True)):
            low, high = max(a, self.ways[i]), min(b, self.ways[i + 1])
            if high - low <= _SAME_MM:
                continue
            t0 = 0.0 if low <= self.ways[i] else self._at_in(i, low)
            t1 = 1.0 if high >= self.ways[i + 1] else self._at_in(i, high)
            out.append(cut_segment(start, segment, t0, t1))
        return out

    def _round(self, way_mm: float) -> float:
        if self.closed:
            return way_mm % self.length_mm
        return min(max(way_mm, 0.0), self.length_mm)

    def _at(self, way_mm: float) -> tuple[int, float]:
        i = int(np.searchsorted(self.ways, way_mm, side="right")) - 1
        i = min(max(i, 0), len(self.segments) - 1)
        return i, self._at_in(i, way_mm)

    def _at_in(self, i: int, way_mm: float) -> float:
        t, way = self._tables[i]
        return float(np.interp(way_mm - self.ways[i], way, t))

    @cached_property
    def corners(self) -> Sequence[float]:
        """Ways to the corners: where the direction jumps by more than `CORNER_DEG`.

        Both ends of an open contour are among them, and bends so tight that a blade
        turns as at a corner.
        """
        count = len(self.segments)
        found = [] if self.closed else [0.0, self.length_mm]
        for i in range(count if self.closed else count - 1):
            after = (i + 1) % count
            ax, ay = _direction(self.starts[i], self.segments[i], 1.0)
            bx, by = _direction(self.starts[after], self.segments[after], 0.0)
            turn = math.degrees(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))
            if turn > CORNER_DEG:
                found.append(self.ways[after])
        return sorted([*found, *self._tight()])

    def _tight(self) -> list[float]:
        count = max(8, math.ceil(self.length_mm / _LOOK_MM))
        ways = np.linspace(0, self.length_mm, count, endpoint=not self.closed)
        points = np.array([self.point(way) for way in ways])
        reach = max(1, round(_TIGHT_MM / 2 / (self.length_mm / count)))
        before, after = np.roll(points, reach, axis=0), np.roll(points, -reach, axis=0)
        a, b = points - before, after - points
        turn = np.abs(
            np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], (a * b).sum(axis=1))
        )
        tight = turn > math.radians(_TIGHT_DEG)
        if not self.closed:
            tight[:reach] = tight[-reach:] = False
        return [float(way) for way in ways[tight]]

    def from_corners(self, way_mm: float) -> float:
        """Give the way to the nearest corner; infinite where there is none."""
        whole = self.length_mm if self.closed else math.inf
        return min(
            (min(abs(way_mm - c), whole - abs(way_mm - c)) for c in self.corners),
            default=math.inf,
        )


CORNER_DEG = 20.0
"""Smaller turns are taken for parts of a curve that was drawn in chords. Judgement."""
_TIGHT_MM, _TIGHT_DEG, _LOOK_MM = 1.5, 45.0, 0.4
"""So much of a turn within so short a way is a corner too. Judgement."""


def point_at(start: Point, segment: Segment, t: float) -> Point:
    """Give a point of a segment, `t` from 0 to 1."""
    x, y = _points_at(start, segment, np.array([t]))[0]
    return (float(x), float(y))


def cut_segment(start: Point, segment: Segment, t0: float, t1: float) -> Segment:
    """Give the part of a segment from `t0` to `t1`."""
    if t0 <= 0 and t1 >= 1:
        return segment
    end = segment.end if t1 >= 1 else point_at(start, segment, t1)
    if isinstance(segment, Line):
        return Line(end)
    if isinstance(segment, Cubic):
        # Handles are a third of the derivative at the ends, over the part's own length.
        first = point_at(start, segment, t0)
        share = (t1 - t0) / 3
        ux, uy = _slope(start, segment, t0)
        vx, vy = _slope(start, segment, t1)
        return Cubic(
            (first[0] + share * ux, first[1] + share * uy),
            (end[0] - share * vx, end[1] - share * vy),
            end,
        )
    form = arc_centre(start, segment)
    if form is None:
        return Line(end)
    _, rx, ry, _, span = form
    large = abs(span) * (t1 - t0) > math.pi
    return Arc(rx, ry, segment.turn_deg, large, segment.sweep, end)


def _points_at(start: Point, segment: Segment, t: Points) -> Points:
    t = t[:, None]
    a, b = np.array(start), np.array(segment.end)
    if isinstance(segment, Cubic):
        c, d, u = np.array(segment.c1), np.array(segment.c2), 1 - t
        out: Points = u**3 * a + 3 * u * u * t * c + 3 * u * t * t * d + t**3 * b
        return out
    form = arc_centre(start, segment) if isinstance(segment, Arc) else None
    if form is None or isinstance(segment, Line):
        straight: Points = a + (b - a) * t
        return straight
    centre, rx, ry, begin, span = form
    angles = begin + span * t[:, 0]
    tilt = math.radians(segment.turn_deg)
    x, y = rx * np.cos(angles), ry * np.sin(angles)
    return np.column_stack(
        [
            centre[0] + x * math.cos(tilt) - y * math.sin(tilt),
            centre[1] + x * math.sin(tilt) + y * math.cos(tilt),
        ]
    )


def _table(start: Point, segment: Segment) -> tuple[Points, Points]:
    """Give t and the way to it, from the segment's start."""
    if isinstance(segment, Arc) and (form := arc_centre(start, segment)) is not None:
        _, rx, ry, _, span = form
        if abs(rx - ry) <= _SAME_MM:
            return np.array([0.0, 1.0]), np.array([0.0, rx * abs(span)])
    t = np.linspace(0, 1, 2 if isinstance(segment, Line) else _STEPS + 1)
    points = _points_at(start, segment, t)
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return t, way


def _slope(start: Point, cubic: Cubic, t: float) -> Point:
    p = np.array([start, cubic.c1, cubic.c2, cubic.end])
    d, u = 3 * np.diff(p, axis=0), 1 - t
    x, y = u * u * d[0] + 2 * u * t * d[1] + t * t * d[2]
    return (float(x), float(y))


def _direction(start: Point, segment: Segment, t: float) -> Point:
    """Give the direction of a segment at one of its ends, not of length 1."""
    near = abs(t - 1e-3)
    (ax, ay), (bx, by) = point_at(start, segment, t), point_at(start, segment, near)
    return (bx - ax, by - ay) if t < near else (ax - bx, ay - by)


def _ending(segment: Segment, end: Point) -> Segment:
    if isinstance(segment, Line):
        return Line(end)
    if isinstance(segment, Cubic):
        return Cubic(segment.c1, segment.c2, end)
    return Arc(segment.rx, segment.ry, segment.turn_deg, segment.large, segment.sweep, end)
