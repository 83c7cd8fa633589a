"""What words keep away from, by how much, and what of a panel that leaves."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from personalize.design.design import AREA_MM, Margins, Stick
from personalize.design.glue import glue_of, rings_of
from personalize.design.lines import FoundLines
from personalize.design.places import Draft
from personalize.design.pose import SHUT_DEG
from personalize.design.spec import DesignSpec
from personalize.geometry.affine import Points
from personalize.geometry.parts import farthest_mm, inside
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region, common, keep_away, region_of
from personalize.units import FLATTEN_MM

STICK_EXTRA_MM = 2.0
"""Text keeps this much more from the part of the paper that goes round a stick."""


def stick_allowance_mm(stick: Stick) -> float:
    """Distance that text keeps from a crease that goes round a stick.

    Half a turn round diameter d in paper of thickness t takes pi (d + t) / 2, half of it
    on each side; derived. Twice the diameter at least, so that the words do not begin to
    bend away (judgement).
    """
    round_mm = math.pi * (stick.diameter_mm + stick.thickness_mm) / 4
    return max(2 * stick.diameter_mm, round_mm + STICK_EXTRA_MM)


def crease_margin_mm(
    margins: Margins, stick: Stick | None, angle_deg: float = 180.0
) -> float:
    """Distance that text keeps from a crease: its margin, or the stick's allowance.

    A stick is where the crease is folded shut; paper goes round none at a lesser angle.
    """
    round_it = stick is not None and angle_deg >= SHUT_DEG
    return max(margins.crease, stick_allowance_mm(stick) if stick and round_it else 0.0)


@dataclass(frozen=True, slots=True)
class Edge:
    """A line that text keeps away from."""

    points: Points
    closed: bool
    distance_mm: float
    within: bool = False
    """Whether text keeps out of what it encloses too."""


def all_edges(
    lines: FoundLines, degs: Sequence[float], glued: Sequence[Region], spec: DesignSpec
) -> list[Edge]:
    """Give all that words keep away from.

    `degs` are the angles by which creases are folded, `glued` panels that take adhesive.
    """
    glue = glue_of(lines, glued)
    margins = spec.margins
    areas = [Edge(ring, True, margins.glue, within=True) for ring in rings_of(glue)]
    creases = [
        (crease, crease_margin_mm(margins, spec.stick, deg))
        for crease, deg in zip(lines.creases, degs, strict=True)
    ]
    return _edges(lines, glue, creases, margins) + areas


def _edges(
    lines: FoundLines,
    glue: Sequence[Contour],
    creases: Sequence[tuple[Contour, float]],
    margins: Margins,
) -> list[Edge]:
    """Lines that text keeps away from, each with its distance.

    Curves come in chords. Where a curve lies nearer to the text than its chords (inside a
    bay, round a hole), the distance grows by as much.
    """
    wanted = [
        (lines.outline, margins.outline),
        *((hole, margins.hole) for hole in (*lines.holes, *lines.slits)),
        *creases,
        *((line, margins.glue) for line in glue),
    ]
    out = []
    for contour, distance_mm in wanted:
        points = contour.flattened(FLATTEN_MM)
        if len(points) > 1:
            away = _bulge(contour, points, outwards=contour is not lines.outline)
            out.append(Edge(points, contour.closed, distance_mm + away))
    return out


def free_parts(draft: Draft, edges: Sequence[Edge]) -> tuple[Region, ...]:
    """Give the parts of a panel that its words may take, the largest first.

    A text area that the maker drew takes the place of the margins; a least distance from
    every line stays.
    """
    if draft.area is None:
        return kept(draft.region, edges)
    ring = draft.area.flattened(FLATTEN_MM)
    away = _bulge(draft.area, ring, outwards=False)
    own = [Edge(ring, True, away)] if away else []
    near = [replace(edge, distance_mm=min(edge.distance_mm, AREA_MM)) for edge in edges]
    parts = common(draft.region, region_of(ring))
    return tuple(part for one in parts for part in kept(one, [*near, *own]))


def kept(region: Region, edges: Sequence[Edge]) -> tuple[Region, ...]:
    """Give the parts of a region that keep away from every edge, the largest first."""
    return keep_away(
        region,
        [(edge.points, edge.closed, edge.distance_mm) for edge in edges],
        [(edge.points, edge.distance_mm) for edge in edges if edge.within],
    )


def _bulge(contour: Contour, chords: Points, *, outwards: bool) -> float:
    """How far a curve leaves its chords on the side where the text is."""
    near = contour.flattened(FLATTEN_MM / 20)
    if len(near) == len(chords):
        return 0.0
    if contour.closed:
        near = near[inside(region_of(chords), near) != outwards]
    return farthest_mm(near, chords, closed=contour.closed)
