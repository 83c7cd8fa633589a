"""Contours as rational cubic Bézier pieces, which every one of our curves is exactly.

An arc of at most a quarter turn is a rational quadratic whose middle weight is the cosine
of half the angle; raised to a cubic it is the same curve (L. Piegl, W. Tiller, The NURBS
Book, sections 5.5 and 7.3; from memory).
"""

import math
from dataclasses import dataclass

from personalize.geometry.affine import Affine, Point
from personalize.geometry.path import Arc, Contour, Cubic, arc_centre

Weights = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Bezier:
    """One rational cubic."""

    points: tuple[Point, Point, Point, Point]
    weights: Weights = (1.0, 1.0, 1.0, 1.0)


def beziers(contour: Contour) -> list[Bezier]:
    """Give a contour as pieces that follow each other; a closed one ends at its start."""
    out: list[Bezier] = []
    at = contour.start
    for segment in contour.segments:
        if isinstance(segment, Cubic):
            out.append(Bezier((at, segment.c1, segment.c2, segment.end)))
        elif isinstance(segment, Arc) and arc_centre(at, segment) is not None:
            out += _arc(at, segment)
        elif at != segment.end:
            out.append(_line(at, segment.end))
        at = segment.end
    if contour.closed and math.dist(at, contour.start) > 1e-9:
        out.append(_line(at, contour.start))
    return out


def _line(a: Point, b: Point) -> Bezier:
    return Bezier((a, _between(a, b, 1 / 3), _between(a, b, 2 / 3), b))


def _between(a: Point, b: Point, share: float) -> Point:
    return (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)


def _arc(start: Point, arc: Arc) -> list[Bezier]:
    form = arc_centre(start, arc)
    assert form is not None
    centre, rx, ry, begin, span = form
    pieces = max(1, math.ceil(abs(span) / (math.pi / 2) - 1e-9))
    step = span / pieces
    w = math.cos(step / 2)
    tilt = math.radians(arc.turn_deg)
    cos, sin = math.cos(tilt), math.sin(tilt)
    onto = Affine(cos * rx, sin * rx, -sin * ry, cos * ry, *centre)
    out: list[Bezier] = []
    at = start
    for i in range(pieces):
        a, b = begin + i * step, begin + (i + 1) * step
        middle = onto((math.cos((a + b) / 2) / w, math.sin((a + b) / 2) / w))
        end = arc.end if i == pieces - 1 else onto((math.cos(b), math.sin(b)))
        share = 2 * w / (1 + 2 * w)
        handles = (_between(at, middle, share), _between(end, middle, share))
        inner = (1 + 2 * w) / 3
        out.append(Bezier((at, *handles, end), (1.0, inner, inner, 1.0)))
        at = end
    return out
