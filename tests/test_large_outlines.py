"""Outlines of thousands of points: the work stays small, and nothing is given away."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely

import personalize
from personalize.geometry.convex import convex_parts, pockets
from personalize.geometry.zone import MOST_CORNERS, PLAINER_MM, Region, plainer, region_of
from tests.conftest import command, drawing
from tests.effort import Effort


def rough(points: int, seed: int = 1) -> np.ndarray:
    """A piece of some 50 mm across, as it is traced from a picture."""
    rng = np.random.default_rng(seed)
    turn = np.linspace(0, 2 * np.pi, points, endpoint=False)
    radius = 20 + 2 * np.sin(5 * turn) + np.sin(17 * turn) + 0.2 * np.sin(300 * turn)
    radius += rng.uniform(0, 0.01, points)
    return np.column_stack([np.cos(turn), np.sin(turn)]) * radius[:, None] + (30, 30)


def polygon(region: Region) -> shapely.Polygon:
    return shapely.Polygon(region.outer, region.holes)


@pytest.mark.parametrize("points", [200, 3000, 20_000])
def test_a_region_made_plainer_lies_in_the_first(points: int) -> None:
    first = region_of(rough(points))
    plain = plainer(first)
    assert polygon(first).buffer(1e-9).covers(polygon(plain))
    lost = polygon(first).area - polygon(plain).area
    assert lost <= polygon(first).length * max(PLAINER_MM)
    if points < MOST_CORNERS:
        assert plain == first
    else:
        assert len(plain.outer) < points / 3


@pytest.mark.parametrize("points", [200, 20_000])
def test_convex_parts_hold_all_of_the_grown_outline(points: int) -> None:
    region = region_of(rough(points))
    parts = convex_parts(region, 2.0, 0.1)
    whole = shapely.union_all([shapely.Polygon(part) for part in parts])
    grown = polygon(region).buffer(2.0)
    assert whole.buffer(1e-6).covers(grown)
    assert shapely.hausdorff_distance(whole, grown) < 4
    assert len(parts) < 100


# Source: the same rule written without a queue, every pair asked again after each join.
@pytest.mark.parametrize("seed", range(12))
def test_pockets_are_those_that_asking_every_pair_gives(seed: int) -> None:
    rng = np.random.default_rng(seed)
    turn = np.sort(rng.uniform(0, 2 * np.pi, 24))
    radius = rng.uniform(5, 30, 24)
    ring = np.column_stack([np.cos(turn), np.sin(turn)]) * radius[:, None]
    shape = shapely.Polygon(ring)
    rest = shapely.convex_hull(shape).difference(shape)
    count = sum(len(_asked(part)) for part in shapely.get_parts(rest) if part.area > 1e-6)
    ours = pockets(region_of(ring))
    assert len(ours) == count
    covered = shapely.union_all([shapely.Polygon(one) for one in ours])
    assert covered.symmetric_difference(rest).area < 1e-3


def _convex(shape: shapely.Polygon) -> bool:
    return shapely.convex_hull(shape).area - shape.area < 1e-6


def _asked(shape: shapely.Polygon) -> list[shapely.Polygon]:
    if _convex(shape):
        return [shape]
    pieces = list(shapely.get_parts(shapely.constrained_delaunay_triangles(shape)))
    while True:
        for i in range(len(pieces)):
            for j in range(i):
                joined = shapely.union(pieces[i], pieces[j])
                near = pieces[i].distance(pieces[j]) <= 1e-9
                if near and joined.geom_type == "Polygon" and _convex(joined):
                    pieces[j] = shapely.convex_hull(joined)
                    del pieces[i]
                    break
            else:
                continue
            break
        else:
            return pieces


# Before no-fit polygons and pockets were made from plainer outlines this took minutes,
# and far more calls.
def test_an_outline_of_many_points_is_made(tmp_path: Path) -> None:
    path = "M" + "L".join(f"{x:.4f} {y:.4f}" for x, y in rough(3000)) + "Z"
    edge = f'<path id="edge" d="{path}" fill="none" stroke="red"/>'
    (tmp_path / "kit.svg").write_text(drawing(edge, 60, 60), "utf-8")
    (tmp_path / "list.csv").write_text("front\nRosa\nTom\n", "utf-8")
    words = ["--design", tmp_path / "kit.svg", "--out", tmp_path / "out", "--no-proof"]
    with Effort() as effort:
        assert command("make", tmp_path / "list.csv", *words).exit_code == 0
    assert effort.calls < 20_000_000  # 9 million measured


def test_the_points_are_those_of_a_line_that_does_not_cross_itself() -> None:
    steps = [np.hypot(*(b - a)) for a, b in pairwise(rough(20_000))]
    assert max(steps) < 0.2
    assert shapely.Polygon(rough(20_000)).is_valid


# Asked point by point, how far curves bulge past their chords took minutes.
def test_an_outline_of_many_curves_is_read(tmp_path: Path) -> None:
    turns = np.linspace(0, 2 * np.pi, 601)
    ends = 30 + 25 * np.column_stack([np.cos(turns), np.sin(turns)])
    middles = turns[:-1] + np.pi / 600
    tips = 30 + 25.6 * np.column_stack([np.cos(middles), np.sin(middles)])
    petals = "".join(
        f"Q{a:.4f} {b:.4f} {x:.4f} {y:.4f}"
        for (a, b), (x, y) in zip(tips, ends[1:], strict=True)
    )
    path = f"M{ends[0][0]} {ends[0][1]}{petals}Z"
    edge = f'<path id="edge" d="{path}" fill="none" stroke="red"/>'
    (tmp_path / "kit.svg").write_text(drawing(edge, 60, 60), "utf-8")
    with Effort() as effort:
        assert personalize.load_design(tmp_path / "kit.svg").panels
    assert effort.calls < 1_000_000  # 80 million before
