"""Which panel of a folded piece lies before which, from every side and in the proof."""

import math
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pytest

from personalize.design.folding import Folding
from personalize.design.pose import Pose
from personalize.fold.before import EDGE_ON, far_first
from personalize.fold.steps import LeafSeen, fold_steps
from personalize.geometry.affine import Affine
from tests.fold_made import LIES, Net, cross, every, folds, row
from tests.test_fold_space import TABLE

AT: Mapping[str, tuple[Sequence[float], Sequence[float]]] = {
    "front": ((0, 0, 1), (0, 1, 0)),
    "right": ((1, 0, 0), (0, 1, 0)),
    "back": ((0, 0, -1), (0, 1, 0)),
    "left": ((-1, 0, 0), (0, 1, 0)),
    "above": ((0, 1, 0), (0, 0, -1)),
    "below": ((0, -1, 0), (0, 0, 1)),
}
"""Where the eye is in the reader's space (x to the right, y up, z toward the reader), and
what is up in its picture. From below a reader bends and looks up; a piece that lies is
turned over like a page instead."""


def seen_from(folding: Folding, side: str) -> dict[int, Affine]:
    """Panels from far to near, with the map to the picture; those edge-on are left out."""
    toward, up = (np.array(v, dtype=float) for v in AT[side])
    if side == "below" and folding.stance.lying:
        up = -up
    right = np.cross(up, toward)
    stance = folding.stance
    axes = np.array([np.cross(stance.up, -stance.away), stance.up, -stance.away])
    poses = [Pose(axes, np.zeros(3)).after(pose) for pose in folding.poses]
    maps = {}
    for i, pose in enumerate(poses):
        if abs(pose.normal @ toward) >= EDGE_ON:
            columns = [float(v @ axis) for v in pose.turn.T[:2] for axis in (right, up)]
            shift = (float(pose.shift @ right), float(pose.shift @ up))
            maps[i] = Affine(*columns, *shift)
    return {i: maps[i] for i in far_first(folding, poses, toward, maps)}


def names(folding: Folding, seen: Mapping[int, Affine]) -> list[str]:
    """Panels from far to near; those whose print is not seen in brackets."""
    shown = ((folding.names[i], onto.determinant > 0) for i, onto in seen.items())
    return [name if facing else f"({name})" for name, facing in shown]


def printed(all_names: Sequence[str]) -> bool:
    return any(not name.startswith("(") for name in all_names)


SEEN = [
    ("flag", row(2), every(180), "", {"front": ["(p1)", "p0"], "back": ["(p0)", "p1"]}),
    # The tucked flap lies between the other two.
    ("letter", row(3), every(180), "",
     {"front": ["(p1)", "p2", "p0"], "back": ["(p0)", "(p2)", "p1"]}),
    ("accordion", row(4), folds("180", "180 valley", "180"), "",
     {"front": ["(p3)", "p2", "(p1)", "p0"], "back": ["(p0)", "p1", "(p2)", "p3"]}),
    # Four walls: each side shows one of them, and the inside of the one behind it.
    ("lantern", row(4), every(90), "",
     {"front": ["(p2)", "p0"], "right": ["(p3)", "p1"], "back": ["(p0)", "p2"],
      "left": ["(p1)", "p3"]}),
    # A lid on the table shows its top from above, its walls from the sides.
    ("lid", cross(), every(90), LIES,
     {"above": ["p0"], "front": ["(p2)", "p4"], "right": ["(p3)", "p1"],
      "back": ["(p4)", "p2"], "left": ["(p1)", "p3"]}),
    ("open card", row(2), every(90, "valley"), "", {"front": ["p0"], "left": ["p1"]}),
    ("gate", Net(row(4).outline, [row(4).creases[0], row(4).creases[2]],
                 [(45, 120), (90, 120), (135, 120)]), every(180), "",
     {"front": ["(p1)", "p0", "p2"], "back": ["(p0)", "(p2)", "p1"]}),
]  # fmt: skip


@pytest.mark.parametrize("case", SEEN, ids=lambda case: case[0].replace(" ", "-"))
def test_every_side_shows_what_is_before(
    case: tuple[str, Net, str, str, dict[str, list[str]]], tmp_path: Path
) -> None:
    _, net, creases, top, sides = case
    folding = net.load(tmp_path, creases, top).folding
    shown = {side: names(folding, seen_from(folding, side)) for side in AT}
    assert {side: all_ for side, all_ in shown.items() if printed(all_)} == sides


@pytest.mark.parametrize(
    "case",
    [case for case in TABLE if "above" not in case[3] and "valley" not in case[2]],
    ids=lambda case: case[0].replace(" ", "-"),
)
def test_words_are_upright_and_unmirrored_from_their_own_side(
    case: tuple[str, Net, str, str, list[float]], tmp_path: Path
) -> None:
    # The side that a panel looks at most must see its words run up the picture.
    _, net, creases, top, _ = case
    design = net.load(tmp_path, creases, top)
    names_of = design.folding.names
    views = {side: seen_from(design.folding, side) for side in AT}
    for panel in design.panels:
        shown = [
            (onto.determinant, side, onto)
            for side, view in views.items()
            for i, onto in view.items()
            if names_of[i] == panel.name and onto.determinant > 0
        ]
        round_it = [one for one in shown if one[1] not in ("above", "below")]
        best = max(round_it or shown, key=lambda one: one[0])
        share, side, to_view = best if best[0] > 0.45 else max(shown, key=lambda o: o[0])
        assert share > 0.45
        turn = math.radians(panel.turn_deg)
        up = np.array([[to_view.a, to_view.c], [to_view.b, to_view.d]]) @ np.array(
            [-math.sin(turn), math.cos(turn)]
        )
        assert up[1] > 0.4, (panel.name, side)
        assert abs(up[0]) < 1e-3, (panel.name, side)


def test_half_way_is_half_the_angle(tmp_path: Path) -> None:
    folding = row(2).load(tmp_path, every(90)).folding
    # A mountain fold by 45 degrees about an upright line at x = 60, worked by hand.
    (place,) = folding.poses_at(0.5)[1].many(np.array([(90.0, 120.0)]))
    leg = 30 / math.sqrt(2)
    assert place == pytest.approx((60 + leg, 120, -leg))


@pytest.mark.parametrize(
    ("net", "creases", "front", "back"),
    [
        (row(3), every(180), ["(p1)", "p2", "p0"], ["(p0)", "(p2)", "p1"]),
        (row(4), folds("180", "180 valley", "180"), ["(p3)", "p2", "(p1)", "p0"],
         ["(p0)", "p1", "(p2)", "p3"]),
    ],
    ids=["letter", "accordion"],
)  # fmt: skip
def test_the_proof_shows_what_is_outside(
    net: Net, creases: str, front: list[str], back: list[str], tmp_path: Path
) -> None:
    design = net.load(tmp_path, creases)
    found = fold_steps(design)
    assert found is not None

    def said(step: Sequence[LeafSeen]) -> list[str]:
        all_names = design.folding.names
        shown = [(all_names[one.leaf], one.printed) for one in step]
        return [name if facing else f"({name})" for name, facing in shown]

    assert said(found.steps[found.folded]) == front
    assert said(found.steps[-1]) == back
