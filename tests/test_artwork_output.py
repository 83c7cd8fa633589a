"""Artwork as PDF and as a picture."""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image

from personalize.design import artwork_render, process
from personalize.design.artwork import artwork_svg
from personalize.design.artwork_fonts import set_text
from personalize.design.artwork_render import (
    compile_artwork,
    has_picture,
    render_artwork,
)
from personalize.design.png import png_of, png_pixels
from personalize.errors import InputError, OwnFaultError
from personalize.units import PT_PER_MM
from tests.artwork_help import NAMES, art, pixels, sample


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
        dictionaries = [
            o for o in pdf.objects if isinstance(o, (pikepdf.Dictionary, pikepdf.Stream))
        ]
        assert "/Image" not in [str(o.get("/Subtype")) for o in dictionaries]
        assert any("/ShadingType" in o for o in dictionaries)
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
    text = set_text(svg, Path(), "words.svg")
    made = compile_artwork(text.svg, 40, 40, fonts=text.fonts)
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
    monkeypatch.setattr(process, "LIMIT_S", 0.001)
    with pytest.raises(InputError, match=r"^flag\.svg: its picture takes longer than"):
        compile_artwork(art('<rect width="9" height="9"/>'), 40, 40, name="flag.svg")


def test_a_renderer_that_dies_takes_nothing_with_it() -> None:
    deep = b"<g>" * 30_000 + b"</g>" * 30_000  # overflows a renderer's stack: measured
    svg = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">' + deep + b"</svg>"
    task: dict[str, object] = {"to": "png", "width": 90, "height": 90}
    with pytest.raises(InputError, match=r"breaks down over its picture|cannot be drawn"):
        artwork_render._worked(task, svg, "deep.svg")


def test_a_broken_installation_is_not_the_designs_fault() -> None:
    with pytest.raises(OwnFaultError, match="could not be started"):
        artwork_render._worked({"to": "stone"}, b"<svg/>", "flag.svg")


@pytest.mark.parametrize("name", NAMES)
def test_samples_have_a_picture(name: str) -> None:
    document, _, bleed = sample(name)
    assert has_picture(artwork_svg(document, document.select("#lines *"), bleed.box))


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


def test_pixels_are_those_of_another_decoder() -> None:
    document, _, bleed = sample("herb-tag")
    svg = artwork_svg(document, frozenset(), bleed.box)
    made = render_artwork(svg, 3)
    with Image.open(io.BytesIO(made)) as opened:
        assert np.array_equal(png_pixels(made), np.asarray(opened))
    written = png_of(png_pixels(made))
    with Image.open(io.BytesIO(written)) as opened:
        assert np.array_equal(png_pixels(made), np.asarray(opened))
    assert np.array_equal(png_pixels(made), png_pixels(png_of(png_pixels(made))))


def test_equal_input_gives_equal_bytes() -> None:
    document, _, bleed = sample("plant-flag")
    keys = document.select("#lines *")
    first = artwork_svg(document, keys, bleed.box)
    again, _, _ = sample("plant-flag")
    assert artwork_svg(again, again.select("#lines *"), bleed.box) == first
    assert render_artwork(first, 2) == render_artwork(first, 2)
