"""Ink inside the safe zone, asked by code that shares nothing with the fitter."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import personalize
from personalize.checks.inside import InsideCheck, outline_points
from personalize.design.design import Design
from personalize.errors import InsideError
from personalize.fonts.catalogue import catalogue
from personalize.geometry.affine import translation
from personalize.job import prepare
from personalize.type.compose import ComposedText
from tests.conftest import SAMPLES


def composed(design: Design) -> list[tuple[int, ComposedText]]:
    job = prepare(personalize.read_table(SAMPLES / "picnic.csv"), design)
    return [(unit.message.row, text) for unit in job.units for text in job.composed(unit)]


@pytest.mark.parametrize("name", personalize.sample_names())
def test_all_ink_of_every_sample_is_inside(name: str) -> None:
    design = personalize.load_design(name)
    check = InsideCheck(design)
    texts = composed(design)
    assert len(texts) >= 48
    for row, text in texts:
        check.check(text, row)


def moved(text: ComposedText, dx: float, dy: float) -> ComposedText:
    return replace(text, to_piece=translation(dx, dy) @ text.to_piece)


@pytest.mark.parametrize("name", personalize.sample_names())
@pytest.mark.parametrize("way", [(1, 0), (-1, 0), (0, 1), (0, -1)])
def test_ink_pushed_over_the_edge_of_its_zone_is_noticed(
    name: str, way: tuple[int, int]
) -> None:
    # shapely says when a text is out; the check must say so too, to 0.03 mm.
    design = personalize.load_design(name)
    check = InsideCheck(design)
    row, text = max(composed(design), key=lambda item: len(item[1].text))
    panel = design.panel(text.panel)
    zone = shapely.Polygon(panel.zone.outer, panel.zone.holes)
    points = shapely.MultiPoint(ink_points(text))
    steps = np.arange(0, 60, 0.02)
    out = next(
        step
        for step in steps
        if not zone.buffer(0.02).covers(
            shapely.transform(points, lambda xy, s=step: xy + np.array(way) * s)
        )
    )
    with pytest.raises(InsideError):
        check.check(moved(text, way[0] * (out + 0.02), way[1] * (out + 0.02)), row)


def ink_points(text: ComposedText) -> np.ndarray:
    out = []
    for line in text.lines:
        place = text.line_to_piece(line)
        for run in line.shaped.runs:
            for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True):
                hull = outline_points(run.font, gid)
                if len(hull):
                    out.append(place.many(hull + np.array((x, y))))
    return np.concatenate(out)


def test_ink_across_a_crease_is_noticed() -> None:
    design = personalize.load_design("plant-flag")
    row, text = composed(design)[0]
    front = design.panel("front")
    x0, _, x1, _ = front.region.box
    with pytest.raises(InsideError):
        InsideCheck(design).check(moved(text, x0 - x1, 0), row)


def test_ink_on_a_hole_is_noticed() -> None:
    design = personalize.load_design("herb-tag")
    (hole,) = design.holes
    hx0, hy0, hx1, hy1 = hole.bounds()
    row, text = composed(design)[0]
    box = text.ink_box(translation(0, 0))
    assert box is not None
    dx = (hx0 + hx1 - box[0] - box[2]) / 2
    dy = (hy0 + hy1 - box[1] - box[3]) / 2
    with pytest.raises(InsideError):
        InsideCheck(design).check(moved(text, dx, dy), row)


def test_two_libraries_draw_the_same_outlines() -> None:
    # fontTools (used by the check) against HarfBuzz (used by the fitter).
    compared = 0
    for font in catalogue():
        if font.path.suffix == ".ttc":
            continue
        for letter in "gQ@éжẞ8":
            gid = font.face.nominal(letter)
            ink = font.face.ink(gid) if gid else None
            if gid and ink:
                hull = outline_points(font, gid)
                ours = [*hull.min(axis=0), *hull.max(axis=0)]
                # Curves are followed in eight steps here: within 0.004 em.
                assert np.abs(np.array(ours) - ink).max() < 0.004, (font.name, letter)
                compared += 1
    assert compared > 60


def test_a_text_set_too_large_stops_the_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    design = personalize.load_design("jar-lid")
    job = prepare(personalize.read_table(SAMPLES / "picnic.csv"), design)
    row, text = composed(design)[0]
    grown = replace(text, size_pt=text.size_pt * 3)
    with pytest.raises(InsideError, match=f"row {row}"):
        InsideCheck(design).check(grown, row)
    monkeypatch.setattr(type(job), "composed", lambda self, unit: (grown,))
    with pytest.raises(InsideError):
        personalize.make(
            personalize.read_table(SAMPLES / "picnic.csv"), design, tmp_path / "out"
        )
    assert list(tmp_path.iterdir()) == []
