"""Pictures of the folded piece from every side, and its way there for moving pictures.

Space is the reader's: x to the right of a reader before the front, y up from the ground,
z toward the reader; mm. Pictures are orthographic, their y up.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from personalize.design.folding import Folding
from personalize.design.pose import Pose
from personalize.geometry.affine import Affine
from personalize.geometry.zone import Region, common, middle_of

Vector = NDArray[np.float64]
Matrix = tuple[tuple[float, ...], ...]
"""Four rows of four: from the flat piece (mm, z = 0 at its print) to the reader's space."""

EDGE_ON = 0.02
"""A panel seen at less than this share of its width is a line."""
_TIE_MM = 0.05
_LEAST_MM2 = 0.5

SIDES = ("front", "right", "back", "left", "above", "below")
_AT: Mapping[str, tuple[Sequence[float], Sequence[float]]] = {
    "front": ((0, 0, 1), (0, 1, 0)),
    "right": ((1, 0, 0), (0, 1, 0)),
    "back": ((0, 0, -1), (0, 1, 0)),
    "left": ((-1, 0, 0), (0, 1, 0)),
    "above": ((0, 1, 0), (0, 0, -1)),
    "below": ((0, -1, 0), (0, 0, 1)),
}
"""Where the viewer is, and what is up in the picture. From below a reader bends and looks
up; a piece that lies is turned over like a page instead."""


@dataclass(frozen=True, slots=True)
class PlacedPanel:
    """A panel as one side shows it."""

    name: str
    to_view: Affine
    """From the flat piece to the picture, mm; it mirrors where the print is not seen."""
    facing: bool
    """Whether its print is seen; else it is the bare back of the paper."""
    region: Region
    """The panel in the picture."""


@dataclass(frozen=True, slots=True)
class FoldedView:
    """What the eye sees of the folded piece from one side."""

    side: str
    placed: tuple[PlacedPanel, ...]
    """The farthest first, so that nearer ones are drawn over it."""

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Box of all that is seen; nothing but zeros where every panel is edge-on."""
        if not self.placed:
            return (0.0, 0.0, 0.0, 0.0)
        boxes = np.array([one.region.box for one in self.placed])
        low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
        return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def folded_views(folding: Folding) -> tuple[FoldedView, ...]:
    """Give every side from which print is seen; that of the front comes first.

    A flag or a tag gives its front and its back; a box gives all its sides.
    """
    sides = (
        ("above", *(s for s in SIDES if s != "above")) if folding.stance.lying else SIDES
    )
    views = (view_from(folding, side) for side in sides)
    return tuple(view for view in views if any(one.facing for one in view.placed))


def view_from(folding: Folding, side: str, fraction: float = 1.0) -> FoldedView:
    """Give one side's view of the piece when each crease has gone a part of its way."""
    poses = _in_space(folding, fraction)
    toward, up = (np.array(v, dtype=float) for v in _AT[side])
    if side == "below" and folding.stance.lying:
        up = -up
    right = np.cross(up, toward)
    seen = []
    for i, pose in enumerate(poses):
        slant = float(pose.normal @ toward)
        if abs(slant) < EDGE_ON:
            continue
        columns = [(float(v @ right), float(v @ up)) for v in pose.turn.T[:2]]
        shift = (float(pose.shift @ right), float(pose.shift @ up))
        to_view = Affine(*columns[0], *columns[1], *shift)
        region = folding.regions[i].mapped(to_view)
        seen.append((i, PlacedPanel(folding.names[i], to_view, slant > 0, region)))
    order = _far_first(folding, poses, toward, dict(seen))
    return FoldedView(side, tuple(dict(seen)[i] for i in order))


def plates(folding: Folding, fraction: float = 1.0) -> Mapping[str, Matrix]:
    """Place every panel in the reader's space when each crease has gone a part of its way.

    All creases fold together, by the same part of their angles. At 0 the piece is flat as
    it was drawn, at 1 it is folded; the front never moves.
    """
    out: dict[str, Matrix] = {}
    for name, pose in zip(folding.names, _in_space(folding, fraction), strict=True):
        rows = np.column_stack([pose.turn, pose.shift])
        out[name] = (*(tuple(map(float, row)) for row in rows), (0.0, 0.0, 0.0, 1.0))
    return out


def moving(folding: Folding, steps: int = 24) -> dict[str, Any]:
    """Give the whole way from flat to folded as plain lists, ready for JSON.

    `panels` hold names, rings in flat mm and the turn of the words; `frames` hold for
    `steps` + 1 fractions one 4 x 4 matrix for each panel, row by row.
    """
    panels = [
        {
            "name": name,
            "rings": [[list(point) for point in ring] for ring in (r.outer, *r.holes)],
            "turn_deg": folding.reading(i).turn_deg,
        }
        for i, (name, r) in enumerate(zip(folding.names, folding.regions, strict=True))
    ]
    frames = []
    for step in range(steps + 1):
        placed = plates(folding, step / steps)
        matrices = [[round(v, 6) for row in m for v in row] for m in placed.values()]
        frames.append({"fraction": step / steps, "matrices": matrices})
    return {"panels": panels, "frames": frames}


def _in_space(folding: Folding, fraction: float) -> tuple[Pose, ...]:
    """Give the poses in the reader's space."""
    stance = folding.stance
    toward = -stance.away
    axes = np.array([np.cross(stance.up, toward), stance.up, toward])
    space = Pose(axes, np.zeros(3))
    poses = folding.poses if fraction == 1 else folding.poses_at(fraction)
    return tuple(space.after(pose) for pose in poses)


def _far_first(
    folding: Folding,
    poses: Sequence[Pose],
    toward: Vector,
    seen: Mapping[int, PlacedPanel],
) -> list[int]:
    """Order panels so that each is drawn after all that it covers."""
    depth = {
        i: float(poses[i].many(np.array([folding.regions[i].centroid]))[0] @ toward)
        for i in seen
    }
    behind: dict[int, set[int]] = {i: set() for i in seen}
    for i in seen:
        for j in seen:
            if i < j:
                nearer = _nearer(folding, poses, toward, (i, j), seen)
                if nearer is not None:
                    behind[nearer].add(j if nearer == i else i)
    out: list[int] = []
    left = set(seen)
    while left:
        # Plates that would cut each other may have no order: then the farthest goes first.
        free = [i for i in left if not behind[i] & left] or list(left)
        out.append(min(free, key=lambda i: (round(depth[i], 3), i)))
        left.remove(out[-1])
    return out


def _nearer(
    folding: Folding,
    poses: Sequence[Pose],
    toward: Vector,
    pair: tuple[int, int],
    seen: Mapping[int, PlacedPanel],
) -> int | None:
    """Say which of two panels is before the other; None where they do not overlap."""
    first, second = pair
    parts = common(seen[first].region, seen[second].region)
    if not parts or parts[0].area_mm2 < _LEAST_MM2:
        return None
    at = middle_of(parts[0])
    heights = [
        float(poses[i].many(np.array([seen[i].to_view.inverse()(at)]))[0] @ toward)
        for i in pair
    ]
    if abs(heights[0] - heights[1]) > _TIE_MM:
        return first if heights[0] > heights[1] else second
    for under, over in (pair, pair[::-1]):
        if any((lap.under, lap.over) == (under, over) for lap in folding.laps):
            return over if seen[under].facing else under
    # Back to back: the one whose print is seen is before the other.
    return first if seen[first].facing else second
