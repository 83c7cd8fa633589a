"""Pictures inside artwork: pixels to the inch as poppler counts them on the page."""

import base64
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image

import personalize
from personalize.checks.artwork_findings import artwork_findings
from personalize.checks.coarse_parts import pictures_in
from personalize.design.artwork_render import compile_artwork
from personalize.design.design import Design
from personalize.finding import Finding
from tests.artwork_files import jpeg, load, page, png, saved
from tests.conftest import EDGE, drawing, put
from tests.outside import run

PAPER = '<rect x="-3" y="-3" width="66" height="46" fill="#f4e3c1"/>'
NOISE = Image.fromarray(np.random.default_rng(4).integers(0, 255, (90, 120, 3), np.uint8))
PHOTO = "data:image/png;base64," + base64.b64encode(png(NOISE)).decode()


def tag(folder: Path, inside: str) -> Design:
    put(folder, {"tag.svg": drawing(PAPER + inside + EDGE)})
    return personalize.load_design(folder / "tag.svg")


def told(design: Design) -> list[Finding]:
    return [one for one in artwork_findings(design) if one.rule == "coarse-parts"]


def image(width: float, height: float, more: str = "") -> str:
    return f'<image href="{PHOTO}" width="{width}" height="{height}" {more}/>'


def listed(folder: Path, design: Design) -> list[float]:
    """Give pixels to the inch of the pictures on the page, as pdfimages lists them."""
    (art,) = design.artworks.values()
    x0, y0, x1, y1 = art.box_mm
    data = art.page or compile_artwork(art.svg, x1 - x0, y1 - y0)
    put(folder, {"page.pdf": data})
    rows = run("pdfimages", "-list", folder / "page.pdf").splitlines()[2:]
    pairs = [row.split()[12:14] for row in rows if row.split()[2] == "image"]
    return [min(float(x), float(y)) for x, y in pairs]


PLACED = {
    "as it is": image(20, 15, 'x="10" y="8"'),
    "turned": image(20, 15, 'transform="translate(30 8) rotate(37)"'),
    "stretched": image(30, 10, 'x="10" y="8" preserveAspectRatio="none"'),
    "sliced": image(20, 20, 'x="10" y="8" preserveAspectRatio="xMidYMid slice"'),
    "in a group": f'<g transform="scale(0.5) translate(9 9)">{image(60, 45)}</g>',
    "in a viewport": f'<svg x="9" y="9" width="24" height="18" viewBox="0 0 4 3">'
    f"{image(4, 3)}</svg>",
    "used twice": f'<defs><g id="p">{image(12, 9)}</g></defs>'
    '<use href="#p" x="8" y="8"/><use href="#p" transform="translate(28 8) scale(2)"/>',
    "half clear": image(20, 15, 'x="10" y="8" opacity="0.5"'),
}


@pytest.mark.parametrize("name", PLACED)
def test_pixels_to_the_inch_are_those_of_the_printed_page(
    name: str, tmp_path: Path
) -> None:
    design = tag(tmp_path, PLACED[name])
    (art,) = design.artworks.values()
    mine = sorted(one.px_per_inch for one in pictures_in(art))
    assert mine == pytest.approx(
        sorted(listed(tmp_path, design)), abs=0.51
    )  # whole numbers
    (one,) = told(design)
    assert one.figures["px_per_inch"] == pytest.approx(mine[0], abs=0.1)
    assert one.figures["pictures"] == sum(density < 200 for density in mine)


def test_the_coarsest_is_told_with_its_place(tmp_path: Path) -> None:
    fine = image(12, 9, 'x="4" y="4"')
    design = tag(tmp_path, fine + image(40, 30, 'x="15" y="5"'))
    (one,) = told(design)
    assert one.says == (
        "The picture holds 1 picture with fewer than 200 pixels to the inch, which has 76"
        " (120 x 90 pixels on 40.0 x 30.0 mm, 35 mm from the left and 20 mm from the top"
        " of the drawing): it will show its pixels."
    )
    assert one.severity == "warning"
    assert (one.figures["x_mm"], one.figures["y_mm"]) == pytest.approx((35, 20), abs=0.01)


def test_what_is_fine_or_off_the_piece_or_no_picture_is_not_told(tmp_path: Path) -> None:
    dot = base64.b64encode(png(Image.new("RGB", (2, 2), "plum"))).decode()
    ground = f'<image href="data:image/png;base64,{dot}" width="60" height="40"/>'
    away = image(40, 30, 'x="80" y="5"')
    blur = '<filter id="f"><feGaussianBlur stdDeviation="1"/></filter>'
    soft = '<circle cx="30" cy="20" r="6" fill="plum" filter="url(#f)"/>'
    assert told(tag(tmp_path, ground + away + blur + soft + image(14, 10.5))) == []


def test_pictures_of_a_pdf_page_are_told(tmp_path: Path) -> None:
    pdf = page(b"q 113.4 0 0 85.05 20 10 cm /Own Do Q", (60 * 72 / 25.4, 40 * 72 / 25.4))
    stream = pdf.make_stream(jpeg(NOISE))
    stream.Type, stream.Subtype = pikepdf.Name.XObject, pikepdf.Name.Image
    stream.ColorSpace, stream.Filter = pikepdf.Name.DeviceRGB, pikepdf.Name.DCTDecode
    stream.Width, stream.Height, stream.BitsPerComponent = 120, 90, 8
    images = pikepdf.Dictionary(Own=stream)
    pdf.pages[0].obj.Resources = pikepdf.Dictionary(XObject=images)
    design = load(tmp_path, 'file = "art.pdf"\n', **{"art.pdf": saved(pdf)})
    (one,) = told(design)
    assert one.figures["px_per_inch"] == pytest.approx(76.2, abs=0.1)
    assert listed(tmp_path, design) == [76]


def test_a_picture_that_is_the_artwork_is_told_once(tmp_path: Path) -> None:
    keys = 'file = "a.png"\nwidth_mm = 60\nat = [0, 0]\nextend_edge = true\n'
    design = load(tmp_path, keys, **{"a.png": png(NOISE)})
    rules = [one.rule for one in artwork_findings(design)]
    assert rules.count("coarse-artwork") == 1
    assert "coarse-parts" not in rules
