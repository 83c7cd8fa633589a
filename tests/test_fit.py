"""The fit: as large as an exhaustive search finds, inside, even, and in its place."""

import random

import numpy as np
import pytest
import shapely

from personalize.type.fit import Rules
from tests.fit_made import (
    LEAST,
    MOST,
    NUNITO,
    PANELS,
    PER_PANEL,
    SHAPES,
    case_of,
    cases,
    invented,
    region,
    zone_of,
)
from tests.reference_fit import STEP


@pytest.mark.parametrize("name", SHAPES)
def test_the_reference_finds_just_the_places_where_shapely_finds_the_boxes_inside(
    name: str,
) -> None:
    zone = zone_of(SHAPES[name])
    rng = np.random.default_rng(7)
    x0, y0, x1, y1 = zone.polygon.bounds
    inside = 0
    for _ in range(40):
        corners = rng.uniform(-12, 12, (rng.integers(1, 4), 2))
        boxes = np.hstack([corners, corners + rng.uniform(0.5, 9, corners.shape)])
        places = zone.places(boxes)
        for at in rng.uniform((x0 - 5, y0 - 5), (x1 + 5, y1 + 5), (60, 2)):
            if (
                shapely.boundary(places).distance(shapely.Point(at)) > 1e-6
                or places.is_empty
            ):
                moved = [shapely.box(*(box + np.tile(at, 2))) for box in boxes]
                fits = all(map(zone.polygon.covers, moved))
                assert fits == places.contains(shapely.Point(at)), (boxes, at)
                inside += fits
    assert inside > 50


@pytest.mark.parametrize("name", ["notched", "a card with a hole"])
@pytest.mark.parametrize("words", ["Io Bo", "Anna Maria", "Maeve O'Dwyer Lacey"])
def test_the_reference_gives_what_trying_every_size_from_the_top_gives(
    name: str, words: str
) -> None:
    search = case_of(words, NUNITO, SHAPES[name], Rules()).search
    for k in range(1, search.text.count + 1):
        sets = list(search.text.break_sets(k))
        found = search.largest(k)
        blocks = [search.block(b) for b in sets]
        top = max(
            min(
                search.zone.width / np.ptp(b[:, ::2]),
                search.zone.height / np.ptp(b[:, 1::2]),
            )
            for b in blocks
        )
        size = top
        while not any(search.zone.fits(block * size) for block in blocks):
            size *= STEP
        assert found == pytest.approx(size, rel=1e-9)


# Size ----------------------------------------------------------------------------------


@pytest.mark.parametrize("place", PANELS)
def test_every_number_of_lines_is_as_large_as_the_exhaustive_search_finds(
    place: str,
) -> None:
    assert len(cases(place)) == PER_PANEL
    for case in cases(place):
        for k, reference in case.reference.items():
            ratio = case.fitting.best(k) / reference
            assert LEAST <= ratio <= MOST, (case.paragraph.text, k, ratio)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize(
    "words",
    ["Io Bo", "Anna Maria", "Jiřík de gypsy", "Maeve O'Dwyer Lacey",
     "Aunt Clementine & the Twins", "Mr. and Mrs. Pemberwick",
     "gypsy Ann Anne\u00a0Marie", "Thuỳ Zoë"],
)  # fmt: skip
def test_notches_bays_and_holes_cost_nothing_against_the_exhaustive_search(
    name: str, words: str
) -> None:
    case = case_of(words, NUNITO, SHAPES[name], Rules(4))
    for k, reference in case.reference.items():
        assert LEAST <= case.fitting.best(k) / reference <= MOST, k


@pytest.mark.parametrize("name", SHAPES)
def test_any_words_are_as_large_in_any_shape_as_the_exhaustive_search_finds(
    name: str,
) -> None:
    # A thousand of these (2,626 sizes) were all within it too: too long for every run.
    rng = random.Random(name)
    for share in (1.0, 0.92, 1.0, 0.92):
        words = " ".join(invented(rng).split()[:5])
        case = case_of(words, NUNITO, SHAPES[name], Rules(4, share))
        for k, reference in case.reference.items():
            assert LEAST <= case.fitting.best(k) / reference <= MOST, (words, k)


def test_words_that_a_search_from_starting_points_missed() -> None:
    # It set the last of these a third too small.
    for name, words, share in (
        ("notched", "Яблунівська Mr. Ann سلمى rhu\xadbarb gypsy", 0.92),
        ("a narrow ring", "Æsudóttir Дарина سلمى de", 0.92),
        ("a card with a hole", "Quillfeather النعناعي of & Anne\xa0Marie", 1.0),
    ):
        case = case_of(words, NUNITO, SHAPES[name], Rules(4, share))
        for k, reference in case.reference.items():
            assert LEAST <= case.fitting.best(k) / reference <= MOST, (words, k)


@pytest.mark.parametrize("place", PANELS)
def test_an_extra_line_is_taken_when_it_earns_a_fifth_in_size(place: str) -> None:
    for case in cases(place):
        k, size = case.fitting.largest()
        reference = case.reference
        slack = 1 / LEAST * MOST
        # No later number of lines earns a fifth over the chosen one...
        assert all(reference[m] < 1.2 * size * slack for m in reference if m > k)
        # ... and each earlier one is given up for some later one that does.
        for fewer in (m for m in reference if m < k):
            most = max(reference[m] for m in reference if m > fewer)
            assert most >= 1.2 * reference[fewer] / slack, (case.paragraph.text, fewer, k)


@pytest.mark.parametrize("place", PANELS)
def test_evener_breaks_cost_less_than_half_a_percent_of_the_size(place: str) -> None:
    for case in cases(place):
        k, _ = case.fitting.largest()
        setting = case.fitting.at_largest()
        assert len(setting.breaks) == k
        ratio = setting.size_mm / case.reference[k]
        assert 0.995 <= ratio <= MOST, (case.paragraph.text, ratio)


@pytest.mark.parametrize("place", PANELS)
def test_no_evener_breaks_reach_the_same_size(place: str) -> None:
    for case in cases(place):
        k, size = case.fitting.largest()
        mine = case.search.text.unevenness(case.fitting.at_largest().breaks)
        for breaks in case.search.text.break_sets(k):
            if case.search.text.unevenness(breaks) < mine - 1e-6:
                reached = case.search.reaches(breaks, 0.997 * size * MOST)
                assert not reached, (case.paragraph.text, breaks)


def test_a_size_under_the_floor_is_not_taken_while_more_lines_are_above_it() -> None:
    # Two lines do not earn a fifth here, but one line is too small to be read.
    wide = region([(0, 0), (60, 0), (60, 9.5), (0, 9.5)])
    case = case_of("Wilhelmina Featherstone", NUNITO, wide, Rules())
    (_, one), (_, two) = case.fitting.sizes.items()
    assert one < two < 1.2 * one
    assert case.fitting.largest() == (1, one)
    assert case.fitting.largest((one + two) / 2) == (2, two)
    assert case.fitting.largest(2 * two) == (2, two)
