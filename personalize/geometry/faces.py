"""Cut a piece along its creases, and find what two panels have in common."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from personalize.geometry.affine import Point, Points
from personalize.geometry.chains import CLOSE_MM, chained
from personalize.geometry.zone import (
    NODE_GRID_MM,
    Region,
    as_shapely,
    one_from_shapely,
)

SLIVER_MM2 = 1.0
"""Faces smaller than this are doubled or crossing lines, not panels."""
SLIVER_MM = 0.5
"""Faces narrower than this everywhere lie between lines that were drawn twice."""
REACH_MM = 1.0
"""A crease that stops this short of another line is taken to reach it."""
GAP_SHARE = 1.3
"""A dashed crease may end with a gap: it reaches this much of its own mean gap further."""


@dataclass(frozen=True, slots=True)
class Faces:
    """What creases make of a piece: its panels, and creases that end inside a panel."""

    panels: tuple[Region, ...]
    loose_ends: tuple[tuple[Point, ...], ...]


def _stretched(crease: Points, by_mm: float) -> Points:
    """Lengthen a polyline at both ends, along its own end directions."""
    first, last = crease[0] - crease[1], crease[-1] - crease[-2]
    out = crease.astype(float).copy()
    out[0] += first / np.hypot(*first) * by_mm
    out[-1] += last / np.hypot(*last) * by_mm
    return out


def cut_into_panels(
    outline: Points,
    holes: Sequence[Points],
    creases: Sequence[Points],
    slits: Sequence[Points] = (),
) -> Faces:
    """Cut a piece along its creases.

    `outline` and `holes` are closed, `creases` and `slits` open polylines, all of shape
    (n, 2). A slit alone divides nothing; where it runs from an edge to a crease, or joins
    the ends of one, it bounds the panels there, and they have no border in common along
    it.
    Creases drawn dash by dash are joined first. An end that misses another line by less
    than `REACH_MM`, or than `GAP_SHARE` of the gaps in its own line, is taken to meet
    it. Lines drawn twice make no panel between them.
    """
    piece = shapely.Polygon(outline, holes)
    chains = [(line, max(REACH_MM, GAP_SHARE * gap)) for line, gap in chained(creases)]
    lines = [shapely.LinearRing(ring) for ring in (outline, *holes)]
    lines += [shapely.LineString(_stretched(line, reach)) for line, reach in chains]
    cuts = [shapely.LineString(_stretched(slit, CLOSE_MM)) for slit in slits]
    lines += cuts
    noded = shapely.union_all(np.array(lines), grid_size=NODE_GRID_MM)
    faces, _, dangles, _ = shapely.polygonize_full(list(shapely.get_parts(noded)))
    panels = _without_slivers(
        [
            face
            for face in shapely.get_parts(faces)
            if piece.contains(face.representative_point())
        ]
    )
    if cuts:
        panels = [_apart(panel, shapely.union_all(cuts)) for panel in panels]
    panels.sort(key=lambda p: (-round(p.centroid.y, 3), round(p.centroid.x, 3)))
    reach = max((reach for _, reach in chains), default=REACH_MM)
    inside = [
        part
        for part in shapely.get_parts(dangles)
        if part.length > reach + REACH_MM + 2 * NODE_GRID_MM
        and not (cuts and _runs_along(part, cuts))
        and piece.contains(part.interpolate(0.5, normalized=True))
    ]
    return Faces(
        tuple(one_from_shapely(p) for p in panels),
        tuple(tuple(map(tuple, shapely.get_coordinates(d).tolist())) for d in inside),
    )


def _apart(face: Any, cuts: Any) -> Any:
    """Draw a panel back by a hair from the slits that bound it: nothing folds there."""
    along = face.boundary.intersection(cuts.buffer(2 * NODE_GRID_MM, cap_style="flat"))
    if along.length < SLIVER_MM:
        return face
    left = face.difference(along.buffer(NODE_GRID_MM, cap_style="flat"))
    return max(shapely.get_parts(left), key=lambda part: part.area)


def _runs_along(part: Any, cuts: Sequence[Any]) -> bool:
    """Whether a line that ends inside is a slit, or a stretch of one."""
    middle = part.interpolate(0.5, normalized=True)
    return any(cut.distance(middle) <= 2 * NODE_GRID_MM for cut in cuts)


def _without_slivers(faces: list[Any]) -> list[Any]:
    """Give what lies between lines drawn twice to the panel that it borders on most."""
    thin = [face for face in faces if _is_sliver(face)]
    kept = [face for face in faces if not _is_sliver(face)]
    for sliver in sorted(thin, key=lambda face: -face.area):
        shared = [face.intersection(sliver).length for face in kept]
        if shared and max(shared) > 0:
            at = int(np.argmax(shared))
            joined = shapely.union(kept[at], sliver)
            if joined.geom_type == "Polygon":
                kept[at] = joined
    return kept


def _is_sliver(face: Any) -> bool:
    if face.area < SLIVER_MM2:
        return True
    if face.area > SLIVER_MM * face.length:  # wider than that on the whole
        return False
    return bool(
        shapely.maximum_inscribed_circle(face, tolerance=0.02).length < SLIVER_MM / 2
    )


def shared_border(a: Region, b: Region) -> tuple[Point, Point] | None:
    """Ends of the longest stretch of border that two panels have in common.

    None when they only meet in points.
    """
    stretches = shared_stretches(a, b)
    if not stretches:
        return None
    longest = stretches[0]
    if longest[0] == longest[-1]:
        return None  # one panel lies in a hole of the other: nothing folds there
    return (longest[0], longest[-1])


def shared_stretches(a: Region, b: Region) -> tuple[tuple[Point, ...], ...]:
    """Give every stretch of border that two panels have in common, longest first."""
    shared = as_shapely(a).boundary.intersection(as_shapely(b).boundary)
    lines = [p for p in shapely.get_parts(shared) if p.length > 0]
    if not lines:
        return ()
    joined = shapely.get_parts(shapely.line_merge(shapely.union_all(lines)))
    return tuple(
        tuple(map(tuple, shapely.get_coordinates(line).tolist()))
        for line in sorted(joined, key=lambda line: -line.length)
    )
