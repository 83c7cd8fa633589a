"""Shaped lines: the same glyphs as HarfBuzz gives, in the order Unicode asks for."""

import unicodedata
from functools import cache
from itertools import accumulate
from pathlib import Path

import numpy as np
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.transformPen import TransformPen
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

import personalize
from personalize.finding import Severity
from personalize.fonts.catalogue import Font, catalogue
from personalize.messages.table import Row, Source, Table
from personalize.type.choose_fonts import Missing
from personalize.type.itemise import Itemised, is_blank
from personalize.type.shape import Paragraph
from tests.shaped import (
    FONTS,
    LORA,
    NUNITO,
    PACIFICO,
    TEXT_FONTS,
    by_hb_shape,
    file_of,
    whole,
)


@cache
def characters_of(font: Font) -> frozenset[int]:
    """Characters that a font file's own table maps."""
    return frozenset(file_of(font).getBestCmap())


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


@pytest.mark.parametrize("font", [NUNITO, LORA])
def test_both_sides_of_a_break_are_shaped_anew(font: Font) -> None:
    # Lora joins f and f, and f and i; Nunito kerns A and V. No slice of the whole has the
    # width of a part.
    paragraph = Paragraph("of\u00adfice A\u00adV", font)
    for at, alone in ((0, "of-"), (1, "fice"), (2, "A-"), (3, "V")):
        typed = whole(Paragraph(alone, font))
        assert paragraph.line(at, at).ink == pytest.approx(typed.ink, abs=1e-9)
        drawn = [gid for run in paragraph.line(at, at).runs for gid in run.ids]
        assert drawn == [gid for run in typed.runs for gid in run.ids]
    together = whole(Paragraph("AV", font)).ink
    apart = [whole(Paragraph(letter, font)).ink for letter in "AV"]
    assert together is not None
    assert together[2] < sum(ink[2] for ink in apart if ink is not None)


@pytest.mark.parametrize("font", TEXT_FONTS)
@pytest.mark.parametrize(
    "name", ["Zoë", "Žofie", "Ñusta", "Åsa", "Nguyễn", "Łucja", "Şule"]
)
def test_accents_typed_apart_are_drawn_as_those_typed_together(
    name: str, font: str
) -> None:
    apart = unicodedata.normalize("NFD", name)
    lines = [whole(Paragraph(text, FONTS[font])) for text in (name, apart)]
    one, other = ([gid for run in line.runs for gid in run.ids] for line in lines)
    if one == other:
        assert lines[0].ink == pytest.approx(lines[1].ink, abs=1e-9)
    else:  # the font has no such letter: a mark is set over its base
        assert len(other) > len(one)
    assert {run.font for run in lines[0].runs} == {run.font for run in lines[1].runs}


def test_a_family_is_one_picture_or_one_miss() -> None:
    family = "👨\u200d👩\u200d👧"
    for name in TEXT_FONTS:
        paragraph = Paragraph(f"Bo {family}", FONTS[name])
        holding = [run for run in whole(paragraph).runs if "👨" in run.text]
        assert len(holding) == 1
        assert family in holding[0].text
        if not paragraph.missing:
            assert 0 not in holding[0].ids
        else:
            assert [miss.cluster for miss in paragraph.missing] == [family]


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
