"""Lines of a design, and how near points of ink come to them: plane geometry of its own.

Nothing here is shared with what computes safe zones.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Points
from personalize.geometry.zone import Region
from personalize.units import TOLERANCE_MM


@dataclass(frozen=True, slots=True)
class Edge:
    """A line of the design with the distance that ink keeps from it."""

    starts: Points
    ends: Points
    margin_mm: float


def near_part(edge: Edge, points: Points) -> Edge:
    """Give those pieces of an edge that may come nearer to points than its margin."""
    low, high = points.min(axis=0) - edge.margin_mm, points.max(axis=0) + edge.margin_mm
    near = (np.minimum(edge.starts, edge.ends) < high).all(axis=1)
    near &= (np.maximum(edge.starts, edge.ends) > low).all(axis=1)
    return Edge(edge.starts[near], edge.ends[near], edge.margin_mm)


def clear(box: Points, edge: Edge) -> bool:
    """Whether an edge keeps its margin from all of a line's ink box.

    Its nearest point to the box is a corner of the one or of the other, unless they cross.
    """
    away = edge.margin_mm - TOLERANCE_MM / 2
    close = near_part(edge, box)
    if not len(close.starts):
        return True
    if distances(box, close).min() < away:
        return False
    ends = np.concatenate([close.starts, close.ends])
    return bool(to_box(ends, box).min() >= away) and not crosses(box, close)


def crosses(box: Points, edge: Edge) -> bool:
    """Whether an edge has corners of a box on both sides, anywhere along its line."""
    along = edge.ends - edge.starts
    rel = box[None, :, :] - edge.starts[:, None, :]
    side = along[:, None, 0] * rel[..., 1] - along[:, None, 1] * rel[..., 0]
    both = (side.min(axis=1) < 0) & (side.max(axis=1) > 0)
    if not both.any():
        return False
    # On the line's own axis: does the edge reach the stretch that the box covers?
    square = np.maximum((along**2).sum(axis=1), 1e-18)
    share = (rel * along[:, None, :]).sum(axis=2) / square[:, None]
    return bool((both & (share.min(axis=1) < 1) & (share.max(axis=1) > 0)).any())


def distances(points: Points, edge: Edge) -> Points:
    """Distance of each point to a polyline, shape (n,)."""
    along = edge.ends - edge.starts
    square = np.maximum((along**2).sum(axis=1), 1e-18)
    rel = points[:, None, :] - edge.starts
    share = np.clip(np.einsum("ijk,jk->ij", rel, along) / square, 0, 1)
    rel -= share[..., None] * along
    least: Points = np.sqrt(np.einsum("ijk,ijk->ij", rel, rel).min(axis=1))
    return least


def to_box(points: Points, corners: Points) -> Points:
    """Distance of points to a turned box (0 inside), shape (n,)."""
    origin, right, up = corners[0], corners[1] - corners[0], corners[3] - corners[0]
    rel = points - origin
    out = np.zeros(len(points))
    for axis in (right, up):
        length = max(float(np.hypot(*axis)), 1e-12)
        along = rel @ axis / length
        out += np.maximum(np.maximum(-along, along - length), 0) ** 2
    return np.sqrt(out)


def beyond(points: Points, region: Region) -> float:
    """How far points lie outside a region, at most (0 where all are inside)."""
    out = points[~inside(points, region)]
    if not len(out):
        return 0.0
    rings = [(ring, np.roll(ring, -1, axis=0)) for ring in region.rings()]
    near = [distances(out, Edge(starts, ends, 0.0)) for starts, ends in rings]
    return float(np.min(near, axis=0).max())


def inside(points: Points, region: Region) -> NDArray[np.bool_]:
    """Even-odd rule over all rings of a region."""
    found = np.zeros(len(points), dtype=bool)
    for ring in region.rings():
        x0, y0 = ring.T
        x1, y1 = np.roll(ring, -1, axis=0).T
        px, py = points[:, :1], points[:, 1:]
        spans = (y0 > py) != (y1 > py)
        with np.errstate(divide="ignore", invalid="ignore"):
            left = px < x0 + (py - y0) * (x1 - x0) / (y1 - y0)
        found ^= (spans & left).sum(axis=1) % 2 == 1
    return found
