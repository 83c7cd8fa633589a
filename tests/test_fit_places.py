"""Where a fitted text stands, and what must not change it."""

import random
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import personalize
from personalize.geometry.zone import Region, grown
from personalize.job import prepare
from personalize.type.contain import Shape
from personalize.type.fit import Fitting, Rules, Setting
from personalize.type.shape import Paragraph
from tests.conftest import SAMPLES
from tests.fit_made import (
    LEAST,
    MOST,
    NUNITO,
    PANELS,
    Case,
    case_of,
    cases,
    invented,
    panel_of,
    reading_zone,
    region,
    round_about,
)
from tests.reference_fit import Search


def covered(case: Case, setting: Setting) -> bool:
    zone = case.search.zone.polygon.buffer(1e-6)
    return all(zone.covers(shapely.box(*box)) for box in case.boxes(setting))


# Place ---------------------------------------------------------------------------------


@pytest.mark.parametrize("place", PANELS)
def test_every_placed_line_is_inside_its_zone(place: str) -> None:
    for case in cases(place):
        largest = case.fitting.at_largest()
        smaller = case.fitting.again(largest, 0.8 * largest.size_mm)
        at = case.fitting.at(0.7 * largest.size_mm)
        for setting in (largest, smaller, at):
            assert setting is not None
            assert covered(case, setting), (case.paragraph.text, setting)


def middle_of(case: Case, setting: Setting) -> tuple[float, float]:
    """Centre of the ink across, middle of the band from last baseline to first capitals."""
    boxes = case.boxes(setting)
    face = case.paragraph.font.face
    top = boxes[0][3] - setting.origins[0][1]
    top = min(max(top, setting.size_mm * face.x_height), setting.size_mm * face.cap_height)
    y = (setting.origins[0][1] + top + setting.origins[-1][1]) / 2
    return ((min(b[0] for b in boxes) + max(b[2] for b in boxes)) / 2, y)


@pytest.mark.parametrize("place", PANELS)
def test_no_place_nearer_to_the_centre_of_the_zone_is_possible(place: str) -> None:
    for case in cases(place):
        largest = case.fitting.at_largest()
        setting = case.fitting.again(largest, 0.9 * largest.size_mm)
        x, y = middle_of(case, setting)
        text, size = case.search.text, setting.size_mm
        middle = text.middle(
            setting.breaks,
            case.paragraph.font.face.x_height,
            case.paragraph.font.face.cap_height,
        )
        block = (
            case.search.block(setting.breaks) - np.array([0, middle, 0, middle])
        ) * size
        places = case.search.zone.places(block)
        centre = case.search.zone.polygon.centroid
        away = centre.distance(shapely.Point(x, y))
        assert places.distance(shapely.Point(x, y)) < 1e-6
        assert away <= places.distance(centre) + 0.01, case.paragraph.text


SYMMETRICAL = {
    "a card": region([(0, 0), (60, 0), (60, 40), (0, 40)]),
    "a lozenge": region([(40, 0), (80, 30), (40, 60), (0, 30)]),
    "a disc": region(round_about(30, 30, 28, 90)),
    "a six-sided tag": region([(10, 0), (60, 0), (70, 20), (60, 40), (10, 40), (0, 20)]),
}


@pytest.mark.parametrize("name", SYMMETRICAL)
@pytest.mark.parametrize("words", ["Io", "gypsy", "no ox", "Anna Maria", "Ñusta"])
def test_in_a_symmetrical_shape_words_stand_optically_in_the_middle(
    name: str, words: str
) -> None:
    case = case_of(words, NUNITO, SYMMETRICAL[name], Rules(2))
    largest = case.fitting.at_largest()
    setting = case.fitting.again(largest, 0.6 * largest.size_mm)
    centre = case.search.zone.polygon.centroid
    assert middle_of(case, setting) == pytest.approx((centre.x, centre.y), abs=1e-6)


@pytest.mark.parametrize("align", ["start", "end"])
@pytest.mark.parametrize("words", ["Io Featherstone", "נועה ליאורה־תות"])
def test_lines_set_to_one_side_share_that_edge(align: str, words: str) -> None:
    # A text that runs right to left starts at the right.
    box = region([(0, 0), (50, 0), (50, 60), (0, 60)])
    case = case_of(words.replace(" ", "\n"), NUNITO, box, Rules(2, 0.92, align))
    setting = case.fitting.at_largest()
    first, second = case.boxes(setting)
    assert abs((first[2] - first[0]) - (second[2] - second[0])) > 1
    left = (align == "start") != case.paragraph.items.rtl
    edge = 0 if left else 2
    assert first[edge] == pytest.approx(second[edge], abs=1e-9)
    assert abs(first[2 - edge] - second[2 - edge]) > 1
    assert covered(case, setting)


# The shape -----------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(
    place=st.sampled_from(PANELS),
    seed=st.integers(0, 10**6),
    by=st.floats(0.01, 6),
)
def test_a_larger_zone_never_makes_a_smaller_text(place: str, seed: int, by: float) -> None:
    panel = panel_of(place)
    words = invented(random.Random(seed))
    zone = reading_zone(panel)
    small = Shape(zone)
    paragraph = Paragraph(words, panel.style.font)
    before = Fitting(paragraph, small, Rules(3))
    after = Fitting(paragraph, Shape(grown(zone, by)), Rules(3))
    slack = LEAST if small.pockets else 1 - 1e-9
    for k in before.line_counts:
        assert after.best(k) >= before.best(k) * slack


@pytest.mark.parametrize("factor", [0.5, 3.0])
def test_a_zone_drawn_larger_makes_a_text_larger_by_as_much(factor: float) -> None:
    for place in PANELS:
        zone = reading_zone(panel_of(place))
        larger = Region(
            tuple((x * factor, y * factor) for x, y in zone.outer),
            tuple(tuple((x * factor, y * factor) for x, y in h) for h in zone.holes),
        )
        paragraph = Paragraph("Maeve O'Dwyer Lacey", panel_of(place).style.font)
        small, large = (Fitting(paragraph, Shape(z), Rules(3)) for z in (zone, larger))
        for k in small.line_counts:
            assert large.best(k) == pytest.approx(factor * small.best(k), rel=1e-6)


# Level shapes --------------------------------------------------------------------------


def level_cases() -> Iterator[tuple[Case, Fitting, Search]]:
    for place in PANELS:
        zone = reading_zone(panel_of(place))
        for case in cases(place)[:7]:
            face = case.paragraph.font.face
            fitting = Fitting(case.paragraph, Shape(zone, level=True), case.fitting.rules)
            search = Search(
                case.search.text,
                case.search.zone,
                case.search.width_share,
                (face.x_height, face.cap_height),
            )
            yield case, fitting, search


def test_a_level_text_stands_at_the_height_of_its_panels_centre() -> None:
    for case, fitting, _ in level_cases():
        setting = fitting.at_largest()
        height = case.search.zone.polygon.centroid.y
        assert middle_of(case, setting)[1] == pytest.approx(height, abs=1e-6)
        assert covered(case, setting)
        smaller = fitting.again(setting, 0.7 * setting.size_mm)
        assert middle_of(case, smaller)[1] == pytest.approx(height, abs=1e-6)
        assert covered(case, smaller)


def test_a_level_text_is_no_larger_than_a_free_one_and_as_large_as_a_search_finds() -> None:
    smaller = 0
    for case, fitting, search in level_cases():
        for k in fitting.line_counts:
            assert fitting.best(k) <= case.fitting.best(k) * (1 + 1e-9)
            reference = min(search.largest(k), fitting.rules.cap_mm)
            ratio = fitting.best(k) / reference
            assert LEAST <= ratio <= MOST, (case.paragraph.text, k, ratio)
            smaller += fitting.best(k) < 0.99 * case.fitting.best(k)
    assert smaller > 10


# The batch -----------------------------------------------------------------------------


@pytest.mark.parametrize("name", personalize.sample_names())
def test_the_order_of_messages_changes_no_text(name: str, tmp_path: Path) -> None:
    design = personalize.load_design(name)
    heading, *rows = (SAMPLES / "picnic.csv").read_text("utf-8").splitlines()
    rng = random.Random(1)
    shuffled = rng.sample(rows, len(rows))
    orders = []
    for i, order in enumerate((rows, rows[::-1], shuffled)):
        file = tmp_path / f"{i}.csv"
        file.write_text("\n".join([heading, *order]) + "\n", "utf-8")
        job = prepare(personalize.read_table(file), design)
        texts = {
            (tuple(unit.message.words.items()), text.panel): (
                text.size_pt,
                text.largest_pt,
                tuple(line.origin for line in text.lines),
                tuple(line.shaped.text for line in text.lines),
            )
            for unit in job.units
            for text in job.composed(unit)
        }
        orders.append(texts)
    assert len(orders[0]) > 40
    assert orders[0] == orders[1] == orders[2]


def test_a_known_earlier_fit_changes_nothing() -> None:
    for place in PANELS:
        for case in cases(place)[:10]:
            again = Fitting(
                case.paragraph, case.shape, case.fitting.rules, case.fitting.sizes
            )
            assert again.at_largest() == case.fitting.at_largest()


def test_no_text_is_larger_than_wanted() -> None:
    for place in PANELS:
        for case in cases(place)[::10]:
            rules = replace(case.fitting.rules, cap_mm=2.5)
            fitting = Fitting(case.paragraph, case.shape, rules)
            assert fitting.at_largest().size_mm <= 2.5
            assert max(fitting.sizes.values()) <= 2.5


def test_a_hair_over_the_largest_size_is_noticed() -> None:
    # The promise "inside" can fail: 1 % over the largest size, nothing is covered.
    case = case_of("Anna Maria", NUNITO, SYMMETRICAL["a disc"], Rules(1))
    setting = case.fitting.at_largest()
    over = case.fitting.again(setting, setting.size_mm / case.fitting.rules.width_share)
    assert covered(case, setting)
    assert not covered(case, case.fitting.again(over, over.size_mm * 1.01))
