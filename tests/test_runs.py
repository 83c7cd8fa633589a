"""How a text is cut into runs: every character in one, clusters whole."""

import unicodedata
from itertools import accumulate, groupby

import icu
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from personalize.type.itemise import Itemised
from personalize.type.manner import JOINED
from personalize.type.shape import Paragraph
from tests.shaped import NUNITO, by_hb_shape, file_of, whole

# Clusters never split -------------------------------------------------------------------

BASES = "aZéőẤЖщΩԱაאבسלمىمहकखபமకಕമກนกဒကខវሀ가ᄀ梅あカ𐤀𞤀𝒜1٣۴५()[]«»,.-–/&'\u25cc "
MARKS = (
    "\u0301\u0308\u0323\u0483\u05b7\u064b\u0651\u0670\u0711\u093e\u093f\u094d\u0bbf\u0c3f"
    "\u0cbf\u0d3f\u0e31\u0eb1\u102d\u17b6\u1161\u11a8\u20d6\u20e3\u302a\u3099\ufe0e\ufe0f"
)
INVISIBLE = (
    "\u200b\u200c\u200d\u200e\u200f\u061c\u2060\u00ad\u00a0\u202a\u202b\u202c\u202d"
    "\u202e\u2066\u2067\u2068\u2069\u0600\u06dd\u0d4e\n\t\r\x1e\u2029"
)
PICTURES = "👩👨👧👍🏽🌾❤☀🇪🇸🏴\U000e0067\U000e0062\U000e007f"
TEXTS = st.text(st.sampled_from(BASES + MARKS * 2 + INVISIBLE + PICTURES), max_size=14)
# Texts that were cut inside a letter before: a mark of another script than its letter,
# a joiner at the end of a right-to-left line, a sign before the letter that it belongs to.
CUT_BEFORE = ("a\u05b7b", "سe\u0483", "אב\u200d", "a\u0600b", "اa\u093fb", "x\u0e34y")


@settings(max_examples=600, deadline=None)
@given(text=TEXTS | st.text(max_size=10), direction=st.sampled_from(["auto", "ltr", "rtl"]))
@example(text=CUT_BEFORE[0], direction="auto")
@example(text=CUT_BEFORE[1], direction="rtl")
@example(text=CUT_BEFORE[2], direction="ltr")
@example(text=CUT_BEFORE[3], direction="auto")
@example(text=CUT_BEFORE[4], direction="auto")
@example(text=CUT_BEFORE[5], direction="auto")
def test_every_character_is_in_one_run_and_no_cluster_in_two(
    text: str, direction: str
) -> None:
    items = Itemised(text, direction)
    places = {0, *(end for _, end in items.clusters)}
    runs = sorted(items.visual_runs(0, len(text)), key=lambda run: run.start)
    assert [run.start for run in runs[1:]] == [run.end for run in runs[:-1]]
    assert [run.start for run in runs[:1]] == [0][: len(text)]
    assert [run.end for run in runs[-1:]] == [len(text)][: len(text)]
    assert {run.start for run in runs} <= places
    for start, end in items.clusters:
        assert len(set(items.scripts[start:end])) == 1


@settings(max_examples=300, deadline=None)
@given(text=TEXTS)
@example(text=CUT_BEFORE[0])
@example(text=CUT_BEFORE[1])
@example(text=CUT_BEFORE[2])
@example(text=CUT_BEFORE[3])
@example(text=CUT_BEFORE[5])
def test_a_line_shapes_each_character_once_and_each_cluster_in_one_run(text: str) -> None:
    paragraph = Paragraph(text, NUNITO)
    ends = {end for _, end in paragraph.items.clusters}
    for i, segment in enumerate(paragraph.segments):
        seen = paragraph.text[segment.start : segment.end]
        runs = paragraph.line(i, i).runs
        if segment.kind.shows_hyphen:
            seen = seen.rstrip("\u00ad") + "-"
        assert sorted("".join(run.text for run in runs)) == sorted(seen)
        if not any(run.rtl for run in runs) and "-" not in seen:
            assert "".join(run.text for run in runs) == seen
            cuts = list(accumulate(len(run.text) for run in runs))[:-1]
            assert {segment.start + cut for cut in cuts} <= ends


@pytest.mark.parametrize("text", CUT_BEFORE)
def test_a_mark_is_shaped_with_its_letter_whatever_its_script(text: str) -> None:
    line = whole(Paragraph(text, NUNITO))
    for start, end in Itemised(text).clusters:
        assert any(text[start:end] in run.text for run in line.runs), text


@pytest.mark.parametrize(
    ("text", "scripts"),
    [
        ("e\u0301", "Latn Latn"),  # an inherited mark
        ("e\u064b", "Latn Latn"),  # a mark of Arabic, inherited too
        ("e\u05b7", "Latn Latn"),  # a mark of Hebrew
        ("ब\u0301", "Deva Deva"),
        ("\u25cc\u093f", "Deva Deva"),  # a base of no script: that of its mark
        ("1\ufe0f\u20e3", "Latn Latn Latn"),
    ],
)
def test_a_cluster_has_the_script_of_its_base(text: str, scripts: str) -> None:
    assert list(Itemised(text).scripts) == scripts.split()


@pytest.mark.parametrize(
    ("text", "scripts"),
    [
        # UAX #24, section 5.2: a closing bracket goes with its opening one.
        ("Bo (Жа) Io", "Latn Latn Latn Latn Cyrl Cyrl Latn Latn Latn Latn"),
        ("Жа [Bo]", "Cyrl Cyrl Cyrl Cyrl Latn Latn Cyrl"),
        ("Bo) Жа", "Latn Latn Latn Latn Cyrl Cyrl"),  # nothing opened
        ("(Жа", "Cyrl Cyrl Cyrl"),  # never closed; nothing before it
        ("Bo (Жа [Io)", "Latn Latn Latn Latn Cyrl Cyrl Cyrl Cyrl Latn Latn Latn"),
    ],
)
def test_brackets_have_the_script_they_stand_in(text: str, scripts: str) -> None:
    assert list(Itemised(text).scripts) == scripts.split()


# Brackets -------------------------------------------------------------------------------

PAIRS = ("()", "[]", "{}", "«»", "‹›")


@pytest.mark.parametrize("pair", PAIRS)
def test_brackets_are_mirrored_in_right_to_left_runs(pair: str) -> None:
    # UAX #9, rule L4; hb-shape mirrors by its own reading of the font and of Unicode.
    opening, closing = pair
    for letters in ("שרה", "سلمى"):
        line = whole(Paragraph(f"{opening}{letters}{closing}", NUNITO))
        theirs = [glyph["g"] for run in line.runs for glyph in by_hb_shape(run)]
        assert [gid for run in line.runs for gid in run.ids] == theirs
        first, last = line.runs[0], line.runs[-1]
        # From the left: a shape that opens, the word, a shape that closes.
        cmaps = [file_of(run.font).getBestCmap() for run in (first, last)]
        names = [file_of(run.font).getGlyphOrder() for run in (first, last)]
        assert names[0][first.ids[0]] == cmaps[0][ord(opening)]
        assert names[1][last.ids[-1]] == cmaps[1][ord(closing)]
        assert first.text[first.clusters[0]] == closing


def test_latin_in_an_arabic_line_is_spelt_forwards() -> None:
    # From the left: the figure, the word in its brackets, then the Arabic name.
    line = whole(Paragraph("يوسف (VIP) 7", NUNITO))
    clusters = [(run, at) for run in line.runs for at in run.clusters]
    seen = [run.text[at] for run, at in clusters]
    once = [run.text[at] for (run, at), _ in groupby(clusters)]
    assert "".join(once).replace(" ", "") == "7)VIP(فسوي"  # brackets by what they mean
    places = {c: i for i, c in enumerate(seen)}
    glyphs = [(run.font, gid) for run in line.runs for gid in run.ids]
    for bracket, drawn in (("(", ")"), (")", "(")):
        font, gid = glyphs[places[bracket]]
        assert gid == font.face.nominal(drawn)
    runs = [shaped for shaped in line.runs if "VIP" in shaped.text]
    assert [shaped.rtl for shaped in runs] == [False]


# Joined scripts ---------------------------------------------------------------------------


def test_scripts_whose_letters_join_are_those_of_unicode() -> None:
    # Joining_Type=Dual_Joining (UAX #44): of which scripts are its characters?
    joining = {
        icu.Script.getScript(code).getShortName()
        for code in range(0x110000)
        if icu.Char.getIntPropertyValue(code, icu.UProperty.JOINING_TYPE) == 2
    }
    assert joining - {"Zyyy", "Zinh"} <= JOINED
    headlined = JOINED - joining
    assert headlined == {"Beng", "Deva", "Guru", "Modi", "Sylo", "Tirh"}
    assert {unicodedata.name(c).split()[0] for c in "कকਕ"} == {
        "DEVANAGARI", "BENGALI", "GURMUKHI"
    }  # fmt: skip
