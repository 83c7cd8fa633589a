"""How a piece looks while it is folded, and from all round once it is.

A step is a picture: each leaf (a part of the paper between creases) with the affine map
from the flat piece to what the eye sees. The eye is far away (no perspective), so that
the map is exact for any pose.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from personalize.design.design import Design
from personalize.design.folding import Folding
from personalize.design.pose import Pose
from personalize.fold.before import far_first
from personalize.geometry.affine import Affine, Point
from personalize.geometry.zone import Region, middle_of

FOLD_STEPS, WALK_STEPS = 24, 24
"""Pictures while the piece is folded, and while the eye walks round it to its back."""
YAW_DEG, TILT_DEG = 24.0, 16.0
"""The eye stands a little to the right of the front and above it."""
SHADE_MOST = 0.34
"""How dark paper gets that is turned away from the light."""

Turn = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LeafSeen:
    """One leaf in one step."""

    leaf: int
    onto: Affine
    """From the flat piece to the picture, mm, y up; mirroring where its back is seen."""
    shade: float
    """0 in full light, up to `SHADE_MOST`."""

    @property
    def printed(self) -> bool:
        """Whether its printed side is seen."""
        return self.onto.determinant > 0


@dataclass(frozen=True, slots=True)
class FoldSteps:
    """A piece from flat to folded, and the walk round it."""

    leaves: tuple[Region, ...]
    steps: tuple[tuple[LeafSeen, ...], ...]
    """Leaves of each step, furthest first."""
    folded: int
    """Number of the step in which it is folded and the front is seen."""
    box: tuple[float, float, float, float]
    """Box round all steps."""


def fold_steps(design: Design) -> FoldSteps | None:
    """Fold a design step by step; None for a piece without creases."""
    folding = design.folding
    leaves = folding.regions
    if len(leaves) < 2 or not design.panels:
        return None
    front = design.panels[0]
    middle = middle_of(leaves[folding.root])
    return _steps(folding, _about_z(-front.turn_deg), middle)


def _steps(folding: Folding, upright: Turn, middle: Point) -> FoldSteps:
    """Fold leaves by their poses; the eye walks round the middle of the front."""
    leaves, centre = folding.regions, np.array([*middle, 0.0])
    steps = []
    for i in range(FOLD_STEPS + WALK_STEPS + 1):
        yaw = YAW_DEG - 180 * max(0, i - FOLD_STEPS) / WALK_STEPS
        eye = _about_x(TILT_DEG) @ _about_y(-yaw) @ upright
        placed = [
            Pose(pose.turn, pose.shift - centre)
            for pose in folding.poses_at(min(1.0, i / FOLD_STEPS))
        ]
        steps.append(_seen(folding, placed, eye))
    corners = [
        seen.onto.many(np.array(leaves[seen.leaf].outer)) for step in steps for seen in step
    ]
    (x0, y0), (x1, y1) = np.min(np.vstack(corners), 0), np.max(np.vstack(corners), 0)
    box = (float(x0), float(y0), float(x1), float(y1))
    return FoldSteps(leaves, tuple(steps), FOLD_STEPS, box)


def _seen(folding: Folding, placed: Sequence[Pose], eye: Turn) -> tuple[LeafSeen, ...]:
    """Look at all leaves; those that others cover come before these."""
    out = {}
    for i, pose in enumerate(placed):
        turn, shift = eye @ pose.turn, eye @ pose.shift
        (a, c), (b, d) = turn[:2, :2].tolist()
        onto = Affine(a, b, c, d, float(shift[0]), float(shift[1]))
        light = abs(float(turn[2, 2]))
        out[i] = LeafSeen(i, onto, round(SHADE_MOST * (1 - light), 3))
    maps = {i: seen.onto for i, seen in out.items()}
    return tuple(out[i] for i in far_first(folding, placed, eye[2], maps))


def _about_x(deg: float) -> Turn:
    cos, sin = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    return np.array([[1, 0, 0], [0, cos, -sin], [0, sin, cos]])


def _about_y(deg: float) -> Turn:
    cos, sin = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    return np.array([[cos, 0, sin], [0, 1, 0], [-sin, 0, cos]])


def _about_z(deg: float) -> Turn:
    cos, sin = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    return np.array([[cos, -sin, 0], [sin, cos, 0], [0, 0, 1]])
