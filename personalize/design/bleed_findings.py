"""What is told of artwork at the outline: bleed that is missing, or paper all round."""

from collections.abc import Iterator
from pathlib import Path

from personalize.design.artwork import artwork_svg
from personalize.design.artwork_fonts import set_text
from personalize.design.artwork_render import has_picture
from personalize.design.bleed import BareStretch, EdgeLook, look_at_edge
from personalize.design.lines import FoundLines
from personalize.design.spec import DesignSpec
from personalize.design.svg import SvgDocument
from personalize.finding import PLACES, Finding, Severity, places_told
from personalize.geometry.zone import grown
from personalize.rules import Rule

MOST_PLACES = 3
"""Bare stretches that are told with their place; more are counted."""
_PAPER_SHARE = 0.02
"""Share of the outline with ink inside it up to which its edge is paper all round."""


def bleed_findings(
    look: EdgeLook,
    bleed_mm: float,
    height_mm: float,
    *,
    whose: str = "The picture",
    pictured: bool = True,
) -> Iterator[Finding]:
    """Tell where the artwork stops short of the bleed.

    Parameters
    ----------
    look
        What it does at the outline.
    height_mm
        Of the drawing: places are told from its top left.
    whose
        The picture, in words.
    pictured
        False for words on plain paper, of which nothing is told.
    """
    if not pictured:
        return
    if look.bare:
        yield _missing(look, bleed_mm, height_mm, whose)
    elif look.inked_mm < _PAPER_SHARE * look.length_mm:
        yield Finding(
            Rule.PAPER_EDGE,
            Severity.NOTE,
            f"{whose} does not reach the outline: the edge is bare paper all round. Where"
            " that is meant, all is well.",
            f"If not, draw it {bleed_mm:g} mm past the outline.",
        )


def seen_edge(
    drawing: SvgDocument, lines: FoundLines, spec: DesignSpec
) -> Iterator[Finding]:
    """Look at the edge of a drawing with its layers as they are, before it is a design.

    Raises InputError where the picture cannot be drawn.
    """
    bleed = spec.margins.bleed
    if bleed <= 0 or spec.extend_edge or spec.versions:
        return
    printed = grown(lines.solid, bleed)
    box = printed.box
    svg = artwork_svg(drawing, lines.keys, box, printed if spec.parted else None)
    text = set_text(svg, Path(), drawing.name)
    look = look_at_edge(text.svg, box, lines.outline, bleed, text.fonts)
    pictured = has_picture(text.svg)
    yield from bleed_findings(look, bleed, drawing.height_mm, pictured=pictured)


def _missing(look: EdgeLook, bleed_mm: float, height_mm: float, whose: str) -> Finding:
    x, y = look.bare[0].middle
    places = "; ".join(_place(one, height_mm) for one in look.bare[:MOST_PLACES])
    more = len(look.bare) - MOST_PLACES
    return Finding(
        Rule.BLEED_MISSING,
        Severity.WARNING,
        f"{whose} stops at the outline or short of the bleed on {look.bare_mm:.0f} mm of"
        f" {look.length_mm:.0f} mm of edge: {places}"
        + (f"; and {more} more." if more > 0 else ".")
        + " A shifted cut would show paper there.",
        f"Draw it {bleed_mm:g} mm past the outline, or write extend_edge = true under"
        " [artwork]: its edge colours are then continued.",
        figures={
            "share": round(look.bare_mm / look.length_mm, 4),
            "bare_mm": round(look.bare_mm, 1),
            "places": len(look.bare),
            "x_mm": round(x, 3),
            "y_mm": round(y, 3),
            PLACES: places_told(one.middle for one in look.bare),
        },
    )


def _place(one: BareStretch, height_mm: float) -> str:
    x, y = one.middle
    return (
        f"{one.length_mm:.0f} mm round the place {x:.0f} mm from the left and"
        f" {height_mm - y:.0f} mm from the top of the drawing"
    )
