"""PNG as we exchange it with renderers: 8 bit RGBA, rows from the top.

Written and read here without a picture library, so that the bytes do not depend on one
(PNG specification, third edition).
"""

import struct
import zlib

import numpy as np
import pikepdf
from numpy.typing import NDArray

from personalize.errors import OwnFaultError

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_RGBA = b"\x08\x06\x00\x00\x00"
"""8 bits, colour type 6, deflate, adaptive filters, not interlaced."""


def png_pixels(png: bytes) -> NDArray[np.uint8]:
    """Read a PNG of the renderer: (height, width, 4).

    PNG's filters are the predictors of PDF, so the PDF library undoes them.
    """
    width, height = (int.from_bytes(png[at : at + 4], "big") for at in (16, 20))
    if png[24:29] != _RGBA:
        raise OwnFaultError("The renderer wrote a PNG of another kind than RGBA.")
    data, at = b"", 8
    while at < len(png):
        size = int.from_bytes(png[at : at + 4], "big")
        if png[at + 4 : at + 8] == b"IDAT":
            data += png[at + 8 : at + 8 + size]
        at += 12 + size
    with pikepdf.new() as pdf:
        stream = pikepdf.Stream(pdf, b"")
        how = pikepdf.Dictionary(Predictor=15, Colors=4, BitsPerComponent=8, Columns=width)
        stream.write(data, filter=pikepdf.Name.FlateDecode, decode_parms=how)
        raw = stream.read_bytes()
    return np.frombuffer(raw, np.uint8).reshape(height, width, 4)


def png_of(pixels: NDArray[np.uint8]) -> bytes:
    """Write pixels (height, width, 4) as a PNG; each row is told by the one above it."""
    height, width, _ = pixels.shape
    rows = pixels.reshape(height, width * 4)
    above = np.vstack([np.zeros((1, width * 4), np.uint8), rows[:-1]])
    filtered = np.empty((height, width * 4 + 1), np.uint8)
    filtered[:, 0] = 2  # "Up"
    np.subtract(rows, above, out=filtered[:, 1:])
    head = struct.pack(">II", width, height) + _RGBA
    body = zlib.compress(filtered.tobytes(), 6)
    chunks = ((b"IHDR", head), (b"IDAT", body), (b"IEND", b""))
    return _SIGNATURE + b"".join(
        struct.pack(">I", len(data)) + named + struct.pack(">I", zlib.crc32(named))
        for kind, data in chunks
        for named in [kind + data]
    )
