"""Colour profiles of presses (ICC.1:2022, section 7.2: the header of a profile)."""

from dataclasses import dataclass
from pathlib import Path

from personalize.design.files import bytes_of
from personalize.errors import refuse

MOST_BYTES = 32 * 1024 * 1024
_SIGNATURE = b"acsp"
_INKS = {b"CMYK": 4, b"RGB ": 3, b"GRAY": 1}
"""Components by the data colour space (table 19)."""
_CLASS = b"prtr"
"""Device class of an output device (table 18)."""


@dataclass(frozen=True, slots=True)
class Profile:
    """What a press does with colours, as its maker measured it."""

    name: str
    """Name of its file, without the end."""
    data: bytes
    inks: int


def read_profile(path: Path) -> Profile:
    """Read a profile of an output device. Raises InputError where it is none."""
    if not path.is_file():
        name = path.name or "--profile"
        raise refuse(name, "there is no such colour profile.", "Check its name.")
    data = bytes_of(path) if path.stat().st_size <= MOST_BYTES else b""
    stated = int.from_bytes(data[:4], "big")
    inks = _INKS.get(data[16:20])
    if (
        data[36:40] != _SIGNATURE
        or stated != len(data)
        or data[12:16] != _CLASS
        or not inks
    ):
        raise refuse(
            path.name,
            "this is no colour profile of a press.",
            "Ask the print shop for the ICC file of its output condition.",
        )
    return Profile(path.stem, data, inks)
