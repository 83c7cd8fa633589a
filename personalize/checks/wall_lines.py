"""Flattened lines, and how far they are apart: what the wall measures with."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from personalize.geometry.affine import Points
from personalize.geometry.path import Contour
from personalize.units import TOLERANCE_MM

SAMPLE_MM = 0.25
"""Lines are compared at their corners and at least this often between."""
FLATTEN_MM = 0.001


@dataclass(frozen=True)
class Drawn:
    """One line, flattened, in sheet mm with y up; a closed one ends where it starts."""

    points: Points

    @cached_property
    def length_mm(self) -> float:
        """Length along the line."""
        return float(np.hypot(*np.diff(self.points, axis=0).T).sum())

    @cached_property
    def box(self) -> Points:
        """Lower left and upper right corner."""
        return np.concatenate([self.points.min(axis=0), self.points.max(axis=0)])


def drawn(contour: Contour) -> Drawn:
    """Flatten a contour."""
    points = contour.flattened(FLATTEN_MM)
    if contour.closed:
        points = np.concatenate([points, points[:1]])
    return Drawn(points)


def same(a: Drawn, b: Drawn) -> bool:
    """Whether two lines run within the tolerance of each other, over their whole length."""
    if np.abs(a.box - b.box).max() > TOLERANCE_MM:
        return False
    if abs(a.length_mm - b.length_mm) > TOLERANCE_MM + 1e-3 * b.length_mm:
        return False
    return _within(a.points, b.points) and _within(b.points, a.points)


def _within(points: Points, line: Points) -> bool:
    """Whether all of one polyline lies within the tolerance of another."""
    low = np.minimum(line[:-1], line[1:]) - TOLERANCE_MM
    high = np.maximum(line[:-1], line[1:]) + TOLERANCE_MM
    for chunk in np.array_split(dense(points), max(1, len(points) // 200)):
        # What is within the tolerance of a piece lies in its box, grown by that.
        near = (low <= chunk.max(axis=0)).all(axis=1)
        near &= (high >= chunk.min(axis=0)).all(axis=1)
        if not near.any():
            return False
        if (_gaps(chunk, line[:-1][near], line[1:][near]) > TOLERANCE_MM).any():
            return False
    return True


def apart(points: Points, line: Points) -> Points:
    """Distance of each point to a polyline, shape (n,)."""
    return _gaps(points, line[:-1], line[1:])


def _gaps(points: Points, starts: Points, ends: Points) -> Points:
    """Distance of each point to the nearest of some pieces, shape (n,)."""
    along = ends - starts
    square = np.maximum((along**2).sum(axis=1), 1e-18)
    rel = points[:, None, :] - starts
    share = np.clip((rel * along).sum(axis=2) / square, 0, 1)
    away: Points = np.hypot(*np.moveaxis(rel - share[..., None] * along, 2, 0)).min(axis=1)
    return away


def dense(points: Points) -> Points:
    """Give a polyline points at its corners and at least every `SAMPLE_MM`."""
    along = np.diff(points, axis=0)
    steps = np.maximum(1, (np.hypot(*along.T) / SAMPLE_MM).astype(int))
    # Of each piece the first of its points, the second, ... up to its end.
    nth = np.arange(steps.sum()) - np.repeat(steps.cumsum() - steps, steps) + 1
    share = (nth / np.repeat(steps, steps))[:, None]
    between = (
        np.repeat(points[:-1], steps, axis=0) + np.repeat(along, steps, axis=0) * share
    )
    return np.concatenate([points[:1], between])
