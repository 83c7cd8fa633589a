"""Artwork holds nothing active and nothing from outside; what breaks is told."""

import base64
import io
import re
import struct
import zlib

import numpy as np
import pikepdf
import pytest
from PIL import Image

from personalize.design.artwork_render import (
    compile_artwork,
)
from personalize.design.svg_clean import safe_value
from tests.artwork_help import NONE, RED, art, at, pixels

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
