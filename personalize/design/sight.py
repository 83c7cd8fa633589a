"""Lines of sight to the panels of a folded piece, and panels that would cut each other."""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from personalize.design.folding import Folding
from personalize.design.pose import Pose
from personalize.geometry.path import distances
from personalize.geometry.zone import grown, middle_of

MOST_SLANT_DEG = 70.0
"""Print that is seen at a larger angle from its normal cannot be read. Judgement."""
_STEPS_DEG = 15
_LIFT_DEG = 30.0
"""How far a reader who walks round looks down. Judgement."""
CLEAR_MM = 0.5
"""Panels that meet by less touch each other; paper is thinner than that."""

Vector = NDArray[np.float64]


def seen_share(folding: Folding, panel: int) -> float:
    """Part of the lines of sight from a panel's middle that reach a reader, 0 to 1.

    Readers look level or a little down at panels that stand, and from all sides at those
    that lie level. What another panel stands in the way of is not seen.
    """
    if all(not h.fold.valley or h.fold.angle_deg == 0 for h in folding.hinges):
        return 1.0  # print outside: nothing stands before it
    pose = folding.poses[panel]
    start = pose.many(np.array([middle_of(folding.regions[panel])]))[0]
    rays = _rays(folding, pose)
    others = [i for i in range(len(folding.regions)) if i != panel]
    free = sum(not any(_meets(folding, i, start, ray) for i in others) for ray in rays)
    return free / len(rays)


def _rays(folding: Folding, pose: Pose) -> list[Vector]:
    """Directions in which readers are, within the slant at which print is read."""
    up, away = folding.stance.up, folding.stance.away
    across = np.cross(away, up)
    level = abs(float(pose.normal @ up)) > math.cos(math.radians(MOST_SLANT_DEG - 20))
    lifts: Sequence[float] = (0.0, _LIFT_DEG)
    if level:
        lifts = range(-75, 90, _STEPS_DEG)
    elif folding.stance.lying:
        lifts = (0.0, _LIFT_DEG, 2 * _LIFT_DEG)
    out = []
    for lift in np.radians(lifts):
        for turn in np.radians(np.arange(0, 360, _STEPS_DEG)):
            flat = math.cos(turn) * away + math.sin(turn) * across
            ray = math.cos(lift) * flat + math.sin(lift) * up
            if float(ray @ pose.normal) >= math.cos(math.radians(MOST_SLANT_DEG)):
                out.append(ray)
    return out or [pose.normal]


def _meets(folding: Folding, panel: int, start: Vector, ray: Vector) -> bool:
    """Whether a line of sight meets a panel."""
    pose = folding.poses[panel]
    slope = float(ray @ pose.normal)
    if abs(slope) < 1e-9:
        return False
    far = float((pose.shift - start) @ pose.normal) / slope
    if far < CLEAR_MM:
        return False
    x, y, _ = pose.turn.T @ (start + far * ray - pose.shift)
    return folding.regions[panel].contains((float(x), float(y)))


def crossings(folding: Folding) -> Iterator[tuple[int, int]]:
    """Give the pairs of panels that would meet through each other once folded."""
    if all(h.fold.shut or h.fold.angle_deg == 0 for h in folding.hinges):
        return  # all lie in one plane
    hinged = {frozenset((h.first, h.second)) for h in folding.hinges}
    for second in range(len(folding.regions)):
        for first in range(second):
            if frozenset((first, second)) not in hinged and (
                _cuts(folding, first, second) or _cuts(folding, second, first)
            ):
                yield first, second


def _cuts(folding: Folding, edge_of: int, panel: int) -> bool:
    """Whether an edge of one panel goes through another, clear of its border."""
    pose = folding.poses[panel]
    try:
        # Edges that touch the other's border only (walls of a box) do not count.
        inner = grown(folding.regions[edge_of], -2 * CLEAR_MM)
    except ValueError:
        return False
    ring = folding.poses[edge_of].many(np.array(inner.outer))
    heights = (ring - pose.shift) @ pose.normal
    region = folding.regions[panel]
    for i in range(len(ring)):
        low, high = heights[i - 1], heights[i]
        if min(low, high) > -CLEAR_MM or max(low, high) < CLEAR_MM:
            continue
        meet = ring[i - 1] + (ring[i] - ring[i - 1]) * low / (low - high)
        x, y, _ = pose.turn.T @ (meet - pose.shift)
        if region.contains((float(x), float(y))) and _clear(region.outer, (x, y)):
            return True
    return False


def _clear(ring: tuple[tuple[float, float], ...], point: tuple[float, float]) -> bool:
    away = distances(np.array([point]), np.array(ring), closed=True)
    return bool(away[0] > CLEAR_MM)
