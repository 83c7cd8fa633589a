"""Artwork prints as drawn: the picture in our PDF beside what a browser paints."""

import base64
import io
import re

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from personalize.design import artwork_parts
from personalize.design.artwork_parts import pictured_parts, px_per_inch, with_pictures
from personalize.design.artwork_render import compile_artwork, render_artwork
from tests.artwork_cases import CHECK, DRAWINGS
from tests.artwork_help import art, at, pixels, printed
from tests.browser import TILE_PX, photograph
from tests.conftest import ROOT

SCALE = 2
LIMIT = 1.1
"""Of the mean difference in 255. A square of 2 mm missing from a page of 42 mm in mid grey
makes 0.3; two ways to smooth edges alone make up to 0.6 in these drawings."""
TEXT_LIMIT = 2.2
"""A browser rounds where letters stand on a screen; the words in another font make 11."""
PICTURED = {
    "radial gradients": {"a radial gradient that repeats"},
    "blur and shadow": {"a filter"},
    "filters of colour": {"a filter"},
    "filters in symbols and clips": {"a filter"},
}


def with_font(text: str) -> str:
    """Give a browser the bundled font, which is nowhere installed."""
    packed = base64.b64encode((ROOT / "fonts_open/nunito/Nunito-Bold.ttf").read_bytes())
    source = f"url(data:font/ttf;base64,{packed.decode()})"
    face = f"<style>@font-face{{font-family:Nunito;src:{source}}}</style>"
    return text.replace(">", f">{face}", 1)


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> dict[str, NDArray[np.uint8]]:
    shown = {n: with_font(t) if "<text" in t else t for n, t in DRAWINGS.items()}
    return photograph(shown, tmp_path_factory.mktemp("photos"), SCALE)


# Source: SVG 2, Filter Effects 1, CSS Masking 1, Compositing 1, as a browser paints them.
@pytest.mark.parametrize("name", DRAWINGS)
def test_print_looks_as_in_a_browser(
    name: str, photos: dict[str, NDArray[np.uint8]]
) -> None:
    ours = printed(DRAWINGS[name], f"{name}.svg", TILE_PX * SCALE)
    assert photos[name].min() < 128
    limit = TEXT_LIMIT if name == "text" else LIMIT
    assert np.abs(ours.pixels - photos[name]).mean() < limit
    assert {part.why for part in ours.pictures} == PICTURED.get(name, set())


BLUR = '<filter id="f"><feGaussianBlur stdDeviation="1"/></filter>'
DOT = '<circle cx="20" cy="20" r="8" fill="red" filter="url(#f)"/>'


def picture_px(svg: bytes) -> list[tuple[float, int]]:
    """Give the width in mm and in px of every picture in an SVG."""
    found = re.findall(rb'<image .*? width="([^"]*)".*?base64,([^"]*)"', svg)
    data = [(float(w), base64.b64decode(packed)) for w, packed in found]
    return [(w, int.from_bytes(png[16:20], "big")) for w, png in data]


def test_only_the_part_with_a_filter_becomes_a_picture_at_600_px_to_the_inch() -> None:
    rest = '<rect width="9" height="9" fill="blue"/><g><text>a</text></g>'
    svg = with_pictures(art(BLUR + rest + DOT), render_artwork)
    ((width_mm, width_px),) = picture_px(svg)
    assert 16 < width_mm < 25
    assert width_px / width_mm * 25.4 == pytest.approx(600, rel=0.01)
    assert b"<rect" in svg
    assert b"<text" in svg
    assert b"<circle" not in svg
    assert with_pictures(art(rest), render_artwork) == art(rest)


def test_a_picture_stands_where_the_part_stood_under_any_map() -> None:
    text = (
        f'{BLUR}<g transform="rotate(30 20 20) scale(.5 .7)" opacity=".5">'
        f'<g transform="translate(3 9)">{DOT}</g></g>'
    )
    svg = art(text)
    with_picture = pixels(with_pictures(svg, render_artwork)).astype(float)
    assert np.abs(with_picture - pixels(svg)).mean() < 0.4
    assert pixels(svg).any()


def test_what_a_filter_leaves_no_mark_of_is_left_out() -> None:
    text = '<filter id="f"><feFlood flood-opacity="0"/></filter>' + DOT
    assert b"<image" not in with_pictures(art(text), render_artwork)


@pytest.mark.parametrize(
    ("inside", "count"),
    [
        (DOT + DOT, 2),
        (f'<g filter="url(#f)">{DOT}</g>', 1),
        (f'<defs><g id="d">{DOT}</g></defs><use href="#d"/><use href="#d" x="3"/>', 2),
        (f'<defs><g id="d">{DOT}</g></defs>', 0),
        (f'<svg viewBox="0 0 9 9" width="20" height="20">{DOT}</svg>', 1),
        (f'<pattern id="p" width="9" height="9">{DOT}</pattern><path fill="url(#p)"/>', 1),
        (f'<mask id="m">{DOT}</mask><g mask="url(#m)"><rect width="9" height="9"/></g>', 1),
        ('<rect width="9" height="9" style="filter:url(#f)"/>', 1),
        ('<rect width="9" height="9" style="filter:blur(2px)"/>', 1),
        ('<rect width="9" height="9" filter="none"/>', 0),
        ('<text y="9">a<tspan filter="url(#f)">b</tspan></text>', 1),
        ('<radialGradient id="g" spreadMethod="pad"/><path fill="url(#g)"/>', 0),
        (
            '<radialGradient id="g" spreadMethod="repeat"/>'
            '<radialGradient id="h" href="#g"/><path stroke="url(#h)"/>',
            1,
        ),
        ('<linearGradient id="g" spreadMethod="repeat"/><path fill="url(#g)"/>', 0),
    ],
)
def test_parts_are_the_outermost_that_need_it(inside: str, count: int) -> None:
    assert len(pictured_parts(art(BLUR + inside))) == count


def test_a_large_page_is_drawn_coarser(monkeypatch: pytest.MonkeyPatch) -> None:
    small = art(BLUR + DOT)
    assert px_per_inch(small) == 600
    large = art(BLUR + DOT, box=(0, 0, 841, 1189))  # A0
    assert 120 < px_per_inch(large) < 200
    monkeypatch.setattr(artwork_parts, "MOST_PIXELS", 160_000)
    ((width_mm, width_px),) = picture_px(with_pictures(small, render_artwork))
    assert width_px / width_mm == pytest.approx(10, rel=0.05)


# Source: SVG 2, section 8.2: a viewport of the whole document clips in a browser; past an
# artboard there is only more bleed for us.
def test_nothing_is_cut_off_at_the_artboard() -> None:
    text = (
        f'<rect x="-9" y="-9" width="58" height="58" fill="red"/>{BLUR}'
        '<rect x="-9" y="-9" width="20" height="20" fill="blue" filter="url(#f)"/>'
    )
    svg = art(text, box=(-3, -3, 43, 43))
    with pypdfium2.PdfDocument(io.BytesIO(compile_artwork(svg, 46, 46))) as opened:
        shown = np.asarray(opened[0].render(scale=4).to_pil().convert("RGB"))
    assert tuple(shown[-2, -2]) == (255, 0, 0)
    assert tuple(shown[shown.shape[0] // 2, -2]) == (255, 0, 0)
    assert shown[2, 2, 2] > 200
    assert shown[2, 2, 0] < 60


def test_pixelated_pictures_stay_so() -> None:
    text = f'<image href="{CHECK}" width="40" height="40" image-rendering="pixelated"/>'
    image = pixels(art(text))
    assert at(image, 18, 18) == at(image, 2, 2)
    assert at(image, 22, 18) == at(image, 38, 2)
