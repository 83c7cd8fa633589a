"""Floors of size: script faces, words on allergens, small packages."""

import io
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

import personalize
from personalize.design.toml_values import parse_colour
from personalize.finding import Finding
from personalize.fonts.catalogue import catalogue, find_font
from personalize.rules import Rule
from tests.conftest import EDGE, drawing, put

TOML = '[lines]\nCutting = "#edge"\n'
PT_PER_MM = 72 / 25.4


def design(folder: Path, toml: str) -> personalize.Design:
    put(folder, {"tag.svg": drawing(EDGE), "tag.toml": toml})
    return personalize.load_design(folder / "tag.toml")


def floor(folder: Path, toml: str, colour: str = "#000") -> float:
    """Least size of the first panel."""
    parsed = parse_colour(colour)
    assert parsed is not None
    return design(folder, TOML + toml).panels[0].style.floor_pt(parsed)


def found(folder: Path, toml: str, cells: str) -> tuple[Finding, ...]:
    put(folder, {"guests.csv": cells})
    table = personalize.read_table(folder / "guests.csv")
    return personalize.check(table, design(folder, toml)).findings


def classified(folder: Path, family_class: int, panose: int) -> None:
    """Write a font with other words about itself, by fontTools."""
    font = TTFont(find_font("Lora Regular", Path(), "").path)
    font["OS/2"].sFamilyClass = family_class
    font["OS/2"].panose.bFamilyType = panose
    out = io.BytesIO()
    font.save(out)
    put(folder, {"own.ttf": out.getvalue()})


@pytest.mark.parametrize(
    ("family_class", "panose", "script"),
    [
        # OpenType 1.9.1: IBM Font Class Parameters (class 10 is "Scripts", in the high
        # byte) and PANOSE (family type 3 is "Latin Hand Written").
        (10 << 8, 0, True),
        (10 << 8 | 4, 2, True),
        (0, 3, True),
        (0, 0, False),
        (1 << 8 | 10, 2, False),
        (9 << 8, 4, False),
    ],
)
def test_a_script_face_is_known_by_what_its_file_says(
    tmp_path: Path, family_class: int, panose: int, script: bool
) -> None:
    classified(tmp_path, family_class, panose)
    own = '[type]\nfont = "own.ttf"\n'
    x_height_pt = 1.2 * PT_PER_MM / 0.5  # of Lora
    assert floor(tmp_path, own) == pytest.approx(12.0 if script else 7.0)
    assert x_height_pt < 7.0
    # The design knows better, and a size that it names is what it wants.
    assert floor(tmp_path, own + "script_face = false\n") == pytest.approx(7.0)
    assert floor(tmp_path, own + "script_face = true\n") == pytest.approx(12.0)
    assert floor(tmp_path, own + "min_pt = 9\n") == pytest.approx(9.0)
    assert floor(tmp_path, own, "#fff") == pytest.approx(12.0 if script else 10.0)


def test_what_is_said_of_one_font_does_not_hold_for_another(tmp_path: Path) -> None:
    toml = '[type]\nfont = "Lora Regular"\nscript_face = true\n[[panel]]\nname = "a"\n'
    assert floor(tmp_path, toml) == pytest.approx(12.0)
    assert floor(tmp_path, toml + 'font = "Lora Bold"\n') == pytest.approx(7.0)


def test_the_brush_script_that_ships_is_called_one() -> None:
    assert [font.name for font in catalogue() if font.is_script] == ["Pacifico Regular"]


def test_words_in_a_script_under_12_pt_do_not_fit(tmp_path: Path) -> None:
    toml = TOML + '[type]\nfont = "Pacifico Regular"\nmax_pt = 11\n'
    found_ = [
        f for f in found(tmp_path, toml, "front\nBo\n") if f.rule is Rule.DOES_NOT_FIT
    ]
    assert [f.figures["floor_pt"] for f in found_] == [12.0]


@pytest.mark.parametrize(
    ("cm2", "least_mm"),
    # Regulation (EU) 1169/2011, article 13(2) and (3): less than 80 cm2, 0.9 mm.
    [(None, 1.2), (80, 1.2), (79.9, 0.9), (20, 0.9)],
)
def test_the_x_height_is_that_of_the_regulation(
    tmp_path: Path, cm2: float | None, least_mm: float
) -> None:
    font = find_font("Nunito Regular", Path(), "")
    glyphs = TTFont(font.path)
    x = glyphs["glyf"][glyphs.getBestCmap()[ord("x")]].yMax / glyphs["head"].unitsPerEm
    told = f"package_cm2 = {cm2}\n" if cm2 else ""
    own = '[type]\nfont = "Nunito Regular"\nallergen = true\n' + told
    wanted = least_mm * PT_PER_MM / x
    assert floor(tmp_path, own) == pytest.approx(max(wanted, 0 if least_mm < 1 else 7))
    assert floor(tmp_path, own, "#fff") == pytest.approx(10.0)
    assert floor(tmp_path, own + "min_pt = 8\n") == pytest.approx(8.0)


PANELS = (
    '[[panel]]\nname = "front"\ncolour = "#eee"\n'
    '[[panel.block]]\nname = "dish"\n'
    '[[panel.block]]\nname = "allergens"\nallergen = true\n'
)
LONG = "contains celery mustard sesame molluscs crustaceans lupin sulphites " * 9


def test_only_the_words_on_allergens_weigh_as_errors(tmp_path: Path) -> None:
    cells = "dish,allergens\nSoup,celery\n"
    told = [
        (f.block, f.severity)
        for f in found(tmp_path, TOML + PANELS, cells)
        if f.rule is Rule.FAINT_WORDS
    ]
    assert sorted(told) == [("allergens", "error"), ("dish", "warning")]


def test_words_on_allergens_are_not_to_be_shortened_and_others_may(tmp_path: Path) -> None:
    cells = f"dish,allergens\nSoup {LONG},milk\nStew,{LONG}\n"
    told = {
        f.block: f
        for f in found(tmp_path, TOML + PANELS, cells)
        if f.rule is Rule.DOES_NOT_FIT
    }
    assert {f.severity for f in told.values()} == {"error"}
    assert "Shorten" in told["dish"].do
    assert "horten" not in told["allergens"].do.replace("never shortened", "")
    assert "never shortened" in told["allergens"].do
    assert "shorter_pt" not in told["allergens"].figures


def test_the_notes_on_allergens_are_shown_for_one_panel_too(tmp_path: Path) -> None:
    rules = [f.rule for f in found(tmp_path, TOML + PANELS, "dish,allergens\nSoup,milk\n")]
    assert rules.count(Rule.CARE_ALLERGEN) == 1
    plain = TOML + PANELS.replace("allergen = true\n", "")
    rules = [f.rule for f in found(tmp_path, plain, "dish,allergens\nSoup,milk\n")]
    assert Rule.CARE_ALLERGEN not in rules


def test_no_advice_on_sizes_is_to_shorten_words_on_allergens(tmp_path: Path) -> None:
    panel = '[[panel]]\nname = "front"\nallergen = true\n'
    long = "Celery, mustard and the sulphites of dried fruit in it"
    cells = f'front\n"{long}"\n' + "".join(f"Egg {c}\n" for c in "abcdefghijklm")
    for rule in ("steps", "same"):
        told = found(tmp_path, TOML + panel + f'sizes = "{rule}"\n', cells)
        said = [f.do for f in told if f.rule in (Rule.OWN_SIZE, Rule.HOLDS_BACK)]
        assert said
        assert all("Shorten" not in do and "more room" in do for do in said)
