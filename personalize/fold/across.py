"""What the eye sees of a folded piece: each face upright, from its own side."""

from dataclasses import dataclass

from personalize.design.design import Design, Panel
from personalize.geometry.affine import Affine
from personalize.geometry.zone import Region


@dataclass(frozen=True, slots=True)
class Face:
    """One face of the folded piece."""

    panel: Panel
    """Its panel, or the first block of it."""
    to_view: Affine
    """From the flat piece to the face as seen: its text upright, y up, mm."""
    region: Region
    """The panel in the view."""


def faces_of(design: Design) -> tuple[Face, ...]:
    """Give every face that carries text, in the order of the panels.

    A face is its panel turned until the text stands upright; it is never mirrored, since
    the viewer walks round to see it.
    """
    first: dict[str, Panel] = {}
    for panel in design.panels:
        first.setdefault(panel.of, panel)
    return tuple(
        Face(panel, panel.to_reading, panel.region.mapped(panel.to_reading))
        for panel in first.values()
    )
