"""How far the lines that we read are from those that a browser draws."""

import math
from collections.abc import Sequence

import numpy as np
import shapely

from personalize.geometry.path import Contour
from personalize.units import MM_PER_PX
from tests.browser import Seen

CLOSE_MM = 0.01
"""What print and cut may differ by; a browser lays pages out in 1/64 px, 0.004 mm."""


def outlines(contours: Sequence[Contour], height_mm: float) -> list[np.ndarray]:
    """Polylines in mm with y down, closed ones joined up."""
    out = []
    for contour in contours:
        points = contour.flattened(1e-4)
        if contour.closed:
            points = np.vstack([points, points[:1]])
        out.append(np.column_stack([points[:, 0], height_mm - points[:, 1]]))
    return out


def miss_mm(contours: Sequence[Contour], one: Seen, height_mm: float) -> float:
    """Worst distance in mm between our box and points and the browser's."""
    worst = float(np.abs(_past_box(contours, one, height_mm)).max())
    if one.points is not None:
        theirs = shapely.points(one.to_px.many(one.points) * MM_PER_PX)
        lines = shapely.MultiLineString(outlines(contours, height_mm))
        worst = max(worst, float(shapely.distance(lines, theirs).max()))
    return worst


def outside_mm(contours: Sequence[Contour], one: Seen, height_mm: float) -> float:
    """How far our box reaches past the browser's, in mm; 0 for not at all."""
    return max(0.0, float(_past_box(contours, one, height_mm).max()))


def _past_box(contours: Sequence[Contour], one: Seen, height_mm: float) -> np.ndarray:
    """By how many mm each side of our box lies outside the browser's."""
    m = one.to_px
    ours = np.concatenate(outlines(contours, height_mm)) / MM_PER_PX
    own = m.inverse().many(ours)
    low, high = own.min(axis=0), own.max(axis=0)
    mm_per_unit = max(math.hypot(m.a, m.b), math.hypot(m.c, m.d)) * MM_PER_PX
    return np.array([*(one.box[:2] - low), *(high - one.box[2:])]) * mm_per_unit
