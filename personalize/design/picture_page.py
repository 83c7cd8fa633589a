"""A picture as the artwork of a piece: a PDF page for print, an SVG for screens.

The page holds the pixels as the file has them, at their place; nothing is sampled anew.
"""

import base64
import io
import math
import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pikepdf
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name, Stream

from personalize.design.design import Artwork
from personalize.design.pictures import (
    Pixels,
    edge_colours,
    edge_inks,
    exact_pixels,
    preview,
)
from personalize.design.png import png_of
from personalize.geometry.affine import Affine, scaling, translation
from personalize.geometry.zone import Region
from personalize.units import PT_PER_MM, number

Box = tuple[float, float, float, float]
SCREEN_PX_PER_MM = 12.0
"""Finest that screens and checks are given: 300 px to the inch."""
EDGE_PX_PER_MM = 6.0
"""Of the colours past the edge: they are cut off, and seen only where a cut is off."""
_UPRIGHT = {
    1: Affine(1, 0, 0, 1, 0, 0),
    2: Affine(-1, 0, 0, 1, 1, 0),
    3: Affine(-1, 0, 0, -1, 1, 1),
    4: Affine(1, 0, 0, -1, 0, 1),
    5: Affine(0, -1, -1, 0, 1, 1),
    6: Affine(0, -1, 1, 0, 0, 1),
    7: Affine(0, 1, 1, 0, 0, 0),
    8: Affine(0, 1, -1, 0, 1, 0),
}
"""From the unit square of a picture as its file has it to that of the upright picture, y
up, by its Exif 2.3 orientation."""
_OPAQUE = 250
"""Opacity from which the colour of a pixel is its own."""


@dataclass(frozen=True, slots=True)
class _Ground:
    """Colours of a picture's edge, drawn out round it."""

    samples: NDArray[np.uint8]
    """As a screen shows them, with their opacity."""
    inks: NDArray[np.uint8] | None
    """The same of a picture in four inks."""
    place: Affine
    """From its unit square to that of the picture."""


def picture_artwork(
    path: Path, place: Affine, bleed: Region, stretch_mm: float = 0.0
) -> tuple[Artwork, tuple[str, ...]]:
    """Lay a picture on a piece.

    Parameters
    ----------
    path
        A PNG or JPEG file.
    place
        From the unit square of the upright picture, y up, to the drawing's page mm.
    bleed
        Where it may be seen, in page mm: the page of the result is its box.
    stretch_mm
        How far the colours of its edge are drawn out; 0 for not at all.

    Returns
    -------
    tuple
        The artwork, and what of the file is not printed as it is.

    Raises
    ------
    UnusablePictureError, OSError
        The file cannot be read.
    """
    pixels = exact_pixels(path)
    ground = _ground(path, (place.a, place.d), stretch_mm) if stretch_mm > 0 else None
    across = min(4000, max(1, math.ceil(place.a * SCREEN_PX_PER_MM)))
    shown = [(preview(path, across), place)]
    if ground is not None:
        shown.insert(0, (png_of(ground.samples), place @ ground.place))
    page = _page(pixels, ground, place, bleed.box)
    art = Artwork(screen_svg(shown, bleed), bleed.box, path.name, page=page)
    return art, pixels.told


def screen_svg(shown: list[tuple[bytes, Affine]], bleed: Region) -> bytes:
    """Write an SVG of the box of a region that shows PNG files at their places in it."""
    x0, y0, x1, y1 = bleed.box
    width, height = number(x1 - x0, 6), number(y1 - y0, 6)
    down = Affine(1, 0, 0, -1, -x0, y1)
    images = []
    for png, place in shown:
        matrix = down @ place @ Affine(1, 0, 0, -1, 0, 1)
        images.append(
            '<image width="1" height="1" preserveAspectRatio="none"'
            f' transform="matrix({" ".join(number(v, 7) for v in matrix.tuple)})"'
            f' href="data:image/png;base64,{base64.b64encode(png).decode("ascii")}"/>'
        )
    seen = "".join(
        "M" + " ".join(f"{number(x - x0)} {number(y1 - y)}" for x, y in ring) + "Z"
        for ring in bleed.rings()
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}"><clipPath id="bleed"><path clip-rule="evenodd"'
        f' d="{seen}"/></clipPath><g clip-path="url(#bleed)">{"".join(images)}</g></svg>'
    ).encode()


def _page(pixels: Pixels, ground: _Ground | None, place: Affine, box_mm: Box) -> bytes:
    x0, y0, x1, y1 = box_mm
    with pikepdf.new() as pdf:
        onto = scaling(PT_PER_MM) @ translation(-x0, -y0) @ place
        space = colour_space(pdf, pixels)
        images = Dictionary(Picture=_picture(pdf, pixels, space))
        content = _draw("Picture", onto @ _UPRIGHT[pixels.orientation])
        if ground is not None:
            images["/Edge"] = _edge(pdf, ground, pixels, space)
            content = _draw("Edge", onto @ ground.place) + content
        size = ((x1 - x0) * PT_PER_MM, (y1 - y0) * PT_PER_MM)
        page = pdf.add_blank_page(page_size=(100, 100))
        page.mediabox = Array(
            [0, 0, *(pikepdf.Object.parse(number(v).encode()) for v in size)]
        )
        page.Resources = Dictionary(XObject=images)
        page.Contents = Stream(pdf, content.encode("ascii"))
        out = io.BytesIO()
        pdf.save(out, static_id=True)
    return out.getvalue()


def _draw(name: str, place: Affine) -> str:
    return f"q {' '.join(number(v, 6) for v in place.tuple)} cm /{name} Do Q\n"


def colour_space(pdf: pikepdf.Pdf, pixels: Pixels) -> pikepdf.Object:
    """Give the colour space: that of the file's own profile, where it has one."""
    device = {1: Name.DeviceGray, 3: Name.DeviceRGB, 4: Name.DeviceCMYK}[pixels.channels]
    if pixels.profile is None:
        return device
    profile = Stream(pdf, pixels.profile, N=pixels.channels, Alternate=device)
    return Array([Name.ICCBased, pdf.make_indirect(profile)])


def _picture(pdf: pikepdf.Pdf, pixels: Pixels, space: pikepdf.Object) -> pikepdf.Object:
    size = (pixels.width, pixels.height)
    image = _samples(pdf, size, pixels.data, space, is_jpeg=pixels.is_jpeg)
    if pixels.is_inverted:
        image.Decode = Array([1, 0] * 4)
    if pixels.alpha is not None:
        image.SMask = _samples(pdf, size, pixels.alpha, Name.DeviceGray)
    return image


def _edge(
    pdf: pikepdf.Pdf, ground: _Ground, pixels: Pixels, space: pikepdf.Object
) -> pikepdf.Object:
    samples = ground.samples if ground.inks is None else ground.inks
    size = (samples.shape[1], samples.shape[0])
    data = samples[:, :, : pixels.channels].tobytes()
    image = _samples(pdf, size, data, space)
    image.SMask = _samples(pdf, size, samples[:, :, -1].tobytes(), Name.DeviceGray)
    return image


def _samples(
    pdf: pikepdf.Pdf,
    size: tuple[int, int],
    data: bytes,
    space: pikepdf.Object,
    *,
    is_jpeg: bool = False,
) -> pikepdf.Object:
    stream = Stream(
        pdf,
        b"",
        Type=Name.XObject,
        Subtype=Name.Image,
        Width=size[0],
        Height=size[1],
        ColorSpace=space,
        BitsPerComponent=8,
        Interpolate=True,
    )
    how = Name.DCTDecode if is_jpeg else Name.FlateDecode
    stream.write(data if is_jpeg else zlib.compress(data, 6), filter=how)
    return pdf.make_indirect(stream)


def _ground(path: Path, size_mm: tuple[float, float], by_mm: float) -> _Ground:
    """Draw the colours of the edge out: each pixel takes those of the nearest ink."""
    # A picture of any size gives a ground of at most some 8 million pixels.
    fine = min(EDGE_PX_PER_MM, 2800 / (max(size_mm) + 2 * by_mm))
    wide, high = (max(1, round(side * fine)) for side in size_mm)
    margin = math.ceil(by_mm * fine)
    samples = _drawn_out(edge_colours(path, (high, wide), margin), margin)
    inks = edge_inks(path, (high, wide), margin)
    place = Affine(
        1 + 2 * margin / wide, 0, 0, 1 + 2 * margin / high, -margin / wide, -margin / high
    )
    return _Ground(samples, None if inks is None else _drawn_out(inks, margin), place)


def _drawn_out(samples: NDArray[np.uint8], reach: int) -> NDArray[np.uint8]:
    """Fill what is clear within a reach from the nearest opaque pixel.

    Nearest pixels are passed on in steps of halving length (jump flooding, Rong and Tan
    2006).
    """
    high, wide = samples.shape[:2]
    rows, columns = np.mgrid[0:high, 0:wide].astype(np.int32)
    far = np.int32(4 * (high + wide))
    opaque = samples[:, :, -1] >= _OPAQUE
    near_row = np.where(opaque, rows, -far)
    near_column = np.where(opaque, columns, -far)
    step = 1 << max(0, reach - 1).bit_length()
    while step:
        for down in (-step, 0, step):
            for right in (-step, 0, step):
                _passed_on((near_row, near_column), (rows, columns), (down, right))
        step //= 2
    distance = (near_row - rows).astype(np.int64) ** 2
    distance += (near_column - columns).astype(np.int64) ** 2
    reached = distance <= reach**2
    out = np.zeros_like(samples)
    out[reached] = samples[near_row[reached], near_column[reached]]
    out[reached, -1] = 255
    return out


_Places = tuple[NDArray[np.int32], NDArray[np.int32]]


def _passed_on(near: _Places, own: _Places, by: tuple[int, int]) -> None:
    """Let each pixel take its neighbour's nearest where that is nearer to it."""
    high, wide = own[0].shape
    down, right = by
    if not (down or right) or abs(down) >= high or abs(right) >= wide:
        return
    here = (
        slice(max(0, -down), high - max(0, down)),
        slice(max(0, -right), wide - max(0, right)),
    )
    there = (
        slice(max(0, down), high - max(0, -down)),
        slice(max(0, right), wide - max(0, -right)),
    )
    rows, columns = own[0][here], own[1][here]
    far = [near[0][there], near[1][there]]
    new = (far[0] - rows).astype(np.int64) ** 2 + (far[1] - columns).astype(np.int64) ** 2
    old = (near[0][here] - rows).astype(np.int64) ** 2
    old += (near[1][here] - columns).astype(np.int64) ** 2
    nearer = new < old
    near[0][here] = np.where(nearer, far[0], near[0][here])
    near[1][here] = np.where(nearer, far[1], near[1][here])
