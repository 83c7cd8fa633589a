"""Pictures that rows bring along: PNG and JPEG files, upright, ready to be printed.

The only module that uses Pillow. A file that nobody vouches for is measured before it is
unpacked.
"""

import io
import warnings
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from PIL import Image, ImageOps

MOST_BYTES = 60 * 1024**2
MOST_PIXELS = 120_000_000
"""More than any camera of a telephone gives; four times that in memory. Judgement."""
KEPT_PX_PER_INCH = 600.0
"""Finer pictures are printed at this: what common practice takes for the finest that a
home printer shows (no source)."""
_HEIC = (b"heic", b"heix", b"mif1", b"hevc", b"avif")
_WEB = b"WEBP"


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
    image.draft("RGB", (width // 8, height // 8))  # all of the file is read all the same
    _loaded(image)
    # Exif 2.3, tag 0x0112: from 5 on, rows and columns change places.
    return (height, width) if image.getexif().get(0x0112, 1) >= 5 else (width, height)


@lru_cache(maxsize=4)
def pixels_of(path: Path, width_mm: float) -> Pixels:
    """Read a picture to be printed `width_mm` wide.

    A JPEG file that stands upright goes as it is. Raises as `picture_size` does.
    """
    image = _opened(path)
    _loaded(image)
    upright = image.getexif().get(0x0112, 1) == 1
    most = round(width_mm / 25.4 * KEPT_PX_PER_INCH)
    small = image.width <= most * 1.5
    if image.format == "JPEG" and upright and small and image.mode in ("L", "RGB"):
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


@lru_cache(maxsize=64)
def preview(path: Path, width_px: int) -> bytes:
    """Give a picture as a small PNG for a screen. Raises as `picture_size` does."""
    image = _plain(_opened(path))
    image.thumbnail((width_px, 10 * width_px), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def _opened(path: Path) -> Image.Image:
    """Open a file and look at its head, and no more."""
    if path.stat().st_size > MOST_BYTES:
        raise UnusablePictureError(f"it is larger than {MOST_BYTES // 1024**2} MB")
    data = path.read_bytes()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of odd metadata, which is not printed
            image = Image.open(io.BytesIO(data), formats=("PNG", "JPEG"))
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
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
    return "it is no PNG or JPEG picture"


def _loaded(image: Image.Image) -> None:
    try:
        image.load()
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise UnusablePictureError("the file is cut off or damaged") from None


def _plain(image: Image.Image) -> Image.Image:
    """Unpack a picture: upright, grey or RGB, with alpha where it has any."""
    _loaded(image)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        image = ImageOps.exif_transpose(image)
        if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
            return image.convert("RGBA")
        return image.convert("L" if image.mode in ("1", "L") else "RGB")
