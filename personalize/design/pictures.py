"""Pictures of rows and of artwork: PNG and JPEG files, upright, ready to be printed.

With `picture_file`, which opens them, the only module that uses Pillow.
"""

import io
import warnings
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops

from personalize.design.jpeg import without_notes
from personalize.design.picture_file import (
    UNREADABLE,
    UPRIGHT,
    checked_bytes,
    eight_bits,
    image_in,
    is_inverted,
    loaded,
    opened,
    orientation,
    plain,
)

KEPT_PX_PER_INCH = 600.0
"""Finer pictures are printed at this: what common practice takes for the finest that a
home printer shows (no source)."""
_CHANNELS = {"L": 1, "RGB": 3, "CMYK": 4}
_SPACES = {"L": b"GRAY", "RGB": b"RGB ", "CMYK": b"CMYK"}
_FAINT = 16
"""Less opaque than this (of 255), a colour is the rounding of what wrote it."""


@dataclass(frozen=True, slots=True)
class Pixels:
    """A picture as print wants it."""

    width: int
    height: int
    data: bytes
    is_jpeg: bool
    """Whether `data` is a JPEG file; else raw samples, row by row from the top."""
    channels: int
    """1 for grey, 3 for red, green and blue, 4 for inks."""
    alpha: bytes | None
    """Raw opacity, one byte a pixel; None where all is opaque."""
    profile: bytes | None = None
    """ICC profile that the samples are in; None for those of the device."""
    is_inverted: bool = False
    """Whether 0 stands for full ink (JPEG files in four inks)."""
    orientation: int = 1
    """How `data` still stands, by Exif: from 1 (upright) to 8."""
    told: tuple[str, ...] = ()
    """What of the file is not printed as it is."""


@dataclass(frozen=True, slots=True)
class PictureHead:
    """What a picture file says of itself."""

    width: int
    height: int
    """In pixels, upright as it is seen."""
    px_per_inch: tuple[float, float] | None
    """Across and down, upright; None where the file does not say."""
    told_by: str
    """What in the file says so."""


def picture_size(path: Path) -> tuple[int, int]:
    """Width and height of a picture in pixels, upright as it is seen.

    Raises UnusablePictureError; OSError where the file cannot be read.
    """
    image = opened(path)
    width, height = image.size
    # All of the file is read all the same.
    image.draft("RGB", (max(1, width // 8), max(1, height // 8)))
    loaded(image)
    # From 5 on, rows and columns change places.
    return (height, width) if orientation(image) >= 5 else (width, height)


def picture_head(path: Path) -> PictureHead:
    """Look at the head of a picture, and no more. Raises as `picture_size` does."""
    image = opened(path)
    width, height = image.size
    density, told_by = _density(image)
    if orientation(image) >= 5:
        width, height = height, width
        density = density and (density[1], density[0])
    return PictureHead(width, height, density, told_by)


def opacity(path: Path) -> NDArray[np.uint8]:
    """Read how opaque each pixel is: shape (height, width), upright, 255 for opaque.

    Raises as `picture_size` does.
    """
    return opacity_in(checked_bytes(path))


def opacity_in(data: bytes) -> NDArray[np.uint8]:
    """The same of a file that has been read."""
    image = plain(image_in(data))
    if "A" not in image.getbands():
        return np.full((image.height, image.width), 255, np.uint8)
    return np.asarray(image.getchannel("A"))


def exact_pixels(path: Path) -> Pixels:
    """Read a picture to be printed as it is: no pixel that is seen is changed.

    But 16 bits a channel become 8. A JPEG file stays the same but for what is written
    beside the picture. Raises as `picture_size` does.
    """
    data = checked_bytes(path)
    image = image_in(data)
    loaded(image)
    if image.format == "JPEG" and image.mode in _CHANNELS:
        return _jpeg(image, data)
    deep, grey = _kind(data) if image.format == "PNG" else (False, False)
    turn = UPRIGHT.get(orientation(image))
    image = _unpacked(image, grey=grey)
    told = ("its 16 bits a channel are printed as 8",) if deep else ()
    if turn is not None:
        image = image.transpose(turn)
    profile, more = _profile(image)
    alpha = None
    if "A" in image.getbands():
        band = image.getchannel("A")
        if band.getextrema() != (255, 255):
            alpha = band.tobytes()
            image = _filled(image)
        image = image.convert(image.mode.removesuffix("A"))
    channels = len(image.getbands())
    size = (image.width, image.height)
    return Pixels(
        *size, image.tobytes(), False, channels, alpha, profile, told=(*told, *more)
    )


def _filled(image: Image.Image) -> Image.Image:
    """Give pixels that are as good as clear the colours of the ink beside them.

    Files have them black as a rule, and printers that make a picture smaller mix colours
    before they look at its opacity: it would get a dark edge.
    """
    clear = image.getchannel("A").point([255] * _FAINT + [0] * (256 - _FAINT))
    size = image.size
    for times in (64, 8):
        small = image.reduce(times).resize(size, Image.Resampling.NEAREST)
        inked = small.getchannel("A").point([0] + [255] * 255)
        small.putalpha(0)
        image.paste(small, mask=ImageChops.multiply(clear, inked))
    return image


def _jpeg(image: Image.Image, data: bytes) -> Pixels:
    profile, told = _profile(image)
    return Pixels(
        image.width,
        image.height,
        without_notes(data),
        is_jpeg=True,
        channels=_CHANNELS[image.mode],
        alpha=None,
        profile=profile,
        is_inverted=is_inverted(image),
        orientation=orientation(image),
        told=told,
    )


def _kind(png: bytes) -> tuple[bool, bool]:
    """Tell whether a PNG has 16 bits a channel, and whether it is grey (IHDR, 11.2.2).

    Pillow gives grey of 16 bits with opacity as colours.
    """
    return png[24] == 16, png[25] in (0, 4)


def _unpacked(image: Image.Image, *, grey: bool) -> Image.Image:
    """Give the samples of a PNG in full: no palette, no single transparent colour."""
    if image.mode.startswith("I"):
        profile = image.info.get("icc_profile")
        image = eight_bits(image)
        if profile:
            image.info["icc_profile"] = profile
        return image
    grey = grey or image.mode in ("1", "L", "LA")
    clear = "A" in image.getbands() or "transparency" in image.info
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return image.convert(
            ("LA" if clear else "L") if grey else "RGBA" if clear else "RGB"
        )


def _profile(image: Image.Image) -> tuple[bytes | None, tuple[str, ...]]:
    """Give the colour profile, where it is one for these channels (ICC.1, 7.2)."""
    data = image.info.get("icc_profile")
    if not isinstance(data, bytes) or not data:
        return None, ()
    space = _SPACES[image.mode.removesuffix("A")]
    if data[36:40] == b"acsp" and data[16:20] == space and len(data) >= 132:
        return data, ()
    return None, ("its colour profile is for other colours and is left out",)


def _density(image: Image.Image) -> tuple[tuple[float, float] | None, str]:
    """Find pixels to the inch, across and down, as the file's own rows stand."""
    told = image.info.get("dpi")
    by = "pHYs" if image.format == "PNG" else "JFIF"
    if by == "JFIF" and image.info.get("jfif_unit") not in (1, 2):
        by, told = "Exif", None
        try:
            notes = image.getexif()
            # Resolution across and down, and its unit: 2 inches, 3 centimetres.
            times = {2: 1.0, 3: 2.54}[int(notes.get(296, 2))]
            told = tuple(float(notes[tag]) * times for tag in (282, 283))
        except UNREADABLE:
            told = None
    try:
        across, down = (float(v) for v in told or ())
    except (ValueError, TypeError, ZeroDivisionError):
        return None, ""
    if not all(1 <= v <= 100_000 for v in (across, down)):
        return None, ""
    return (across, down), by


def edge_colours(path: Path, shape: tuple[int, int], margin: int) -> NDArray[np.uint8]:
    """Give a small copy of a picture in the middle of a clear ground.

    `shape` is (height, width) in pixels of the copy, `margin` the ground's width round
    it. Shape of the result: (height + 2 margin, width + 2 margin, 4), upright; colours of
    half clear pixels are those of the ink in them. Raises as `picture_size` does.
    """
    image = plain(opened(path)).convert("RGBA")
    image = image.resize((shape[1], shape[0]), Image.Resampling.BOX)
    ground = Image.new("RGBA", (shape[1] + 2 * margin, shape[0] + 2 * margin))
    ground.paste(image, (margin, margin))
    return np.asarray(ground)


def edge_inks(path: Path, shape: tuple[int, int], margin: int) -> NDArray[np.uint8] | None:
    """Give the same of a picture in four inks: shape (..., 5), 255 for full ink.

    None where it is in other colours.
    """
    if opened(path).mode != "CMYK":
        return None
    inked = np.dstack([small_copy(path, shape)[1], np.full(shape, 255, np.uint8)])
    return np.pad(inked, ((margin, margin), (margin, margin), (0, 0)))


def small_copy(path: Path, shape: tuple[int, int]) -> tuple[str, NDArray[np.uint8]]:
    """Give a small copy of a picture in the colours in which it is printed.

    They are L, RGB, RGBA or CMYK; samples have the shape (height, width, channels).
    Raises as `picture_size` does.
    """
    image = plain(opened(path), inks=True)
    small = np.asarray(image.resize((shape[1], shape[0]), Image.Resampling.BOX))
    return image.mode, small.reshape(*shape, -1)


def pixels_of(path: Path, width_mm: float) -> Pixels:
    """Read a picture to be printed `width_mm` wide.

    A JPEG file goes as it is, unless a camera's notes are in it. Raises as
    `picture_size` does.
    """
    return _pixels_of(path, width_mm, _stamp(path))


@lru_cache(maxsize=4)
def _pixels_of(path: Path, width_mm: float, _: tuple[int, int]) -> Pixels:
    image = opened(path)
    loaded(image)
    # What a camera wrote beside the picture may tell where it was taken: never printed.
    bare = "exif" not in image.info and "xmp" not in image.info
    most = round(width_mm / 25.4 * KEPT_PX_PER_INCH)
    small = image.width <= most * 1.5
    if image.format == "JPEG" and bare and small and image.mode in _CHANNELS:
        return _jpeg(image, path.read_bytes())
    image = plain(image, inks=True)
    if image.width > most > 0:
        height = max(1, round(image.height * most / image.width))
        image = image.resize((most, height), Image.Resampling.LANCZOS)
    alpha = None
    if "A" in image.getbands():
        band = image.getchannel("A")
        alpha = band.tobytes() if band.getextrema() != (255, 255) else None
        image = image.convert("RGB")
    return Pixels(
        image.width,
        image.height,
        image.tobytes(),
        False,
        len(image.getbands()),
        alpha,
        _profile(image)[0],
    )


def preview(path: Path, width_px: int) -> bytes:
    """Give a picture as a small PNG for a screen. Raises as `picture_size` does."""
    return _preview(path, max(1, width_px), _stamp(path))


@lru_cache(maxsize=64)
def _preview(path: Path, width_px: int, _: tuple[int, int]) -> bytes:
    image = plain(opened(path))
    image.thumbnail((width_px, 10 * width_px), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    image.save(out, "PNG", icc_profile=_profile(image)[0])
    return out.getvalue()


def seen_pixels(path: Path, width_px: int) -> NDArray[np.uint8]:
    """Give a picture as small as a look at it needs: (height, width, 4), from the top.

    Raises as `picture_size` does.
    """
    return _seen_pixels(path, max(1, width_px), _stamp(path))


@lru_cache(maxsize=16)
def _seen_pixels(path: Path, width_px: int, _: tuple[int, int]) -> NDArray[np.uint8]:
    image = plain(opened(path))
    image.thumbnail((width_px, 10 * width_px))
    return np.asarray(image.convert("RGBA"))


def _stamp(path: Path) -> tuple[int, int]:
    """Tell one state of a file from another: it may be exchanged between two runs."""
    told = path.stat()
    return told.st_mtime_ns, told.st_size
