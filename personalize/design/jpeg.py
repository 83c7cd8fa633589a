"""JPEG files taken apart into their marker segments (ITU-T T.81, annex B)."""

_SEGMENT_FREE = frozenset({0x01, *range(0xD0, 0xD9)})
"""Markers that stand alone: TEM, RST0 to RST7, SOI."""
_START_OF_SCAN, _END, _COMMENT = 0xDA, 0xD9, 0xFE
_NOTES = range(0xE0, 0xF0)
_KEPT = frozenset({0xE0, 0xEE})
"""APP0 (JFIF) and APP14, which says how colours are coded."""


def without_notes(data: bytes) -> bytes:
    """Leave out what is written beside the picture: camera, place, programs, profile.

    The picture itself stays the same byte by byte; what follows its end is left out too.

    >>> without_notes(bytes.fromhex("ffd8ffe10004616affdb000301ffda00020102ffd9")).hex()
    'ffd8ffdb000301ffda00020102ffd9'
    """
    out = [data[:2]]
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if marker == 0xFF:  # fill bytes may stand before a marker
            at += 1
            continue
        if marker in _SEGMENT_FREE:
            out.append(data[at : at + 2])
            at += 2
            continue
        if marker == _END:
            break
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if marker == _START_OF_SCAN:
            end = _scan_end(data, end)
        if marker != _COMMENT and (marker not in _NOTES or marker in _KEPT):
            out.append(data[at:end])
        at = end
    return b"".join([*out, b"\xff\xd9"])


def _scan_end(data: bytes, at: int) -> int:
    """Find the marker after a scan: in its bytes FF is followed by 0 or a restart."""
    while (at := data.find(b"\xff", at)) >= 0 and at + 1 < len(data):
        if data[at + 1] != 0 and not 0xD0 <= data[at + 1] <= 0xD7 and data[at + 1] != 0xFF:
            return at
        at += 1 if data[at + 1] == 0xFF else 2
    return len(data)
