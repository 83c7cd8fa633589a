"""How sizes are spread: counts that add up, and the rows that catch the eye."""

import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

import personalize
from personalize.job import prepare
from personalize.type.sizes import Wanted, down, give_sizes
from personalize.type.spread import MOST_STANDING_OUT, STANDS_OUT, spread_of
from tests.conftest import SAMPLES

UNITS = st.lists(
    st.builds(Wanted, st.integers(2, 60), st.floats(3, 80), st.just(7.0)), max_size=50
)
RULES = ("largest", "same", "steps")


@pytest.mark.parametrize("rule", RULES)
@given(wanted=UNITS)
def test_every_fitting_text_is_counted_once_under_each_rule(
    rule: str, wanted: list[Wanted]
) -> None:
    spread = spread_of(("front",), rule, wanted, give_sizes(rule, wanted))
    fitting = [w for w in wanted if w.fits]
    if not fitting:
        assert spread is None
        return
    assert spread is not None
    assert spread.largest_pt == tuple(down(w.largest_pt) for w in fitting)
    assert [one.rule for one in spread.outcomes] == list(RULES)
    for one in spread.outcomes:
        assert sum(n for _, n in one.counts) + one.others == len(fitting)
        given_pt = give_sizes(one.rule, fitting).sizes_pt
        assert (one.least_pt, one.most_pt) == (min(given_pt), max(given_pt))
    largest = spread.outcomes[0]
    assert all(one.most_pt <= largest.most_pt for one in spread.outcomes)


@given(wanted=UNITS)
def test_rows_that_stand_out_are_much_smaller_than_the_middle_one(
    wanted: list[Wanted],
) -> None:
    spread = spread_of(("front",), "largest", wanted, give_sizes("largest", wanted))
    if spread is None:
        return
    middle = statistics.median_high(spread.given_pt)
    small = {
        row
        for row, size in zip(spread.rows, spread.given_pt, strict=True)
        if size < STANDS_OUT * middle
    }
    told = [row for row, _ in spread.standing_out]
    assert len(told) == len(set(told)) == min(len(small), MOST_STANDING_OUT)
    assert set(told) <= small
    assert [size for _, size in spread.standing_out] == sorted(
        size for _, size in spread.standing_out
    )


def test_a_job_tells_the_sizes_that_it_gives() -> None:
    design = personalize.load_design("plant-flag")
    job = prepare(personalize.read_table(SAMPLES / "picnic.csv"), design)
    (spread,) = job.spreads
    assert spread.places == ("front", "back")
    assert spread.rule == "steps"
    assert spread.steps_pt == job.size_sets[0].steps_pt
    steps = spread.outcomes[2]
    assert [size for size, _ in steps.counts] == list(spread.steps_pt)
    for row, size in zip(spread.rows, spread.given_pt, strict=True):
        assert job.sizes[row, 1, "front"] == size
