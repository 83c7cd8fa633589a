"""Folding as it is shown: from the flat piece to the folded one, and round to its back."""

import math
from pathlib import Path

import numpy as np
import pytest

import personalize
from personalize.fold.steps import (
    FOLD_STEPS,
    SHADE_MOST,
    TILT_DEG,
    WALK_STEPS,
    YAW_DEG,
    FoldSteps,
    fold_steps,
)
from tests.conftest import drawing, line, put

FOLDED = ("plant-flag", "table-tent")


def folding(name: str) -> FoldSteps:
    found = fold_steps(personalize.load_design(name))
    assert found is not None
    return found


def test_what_has_no_crease_is_not_folded() -> None:
    assert fold_steps(personalize.load_design("jar-lid")) is None
    assert fold_steps(personalize.load_design("herb-tag")) is None


@pytest.mark.parametrize("name", FOLDED)
def test_every_step_shows_every_leaf_once(name: str) -> None:
    found = folding(name)
    assert len(found.steps) == FOLD_STEPS + WALK_STEPS + 1
    for step in found.steps:
        assert sorted(seen.leaf for seen in step) == list(range(len(found.leaves)))
        assert all(0 <= seen.shade <= SHADE_MOST for seen in step)


@pytest.mark.parametrize("name", FOLDED)
def test_it_begins_flat(name: str) -> None:
    # All leaves of a flat piece are seen by one and the same map, print upward.
    maps = {seen.onto.tuple for seen in folding(name).steps[0]}
    (only,) = {tuple(round(v, 9) for v in one) for one in maps}
    assert only[0] * only[3] - only[1] * only[2] > 0


@pytest.mark.parametrize("name", FOLDED)
def test_leaves_stay_joined_at_their_creases(name: str) -> None:
    design = personalize.load_design(name)
    (crease,) = design.creases
    points = crease.flattened(0.1)
    for step in folding(name).steps:
        first, *others = [seen.onto.many(points) for seen in step]
        for other in others:
            np.testing.assert_allclose(first, other, atol=0.01)


@pytest.mark.parametrize("name", FOLDED)
def test_the_front_is_seen_first_and_the_back_after_the_walk(name: str) -> None:
    design, found = personalize.load_design(name), folding(name)
    front, back = design.panel("front"), design.panel("back")
    # Seen from a little aside and above (an eye far away): a turned and tilted upright.
    cos, tilt = math.cos(math.radians(YAW_DEG)), math.cos(math.radians(TILT_DEG))
    for number, panel in ((found.folded, front), (len(found.steps) - 1, back)):
        nearest = found.steps[number][-1]
        assert found.leaves[nearest.leaf].contains(panel.region.centroid)
        assert nearest.printed
        assert not found.steps[number][0].printed
        # The words stand upright in the picture: their "up" has no sideways part.
        read = nearest.onto @ panel.to_reading.inverse()
        assert (read.c, read.d) == pytest.approx((0, tilt), abs=1e-4)
        assert read.a == pytest.approx(cos, abs=1e-4)


@pytest.mark.parametrize("name", FOLDED)
def test_no_step_leaves_the_picture(name: str) -> None:
    found = folding(name)
    x0, y0, x1, y1 = found.box
    for step in found.steps:
        for seen in step:
            points = seen.onto.many(np.array(found.leaves[seen.leaf].outer))
            assert (points >= (x0 - 1e-9, y0 - 1e-9)).all()
            assert (points <= (x1 + 1e-9, y1 + 1e-9)).all()


def test_a_box_is_folded_by_the_angles_of_its_creases(tmp_path: Path) -> None:
    strip = line("M10 10H170V40H10Z")
    creases = '<path class="fold" d="M50 10V40M90 10V40M130 10V40" stroke="#000"/>'
    toml = '[lines]\nCutting = "#edge"\nCreasing = ".fold"\n[[crease]]\nangle_deg = 90\n'
    for i, name in enumerate(("front", "right", "back", "left")):
        toml += f'[[panel]]\nname = "{name}"\nat = [{30 + 40 * i}, 25]\n'
    put(tmp_path, {"box.svg": drawing(strip + creases, 180, 50), "box.toml": toml})
    design = personalize.load_design(tmp_path / "box.toml")
    found = fold_steps(design)
    assert found is not None
    # Folded, the outer edges of the first and the last wall meet (four walls of 40 mm).
    walls = {seen.leaf: seen for seen in found.steps[found.folded]}
    order = sorted(range(4), key=lambda i: found.leaves[i].centroid[0])
    first, last = walls[order[0]], walls[order[-1]]
    for y in (10.0, 40.0):
        assert first.onto((10.0, y)) == pytest.approx(last.onto((170.0, y)), abs=1e-6)
    # From the front two walls show their print, the other two the inside of the paper.
    assert sum(seen.printed for seen in walls.values()) == 2
    # A wall that is seen at all is as wide as its angle to the eye makes it.
    wide = {i: math.hypot(seen.onto.a, seen.onto.b) for i, seen in walls.items()}
    assert wide[order[0]] == pytest.approx(wide[order[2]], abs=1e-9)
    assert wide[order[1]] == pytest.approx(wide[order[3]], abs=1e-9)
