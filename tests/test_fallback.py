"""Fallback fonts: whole clusters, marks in their place, sizes that go together."""

import io
import json
import unicodedata
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

import personalize
from personalize.fonts.catalogue import Font, catalogue, find_font
from personalize.fonts.matching import LARGEST, SMALLEST, match_scale
from personalize.messages.table import Row, Source, Table
from personalize.type.shape import GlyphRun, Paragraph
from tests.conftest import SAMPLES
from tests.fonts_made import boxes_font, plain_letters
from tests.outside import Pdfium

FONTS = {font.name: font for font in catalogue()}
NUNITO = FONTS["Nunito Bold"]
TEXT_FONTS = [font for font in catalogue() if font.role == "text"]


@cache
def file_of(font: Font) -> TTFont:
    """The font file as fontTools reads it."""
    data = io.BytesIO(font.path.read_bytes())
    return TTFont(data, fontNumber=font.index, lazy=True)


def runs(text: str, font: Font) -> tuple[GlyphRun, ...]:
    paragraph = Paragraph(text, font)
    return paragraph.line(0, len(paragraph.segments) - 1).runs


def made(folder: Path, **more: object) -> Font:
    """A font of the maker's own with a letter o, and U+030A, a ring, drawn at the pen."""
    letters = {**plain_letters(), "\u030a": (50.0, 520.0, 150.0, 620.0)}
    boxes_font(letters, **more).save(folder / "own.ttf")  # type: ignore[arg-type]
    return find_font("own.ttf", folder, "test")


# A ring of the font's own: taken if it stands over its letter ---------------------------

GDEF = "table GDEF { GlyphClassDef [u006F], , [u030A], ; } GDEF;"
ANCHORED = f"""
    {GDEF}
    markClass u030A <anchor 100 500> @TOP;
    feature mark {{ pos base u006F <anchor 200 480> mark @TOP; }} mark;
"""
ELSEWHERE = f"""
    {GDEF}
    markClass u030A <anchor 100 500> @TOP;
    feature mark {{ pos base u0061 <anchor 200 480> mark @TOP; }} mark;
"""


def test_a_mark_with_an_anchor_is_set_in_the_own_font(tmp_path: Path) -> None:
    font = made(tmp_path, features=ANCHORED)
    (run,) = runs("foo\u030a", font)
    assert run.font is font
    (ring,) = (i for i, c in enumerate(run.clusters) if c == 3)
    letter = run.clusters.index(2)
    # The anchors meet: GPOS lookup type 4, by hand.
    assert run.xs[ring] == pytest.approx(run.xs[letter] + 0.1)
    assert run.ys[ring] == pytest.approx(-0.02)


def test_a_mark_without_an_anchor_for_its_letter_is_left_to_a_font_that_has_one(
    tmp_path: Path,
) -> None:
    font = made(tmp_path, features=ELSEWHERE)
    assert font.face.covers("o\u030a")
    assert not font.face.sets("o\u030a")
    (run,) = runs("foo\u030a", font)
    assert run.font is not font, "the ring would stand right of its letter"
    assert run.font.name == "Nunito Bold"
    assert Paragraph("foo\u030a", font).borrowed == {"Nunito Bold": "foo\u030a"}


def test_where_no_font_places_it_better_the_own_font_stays(tmp_path: Path) -> None:
    # U+0302 over a private letter that this font alone has.
    letters = {
        **plain_letters(),
        "\ue000": (40.0, 0, 400, 480),
        "\u0302": (50.0, 520, 150, 620),
    }
    features = ELSEWHERE.replace("u030A", "u0302")
    boxes_font(letters, features=features).save(tmp_path / "own.ttf")
    font = find_font("own.ttf", tmp_path, "test")
    assert not font.face.sets("\ue000\u0302")
    paragraph = Paragraph("\ue000\u0302", font)
    assert paragraph.missing == ()
    assert {run.font for run in runs("\ue000\u0302", font)} == {font}


def over_its_letter(run: GlyphRun) -> None:
    """Every mark of a run has its middle over the letter before it, by fontTools."""
    file = file_of(run.font)
    glyphs, names, em = file.getGlyphSet(), file.getGlyphOrder(), file["head"].unitsPerEm

    def box(i: int) -> tuple[float, float]:
        pen = BoundsPen(glyphs)
        glyphs[names[run.ids[i]]].draw(pen)
        assert pen.bounds is not None
        k = run.scale / em
        return run.xs[i] + pen.bounds[0] * k, run.xs[i] + pen.bounds[2] * k

    for i, cluster in enumerate(run.clusters):
        if unicodedata.combining(run.text[cluster]) >= 200:
            base = max(j for j in range(i) if run.clusters[j] < cluster)
            left, right = box(base)
            low, high = box(i)
            assert left - 0.06 < (low + high) / 2 < right + 0.06, run.text


@pytest.mark.parametrize("font", TEXT_FONTS, ids=lambda f: f.name)
def test_marks_of_odd_pairs_stand_over_their_letters(font: Font) -> None:
    # Letters with accents that no font has drawn as one, whatever font takes them.
    for letter in "gmpqwxGMQW":
        for mark in "\u0301\u0302\u0308\u030a\u0304":
            for run in runs(f"n{letter}{mark}n", font):
                over_its_letter(run)


def test_a_letter_that_a_font_left_blank_is_borrowed(tmp_path: Path) -> None:
    letters = {**plain_letters(), "é": None, "\u2800": None}
    boxes_font(letters).save(tmp_path / "own.ttf")
    font = find_font("own.ttf", tmp_path, "test")
    assert Paragraph("Zoé", font).borrowed == {"Nunito Bold": "Zoé"}
    assert Paragraph("Zo \u2800 a", font).borrowed == {}, "an empty Braille cell is blank"


def test_an_emoji_without_an_outline_is_taken_from_the_bundled_font(
    tmp_path: Path,
) -> None:
    # A colour font may keep its outlines in layers alone; its plain glyph is blank.
    boxes_font({**plain_letters(), "🌻": None}).save(tmp_path / "own.ttf")
    font = find_font("own.ttf", tmp_path, "test")
    assert Paragraph("Bo 🌻", font).borrowed == {"Noto Emoji SemiBold": "🌻"}
    letters = {**plain_letters(), "🌻": (0.0, 0.0, 900.0, 900.0)}
    boxes_font(letters).save(tmp_path / "drawn.ttf")
    font = find_font("drawn.ttf", tmp_path, "test")
    assert Paragraph("Bo 🌻", font).borrowed == {}


# Sizes ---------------------------------------------------------------------------------


def top_of(font: Font, letter: str) -> float:
    """Height of a letter by fontTools, in em."""
    file = file_of(font)
    glyphs = file.getGlyphSet()
    pen = BoundsPen(glyphs)
    glyphs[file.getBestCmap()[ord(letter)]].draw(pen)
    assert pen.bounds is not None
    return float(pen.bounds[3]) / file["head"].unitsPerEm


LOW = {"Grek": ("Νίκος", "ν"), "Armn": ("սիրուն", "ս"), "Geor": ("ნინო", "ა")}


@pytest.mark.parametrize("name", ["Nunito Bold", "Lora Bold", "Pacifico Regular"])
@pytest.mark.parametrize("script", LOW)
def test_letters_with_an_x_height_get_that_of_the_design(script: str, name: str) -> None:
    text, letter = LOW[script]
    (run,) = runs(text, FONTS[name])
    assert run.font.role == "fallback"
    assert run.scale * top_of(run.font, letter) == pytest.approx(
        top_of(FONTS[name], "x"), abs=0.001
    )


@pytest.mark.parametrize("text", ["मीरा", "ليلى", "山田", "김민서", "ሰላም", "நிலா"])
def test_other_scripts_go_by_the_latin_letters_drawn_with_them(text: str) -> None:
    (run,) = runs(text, NUNITO)
    middle = sum(top_of(run.font, letter) for letter in "xH")
    ours = sum(top_of(NUNITO, letter) for letter in "xH")
    assert run.scale == pytest.approx(ours / middle, abs=0.001)


def test_emoji_grow_with_the_capitals() -> None:
    sizes = {}
    for name in ("Nunito Bold", "Pacifico Regular", "Baloo 2 Bold"):
        (run,) = runs("🌻", FONTS[name])
        sizes[name] = run.scale / top_of(FONTS[name], "H")
    assert max(sizes.values()) == pytest.approx(min(sizes.values()), abs=0.002)


def test_no_font_is_changed_beyond_reason(tmp_path: Path) -> None:
    for share, limit in ((0.3, SMALLEST), (2.0, LARGEST)):
        letters = {
            c: b and (b[0], b[1], b[2], b[3] * share) for c, b in plain_letters().items()
        }
        boxes_font(letters).save(tmp_path / f"own{share}.ttf")
        font = find_font(f"own{share}.ttf", tmp_path, "test")
        assert match_scale(font, FONTS["Noto Sans SemiBold"], "Grek") == limit


def test_a_fallback_is_set_in_print_at_the_size_that_was_chosen(tmp_path: Path) -> None:
    # A flat Greek capital beside a Latin one, measured in a picture by pdfium.
    (tmp_path / "tag.toml").write_text(
        (SAMPLES / "jar-lid.toml").read_text("utf-8"), "utf-8"
    )
    (tmp_path / "jar-lid.svg").write_bytes((SAMPLES / "jar-lid.svg").read_bytes())
    design = personalize.load_design("jar-lid")
    texts = {"ΓΓΓ": NUNITO}
    heading = design.panels[0].pattern.headings[0]
    table = Table(
        Source("t.csv"), (heading,), tuple(Row(i, (t,)) for i, t in enumerate(texts, 2))
    )
    made = personalize.make(table, design, tmp_path / "out")
    assert made.made
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    text = report["pieces"][0]["texts"][0]  # the other runs round the lid
    (run,) = runs("ΓΓΓ", design.panels[0].style.font)
    high = text["size_pt"] / 72 * 25.4 * run.scale * top_of(run.font, "Γ")
    x0, y0, x1, y1 = text["ink_mm"]
    assert y1 - y0 == pytest.approx(high, abs=0.01)
    k = 20.0
    picture = Pdfium(tmp_path / "out" / "print.pdf").picture(1, k)
    page = picture.shape[0] / k
    part = picture[
        round((page - y1 - 1) * k) : round((page - y0 + 1) * k),
        round(x0 * k) : round(x1 * k),
    ]
    colour = design.panels[0].style.colour
    ink = np.array([colour.red, colour.green, colour.blue]) * 255
    dark = (np.abs(part.astype(float) - ink).sum(axis=2) < 60).any(axis=1)
    assert int(dark.sum()) / k == pytest.approx(high, abs=3 / k)
