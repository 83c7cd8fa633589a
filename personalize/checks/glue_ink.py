"""Artwork on glue areas: glue holds less well on ink than on bare paper.

Rules, by severity:
  warning  inked-glue
"""

from collections.abc import Iterator

from personalize.checks.contrast import points_within
from personalize.design.artwork_render import has_picture
from personalize.design.bleed import Ink
from personalize.design.design import Artwork, Design
from personalize.design.glue import rings_of
from personalize.finding import Finding, Severity
from personalize.geometry.zone import Region, grown, middle_of, region_of
from personalize.rules import Rule

LAP_MM = 1.5
"""So far artwork may run into a glue area, that no paper shows at its edge. Common
practice, no source."""
LEAST_SHARE = 0.1
"""Of a glue area, from which its ink is told. Judgement."""
_WHOLE = 0.95


def glue_findings(design: Design) -> Iterator[Finding]:
    """Tell of glue areas that artwork inks, wholly or in part."""
    areas = [region_of(ring) for ring in rings_of(design.glue)]
    if not areas:
        return
    for version, art in design.artworks.items():
        if has_picture(art.svg):
            whose = f"The picture of version {version!r}" if version else "The picture"
            yield from _inked(design, art, areas, whose)


def _inked(
    design: Design, art: Artwork, areas: list[Region], whose: str
) -> Iterator[Finding]:
    ink = Ink(art.svg, art.box_mm, art.fonts)
    for area in areas:
        share = float(ink.at(points_within(_bare(area))).mean())
        if share < LEAST_SHARE:
            continue
        x, y = middle_of(area)
        part = "the whole" if share > _WHOLE else f"{share:.0%}"
        yield Finding(
            Rule.INKED_GLUE,
            Severity.WARNING,
            f"{whose} inks {part} of the glue area whose middle lies {x:.0f} mm from the"
            f" left and {design.height_mm - y:.0f} mm from the top of the drawing: glue"
            " holds less well on ink than on paper.",
            f"Leave it bare but for a lap of {LAP_MM:g} mm, or try your glue on a print.",
            figures={
                "share": round(share, 3),
                "x_mm": round(x, 3),
                "y_mm": round(y, 3),
            },
        )


def _bare(area: Region) -> Region:
    """Give the part of a glue area that is to stay bare; all of one that is too narrow."""
    try:
        return grown(area, -LAP_MM)
    except ValueError:
        return area
