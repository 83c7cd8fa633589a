"""Sizes of a batch: each its own, one for all, or three that look intended."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from personalize.type.sizes import SERVED, STEPS, Sizes, Wanted, down, give_sizes

LARGEST = st.floats(3, 80, allow_nan=False)
UNITS = st.lists(
    st.builds(
        Wanted, row=st.integers(2, 60), largest_pt=LARGEST, floor_pt=st.floats(5, 12)
    ),
    min_size=1,
    max_size=60,
)
SMALL_FLOORS = st.lists(
    st.builds(Wanted, row=st.integers(2, 60), largest_pt=LARGEST, floor_pt=st.just(1.0)),
    min_size=1,
    max_size=60,
)
RULES = ("largest", "same", "steps")


def units(*largest: float, floor: float = 7.0) -> list[Wanted]:
    return [Wanted(row, size, floor) for row, size in enumerate(largest, 2)]


def served(sizes: Sizes) -> int:
    return sum(size in sizes.steps_pt for size in sizes.sizes_pt)


@pytest.mark.parametrize("rule", RULES)
@given(wanted=UNITS)
def test_no_text_is_set_larger_than_its_own_largest(
    rule: str, wanted: list[Wanted]
) -> None:
    given_sizes = give_sizes(rule, wanted)
    assert len(given_sizes.sizes_pt) == len(wanted)
    for size, one in zip(given_sizes.sizes_pt, wanted, strict=True):
        assert 0 < size <= one.largest_pt + 1e-9


@pytest.mark.parametrize("rule", RULES)
@given(wanted=UNITS)
def test_no_text_that_can_be_read_is_set_under_its_floor(
    rule: str, wanted: list[Wanted]
) -> None:
    # One size for all is for texts with one floor: see the next test.
    same_floor = [Wanted(w.row, w.largest_pt, 7.0) for w in wanted]
    for size, one in zip(give_sizes(rule, same_floor).sizes_pt, same_floor, strict=True):
        if one.fits:
            assert size >= down(one.floor_pt)


@pytest.mark.parametrize("rule", RULES)
@given(wanted=UNITS, order=st.randoms(use_true_random=False))
def test_the_order_of_messages_changes_no_size(
    rule: str, wanted: list[Wanted], order: random.Random
) -> None:
    places = list(range(len(wanted)))
    order.shuffle(places)
    straight = give_sizes(rule, wanted)
    mixed = give_sizes(rule, [wanted[i] for i in places])
    assert mixed.sizes_pt == tuple(straight.sizes_pt[i] for i in places)
    assert mixed.steps_pt == straight.steps_pt
    assert mixed.without_pt == straight.without_pt


@pytest.mark.parametrize("rule", RULES)
@given(wanted=UNITS)
def test_a_text_that_fits_at_no_legible_size_holds_nobody_back(
    rule: str, wanted: list[Wanted]
) -> None:
    too_long = Wanted(99, 2.0, 7.0)
    without, with_it = give_sizes(rule, wanted), give_sizes(rule, [*wanted, too_long])
    assert with_it.sizes_pt == (*without.sizes_pt, 2.0)
    assert with_it.held_by == without.held_by


@pytest.mark.parametrize("rule", RULES)
def test_a_batch_in_which_nothing_fits_keeps_its_own_sizes(rule: str) -> None:
    assert give_sizes(rule, units(6.0, 3.2)) == Sizes((6.0, 3.2))
    assert give_sizes(rule, []) == Sizes(())


@given(wanted=UNITS)
def test_largest_gives_each_its_own(wanted: list[Wanted]) -> None:
    sizes = give_sizes("largest", wanted)
    assert sizes.sizes_pt == tuple(down(w.largest_pt) for w in wanted)
    assert sizes.steps_pt == ()
    assert sizes.held_by == ()


def test_same_gives_all_the_size_of_the_one_that_needs_most_room() -> None:
    sizes = give_sizes("same", units(31.0, 12.0, 20.5))
    assert sizes.sizes_pt == (12.0, 12.0, 12.0)
    assert (sizes.held_by, sizes.without_pt) == ((3,), 20.5)


def test_same_names_the_few_that_hold_the_others_back_together() -> None:
    sizes = give_sizes("same", units(31.0, 12.0, 12.0, 31.0, 40.0))
    assert sizes.sizes_pt == (12.0,) * 5
    assert (sizes.held_by, sizes.without_pt) == ((3, 4), 31.0)
    # Half of them are what the set is like, and so are four; 4 % is not worth a word.
    others = units(*[31.0] * 9, *[12.0] * 4), units(12.48, 12.48, 12.0)
    for wanted in (*others, units(31.0, 12.0), units(31.0)):
        sizes = give_sizes("same", wanted)
        assert (sizes.held_by, sizes.without_pt) == ((), None)


def test_steps_name_the_one_that_keeps_the_cap_down() -> None:
    # Of nine texts all must be served: the longest sets the cap at 10 / 0.71.
    sizes = give_sizes("steps", units(*[30.0] * 8, 10.0))
    assert sizes.steps_pt[0] == down(10 / 0.71)
    assert (sizes.held_by, sizes.without_pt) == ((10,), 30.0)
    # Of ten, one may be left aside: nobody is held back.
    assert give_sizes("steps", units(*[30.0] * 9, 10.0)).held_by == ()


@pytest.mark.parametrize("rule", ["same", "steps"])
def test_sizes_of_an_earlier_batch_are_kept(rule: str) -> None:
    earlier = (20.0, 16.8, 14.2) if rule == "steps" else (16.0,)
    sizes = give_sizes(rule, units(40.0, 16.9, 9.0, 3.0), earlier)
    assert sizes.steps_pt == earlier
    assert sizes.sizes_pt == ((20.0, 16.8, 9.0, 3.0) if rule == "steps" else (16, 16, 9, 3))
    assert sizes.held_by == ()


def test_the_copies_of_one_row_are_left_out_together() -> None:
    # Numbered pieces of row 3 are two units; leaving out the row leaves out both.
    wanted = [
        Wanted(2, 30.0, 7),
        Wanted(3, 12.0, 7),
        Wanted(3, 12.5, 7),
        Wanted(4, 20.0, 7),
    ]
    sizes = give_sizes("same", wanted)
    assert (sizes.held_by, sizes.without_pt) == ((3,), 20.0)


@pytest.mark.parametrize("rule", ["same", "steps"])
@given(wanted=UNITS)
def test_leaving_out_the_rows_that_hold_back_gives_the_size_told(
    rule: str, wanted: list[Wanted]
) -> None:
    sizes = give_sizes(rule, wanted)
    if sizes.held_by:
        rest = [w for w in wanted if w.row not in sizes.held_by]
        assert give_sizes(rule, rest).steps_pt[0] == sizes.without_pt
        assert sizes.without_pt is not None
        # Judgement: what gains less than a twentieth is not told.
        assert sizes.without_pt >= 1.049 * sizes.steps_pt[0]


@given(wanted=UNITS)
def test_steps_give_at_most_three_sizes_beside_own_ones(wanted: list[Wanted]) -> None:
    sizes = give_sizes("steps", wanted)
    assert len(sizes.steps_pt) in (0, 3)
    for size, one in zip(sizes.sizes_pt, wanted, strict=True):
        if size not in sizes.steps_pt:
            assert size == down(one.largest_pt)
            # Its own size only where no step is both small enough and legible.
            assert not any(one.floor_pt <= step <= size for step in sizes.steps_pt)


@given(wanted=UNITS)
def test_a_text_takes_the_largest_step_that_it_fits_in(wanted: list[Wanted]) -> None:
    sizes = give_sizes("steps", wanted)
    for size, one in zip(sizes.sizes_pt, wanted, strict=True):
        larger = [step for step in sizes.steps_pt if step > size]
        assert all(step > down(one.largest_pt) for step in larger)


def test_the_steps_are_those_of_the_design() -> None:
    # Judgement: 1, 0.84 and 0.71 of a cap.
    assert STEPS == (1.0, 0.84, 0.71)
    sizes = give_sizes("steps", units(20.0, 20.0, 17.0, 16.0, 15.0))
    assert sizes.steps_pt == (20.0, 16.8, 14.2)
    assert sizes.sizes_pt == (20.0, 20.0, 16.8, 14.2, 14.2)


@given(wanted=SMALL_FLOORS)
def test_nine_texts_of_ten_get_one_of_the_three_sizes(wanted: list[Wanted]) -> None:
    sizes = give_sizes("steps", wanted)
    assert served(sizes) >= SERVED * len(wanted) - 1e-9


@given(wanted=SMALL_FLOORS)
def test_no_larger_cap_would_serve_as_many(wanted: list[Wanted]) -> None:
    cap = give_sizes("steps", wanted).steps_pt[0]
    own = sorted(w.largest_pt for w in wanted)
    assert cap <= down(own[-1])
    larger = cap * 1.001
    if larger <= own[-1]:
        would = sum(size >= larger * STEPS[-1] for size in own)
        assert would < SERVED * len(own)


def test_one_long_name_among_ten_does_not_make_the_others_small() -> None:
    sizes = give_sizes("steps", units(*[30.0] * 9, 9.0))
    assert sizes.sizes_pt == (*[30.0] * 9, 9.0)
    # Two of ten are more than may be left aside: the cap comes down to serve one.
    sizes = give_sizes("steps", units(*[30.0] * 8, 9.0, 9.0))
    assert sizes.steps_pt[0] == pytest.approx(9 / 0.71, abs=1e-3)


def test_a_step_under_a_texts_floor_is_not_taken() -> None:
    wanted = [Wanted(2, 20.0, 7.0), Wanted(3, 15.0, 14.5)]
    sizes = give_sizes("steps", wanted)
    assert sizes.steps_pt == (20.0, 16.8, 14.2)
    assert sizes.sizes_pt == (20.0, 15.0)


@given(st.floats(0.5, 2000, allow_nan=False))
def test_sizes_are_rounded_down_to_a_thousandth_of_a_point(size: float) -> None:
    rounded = down(size)
    assert rounded <= size + 1e-9
    assert size - rounded < 0.001 + 1e-9
    assert math.isclose(rounded * 1000, round(rounded * 1000), abs_tol=1e-6)
    assert down(rounded) == rounded
