"""The one picture that a file of print and cut together may hold."""

import base64
import binascii
import struct

from lxml import etree

from personalize.errors import WallError
from personalize.sheet.paper import Paper

TOGETHER = "together"
"""How the names of files begin that hold the print as a picture."""
_HEAD = "data:image/png;base64,"
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_SIZED = 24
"""Bytes up to the end of its size (PNG, third edition, 5.2, 5.3 and 11.2.1)."""


def check_picture(image: etree._Element | None, file: str, paper: Paper) -> None:
    """Prove that an element is a picture that fills the sheet, its pixels square.

    Raises WallError where it is anything else.
    """
    if image is None or image.tag != "{http://www.w3.org/2000/svg}image" or len(image):
        raise WallError(f"{file} does not begin with the picture of the print.")
    said = {str(key): str(value) for key, value in image.attrib.items()}
    data = said.pop("href", "")
    if said.pop("preserveAspectRatio", "") != "none" or set(said) != set(_SIDES):
        raise WallError(f"{file} has a picture that is not laid on the sheet.")
    sides = (0.0, 0.0, paper.width_mm, paper.height_mm)
    try:
        off = [abs(float(said[k]) - side) for k, side in zip(_SIDES, sides, strict=True)]
        raw = base64.b64decode(data.removeprefix(_HEAD), validate=True)
    except (ValueError, binascii.Error):
        raise WallError(f"{file} has a picture that cannot be read.") from None
    if max(off) > 1e-3 or (image.text or image.tail or "").strip():
        raise WallError(f"{file} has a picture that does not fill the sheet.")
    if not data.startswith(_HEAD) or not raw.startswith(_SIGNATURE) or len(raw) < _SIZED:
        raise WallError(f"{file} has a picture that is no PNG.")
    width, height = struct.unpack(">II", raw[16:24])
    across, up = width / paper.width_mm, height / paper.height_mm
    # A picture of whole pixels may be up to one wider or higher than the sheet.
    if abs(across * paper.height_mm - height) > 2 or min(across, up) < 300 / 25.4 - 0.1:
        raise WallError(f"{file} has a picture of another shape.")


_SIDES = ("x", "y", "width", "height")
