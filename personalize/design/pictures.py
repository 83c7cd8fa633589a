"""Pictures that rows bring along: PNG and JPEG files, upright, ready to be printed.

The only module that uses Pillow. A file that nobody vouches for is measured before it is
unpacked.
"""

import io
import struct
import warnings
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

MOST_BYTES = 60 * 1024**2
MOST_PIXELS = 120_000_000
"""More than any camera of a telephone gives; four times that in memory. Judgement."""
KEPT_PX_PER_INCH = 600.0
"""Finer pictures are printed at this: what common practice takes for the finest that a
home printer shows (no source)."""
_HEIC = (b"heic", b"heix", b"mif1", b"hevc", b"avif")
_WEB = b"WEBP"
_STARTS = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")
_DAMAGED = "the file is cut off or damaged"
_UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
"""What brings a picture upright, by its Exif 2.3 orientation (tag 0x0112)."""


class UnusablePictureError(ValueError):
    """The file is no picture that can be printed; the text says why."""


@dataclass(frozen=True, slots=True)
class Pixels:
    """A picture as print wants it."""

    width: int
    height: int
    data: bytes
    is_jpeg: bool
    """Whether `data` is a JPEG file; else raw samples, row by row from the top."""
    channels: int
    """1 for grey, 3 for red, green and blue."""
    alpha: bytes | None
    """Raw opacity, one byte a pixel; None where all is opaque."""


def picture_size(path: Path) -> tuple[int, int]:
    """Width and height of a picture in pixels, upright as it is seen.

    Raises UnusablePictureError; OSError where the file cannot be read.
    """
    image = _opened(path)
    width, height = image.size
    # All of the file is read all the same.
    image.draft("RGB", (max(1, width // 8), max(1, height // 8)))
    _loaded(image)
    # From 5 on, rows and columns change places.
    return (height, width) if _orientation(image) >= 5 else (width, height)


def pixels_of(path: Path, width_mm: float) -> Pixels:
    """Read a picture to be printed `width_mm` wide.

    A JPEG file goes as it is, unless a camera's notes are in it. Raises as
    `picture_size` does.
    """
    return _pixels_of(path, width_mm, _stamp(path))


@lru_cache(maxsize=4)
def _pixels_of(path: Path, width_mm: float, _: tuple[int, int]) -> Pixels:
    image = _opened(path)
    _loaded(image)
    # What a camera wrote beside the picture may tell where it was taken: never printed.
    bare = "exif" not in image.info and "xmp" not in image.info
    most = round(width_mm / 25.4 * KEPT_PX_PER_INCH)
    small = image.width <= most * 1.5
    if image.format == "JPEG" and bare and small and image.mode in ("L", "RGB"):
        channels = len(image.getbands())
        data = path.read_bytes()
        return Pixels(image.width, image.height, data, True, channels, None)
    image = _plain(image)
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
    )


def preview(path: Path, width_px: int) -> bytes:
    """Give a picture as a small PNG for a screen. Raises as `picture_size` does."""
    return _preview(path, max(1, width_px), _stamp(path))


@lru_cache(maxsize=64)
def _preview(path: Path, width_px: int, _: tuple[int, int]) -> bytes:
    image = _plain(_opened(path))
    image.thumbnail((width_px, 10 * width_px), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def seen_pixels(path: Path, width_px: int) -> NDArray[np.uint8]:
    """Give a picture as small as a look at it needs: (height, width, 4), from the top.

    Raises as `picture_size` does.
    """
    return _seen_pixels(path, max(1, width_px), _stamp(path))


@lru_cache(maxsize=16)
def _seen_pixels(path: Path, width_px: int, _: tuple[int, int]) -> NDArray[np.uint8]:
    image = _plain(_opened(path))
    image.thumbnail((width_px, 10 * width_px))
    return np.asarray(image.convert("RGBA"))


def _stamp(path: Path) -> tuple[int, int]:
    """Tell one state of a file from another: it may be exchanged between two runs."""
    told = path.stat()
    return told.st_mtime_ns, told.st_size


def _opened(path: Path) -> Image.Image:
    """Open a file and look at its head, and no more."""
    if path.stat().st_size > MOST_BYTES:
        raise UnusablePictureError(f"it is larger than {MOST_BYTES // 1024**2} MB")
    data = path.read_bytes()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of odd metadata, which is not printed
            image = Image.open(io.BytesIO(data), formats=("PNG", "JPEG"))
    except Image.DecompressionBombError:
        raise UnusablePictureError("it has more pixels than can be printed") from None
    except (OSError, ValueError, SyntaxError):
        raise UnusablePictureError(_told(data)) from None
    if image.width * image.height > MOST_PIXELS:
        raise UnusablePictureError(
            f"it has {image.width} x {image.height} pixels, more than can be printed"
        )
    return image


def _told(head: bytes) -> str:
    if head[4:8] == b"ftyp" and head[8:12] in _HEIC:
        return "it is in a telephone's own format; save it as JPEG"
    if head[8:12] == _WEB:
        return "it is in a format for web pages; save it as PNG or JPEG"
    return _DAMAGED if head.startswith(_STARTS) else "it is no PNG or JPEG picture"


def _loaded(image: Image.Image) -> None:
    try:
        image.load()
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise UnusablePictureError(_DAMAGED) from None


def _orientation(image: Image.Image) -> int:
    """How a picture was held, from 1 (upright) to 8; 1 where that cannot be read."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            told = image.getexif().get(0x0112, 1)
    except (OSError, ValueError, TypeError, LookupError, SyntaxError, struct.error):
        return 1
    return told if isinstance(told, int) and told in _UPRIGHT else 1


def _plain(image: Image.Image) -> Image.Image:
    """Unpack a picture: upright, grey or RGB, with alpha where it has any."""
    _loaded(image)
    turn = _UPRIGHT.get(_orientation(image))
    if image.mode.startswith("I"):
        image = _eight_bits(image)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
            image = image.convert("RGBA")
        else:
            image = image.convert("L" if image.mode in ("1", "L") else "RGB")
    return image if turn is None else image.transpose(turn)


def _eight_bits(image: Image.Image) -> Image.Image:
    """Bring grey of 16 bits to 8; Pillow itself would cut it off at 255."""
    samples = np.asarray(image.convert("I"))
    grey = Image.fromarray(((samples + 128) // 257).astype(np.uint8))
    clear = image.info.get("transparency")
    if clear is not None:
        opaque = np.where(samples == clear, 0, 255).astype(np.uint8)
        grey.putalpha(Image.fromarray(opaque))
    return grey
