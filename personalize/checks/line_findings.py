"""Findings about lines of a design beside its outline.

Rules, by severity:
  warning  area-near-edge
"""

from collections.abc import Iterator

from personalize.design.design import AREA_MM, Design, Panel
from personalize.design.keep_off import crease_margin_mm
from personalize.finding import Finding, Severity
from personalize.geometry.path import Contour
from personalize.geometry.zone import gap_mm, region_of
from personalize.rules import Rule
from personalize.units import FLATTEN_MM, TOLERANCE_MM


def area_findings(design: Design) -> Iterator[Finding]:
    """Tell of text areas that the maker drew nearer to a line than the margins."""
    told: set[str] = set()
    for panel in design.panels:
        if panel.area is not None and panel.of not in told:
            told.add(panel.of)
            yield from _near(design, panel, panel.area)


def _near(design: Design, panel: Panel, area: Contour) -> Iterator[Finding]:
    region = region_of(area.flattened(FLATTEN_MM))
    margins = design.margins
    crease_mm = crease_margin_mm(margins, design.stick)
    for what, lines, margin_mm in (
        ("the outline", (design.outline,), margins.outline),
        ("a hole", design.holes, margins.hole),
        ("a slit", design.slits, margins.hole),
        ("a crease", design.creases, crease_mm),
        ("a glue area", design.glue, margins.glue),
    ):
        gaps = [
            gap_mm(region, points, closed=line.closed)
            for line in lines
            if len(points := line.flattened(FLATTEN_MM)) > 1
        ]
        near = min(gaps, default=margin_mm)
        if near < margin_mm - TOLERANCE_MM:
            kept = min(AREA_MM, margin_mm)
            trimmed = f" Words keep {kept:g} mm from it." if near < kept else ""
            yield Finding(
                Rule.AREA_NEAR_EDGE,
                Severity.WARNING,
                f"The text area comes within {near:.1f} mm of {what}, where the margin is"
                f" {margin_mm:g} mm.{trimmed}",
                "Draw it smaller if a shifted cut or crease would touch the words.",
                panel=panel.of,
                figures={"gap_mm": round(near, 3), "margin_mm": round(margin_mm, 3)},
            )
