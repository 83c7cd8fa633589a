"""With what kinds of colours and which spot inks an artwork is painted.

Colour spaces are those of ISO 32000-1, 8.6.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import pikepdf

from personalize.design.artwork_render import compile_artwork, has_picture
from personalize.design.design import Artwork
from personalize.design.pdf_seen import Image, Seen, Shading, seen_on

RGB, CMYK, LAB, GREY = KINDS = ("RGB", "CMYK", "Lab", "grey")
"""In the order in which they are told."""
_KIND = {
    **dict.fromkeys(("/DeviceRGB", "/RGB", "/CalRGB"), RGB),
    **dict.fromkeys(("/DeviceCMYK", "/CMYK"), CMYK),
    **dict.fromkeys(("/DeviceGray", "/G", "/CalGray"), GREY),
    "/Lab": LAB,
}
_BY_COUNT = {1: GREY, 3: RGB, 4: CMYK}
_PROCESS = frozenset({"Cyan", "Magenta", "Yellow", "Black"})
"""Names of four inks that are plates already (8.6.6.5)."""


@dataclass(frozen=True, slots=True)
class Painted:
    """What is painted with."""

    kinds: frozenset[str] = frozenset()
    """Of `KINDS`."""
    spots: frozenset[str] = frozenset()
    """Names of inks that have a plate of their own."""
    every_ink: bool = False
    """Whether something is painted with all inks at once, as register marks are."""
    known: bool = True
    """Whether all of it could be looked at."""

    def __or__(self, other: "Painted") -> "Painted":
        """Both together."""
        return Painted(
            self.kinds | other.kinds,
            self.spots | other.spots,
            self.every_ink or other.every_ink,
            self.known and other.known,
        )


UNPAINTED = Painted()


def painted_with(art: Artwork) -> Painted:
    """Look at all that an artwork paints. Raises InputError where it cannot be printed."""
    if art.page is not None:
        return _on(art.page)
    if not has_picture(art.svg):
        return UNPAINTED
    x0, y0, x1, y1 = art.box_mm
    return _on(compile_artwork(art.svg, x1 - x0, y1 - y0, name=art.file, fonts=art.fonts))


@lru_cache(maxsize=16)
def _on(page: bytes) -> Painted:
    out = UNPAINTED
    try:
        for one in seen_on(page):
            space = _space(one)
            if space is not None:
                out |= _of(space, 0)
    except Exception:  # of whatever kind: the file is at fault
        out |= Painted(known=False)
    return out


def _space(one: Seen) -> Any:
    if isinstance(one, Shading):
        return one.shading.ColorSpace
    if not isinstance(one, Image):
        return one.space
    if one.is_mask:  # a stencil has the colour that was told before it
        return None
    if isinstance(one.stream, pikepdf.PdfInlineImage):
        return one.stream.colorspace
    return one.stream.get("/ColorSpace")


def _of(space: Any, depth: int) -> Painted:
    parts = list(space) if isinstance(space, pikepdf.Array) else [space]
    name = str(parts[0])
    if name in _KIND:
        return Painted(frozenset({_KIND[name]}))
    if name == "/ICCBased":
        return Painted(frozenset({_BY_COUNT[int(parts[1].N)]}))
    if name in ("/Indexed", "/I") and depth < 2:
        return _of(parts[1], depth + 1)
    if name == "/Separation":
        return _inks([parts[1]])
    if name == "/DeviceN":
        return _inks(parts[1])
    return Painted(known=False)


def _inks(names: Iterable[Any]) -> Painted:
    inks = {str(one)[1:] for one in names} - {"None"}
    return Painted(
        frozenset({CMYK}) if inks & _PROCESS else frozenset(),
        frozenset(inks - _PROCESS - {"All"}),
        "All" in inks,
    )
