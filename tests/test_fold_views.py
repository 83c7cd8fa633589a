"""What the eye sees of folded pieces, side by side with where their panels are in space."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from personalize.design.design import Design
from personalize.fold.views import FoldedView, folded_views, moving, plates, view_from
from tests.fold_made import LIES, Net, column, cross, every, folds, row
from tests.test_fold_space import TABLE


def names(view: FoldedView) -> list[str]:
    """Panels from far to near; those whose print is not seen in brackets."""
    return [one.name if one.facing else f"({one.name})" for one in view.placed]


def seen(design: Design) -> dict[str, list[str]]:
    return {view.side: names(view) for view in folded_views(design.folding)}


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
    assert seen(net.load(tmp_path, creases, top)) == sides


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
    views = {view.side: view for view in folded_views(design.folding)}
    for panel in design.panels:
        shown = [
            (one.to_view.determinant, side, one.to_view)
            for side, view in views.items()
            for one in view.placed
            if one.name == panel.name and one.facing
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
        # Print that is seen is never mirrored; the bare back always is.
        for view in views.values():
            for one in view.placed:
                assert (one.to_view.determinant > 0) == one.facing


def test_the_matrices_hold_the_paper_together(tmp_path: Path) -> None:
    # A crease's points are on both panels, at every step of the way.
    design = cross().load(tmp_path, every(90), LIES)
    for fraction in (0, 0.3, 0.77, 1):
        placed = plates(design.folding, fraction)
        for hinge in design.folding.hinges:
            pair = [placed[design.folding.names[i]] for i in (hinge.first, hinge.second)]
            for x, y in (hinge.a, hinge.b):
                one, other = (np.array(m) @ (x, y, 0, 1) for m in pair)
                assert one == pytest.approx(other, abs=1e-9)
        for matrix in placed.values():
            turn = np.array(matrix)[:3, :3]
            assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
            assert np.linalg.det(turn) == pytest.approx(1)


def test_flat_is_as_drawn_and_half_way_is_half_the_angle(tmp_path: Path) -> None:
    design = row(2).load(tmp_path, every(90))
    flat, half = (plates(design.folding, f)["p1"] for f in (0.0, 0.5))
    assert np.array(flat) == pytest.approx(np.eye(4))
    # A mountain fold by 45 degrees about an upright line at x = 60, worked by hand.
    x, y, z, _ = np.array(half) @ (90, 120, 0, 1)
    leg = 30 / math.sqrt(2)
    assert (x, y, z) == pytest.approx((60 + leg, 120, -leg))


def test_the_whole_way_is_plain_json(tmp_path: Path) -> None:
    design = row(3).load(tmp_path, folds("180", "90 valley"))
    way = json.loads(json.dumps(moving(design.folding, 4), allow_nan=False))
    assert [frame["fraction"] for frame in way["frames"]] == [0, 0.25, 0.5, 0.75, 1]
    assert [panel["name"] for panel in way["panels"]] == ["p0", "p1", "p2"]
    assert all(len(m) == 16 for frame in way["frames"] for m in frame["matrices"])
    last = np.array(way["frames"][-1]["matrices"][1]).reshape(4, 4)
    assert last == pytest.approx(np.array(plates(design.folding)["p1"]), abs=1e-6)


def test_upright_walls_are_lines_from_above(tmp_path: Path) -> None:
    view = view_from(row(4).load(tmp_path, every(90)).folding, "above", 0.5)
    assert (view.placed, view.box_mm) == ((), (0, 0, 0, 0))


def test_a_picture_half_way_shows_what_is_drawn_in_it(tmp_path: Path) -> None:
    design = column(60, 60).load(tmp_path, every(120))
    view = view_from(design.folding, "above")
    # From above, a tent of two faces of 60 mm: the far one reaches 60 sin 120 back.
    (back,) = view.placed
    x0, y0, x1, y1 = view.box_mm
    assert (x1 - x0, y1 - y0) == pytest.approx((60, 60 * math.sin(math.radians(120))))
    assert shapely.Polygon(back.region.outer).area == pytest.approx(
        design.folding.regions[0].area_mm2 * math.sin(math.radians(120)), rel=1e-6
    )
