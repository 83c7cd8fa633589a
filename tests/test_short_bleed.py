"""White paper that a drifting cut shows where artwork falls short: how much, and marked."""

import io
import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image
from playwright.sync_api import Browser

import personalize
from personalize.design.design import CUT_SHIFT_MM, Design
from personalize.design.short_bleed import short_of
from personalize.fold.drift import Drift, drifts, shown_short
from tests.conftest import EDGE, drawing, put

TOML = "[lines]\nCutting = {}\n[margins]\nbleed = 2\n"
PALE = "#b9d8c2"
FILLED = f'<rect x="-3" y="-3" width="48" height="46" fill="{PALE}"/>'
"""Runs past the outline, as far as 45 mm across."""
STOPS = f'<rect x="45" y="2" width="13" height="36" fill="{PALE}"/>'
"""The rest of the tag, and ends with its outline."""
DRIFTS = drifts(CUT_SHIFT_MM)
WAYS = {drift.key: drift for drift in DRIFTS}


def design(folder: Path, artwork: str, lines: str = EDGE, more: str = "") -> Design:
    names = '["#edge", "#hole"]' if "hole" in lines else '"#edge"'
    put(folder, {"tag.svg": drawing(artwork + lines)})
    put(folder, {"tag.toml": TOML.format(names) + more})
    return personalize.load_design(folder / "tag.toml")


def shown(one: Design, drift: Drift) -> shapely.Geometry:
    """What the cut shows white, by shapely."""
    short = short_of(one, one.artwork, CUT_SHIFT_MM)
    parts = shown_short(one, short, drift)
    return shapely.union_all([shapely.Polygon(p.outer, p.holes) for p in parts])


def expected(painted: shapely.Geometry, hole: shapely.Geometry, d: Drift) -> float:
    piece = shapely.box(2, 2, 58, 38).difference(hole)
    moved = shapely.affinity.translate(piece, d.dx_mm, d.dy_mm)
    return float(moved.difference(piece).difference(painted).area)


@pytest.mark.parametrize("drift", DRIFTS, ids=lambda d: d.key)
def test_the_white_is_what_the_cut_takes_and_nobody_painted(
    tmp_path: Path, drift: Drift
) -> None:
    one = design(tmp_path, FILLED + STOPS)
    painted = shapely.union(shapely.box(-3, -3, 45, 43), shapely.box(45, 2, 58, 38))
    wanted = expected(painted, shapely.Point(), drift)
    area = shown(one, drift).area
    # A pixel of the picture that is looked at is 0.125 mm: 5 mm2 along the bare edges.
    assert area <= wanted + 0.2
    assert area >= 0.75 * wanted - 0.2
    assert (area > 1) is (wanted > 1)


@pytest.mark.parametrize("key", ["n", "e", "sw"])
def test_a_hole_that_the_picture_leaves_out_shows_white_too(
    tmp_path: Path, key: str
) -> None:
    hole = '<circle id="hole" cx="20" cy="20" r="6" fill="none" stroke="#000"/>'
    ring = "M-3-3H63V43H-3ZM26 20A6 6 0 0 0 14 20A6 6 0 0 0 26 20Z"
    art = f'<path fill-rule="evenodd" fill="{PALE}" d="{ring}"/>'
    one = design(tmp_path, art, EDGE + hole)
    disc = shapely.Point(20, 20).buffer(6, 64)
    wanted = expected(shapely.box(-3, -3, 63, 43).difference(disc), disc, WAYS[key])
    area = shown(one, WAYS[key]).area
    assert 0.75 * wanted < area < wanted + 0.2
    whole = design(tmp_path, art.replace(ring, "M-3-3H63V43H-3Z"), EDGE + hole)
    assert shown(whole, WAYS[key]).area == 0


@pytest.mark.parametrize(
    "artwork",
    [
        "",
        f'<rect x="-3" y="-3" width="66" height="46" fill="{PALE}"/>',
        f'<rect x="8" y="8" width="40" height="20" fill="{PALE}"/>',
        '<rect x="2" y="2" width="56" height="36" fill="#fff"/>',
    ],
    ids=["none", "whole", "away from the edge", "white"],
)
def test_no_white_is_told_where_nothing_is_lacking(tmp_path: Path, artwork: str) -> None:
    one = design(tmp_path, artwork)
    assert short_of(one, one.artwork, CUT_SHIFT_MM) == ()


def test_line_art_and_an_extended_edge_lack_nothing(tmp_path: Path) -> None:
    extended = design(tmp_path, STOPS + FILLED, more="[artwork]\nextend_edge = true\n")
    assert short_of(extended, extended.artwork, CUT_SHIFT_MM) == ()
    version = '[[version]]\nname = "lines"\nline_art = true\n'
    lines = design(tmp_path, STOPS + FILLED, more=version)
    assert short_of(lines, lines.artwork, CUT_SHIFT_MM) == ()


@pytest.fixture(scope="module")
def proofs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    table = personalize.Table(
        personalize.Source("list"), ("front",), (personalize.Row(2, ("Io",)),)
    )
    out = {}
    for name, artwork in (("short", FILLED + STOPS), ("whole", FILLED * 2)):
        folder = tmp_path_factory.mktemp(name)
        wide = artwork.replace('width="48"', 'width="66"') if name == "whole" else artwork
        personalize.proof(table, design(folder, wide), folder / "out")
        out[name] = folder / "out" / "proof.html"
    return out


def test_the_view_of_drift_says_why_white_shows(proofs: dict[str, Path]) -> None:
    said = {name: path.read_text("utf-8") for name, path in proofs.items()}
    assert "the artwork falls short of its bleed" in said["short"]
    assert "no white shows" not in said["short"]
    assert "no white shows" in said["whole"]
    assert 'class="bare"' in said["short"]
    assert 'class="bare"' not in said["whole"]
    ways = re.findall(r"<figcaption><b>([^<]*)</b>([^<]*)<", said["short"])
    white = {way for way, told in ways if "white paper shows" in told}
    assert white == {
        "up", "down", "to the right", "up and to the right", "down and to the right",
        "up and to the left", "down and to the left",
    }  # fmt: skip


def marks(shot: bytes) -> int:
    """Count pixels in the colour of the mark, #8c1d40."""
    with Image.open(io.BytesIO(shot)) as picture:
        pixels = np.asarray(picture.convert("RGB")).astype(int)
    return int((np.abs(pixels - (0x8C, 0x1D, 0x40)).max(axis=2) < 40).sum())


def test_a_piece_is_marked_as_soon_as_its_cut_is_moved(
    browser: Browser, proofs: dict[str, Path]
) -> None:
    page = browser.new_page(device_scale_factor=2)
    page.goto(proofs["short"].as_uri())
    face = page.locator("#row-2 .d0-face-0 svg")
    found = {}
    for key in ("o", "e", "w"):
        page.locator(f"#way-{key}").check()
        found[key] = marks(face.screenshot())
    assert found["o"] == found["w"] == 0
    assert found["e"] > 100
    page.goto(proofs["whole"].as_uri())
    page.locator("#way-e").check()
    assert marks(page.locator("#row-2 .d0-face-0 svg").screenshot()) == 0
    page.close()


@pytest.mark.parametrize("name", personalize.sample_names())
def test_the_white_of_a_pattern_is_not_taken_for_missing_bleed(name: str) -> None:
    sample = personalize.load_design(name)
    for art in sample.artworks.values():
        assert short_of(sample, art, CUT_SHIFT_MM) == ()
