"""Lines, arcs and cubics, joined into contours that stay curves until someone flattens.

Coordinates are mm with y up. Flattening takes its tolerance as an argument: the caller
knows what the chords are for.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from personalize.geometry.affine import Affine, Point, Points


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece to `end`."""

    end: Point


@dataclass(frozen=True, slots=True)
class Cubic:
    """A cubic Bézier piece to `end`."""

    c1: Point
    c2: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Arc:
    """An elliptical arc to `end`, in the endpoint form of SVG 2 section 9.3.8.

    `turn_deg` is the angle of the rx axis, counter-clockwise with y up; `sweep` is True
    for an arc that runs counter-clockwise with y up.
    """

    rx: float
    ry: float
    turn_deg: float
    large: bool
    sweep: bool
    end: Point


Segment = Line | Cubic | Arc


@dataclass(frozen=True, slots=True)
class Contour:
    """A run of joined segments; `closed` says that the last end is joined to the start."""

    start: Point
    segments: tuple[Segment, ...]
    closed: bool = False

    def transformed(self, by: Affine) -> "Contour":
        """Map every piece; arcs stay arcs (of the mapped ellipse), cubics stay cubics."""
        return Contour(
            by(self.start),
            tuple(_mapped(segment, by) for segment in self.segments),
            self.closed,
        )

    def flattened(self, tolerance_mm: float) -> Points:
        """Points of a polyline no further than `tolerance_mm` from the curve.

        Shape (n, 2). A closed contour does not repeat its first point.
        """
        points = [np.array([self.start], dtype=float)]
        at = self.start
        for segment in self.segments:
            points.append(segment_points(at, segment, tolerance_mm))
            at = segment.end
        joined = np.concatenate(points)
        keep = np.ones(len(joined), dtype=bool)
        keep[1:] = np.any(np.abs(np.diff(joined, axis=0)) > _SAME_MM, axis=1)
        joined = joined[keep]
        if (
            self.closed
            and len(joined) > 1
            and np.allclose(joined[0], joined[-1], rtol=0, atol=_SAME_MM)
        ):
            joined = joined[:-1]
        return joined

    def bounds(self, tolerance_mm: float = 0.001) -> tuple[float, float, float, float]:
        """Box (x0, y0, x1, y1) of the flattened contour."""
        points = self.flattened(tolerance_mm)
        (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
        return (float(x0), float(y0), float(x1), float(y1))

    def length_mm(self) -> float:
        """Length along the curve, the closing line included."""
        points = self.flattened(0.001)
        if self.closed:
            points = np.concatenate([points, points[:1]])
        return float(np.hypot(*np.diff(points, axis=0).T).sum())


_SAME_MM = 1e-9
"""Points closer than this are one point: far below any tolerance, above float noise."""


def polyline(points: Iterable[Point], *, closed: bool = False) -> Contour:
    """Join points with straight lines."""
    first, *rest = points
    return Contour(first, tuple(Line(p) for p in rest), closed)


def circle(centre: Point, radius: float) -> Contour:
    """A full circle as two half arcs, counter-clockwise from its rightmost point."""
    x, y = centre
    right, left = (x + radius, y), (x - radius, y)
    return Contour(
        right,
        (
            Arc(radius, radius, 0.0, False, True, left),
            Arc(radius, radius, 0.0, False, True, right),
        ),
        closed=True,
    )


def quadratic(start: Point, control: Point, end: Point) -> Cubic:
    """Raise a quadratic Bézier to the cubic that is the same curve."""
    (x0, y0), (xc, yc), (x1, y1) = start, control, end
    return Cubic(
        (x0 + (xc - x0) * 2 / 3, y0 + (yc - y0) * 2 / 3),
        (x1 + (xc - x1) * 2 / 3, y1 + (yc - y1) * 2 / 3),
        end,
    )


def signed_area(points: Points) -> float:
    """Area of a closed polyline, positive when it runs counter-clockwise (y up)."""
    x, y = points[:, 0], points[:, 1]
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _mapped(segment: Segment, by: Affine) -> Segment:
    if isinstance(segment, Line):
        return Line(by(segment.end))
    if isinstance(segment, Cubic):
        return Cubic(by(segment.c1), by(segment.c2), by(segment.end))
    angle = math.radians(segment.turn_deg)
    axes = np.array(
        [
            [math.cos(angle) * segment.rx, -math.sin(angle) * segment.ry],
            [math.sin(angle) * segment.rx, math.cos(angle) * segment.ry],
        ]
    )
    # The mapped ellipse is the image of the unit circle under M R diag(rx, ry); its
    # half axes are the singular values, its tilt the first left singular vector.
    left, radii, _ = np.linalg.svd(np.array([[by.a, by.c], [by.b, by.d]]) @ axes)
    turn = math.degrees(math.atan2(left[1, 0], left[0, 0])) % 180
    return Arc(
        float(radii[0]),
        float(radii[1]),
        turn,
        segment.large,
        segment.sweep if by.determinant > 0 else not segment.sweep,
        by(segment.end),
    )


def segment_points(start: Point, segment: Segment, tolerance: float) -> Points:
    """Points of a segment after its start, its chords within a tolerance in mm."""
    if isinstance(segment, Line):
        return np.array([segment.end])
    if isinstance(segment, Cubic):
        return _cubic_points(start, segment, tolerance)
    return _arc_points(start, segment, tolerance)


def _cubic_points(start: Point, cubic: Cubic, tolerance: float) -> Points:
    p = np.array([start, cubic.c1, cubic.c2, cubic.end])
    bend = max(math.hypot(*(p[0] - 2 * p[1] + p[2])), math.hypot(*(p[1] - 2 * p[2] + p[3])))
    # A chord over a step h of a curve leaves it by at most h^2 max|P''| / 8, and
    # |P''| <= 6 max of the second differences of the control points.
    n = max(1, math.ceil(math.sqrt(6 * bend / (8 * tolerance))))
    t = np.linspace(0, 1, n + 1)[1:, None]
    u = 1 - t
    out: Points = u**3 * p[0] + 3 * u * u * t * p[1] + 3 * u * t * t * p[2] + t**3 * p[3]
    out[-1] = p[3]
    return out


def _arc_points(start: Point, arc: Arc, tolerance: float) -> Points:
    form = arc_centre(start, arc)
    if form is None:
        return np.array([arc.end])
    centre, rx, ry, from_rad, span_rad = form
    # A twentieth is kept back: radii that must grow lose digits on the way.
    most = 0.95 * tolerance / max(rx, ry)
    step = 2 * math.acos(max(0.0, 1 - min(most, 1.0)))
    n = max(1, math.ceil(abs(span_rad) / max(step, 1e-3)))
    angles = from_rad + span_rad * np.linspace(0, 1, n + 1)[1:]
    tilt = math.radians(arc.turn_deg)
    x, y = rx * np.cos(angles), ry * np.sin(angles)
    out: Points = np.column_stack(
        [
            centre[0] + x * math.cos(tilt) - y * math.sin(tilt),
            centre[1] + x * math.sin(tilt) + y * math.cos(tilt),
        ]
    )
    out[-1] = arc.end
    return out


def arc_centre(start: Point, arc: Arc) -> tuple[Point, float, float, float, float] | None:
    """Centre, radii, start angle and signed span (radians) of an arc.

    Follows SVG 2 appendix B.2.4 and B.2.5 (radii too small are grown). None when the arc
    is a straight line or a point.
    """
    rx, ry = abs(arc.rx), abs(arc.ry)
    if rx == 0 or ry == 0 or math.dist(start, arc.end) < 1e-12:
        return None
    tilt = math.radians(arc.turn_deg)
    cos, sin = math.cos(tilt), math.sin(tilt)
    hx, hy = (start[0] - arc.end[0]) / 2, (start[1] - arc.end[1]) / 2
    x1, y1 = cos * hx + sin * hy, -sin * hx + cos * hy
    grow = math.sqrt(max(1.0, (x1 / rx) ** 2 + (y1 / ry) ** 2))
    rx, ry = rx * grow, ry * grow
    under = (rx * ry) ** 2 - (rx * y1) ** 2 - (ry * x1) ** 2
    root = math.sqrt(max(0.0, under) / ((rx * y1) ** 2 + (ry * x1) ** 2))
    if arc.large == arc.sweep:
        root = -root
    xc, yc = root * rx * y1 / ry, -root * ry * x1 / rx
    centre = (
        cos * xc - sin * yc + (start[0] + arc.end[0]) / 2,
        sin * xc + cos * yc + (start[1] + arc.end[1]) / 2,
    )
    begin = math.atan2((y1 - yc) / ry, (x1 - xc) / rx)
    span = math.atan2((-y1 - yc) / ry, (-x1 - xc) / rx) - begin
    if arc.sweep and span < 0:
        span += 2 * math.pi
    if not arc.sweep and span > 0:
        span -= 2 * math.pi
    return centre, rx, ry, begin, span


def arc_cubics(start: Point, arc: Arc) -> tuple[Line | Cubic, ...]:
    """Draw an arc as cubics of at most a quarter turn, within 3e-4 of its radius.

    The handles are the usual 4/3 tan(span/4) of the unit circle's tangents.
    """
    form = arc_centre(start, arc)
    if form is None:
        return (Line(arc.end),)
    centre, rx, ry, begin, span = form
    pieces = max(1, math.ceil(abs(span) / (math.pi / 2) - 1e-9))
    step = span / pieces
    handle = 4 / 3 * math.tan(step / 4)
    tilt = math.radians(arc.turn_deg)
    cos, sin = math.cos(tilt), math.sin(tilt)
    onto = Affine(cos * rx, sin * rx, -sin * ry, cos * ry, *centre)
    out = []
    for i in range(pieces):
        a, b = begin + i * step, begin + (i + 1) * step
        c1 = (math.cos(a) - handle * math.sin(a), math.sin(a) + handle * math.cos(a))
        c2 = (math.cos(b) + handle * math.sin(b), math.sin(b) - handle * math.cos(b))
        end = arc.end if i == pieces - 1 else onto((math.cos(b), math.sin(b)))
        out.append(Cubic(onto(c1), onto(c2), end))
    return tuple(out)


def segment_pairs(points: Points, *, closed: bool) -> tuple[Points, Points]:
    """Starts and ends of the straight pieces of a flattened contour."""
    if closed:
        return points, np.roll(points, -1, axis=0)
    return points[:-1], points[1:]


def distances(points: Points, line: Points, *, closed: bool) -> Points:
    """Distance of each point to a polyline, shape (n,)."""
    starts, ends = segment_pairs(line, closed=closed)
    along = ends - starts
    square = np.maximum((along**2).sum(axis=1), 1e-18)
    rel = points.reshape(-1, 1, 2) - starts
    share = np.clip((rel * along).sum(axis=2) / square, 0, 1)
    apart = np.hypot(*np.moveaxis(rel - share[..., None] * along, -1, 0))
    out: Points = apart.min(axis=1, initial=math.inf)
    return out


def is_straight(contour: Contour) -> bool:
    """Whether a contour is one straight line, whatever it is made of (within 1e-6 mm)."""
    points = contour.flattened(0.001)
    if contour.closed or len(points) < 2:
        return False
    along = points[-1] - points[0]
    span = math.hypot(*along)
    if span == 0:
        return False
    rel = points - points[0]
    across = np.abs(rel[:, 0] * along[1] - rel[:, 1] * along[0]) / span
    steps = [float((b - a) @ along) for a, b in pairwise(points)]
    return bool(across.max() < 1e-6) and min(steps) >= 0
