"""Findings of artwork: what of it is printed otherwise than drawn, and its edge."""

from collections.abc import Iterator

from personalize.design.artwork_parts import PX_PER_INCH, pictured_parts, px_per_inch
from personalize.design.artwork_render import has_picture
from personalize.design.bleed import look_at_edge
from personalize.design.bleed_findings import bleed_findings
from personalize.design.design import Artwork, Design
from personalize.finding import Finding, Severity
from personalize.rules import Rule


def artwork_findings(design: Design) -> Iterator[Finding]:
    """Tell what is to be known of every picture of a design."""
    for version, art in design.artworks.items():
        whose = f"The picture of version {version!r}" if version else "The picture"
        yield from art.told
        yield from _edge(design, art, whose)
        yield from _pictured(art, whose)


def _edge(design: Design, art: Artwork, whose: str) -> Iterator[Finding]:
    bleed = design.margins.bleed
    # Nobody paints the bleed of lines to be coloured in.
    if bleed <= 0 or art.white_edge:
        return
    look = look_at_edge(art.svg, art.box_mm, design.outline, bleed, art.fonts)
    # Asked only where it matters: another drawing of it all.
    seen = bool(look.inked_mm) or has_picture(art.svg)
    yield from bleed_findings(look, bleed, design.height_mm, whose=whose, pictured=seen)


def _pictured(art: Artwork, whose: str) -> Iterator[Finding]:
    parts = pictured_parts(art.svg)
    if not parts:
        return
    fine = px_per_inch(art.svg)
    many = len(parts) > 1
    why = " and ".join(sorted({part.why for part in parts}))
    yield Finding(
        Rule.ARTWORK_AS_PICTURE,
        Severity.NOTE,
        f"{whose} has {len(parts)} part{'s' if many else ''} with {why}, which"
        f" {'are' if many else 'is'} printed as a picture of {fine:.0f} px to the inch; all"
        " else stays in sharp outlines.",
        "" if fine >= PX_PER_INCH else "A smaller piece would have finer ones.",
        figures={"parts": len(parts), "px_per_inch": round(fine)},
    )
