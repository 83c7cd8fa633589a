"""Where each panel stands in space once the piece is folded, and how its text is turned.

The flat piece lies in z = 0 with its print facing +z. A mountain fold of 180 degrees
brings the far panel behind, its print facing -z: printed faces outward. The viewer walks
round the upright axis, so "up" is one direction in space, that of the front's text.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Affine, Point
from personalize.geometry.faces import shared_border
from personalize.geometry.zone import Region

COPLANAR = 1e-6


@dataclass(frozen=True)
class Pose:
    """An isometry of space: flat piece (mm) to folded piece (mm)."""

    turn: NDArray[np.float64]
    shift: NDArray[np.float64]

    def after(self, other: "Pose") -> "Pose":
        """Apply `other` first, then this one."""
        return Pose(self.turn @ other.turn, self.turn @ other.shift + self.shift)

    def inverse(self) -> "Pose":
        """Give the isometry that undoes this one."""
        return Pose(self.turn.T, -(self.turn.T @ self.shift))


FLAT = Pose(np.eye(3), np.zeros(3))


@dataclass(frozen=True, slots=True)
class Fold:
    """How a crease is folded."""

    angle_deg: float = 180.0
    valley: bool = False


def folded(a: Point, b: Point, towards: Point, fold: Fold) -> Pose:
    """Turn about the line a-b, so that the side on which `towards` lies is folded.

    A mountain fold moves that side away from the reader (towards -z).
    """
    axis = np.array([b[0] - a[0], b[1] - a[1], 0.0])
    axis /= np.linalg.norm(axis)
    side = axis[0] * (towards[1] - a[1]) - axis[1] * (towards[0] - a[0])
    angle = math.radians(fold.angle_deg) * (1 if fold.valley else -1)
    angle *= 1 if side > 0 else -1
    # Rodrigues' rotation formula.
    k = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    turn = np.eye(3) + math.sin(angle) * k + (1 - math.cos(angle)) * (k @ k)
    origin = np.array([a[0], a[1], 0.0])
    return Pose(turn, origin - turn @ origin)


def poses(
    regions: tuple[Region, ...], root: int, fold: Fold | None = None
) -> tuple[Pose, ...]:
    """Fold every panel, starting from the panel `root`, which stays flat.

    All creases are folded alike. A panel that no crease joins to the root stays flat.
    """
    fold = fold or Fold()
    found: dict[int, Pose] = {root: FLAT}
    queue = [root]
    while queue:
        parent = queue.pop(0)
        for child, region in enumerate(regions):
            if child in found:
                continue
            border = shared_border(regions[parent], region)
            if border is not None:
                here = folded(*border, region.centroid, fold)
                found[child] = found[parent].after(here)
                queue.append(child)
    return tuple(found.get(i, FLAT) for i in range(len(regions)))


def reading_turn(pose: Pose, front_turn_deg: float) -> float | None:
    """Turn of the text on a folded panel, so that it is upright as the front's is.

    In degrees counter-clockwise on the flat piece, from 0 to below 360. None when the
    panel lies level (up has no direction on it): paper alone cannot tell.
    """
    up_angle = math.radians(front_turn_deg + 90)
    up = np.array([math.cos(up_angle), math.sin(up_angle), 0.0])
    x, y, _ = pose.turn.T @ up
    if math.hypot(x, y) < COPLANAR:
        return None
    turn = round(math.degrees(math.atan2(y, x)) - 90, 9) % 360
    return 0.0 if turn == 360 else turn


def lying_on(front: Pose, back: Pose) -> Affine | None:
    """Map of the plane that takes the flat back to where it lies on the flat front.

    A mirroring map when they lie back to back; None when they do not lie in one plane.
    """
    move = front.inverse().after(back)
    (a, c, x), (b, d, y), (up, vp, nz) = move.turn
    if max(abs(x), abs(y), abs(up), abs(vp)) > COPLANAR or nz > 0:
        return None
    if abs(move.shift[2]) > COPLANAR:
        return None
    e, f = move.shift[:2]
    return Affine(*(float(v) for v in (a, b, c, d, e, f)))
