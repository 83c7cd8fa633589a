"""Glue areas: parts of a piece that take adhesive, and so no words."""

import math
from collections.abc import Sequence

import numpy as np

from personalize.design.design import DesignLine, LineKind
from personalize.design.lines import FoundLines
from personalize.geometry.affine import Point, Points
from personalize.geometry.faces import shared_border
from personalize.geometry.path import Contour, polyline
from personalize.geometry.zone import Region, cleared, plain_corners
from personalize.units import FLATTEN_MM

TAB_SHARE = 0.4
"""A glue tab is at most this much of the panel that it hangs on. Judgement."""
TAB_MM = 25.0
"""A glue tab reaches at most so far from its crease. Judgement."""
TAPER = 0.97
"""The free side of a tab is shorter than its crease by 3 % at least: its sides slant, so
that it slips in behind the other panel. Common practice, no source."""
_SLACK_MM = 0.5


def glue_lines(lines: Sequence[DesignLine]) -> tuple[Contour, ...]:
    """Give the lines of glue; closed ones are areas."""
    return tuple(line.contour for line in lines if line.kind is LineKind.GLUING)


def rings_of(contours: Sequence[Contour]) -> list[Points]:
    """Give the edges of the areas among glue lines, flattened."""
    rings = [one.flattened(FLATTEN_MM) for one in contours if one.closed]
    return [ring for ring in rings if len(ring) > 2]


def glue_of(lines: FoundLines, panels: Sequence[Region]) -> tuple[Contour, ...]:
    """Give all glue: the lines of it, and the edges of panels that take it."""
    edges = (polyline(panel.outer, closed=True) for panel in panels)
    return (*glue_lines(lines.lines), *edges)


def takes_glue(panel: Region, rings: Sequence[Points]) -> bool:
    """Whether more than half of a panel is glue area."""
    if not rings:
        return False
    left = sum(part.area_mm2 for part in cleared(panel, rings))
    return left < panel.area_mm2 / 2


def tabs(panels: Sequence[Region]) -> tuple[int, ...]:
    """Find the panels that look like glue tabs.

    A tab hangs on one other panel by its longest side, has four corners, slants inward on
    both sides, and is small beside that panel.
    """
    found = []
    for i, panel in enumerate(panels):
        borders = [
            (border, other)
            for j, other in enumerate(panels)
            if j != i and (border := shared_border(panel, other)) is not None
        ]
        if len(borders) == 1 and _is_tab(panel, *borders[0]):
            found.append(i)
    return tuple(found)


def _is_tab(panel: Region, crease: tuple[Point, Point], on: Region) -> bool:
    if panel.holes or panel.area_mm2 > TAB_SHARE * on.area_mm2:
        return False
    corners = plain_corners(panel, _SLACK_MM)
    if len(corners) != 4:
        return False
    a, b = np.array(crease[0]), np.array(crease[1])
    long = math.dist(crease[0], crease[1])
    along = (b - a) / long
    across = np.array((-along[1], along[0]))
    away = [abs(float((corner - a) @ across)) for corner in corners]
    free = [corner for corner, d in zip(corners, away, strict=True) if d > _SLACK_MM]
    if len(free) != 2 or max(away) > TAB_MM:
        return False
    shares = sorted(float((corner - a) @ along) for corner in free)
    level = abs(away[0] + away[1] + away[2] + away[3] - 2 * max(away)) < 2 * _SLACK_MM
    slants = shares[0] > 0 and shares[1] < long
    return level and slants and shares[1] - shares[0] < TAPER * long
