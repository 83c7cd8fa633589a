"""What a design may ask of its type: features, spacing, capitals, direction."""

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import personalize
from personalize.checks.kept import read_pieces
from personalize.finding import Severity
from personalize.fonts.catalogue import Font
from personalize.type.compose import Typesetter
from personalize.type.itemise import cased
from personalize.type.manner import PLAIN, Manner
from personalize.type.shape import Paragraph
from tests.conftest import EDGE, drawing, put
from tests.outside import Pdfium, poppler_text, run, without_marks
from tests.shaped import LORA, NUNITO, PACIFICO, file_of, whole


def tag(folder: Path, keys: str, width: float = 60) -> personalize.Design:
    """Give a bean tag whose type is as the keys say."""
    edge = EDGE.replace('width="56"', f'width="{width - 4}"')
    toml = f'svg = "tag.svg"\n[lines]\nCutting = "#edge"\n[type]\n{keys}\n'
    toml += '[[panel]]\nname = "front"\n'
    put(folder, {"tag.svg": drawing(edge, width), "tag.toml": toml})
    return personalize.load_design(str(folder / "tag.toml"))


def table(*words: str) -> personalize.Table:
    rows = tuple(personalize.Row(i, (word,)) for i, word in enumerate(words, 2))
    return personalize.Table(personalize.Source("guests.csv"), ("front",), rows)


def made(folder: Path, keys: str, *words: str) -> tuple[Path, list[dict[str, object]]]:
    """Make the tags; the folder, and the texts of the report."""
    personalize.make(table(*words), tag(folder, keys), folder / "out")
    report = json.loads((folder / "out" / "report.json").read_text("utf-8"))
    texts = [piece["texts"][0] for piece in report["pieces"] if piece["texts"]]
    return folder / "out", texts


# Features ---------------------------------------------------------------------------------


def by_hb_shape(text: str, font: Font, features: str) -> list[int]:
    from_outside = run(
        *("hb-shape", "--no-glyph-names", "--output-format=json", "--no-positions"),
        *(f"--features={features}", f"--face-index={font.index}", str(font.path), text),
    )
    return [glyph["g"] for glyph in json.loads(from_outside)]


@pytest.mark.parametrize(
    ("font", "text", "features", "written"),
    [
        (NUNITO, "all Alga", (("ss01", 1),), "ss01"),
        (NUNITO, "office", (("liga", 0),), "-liga"),
        (NUNITO, "1/2", (("frac", 1),), "frac"),
        (PACIFICO, "Bo and Sam", (("salt", 2), ("ss02", 1)), "salt=2,ss02"),
        (LORA, "1904", (("tnum", 1), ("kern", 0)), "tnum,-kern"),
    ],
)
def test_features_do_what_hb_shape_does_with_them(
    font: Font, text: str, features: tuple[tuple[str, int], ...], written: str
) -> None:
    line = whole(Paragraph(text, font, manner=Manner(features=features)))
    ids = [gid for shaped in line.runs for gid in shaped.ids]
    assert ids == by_hb_shape(text, font, written)


def test_a_feature_changes_what_is_drawn() -> None:
    plain = whole(Paragraph("1/2", NUNITO)).runs[0].ids
    told = Manner(features=(("frac", 1),))
    assert whole(Paragraph("1/2", NUNITO, manner=told)).runs[0].ids != plain


def test_features_known_are_those_that_fonttools_reads() -> None:
    for font in (NUNITO, LORA, PACIFICO):
        file = file_of(font)
        theirs = {
            record.FeatureTag.strip()
            for name in ("GSUB", "GPOS")
            for record in file[name].table.FeatureList.FeatureRecord
        }
        assert font.face.features == theirs


def test_a_feature_that_the_font_lacks_is_told(tmp_path: Path) -> None:
    design = tag(tmp_path, 'features = ["ss01", "ss09", "-liga", "-swsh"]')
    findings = personalize.check(table("Bo"), design).findings
    (found,) = (finding for finding in findings if finding.rule == "no-feature")
    assert (found.severity, found.panel) == (Severity.NOTE, "front")
    assert found.figures["feature"] == "ss09"


# Letter spacing ---------------------------------------------------------------------------


@settings(max_examples=80, deadline=None)
@given(
    text=st.text(st.sampled_from("AVTofijäőß .-Ж"), min_size=1, max_size=10),
    font=st.sampled_from([NUNITO, LORA, PACIFICO]),
    em=st.sampled_from([0.05, 0.2, -0.05]),
)
def test_spacing_goes_between_letters_and_nowhere_else(
    text: str, font: Font, em: float
) -> None:
    apart = Manner(features=(("liga", 0), ("clig", 0)))
    text = f"o{text.strip()}"
    plain = whole(Paragraph(text, font, manner=apart))
    spaced = whole(Paragraph(text, font, manner=Manner(spacing_em=em)))
    assert plain.ink is not None
    assert spaced.ink is not None
    xs = [x for shaped in plain.runs for x in shaped.xs]
    moved = [x for shaped in spaced.runs for x in shaped.xs]
    letters, n = [], -1
    for shaped in plain.runs:
        last = -1
        for cluster in shaped.clusters:
            n += cluster != last
            last = cluster
            letters.append(n)
    assert moved == pytest.approx([x + i * em for x, i in zip(xs, letters, strict=True)])


def test_no_space_is_left_after_the_last_letter_of_a_line() -> None:
    plain = whole(Paragraph("HIH", NUNITO)).ink
    spaced = whole(Paragraph("HIH", NUNITO, manner=Manner(spacing_em=0.3))).ink
    assert plain is not None
    assert spaced is not None
    assert spaced[2] - plain[2] == pytest.approx(0.6)  # two gaps for three letters
    assert spaced[0] == plain[0]


@settings(max_examples=60, deadline=None)
@given(
    words=st.lists(
        st.sampled_from(["AVA", "office", "fjord", "Zoë", "To", "éa", "שרה", "سلمى", "梅"]),
        min_size=1,
        max_size=5,
    ),
    font=st.sampled_from([NUNITO, LORA]),
)
def test_the_ink_table_is_that_of_the_spaced_lines(words: list[str], font: Font) -> None:
    manner = Manner(spacing_em=0.1)
    paragraph = Paragraph(" ".join(words), font, manner=manner)
    ink = paragraph.ink_table()
    for first in range(len(ink)):
        for last in range(first, len(ink)):
            box = Paragraph(paragraph.text, font, manner=manner).line(first, last).ink
            assert box is not None
            assert ink[first, last] == pytest.approx((box[0], box[2], -box[1], box[3]))


def test_letters_that_join_are_never_torn_apart(tmp_path: Path) -> None:
    spaced = Manner(spacing_em=0.2)
    for text in ("سلمى", "मीनाक्षी", "মীনা"):
        plain = whole(Paragraph(text, NUNITO))
        assert whole(Paragraph(text, NUNITO, manner=spaced)) == plain
        assert Paragraph(text, NUNITO, manner=spaced).unspaced == text
    both = Paragraph("Bo سلمى", NUNITO, manner=spaced)
    assert both.unspaced == "سلمى"
    design = tag(tmp_path, "letter_spacing_em = 0.1")
    found = [
        f
        for f in personalize.check(table("Bo", "Bo سلمى"), design).findings
        if f.rule == "not-spaced"
    ]
    assert [(f.row, f.severity) for f in found] == [(3, Severity.NOTE)]
    assert "سلمى" in found[0].says


@pytest.mark.parametrize("words", ["\u200eBo\u200f", "B\u200fo", "Bo\u200f"])
def test_a_direction_mark_between_spaced_letters_takes_no_room(words: str) -> None:
    # Its run has no glyph at all: ink of the word is where it is without the mark.
    spaced = Manner(direction="ltr", spacing_em=0.1)
    plain = whole(Paragraph("Bo", NUNITO, manner=spaced)).ink
    marked = whole(Paragraph(words, NUNITO, manner=spaced))
    assert any(not run.ids for run in marked.runs)
    assert marked.ink == plain


def test_ligatures_give_way_to_spacing_unless_they_are_asked_for() -> None:
    assert len(whole(Paragraph("fi", LORA)).runs[0].ids) == 1  # the font has a ligature
    spaced = whole(Paragraph("fi", LORA, manner=Manner(spacing_em=0.05)))
    assert len(spaced.runs[0].ids) == 2
    told = Manner(spacing_em=0.05, features=(("liga", 1),))
    assert len(whole(Paragraph("fi", LORA, manner=told)).runs[0].ids) == 1


@pytest.mark.parametrize("em", [0.05, 0.3])
def test_spaced_words_are_read_back_whole(tmp_path: Path, em: float) -> None:
    words = ("Featherfield", "Zoë Ñusta", "Дарина", "שרה לאה")
    out, texts = made(tmp_path, f"letter_spacing_em = {em}\nmax_pt = 14", *words)
    reader = Pdfium(out / "print.pdf")
    for word, text in zip(words, texts, strict=True):
        box = text["ink_mm"]
        assert isinstance(box, list)
        x0, y0, x1, y1 = box
        near = [x0 - 0.5, y0 - 0.5, x1 + 0.5, y1 + 0.5]
        if word != "שרה לאה" or em < 0.1:  # wide gaps in such words are read as spaces
            assert without_marks(reader.text(1, near)) == word
            read = poppler_text(out / "print.pdf", 1, near, 297)
            assert sorted(without_marks(read)) == sorted(word)


# Capitals ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "case", "language", "shown"),
    [
        # Unicode 16.0, section 3.13, SpecialCasing.txt and CLDR's rules by language.
        ("Straße", "upper", "", "STRASSE"),
        ("İpek ılgın", "lower", "tr", "ipek ılgın"),
        ("ipek ılgın", "upper", "tr", "İPEK ILGIN"),
        ("ipek", "upper", "az", "İPEK"),
        ("ipek", "upper", "en", "IPEK"),
        ("i\u0307\u0301", "upper", "lt", "I\u0301"),
        ("Ì", "lower", "lt", "i\u0307\u0300"),
        ("Ελευθερία", "upper", "el", "ΕΛΕΥΘΕΡΙΑ"),
        ("ΟΔΟΣ", "lower", "el", "οδος"[:3] + "ς"),
        ("ijsbrand", "upper", "nl", "IJSBRAND"),
        ("McDonald", "upper", "", "MCDONALD"),
        ("ﬁ", "upper", "", "FI"),
        ("იანვარი", "upper", "ka", "ᲘᲐᲜᲕᲐᲠᲘ"),
        ("Zoë", "as-typed", "", "Zoë"),
    ],
)
def test_capitals_are_those_of_the_language(
    text: str, case: str, language: str, shown: str
) -> None:
    assert cased(text, case, language) == shown


def test_the_line_shows_capitals_while_report_and_pdf_keep_the_cell(tmp_path: Path) -> None:
    keys = 'case = "upper"\nlanguage = "de"'
    out, (text,) = made(tmp_path, keys, "Zoë Weiß")
    assert text["text"] == "Zoë Weiß"
    assert " ".join(map(str, text["lines"])) == "ZOË WEISS"  # type: ignore[call-overload]
    pieces = [piece for piece in read_pieces(out / "print.pdf") if piece.row]
    assert pieces[0].texts == (("front", "Zoë Weiß"),)
    box = text["ink_mm"]
    assert isinstance(box, list)
    assert Pdfium(out / "print.pdf").text(1, box).split() == ["ZOË", "WEISS"]


# Direction --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "direction", "seen"),
    [
        ("Bo שרה", "auto", ["Bo ", "שרה"]),  # UAX #9, P2: the first strong letter
        ("Bo שרה", "rtl", ["שרה", " ", "Bo"]),  # HL1: as the design says
        ("שרה Bo", "ltr", ["שרה", " ", "Bo"]),
        ("7 & 12", "rtl", ["7 & 12"[:1], " & ", "12"][::-1]),
        ("Bo!", "rtl", ["!", "Bo"]),
    ],
)
def test_a_design_may_say_the_direction(text: str, direction: str, seen: list[str]) -> None:
    line = whole(Paragraph(text, NUNITO, manner=Manner(direction=direction)))
    assert [shaped.text for shaped in line.runs] == seen


@pytest.mark.parametrize(
    ("direction", "align", "side"),
    [
        ("auto", "start", "left"),
        ("auto", "end", "right"),
        ("rtl", "start", "right"),
        ("rtl", "end", "left"),
        ("ltr", "start", "left"),
    ],
)
def test_start_and_end_follow_the_direction(
    tmp_path: Path, direction: str, align: str, side: str
) -> None:
    keys = f'direction = "{direction}"\nalign = "{align}"\nmax_pt = 12'
    design = tag(tmp_path, keys)
    typesetter = Typesetter(design)
    (survey,) = typesetter.survey({"front": "Bo\nFeatherfield"})
    short, long = typesetter.compose(survey, 12).lines
    at = {}
    for name, line in (("short", short), ("long", long)):
        assert line.shaped.ink is not None
        size = 12 * 25.4 / 72
        at[name] = (
            line.origin[0] + size * line.shaped.ink[0],
            line.origin[0] + size * line.shaped.ink[2],
        )
    edge = 0 if side == "left" else 1
    assert at["short"][edge] == pytest.approx(at["long"][edge], abs=1e-6)
    assert at["short"][1 - edge] != pytest.approx(at["long"][1 - edge], abs=1)


# Keys -------------------------------------------------------------------------------------


def test_what_is_not_asked_for_is_not_done() -> None:
    assert Manner() == PLAIN
    style = personalize.load_design("plant-flag").panels[0].style
    assert (style.direction, style.case, style.features) == ("auto", "as-typed", ())
    assert (style.letter_spacing_em, style.hyphenate) == (0, False)


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ('direction = "up"', "direction cannot be 'up'"),
        ('case = "title"', "case cannot be 'title'"),
        ('features = ["ss1"]', "'ss1' is no OpenType feature"),
        ('features = ["-ss01=2"]', "'-ss01=2' is no OpenType feature"),
        ("features = [1]", "1 is no OpenType feature"),
        ("letter_spacing_em = 3", "letter_spacing_em must be a number from -0.1 to 1"),
        ('hyphenate = "yes"', "hyphenate must be true or false"),
        ("hyphenate = true", "only by the rules of a language"),
    ],
)
def test_a_wrong_key_is_told_in_one_sentence(tmp_path: Path, keys: str, says: str) -> None:
    with pytest.raises(personalize.InputError) as told:
        tag(tmp_path, keys)
    (problem,) = told.value.problems
    assert says in problem.says
    assert problem.place.startswith("tag.toml, line ")


def test_features_are_read_with_their_values(tmp_path: Path) -> None:
    design = tag(tmp_path, 'features = ["ss01", "-liga", "salt=2", "+kern"]')
    wanted = (("ss01", 1), ("liga", 0), ("salt", 2), ("kern", 1))
    assert design.panels[0].style.features == wanted
