"""Clear zones: read as written, kept free by every way of placing, covered by boxes."""

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from personalize.errors import InputError
from personalize.geometry.zone import region_of
from personalize.sheet.clear import STRIP_MM, ClearZone, parse_clear
from personalize.sheet.nest import arrangements
from personalize.sheet.paper import Paper

A4 = Paper("A4", 210.0, 297.0)
BOX = ((0, 0), (14, 0), (14, 20), (0, 20))


@pytest.mark.parametrize(
    ("text", "corners"),
    [
        ("top left 14x20", {(0, 297), (14, 297), (14, 277), (0, 277)}),
        ("top right 14 x 20mm", {(210, 297), (196, 297), (196, 277), (210, 277)}),
        ("Bottom Left 1.4cm×20", {(0, 0), (14, 0), (14, 20), (0, 20)}),
        ("bottom right 0,0 30,0 0,30", {(210, 0), (180, 0), (210, 30)}),
        ("  top   left 0,0 1in,0 0,10 ", {(0, 297), (25.4, 297), (0, 287)}),
    ],
)
def test_a_zone_is_counted_inward_from_its_corner(
    text: str, corners: set[tuple[float, float]]
) -> None:
    assert set(parse_clear(text).on(A4)) == corners


@pytest.mark.parametrize(
    "text",
    ["", "14x14", "top 14x14", "left top 14x14", "top left", "top left 14", "top left 0x5",
     "top left -1x5", "top left 1,2 3,4", "top left 0,0 5,0 9,0", "top left 0,0 5 9,9",
     "top left 1,2,3 3,4 5,6", "top left 9999x4", "top left 0,0 -3,0 0,9"],
)  # fmt: skip
def test_what_is_no_zone_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_clear(text)
    assert f"{text!r} is no clear zone." in str(caught.value)
    assert "top left 14x14" in str(caught.value)


def test_a_box_is_one_box_whatever_the_order_of_its_corners() -> None:
    for points in (BOX, BOX[::-1], BOX[2:] + BOX[:2]):
        assert ClearZone("bottom left", points).boxes(A4) == ((0, 0, 14, 20),)


GRID = st.integers(0, 600).map(lambda tenths: tenths / 10)
POINTS = st.lists(st.tuples(GRID, GRID), min_size=3, max_size=7)


@given(POINTS, st.sampled_from(["top left", "bottom right"]))
def test_boxes_cover_the_whole_zone_and_little_more(
    points: list[tuple[float, float]], corner: str
) -> None:
    assume(shapely.MultiPoint(points).convex_hull.area > 1)
    zone = ClearZone(corner, tuple(points))
    edge = shapely.LinearRing(zone.on(A4))
    boxes = zone.boxes(A4)
    covered = shapely.union_all([shapely.box(*box).buffer(1e-7) for box in boxes])
    assert covered.covers(edge)
    for x0, y0, x1, y1 in boxes:
        # As wide as the shape is there, by another library's reckoning (a corner may lie
        # between two strips: one of them has it).
        least = edge.intersection(shapely.box(-100, y0 + 1e-6, 400, y1 - 1e-6)).bounds
        most = edge.intersection(shapely.box(-100, y0 - 1e-6, 400, y1 + 1e-6)).bounds
        assert most[0] - 1e-4 <= x0 <= least[0] + 1e-4
        assert least[2] - 1e-4 <= x1 <= most[2] + 1e-4
        assert y1 - y0 <= STRIP_MM + 1e-9 or len(boxes) == 1


def test_pieces_keep_out_of_a_slanted_zone_but_use_the_room_beside_it() -> None:
    outline = region_of([(0, 0), (60, 0), (30, 90)])
    zone = parse_clear("top left 0,0 80,0 0,80")
    found = arrangements(
        outline, (5, 5, 205, 292), spacing_mm=2, bleed_mm=1, clear_zones=zone.boxes(A4)
    )
    boxed = arrangements(
        outline,
        (5, 5, 205, 292),
        spacing_mm=2,
        bleed_mm=1,
        clear_zones=parse_clear("top left 80x80").boxes(A4),
    )
    shape = shapely.Polygon(zone.on(A4))
    for one in found:
        for at in one.places:
            piece = shapely.Polygon([at(p) for p in [(0, 0), (60, 0), (30, 90)]])
            assert shape.distance(piece) >= 1 - 1e-6
    assert len(found[0].places) > len(boxed[0].places)
