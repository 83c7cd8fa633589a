"""A cut round all pieces of a sheet, as for stickers that are lifted out together.

Sheets are laid out so that it has room: pieces lie as far from marks and clear zones, and
from where the cutter no longer cuts, as the cut runs round them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from personalize.design.design import Design
from personalize.errors import InputError, refuse
from personalize.geometry.affine import Points
from personalize.geometry.along import Track
from personalize.geometry.path import Contour, polyline
from personalize.geometry.zone import cleared, region_of
from personalize.sheet.boxes import mapped, meets_any, wider
from personalize.sheet.ink import RegisterMark
from personalize.sheet.paper import LEAST_ROOM_MM, Rect
from personalize.sheet.route import set_downs
from personalize.sheet.rules import SheetRules

EDGE_MM = 1.0
"""The cut keeps so far inside the paper."""
LEAST_STRIP_MM = 10.0
"""A strip between a zone and the cut is left out where it is narrower: it would tear.
Judgement."""
_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Kept:
    """What a cut round the pieces keeps off, and where it may run."""

    zones: tuple[tuple[Rect, ...], ...]
    """Of each mark and each clear zone the boxes that cover it."""
    room: Rect
    room_is: str = "the paper"


def kept(rules: SheetRules, marks: Sequence[RegisterMark]) -> Kept:
    """Give what such a cut keeps off on a sheet, as its cut file has it."""
    by = rules.cut_map
    zones = [
        *((mark.clear_zone,) for mark in marks),
        *(zone.boxes(rules.paper) for zone in rules.clear),
    ]
    there = tuple(tuple(mapped(box, by) for box in zone) for zone in zones)
    room_is = "the paper" if rules.reach is None else "what the cutter reaches"
    return Kept(there, mapped(_room(rules), by), room_is)


def _room(rules: SheetRules) -> Rect:
    """Give where the cut may run, in sheet mm."""
    paper, reach = rules.paper, rules.reach_margins
    x0, y0, x1, y1 = wider((0.0, 0.0, paper.width_mm, paper.height_mm), -EDGE_MM)
    if reach is not None:
        a, b, c, d = reach.within(paper)
        x0, y0, x1, y1 = max(x0, a), max(y0, b), min(x1, c), min(y1, d)
    return (x0, y0, x1, y1)


def around_of(designs: Sequence[Design], rules: SheetRules) -> float:
    """Give the distance of a cut round the pieces, 0 where there is none."""
    if not rules.is_machine_cut:
        return 0.0
    if rules.around_mm is not None:
        return rules.around_mm
    return max((one.cut.around_mm or 0.0 for one in designs), default=0.0)


def area_inside(area: Rect, rules: SheetRules, taken_mm: float) -> Rect | None:
    """Give the part of an area where pieces leave room for the cut round them.

    `taken_mm` is what the area keeps free round outlines already. None where next to
    nothing is left.
    """
    by = (rules.around_mm or 0.0) - taken_mm
    a, b, c, d = wider(_room(rules), -by)
    x0, y0, x1, y1 = max(area[0], a), max(area[1], b), min(area[2], c), min(area[3], d)
    return (x0, y0, x1, y1) if min(x1 - x0, y1 - y0) >= LEAST_ROOM_MM else None


def beside(boxes: Sequence[Rect], rules: SheetRules) -> Iterator[Rect]:
    """Give where a cut round some boxes may run: rules and words keep off that."""
    if not rules.around_mm or not boxes:
        return
    x0, y0, x1, y1 = _round(boxes, rules.around_mm)
    yield from (_round(zone.boxes(rules.paper), 0.0) for zone in rules.clear)
    yield from ((x0, y0, x1, y0), (x1, y0, x1, y1), (x0, y1, x1, y1), (x0, y0, x0, y1))


def around(
    outlines: Sequence[Contour],
    keep: Kept,
    distance_mm: float,
    asked: str = "--around",
) -> Contour:
    """Give a box round all pieces, so far away, that steps in where a zone stands.

    `asked` is what asks for the cut. Raises InputError where it would leave the paper, or
    what the cutter reaches, or run through a register mark or a clear zone.
    """
    boxes = [outline.bounds() for outline in outlines]
    frame = x0, y0, x1, y1 = _round(boxes, distance_mm)
    a, b, c, d = keep.room
    if min(x0 - a, y0 - b, c - x1, d - y1) < -_SAME_MM:
        raise refuse(
            asked,
            f"a cut {distance_mm:g} mm round the pieces would leave {keep.room_is}.",
            "Take a smaller distance, or larger paper.",
        )
    far = [wider(box, distance_mm - _SAME_MM) for box in boxes]
    taken = [
        _corners(_outward(box, frame, far))
        for zone in keep.zones
        for box in _plain(zone, far)
    ]
    parts = cleared(region_of(_corners(frame)), taken)
    # A corner that a zone cuts off holds no piece.
    held = [p for p in parts if any(p.contains(one.start) for one in outlines)]
    if len(held) != 1 or not _alike(held[0].box, frame):
        raise _in_the_way(distance_mm, asked)
    # Boxes that meet leave corners between them that turn nowhere.
    corners = _turning(np.array(held[0].outer))
    track = Track(polyline([(float(x), float(y)) for x, y in corners], closed=True))
    return track.whole(set_downs(track)[0])


def _in_the_way(distance_mm: float, asked: str) -> InputError:
    return refuse(
        asked,
        f"a cut {distance_mm:g} mm round the pieces would run through a register mark or a"
        " clear zone.",
        "Take a smaller distance, or leave out the mark or the zone.",
    )


def _alike(a: Rect, b: Rect) -> bool:
    return max(abs(p - q) for p, q in zip(a, b, strict=True)) <= _SAME_MM


def _round(boxes: Sequence[Rect], by: float) -> Rect:
    low, high = np.min(boxes, axis=0), np.max(boxes, axis=0)
    return wider((float(low[0]), float(low[1]), float(high[2]), float(high[3])), by)


def _plain(zone: Sequence[Rect], far: Sequence[Rect]) -> Sequence[Rect]:
    """Give one box for a slanted zone, lest the cut has a step in each millimetre.

    Where a piece lies too near to that, the boxes that cover the zone.
    """
    whole = _round(zone, 0.0)
    return zone if meets_any(whole, far) else (whole,)


def _outward(zone: Rect, frame: Rect, far: Sequence[Rect]) -> Rect:
    """Widen a zone to sides of the frame near it, where no piece lies between."""
    for side in range(4):
        gap = (zone[side] - frame[side]) * (1 if side < 2 else -1)
        if 0 < gap < LEAST_STRIP_MM:
            sides = list(zone)
            sides[side] = frame[side]
            wide = (sides[0], sides[1], sides[2], sides[3])
            zone = zone if meets_any(wide, far) else wide
    return zone


def _corners(box: Rect) -> Points:
    x0, y0, x1, y1 = box
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _turning(ring: Points) -> Points:
    """Leave out points between two straights that go on alike; begin at the lower left."""
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turns = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    kept_points: Points = ring[turns > _SAME_MM]
    first = np.lexsort((kept_points[:, 1], kept_points[:, 0]))[0]
    return np.roll(kept_points, -int(first), axis=0)
