"""Files of pictures that nobody vouches for: measured, opened, brought upright.

A PNG or JPEG is measured before it is unpacked.
"""

import io
import struct
import warnings
from pathlib import Path

import numpy as np
from PIL import Image, ImageChops

MOST_BYTES = 60 * 1024**2
MOST_PIXELS = 120_000_000
"""More than any camera of a telephone gives; four times that in memory. Judgement."""
_HEIC = (b"heic", b"heix", b"mif1", b"hevc", b"avif")
_WEB = b"WEBP"
_STARTS = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")
UNREADABLE = (
    *(OSError, ValueError, TypeError, LookupError, SyntaxError),
    *(struct.error, ZeroDivisionError, OverflowError),
)
"""What notes beside a picture may raise that nobody vouches for."""
_DAMAGED = "the file is cut off or damaged"
UPRIGHT = {
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


def opened(path: Path) -> Image.Image:
    """Open a file and look at its head, and no more.

    Raises UnusablePictureError, or OSError where the file cannot be read.
    """
    return image_in(checked_bytes(path))


def checked_bytes(path: Path) -> bytes:
    """Read a file. Raises UnusablePictureError where it is too large, OSError."""
    if path.stat().st_size > MOST_BYTES:
        raise UnusablePictureError(f"it is larger than {MOST_BYTES // 1024**2} MB")
    return path.read_bytes()


def image_in(data: bytes) -> Image.Image:
    """Look at the head of what a file holds. Raises UnusablePictureError."""
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


def loaded(image: Image.Image) -> None:
    """Unpack a picture. Raises UnusablePictureError where it is cut off or damaged."""
    try:
        image.load()
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        raise UnusablePictureError(_DAMAGED) from None


def orientation(image: Image.Image) -> int:
    """How a picture was held, from 1 (upright) to 8; 1 where that cannot be read."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            told = image.getexif().get(0x0112, 1)
    except UNREADABLE:
        return 1
    return told if isinstance(told, int) and told in UPRIGHT else 1


def plain(image: Image.Image, *, inks: bool = False) -> Image.Image:
    """Unpack a picture: upright, grey or RGB, with alpha where it has any.

    One in four inks stays so if `inks` are wanted, 255 for full ink.
    """
    loaded(image)
    turn = UPRIGHT.get(orientation(image))
    if image.mode.startswith("I"):
        image = eight_bits(image)
    if image.mode == "CMYK" and not is_inverted(image):
        image = ImageChops.invert(image)  # Pillow turned it over, as if it were
    if image.mode == "CMYK" and inks:
        return image if turn is None else image.transpose(turn)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
            image = image.convert("RGBA")
        else:
            image = image.convert("L" if image.mode in ("1", "L") else "RGB")
    return image if turn is None else image.transpose(turn)


def is_inverted(image: Image.Image) -> bool:
    """Whether 0 stands for full ink in a JPEG of four inks: where Adobe's marker is.

    Without it 0 is no ink, as for every other picture in a PDF.
    """
    return image.mode == "CMYK" and "adobe" in image.info


def eight_bits(image: Image.Image) -> Image.Image:
    """Bring grey of 16 bits to 8; Pillow itself would cut it off at 255."""
    samples = np.asarray(image.convert("I"))
    grey = Image.fromarray(((samples + 128) // 257).astype(np.uint8))
    clear = image.info.get("transparency")
    if clear is not None:
        opaque = np.where(samples == clear, 0, 255).astype(np.uint8)
        grey.putalpha(Image.fromarray(opaque))
    return grey
