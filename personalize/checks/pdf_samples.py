"""Samples of what a PDF paints: of pictures pixel by pixel, of gradients along their way.

ISO 32000-1, 8.9.5 (images), 8.7.4.5 (shadings) and 7.10 (functions).
"""

import re
from collections.abc import Sequence
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

MOST_BYTES = 600_000_000
"""Of an unpacked picture."""
MOST_SAMPLES = 2_000_000
"""Pixels looked at: of larger pictures every so manieth."""
PLACES = 33
"""Along a gradient."""
_OPAQUE = 128
_DECODE = re.compile(rb"/D(?:ecode)?\s*\[")
_ALL = pikepdf.StreamDecodeLevel.all

Floats = NDArray[np.float64]


class OddError(Exception):
    """Something that is not looked at."""


def picture_samples(stream: Any) -> tuple[Any, Floats]:
    """Give the colour space of a picture, and its opaque samples (n, channels), 0 to 1.

    Indices into a palette come as shares of 255. Raises OddError for ways of packing that
    we do not read, or what pikepdf raises.
    """
    if isinstance(stream, pikepdf.PdfInlineImage):
        space, bits = stream.colorspace, stream.bits_per_component
        decode = mask = None
        if stream.indexed or _DECODE.search(stream.unparse()) is not None:
            raise OddError
    else:
        space, bits = stream.get("/ColorSpace"), int(stream.get("/BitsPerComponent", 8))
        decode, mask = stream.get("/Decode"), stream.get("/SMask")
    grid = _unpacked(stream, space, bits)
    clear = _clear(mask, grid.shape[:2]) if mask is not None else None
    step = max(1, int(np.ceil((grid.shape[0] * grid.shape[1] / MOST_SAMPLES) ** 0.5)))
    grid = grid[::step, ::step]
    samples = grid.reshape(-1, grid.shape[2])
    if clear is not None:
        samples = samples[~clear[::step, ::step].reshape(-1)]
    out = samples / 255
    palette = isinstance(space, pikepdf.Array) and str(space[0]) == "/Indexed"
    if decode is not None and len(decode) and not palette:
        ends = np.array([float(v) for v in decode]).reshape(-1, 2)
        out = ends[:, 0] + out * (ends[:, 1] - ends[:, 0])
    return space, out


def _unpacked(stream: Any, space: Any, bits: int) -> NDArray[np.uint8]:
    """Unpack a picture as (rows, columns, channels), 8 bits each; indices as they are."""
    inline = isinstance(stream, pikepdf.PdfInlineImage)
    wide, high = (
        (stream.width, stream.height) if inline else (int(stream.Width), int(stream.Height))
    )
    if wide * high * 4 > MOST_BYTES:
        raise OddError
    data = stream.read_bytes() if inline else stream.read_bytes(_ALL)
    packed = np.frombuffer(data, np.uint8)
    if bits == 16:
        packed = packed[::2]
    elif bits in (1, 2, 4):
        return _small(packed, (high, wide), bits, is_index=_is_indexed(space))
    elif bits != 8:
        raise OddError
    channels = len(packed) // (high * wide)
    if not channels:
        raise OddError
    return packed[: high * wide * channels].reshape(high, wide, channels)


def _is_indexed(space: Any) -> bool:
    return isinstance(space, pikepdf.Array) and str(space[0]) in ("/Indexed", "/I")


def _small(
    packed: NDArray[np.uint8], shape: tuple[int, int], bits: int, *, is_index: bool
) -> NDArray[np.uint8]:
    """Unpack samples of less than a byte; each row begins with a byte of its own."""
    high, wide = shape
    row = len(packed) // high
    each = np.unpackbits(packed[: high * row].reshape(high, row), axis=1)
    channels = row * 8 // (wide * bits)
    if not channels:
        raise OddError
    each = each[:, : wide * bits * channels].reshape(high, wide, channels, bits)
    values = (each * (1 << np.arange(bits - 1, -1, -1))).sum(axis=3)
    scaled = values if is_index else values * 255 // ((1 << bits) - 1)
    out: NDArray[np.uint8] = scaled.astype(np.uint8)
    return out


def _clear(mask: Any, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Tell which pixels of a picture are clear, by a mask that may have another size."""
    grid = _unpacked(mask, mask.get("/ColorSpace"), int(mask.get("/BitsPerComponent", 8)))
    rows, columns = (np.arange(n) * m // n for n, m in zip(shape, grid.shape, strict=False))
    out: NDArray[np.bool_] = grid[rows][:, columns, 0] < _OPAQUE
    return out


def shading_samples(shading: Any) -> Floats:
    """Give colours along a gradient, shape (n, channels). Raises OddError for meshes."""
    if int(shading.ShadingType) not in (2, 3):
        raise OddError
    function = shading.Function
    parts = list(function) if isinstance(function, pikepdf.Array) else [function]
    low, high = (float(v) for v in shading.get("/Domain", [0, 1]))
    return np.array(
        [
            [value for part in parts for value in _value(part, t, 0)]
            for t in np.linspace(low, high, PLACES)
        ]
    )


def _value(function: Any, t: float, depth: int) -> Sequence[float]:
    """Give what a function of one number gives (types 2 and 3, and type 0 of 8 bits)."""
    kind = int(function.FunctionType)
    low, high = (float(v) for v in function.Domain[:2])
    t = min(max(t, low), high)
    if kind == 2:
        start = [float(v) for v in function.get("/C0", [0])]
        end = [float(v) for v in function.get("/C1", [1])]
        share = t ** float(function.N) if t > 0 else 0.0
        return [a + (b - a) * share for a, b in zip(start, end, strict=True)]
    if kind == 3 and depth < 8:
        ends = [low, *(float(v) for v in function.Bounds), high]
        nth = max(i for i in range(len(ends) - 1) if i == 0 or ends[i] <= t)
        first, last = (float(v) for v in list(function.Encode)[2 * nth : 2 * nth + 2])
        span = ends[nth + 1] - ends[nth]
        share = (t - ends[nth]) / span if span > 0 else 0.0
        return _value(function.Functions[nth], first + (last - first) * share, depth + 1)
    if kind == 0 and len(function.Domain) == 2 and int(function.BitsPerSample) == 8:
        ends = [float(v) for v in function.get("/Decode", function.Range)]
        count, channels = int(function.Size[0]), len(ends) // 2
        table = np.frombuffer(function.read_bytes(), np.uint8)[: count * channels]
        row = table.reshape(count, channels)[round((t - low) / (high - low) * (count - 1))]
        spans = np.array(ends).reshape(-1, 2)
        return list(spans[:, 0] + row / 255 * (spans[:, 1] - spans[:, 0]))
    raise OddError
