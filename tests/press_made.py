"""A profile of a press with four inks, made byte by byte (ICC.1:2022)."""

import struct

BLACK = (230, 204, 204, 255)
"""Inks of black, of 255: 350.2 %."""


def press_profile(*, space: bytes = b"CMYK", tables: bool = True) -> bytes:
    """A press whose inks follow lightness alone: none for white, `BLACK` for black."""
    b2a = _lut(3, 4, [BLACK if corner < 4 else (0, 0, 0, 0) for corner in range(8)])
    # The other way round black ink alone makes it dark: the last of four is the fastest.
    a2b = _lut(4, 3, [(0 if corner % 2 else 255, 128, 128) for corner in range(16)])
    white = b"XYZ \0\0\0\0" + struct.pack(">3i", 63190, 65536, 54061)  # D50, 7.2.16
    tags = {b"wtpt": white, b"B2A0": b2a, b"A2B0": a2b} if tables else {}
    table, data, at = b"", b"", 132 + 12 * len(tags)
    for name, tag in tags.items():
        padded = tag + bytes(-len(tag) % 4)
        table += struct.pack(">4sII", name, at + len(data), len(tag))
        data += padded
    head = bytearray(128)
    size = at + len(data)
    struct.pack_into(
        ">I4sI4s4s4s", head, 0, size, b"test", 0x02400000, b"prtr", space, b"Lab "
    )
    head[36:40] = b"acsp"
    struct.pack_into(">3i", head, 68, 63190, 65536, 54061)
    return bytes(head) + struct.pack(">I", len(tags)) + table + data


def _lut(inputs: int, outputs: int, corners: list[tuple[int, ...]]) -> bytes:
    """A lut8Type of two places each way (10.11): straight tables round the corners."""
    straight = bytes(range(256))
    one = struct.pack(">i", 65536)
    matrix = one + bytes(12) + one + bytes(12) + one
    head = b"mft1" + bytes(4) + bytes([inputs, outputs, 2, 0]) + matrix
    grid = b"".join(bytes(corner) for corner in corners)
    return head + straight * inputs + grid + straight * outputs
