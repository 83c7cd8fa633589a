"""Hyphenation: only where a design asks for it, by the dictionary of its language."""

from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import personalize
from personalize.checks.kept import read_pieces
from personalize.finding import Severity
from personalize.geometry.zone import region_of
from personalize.type import fit
from personalize.type.contain import Shape
from personalize.type.fit import HYPHEN_PENALTY, Fitting, Rules
from personalize.type.hyphens import has_dictionary
from personalize.type.itemise import BreakKind, Itemised
from personalize.type.manner import Manner
from personalize.type.shape import Paragraph
from tests.shaped import NUNITO, whole
from tests.test_manner import made, table, tag


def pieces(text: str, language: str, typed: str = "") -> list[str]:
    """Cut a text wherever a line may end."""
    manner = Manner(hyphenate=True, typed=typed)
    paragraph = Paragraph(text, NUNITO, language, manner)
    return [text[s.start : s.end] for s in paragraph.segments]


# As libhyphen 2.8.8 cuts them, for which the dictionaries are made (recorded with its
# hnj_hyphen_hyphenate3 and the same least letters at the ends; 57,847 words of names,
# towns and sentences in 25 languages were found equal).
CUT = {
    "de": "Rha-bar-ber-ku-chen Zwetsch-gen-mar-me-lade Kar-tof-fel-sa-lat",
    "de-AT": "Erd-beer-ku-chen",
    "en-US": "straw-berry cu-cum-ber pic-nic har-vest",
    "en-GB": "to-ma-toes straw-berry",
    "fr": "fram-boise po-ti-ron",
    "es": "za-naho-ria mer-me-lada",
    "sv": "jord-gub-bar träd-gård",
    "nl": "aard-beien kom-kom-mer",
    "hu": "ke-nyér",
    "ru": "клуб-ника ого-род",
}


@pytest.mark.parametrize("language", CUT)
def test_words_are_cut_where_libhyphen_cuts_them(language: str) -> None:
    for cut in CUT[language].split():
        assert pieces(cut.replace("-", ""), language) == cut.split("-")


def test_nothing_is_cut_unless_it_is_asked_for() -> None:
    text = "Rhabarberkuchen"
    assert len(Paragraph(text, NUNITO, "de").segments) == 1
    assert len(Itemised(text).segments) == 1


@pytest.mark.parametrize(
    "word",
    [
        "McGillicuddy",  # a capital inside
        "RHABARBERKUCHEN",
        "rhaBarberkuchen",
        "Rhabar\u00adberkuchen",  # a soft hyphen: cut there alone
        "Garten",  # three letters must follow: Gar-ten, but see below
        "Rhabarberku\u0308chen",  # accents that stand apart
    ],
)
def test_words_that_are_left_alone(word: str) -> None:
    manner = Manner(hyphenate=True)
    kinds = {s.kind for s in Paragraph(word, NUNITO, "de", manner).segments}
    assert (BreakKind.SYLLABLE in kinds) == (word == "Garten")


def test_two_letters_stay_before_a_break_and_three_after_it() -> None:
    for language in ("de", "en-US", "fr", "sv", "ru", "hu", "es"):
        for word in ("adobe", "Abend", "ananas", "огурцы", "oasis"):
            parts = pieces(word, language)
            if len(parts) > 1:
                assert len(parts[0]) >= 2
                assert len(parts[-1]) >= 3


def test_words_in_capitals_of_ours_are_cut_as_they_are_typed() -> None:
    shown = "RHABARBERKUCHEN"
    assert "-".join(pieces(shown, "de", "Rhabarberkuchen")) == "RHA-BAR-BER-KU-CHEN"
    assert pieces("STRASSENKUCHEN", "de", "Straßenkuchen") == ["STRASSENKUCHEN"]
    assert pieces("MCGILLICUDDY", "en", "McGillicuddy") == ["MCGILLICUDDY"]


@settings(max_examples=150, deadline=None)
@given(
    words=st.lists(
        st.text(st.sampled_from("Erhabkuceönfsilßи-'\u00ad ."), min_size=1, max_size=14),
        min_size=1,
        max_size=4,
    ),
    language=st.sampled_from(["de", "en-GB", "ru", "hr", "zh", ""]),
)
def test_cutting_adds_and_drops_nothing(words: list[str], language: str) -> None:
    text = " ".join(words)
    plain = Itemised(text).segments
    cut = Paragraph(text, NUNITO, language, Manner(hyphenate=True)).segments
    ends = {segment.end: segment.kind for segment in cut}
    for segment in plain:
        assert ends[segment.end] is segment.kind
    assert "".join(text[s.start : s.end] for s in cut) == "".join(
        text[s.start : s.end] for s in plain
    )
    added = [s for s in cut if s.kind is BreakKind.SYLLABLE]
    assert len(cut) == len(plain) + len(added)
    assert all(text[s.end - 1 : s.end + 1].isalpha() for s in added)


def test_a_break_within_a_word_shows_a_hyphen_and_counts_as_a_soft_one() -> None:
    by_hand = Paragraph("Rhabar\u00adber", NUNITO)
    by_dictionary = Paragraph("Rhabarber", NUNITO, "de", Manner(hyphenate=True))
    assert [s.kind for s in by_dictionary.segments][:2] == [BreakKind.SYLLABLE] * 2
    line = by_dictionary.line(0, 1)
    assert line.text == "Rhabar-"
    assert line.ink == by_hand.line(0, 0).ink
    assert by_dictionary.line(0, 2).text == "Rhabarber"
    assert HYPHEN_PENALTY > 0


def test_a_hyphen_is_kerned_to_its_word() -> None:
    typed, cut = Paragraph("To-", NUNITO), Paragraph("To\u00adgo", NUNITO)
    assert cut.line(0, 0).ink == typed.line(0, 0).ink


def test_a_hyphen_stands_at_the_end_of_its_word_in_a_right_to_left_line() -> None:
    line = Paragraph("שרה to\u00adgether", NUNITO).line(0, 1)
    assert [run.text for run in line.runs] == ["to-", "שרה "]
    line = Paragraph("Bo של\u00adום", NUNITO).line(0, 1)
    assert [run.text for run in line.runs] == ["Bo ", "של-"]
    last = line.runs[-1]
    assert last.text[last.clusters[0]] == "-"  # at the left of the Hebrew word


def test_a_long_word_is_a_finding_without_hyphenation_and_fits_with_it(
    tmp_path: Path,
) -> None:
    word = "Zwetschgenmarmeladenglas"
    keys = 'language = "de"\nmin_pt = 18\nhyphenate = '
    found = {}
    for answer in ("false", "true"):
        design = tag(tmp_path, keys + answer)
        findings = personalize.check(table(word), design).findings
        found[answer] = [f.rule for f in findings if f.severity is Severity.ERROR]
    assert found == {"false": ["does-not-fit"], "true": []}


def test_the_cell_is_kept_exactly_and_a_reader_joins_the_word(tmp_path: Path) -> None:
    word = "Zwetschgenmarmeladenglas"
    out, (text,) = made(tmp_path, 'language = "de"\nhyphenate = true', word)
    lines = text["lines"]
    assert isinstance(lines, list)
    assert len(lines) > 1
    assert all(line.endswith("-") for line in lines[:-1])
    assert "".join(line.rstrip("-") for line in lines) == word == text["text"]
    (piece,) = (p for p in read_pieces(out / "print.pdf") if p.row)
    assert piece.texts == (("front", word),)
    page = pypdfium2.PdfDocument(out / "print.pdf")[0].get_textpage()
    assert word in page.get_text_range().replace("\x02", "").replace("\ufffe", "")


def test_a_language_without_a_dictionary_is_told_in_one_sentence(tmp_path: Path) -> None:
    assert has_dictionary("de")
    assert not has_dictionary("zh")
    assert not has_dictionary("th"), "Thai breaks between words, without hyphens"
    design = tag(tmp_path, 'language = "zh"\nhyphenate = true')
    findings = personalize.check(table("Bo"), design).findings
    (found,) = (f for f in findings if f.rule == "no-hyphenation")
    assert found.severity is Severity.WARNING
    assert "'zh'" in found.says


@pytest.mark.parametrize(("penalty", "broken"), [(HYPHEN_PENALTY, False), (0.0, True)])
def test_a_break_within_a_word_costs_evenness(
    penalty: float, broken: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    # "Gar- / ten im" would be evener than "Garten / im" without the penalty.
    monkeypatch.setattr(fit, "HYPHEN_PENALTY", penalty)
    corners = np.array([(0, 0), (60, 0), (60, 40), (0, 40)], float)
    paragraph = Paragraph("Garten im", NUNITO, "de", Manner(hyphenate=True))
    word = whole(Paragraph("Garten", NUNITO)).ink
    assert word is not None
    size_mm = 0.98 * 60 * Rules().width_share / (word[2] - word[0])
    setting = Fitting(paragraph, Shape(region_of(corners, [])), Rules()).at(size_mm)
    assert setting is not None
    assert len(setting.breaks) == 2
    kinds = {paragraph.segments[last].kind for last in setting.breaks}
    assert (BreakKind.SYLLABLE in kinds) == broken
