"""Line art to colour in: lines on white, hiding what was hidden."""

from pathlib import Path

import numpy as np
import pytest

import personalize
from personalize.checks.artwork_findings import artwork_findings
from personalize.design.line_art import LINE_MM, line_art
from tests.artwork_cases import CHECK
from tests.artwork_help import NAMES, art, pixels
from tests.conftest import EDGE, SAMPLES, drawing, put

INK, WHITE, NONE = (26, 26, 26, 255), (255, 255, 255, 255), (0, 0, 0, 0)


def lines(inside: str, cut: str = "") -> np.ndarray:
    return pixels(line_art(art(inside, cut)).svg, 40)


def look(image: np.ndarray, x: float, y: float) -> tuple[int, ...]:
    return tuple(int(v) for v in image[int(y * 40), int(x * 40)])


def test_a_filled_edge_gets_a_thin_line_and_its_fill_turns_white() -> None:
    image = lines('<rect x="10" y="10" width="20" height="20" fill="plum"/>')
    assert look(image, 20, 20) == WHITE
    assert look(image, 10, 20) == INK
    assert look(image, 5, 5) == NONE
    row = image[20 * 40, : 20 * 40, 3] > 0
    dark = (image[20 * 40, : 20 * 40, 0] < 128) & row
    assert dark.sum() / 40 == pytest.approx(LINE_MM, abs=0.05)


def test_lines_are_as_wide_however_a_shape_is_scaled() -> None:
    shape = '<g id="g"><rect width="4" height="4" fill="plum"/></g>'
    image = lines(
        f'<defs>{shape}</defs><use href="#g" transform="translate(9 9) scale(5)"/>'
    )
    dark = image[20 * 40, : 15 * 40, 0][image[20 * 40, : 15 * 40, 3] > 0] < 128
    assert dark.sum() / 40 == pytest.approx(LINE_MM, abs=0.05)


def test_what_was_hidden_stays_hidden_and_what_was_seen_through_hides_nothing() -> None:
    under = '<path d="M0 20H40" stroke="red" stroke-width=".6"/>'
    over = '<rect x="10" y="10" width="20" height="20" fill="plum" opacity="{}"/>'
    assert look(lines(under + over.format(1)), 20, 20) == WHITE
    assert look(lines(under + over.format(0.4)), 20, 20) == INK
    assert look(lines(under + over.format(0.1)), 10, 15) == NONE  # too faint to draw


def test_a_gradient_that_fades_away_has_no_edge() -> None:
    text = (
        '<radialGradient id="g"><stop stop-color="red"/><stop offset="1"'
        ' stop-color="red" stop-opacity="0"/></radialGradient>'
        '<circle cx="20" cy="20" r="9" fill="url(#g)"/>'
    )
    assert not lines(text).any()


def test_own_lines_are_black_and_wide_ones_are_their_edges() -> None:
    thin = lines('<path d="M0 10H40" stroke="pink" stroke-width=".5"/>')
    assert look(thin, 20, 10) == INK
    wide = lines('<path d="M0 10H40" stroke="pink" stroke-width="4"/>')
    assert look(wide, 20, 10) == WHITE
    assert look(wide, 20, 8.1) == INK
    assert look(wide, 20, 11.9) == INK


def test_the_knife_has_no_line_of_ink() -> None:
    image = lines('<rect id="e" x="9" y="9" width="9" height="9" fill="plum"/>', "#e")
    assert look(image, 9, 12)[:3] == WHITE[:3]


def test_photos_are_left_out_and_told(tmp_path: Path) -> None:
    photo = f'<image href="{CHECK}" width="60" height="40"/>'
    assert not lines(photo).any()
    toml = '[lines]\nCutting = "#edge"\n[[version]]\nname = "plum"\n'
    toml += '[[version]]\nname = "to colour in"\nline_art = true\n'
    put(tmp_path, {"tag.svg": drawing(photo + EDGE), "tag.toml": toml})
    design = personalize.load_design(tmp_path / "tag.toml")
    told = [f for f in artwork_findings(design) if f.rule == "no-line-art"]
    assert len(told) == 1
    assert "to colour in" in told[0].says
    coloured, plain = (version.artwork.svg for version in design.versions)
    assert pixels(coloured).any()
    assert not pixels(plain).any()


@pytest.mark.parametrize("name", NAMES)
def test_samples_have_line_art_without_colour(name: str, tmp_path: Path) -> None:
    toml = (SAMPLES / f"{name}.toml").read_text("utf-8")
    more = '\n[[version]]\nname = "to colour in"\nline_art = true\n'
    put(tmp_path, {f"{name}.toml": toml + more})
    put(tmp_path, {f"{name}.svg": (SAMPLES / f"{name}.svg").read_bytes()})
    design = personalize.load_design(tmp_path / f"{name}.toml")
    image = pixels(design.artwork_of("to colour in").svg, 8).astype(int)
    grey = np.abs(image[:, :, :3] - image[:, :, :1]).max(axis=2)[image[:, :, 3] > 250]
    assert grey.max() < 8
    dark = ((image[:, :, 0] < 128) & (image[:, :, 3] > 128)).mean()
    assert 0.02 < dark < 0.3  # lines, and room between them


def test_the_edge_of_line_art_is_paper_and_that_of_colours_is_not(tmp_path: Path) -> None:
    # Colour that stops at the outline: missing bleed as drawn, none in lines on paper.
    short = '<rect x="2" y="2" width="56" height="36" fill="plum"/>' + EDGE
    toml = '[lines]\nCutting = "#edge"\n[[version]]\nname = "plum"\n'
    toml += '[[version]]\nname = "lines"\nline_art = true\n'
    put(tmp_path, {"tag.svg": drawing(short), "tag.toml": toml})
    design = personalize.load_design(tmp_path / "tag.toml")
    missing = [f.says for f in artwork_findings(design) if f.rule == "bleed-missing"]
    assert len(missing) == 1
    assert "version 'plum'" in missing[0]


@pytest.mark.parametrize("name", NAMES)
def test_samples_to_colour_in_lack_no_bleed(name: str, tmp_path: Path) -> None:
    toml = (SAMPLES / f"{name}.toml").read_text("utf-8")
    toml += '\n[[version]]\nname = "lines"\nline_art = true\n'
    svg = (SAMPLES / f"{name}.svg").read_bytes()
    put(tmp_path, {f"{name}.svg": svg, f"{name}.toml": toml})
    design = personalize.load_design(tmp_path / f"{name}.toml")
    rules = {finding.rule for finding in artwork_findings(design)}
    assert not rules & {"bleed-missing", "paper-edge"}
