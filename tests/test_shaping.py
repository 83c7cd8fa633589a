"""Shaped lines: the same glyphs as HarfBuzz gives, in the order Unicode asks for."""

import json
import unicodedata
from functools import cache
from itertools import accumulate, pairwise
from pathlib import Path

import numpy as np
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.transformPen import TransformPen
from fontTools.ttLib import TTFont
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

import personalize
from personalize.finding import Severity
from personalize.fonts.catalogue import Font, catalogue, find_font
from personalize.messages.table import Row, Source, Table
from personalize.type.itemise import BreakKind, Itemised, is_blank
from personalize.type.shape import GlyphRun, Missing, Paragraph, ShapedLine
from tests.outside import run

FONTS = {font.name: font for font in catalogue()}
TEXT_FONTS = sorted(name for name, font in FONTS.items() if font.role == "text")
NUNITO, LORA, PACIFICO = (
    find_font(name, Path(), "test")
    for name in ("Nunito Bold", "Lora Bold", "Pacifico Regular")
)


def whole(paragraph: Paragraph) -> ShapedLine:
    return paragraph.line(0, len(paragraph.segments) - 1)


@cache
def file_of(font: Font) -> TTFont:
    """The font file as fontTools reads it."""
    return TTFont(font.path, fontNumber=font.index, lazy=True)


@cache
def characters_of(font: Font) -> frozenset[int]:
    """Characters that a font file's own table maps."""
    return frozenset(file_of(font).getBestCmap())


def by_hb_shape(shaped: GlyphRun) -> list[dict[str, int]]:
    """Shape a run's text with HarfBuzz's own program: hb-shape(1), in font units."""
    from_outside = run(
        *("hb-shape", "--no-glyph-names", "--output-format=json", "--font-size=upem"),
        *("--cluster-level=1", "--remove-default-ignorables", "--language=und"),
        *(f"--direction={'rtl' if shaped.rtl else 'ltr'}",),
        *(f"--face-index={shaped.font.index}", str(shaped.font.path)),
        *("-u", ",".join(f"{ord(c):x}" for c in shaped.text)),
    )
    glyphs: list[dict[str, int]] = json.loads(from_outside)
    return glyphs


SHAPED = {
    "Latin, kerned": "AVATAR To. Yo, Wave LT",
    "Latin with a ligature": "office fjord affluent",
    "decomposed accents": unicodedata.normalize("NFD", "Zoë Nguyễn Thuỳ Žofie Ñusta"),
    "composed accents": "Zoë Nguyễn Thuỳ Žofie Ñusta",
    "Cyrillic": "Дарина Яблунівська",
    "Greek": "Ελευθερία Ανεμογιάννη",
    "Arabic": "سلمى النعناعي تبّولة",
    "Hebrew": "שָׁלוֹם נועה",
    "Devanagari": "मीनाक्षी ऋषि फूलवती क्षत्रिय",
    "Thai": "ดอกแก้ว สวนสุข น้ำ",
    "Japanese": "梅園さくら きゅうりの浅漬け。",
    "pictures": "🌻 👩🏽‍🌾 👍🏽 1️⃣ 🇪🇸",
}


@pytest.mark.parametrize("font", TEXT_FONTS)
@pytest.mark.parametrize("name", SHAPED)
def test_glyphs_and_places_are_those_of_hb_shape(name: str, font: str) -> None:
    line = whole(Paragraph(SHAPED[name], FONTS[font]))
    pen = 0.0
    glyphs = 0
    for shaped in line.runs:
        theirs = by_hb_shape(shaped)
        em = file_of(shaped.font)["head"].unitsPerEm / shaped.scale
        assert list(shaped.ids) == [glyph["g"] for glyph in theirs]
        assert list(shaped.clusters) == [glyph["cl"] for glyph in theirs]
        for x, y, glyph in zip(shaped.xs, shaped.ys, theirs, strict=True):
            assert x == pytest.approx(pen + glyph["dx"] / em, abs=1e-9)
            assert y == pytest.approx(glyph["dy"] / em, abs=1e-9)
            pen += glyph["ax"] / em
        assert 0 not in shaped.ids, "a letter is drawn as a blank box"
        glyphs += len(theirs)
    assert glyphs >= len(SHAPED[name].split())


def test_kerning_and_marks_are_really_there() -> None:
    # So that the comparison above compares something: pairs move, accents are lifted.
    def reach(text: str) -> float:
        ink = whole(Paragraph(text, NUNITO)).ink
        assert ink is not None
        return ink[2]

    assert reach("AV") < reach("A") + reach("V") - 0.01
    decomposed = whole(Paragraph("E\u0302\u0301", LORA)).ink
    bare = whole(Paragraph("E", LORA)).ink
    assert decomposed is not None
    assert bare is not None
    assert decomposed[3] > bare[3] + 0.1
    (joined,) = whole(Paragraph("سلم", NUNITO)).runs
    assert joined.rtl
    for letter, gid in zip("ملس", joined.ids, strict=True):
        assert gid != joined.font.face.nominal(letter)  # the form that joins its neighbour


@pytest.mark.parametrize("name", SHAPED)
def test_ink_is_the_box_round_the_outlines_as_fonttools_draws_them(name: str) -> None:
    line = whole(Paragraph(SHAPED[name], NUNITO))
    boxes = []
    for shaped in line.runs:
        file = file_of(shaped.font)
        glyphs, names, em = (
            file.getGlyphSet(),
            file.getGlyphOrder(),
            file["head"].unitsPerEm / shaped.scale,
        )
        for gid, x, y in zip(shaped.ids, shaped.xs, shaped.ys, strict=True):
            pen = BoundsPen(glyphs)
            glyphs[names[gid]].draw(TransformPen(pen, (1, 0, 0, 1, x * em, y * em)))
            if pen.bounds is not None:
                boxes.append(np.array(pen.bounds) / em)
    box = np.array(boxes)
    expected = (*box[:, :2].min(axis=0), *box[:, 2:].max(axis=0))
    assert line.ink == pytest.approx(expected, abs=1e-9)


# Cutting lines out ---------------------------------------------------------------------

LETTERS = st.sampled_from("AVTYLWPFQgjyfiîťčŁđøßæþÿ.,’-–/&()1740 \u00a0\u200b\u0301")
KERNED = st.lists(st.text(LETTERS, min_size=1, max_size=9), min_size=1, max_size=6)


@pytest.mark.parametrize("font", TEXT_FONTS)
@settings(max_examples=150, deadline=None)
@given(words=KERNED)
@example(words=[" 0", "1"])
@example(words=["AV", "AVA", "To", "LT", "Y."])
@example(words=["f", "i", "f", "fi"])
@example(words=["rhu\u00adbarb", "To"])
@example(words=["Bo\nAV", "To"])
def test_a_line_cut_from_the_whole_text_has_the_ink_of_the_line_shaped_anew(
    font: str, words: list[str]
) -> None:
    text = " ".join(words)
    assume(not is_blank(text))  # a blank text is never set
    check_table(Paragraph(text, FONTS[font]))


@settings(max_examples=200, deadline=None)
@given(
    words=st.lists(
        st.sampled_from([word for text in SHAPED.values() for word in text.split()]),
        min_size=1,
        max_size=6,
    )
)
def test_in_mixed_scripts_too(words: list[str]) -> None:
    check_table(Paragraph(" ".join(words), PACIFICO))


def check_table(paragraph: Paragraph) -> None:
    table = paragraph.ink_table()
    count = len(paragraph.segments)
    assert table.shape == (count, count, 4)
    for first in range(count):
        for last in range(first, count):
            ink = Paragraph(paragraph.text, paragraph.font).line(first, last).ink
            x0, y0, x1, y1 = ink or (0.0,) * 4
            assert table[first, last] == pytest.approx((x0, x1, -y0, y1), abs=1e-9)


@pytest.mark.parametrize("text", ["rhu\u00adbarb pie", "to\u00adgether"])
def test_a_hyphen_is_shown_at_a_soft_hyphen_only_where_the_line_breaks(text: str) -> None:
    paragraph = Paragraph(text, NUNITO)
    broken, unbroken = paragraph.line(0, 0), whole(paragraph)
    assert broken.text.endswith("-")
    assert "-" not in unbroken.text
    hyphen, plain = NUNITO.face.nominal("-"), NUNITO.face.nominal(" ")
    assert broken.runs[-1].ids[-1] == hyphen
    assert hyphen not in [gid for shaped in unbroken.runs for gid in shaped.ids]
    # The unbroken word looks as if the soft hyphen had not been typed.
    typed_without = whole(Paragraph(text.replace("\u00ad", ""), NUNITO))
    drawn, wanted = (
        [gid for shaped in line.runs for gid in shaped.ids if gid != plain]
        for line in (unbroken, typed_without)
    )
    assert drawn == wanted
    assert unbroken.ink == pytest.approx(typed_without.ink, abs=1e-9)


def test_spaces_at_the_end_of_a_line_take_no_room() -> None:
    alone, before_more = Paragraph("Ann", NUNITO), Paragraph("Ann   Bo", NUNITO)
    assert before_more.line(0, 0).ink == alone.line(0, 0).ink
    assert before_more.line(0, 0).text == "Ann"


# Fonts ---------------------------------------------------------------------------------

# Grapheme clusters of UAX #29 (rules GB9, GB11, GB12 and GB13) and of UTS #51.
CLUSTERS = (
    "e\u0301", "A\u030a\u0301", "o\u0302\u0323", "n\u0303", "क्षि", "นี้", "שָּׁ", "بّ", "が",
    "👩🏽‍🌾", "👨‍👩‍👧", "👍🏽", "🇪🇸", "1️⃣", "🏴󠁧󠁢󠁳󠁣󠁴󠁿", "☀️",
)  # fmt: skip

LEFT_TO_RIGHT = tuple(c for c in CLUSTERS if not Itemised(c).rtl)


@settings(max_examples=120, deadline=None)
@given(
    clusters=st.lists(
        st.sampled_from([*LEFT_TO_RIGHT, *"IoΩЖ梅"]),
        min_size=1,
        max_size=7,
    ),
    font=st.sampled_from(TEXT_FONTS),
)
def test_a_grapheme_cluster_is_never_split_between_fonts(
    clusters: list[str], font: str
) -> None:
    paragraph = Paragraph("".join(clusters), FONTS[font])
    starts = {0, *accumulate(map(len, clusters))}
    for i, segment in enumerate(paragraph.segments):
        runs = [shaped.text for shaped in paragraph.line(i, i).runs]
        assert "".join(runs) == paragraph.text[segment.start : segment.end]
        assert {segment.start + n for n in accumulate(map(len, runs))} <= starts
        assert all(runs)


@pytest.mark.parametrize("font", TEXT_FONTS)
@pytest.mark.parametrize("cluster", CLUSTERS)
def test_a_cluster_is_shaped_in_one_run_of_one_font(cluster: str, font: str) -> None:
    line = whole(Paragraph(f"Io {cluster} Bo", FONTS[font]))
    holding = [shaped for shaped in line.runs if cluster[0] in shaped.text]
    assert len(holding) == 1
    assert cluster in holding[0].text


@pytest.mark.parametrize("name", TEXT_FONTS)
def test_a_word_with_one_borrowed_letter_is_borrowed_whole(name: str) -> None:
    font = FONTS[name]
    own = characters_of(font)
    latin = [chr(c) for c in (*range(0xC0, 0x250), *range(0x1E00, 0x1EFA), 0x2C62)]
    lacking = [
        c for c in latin
        if ord(c) not in own and any(ord(c) in characters_of(f) for f in catalogue())
    ]  # fmt: skip
    assert lacking, "choose another letter: this font has all of these"
    word = f"an{lacking[0]}a"
    line = whole(Paragraph(f"Bo {word} Io", font))
    (holding,) = (shaped for shaped in line.runs if lacking[0] in shaped.text)
    assert word in holding.text
    assert holding.font is not font
    assert all(ord(c) in characters_of(holding.font) for c in word)
    before, after = line.runs[0], line.runs[-1]
    assert (before.font, after.font) == (font, font)
    assert "Bo" in before.text
    assert "Io" in after.text
    borrowed = Paragraph(f"Bo {word} Io", font).borrowed
    assert borrowed == {holding.font.name: word}


@pytest.mark.parametrize("name", TEXT_FONTS)
def test_a_font_that_has_every_letter_sets_them_all(name: str) -> None:
    paragraph = Paragraph("Maeve O'Dwyer & Zoë", FONTS[name])
    assert {shaped.font for shaped in whole(paragraph).runs} == {FONTS[name]}
    assert paragraph.borrowed == {}
    assert paragraph.missing == ()


def nobody_has() -> str:
    """Give a letter that no bundled font has: an Egyptian hieroglyph."""
    letter = "\U00013080"
    assert not any(ord(letter) in characters_of(font) for font in catalogue())
    return letter


def test_a_letter_that_no_font_has_is_reported() -> None:
    letter = nobody_has()
    paragraph = Paragraph(f"Bo {letter} Io{letter}", NUNITO)
    assert paragraph.missing == (Missing(letter, 3), Missing(letter, 7))


def test_a_missing_letter_stops_its_piece_instead_of_being_drawn_blank(
    tmp_path: Path,
) -> None:
    letter = nobody_has()
    table = Table(
        Source("guests.csv"),
        ("name", "back"),
        (Row(2, ("Bo", "")), Row(3, (f"Io {letter}", ""))),
    )
    design = personalize.load_design("plant-flag")
    errors = [
        finding
        for finding in personalize.check(table, design).findings
        if finding.severity is Severity.ERROR
    ]
    assert errors
    assert {(finding.rule, finding.row) for finding in errors} == {("missing-letter", 3)}
    assert all("U+13080" in finding.says for finding in errors)
    assert not personalize.make(table, design, tmp_path / "out").made


# Direction: UAX #9, levels worked out by hand ------------------------------------------

# Each text with its runs from left to right: (part of the text, runs right to left).
DIRECTIONS = {
    # A number after Hebrew is at level 2, the space between them at level 1 (N1).
    "Sara שרה 7": [("Sara ", False), ("7", False), ("שרה ", True)],
    # The first strong letter is Hebrew (P2): all of "Bo 12" is at level 2 (W7).
    "שרה Bo 12": [("Bo 12", False), ("שרה ", True)],
    # A number after Arabic letters is an Arabic number (W2).
    "سلمى 12": [("12", False), ("سلمى ", True)],
    # Brackets round Latin in a Hebrew text take its direction (N0, case c2).
    "שרה (Bo)": [(")", True), ("Bo", False), ("שרה (", True)],
    # Brackets round Hebrew in a Latin text stay Latin (N0, case c1).
    "Bo (שרה) Io": [("Bo (", False), ("שרה", True), (") Io", False)],
    # A hyphen between the two directions takes that of the text (N2).
    "Bo-שרה": [("Bo-", False), ("שרה", True)],
    # A neutral between two Hebrew words goes with them (N1).
    "Bo שרה & לאה Io": [("Bo ", False), ("שרה & לאה", True), (" Io", False)],
    # A text of numbers alone runs left to right (P3).
    "7 & 12": [("7 & 12", False)],
    # Separators inside a number belong to it (W4); a plus sign before it does not.
    "שרה 3,5": [("3,5", False), ("שרה ", True)],
}


@pytest.mark.parametrize("text", DIRECTIONS)
def test_runs_stand_in_the_order_of_the_bidirectional_algorithm(text: str) -> None:
    runs = Itemised(text).visual_runs(0, len(text))
    assert [(text[r.start : r.end], r.rtl) for r in runs] == DIRECTIONS[text]


@pytest.mark.parametrize("text", DIRECTIONS)
def test_glyphs_stand_in_that_order_too(text: str) -> None:
    paragraph = Paragraph(text, NUNITO)
    line = whole(paragraph)
    joined = "".join(shaped.text for shaped in line.runs if not shaped.rtl)
    assert joined == "".join(part for part, rtl in DIRECTIONS[text] if not rtl)
    xs = [x for shaped in line.runs for x in shaped.xs]
    assert xs == sorted(xs)
    for shaped in line.runs:
        order = list(shaped.clusters)
        assert order == sorted(order, reverse=shaped.rtl)


def test_lines_are_broken_first_and_put_in_order_after() -> None:
    # UAX #9, section 3.4: reordering (L1 to L4) works on lines, after breaking.
    text = "Bo שרה לאה Io"
    paragraph = Paragraph(text, NUNITO)
    assert [text[s.start : s.end] for s in paragraph.segments] == ["Bo", "שרה", "לאה", "Io"]
    one = [(shaped.text, shaped.rtl) for shaped in whole(paragraph).runs]
    first = [(shaped.text, shaped.rtl) for shaped in paragraph.line(0, 1).runs]
    second = [(shaped.text, shaped.rtl) for shaped in paragraph.line(2, 3).runs]
    assert merged(one) == ["Bo ", "<שרה לאה", " Io"]
    assert merged(first) == ["Bo ", "<שרה"]
    assert merged(second) == ["<לאה", " Io"]


def test_spaces_at_the_end_of_a_line_go_to_its_end_side() -> None:
    # UAX #9, rule L1; our lines leave such spaces out altogether.
    paragraph = Paragraph("שרה לאה", NUNITO)
    assert [shaped.text for shaped in paragraph.line(0, 0).runs] == ["שרה"]


def test_one_direction_holds_for_all_lines_of_a_cell() -> None:
    items = Itemised("שרה\nBo 7!")
    assert items.rtl
    runs = items.visual_runs(4, 9)
    # In a text that runs right to left the closing sign of "Bo 7!" is at the left.
    assert [(items.text[r.start : r.end], r.rtl) for r in runs] == [
        ("!", True), ("Bo 7", False)
    ]  # fmt: skip


def merged(runs: list[tuple[str, bool]]) -> list[str]:
    """Runs of one direction that follow each other as one, right-to-left ones marked."""
    out: list[str] = []
    last: bool | None = None
    for text, rtl in runs:
        if rtl == last:
            out[-1] = f"<{text}{out[-1][1:]}" if rtl else out[-1] + text
        else:
            out.append(("<" if rtl else "") + text)
        last = rtl
    return out


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
