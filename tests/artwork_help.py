"""What the tests of artwork share: drawings made into pictures that can be asked."""

import io
import tomllib
from dataclasses import dataclass

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from PIL import Image

from personalize.design.artwork import artwork_svg
from personalize.design.artwork_fonts import set_text
from personalize.design.artwork_parts import PicturedPart, pictured_parts
from personalize.design.artwork_render import compile_artwork, render_artwork
from personalize.design.svg import SvgDocument, parse_svg
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region, grown, region_of
from personalize.units import FLATTEN_MM, PT_PER_MM
from tests.conftest import SAMPLES
from tests.svg_made import MM40, drawing

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


@dataclass(frozen=True)
class Printed:
    """A drawing as its PDF looks."""

    pixels: NDArray[np.float64]
    """RGB on white, square."""
    pictures: tuple[PicturedPart, ...]


FINER = 4
"""Ours is drawn that much finer than the browser's before it is compared: readers of PDF
make a line at least a pixel wide, which at a screen's pixels is no hairline any more."""


def printed(text: str, name: str, side_px: int) -> Printed:
    """Compile a square drawing, and show the PDF as another library does."""
    document = parse_svg(text.encode(), name)
    box = (0.0, 0.0, document.width_mm, document.height_mm)
    art = set_text(artwork_svg(document, frozenset(), box), SAMPLES, name)
    size = (document.width_mm, document.height_mm)
    pdf = compile_artwork(art.svg, *size, name=name, fonts=art.fonts)
    with pypdfium2.PdfDocument(io.BytesIO(pdf)) as opened:
        scale = FINER * side_px / (document.width_mm * PT_PER_MM)
        shown = opened[0].render(scale=scale).to_pil().convert("RGB")
    small = shown.resize((side_px, side_px), Image.Resampling.BOX)
    return Printed(np.asarray(small, dtype=float), pictured_parts(art.svg))
