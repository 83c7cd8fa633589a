"""Slits: open lines that a knife follows inside a piece, as for a tab to go through."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from personalize.design.trouble import HAIR_MM, LOOP_MM2, SAME_MM, Trouble
from personalize.finding import Severity
from personalize.geometry.affine import Point, Points
from personalize.geometry.chains import end_of
from personalize.geometry.path import Contour, distances
from personalize.geometry.zone import Region, past, region_of, severed
from personalize.rules import Rule
from personalize.units import FLATTEN_MM, TOLERANCE_MM


def parted(cuts: Sequence[Contour]) -> tuple[list[Contour], list[Contour]]:
    """Part the cut lines into outlines and slits.

    A slit is open and has its middle inside a closed line. One whose ends all
    but meet was meant to be closed: it stays among the outlines, to be told or mended.
    """
    rings = [
        ring for cut in cuts if cut.closed and len(ring := cut.flattened(FLATTEN_MM)) > 2
    ]
    if all(cut.closed for cut in cuts) or not rings:
        return list(cuts), []
    pieces = [region_of(ring) for ring in rings]
    slits = [cut for cut in cuts if not cut.closed and _is_slit(cut, pieces)]
    return [cut for cut in cuts if all(cut is not slit for slit in slits)], slits


def drawn_twice(cuts: Sequence[Contour]) -> list[Contour]:
    """Give the open cut lines that lie on an earlier one from end to end.

    They are looked for before lines are joined: two that meet at both ends would be taken
    for one that goes there and back.
    """
    alike: dict[int, list[tuple[Points, Points]]] = {}
    out = []
    for cut in cuts:
        if cut.closed or cut.length_mm() <= HAIR_MM:
            continue
        points = cut.flattened(FLATTEN_MM)
        box = np.array([*points.min(axis=0), *points.max(axis=0)])
        cell = round(float(box.sum()) / SAME_MM)
        near = [one for c in range(cell - 4, cell + 5) for one in alike.get(c, ())]
        if any(_same(points, box, *one) for one in near):
            out.append(cut)
        else:
            alike.setdefault(cell, []).append((points, box))
    return out


def _same(points: Points, box: Points, others: Points, other_box: Points) -> bool:
    """Whether two open lines are nowhere further apart than `SAME_MM`."""
    if np.abs(box - other_box).max() > SAME_MM:
        return False
    pairs = ((points, others), (others, points))
    return all(distances(a, b, closed=False).max() <= SAME_MM for a, b in pairs)


def twice_troubles(cuts: Sequence[Contour]) -> Iterator[Trouble]:
    """Tell of open cut lines that are drawn twice."""
    for cut in drawn_twice(cuts):
        yield Trouble(
            Rule.DOUBLED,
            Severity.ERROR,
            "an open cut line is drawn twice, one on the other, {at}: a blade that goes"
            " there twice tears the paper.",
            "Delete one of them, or write mend = true.",
            cut.start,
        )


def _is_slit(cut: Contour, pieces: Sequence[Region]) -> bool:
    if not cut.segments:
        return False
    gap = math.dist(cut.start, end_of(cut))
    if gap <= HAIR_MM and gap < cut.length_mm() / 2:
        return False
    middle = _middle(cut)
    return any(piece.contains(middle) for piece in pieces)


def _middle(cut: Contour) -> Point:
    """Give the point half along a line."""
    points = cut.flattened(FLATTEN_MM)
    left = cut.length_mm() / 2
    for (ax, ay), (bx, by) in zip(points[:-1].tolist(), points[1:].tolist(), strict=True):
        step = math.hypot(bx - ax, by - ay)
        if step >= left > 0:
            share = left / step
            return (ax + (bx - ax) * share, ay + (by - ay) * share)
        left -= step
    return (float(points[-1][0]), float(points[-1][1]))


def slit_troubles(
    outline: Contour, holes: Sequence[Contour], slits: Sequence[Contour]
) -> Iterator[Trouble]:
    """Find slits that run out of the piece, and slits that cut it in two."""
    ring = outline.flattened(FLATTEN_MM)
    whole = region_of(ring)
    lines = [slit.flattened(FLATTEN_MM) for slit in slits]
    for line in lines:
        at = past(whole, line, SAME_MM)
        if at is not None:
            yield Trouble(
                Rule.OUTLINE,
                Severity.ERROR,
                "an open cut line runs out of the piece {at}: it would cut what lies"
                " beside it.",
                "Draw it up to the outline and no further.",
                at,
            )
    if not lines:
        return
    piece = region_of(ring, [hole.flattened(FLATTEN_MM) for hole in holes])
    parts = [p for p in severed(piece, lines, TOLERANCE_MM) if p.area_mm2 > LOOP_MM2]
    for part in parts[1:]:
        yield Trouble(
            Rule.OUTLINE,
            Severity.ERROR,
            "an open cut line cuts a part off the piece; its middle lies {at}.",
            "Stop it short of the edge, or let it be a crease.",
            part.centroid,
        )
