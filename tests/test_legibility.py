"""Strokes, distance and contrast: against hand-made shapes and published values."""

from pathlib import Path

import numpy as np
import pytest
from fontTools.pens.areaPen import AreaPen

import personalize
from personalize.checks.contrast import Contrast, contrast, luminances
from personalize.checks.strokes import ink_points, stroke_of, thinnest_em
from personalize.design.chosen import NOTHING_CHOSEN
from personalize.design.toml_values import parse_colour
from personalize.finding import Finding
from personalize.fonts.catalogue import catalogue, find_font
from personalize.rules import Rule
from tests.conftest import EDGE, drawing, put

TOML = '[lines]\nCutting = "#edge"\n'
BACK = '<rect width="60" height="40" fill="{}"/>'


def found(
    folder: Path, rule: Rule, toml: str, svg: str = EDGE, cells: str = "front\nBo\n"
) -> list[Finding]:
    put(folder, {"tag.svg": drawing(svg), "tag.toml": toml, "guests.csv": cells})
    design = personalize.load_design(folder / "tag.toml")
    table = personalize.read_table(folder / "guests.csv")
    return [f for f in personalize.check(table, design).findings if f.rule is rule]


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        # Recomputed from the formula of WCAG 2.2, "contrast ratio"; black on white, grey
        # on white and blue on red are common examples of it.
        ("#000", "#fff", 21.0),
        ("#777", "#fff", 4.4781),
        ("#767676", "#fff", 4.5422),
        ("#595959", "#fff", 7.0047),
        ("#f00", "#fff", 3.9985),
        ("#00f", "#f00", 2.1489),
        ("#d4af37", "#fff", 2.1028),
    ],
)
def test_contrast_is_that_of_the_formula(one: str, other: str, ratio: float) -> None:
    a, b = parse_colour(one), parse_colour(other)
    assert a is not None
    assert b is not None
    assert contrast(a.luminance, b.luminance) == pytest.approx(ratio, abs=1e-4)
    assert contrast(b.luminance, a.luminance) == contrast(a.luminance, b.luminance)


def test_the_artwork_is_seen_in_its_own_luminance(tmp_path: Path) -> None:
    half = BACK.format("#777") + '<rect width="30" height="40" fill="#000" opacity="0.5"/>'
    put(tmp_path, {"tag.svg": drawing(half + EDGE), "tag.toml": TOML})
    art = personalize.load_design(tmp_path / "tag.toml").artwork
    seen = luminances(art)
    grey = parse_colour("#777")
    assert grey is not None
    assert seen[seen.shape[0] // 2, -40] == pytest.approx(grey.luminance, abs=0.002)
    darker = parse_colour("#3c3c3c")  # half of #777
    assert darker is not None
    assert seen[seen.shape[0] // 2, 40] == pytest.approx(darker.luminance, abs=0.002)


@pytest.mark.parametrize(
    ("back", "colour", "size", "faint"),
    [
        ("#fff", "#777", 12, True),  # 4.48 is under 4.5: no rounding up
        ("#fff", "#767676", 12, False),
        ("#fff", "#949494", 30, False),  # 3.03: enough for large letters
        ("#fff", "#999", 30, True),  # 2.85
        ("#222", "#fff", 12, False),
        ("#222", "#333", 30, True),
    ],
)
def test_words_are_told_to_be_faint_by_the_published_limits(
    tmp_path: Path, back: str, colour: str, size: int, faint: bool
) -> None:
    toml = TOML + f'[type]\nfont = "Nunito Regular"\nmax_pt = {size}\ncolour = "{colour}"\n'
    assert bool(found(tmp_path, Rule.FAINT_WORDS, toml, BACK.format(back) + EDGE)) is faint


def test_a_rim_makes_words_stand_out(tmp_path: Path) -> None:
    toml = TOML + '[type]\ncolour = "#333"\n'
    svg = BACK.format("#222") + EDGE
    assert found(tmp_path, Rule.FAINT_WORDS, toml, svg)
    assert not found(tmp_path, Rule.FAINT_WORDS, toml + 'rim = "line"\n', svg)


def test_only_what_lies_under_the_ink_counts(tmp_path: Path) -> None:
    # A dark bar along the lower edge: small words stay above it, tall ones reach it.
    bar = BACK.format("#fff") + '<rect y="30" width="60" height="10" fill="#000"/>' + EDGE
    toml = TOML + "[type]\nmax_pt = {}\n"
    assert not found(tmp_path, Rule.FAINT_WORDS, toml.format(14), bar)
    (told,) = found(tmp_path, Rule.FAINT_WORDS, toml.format(200), bar, "front\nQj\n")
    share = told.figures["share"]
    assert isinstance(share, float)
    assert 0.05 < share < 0.6
    assert 1 <= told.figures["contrast"] < told.figures["least"]  # type: ignore[operator]


def test_versions_and_colours_of_rows_are_looked_at_each(tmp_path: Path) -> None:
    layers = f'<g id="a">{BACK.format("#fff")}</g><g id="b">{BACK.format("#000")}</g>'
    toml = TOML + '[[version]]\nname = "day"\nshow = "#a"\n'
    toml += '[[version]]\nname = "night"\nshow = "#b"\n'
    cells = (
        "front,version,text_colour\nAda,day,\nBo,night,\nIvo,night,white\nJo,day,white\n"
    )
    told = found(tmp_path, Rule.FAINT_WORDS, toml, layers + EDGE, cells)
    assert {f.row for f in told} == {3, 5}
    assert "of version night" in next(f for f in told if f.row == 3).says


def test_many_faint_rows_are_told_as_one(tmp_path: Path) -> None:
    cells = "front\n" + "".join(f"Bo {i}\n" for i in range(30))
    toml = TOML + '[type]\ncolour = "#eee"\n'
    (told,) = found(tmp_path, Rule.FAINT_WORDS, toml, EDGE, cells)
    assert told.row is None
    assert told.figures["rows"] == 30
    assert "rows 2-31" in told.says


def test_what_is_hard_to_read_is_an_error_on_allergens(tmp_path: Path) -> None:
    toml = 'use = "allergen"\n' + TOML + '[type]\ncolour = "#eee"\n'
    (told,) = found(tmp_path, Rule.FAINT_WORDS, toml)
    assert told.severity == "error"


def square(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


@pytest.mark.parametrize("wide", [0.02, 0.05, 0.2])
def test_the_stroke_of_a_bar_is_its_width(wide: float) -> None:
    assert stroke_of((square(0, 0, 1, wide),)) == pytest.approx(wide)
    assert stroke_of((square(0, 0, 1, wide)[::-1],)) == pytest.approx(wide)


def test_the_stroke_of_a_ring_is_that_between_its_circles() -> None:
    turns = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    circle = np.column_stack([np.cos(turns), np.sin(turns)])
    assert stroke_of((0.5 * circle, 0.43 * circle)) == pytest.approx(0.07, rel=0.02)


def test_a_thin_bar_in_a_thick_letter_is_found() -> None:
    # A letter H with bars of 0.2 and a cross-bar of 0.03, as one outline.
    outline = [(0, 0), (0.2, 0), (0.2, 0.5), (0.8, 0.5), (0.8, 0), (1, 0), (1, 1)]
    outline += [(0.8, 1), (0.8, 0.53), (0.2, 0.53), (0.2, 1), (0, 1)]
    assert stroke_of((np.array(outline),)) == pytest.approx(0.03)


def test_a_bolder_face_has_thicker_strokes() -> None:
    thin = [
        thinnest_em(find_font(f"Nunito {weight}", Path(), ""))
        for weight in ("Regular", "SemiBold", "Bold", "ExtraBold")
    ]
    assert all(one is not None for one in thin)
    assert thin == sorted(thin, key=float)  # type: ignore[arg-type]


def test_places_under_the_ink_cover_as_much_as_the_outline() -> None:
    # fontTools' own area of an outline is the outside judge.
    font = find_font("Lora Bold", Path(), "")
    for letter in "Hoesg":
        gid = font.face.nominal(letter)
        assert gid is not None
        pen = AreaPen()
        font.face.draw(gid, pen)
        box = font.face.ink(gid)
        assert box is not None
        area = abs(pen.value) / font.face.upem**2
        wide, high = box[2] - box[0], box[3] - box[1]
        cells = max(3, int(wide / 0.06)) * max(3, int(high / 0.06))
        share = len(ink_points(font, gid)) / cells
        assert share == pytest.approx(area / (wide * high), abs=0.12), letter


def test_every_bundled_text_font_has_strokes() -> None:
    for font in catalogue():
        if font.role == "text":
            thin = thinnest_em(font)
            assert thin is not None
            assert 0.02 < thin < 0.2, font.name


def test_thin_strokes_are_told_with_the_size_that_would_do(tmp_path: Path) -> None:
    toml = TOML + '[type]\nfont = "Lora Regular"\nmax_pt = {}\n'
    (told,) = found(tmp_path, Rule.THIN_STROKE, toml.format(10))
    needed = float(told.do.split("at least ")[1].removesuffix(" pt."))
    assert not found(tmp_path, Rule.THIN_STROKE, toml.format(needed + 0.1))
    light = toml.format(needed + 0.1) + 'colour = "#fff"\n'
    dark = BACK.format("#000") + EDGE
    assert found(tmp_path, Rule.THIN_STROKE, light, dark)


def test_letters_are_as_high_as_the_distance_asks_for(tmp_path: Path) -> None:
    # Letter height = distance / 200: 1 m 5 mm. The H of Lora Bold is 0.7 em.
    font = find_font("Lora Bold", Path(), "")
    needed = 5.0 / font.face.cap_height * 72 / 25.4
    toml = TOML + '[type]\nfont = "Lora Bold"\nread_from_m = 1\nmax_pt = {}\n'
    assert not found(tmp_path, Rule.SMALL_FOR_DISTANCE, toml.format(needed + 0.01))
    (told,) = found(tmp_path, Rule.SMALL_FOR_DISTANCE, toml.format(needed - 0.1))
    assert told.figures["least_mm"] == 5.0


def test_a_clear_ground_needs_no_look_at_words(tmp_path: Path) -> None:
    put(tmp_path, {"tag.svg": drawing(BACK.format("#fff") + EDGE), "tag.toml": TOML})
    design = personalize.load_design(tmp_path / "tag.toml")
    (panel,) = design.panels
    assert Contrast(design).ground(panel, NOTHING_CHOSEN, panel.style.colour).clear
