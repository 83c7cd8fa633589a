"""Where a line may break, and of what kind each break is."""

import unicodedata
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import personalize
from personalize.finding import Severity
from personalize.type.itemise import BreakKind, Itemised
from personalize.type.shape import Paragraph
from tests.shaped import NUNITO, whole
from tests.test_manner import table, tag

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


# Signs that forbid a break on either side: UAX #14, rules LB11, LB12 and class GL.
GLUE = ("\u00a0", "\u202f", "\u2007", "\u2060", "\ufeff", "\u2011")


@pytest.mark.parametrize("glue", GLUE)
def test_no_line_ends_at_a_sign_that_forbids_it(glue: str) -> None:
    text = f"Dr{glue}Vale and Mr{glue}Okoro"
    segments = Itemised(text).segments
    kept = [text[s.start : s.end] for s in segments]
    assert kept == [f"Dr{glue}Vale", "and", f"Mr{glue}Okoro"]


# Languages without spaces ----------------------------------------------------------------

UNSPACED = {
    # As published with the thread https://github.com/py-pdf/fpdf2/issues/679.
    "Thai": "สุขสันต์|วัน|เกิด|คุณ|ยาย",
    # Words as dictionaries list them (from memory).
    "Lao": "ສະບາຍດີ|ແມ່|ຕູ້",
    "Khmer": "សួស្តី|ជីតា",
    "Burmese": "မင်္ဂလာ|ပါ",
}


@pytest.mark.parametrize("language", UNSPACED)
def test_languages_without_spaces_break_between_words(language: str) -> None:
    words = UNSPACED[language].split("|")
    text = "".join(words)
    starts = {segment.start for segment in Itemised(text).segments}
    assert len(starts) > 1
    at = 0
    wanted = set()
    for word in words:
        wanted.add(at)
        at += len(word)
    if language == "Thai":
        assert starts == wanted
    assert starts & wanted > {0}


@pytest.mark.parametrize("language", UNSPACED)
def test_no_line_begins_with_a_vowel_sign(language: str) -> None:
    text = UNSPACED[language].replace("|", "") * 3
    for segment in Itemised(text).segments:
        assert not unicodedata.category(text[segment.start]).startswith("M")


# Words too long, and lines of nothing ----------------------------------------------------


def test_a_word_too_long_at_the_least_size_is_a_finding_and_stays_whole(
    tmp_path: Path,
) -> None:
    word = "Featherstonehaughworthy"
    assert len(Itemised(word).segments) == 1
    design = tag(tmp_path, "min_pt = 20")
    findings = personalize.check(table(word, "Bo"), design).findings
    errors = [f for f in findings if f.severity is Severity.ERROR]
    assert [(f.rule, f.row) for f in errors] == [("does-not-fit", 2)]
    assert errors[0].figures["floor_pt"] == 20
    assert 10 < float(str(errors[0].figures["largest_pt"])) < 20


@pytest.mark.parametrize("text", ["Bo\n\nIo", "\nBo", "Bo\r\n\r\nIo", "שרה\n\nBo"])
def test_an_empty_line_inside_a_cell_is_kept(text: str, tmp_path: Path) -> None:
    paragraph = Paragraph(text, NUNITO)
    empty = [i for i, s in enumerate(paragraph.segments) if s.start == s.end]
    assert empty
    for i in empty:
        assert paragraph.line(i, i).runs == ()
        assert paragraph.line(i, i).ink is None
    assert whole(paragraph).ink is not None
    result = personalize.make(table(text), tag(tmp_path, "max_pt = 12"), tmp_path / "out")
    assert result.made
