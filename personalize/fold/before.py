"""Which panels of a folded piece lie before which, as an eye far away sees them."""

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from personalize.design.folding import Folding
from personalize.design.pose import Pose
from personalize.geometry.affine import Affine
from personalize.geometry.zone import Region, common, middle_of

Vector = NDArray[np.float64]

EDGE_ON = 0.02
"""A panel seen at less than this share of its width is a line: it covers nothing."""
_TIE_MM = 0.05
_LEAST_MM2 = 0.5


def far_first(
    folding: Folding, poses: Sequence[Pose], toward: Vector, seen: Mapping[int, Affine]
) -> list[int]:
    """Order panels so that each is drawn after all that it covers.

    Parameters
    ----------
    folding
        Of the piece: where panels lie in one plane it says which is outside.
    poses
        Where each panel is in space, mm.
    toward
        Direction to the eye there, shape (3,), of length 1.
    seen
        For each panel that is drawn the map from the flat piece to the picture, mm;
        mirroring where its print is turned away.

    Returns
    -------
    list of int
        The panels of `seen`, the farthest first.
    """
    shown = {
        i: folding.regions[i].mapped(onto)
        for i, onto in seen.items()
        if abs(onto.determinant) >= EDGE_ON
    }
    depth = {
        i: float(poses[i].many(np.array([folding.regions[i].centroid]))[0] @ toward)
        for i in seen
    }
    behind: dict[int, set[int]] = {i: set() for i in seen}
    for pair in combinations(shown, 2):
        nearer = _nearer(folding, poses, toward, pair, seen, shown)
        if nearer is not None:
            behind[nearer].update(set(pair) - {nearer})
    out: list[int] = []
    left = set(seen)
    while left:
        # Plates that would cut each other may have no order: then the farthest goes first.
        free = [i for i in left if not behind[i] & left] or list(left)
        out.append(min(free, key=lambda i: (round(depth[i], 3), i)))
        left.remove(out[-1])
    return out


def _nearer(  # noqa: PLR0917 - two panels, and all that is known of both
    folding: Folding,
    poses: Sequence[Pose],
    toward: Vector,
    pair: tuple[int, int],
    seen: Mapping[int, Affine],
    shown: Mapping[int, Region],
) -> int | None:
    """Say which of two panels is before the other; None where they do not overlap."""
    first, second = pair
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = shown[first].box, shown[second].box
    if ax1 <= bx0 or bx1 <= ax0 or ay1 <= by0 or by1 <= ay0:
        return None
    parts = common(shown[first], shown[second])
    if not parts or parts[0].area_mm2 < _LEAST_MM2:
        return None
    at = middle_of(parts[0])
    heights = [
        float(poses[i].many(np.array([seen[i].inverse()(at)]))[0] @ toward) for i in pair
    ]
    if abs(heights[0] - heights[1]) > _TIE_MM:
        return first if heights[0] > heights[1] else second
    facing = {i: seen[i].determinant > 0 for i in pair}
    for under, over in (pair, pair[::-1]):
        if any((lap.under, lap.over) == (under, over) for lap in folding.laps):
            return over if facing[under] else under
    # Back to back: the one whose print is seen is before the other.
    return first if facing[first] else second
