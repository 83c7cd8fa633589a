"""Paper sizes and the part of a sheet that can be used."""

import re
from dataclasses import dataclass

from personalize.errors import refuse
from personalize.units import MM_PER_INCH, length_mm

Rect = tuple[float, float, float, float]
"""(x0, y0, x1, y1) in mm, y up."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper."""

    name: str
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class PaperMargins:
    """What a printer leaves blank along each edge, in mm.

    Common practice, no source: 1/4 inch, and 1/2 inch at the trailing edge, the bottom
    of a sheet that goes in top edge first.
    """

    top: float = 6.4
    right: float = 6.4
    bottom: float = 12.7
    left: float = 6.4

    def and_also(self, other: "PaperMargins") -> "PaperMargins":
        """Give the wider of two margins along each edge."""
        return PaperMargins(
            max(self.top, other.top),
            max(self.right, other.right),
            max(self.bottom, other.bottom),
            max(self.left, other.left),
        )

    def within(self, paper: Paper) -> Rect:
        """Give the area that can be printed on."""
        return (
            self.left,
            self.bottom,
            paper.width_mm - self.right,
            paper.height_mm - self.top,
        )


def _iso_sizes() -> dict[str, tuple[float, float]]:
    """ISO 216 A and B sizes: each is the one before cut in half, rounded down."""
    sizes: dict[str, tuple[float, float]] = {}
    for series, width, height in (("A", 841, 1189), ("B", 1000, 1414)):
        for step in range(11):
            sizes[f"{series}{step}"] = (float(width), float(height))
            width, height = height // 2, width
    return sizes


_INCH_SIZES = {
    "Letter": (8.5, 11.0),
    "Legal": (8.5, 14.0),
    "Tabloid": (11.0, 17.0),
    # ANSI/ASME Y14.1: A and B are Letter and Tabloid, each next one is two of the last.
    "ANSI A": (8.5, 11.0),
    "ANSI B": (11.0, 17.0),
    "ANSI C": (17.0, 22.0),
    "ANSI D": (22.0, 34.0),
    "ANSI E": (34.0, 44.0),
}
PAPERS: dict[str, tuple[float, float]] = _iso_sizes() | {
    name: (w * MM_PER_INCH, h * MM_PER_INCH) for name, (w, h) in _INCH_SIZES.items()
}
"""Upright sizes by name, width x height in mm."""

_SIZE = re.compile(r"([\d.]+)\s*(mm|cm|in)?\s*[x×]\s*([\d.]+)\s*(mm|cm|in)?\Z", re.I)
_SQUARE = re.compile(r"([\d.]+)\s*(mm|cm|in)?\s+square\Z", re.I)
_WAY = re.compile(r"(.+?)\s+(portrait|landscape)\Z", re.I)
LEAST_MM, MOST_MM = 20.0, 5000.0
LEAST_ROOM_MM = 10.0
"""Across and up, between margins that can be meant. Judgement."""


def parse_paper(text: str) -> Paper:
    """Read a paper size: a name, WIDTHxHEIGHT or SIDE square, in mm, cm or in.

    The word portrait or landscape may follow. Raises InputError.
    """
    words = text.strip()
    way = _WAY.match(words)
    size = _measured(way[1] if way else words)
    if size is None:
        raise refuse(
            "--paper",
            f"{text!r} is no paper size.",
            'Use A4, Letter or another name, "A4 landscape", "12in square", or a size such'
            " as 200x300mm or 8x10in (20 mm to 5 m).",
        )
    name, width, height = size
    if way is not None and (way[2].casefold() == "landscape") == (width < height):
        width, height = height, width
    return Paper(f"{name} {way[2].casefold()}" if way else name, width, height)


def _measured(words: str) -> tuple[str, float, float] | None:
    """Give the name, width and height in mm that words mean, if they mean a size."""
    for name, (width, height) in PAPERS.items():
        if name.casefold() == words.casefold():
            return (name, width, height)
    if square := _SQUARE.match(words):
        sides = (square[1], square[2]) * 2
    elif size := _SIZE.match(words):
        sides = (size[1], size[2] or size[4], size[3], size[4] or size[2])
    else:
        return None
    try:
        width = length_mm(sides[0] + (sides[1] or "mm").casefold())
        height = length_mm(sides[2] + (sides[3] or "mm").casefold())
    except ValueError:
        return None
    fits = all(LEAST_MM <= side <= MOST_MM for side in (width, height))
    return (words, width, height) if fits else None


def parse_margins(text: str, paper: Paper) -> PaperMargins:
    """Read one margin, or four in the order top, right, bottom, left.

    Bare numbers are mm. Raises InputError.
    """
    parts = [part for part in re.split(r"[,\s]+", text.strip()) if part]
    try:
        values = [length_mm(part) for part in parts]
    except ValueError:
        values = []
    if len(values) == 1:
        values *= 4
    if len(values) != 4 or min(values) < 0:
        raise refuse(
            "--margin",
            f"{text!r} is neither one distance nor four.",
            "Write 5, or 5,5,12,5 for top, right, bottom and left (mm).",
        )
    margins = PaperMargins(*values)
    x0, y0, x1, y1 = margins.within(paper)
    if min(x1 - x0, y1 - y0) < LEAST_ROOM_MM:
        raise refuse(
            "--margin",
            f"margins of {text} mm leave nothing of {paper.name} paper.",
            "Make them smaller.",
        )
    return margins
