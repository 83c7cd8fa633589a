"""Where each panel lies in space once the piece is folded.

The flat piece lies in z = 0 with its print facing +z. A mountain fold of 180 degrees
brings the far panel behind, its print facing -z: printed faces outward. A valley fold
brings it before the reader. How words then stand is told by `reading`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Affine, Point, Points
from personalize.geometry.faces import shared_border, shared_stretches
from personalize.geometry.zone import Region

Box = tuple[float, float, float, float]
COPLANAR = 1e-6
ONE_LINE_MM = 0.1
"""Hinges that leave one straight line by less lie on it."""
SHUT_DEG = 179.5
"""A crease folded by as much lays its two panels onto each other."""


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

    def many(self, points: Points) -> NDArray[np.float64]:
        """Map points of the flat piece, shape (n, 2), into space, shape (n, 3)."""
        return np.asarray(points) @ self.turn[:, :2].T + self.shift

    @property
    def normal(self) -> NDArray[np.float64]:
        """Direction in which the print of the panel faces."""
        return self.turn[:, 2]


FLAT = Pose(np.eye(3), np.zeros(3))


@dataclass(frozen=True, slots=True)
class Fold:
    """How a crease is folded, the ways as seen from the printed side."""

    angle_deg: float = 180.0
    """0: the crease is only marked; 180: its panels lie on each other."""
    valley: bool = False

    @property
    def way(self) -> str:
        """The way in a word: mountain or valley."""
        return "valley" if self.valley else "mountain"

    @property
    def shut(self) -> bool:
        """Whether its two panels lie on each other."""
        return self.angle_deg >= SHUT_DEG


@dataclass(frozen=True, slots=True)
class Hinge:
    """Two panels that a crease joins."""

    first: int
    second: int
    """Places of the panels among the regions of the piece."""
    a: Point
    b: Point
    """Ends of the longest stretch that they share: the axis."""
    stretches: tuple[tuple[Point, ...], ...]
    """All that they share, longest first."""
    fold: Fold = Fold()
    told: bool = False
    """Whether the design says how it is folded."""

    @property
    def length_mm(self) -> float:
        """Length of the longest stretch, end to end."""
        return math.dist(self.a, self.b)


def hinges_of(regions: Sequence[Region], fold: Fold | None = None) -> tuple[Hinge, ...]:
    """Find the panels that creases join, all folded alike."""
    out = []
    boxes = [region.box for region in regions]
    for second in range(len(regions)):
        for first in range(second):
            if _boxes_apart(boxes[first], boxes[second]):
                continue
            border = shared_border(regions[first], regions[second])
            if border is not None:
                stretches = shared_stretches(regions[first], regions[second])
                out.append(Hinge(first, second, *border, stretches, fold or Fold()))
    return tuple(out)


def _boxes_apart(a: Box, b: Box) -> bool:
    """Whether two boxes do not even touch: most panels of a large piece."""
    return a[0] > b[2] or b[0] > a[2] or a[1] > b[3] or b[1] > a[3]


def crease_lines(hinges: Sequence[Hinge]) -> int:
    """Count the lines that hinges lie on: two creases that cross make four hinges."""
    lines: list[Hinge] = []
    for hinge in hinges:
        ends = np.array([hinge.a, hinge.b])
        if not any(_off_line(ends, other) < ONE_LINE_MM for other in lines):
            lines.append(hinge)
    return len(lines)


def _off_line(points: Points, hinge: Hinge) -> float:
    """Largest distance of points to the straight line through a hinge."""
    (ax, ay), (bx, by) = hinge.a, hinge.b
    across = (points[:, 0] - ax) * (by - ay) - (points[:, 1] - ay) * (bx - ax)
    return float(np.abs(across).max()) / hinge.length_mm


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
    """Fold every panel with all creases alike, starting from `root`, which stays flat."""
    return posed(regions, root, hinges_of(regions, fold))


def tree_of(
    count: int, root: int, hinges: Sequence[Hinge]
) -> tuple[tuple[int, Hinge], ...]:
    """Give the panels that hang on the root, each with the hinge that it hangs by.

    The nearest come first. Other hinges close loops.
    """
    seen, queue = {root}, [root]
    out = []
    while queue:
        parent = queue.pop(0)
        near = [
            (hinge.second if hinge.first == parent else hinge.first, hinge)
            for hinge in hinges
            if parent in (hinge.first, hinge.second)
        ]
        for child, hinge in sorted(near, key=lambda one: one[0]):
            if child not in seen and child < count:
                seen.add(child)
                queue.append(child)
                out.append((child, hinge))
    return tuple(out)


def posed(
    regions: Sequence[Region], root: int, hinges: Sequence[Hinge]
) -> tuple[Pose, ...]:
    """Fold every panel, each crease in its own way; the panel `root` stays flat.

    A panel that no crease joins to the root stays flat.
    """
    found: dict[int, Pose] = {root: FLAT}
    for child, hinge in tree_of(len(regions), root, hinges):
        parent = hinge.first if hinge.second == child else hinge.second
        here = folded(hinge.a, hinge.b, regions[child].centroid, hinge.fold)
        found[child] = found[parent].after(here)
    return tuple(found.get(i, FLAT) for i in range(len(regions)))


def scaled(hinges: Sequence[Hinge], fraction: float) -> tuple[Hinge, ...]:
    """Fold every crease by a part of its angle: 0 is the flat sheet, 1 the folded piece."""
    return tuple(
        replace(h, fold=replace(h.fold, angle_deg=h.fold.angle_deg * fraction))
        for h in hinges
    )


def ajar(hinges: Sequence[Hinge], by_deg: float) -> tuple[Hinge, ...]:
    """Open a little what is folded shut, so that one can see which panel lies before."""
    return tuple(
        replace(h, fold=replace(h.fold, angle_deg=180.0 - by_deg)) if h.fold.shut else h
        for h in hinges
    )


def in_one_plane(front: Pose, other: Pose) -> Affine | None:
    """Map of the plane that takes the flat other panel to where it lies on the flat front.

    A mirroring map when they look opposite ways; None when they do not lie in one plane.
    """
    move = front.inverse().after(other)
    (a, c, x), (b, d, y), (up, vp, _) = move.turn
    if max(abs(x), abs(y), abs(up), abs(vp)) > COPLANAR or abs(move.shift[2]) > COPLANAR:
        return None
    e, f = move.shift[:2]
    return Affine(*(float(v) for v in (a, b, c, d, e, f)))


def lying_on(front: Pose, back: Pose) -> Affine | None:
    """Map of the plane that takes the flat back to where it lies on the flat front.

    None when they do not lie in one plane, or look the same way.
    """
    onto = in_one_plane(front, back)
    return onto if onto is not None and onto.determinant < 0 else None
