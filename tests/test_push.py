"""One piece more: pieces that are pushed apart keep their distances, always the same."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from personalize.geometry.zone import region_of
from personalize.sheet.board import STEP_MM, Board, Shapes, Spot
from personalize.sheet.push import Pushing, levels, settled
from tests.test_nest import CORNERS, LETTER, SHAPES, Ring, ring

HAIR = 1e-5
SQUARE = ring((0, 0), (20, 0), (20, 20), (0, 20))
BAR = ring((0, 0), (40, 0), (40, 9), (0, 9))
AREA = (0.0, 0.0, 60.0, 60.0)


def board_of(
    rings: list[Ring],
    area: tuple[float, float, float, float] = AREA,
    zones: tuple[tuple[float, float, float, float], ...] = (),
    spacing: float = 0.0,
) -> Board:
    shapes = Shapes([region_of(one) for one in rings], spacing, 0.0)
    return Board(shapes, area, 0.0, zones)


def proved(
    board: Board,
    rings: list[Ring],
    spots: list[Spot],
    zones: tuple[tuple[float, float, float, float], ...] = (),
    spacing: float = 0.0,
    area: tuple[float, float, float, float] = AREA,
) -> None:
    """Ask shapely of the pieces themselves."""
    placed: list[shapely.Polygon] = []
    for key, column, row in spots:
        at, _ = board.placed((key, column * STEP_MM, row * STEP_MM))
        piece = shapely.Polygon(at.many(rings[key // 4]))
        assert shapely.box(*area).buffer(HAIR).covers(piece)
        assert not any(piece.buffer(-HAIR).intersects(shapely.box(*z)) for z in zones)
        smaller = piece.buffer(-HAIR)
        assert not any(smaller.intersects(other) for other in placed)
        assert all(piece.distance(other) >= spacing - HAIR for other in placed)
        placed.append(piece)


def test_depths_are_the_steps_out_of_a_shape() -> None:
    mask = np.zeros((9, 11), dtype=bool)
    mask[1:8, 1:10] = True
    found = levels(mask)
    assert (found > 0).tolist() == mask.tolist()
    assert found.max() == 4
    assert found[4, 5] == found.max()
    # From the middle no step leads out that is shorter.
    for row, column in np.argwhere(mask):
        around = found[row - 1 : row + 2, column - 1 : column + 2]
        assert abs(around - found[row, column]).max() <= 1


@pytest.mark.parametrize("spacing", [0.0, 2.0])
def test_nine_squares_fill_a_square_to_the_grid(spacing: float) -> None:
    # Arcs of a spacing are chords round it: a little over 2 mm, so the next whole one.
    side = 66.0 if spacing else 60.0
    area = (0.0, 0.0, side, side)
    board = board_of([SQUARE], area, spacing=spacing)
    pushing = Pushing(board)
    found = next(
        spots for n in range(200) if (spots := pushing.apart([(0,)] * 9, n)) is not None
    )
    proved(board, [SQUARE], found, spacing=spacing, area=area)
    assert pushing.apart([(0,)] * 10, 0) is None


def test_shapes_of_several_kinds_are_laid_each_as_often_as_is_asked() -> None:
    # Four bars round a square, as in a pinwheel, leave nothing but their middle.
    board = board_of([BAR, SQUARE], (0.0, 0.0, 49.0, 49.0))
    pushing = Pushing(board)
    pieces = [(0, 1)] * 4 + [(4,)]
    found = next(
        spots for n in range(400) if (spots := pushing.apart(pieces, n)) is not None
    )
    assert [key // 4 for key, _, _ in found] == [0, 0, 0, 0, 1]
    proved(board, [BAR, SQUARE], found, area=(0.0, 0.0, 49.0, 49.0))


def test_the_same_number_gives_the_same_layout_and_others_give_others() -> None:
    def layout(number: int) -> list[Spot] | None:
        return Pushing(board_of([SQUARE])).apart([(0,)] * 4, number)

    assert layout(3) == layout(3) is not None
    assert len({tuple(layout(n) or ()) for n in range(5)}) > 1


def test_what_has_no_place_at_all_is_not_tried() -> None:
    whole = ((0.0, 0.0, 60.0, 60.0),)
    assert Pushing(board_of([SQUARE], zones=whole)).apart([(0,)], 0) is None


@settings(max_examples=25, deadline=None)
@given(
    st.integers(1, 7),
    st.integers(0, 50),
    st.sampled_from([(0,), (0, 2), (0, 1, 2, 3)]),
    st.sampled_from([0.0, 1.5]),
    st.lists(st.tuples(st.integers(0, 50), st.integers(0, 50)), max_size=2),
)
def test_what_is_pushed_apart_lies_apart_and_still_does_when_it_has_settled(
    many: int,
    number: int,
    turns: tuple[int, ...],
    spacing: float,
    corners: list[tuple[int, int]],
) -> None:
    tooth = ring((0, 0), (23, 0), (23, 6), (9, 6), (9, 19), (0, 14))
    zones = tuple((x, y, x + 8.0, y + 8.0) for x, y in corners)
    board = board_of([tooth], zones=zones, spacing=spacing)
    found = Pushing(board).apart([turns] * many, number)
    if found is None:
        # So few always have a place, however they are strewn.
        assert many > 2
        return
    assert len(found) == many
    proved(board, [tooth], found, zones, spacing)
    fallen = settled(board, found)
    proved(board, [tooth], fallen, zones, spacing)
    assert [key for key, *_ in fallen] == [key for key, *_ in found]
    for (_, _, before), (_, _, after) in zip(found, fallen, strict=True):
        assert after <= before


def test_pieces_settle_on_the_ground() -> None:
    board = board_of([SQUARE])
    fallen = settled(board, [(0, 30, 35), (0, 7, 12)])
    assert sorted(fallen) == [(0, 0, 0), (0, 20, 0)]


def test_pennants_interlock_round_the_marks_in_the_corners() -> None:
    shape = SHAPES["pennant"]
    pushing = Pushing(board_of([shape], LETTER, CORNERS, 2.0))
    found = [pushing.apart([(0, 2)] * 13, number) for number in range(6)]
    assert any(found)
    for spots in filter(None, found):
        proved(pushing.board, [shape], spots, CORNERS, 2.0, LETTER)
