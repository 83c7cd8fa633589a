"""What stands round and under letters so that they are read on busy artwork."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from personalize.design.design import Panel, Ring
from personalize.design.style import Rim
from personalize.errors import refuse
from personalize.geometry.affine import Points
from personalize.geometry.zone import Region, grown, rounded


def room_inside(panel: Panel, zone: Region) -> Region:
    """Give what a rim leaves of a zone for the letters themselves.

    Raises InputError where that is nothing.
    """
    rim = panel.style.rim
    if rim is None:
        return zone
    try:
        return grown(zone, -rim.mm)
    except ValueError:
        raise _no_room(panel, rim) from None


def ring_inside(panel: Panel, ring: Ring) -> Ring:
    """Give what a rim leaves of a ring. Raises InputError where that is nothing."""
    rim = panel.style.rim
    if rim is None:
        return ring
    inner, outer = ring.inner_mm + rim.mm, ring.outer_mm - rim.mm
    if inner >= outer:
        raise _no_room(panel, rim)
    within = None if ring.within is None else room_inside(panel, ring.within)
    return Ring(
        ring.centre,
        inner,
        outer,
        ring.outward,
        ring.middle_deg,
        ring.most_deg,
        within,
    )


def _no_room(panel: Panel, rim: Rim) -> Exception:
    return refuse(
        f"panel {panel.name}",
        f"a rim of {rim.mm:g} mm leaves no room for words.",
        "Make rim_mm smaller, or the panel larger.",
    )


def soft_shape(lines: Sequence[Points], by_mm: float, zone: Region) -> tuple[Region, ...]:
    """Give a rounded shape round the ink of lines, in their own frame.

    Each line is the four corners of its ink's box. Between two level lines the shape is as
    wide as both, unless that would leave the zone, so that it looks like one piece.
    """
    boxes = list(lines)
    level = [(*line.min(axis=0), *line.max(axis=0)) for line in lines if _is_level(line)]
    for (ax0, ay0, ax1, _), (bx0, _, bx1, by1) in pairwise(level):
        x0, x1 = max(ax0, bx0), min(ax1, bx1)
        if x0 < x1 and by1 < ay0:
            gap = np.array([(x0, by1), (x1, by1), (x1, ay0), (x0, ay0)])
            if all(zone.covers(part) for part in rounded([gap], by_mm)):
                boxes.append(gap)
    return rounded(boxes, by_mm)


def _is_level(corners: Points) -> bool:
    return bool(abs(corners[0][1] - corners[1][1]) < 1e-9)
