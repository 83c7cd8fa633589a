"""Lines on spares: printed, inside the safe zone, and nowhere else."""

from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import personalize
from personalize.fold.piece import Piece
from personalize.geometry.affine import rotation, translation
from personalize.geometry.zone import region_of
from personalize.sheet.backs import Flip
from personalize.sheet.deal import Order
from personalize.sheet.fill import fill
from personalize.sheet.ink import InkStroke
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from personalize.sheet.spare_lines import LEAST_LONG_MM, _lines, spare_lines
from tests.conftest import EDGE, SAMPLES, command, drawing, put, snapshot

A4 = personalize.parse_paper("A4")


def tag(folder: Path) -> personalize.Design:
    toml = '[lines]\nCutting = "#edge"\n[type]\ncolour = "#402060"\n'
    put(folder, {"tag.svg": drawing(EDGE), "tag.toml": toml, "guests.csv": "front\nAda\n"})
    return personalize.load_design(folder / "tag.toml")


@pytest.mark.parametrize("name", ["plant-flag", "herb-tag", "table-tent"])
@pytest.mark.parametrize("turn", [0, 30, 90])
def test_lines_lie_in_the_safe_zones_as_the_words_would(name: str, turn: int) -> None:
    design = personalize.load_design(name)
    at = translation(40, 70) @ rotation(turn)
    strokes = list(spare_lines(design, at))
    assert strokes
    for stroke in strokes:
        points = stroke.contour.flattened(0.01)
        homes = [
            panel
            for panel in design.panels
            if shapely.Polygon(at.many(np.array(panel.zone.outer)))
            .buffer(1e-6)
            .covers(shapely.LineString(points))
        ]
        (panel,) = homes
        along = points[1] - points[0]
        angle = np.degrees(np.arctan2(along[1], along[0])) - turn - panel.turn_deg
        assert abs((angle + 90) % 180 - 90) < 1e-6
        assert stroke.colour == panel.style.colour


@given(
    st.lists(st.tuples(st.floats(0, 80), st.floats(0, 50)), min_size=3, max_size=8),
)
def test_lines_stay_inside_zones_of_any_shape(points: list[tuple[float, float]]) -> None:
    shape = shapely.MultiPoint(points).convex_hull
    if shape.geom_type != "Polygon" or shape.area < 1:
        return
    zone = region_of(shapely.get_coordinates(shape)[:-1])
    lines = list(_lines(zone))
    assert len(lines) <= 3
    for line in lines:
        assert shape.buffer(1e-6).covers(shapely.LineString(line))
        assert line[1][0] - line[0][0] >= LEAST_LONG_MM - 1e-9


def test_only_spares_have_lines_and_only_on_request(tmp_path: Path) -> None:
    design = tag(tmp_path)
    strokes: dict[bool, int] = {}
    for asked in (False, True):
        rules = SheetRules(A4, spare_lines=asked, order=Order.SHEETS)
        plan = plan_sheets(design, rules)
        pieces = [Piece(design, 2, n, "", ()) for n in range(1, plan.per_sheet)]
        (sheet,) = fill(plan, pieces, len(pieces))
        strokes[asked] = sum(isinstance(ink, InkStroke) for ink in sheet.furniture)
        spare = sheet.placed[-1]
        assert spare.piece.row is None
        own = list(spare_lines(design, spare.at))
        assert [ink for ink in sheet.furniture if ink in own] == (own if asked else [])
    assert strokes[True] - strokes[False] == len(own) == 3


def test_lines_change_the_print_and_not_the_cut(tmp_path: Path) -> None:
    tag(tmp_path)
    given = ("make", tmp_path / "guests.csv", "--design", tmp_path / "tag.toml")
    made = []
    for more in ((), ("--spare-lines",)):
        assert command(*given, "--out", tmp_path / "out", *more).exit_code in {0, 1}
        made.append(snapshot(tmp_path / "out"))
    plain, lined = made
    assert plain["cut.svg"] == lined["cut.svg"]
    assert plain["print.pdf"] != lined["print.pdf"]


def test_backs_of_spares_have_lines_too() -> None:
    design = personalize.load_design(SAMPLES / "herb-tag-both.toml")
    assert design.back is not None
    rules = SheetRules(A4, spare_lines=True, flip=Flip.UPRIGHT)
    plan = plan_sheets(design, rules, fully=False)
    (sheet,) = fill(
        plan, [Piece(design, 2, 1, "", (), back=Piece(design.back, 2, 1, "", ()))], 1
    )
    assert sheet.back is not None
    first, *spares = sheet.back.placed
    for one in spares:
        own = list(spare_lines(design.back, one.at))
        assert own
        assert all(ink in sheet.back.furniture for ink in own)
    assert not any(i in sheet.back.furniture for i in spare_lines(design.back, first.at))


def test_a_zone_too_low_or_short_has_none() -> None:
    low = region_of(np.array([(0, 0), (50, 0), (50, 5), (0, 5)]))
    short = region_of(np.array([(0, 0), (13, 0), (13, 20), (0, 20)]))
    assert [*_lines(low), *_lines(short)] == []
