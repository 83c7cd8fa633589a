"""Artwork: without its die lines, safe, as vectors, and run out past the outline."""

import base64
import io
import re
import struct
import tomllib
import zlib

import numpy as np
import pikepdf
import pytest
from lxml import etree
from numpy.typing import NDArray
from PIL import Image

from personalize.design import artwork
from personalize.design.artwork import (
    artwork_svg,
    bare_bleed,
    compile_artwork,
    has_picture,
    render_artwork,
)
from personalize.design.svg import SvgDocument, parse_svg
from personalize.design.svg_clean import safe_value
from personalize.errors import InputError, OwnFaultError
from personalize.geometry.path import Contour, circle
from personalize.geometry.zone import Region, grown, region_of
from personalize.units import FLATTEN_MM, MM_PER_PX, PT_PER_MM
from tests.browser import TILE_PX, photograph
from tests.conftest import SAMPLES
from tests.svg_cases import CASES, MM40, drawing

NAMES = ("herb-tag", "jar-lid", "plant-flag", "table-tent")
PAGE = (0.0, 0.0, 40.0, 40.0)
RED, BLUE, NONE = (255, 0, 0, 255), (0, 0, 255, 255), (0, 0, 0, 0)


def read(inside: str, attributes: str = MM40) -> SvgDocument:
    return parse_svg(drawing(attributes, inside).encode(), "case.svg")


def art(inside: str, lines: str = "", box: tuple[float, ...] = PAGE) -> bytes:
    document = read(inside)
    keys = document.select(lines) if lines else frozenset()
    return artwork_svg(document, keys, (box[0], box[1], box[2], box[3]))


def pixels(svg: bytes, px_per_mm: float = 4.0) -> NDArray[np.uint8]:
    with Image.open(io.BytesIO(render_artwork(svg, px_per_mm))) as opened:
        return np.asarray(opened.convert("RGBA"))


def at(image: NDArray[np.uint8], x: float, y: float) -> tuple[int, ...]:
    """Colour at a point in mm from the top left, at 4 px to the mm."""
    return tuple(int(v) for v in image[int(y * 4), int(x * 4)])


def sample(name: str) -> tuple[SvgDocument, Contour, Region]:
    """Give a sample's drawing, its outline and how far its bleed runs."""
    document = parse_svg((SAMPLES / f"{name}.svg").read_bytes(), f"{name}.svg")
    spec = tomllib.loads((SAMPLES / f"{name}.toml").read_text("utf-8"))
    (edge,) = document.select("#edge")
    outline = document.shapes[edge].contours[0]
    ring = region_of(outline.flattened(FLATTEN_MM))
    return document, outline, grown(ring, spec["margins"]["bleed"])


# --- die lines ------------------------------------------------------------------------


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


# --- page -----------------------------------------------------------------------------


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


# --- safety ---------------------------------------------------------------------------

DOT = (
    "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mP8z8"
    "DwHwAFBQIAX8jx0gAAAABJRU5ErkJggg=="
)


def png(width: int, height: int) -> str:
    """Write a PNG of that size whose data stop at once."""
    head = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    chunk = struct.pack(">I", 13) + head + struct.pack(">I", zlib.crc32(head))
    data = b"\x89PNG\r\n\x1a\n" + chunk
    return "data:image/png;base64," + base64.b64encode(data).decode()


ACTIVE = {
    "script": "<script>alert(1)</script>",
    "event": '<rect width="9" height="9" onclick="alert(1)" onLoad="alert(1)"/>',
    "foreign": "<foreignObject><body xmlns='http://www.w3.org/1999/xhtml'>alert</body>"
    "</foreignObject>",
    "animation": '<rect width="9" height="9"><animate attributeName="x" to="alert"/>'
    '<set attributeName="href" to="alert"/></rect>',
    "link": '<a href="javascript:alert(1)"><rect width="9" height="9"/></a>',
    "import": "<style>@import 'alert.css'; rect{fill:url(alert.svg#a)}</style>"
    '<rect width="9" height="9"/>',
    "escape": r'<rect width="9" height="9" style="fill:\75rl(alert.svg#a)"/>',
    "image set": '<rect width="9" style="mask:image-set(\'alert.png\' 1x)" height="9"/>',
    "source": '<rect width="9" style="filter:src(\'alert.png\')" height="9"/>',
    "attribute": '<rect width="9" height="9" filter="URL(alert.svg#f)"/>',
    "image": '<image href="alert.png" width="9" height="9"/>',
    "image in SVG": '<image href="data:image/svg+xml,alert" width="9" height="9"/>',
    "other namespace": '<x:alert xmlns:x="urn:x"><rect/></x:alert>'
    '<rect xmlns:x="urn:x" x:alert="1" data-x="alert" width="9" height="9"/>',
}


@pytest.mark.parametrize("name", ACTIVE)
def test_what_is_active_or_outside_never_arrives(name: str) -> None:
    svg = art(ACTIVE[name])
    assert b"alert" not in svg
    addresses = set(re.findall(rb"https?://[^\"' ]*", svg))
    assert addresses == {b"http://www.w3.org/2000/svg"}
    assert b"<style" not in svg
    assert b"<!" not in svg


def test_pictures_inside_the_file_are_kept() -> None:
    svg = art(f'<image href="{DOT}" width="40" height="40"/>')
    assert at(pixels(svg), 20, 20) != NONE
    with pikepdf.open(io.BytesIO(compile_artwork(svg, 40, 40))) as pdf:
        assert len(pdf.pages[0].resources.XObject) >= 1


@pytest.mark.parametrize(
    "link",
    [
        png(60_000, 60_000),
        "data:image/png;base64,AAAA",
        "data:image/jpeg;base64,%%%",
        "data:image/gif;base64,R0lGODlhAQABAAAAACw=",
    ],
)
def test_pictures_that_could_do_harm_are_left_out(link: str) -> None:
    assert b"<image" in art(f'<image href="{link}" width="9" height="9"/>')
    assert b"data:" not in art(f'<image href="{link}" width="9" height="9"/>')


@pytest.mark.parametrize("form", ["JPEG", "PNG"])
def test_ordinary_pictures_do_no_harm(form: str) -> None:
    file = io.BytesIO()
    Image.new("RGB", (30, 20), "red").save(file, form)
    packed = base64.b64encode(file.getvalue()).decode()
    link = f"data:image/{form.lower()};base64,{packed}"
    image = pixels(art(f'<image href="{link}" width="30" height="20"/>'))
    assert np.abs(np.subtract(at(image, 15, 10), RED)).max() < 3


def test_safe_values_stay_as_they_are() -> None:
    for text in ("url(#a)", "#123456", "Curly, 'Image Sans'", "rgb(1 2 3 / 40%)"):
        assert safe_value(text) is not None
    assert safe_value("url( '#a' ) red") == "url(#a) red"
    assert safe_value("var(--missing)") is None


# --- PDF ------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_pdf_is_one_page_of_exactly_the_size_in_vectors(name: str) -> None:
    document, _, bleed = sample(name)
    x0, y0, x1, y1 = bleed.box
    svg = artwork_svg(document, document.select("#lines *"), bleed.box)
    made = compile_artwork(svg, x1 - x0, y1 - y0)
    assert compile_artwork(svg, x1 - x0, y1 - y0) == made
    with pikepdf.open(io.BytesIO(made)) as pdf:
        (page,) = pdf.pages
        size = [float(v) for v in page.mediabox]
        assert size == pytest.approx(
            [0, 0, (x1 - x0) * PT_PER_MM, (y1 - y0) * PT_PER_MM], abs=1e-3
        )
        kinds = [str(o.get("/Subtype")) for o in pdf.objects if hasattr(o, "get")]
        assert "/Image" not in kinds
        shadings = [o for o in pdf.objects if hasattr(o, "get") and "/ShadingType" in o]
        assert shadings
        assert "/CreationDate" not in pdf.docinfo


def test_pdf_shows_what_the_png_shows() -> None:
    document, _, bleed = sample("jar-lid")
    svg = artwork_svg(document, document.select("#lines *"), bleed.box)
    x0, y0, x1, y1 = bleed.box
    import pypdfium2

    with pypdfium2.PdfDocument(compile_artwork(svg, x1 - x0, y1 - y0)) as pdf:
        shown = pdf[0].render(scale=4 / PT_PER_MM).to_pil().convert("RGB")
    image = Image.fromarray(pixels(svg))
    paper = Image.new("RGBA", image.size, "white")
    paper.alpha_composite(image)
    difference = np.subtract(paper.convert("RGB"), shown.resize(image.size), dtype=float)
    assert np.abs(difference).mean() < 4


def test_text_stays_text() -> None:
    svg = art('<text x="3" y="20" font-size="9">Plum <a href="#x">jam</a> &amp; co</text>')
    made = compile_artwork(svg, 40, 40)
    with pikepdf.open(io.BytesIO(made)) as pdf:
        assert "/Font" in pdf.pages[0].resources or b"/Font" in made


@pytest.mark.parametrize("svg", [b"", b"<svg", b"\xff\xfe", b"<html/>"])
def test_what_a_renderer_refuses_is_told_in_one_sentence(svg: bytes) -> None:
    with pytest.raises(InputError) as caught:
        compile_artwork(svg, 40, 40, name="herb-tag.svg")
    (problem,) = caught.value.problems
    assert problem.place == "herb-tag.svg"
    assert problem.says.startswith("its picture cannot be drawn")
    assert "Traceback" not in problem.says
    assert "\n" not in problem.says


def test_a_renderer_that_takes_too_long_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(artwork, "LIMIT_S", 0.001)
    with pytest.raises(InputError, match=r"^flag\.svg: its picture takes longer than"):
        compile_artwork(art('<rect width="9" height="9"/>'), 40, 40, name="flag.svg")


def test_a_renderer_that_dies_takes_nothing_with_it() -> None:
    deep = b"<g>" * 30_000 + b"</g>" * 30_000  # overflows a renderer's stack: measured
    svg = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">' + deep + b"</svg>"
    task: dict[str, object] = {"to": "png", "width": 90, "height": 90}
    with pytest.raises(InputError, match="breaks down over its picture|cannot be drawn"):
        artwork._worked(task, svg, "deep.svg")


def test_a_broken_installation_is_not_the_designs_fault() -> None:
    with pytest.raises(OwnFaultError, match="could not be started"):
        artwork._worked({"to": "stone"}, b"<svg/>", "flag.svg")


# --- pictures and bleed ---------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_samples_have_a_picture_and_fill_their_bleed(name: str) -> None:
    document, outline, bleed = sample(name)
    svg = artwork_svg(document, document.select("#lines *"), bleed.box)
    assert has_picture(svg)
    found = bare_bleed(svg, bleed.box, outline, bleed)
    assert (found.share, found.middle) == (0.0, None)


@pytest.mark.parametrize(
    ("inside", "picture"),
    [
        ('<rect width="9" height="9"/>', True),
        ('<rect width="9" height="9" fill="white"/>', True),
        ('<path d="M0 9h30" stroke="red" stroke-width=".05"/>', True),
        ("", False),
        ('<defs><rect width="9" height="9"/></defs>', False),
        ('<rect width="9" height="9" fill="none"/>', False),
        ('<rect width="9" height="9" opacity="0"/>', False),
        ('<rect x="90" width="9" height="9"/>', False),
        ('<g style="display:none"><rect width="9" height="9"/></g>', False),
    ],
)
def test_has_picture(inside: str, *, picture: bool) -> None:
    assert has_picture(art(inside)) is picture


def ring() -> tuple[Contour, Region]:
    outline = circle((20.0, 20.0), 15.0)
    return outline, grown(region_of(outline.flattened(FLATTEN_MM)), 3.0)


@pytest.mark.parametrize(
    ("inside", "share", "where"),
    [
        ("", 1.0, None),
        ('<rect width="40" height="40"/>', 0.0, None),
        ('<rect width="40" height="40" fill="white"/>', 0.0, None),
        ('<circle cx="20" cy="20" r="15"/>', 1.0, None),
        ('<circle cx="20" cy="20" r="16.5"/>', 0.523, None),  # (18^2-16.5^2)/(18^2-15^2)
        ('<rect width="40" height="40" fill-opacity=".3"/>', 1.0, None),
        ('<rect width="40" height="40" fill-opacity=".8"/>', 0.0, None),
        ('<rect x="20" width="20" height="40"/>', 0.5, (3.5, 20.0)),
        ('<rect width="40" height="20"/>', 0.5, (20.0, 3.5)),
        ('<path d="M0 0H40V40H0ZM17 0V20H23V0Z" fill-rule="evenodd"/>', 0.057, (20, 36.5)),
        ('<path d="M0 0H20V40H0ZM20.2 0H40V40H20.2Z"/>', 0.0, None),
    ],
)
def test_bare_bleed(inside: str, share: float, where: tuple[float, float] | None) -> None:
    outline, bleed = ring()
    found = bare_bleed(art(inside, box=bleed.box), bleed.box, outline, bleed)
    assert found.share == pytest.approx(share, abs=0.01)
    if share == 0:
        assert found.middle is None
        return
    assert found.middle is not None
    x, y = found.middle
    assert 14.7 <= np.hypot(x - 20, y - 20) <= 18.3
    if where is not None:
        assert (x, y) == pytest.approx(where, abs=1.6)


def test_of_two_bare_stretches_the_larger_is_named() -> None:
    outline, bleed = ring()
    text = '<path d="M0 0H40V40H0ZM18 0V20H22V0ZM0 15V25H20V15Z" fill-rule="evenodd"/>'
    found = bare_bleed(art(text, box=bleed.box), bleed.box, outline, bleed)
    assert found.middle == pytest.approx((3.5, 20.0), abs=1.6)


def test_pixels_are_those_of_another_decoder() -> None:
    document, _, bleed = sample("herb-tag")
    svg = artwork_svg(document, frozenset(), bleed.box)
    made = render_artwork(svg, 3)
    with Image.open(io.BytesIO(made)) as opened:
        assert np.array_equal(artwork._pixels(made), np.asarray(opened))


def test_equal_input_gives_equal_bytes() -> None:
    document, _, bleed = sample("plant-flag")
    keys = document.select("#lines *")
    first = artwork_svg(document, keys, bleed.box)
    again, _, _ = sample("plant-flag")
    assert artwork_svg(again, again.select("#lines *"), bleed.box) == first
    assert render_artwork(first, 2) == render_artwork(first, 2)
