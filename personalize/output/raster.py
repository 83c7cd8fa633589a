"""Draw pages of print.pdf as pictures. The only module that uses pypdfium2.

It is the one renderer of PDF with wheels for every system and a licence that lets this
stay MIT (Apache 2.0 or BSD), and it draws what most browsers show.
"""

import struct
import zlib
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pypdfium2
from numpy.typing import NDArray

from personalize.units import MM_PER_INCH

Pixels = NDArray[np.uint8]
PX_PER_INCH, FINE_PX_PER_INCH = 300, 600
_STEPS = (FINE_PX_PER_INCH, 450, PX_PER_INCH)
MOST_INSIDE = 7_400_000
"""Bytes of a picture in an XML file: with more, many readers refuse the file (libxml2,
XML_MAX_TEXT_LENGTH: 10 million characters)."""
FINE_BELOW_PT = 12.0
"""Smaller text is drawn fine. 300 px to the inch: common practice, no source."""
_STRIP = 256
"""Rows that are packed at a time: a fine A4 page takes 105 MB as it is."""


def resolution_for(smallest_pt: float) -> int:
    """Pixels to the inch for a page whose smallest text has so many points."""
    return FINE_PX_PER_INCH if smallest_pt < FINE_BELOW_PT else PX_PER_INCH


def page_png(pdf: Path, page: int, px_per_inch: int) -> bytes:
    """Draw one page (from 1) on white, all of it, as a PNG; the same page, the same bytes.

    The picture has whole pixels: it is at most one wider and higher than the page, which
    fills it from edge to edge.
    """
    document = pypdfium2.PdfDocument(pdf)
    try:
        drawn = document[page - 1].render(
            scale=px_per_inch / 72, may_draw_forms=False, rev_byteorder=True
        )
        return png(drawn.to_numpy()[:, :, :3], px_per_inch)
    finally:
        document.close()


def inside_png(pdf: Path, page: int, most_px: int) -> tuple[bytes, int]:
    """Give a page as a picture to stand in an XML file, and its pixels to the inch.

    It is coarser than asked for where it would be too large; never coarser than
    `PX_PER_INCH`.
    """
    for px_per_inch in (step for step in _STEPS if step <= most_px):
        drawn = page_png(pdf, page, px_per_inch)
        if len(drawn) <= MOST_INSIDE:
            break
    return drawn, px_per_inch


def png(pixels: Pixels, px_per_inch: int) -> bytes:
    """Pack pixels of shape (height, width, 3), red green blue, as a PNG.

    PNG (W3C, third edition) sections 5, 10 and 11: chunks IHDR, pHYs, IDAT, IEND; each row
    as its difference from the one above (filter type 2).
    """
    height, width, _ = pixels.shape
    per_metre = round(px_per_inch / MM_PER_INCH * 1000)
    return b"".join(
        (
            b"\x89PNG\r\n\x1a\n",
            _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)),
            _chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1)),
            _chunk(b"IDAT", b"".join(_packed(pixels))),
            _chunk(b"IEND", b""),
        )
    )


def _packed(pixels: Pixels) -> Iterable[bytes]:
    height, width, _ = pixels.shape
    above = np.zeros((1, width * 3), dtype=np.uint8)
    packer = zlib.compressobj(4)
    for top in range(0, height, _STRIP):
        rows = pixels[top : top + _STRIP].reshape(-1, width * 3)
        out = np.full((len(rows), width * 3 + 1), 2, dtype=np.uint8)
        out[:, 1:] = rows - np.concatenate([above, rows[:-1]])
        above = rows[-1:]
        yield packer.compress(out.tobytes())
    yield packer.flush()


def _chunk(kind: bytes, data: bytes) -> bytes:
    check = zlib.crc32(kind + data)
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", check)
