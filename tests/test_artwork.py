"""Artwork: the drawing without its die lines, on a page of its own."""

import re

import numpy as np
import pytest
from lxml import etree
from numpy.typing import NDArray

from personalize.design.artwork import artwork_svg
from personalize.design.artwork_render import has_picture
from personalize.design.svg import parse_svg
from personalize.units import MM_PER_PX
from tests.artwork_help import BLUE, NAMES, NONE, PAGE, RED, art, at, pixels, read, sample
from tests.browser import TILE_PX, photograph
from tests.conftest import SAMPLES
from tests.svg_cases import CASES
from tests.svg_made import MM40, drawing


@pytest.mark.parametrize("name", NAMES)
def test_the_lines_of_a_sample_are_gone_and_all_else_is_there(name: str) -> None:
    document, _, bleed = sample(name)
    text = (SAMPLES / f"{name}.svg").read_text("utf-8")
    without = re.sub(r'<g id="lines".*?</g>', "", text, flags=re.DOTALL)
    assert len(without) < len(text)
    ours = artwork_svg(document, document.select("#lines *"), bleed.box)
    plain = artwork_svg(parse_svg(without.encode(), "p.svg"), frozenset(), bleed.box)
    with_lines = artwork_svg(document, frozenset(), bleed.box)
    assert np.array_equal(pixels(ours), pixels(plain))
    assert not np.array_equal(pixels(ours), pixels(with_lines))


def test_the_stroke_of_a_die_line_goes_and_its_fill_stays() -> None:
    one = '<rect id="e" x="10" y="10" width="20" height="20" fill="red" stroke="blue"'
    for style in ("stroke-width='4'", "style='stroke:blue!important;stroke-width:4'"):
        image = pixels(art(f"{one} {style}/>", "#e"))
        assert at(image, 20, 20) == RED
        assert at(image, 11, 20) == RED
        assert at(image, 9, 20) == NONE
    lone = one.replace('"red"', '"none"') + ' stroke-width="4"/>'
    assert at(pixels(art(lone)), 9, 20) == BLUE
    assert not has_picture(art(lone, "#e"))


def test_arrowheads_of_a_die_line_go_too() -> None:
    text = (
        '<marker id="m" markerWidth="9" markerHeight="9" markerUnits="userSpaceOnUse">'
        '<rect width="9" height="9" fill="red"/></marker>'
        '<path id="e" d="M5 5h20v20z" {} stroke="blue" marker-end="url(#m)"/>'
    )
    assert at(pixels(art(text.format('fill="none"'))), 8, 12) == RED
    assert not has_picture(art(text.format('fill="none"'), "#e"))
    filled = pixels(art(text.format('fill="blue"'), "#e"))
    assert at(filled, 8, 12) == NONE
    assert at(filled, 20, 10) == BLUE


def test_of_several_uses_only_the_die_line_goes() -> None:
    text = (
        '<defs><g id="g"><rect id="r" width="6" height="6" fill="none" stroke="red"'
        ' stroke-width="4"/></g></defs>'
        '<use id="a" href="#g" x="4" y="4"/>'
        '<use id="b" href="#g" transform="translate(20 3)" x="4" y="1"/>'
        '<use id="c" href="#g" x="4" y="24"/>'
    )
    image = pixels(art(text, "#b"))
    assert at(image, 4, 7) == RED
    assert at(image, 24, 7) == NONE
    assert at(image, 4, 27) == RED


def test_a_die_line_drawn_itself_goes_and_its_copies_stay() -> None:
    text = (
        '<g id="lines"><rect id="r" x="2" y="2" width="6" height="6" fill="none"'
        ' stroke="red" stroke-width="4"/></g><use id="b" href="#r" x="20"/>'
        '<g id="h"><use href="#lines" y="20"/></g>'
    )
    document = read(text)
    first = frozenset({0})
    image = pixels(artwork_svg(document, first, PAGE))
    assert [at(image, *p) for p in ((2, 5), (22, 5), (2, 25))] == [NONE, RED, RED]
    image = pixels(artwork_svg(document, document.select("#h"), PAGE))
    assert [at(image, *p) for p in ((2, 5), (22, 5), (2, 25))] == [RED, RED, NONE]
    assert not has_picture(artwork_svg(document, document.select("#r"), PAGE))


def test_uses_of_uses_and_symbols_are_taken_apart_rightly() -> None:
    text = (
        '<symbol id="s" viewBox="0 0 10 10"><rect id="r" x="1" y="1" width="8" height="8"'
        ' fill="none" stroke="red" stroke-width="2"/><circle cx="5" cy="5" r="2"'
        ' fill="blue"/></symbol><g id="two"><use id="i" href="#s" width="10" height="10"/>'
        '<use id="j" href="#s" x="50%" width="20" height="20"/></g>'
        '<use id="down" href="#two" y="20" fill="green"/>'
    )
    document = read(text)
    everything = pixels(artwork_svg(document, frozenset(), PAGE))
    gone = document.select("#down") & document.select("#j") & document.select("rect")
    assert len(gone) == 1
    image = pixels(artwork_svg(document, gone, PAGE))
    assert at(everything, 22, 30) == RED
    assert at(image, 22, 30) == NONE
    changed = np.argwhere((everything != image).any(axis=2)) / 4
    assert changed.min(axis=0) == pytest.approx([20, 20], abs=0.3)
    assert changed.max(axis=0) == pytest.approx([40, 40], abs=0.3)
    assert at(image, 30, 30) == BLUE  # what else the symbol draws is still there
    svg = etree.fromstring(artwork_svg(document, gone, PAGE))
    ids = [str(key) for key in svg.xpath("//@id")]
    assert len(ids) == len(set(ids))  # XML 1.0 section 3.3.1: an id names one element


# Source: CSS Masking 1, "The clipPath element" (shapes count whatever their paint is) and
# "The mask element" (paint counts).
@pytest.mark.parametrize("kind", ["clip-path:url(#c)", "mask:url(#m)", "mask:url(#n)"])
def test_a_die_line_that_clips_the_artwork_still_clips(kind: str) -> None:
    text = (
        '<g id="lines" fill="none" stroke="blue" stroke-width="3">'
        '<circle id="e" cx="20" cy="20" r="10"/></g>'
        '<clipPath id="c"><use href="#e"/></clipPath>'
        '<mask id="m"><use href="#e" fill="white"/></mask>'
        '<mask id="n"><g fill="white"><use href="#e"/></g></mask>'
        f'<rect width="40" height="40" fill="red" style="{kind}"/>'
    )
    image = pixels(art(text, "#lines > *"))
    assert at(image, 20, 20) == RED
    assert at(image, 5, 5) == NONE
    assert at(image, 20, 9) == NONE


# Source: SVG 2 chapter 5: a switch draws the first child that it can, and no other.
def test_a_die_line_in_a_switch_uncovers_nothing() -> None:
    text = (
        '<switch><rect id="e" width="9" height="9" fill="none" stroke="red"/>'
        '<rect width="40" height="40" fill="blue"/></switch>'
    )
    assert not has_picture(art(text, "#e"))


def test_artwork_past_the_artboard_is_kept() -> None:
    text = '<rect x="-5" y="-5" width="50" height="50" fill="red"/>'
    svg = art(text, box=(-3, -3, 43, 43))
    image = pixels(svg)
    assert image.shape[:2] == (46 * 4, 46 * 4)
    assert (image == RED).all()
    root = etree.fromstring(svg)
    assert (root.get("width"), root.get("height")) == ("46mm", "46mm")
    assert root.get("viewBox") == "0 0 46 46"


def test_the_box_is_in_page_mm_with_y_up() -> None:
    text = '<rect x="10" y="30" width="2" height="2" fill="red"/>'
    document = read(text, 'width="80mm" height="80mm" viewBox="0 0 40 40"')
    image = pixels(artwork_svg(document, frozenset(), (20, 16, 24, 20)))
    assert (image == RED).all()


# Source: SVG 2 section 8.9: percentages refer to the viewport, which is the drawing's own.
def test_percentages_keep_their_meaning() -> None:
    text = '<rect width="100%" height="50%" fill="red"/><style>svg{overflow:hidden}</style>'
    image = pixels(art(text, box=(-4, -4, 44, 44)))
    red = np.argwhere((image == RED).all(axis=2)) / 4
    assert red.min(axis=0) == pytest.approx([4, 4], abs=0.01)
    assert red.max(axis=0) == pytest.approx([24 - 0.25, 44 - 0.25], abs=0.01)


PX40 = f'width="{TILE_PX}px" height="{TILE_PX}px" viewBox="0 0 40 40"'
PAINTED = {name: text.replace(MM40, PX40) for name, text in CASES.items() if MM40 in text}
PAINTED["effects"] = drawing(
    PX40,
    '<style>.a{fill:url("#g")} #n :nth-child(2n){fill:var(--c,lime)} g+rect{opacity:.5}'
    "</style><linearGradient id='g'><stop stop-color='red'/><stop offset='1'"
    " style='stop-color:blue'/></linearGradient><radialGradient id='h' href='#g' r='.4'/>"
    '<clipPath id="k" clipPathUnits="objectBoundingBox"><circle cx=".5" cy=".5" r=".5"/>'
    '</clipPath><pattern id="t" width="4" height="4" patternUnits="userSpaceOnUse">'
    '<rect width="2" height="2"/></pattern><mask id="m"><rect width="40" height="40"'
    ' fill="url(#g)"/></mask><rect class="a" width="18" height="10"/>'
    '<rect x="20" width="18" height="10" fill="url(#h)" clip-path="url(#k)"/>'
    '<g id="n"><rect y="12" width="5" height="5"/><rect x="8" y="12" width="5" height="5"/>'
    '</g><rect x="16" y="12" width="9" height="9"/>'
    '<rect x="2" y="24" width="16" height="12" fill="url(#t)" stroke="teal"/>'
    '<rect x="22" y="24" width="16" height="12" mask="url(#m)"/>'
    '<rect y="37" width="40" height="3" fill="url(#none) navy" filter="url(#none)"/>',
)


@pytest.fixture(scope="module")
def photos(tmp_path_factory: pytest.TempPathFactory) -> dict[str, NDArray[np.uint8]]:
    return photograph(PAINTED, tmp_path_factory.mktemp("photos"))


# Source: SVG 2 and the CSS modules named in svg_cases.py, as a browser paints them. The
# limit lies above what two ways to smooth edges differ by; a shape of 1 mm2 missing from
# a page of 42 x 42 mm in black alone makes 0.14, and no shape is that small.
@pytest.mark.parametrize("name", PAINTED)
def test_artwork_looks_as_in_a_browser(
    name: str, photos: dict[str, NDArray[np.uint8]]
) -> None:
    document = parse_svg(PAINTED[name].encode(), "case.svg")
    box = (0.0, 0.0, document.width_mm, document.height_mm)
    image = pixels(artwork_svg(document, frozenset(), box), 2 / MM_PER_PX).astype(float)
    assert image.shape[:2] == photos[name].shape[:2]
    alpha = image[:, :, 3:] / 255
    ours = image[:, :, :3] * alpha + 255 * (1 - alpha)
    assert photos[name].min() < 128
    assert np.abs(ours - photos[name]).mean() < 0.6
