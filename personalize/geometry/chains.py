"""Lines that were drawn in pieces: ends that meet, and dashes drawn one by one."""

import math
from collections.abc import Sequence

import numpy as np

from personalize.geometry.affine import Point, Points
from personalize.geometry.path import (
    Arc,
    Contour,
    Cubic,
    Line,
    Segment,
)

CLOSE_MM = 0.01
"""Ends this near are one end (the tolerance of print against cut)."""


def closed_up(contour: Contour) -> Contour:
    """Close a contour whose ends meet."""
    if contour.closed or len(contour.segments) < 2:
        return contour
    if math.dist(contour.start, contour.segments[-1].end) > CLOSE_MM:
        return contour
    return Contour(contour.start, contour.segments, closed=True)


def end_of(contour: Contour) -> Point:
    """Where an open contour ends."""
    return contour.segments[-1].end if contour.segments else contour.start


def backwards(contour: Contour) -> Contour:
    """Run an open contour the other way."""
    starts = [contour.start, *(segment.end for segment in contour.segments[:-1])]
    turned: list[Segment] = []
    for to, segment in zip(reversed(starts), reversed(contour.segments), strict=True):
        if isinstance(segment, Line):
            turned.append(Line(to))
        elif isinstance(segment, Cubic):
            turned.append(Cubic(segment.c2, segment.c1, to))
        else:
            turned.append(
                Arc(
                    segment.rx,
                    segment.ry,
                    segment.turn_deg,
                    segment.large,
                    not segment.sweep,
                    to,
                )
            )
    return Contour(end_of(contour), tuple(turned))


def loops(contours: Sequence[Contour]) -> tuple[tuple[Contour, tuple[int, ...]], ...]:
    """Join open contours end to end into closed ones, exactly as they are drawn.

    Parameters
    ----------
    contours
        Open contours.

    Returns
    -------
    tuple
        Each closed contour with the places of those that it is made of. Ends meet where
        exactly two are within `CLOSE_MM`; contours in no ring are not given.
    """
    ends = [point for one in contours for point in (one.start, end_of(one))]
    partner = _partners(ends)
    done: set[int] = set()
    found = []
    for first in range(len(contours)):
        ring = _ring(first, partner)
        if ring is None or first in done:
            continue
        done.update(at // 2 for at in ring)
        runs = [
            contours[at // 2] if at % 2 == 0 else backwards(contours[at // 2])
            for at in ring
        ]
        segments = tuple(segment for run in runs for segment in run.segments)
        closed = Contour(runs[0].start, segments, closed=True)
        found.append((closed, tuple(at // 2 for at in ring)))
    return tuple(found)


def _partners(ends: Sequence[Point]) -> dict[int, int]:
    """Match each end with the one other end that lies on it."""
    cells: dict[tuple[int, int], list[int]] = {}
    for i, (x, y) in enumerate(ends):
        cells.setdefault((round(x / CLOSE_MM), round(y / CLOSE_MM)), []).append(i)
    out: dict[int, int] = {}
    for i, (x, y) in enumerate(ends):
        cx, cy = round(x / CLOSE_MM), round(y / CLOSE_MM)
        near = [
            j
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
            for j in cells.get((cx + dx, cy + dy), ())
            if j != i and math.dist(ends[i], ends[j]) <= CLOSE_MM
        ]
        if len(near) == 1:
            out[i] = near[0]
    return {i: j for i, j in out.items() if out.get(j) == i}


def _ring(first: int, partner: dict[int, int]) -> list[int] | None:
    """Follow ends from a contour until it comes back; None where the way ends."""
    at, ring = 2 * first, []
    while True:
        ring.append(at)
        there = partner.get(at ^ 1)
        if there is None or len(ring) > len(partner):
            return None
        if there == 2 * first:
            return ring
        at = there


TURN_DEG = 15.0
"""Dashes of one line differ by less than this in direction."""
GAP_MM = 3.0
"""Dashes of one line are at most this far apart. Both measured on drawings with dashes
of 0.5 to 4 mm; larger gaps join lines that are meant to be two."""


def chained(creases: Sequence[Points]) -> tuple[tuple[Points, float], ...]:
    """Join creases that were drawn dash by dash.

    Parameters
    ----------
    creases
        Open polylines of shape (n, 2), n > 1.

    Returns
    -------
    tuple
        Polylines, and for each the mean gap in it in mm (0 where nothing was joined).
        Two ends are joined where each is the other's nearest that carries on in its
        direction, within `GAP_MM` and `TURN_DEG`.
    """
    tips = [_tip(line, end) for line in creases for end in (0, 1)]
    best = _nearest(tips)
    partner = {i: j for i, j in enumerate(best) if j is not None and best[j] == i}
    out = []
    used: set[int] = set()
    for first in _starts(len(creases), partner):
        if first // 2 in used:
            continue
        points: list[Points] = []
        gaps: list[float] = []
        at: int | None = first
        while at is not None and at // 2 not in used:
            used.add(at // 2)
            line = creases[at // 2] if at % 2 == 0 else creases[at // 2][::-1]
            if points:
                gaps.append(math.dist(points[-1][-1], line[0]))
            points.append(line)
            at = partner.get(at ^ 1)
        gap = sum(gaps) / len(gaps) if gaps else 0.0
        out.append((_without_repeats(np.concatenate(points)), gap))
    return tuple(out)


def _without_repeats(points: Points) -> Points:
    keep = np.ones(len(points), dtype=bool)
    keep[1:] = np.hypot(*np.diff(points, axis=0).T) > _SAME_MM
    return points[keep]


_SAME_MM = 1e-9
_Tip = tuple[Point, Point]
"""An end of a line, and the direction in which the line would run on from there."""


def _tip(line: Points, end: int) -> _Tip:
    run = line if end else line[::-1]
    dx, dy = run[-1] - run[-2]
    span = math.hypot(dx, dy) or 1.0
    return (float(run[-1][0]), float(run[-1][1])), (dx / span, dy / span)


def _nearest(tips: Sequence[_Tip]) -> list[int | None]:
    """Give for each end the nearest that carries on from it in its direction."""
    cells: dict[tuple[int, int], list[int]] = {}
    for i, ((x, y), _) in enumerate(tips):
        cells.setdefault((int(x // GAP_MM), int(y // GAP_MM)), []).append(i)
    out: list[int | None] = []
    for i, ((x, y), _) in enumerate(tips):
        near = (
            j
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
            for j in cells.get((int(x // GAP_MM) + dx, int(y // GAP_MM) + dy), ())
        )
        fitting = [
            (gap, j)
            for j in near
            if j // 2 != i // 2 and (gap := _gap(tips[i], tips[j])) is not None
        ]
        out.append(min(fitting)[1] if fitting else None)
    return out


def _gap(a: _Tip, b: _Tip) -> float | None:
    """How far two ends are apart; None where one does not carry on from the other."""
    (ax, ay), (ux, uy) = a
    (bx, by), (vx, vy) = b
    gap = math.hypot(bx - ax, by - ay)
    if gap > GAP_MM or ux * vx + uy * vy > -_ALONG:
        return None
    if gap < CLOSE_MM:
        return gap
    if ((bx - ax) * ux + (by - ay) * uy) / gap < _ALONG:
        return None
    return gap


_ALONG = math.cos(math.radians(TURN_DEG))


def _starts(count: int, partner: dict[int, int]) -> list[int]:
    """Give the ends that chains start from: loose ones first, then any (for rings)."""
    loose = [end for end in range(2 * count) if end not in partner]
    return loose + [2 * i for i in range(count)]
