"""Ways out of an overflow: what is said of each is what a run with it gives."""

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import personalize
from personalize.checks.ways_out import MOST_TRIED, shortened, tenth
from personalize.finding import Finding
from personalize.job import prepare
from personalize.rules import Rule
from tests.conftest import EDGE, drawing, put

TOML = '[lines]\nCutting = "#edge"\n'
PHRASE = "Runner beans and roasted carrots and cumin salad from the Plum Lane garden"
NARROW = "[margins]\noutline = 14\n[type]\nmax_lines = 3\nletter_spacing_em = 0.1\n"


def job_of(folder: Path, cells: str, toml: str):  # type: ignore[no-untyped-def]
    put(folder, {"tag.svg": drawing(EDGE), "tag.toml": toml, "guests.csv": cells})
    design = personalize.load_design(folder / "tag.toml")
    return prepare(personalize.read_table(folder / "guests.csv"), design)


def overflow(folder: Path, text: str, toml: str) -> Finding:
    (found,) = (
        f
        for f in job_of(folder, f"front\n{text}\n", toml).findings
        if f.rule is Rule.DOES_NOT_FIT
    )
    return found


def largest(folder: Path, text: str, toml: str) -> float:
    """What a run of its own gives."""
    (unit,) = job_of(folder, f"front\n{text}\n", toml).units
    return unit.surveys[0].largest_pt


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Finding:
    return overflow(tmp_path_factory.mktemp("told"), PHRASE, TOML + NARROW)


@pytest.mark.parametrize(
    ("key", "before", "after"),
    [
        ("lines_4_pt", "max_lines = 3", "max_lines = 4"),
        ("lines_5_pt", "max_lines = 3", "max_lines = 5"),
        ("unspaced_pt", "letter_spacing_em = 0.1", "letter_spacing_em = 0"),
    ],
)
def test_a_key_that_is_told_gives_the_size_that_is_told(
    tmp_path: Path, told: Finding, key: str, before: str, after: str
) -> None:
    size = largest(tmp_path, PHRASE, TOML + NARROW.replace(before, after))
    assert told.figures[key] == pytest.approx(size, abs=0.0011)
    assert f"{after} ({tenth(size)} pt)" in told.do


def test_the_font_that_is_told_gives_the_size_that_is_told(
    tmp_path: Path, told: Finding
) -> None:
    match = re.search(r"the font ([\w ]+) \(([\d.]+) pt\)", told.do)
    assert match is not None
    size = largest(tmp_path, PHRASE, TOML + NARROW + f'font = "{match[1]}"\n')
    assert tenth(size) == match[2]
    assert told.figures["other_font_pt"] == pytest.approx(size, abs=0.0011)


def test_a_smaller_margin_gives_no_less_than_is_told(tmp_path: Path, told: Finding) -> None:
    # What is tried lies inside the zone that the design would have.
    match = re.search(r"outline = ([\d.]+) under \[margins\] \(([\d.]+) pt\)", told.do)
    assert match is not None
    toml = TOML + NARROW.replace("outline = 14", f"outline = {match[1]}")
    size = largest(tmp_path, PHRASE, toml)
    assert float(match[2]) - 0.1 <= size <= 1.1 * float(match[2])


def test_so_many_letters_fewer_fit_and_one_more_does_not(
    tmp_path: Path, told: Finding
) -> None:
    over = told.figures["letters_over"]
    assert isinstance(over, int)
    floor = told.figures["floor_pt"]
    assert isinstance(floor, float)
    assert f"Shorten it by {over} of its {len(PHRASE)} letters" in told.do
    toml = TOML + NARROW
    assert largest(tmp_path, shortened(PHRASE, over), toml) >= floor - 0.0011
    assert largest(tmp_path, shortened(PHRASE, over - 1), toml) < floor


def test_words_on_allergens_are_not_to_be_shortened(tmp_path: Path) -> None:
    found = overflow(tmp_path, PHRASE, 'use = "allergen"\n' + TOML + NARROW)
    assert "Shorten" not in found.do
    assert "max_lines = 4" in found.do


def test_only_the_first_overflows_are_tried_at_length(tmp_path: Path) -> None:
    cells = "front\n" + "".join(f"{PHRASE} {i}\n" for i in range(MOST_TRIED + 3))
    job = job_of(tmp_path, cells, TOML + NARROW)
    found = [f for f in job.findings if f.rule is Rule.DOES_NOT_FIT]
    tried = ["max_lines" in f.do for f in found]
    assert tried == [True] * MOST_TRIED + [False] * 3
    assert all("letters_over" in f.figures for f in found)


@given(st.lists(st.text("abc\u0301", min_size=1, max_size=9), min_size=1, max_size=4))
@settings(max_examples=50, deadline=None)
def test_shortening_takes_from_the_longest_word_and_leaves_no_mark_alone(
    words: list[str],
) -> None:
    text = " ".join(words)
    less = shortened(text, 2)
    assert len(less) < len(text)
    for word in less.split(" "):
        assert any(one.startswith(word) for one in words)
