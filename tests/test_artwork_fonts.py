"""Words in artwork: set in fonts that we choose, and told."""

import io
import shutil
from pathlib import Path

import numpy as np
import pytest
from fontTools.ttLib import TTFont
from PIL import Image

from personalize.design.artwork_fonts import SetText, set_text
from personalize.design.artwork_render import compile_artwork, render_artwork
from personalize.fonts import cut_down, installed
from personalize.fonts.cut_down import PartOfFont
from tests.artwork_help import art
from tests.conftest import ROOT
from tests.outside import run

FONTS = ROOT / "fonts_open"


@pytest.fixture(autouse=True)
def _nothing_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(installed, "installed", lambda: ())


def words(inside: str, folder: Path = ROOT) -> SetText:
    return set_text(art(inside), folder, "jam.svg")


def rules(text: SetText) -> list[str]:
    return [str(one.rule) for one in text.told]


def in_pdf(text: SetText, tmp_path: Path) -> set[str]:
    (tmp_path / "made.pdf").write_bytes(compile_artwork(text.svg, 40, 40, fonts=text.fonts))
    return fonts_of(tmp_path / "made.pdf")


def fonts_of(pdf: Path) -> set[str]:
    """Give the fonts in a PDF as another program names them, without subset's tags."""
    listed = run("pdffonts", pdf).splitlines()[2:]
    return {
        line.split()[0].partition("+")[2].removesuffix("-Identity-H") for line in listed
    }


def test_each_word_has_its_own_font(tmp_path: Path) -> None:
    text = words(
        '<text y="9" font-family="Nunito" font-weight="700">Plum שלום</text>'
        '<text y="19" style="font:5px Pacifico, serif">jam <tspan font-family="Lora">梅'
        "</tspan></text>"
    )
    assert rules(text) == ["artwork-fonts"]
    assert {name.split("-")[0] for name in in_pdf(text, tmp_path)} == {
        *("Nunito", "NotoSansHebrew", "Pacifico", "NotoSansCJKsc"),
    }
    assert "Nunito-Bold" in in_pdf(text, tmp_path)


def test_a_font_beside_the_design_is_taken_and_told(tmp_path: Path) -> None:
    font = TTFont(FONTS / "pacifico/Pacifico-Regular.ttf", recalcTimestamp=False)
    for record in font["name"].names:
        if record.nameID in (1, 4, 16):
            record.string = "Plum Hand"
    font.save(tmp_path / "hand.ttf")
    shutil.copy(ROOT / "README.md", tmp_path / "broken.otf")
    text = words('<text y="9" font-family="Plum Hand">jam</text>', tmp_path)
    (told,) = text.told
    assert "Plum Hand (beside the design)" in told.says
    missing = words('<text y="9" font-family="Plum Hand">jam</text>')
    assert rules(missing) == ["artwork-font-missing", "artwork-fonts"]
    assert "'Plum Hand'" in missing.told[0].says


def test_an_installed_font_is_told_to_be_one(monkeypatch: pytest.MonkeyPatch) -> None:
    found = installed.found_in((FONTS / "pacifico",))
    monkeypatch.setattr(installed, "installed", lambda: found)
    monkeypatch.setattr("personalize.design.artwork_fonts._bundled", _without_pacifico)
    text = words('<text y="9" font-family="Pacifico">jam</text>')
    assert "Pacifico (installed on this machine)" in text.told[0].says
    assert "copy the files" in text.told[0].do


def _without_pacifico() -> tuple[installed.Member, ...]:
    return installed.found_in((FONTS / "nunito", FONTS / "noto-sans"))


def test_a_letter_that_no_font_has_is_told_by_name() -> None:
    text = words('<text y="9" font-family="Nunito">jam\ue123</text>')
    assert rules(text) == ["artwork-letter-missing", "artwork-fonts"]
    assert "U+E123" in text.told[0].says


def test_words_without_a_font_and_general_families_are_bundled_ones() -> None:
    for family in ("", ' font-family="sans-serif"', ' font-family="system-ui"'):
        text = words(f'<text y="9"{family}>jam</text>')
        assert rules(text) == ["artwork-fonts"]
        assert "Noto Sans (bundled)" in text.told[0].says


def test_artwork_without_words_stays_as_it_is() -> None:
    svg = art('<rect width="9" height="9"/>')
    assert set_text(svg, ROOT, "jam.svg") == SetText(svg, (), ())


def test_the_machines_own_fonts_are_not_looked_at(tmp_path: Path) -> None:
    svg = art('<text x="3" y="20" font-size="9" font-family="DejaVu Sans">jam</text>')
    png = render_artwork(svg, 4)
    assert not np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))[:, :, 3].any()
    (tmp_path / "made.pdf").write_bytes(compile_artwork(svg, 40, 40))
    assert fonts_of(tmp_path / "made.pdf") == set()


def test_a_font_is_cut_down_to_its_letters_the_same_each_time() -> None:
    part = PartOfFont(FONTS / "noto-sans-cjk/NotoSansCJK-Bold.ttc", 2, "梅")
    data = part.data()
    with TTFont(io.BytesIO(data)) as font:
        assert set(font.getBestCmap()) == {ord("梅")}
        assert font["name"].getBestFamilyName() == "Noto Sans CJK SC"
    assert len(data) < 60_000
    cut_down._cut_down.cache_clear()
    assert part.data() == data
