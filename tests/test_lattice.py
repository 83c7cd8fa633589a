"""Small pieces in even rows, straight cuts in little time, layouts kept from run to run."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import personalize
from personalize import cache
from personalize.geometry.affine import rotation
from personalize.geometry.zone import region_of
from personalize.sheet import guillotine, nest, remembered
from personalize.sheet.nest import arrangements
from tests.conftest import drawing, line, put, snapshot
from tests.test_nest import A4, CORNERS, LETTER, SHAPES, Ring, best, proved_apart

SMALL = {
    "circle 8": SHAPES["circle 50"] * 0.16,
    "heart": SHAPES["heart"] * 0.28,
    "leaf": SHAPES["leaf"] * 0.28,
}
# What hundreds of tries found before pieces were laid in rows, and rows found after.
COUNTS = [
    ("circle 8", (), 576, 624),
    ("heart", (), 173, 175),
    ("leaf", ((0.0, 0.0, 14.0, 14.0), (0.0, 280.0, 14.0, 297.0)), 180, 189),
]


@pytest.mark.parametrize(("name", "zones", "before", "now"), COUNTS)
def test_small_pieces_lie_closer_in_rows_than_they_did(
    name: str,
    zones: tuple[tuple[float, float, float, float], ...],
    before: int,
    now: int,
) -> None:
    found = best(SMALL[name], A4, zones)
    assert len(found.places) >= now > before
    placed = [shapely.Polygon(at.many(SMALL[name])) for at in found.places]
    near = shapely.STRtree(placed).query(placed, predicate="dwithin", distance=2 - 1e-5)
    assert (near[0] == near[1]).all()
    assert shapely.box(*A4).buffer(1e-6).covers(shapely.union_all(placed))
    assert not any(shapely.union_all(placed).intersects(shapely.box(*z)) for z in zones)


def test_circles_come_as_near_to_the_densest_rows_as_a_sheet_lets_them() -> None:
    # Thue 1910: equal circles cover at most pi / sqrt 12 of a plane. Grown by half the
    # spacing, those of a sheet lie in the area grown as much.
    found = best(SMALL["circle 8"], A4)
    covered = len(found.places) * np.pi * 5**2 / (202 * 289)
    assert 0.92 * np.pi / np.sqrt(12) < covered < np.pi / np.sqrt(12)


@settings(max_examples=12, deadline=None)
@given(
    st.lists(st.floats(5, 11), min_size=3, max_size=7),
    st.sampled_from([0.0, 1.0, 2.7]),
    st.sampled_from([0.0, 0.5, 2.0]),
    st.booleans(),
)
def test_rows_of_any_shape_keep_their_distances(
    reach: list[float], spacing: float, bleed: float, marks: bool
) -> None:
    turns = np.linspace(0, 2 * np.pi, len(reach), endpoint=False)
    ring = np.column_stack([np.cos(turns), np.sin(turns)]) * np.array(reach)[:, None]
    room = (5.0, 5.0, 95.0, 75.0)
    zones = ((0.0, 0.0, 14.0, 14.0), (80.0, 60.0, 95.0, 75.0)) if marks else ()
    rows = nest._Nest(region_of(ring), room, spacing, bleed, zones, nest.TURNS).in_rows(0)
    if rows is not None:
        proved_apart(ring, rows, room, spacing, bleed, zones)


def test_the_work_for_small_pieces_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    laid = []
    filled: Callable[..., list[object]] = nest._Nest._filled

    def counted(self: object, *given: object) -> list[object]:
        spots = filled(self, *given)
        laid.append(len(spots))
        return spots

    monkeypatch.setattr(nest._Nest, "_filled", counted)
    monkeypatch.setenv(cache.SWITCH, "off")
    best(SMALL["leaf"] * 0.9, A4)
    assert len(laid) > 1
    assert sum(laid) <= nest.MOST_LAID + max(laid)


@pytest.mark.parametrize("size", [(7.0, 12.0), (5.0, 5.0), (40.0, 25.0)])
def test_straight_cuts_look_at_a_bounded_number_of_parts(
    size: tuple[float, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    looks = 0
    halves = guillotine._halves

    def counted(*given: object) -> object:
        nonlocal looks
        looks += 1
        return halves(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(guillotine, "_halves", counted)
    guillotine._boxes.cache_clear()
    boxes = guillotine._boxes(201.0, 289.0, size[0] + 1.7, size[1] + 1.7)
    area = sum(w * h for _, _, w, h, _ in boxes)
    assert looks < 1_000_000
    assert 0.9 * 201 * 289 < area <= 201 * 289 + 1e-3 or size == (40.0, 25.0)
    for i, (x, y, w, h, _) in enumerate(boxes[:60]):
        assert x + w <= 201 + 1e-5
        assert y + h <= 289 + 1e-5
        for a, b, c, d, _ in boxes[:i]:
            across = min(x + w, a + c) - max(x, a)
            assert across < 1e-5 or min(y + h, b + d) - max(y, b) < 1e-5


@pytest.mark.parametrize("name", ["swallowtail", "leaf", "60 x 35", "pennant"])
@pytest.mark.parametrize("zones", [(), CORNERS])
def test_along_the_grain_pieces_are_turned_by_half_a_turn_at_most(
    name: str, zones: tuple[tuple[float, float, float, float], ...]
) -> None:
    found = arrangements(
        region_of(SHAPES[name]),
        LETTER,
        spacing_mm=2.0,
        bleed_mm=0.0,
        clear_zones=zones,
        along_grain=True,
    )
    assert found
    for one in found:
        proved_apart(SHAPES[name], one, LETTER, 2.0, 0.0, zones)
        across = {abs(round(at.a)) for at in one.places}
        assert len(across) == 1


def test_a_layout_is_kept_and_comes_back_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(cache.SWITCH, str(tmp_path / "kept"))
    ring: Ring = SHAPES["swallowtail"] @ np.array(rotation(3).tuple[:4]).reshape(2, 2)
    arrangements.cache_clear()
    first = best(ring, A4)
    assert list((tmp_path / "kept").iterdir())
    arrangements.cache_clear()
    monkeypatch.setattr(nest, "_Nest", None)  # nothing is found anew
    assert best(ring, A4) == first
    arrangements.cache_clear()
    monkeypatch.undo()
    monkeypatch.setenv(cache.SWITCH, "off")
    assert best(ring, A4) == first


def test_a_layout_that_is_not_ours_is_found_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(cache.SWITCH, str(tmp_path / "kept"))
    arrangements.cache_clear()
    first = best(SHAPES["swallowtail"], A4)
    for path in (tmp_path / "kept").iterdir():
        cache.put(path.name, b'[[["x"], []]]')
    arrangements.cache_clear()
    assert best(SHAPES["swallowtail"], A4) == first


def test_another_question_has_another_answer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(cache.SWITCH, str(tmp_path / "kept"))
    outline = region_of(SHAPES["leaf"])
    asked = [((1,), outline), ((2,), outline), ((1,), region_of(SHAPES["heart"]))]
    for question, shape in asked:
        remembered.remembered(question, shape, lambda: ())
    assert len(list((tmp_path / "kept").iterdir())) == 3


def test_a_run_with_kept_layouts_gives_the_same_bytes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(
        tmp_path,
        {
            "tag.svg": drawing(line("M2 2H58L40 20L58 38H2Z")),
            "tag.toml": '[lines]\nCutting = "#edge"\n',
            "guests.csv": "front\nAda\nBo\n",
        },
    )
    made = []
    for switch in ("off", str(tmp_path / "kept"), str(tmp_path / "kept")):
        monkeypatch.setenv(cache.SWITCH, switch)
        arrangements.cache_clear()
        out = tmp_path / f"out{len(made)}"
        table = personalize.read_table(tmp_path / "guests.csv")
        personalize.make(table, personalize.load_design(tmp_path / "tag.toml"), out)
        made.append(snapshot(out))
    assert made[0] == made[1] == made[2]
