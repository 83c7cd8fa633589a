"""Where a line may break, and of what kind each break is."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from personalize.type.itemise import BreakKind, Itemised

# Breaks: UAX #14 -----------------------------------------------------------------------

BROKEN = {
    "Ann Bo": ["Ann", "Bo"],  # LB18: after spaces
    "Anne\u00a0Marie Smith": ["Anne\u00a0Marie", "Smith"],  # LB12: no-break space
    "Smith-Jones O'Brien": ["Smith-", "Jones", "O'Brien"],  # LB21: after a hyphen
    "Bo\u2011Ann": ["Bo\u2011Ann"],  # LB12: non-breaking hyphen
    "Bo\u2060-\u2060Ann": ["Bo\u2060-\u2060Ann"],  # LB11: word joiner
    "to\u00adgether": ["to\u00ad", "gether"],  # LB21, and section 5.4: soft hyphen
    "ab\u200bcd": ["ab", "cd"],  # LB8: after a zero width space
    "毛泽东。": ["毛", "泽", "东。"],  # LB13: not before a closing mark
    "きゅうり": ["きゅ", "う", "り"],  # LB21 by LB1: small kana are non-starters
    "👨\u200d👩\u200d👧 x": ["👨\u200d👩\u200d👧", "x"],  # LB8a: not after a joiner
    "🇪🇸🇺🇸": ["🇪🇸", "🇺🇸"],  # LB30a: flags in pairs
    "👍🏽Bo": ["👍🏽", "Bo"],  # LB30b: not before a skin tone
    "e\u0301a b": ["e\u0301a", "b"],  # LB9: marks stay with their letter
    "(Bo) [Io]": ["(Bo)", "[Io]"],  # LB13, LB14: brackets
    "“Bo” Io": ["“Bo”", "Io"],  # LB19: quotation marks
    "and/or": ["and/", "or"],  # LB13: not before a slash, but after it
    "Bo—Io": ["Bo", "—", "Io"],  # class B2: on both sides of a dash
    "1,000.50 Bo": ["1,000.50", "Bo"],  # LB25: within numbers
    "Bo\nIo": ["Bo", "Io"],  # LB5: line feed
    "Bo\r\nIo": ["Bo", "Io"],  # LB5: not between carriage return and line feed
    "Bo\u2028Io": ["Bo", "Io"],  # LB4: line separator
    "สวัสดีครับ": ["สวัสดี", "ครับ"],  # LB1, class SA: two words of a dictionary
}


@pytest.mark.parametrize("text", BROKEN)
def test_lines_break_where_unicode_allows(text: str) -> None:
    segments = Itemised(text).segments
    assert [text[s.start : s.end] for s in segments] == BROKEN[text]


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("Ann Bo", "PLAIN END"),
        ("Ann-Bo", "PLAIN END"),
        ("to\u00adgether", "SOFT_HYPHEN END"),
        ("Bo\nIo", "FORCED END"),
        ("Bo\r\nIo", "FORCED END"),
        ("Bo\u2028Io", "FORCED END"),
        ("Bo \nIo\n", "FORCED END"),
        ("Bo\n\nIo", "FORCED FORCED END"),
    ],
)
def test_a_break_knows_what_kind_it_is(text: str, kinds: str) -> None:
    found = [segment.kind for segment in Itemised(text).segments]
    assert found == [BreakKind[name] for name in kinds.split()]


@given(
    st.text(
        st.sampled_from("ab é-\u00ad\u00a0\u200b\n梅שر7(.👍🏽\u200d\u0301"), max_size=14
    )
)
def test_segments_hold_all_that_is_seen_once_and_in_order(text: str) -> None:
    segments = Itemised(text).segments
    for one, other in pairwise(segments):
        assert one.start <= one.end <= other.start
    held = "".join(text[s.start : s.end] for s in segments)
    blank = str.maketrans("", "", " \n\u200b")
    assert held.translate(blank) == text.translate(blank)
