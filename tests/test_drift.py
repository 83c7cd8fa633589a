"""A cut that goes astray: how far, where paper is bare, how near letters come to it."""

import math

import numpy as np
import pytest
import shapely

import personalize
from personalize.design.design import CUT_SHIFT_MM, Design
from personalize.fold.drift import Drift, Edges, bare, drifts
from personalize.geometry.zone import grown
from personalize.job import prepare
from tests.conftest import SAMPLES

DRIFTS = drifts(CUT_SHIFT_MM)
KEYS = {"n", "ne", "e", "se", "s", "sw", "w", "nw"}


@pytest.fixture(scope="module")
def flag() -> Design:
    return personalize.load_design("plant-flag")


def shape(design: Design) -> shapely.Polygon:
    return shapely.Polygon(design.silhouette.outer, design.silhouette.holes)


def test_the_cut_drifts_eight_ways_and_equally_far() -> None:
    assert {drift.key for drift in DRIFTS} == KEYS
    for drift in DRIFTS:
        assert math.hypot(drift.dx_mm, drift.dy_mm) == pytest.approx(CUT_SHIFT_MM)
        assert ("up" in drift.name) == (drift.dy_mm > 0.1)
        assert ("right" in drift.name) == (drift.dx_mm > 0.1)
    assert sum(drift.dx_mm for drift in DRIFTS) == pytest.approx(0)


@pytest.mark.parametrize("drift", DRIFTS, ids=lambda d: d.key)
def test_paper_is_bare_only_where_the_print_does_not_reach(
    flag: Design, drift: Drift
) -> None:
    enough = grown(flag.silhouette, CUT_SHIFT_MM + 0.05)
    assert bare(flag, enough, drift) == ()
    missed = bare(flag, flag.silhouette, drift)
    # A figure moved by a vector sweeps, to first order, half its width across the way.
    area = sum(part.area_mm2 for part in missed)
    moved = shapely.transform(
        shape(flag), lambda p: p + np.array([drift.dx_mm, drift.dy_mm])
    )
    assert area == pytest.approx(moved.difference(shape(flag)).area, rel=1e-6)
    assert area > 10


def test_a_hole_may_tear_into_print_but_shows_no_paper() -> None:
    tag = personalize.load_design("herb-tag")
    for drift in DRIFTS:
        assert bare(tag, grown(tag.bleed, 0), drift) == ()


def test_letters_are_as_near_to_the_cut_as_their_boxes(flag: Design) -> None:
    job = prepare(personalize.read_table(SAMPLES / "picnic.csv"), flag)
    edges, cut = Edges(flag), shape(flag).boundary
    for unit in job.units[:12]:
        texts = job.composed(unit)
        corners = [
            place.many(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]))
            for text in texts
            for line in text.lines
            if line.shaped.ink is not None
            for place in [text.line_to_piece(line)]
            for x0, y0, x1, y1 in [line.shaped.ink]
        ]
        wanted = min(shapely.Polygon(c).distance(cut) for c in corners)
        assert edges.gap_mm(texts) == pytest.approx(wanted, abs=1e-3)
        for drift in DRIFTS:
            # The blade moves against the letters: no further than it drifts.
            gap = edges.gap_mm(texts, drift)
            moved = shapely.transform(
                cut, lambda p, d=drift: p + np.array([d.dx_mm, d.dy_mm])
            )
            wanted_there = min(shapely.Polygon(c).distance(moved) for c in corners)
            assert gap == pytest.approx(wanted_there, abs=1e-3)
            assert abs(gap - wanted) <= CUT_SHIFT_MM + 1e-6
        x, y = edges.narrowest(texts)
        assert shapely.Point(x, y).distance(cut) == pytest.approx(wanted / 2, abs=1e-3)


def test_a_piece_without_letters_has_none_near_the_cut(flag: Design) -> None:
    edges = Edges(flag)
    assert edges.gap_mm([]) == math.inf
    x, y = edges.narrowest([])
    assert y == pytest.approx(flag.box_mm[3])
    assert flag.box_mm[0] < x < flag.box_mm[2]
