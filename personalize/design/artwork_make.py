"""Artwork made ready for print: written, its text set in fonts, its edge continued."""

from dataclasses import dataclass
from pathlib import Path

from personalize.design.artwork import artwork_svg
from personalize.design.artwork_fonts import set_text
from personalize.design.design import Artwork
from personalize.design.extend import with_edge_extended
from personalize.design.line_art import LineArt
from personalize.design.line_art import line_art as as_line_art
from personalize.design.svg import SvgDocument
from personalize.finding import Finding, Severity
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region
from personalize.rules import Rule


@dataclass(frozen=True, slots=True)
class Making:
    """What holds for all pictures of a design."""

    folder: Path
    """Of the design: its font files are looked at."""
    outline: Contour
    bleed: Region
    bleed_mm: float
    extend_edge: bool = False
    """Whether the colours at the outline are continued into the bleed."""
    seen: Region | None = None
    """All that is seen of a drawing of several pieces; None for the whole of it."""
    unprinted: frozenset[int] = frozenset()
    """Keys of shapes that are text areas and nothing else."""


def make_artwork(
    document: SvgDocument,
    without: frozenset[int],
    name: str,
    how: Making,
    *,
    line_art: bool = False,
) -> Artwork:
    """Make the artwork of a drawing.

    Parameters
    ----------
    document
        The drawing.
    without
        Keys of the shapes that are die lines.
    name
        What the artwork is called in sentences.
    how
        What holds for all pictures of the design.
    line_art
        Whether it is turned into lines to colour in.

    Raises
    ------
    InputError
        When its edge is to be continued and the renderer does not take it.
    """
    box = how.bleed.box
    svg = artwork_svg(document, without, box, how.seen, how.unprinted - without)
    told: list[Finding] = []
    if line_art:
        lines = as_line_art(svg)
        svg = lines.svg
        told += [_photos_left_out(lines, name)] if lines.pictures else []
    text = set_text(svg, how.folder, name)
    told += text.told
    svg = text.svg
    if how.extend_edge and how.bleed_mm > 0:
        svg = with_edge_extended(svg, box, how.outline, how.bleed_mm, text.fonts)
        told.append(_extended(how.bleed_mm, name))
    return Artwork(svg, box, name, text.fonts, tuple(told), white_edge=line_art)


def _photos_left_out(lines: LineArt, name: str) -> Finding:
    count = lines.pictures
    return Finding(
        Rule.NO_LINE_ART,
        Severity.NOTE,
        f"The line art of {name} leaves out {count} photo{'s' if count > 1 else ''}: there"
        " are no lines in them.",
        "Draw what shall be seen of them.",
        figures={"pictures": count},
    )


def _extended(bleed_mm: float, name: str) -> Finding:
    return Finding(
        Rule.EDGE_EXTENDED,
        Severity.NOTE,
        f"The colours at the edge of {name} are continued {bleed_mm:g} mm past the outline,"
        " as asked; a pattern becomes streaks there.",
        "Look at the edge in the proof.",
        figures={"bleed_mm": bleed_mm},
    )
