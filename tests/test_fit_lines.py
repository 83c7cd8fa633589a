"""Lines of a fitted text: breaks, leading, and what can be worked out by hand."""

import itertools
import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from personalize.fonts.catalogue import catalogue
from personalize.geometry.affine import rotation
from personalize.type.contain import Shape
from personalize.type.fit import Fitting, Rules
from personalize.type.itemise import BreakKind
from personalize.type.shape import Paragraph
from tests.fit_made import (
    LEAST,
    MOST,
    NUNITO,
    PANELS,
    case_of,
    cases,
    invented,
    region,
    text_of,
)
from tests.reference_fit import MOST_BREAKS, Breaks, Text

# Rectangles ----------------------------------------------------------------------------


@pytest.mark.parametrize("turn", [0, 90, 180])
@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    wide=st.floats(8, 120),
    high=st.floats(5, 90),
    share=st.floats(0.5, 1),
)
def test_rectangles_are_exact(
    turn: int, seed: int, wide: float, high: float, share: float
) -> None:
    box = region([(3, 4), (3 + wide, 4), (3 + wide, 4 + high), (3, 4 + high)])
    words = invented(random.Random(seed))
    paragraph = Paragraph(words, NUNITO)
    text = text_of(paragraph)
    if text.count > MOST_BREAKS + 1:
        return
    w, h = (high, wide) if turn == 90 else (wide, high)
    shape = Shape(box.mapped(rotation(-turn)))
    fitting = Fitting(paragraph, shape, Rules(5, share))
    for k in fitting.line_counts:
        # Formula 9 of the fit: S = min(W / widest line, H / height), every break set tried.
        largest = 0.0
        for breaks in text.break_sets(k):
            ink = lines_of(text, breaks)
            height = ink[0][3] + (k - 1) * text.leading(k) + ink[-1][2]
            widest = max(i[1] - i[0] for i in ink) / share
            largest = max(largest, min(w / widest, h / height))
        assert fitting.best(k) == pytest.approx(largest, rel=1e-6)


def lines_of(text: Text, breaks: Breaks) -> list[tuple[float, ...]]:
    starts = (0, *(b + 1 for b in breaks[:-1]))
    return [tuple(text.ink[a, b].tolist()) for a, b in zip(starts, breaks, strict=True)]


@pytest.mark.parametrize("turn", [0, 90, 180])
def test_a_turned_rectangle_is_still_one(turn: int) -> None:
    box = region([(3, 4), (33, 4), (33, 24), (3, 24)])
    assert Shape(box.mapped(rotation(turn))).is_rectangle
    assert not Shape(box.mapped(rotation(turn + 1))).is_rectangle


def test_in_a_rectangle_the_evenest_of_the_large_enough_breaks_wins() -> None:
    box = region([(0, 0), (50, 0), (50, 30), (0, 30)])
    rng = random.Random(3)
    longer = 0
    for _ in range(60):
        case = case_of(invented(rng), NUNITO, box, Rules(5, 1.0))
        text = case.search.text
        if text.count > MOST_BREAKS + 1:
            continue
        setting = case.fitting.at_largest()
        k = len(setting.breaks)

        def size(breaks: Breaks, text: Text = text, k: int = k) -> float:
            block = text.block(breaks, 1.0)
            return min(50 / np.ptp(block[:, ::2]), 30 / np.ptp(block[:, 1::2]))

        sets = list(text.break_sets(k))
        large = max(map(size, sets))
        possible = [b for b in sets if size(b) >= 0.997 * large * (1 + 1e-9)]
        best = min(possible, key=lambda b: (round(text.unevenness(b), 9), b))
        assert setting.breaks == best, case.paragraph.text
        assert setting.size_mm == pytest.approx(size(best), rel=1e-9)
        longer += len(sets) > 1
    assert longer > 20


# Lines ---------------------------------------------------------------------------------


@pytest.mark.parametrize("most", [1, 2, 5])
def test_line_ends_of_the_cell_are_kept_even_past_the_most_lines(most: int) -> None:
    box = region([(0, 0), (60, 0), (60, 40), (0, 40)])
    case = case_of("Ann\nBo and Io\nZoë", NUNITO, box, Rules(most))
    segments = case.paragraph.segments
    ends = [i for i, s in enumerate(segments) if s.kind is BreakKind.FORCED]
    for setting in (case.fitting.at_largest(), case.fitting.at(2.0)):
        assert setting is not None
        assert set(ends) <= set(setting.breaks)
        assert len(setting.breaks) <= max(most, 3)


@pytest.mark.parametrize("place", PANELS)
def test_the_lines_hold_every_segment_once_and_end_where_the_cell_ends_a_line(
    place: str,
) -> None:
    seen = 0
    for case in cases(place):
        for setting in (case.fitting.at_largest(), case.fitting.at(1.5)):
            assert setting is not None
            assert list(setting.breaks) == sorted(set(setting.breaks))
            assert setting.breaks[-1] == len(case.paragraph.segments) - 1
            assert case.search.text.forced <= set(setting.breaks)
            assert len(setting.origins) == len(setting.breaks)
        seen += bool(case.search.text.forced)
    assert seen


@pytest.mark.parametrize("place", PANELS)
@pytest.mark.parametrize("part", [0.95, 0.6])
def test_at_a_given_size_the_fewest_lines_that_fit_are_taken(
    place: str, part: float
) -> None:
    for case in cases(place):
        size = part * max(case.reference.values())
        setting = case.fitting.at(size)
        assert setting is not None
        assert setting.size_mm == size
        chosen = len(setting.breaks)
        assert case.reference[chosen] >= size / MOST
        assert all(case.reference[k] < size / LEAST for k in case.reference if k < chosen)
        assert case.fitting.at(max(case.reference.values()) * 1.01) is None


def test_baselines_stand_apart_by_the_least_leading_or_the_ink() -> None:
    box = region([(0, 0), (60, 0), (60, 40), (0, 40)])
    for words, k, leading in (
        ("no ox", 2, 1.1),  # common practice, no source
        ("no ox on", 3, 1.2),
        ("मी फू", 2, 1.35),
        ("سلمى نعناع", 2, 1.4),
        ("Nguyễn na", 2, 1.35),  # circumflex and tilde
        ("Việt na", 2, 1.1),  # a circumflex above, a dot below: one on each side
        ("Adébáyọ̀ na", 2, 1.1),
        ("e\u0304\u0301 na", 2, 1.35),  # typed as three characters
        ("Zoë Ngô", 2, 1.1),  # one accent each
        ("Thơ Mười", 2, 1.1),  # a horn touches its letter: one accent
    ):
        case = case_of(words, NUNITO, box, Rules())
        ink = case.paragraph.ink_table()
        own = ink[range(len(ink)), range(len(ink))]
        needed = own[:, 2].max() + own[:, 3].max() + 0.12
        assert case.fitting.leading(k) == pytest.approx(max(leading, needed)), words
        assert case.fitting.leading(1) == pytest.approx(needed)


@pytest.mark.parametrize(
    ("name", "scripts", "leading"),
    [("Hanging", ("Arab", "Aran"), 1.9), ("Upright", ("Arab",), 1.4)],
)
def test_arabic_in_a_nastaliq_font_has_more_leading(
    name: str, scripts: tuple[str, ...], leading: float
) -> None:
    arabic = next(font for font in catalogue() if "Arab" in font.scripts)
    font = replace(arabic, name=name, scripts=scripts)
    box = region([(0, 0), (60, 0), (60, 40), (0, 40)])
    assert case_of("سلم قلم", font, box, Rules()).fitting.leading(2) == leading
    assert case_of("no ox", font, box, Rules()).fitting.leading(2) < 1.4


def test_ink_of_neighbouring_lines_stays_an_eighth_of_an_em_apart() -> None:
    for place in PANELS:
        for case in cases(place):
            setting = case.fitting.at_largest()
            boxes = case.boxes(setting)
            for upper, lower in itertools.pairwise(boxes):
                # 0.12 em, common practice without a source.
                assert upper[1] - lower[3] >= 0.12 * setting.size_mm - 1e-6
