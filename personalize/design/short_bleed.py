"""Where artwork falls short of its bleed, as areas: white if the cut drifts."""

import math
from collections.abc import Iterator

import numpy as np

from personalize.design.bleed import INSIDE_MM, LEAST_MM, Ink, walk
from personalize.design.design import Artwork, Design
from personalize.geometry.affine import Points
from personalize.geometry.zone import Region, common, rounded, without
from personalize.units import FLATTEN_MM

PX_PER_MM = 8.0
"""As the proof draws artwork."""
_DEEP_MM = 0.1
"""From one place across the bleed to the next."""
_LEAST_MM2 = 0.05
"""Smaller areas are the pixels of an edge."""


def short_of(design: Design, art: Artwork, reach_mm: float) -> tuple[Region, ...]:
    """Give the areas within `reach_mm` past the cut lines that lack ink, in piece mm.

    They lie outside the outline, or in a hole, beside ink just within the piece. White is
    paper, drawn or not; what is meant to end in white does so.
    """
    if art.white_edge:
        return ()
    ink = Ink(art.svg, art.box_mm, art.fonts, PX_PER_MM)
    rings = [(design.outline.flattened(FLATTEN_MM), False)]
    rings += [(hole.flattened(FLATTEN_MM), True) for hole in design.holes]
    cells = [
        cell for ring, hole in rings for cell in _cells(ink, ring, reach_mm, hole=hole)
    ]
    # A little over each other, so that neighbours join.
    found = rounded(cells, 0.01) if cells else ()
    parts = [left for part in found for left in without(part, design.silhouette)]
    printed = [kept for part in parts for kept in common(part, design.bleed)]
    return tuple(part for part in printed if _counts(part))


def _counts(part: Region) -> bool:
    """Whether an area is no pattern's own white: as long as the finding asks."""
    x0, y0, x1, y1 = part.box
    return part.area_mm2 > _LEAST_MM2 and math.hypot(x1 - x0, y1 - y0) >= LEAST_MM


def _cells(ink: Ink, ring: Points, reach_mm: float, *, hole: bool) -> Iterator[Points]:
    """Give the dry parts of the band beside a line, each between neighbouring places."""
    places, outward, inside, _ = walk(ring, inward=hole)
    count = max(1, round(reach_mm / _DEEP_MM))
    edges = np.linspace(0, reach_mm, count + 1)
    depths = (edges[:-1] + edges[1:]) / 2
    dry = np.stack([~ink.at(places + outward * depth) for depth in depths])
    dry &= ink.at(inside)
    dry &= np.roll(dry, -1, axis=1)
    after, away = np.roll(places, -1, axis=0), np.roll(outward, -1, axis=0)
    # A step over a gap between two places is none along the line.
    near = np.hypot(*(after - places).T) < INSIDE_MM * 4
    for i in np.flatnonzero(dry.any(axis=0) & near):
        for first, last in _runs(dry[:, i].tolist()):
            low, high = edges[first], edges[last + 1]
            yield np.array(
                [
                    places[i] + outward[i] * low,
                    after[i] + away[i] * low,
                    after[i] + away[i] * high,
                    places[i] + outward[i] * high,
                ]
            )


def _runs(mask: list[bool]) -> Iterator[tuple[int, int]]:
    """Give the first and last place of each run."""
    start = None
    for i, own in enumerate([*mask, False]):
        if own and start is None:
            start = i
        elif not own and start is not None:
            yield start, i - 1
            start = None
