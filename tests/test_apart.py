"""Pieces on a sheet are proved to lie apart, however their places came about."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely

import personalize
from personalize.errors import ApartError
from personalize.geometry.affine import translation
from personalize.geometry.convex import lie_apart
from personalize.geometry.zone import Region, as_shapely, region_of
from personalize.sheet import planning
from personalize.sheet.boxes import Arrangement
from personalize.sheet.hand import ByHand
from personalize.sheet.plan import outline_of
from personalize.sheet.rules import SheetRules

AREA = (0.0, 0.0, 100.0, 100.0)
HAIR = 1e-5
A4 = personalize.parse_paper("A4")


def box(x: float, y: float, size: float = 10.0) -> Region:
    ring = [(x, y), (x + size, y), (x + size, y + size), (x, y + size)]
    return region_of(np.array(ring))


@pytest.mark.parametrize("least", [0.0, 2.0])
@pytest.mark.parametrize("angle", [0.0, 1.0])
def test_a_piece_may_come_as_near_as_is_said_and_no_nearer(
    least: float, angle: float
) -> None:
    def kept(x: float, y: float) -> bool:
        return lie_apart([box(20, 20), box(x, y)], least, AREA, 0.0, ())

    along = 30 + least
    for x, y in ((along, 20 + angle), (20 + angle, along), (10 - least, 20 + angle)):
        assert kept(x, y)
    for x, y in (
        (along - HAIR, 20 + angle),
        (20 + angle, along - HAIR),
        (10 - least + HAIR, 20 + angle),
    ):
        assert not kept(x, y)


@pytest.mark.parametrize("least", [0.0, 2.0])
def test_a_piece_on_another_or_within_it_does_not_lie_apart(least: float) -> None:
    for x, y, size in ((20, 20, 10), (22, 22, 4), (15, 15, 20), (22, 15, 8)):
        assert not lie_apart([box(20, 20), box(x, y, size)], least, AREA, 0.0, ())


@pytest.mark.parametrize("edge", [0.0, 3.0])
def test_edges_and_clear_zones_are_kept(edge: float) -> None:
    def kept(x: float, y: float, *clear: tuple[float, float, float, float]) -> bool:
        return lie_apart([box(x, y)], 0.0, AREA, edge, clear)

    assert kept(edge, 90 - edge)
    assert not kept(edge - HAIR, 50)
    assert not kept(50, 90 - edge + HAIR)
    assert kept(50, 50, (0, 0, 50 - edge, 99))
    assert not kept(50, 50, (0, 0, 50 - edge + HAIR, 99))
    assert not kept(50, 50, (54, 54, 55, 55))
    assert kept(50, 50, (0, 0, 1, 1), (60 + edge, 0, 99, 99))


def too_near(
    outlines: Sequence[Region], found: tuple[Arrangement, ...], spacing: float, by_mm: float
) -> tuple[Arrangement, ...]:
    """Bring the second piece of each nearer to another than the spacing is."""
    out = []
    for one in found:
        pieces = [
            as_shapely(outlines[i % len(outlines)].mapped(at))
            for i, at in enumerate(one.places)
        ]
        second = pieces.pop(1)
        nearest = min(pieces, key=second.distance)
        way = shapely.shortest_line(second, nearest)
        (x0, y0), (x1, y1) = way.coords
        share = (way.length - spacing + by_mm) / way.length
        first, at, *rest = one.places
        nearer = translation((x1 - x0) * share, (y1 - y0) * share) @ at
        out.append(replace(one, places=(first, nearer, *rest)))
    return tuple(out)


@pytest.mark.parametrize("by_hand", [None, ByHand.SCISSORS])
@pytest.mark.parametrize("by_mm", [0.001, 1.0])
def test_no_plan_is_made_of_places_that_are_too_near(
    monkeypatch: pytest.MonkeyPatch, by_hand: ByHand | None, by_mm: float
) -> None:
    design = personalize.load_design("herb-tag")
    rules = SheetRules(A4, by_hand=by_hand, marks=by_hand is None)
    right = planning.plan_sheets(design, rules)
    assert right.per_sheet > 2
    wrong = too_near([outline_of(design)], (right.arrangement,), right.spacing_mm, by_mm)
    name = "straight_rows" if by_hand else "arrangements"
    monkeypatch.setattr(planning, name, lambda *a, **k: wrong)
    with pytest.raises(ApartError, match="Herb tag would not lie apart"):
        planning.plan_sheets(design, rules)


def test_no_plan_of_kits_is_made_of_places_that_are_too_near(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    designs = [personalize.load_design(name) for name in ("herb-tag", "jar-lid")]
    right = planning.plan_kits(designs, SheetRules(A4))
    assert right.per_sheet > 1
    outlines = [outline_of(one) for one in designs]
    wrong = too_near(outlines, (right.arrangement,), right.spacing_mm, 0.001)
    monkeypatch.setattr(planning, "kit_arrangements", lambda *a, **k: wrong)
    with pytest.raises(ApartError, match="Herb tag and Jar lid would not"):
        planning.plan_kits(designs, SheetRules(A4))
