"""What is printed for hands instead of machines: where to cut, fold and punch.

All of it is ink that lies outside of the piece or in its holes, so that none is left on
what is cut out. There are no cut files then.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum

import numpy as np

from personalize.design.design import Design
from personalize.design.style import Colour
from personalize.errors import refuse
from personalize.geometry.affine import Affine, Point, Points, reflection
from personalize.geometry.parts import offset
from personalize.geometry.path import Contour, is_straight, polyline
from personalize.geometry.zone import Region, Window, region_of, without
from personalize.sheet.boxes import Arrangement, mixed
from personalize.sheet.grid import grids
from personalize.sheet.guillotine import guillotined
from personalize.sheet.ink import GREY, InkStroke
from personalize.sheet.paper import Rect
from personalize.units import FLATTEN_MM

HAND_SPACING_MM = 8.0
HAND_SHIFT_MM = 1.5
"""How far scissors may be off. Like the spacing, common practice, no source."""
LINE_MM = 0.2
CASING_MM = 0.5
"""A white band under the grey line: it is seen on dark print too."""
TICK_FROM_MM, TICK_MM = 1.0, 4.0
"""A tick for a crease begins so far outside of the edge, and is so long. Common practice,
no source."""
LANE_TICK_MM = 5.0
CROSS_MM = 3.0
"""Longest arm of a cross in a hole."""
_CROSS_SHARE = 0.6
_ROUND = 0.93
"""Part of the circle round it that a hole must fill to be punched. Judgement."""
_SAME_MM = 0.3
"""How far two halves may differ on the whole that are cut as one. Judgement."""
_FAR_MM = 10_000.0
_WHITE = Colour(1.0, 1.0, 1.0)


class ByHand(StrEnum):
    """How hands cut a piece out."""

    SCISSORS = "scissors"
    """All round, flat."""
    FOLD_FIRST = "fold-first"
    """Folded in two, both layers at once: the line is on the face that is seen then."""


HIDDEN_BLEED_MM = 4.0
HAND_BLEED_MM = {ByHand.SCISSORS: 3.0, ByHand.FOLD_FIRST: HIDDEN_BLEED_MM}
"""Least bleed; more where a face is cut unseen. Common practice, no source."""


def reach_mm(design: Design) -> float:
    """How far from the outline anything is printed for hands."""
    return TICK_FROM_MM + TICK_MM if design.creases else CASING_MM


def straight_rows(
    outline: Region,
    area: Rect,
    *,
    spacing_mm: float,
    bleed_mm: float,
    clear_zones: tuple[Rect, ...] = (),
    along_grain: bool = False,
) -> tuple[Arrangement, ...]:
    """Give the fullest arrangements in rows that straight cuts take apart.

    As `nest.arrangements`, without shapes laid into each other.
    """
    rules = {"spacing_mm": spacing_mm, "bleed_mm": bleed_mm}
    plain = list(grids(outline, area, clear_zones=clear_zones, **rules))
    cut = guillotined(outline.box, area, clear_zones=clear_zones, **rules)
    may = cut.places and not (along_grain and mixed(cut))
    found = [*plain, cut] if may else plain
    most = max((len(one.places) for one in found), default=0)
    return tuple(one for one in found if most and len(one.places) == most)


def has_lines(spacing_mm: float) -> bool:
    """Whether there is room for lines round pieces; else they are parted by the ticks."""
    return spacing_mm >= 2 * CASING_MM


def has_fold_ticks(spacing_mm: float) -> bool:
    """Whether there is room for ticks that show where a piece is folded."""
    return spacing_mm > 2 * TICK_FROM_MM


def guides(
    design: Design, by_hand: ByHand | None, spacing_mm: float
) -> tuple[InkStroke, ...]:
    """Draw what guides hands round one piece, in piece mm; nothing for a machine.

    Nothing runs along the edge where pieces lie closer than the lines are wide: straight
    cuts by the ticks of the lanes part them. Raises InputError for a piece to be cut
    folded whose halves do not match.
    """
    if by_hand is None:
        return ()
    lines: list[Contour] = []
    if by_hand is ByHand.FOLD_FIRST and not has_lines(spacing_mm):
        raise refuse(
            "--spacing",
            f"there is no room for the line to cut along at {spacing_mm:g} mm.",
            f"Give {2 * CASING_MM:g} mm or more, or write --by-hand scissors for straight"
            " cuts.",
        )
    if has_lines(spacing_mm):
        lines += _edge(design, by_hand)
        lines += _ticks(design, min(TICK_MM, spacing_mm / 2 - TICK_FROM_MM))
    for hole in design.holes:
        lines += _in_hole(hole)
    inside = [InkStroke(slit, LINE_MM, GREY) for slit in design.slits]
    return (*_cased(lines), *inside)


def _cased(lines: Sequence[Contour]) -> Iterator[InkStroke]:
    yield from (InkStroke(line, CASING_MM, _WHITE) for line in lines)
    yield from (InkStroke(line, LINE_MM, GREY) for line in lines)


def _edge(design: Design, by_hand: ByHand) -> Iterator[Contour]:
    """The line just outside the edge: its white band touches the piece from outside."""
    outline = region_of(design.outline.flattened(FLATTEN_MM))
    for part in offset([outline], CASING_MM / 2):
        ring = part.outer
        if by_hand is ByHand.SCISSORS:
            yield polyline(ring, closed=True)
            continue
        half = seen_half(design)
        if half is None:
            raise refuse(
                design.file,
                f"{design.name} is not folded flat by one straight crease into halves that"
                " match, so it cannot be cut folded.",
                "Write --by-hand scissors, to cut it flat.",
            )
        closed = np.concatenate([ring, ring[:1]])
        yield from map(polyline, Window([half], 0.0).parts(closed))


def seen_half(design: Design) -> Region | None:
    """Give the side of the crease that is seen when a piece is cut folded in two.

    That is the front: the panel that faces another, or the first. None where the piece is
    not folded flat by one crease into two halves that match.
    """
    if len(design.creases) != 1 or not design.panels or not is_straight(design.creases[0]):
        return None
    ends = design.creases[0].flattened(FLATTEN_MM)[[0, -1]]
    (ax, ay), (bx, by) = ends.tolist()
    if not math.isclose(design.crease_degs[0], 180.0, abs_tol=1.0):
        return None
    along = np.array([bx - ax, by - ay]) / math.dist((ax, ay), (bx, by))
    across = np.array([-along[1], along[0]])
    faced = {panel.faces for panel in design.panels if panel.faces}
    front = next((p for p in design.panels if p.name not in faced), design.panels[0])
    x, y = front.zone.centroid
    if (np.array([x, y]) - (ax, ay)) @ across < 0:
        across = -across
    a, b = (np.array([ax, ay]) - along * _FAR_MM, np.array([ax, ay]) + along * _FAR_MM)
    seen = region_of(np.array([a, b, b + across * _FAR_MM, a + across * _FAR_MM]))
    whole = region_of(design.outline.flattened(FLATTEN_MM))
    mirrored = whole.mapped(reflection((ax, ay), (bx, by)))
    unlike = _area((*without(whole, mirrored), *without(mirrored, whole)))
    if unlike > _SAME_MM * _length(np.array(whole.outer)):
        return None
    return seen


def _area(parts: Iterable[Region]) -> float:
    return sum(part.area_mm2 for part in parts)


def _length(ring: Points) -> float:
    return float(np.hypot(*(np.roll(ring, -1, axis=0) - ring).T).sum())


def _ticks(design: Design, long_mm: float) -> Iterator[Contour]:
    """Ticks in line with every crease, outside of the outline."""
    if long_mm <= 0:
        return
    for crease in design.creases:
        if crease.closed:
            continue
        points = crease.flattened(FLATTEN_MM)
        for way in (points, points[::-1]):
            end = _leaves(way, design)
            if end is not None:
                at, out = end
                first, last = at + out * TICK_FROM_MM, at + out * (TICK_FROM_MM + long_mm)
                yield polyline([_pair(first), _pair(last)])


def _leaves(points: Points, design: Design) -> tuple[Points, Points] | None:
    """Find where a crease leaves the piece at its end, and in which direction.

    None where it ends inside, at a hole, or far from the edge.
    """
    inside = [design.silhouette.contains(_pair(point)) for point in points]
    last = next((i for i in range(len(points) - 1, -1, -1) if inside[i]), None)
    if last is None:
        # Both ends are on the edge or past it: from the middle of a straight one.
        start, way = points[:2].mean(axis=0), points[-1] - points[0]
    elif last < len(points) - 1:
        start, way = points[last], points[last + 1] - points[last]
    else:
        start, way = points[last], points[last] - points[last - 1]
    way = way / np.hypot(*way)
    edge = _first_crossing(start, way, design.outline.flattened(FLATTEN_MM))
    holes = [_first_crossing(start, way, h.flattened(FLATTEN_MM)) for h in design.holes]
    if edge is None or edge > min((h for h in holes if h is not None), default=edge):
        return None
    if last == len(points) - 1 and edge > TICK_FROM_MM + TICK_MM:
        return None
    return start + way * edge, way


def _first_crossing(start: Points, way: Points, ring: Points) -> float | None:
    """Distance along a ray to the first edge of a ring that it meets."""
    sides = np.roll(ring, -1, axis=0) - ring
    from_start = ring - start
    cross = way[0] * sides[:, 1] - way[1] * sides[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        far = (from_start[:, 0] * sides[:, 1] - from_start[:, 1] * sides[:, 0]) / cross
        on = (from_start[:, 0] * way[1] - from_start[:, 1] * way[0]) / cross
    hit = far[(cross != 0) & (far > -FLATTEN_MM) & (on >= 0) & (on <= 1)]
    return float(hit.min()) if len(hit) else None


def punch_mm(hole: Contour) -> float | None:
    """Give the width of a hole that a punch can make; None where it is not round."""
    region = region_of(hole.flattened(FLATTEN_MM))
    x0, y0, x1, y1 = region.box
    across = max(x1 - x0, y1 - y0)
    share = region.area_mm2 / (math.pi * across**2 / 4)
    return across if _ROUND <= share <= 1 / _ROUND else None


def _in_hole(hole: Contour) -> Iterator[Contour]:
    """The line just inside a hole, and a cross in its middle where it can be punched."""
    region = region_of(hole.flattened(FLATTEN_MM))
    for part in offset([region], -CASING_MM / 2):
        yield polyline(part.outer, closed=True)
    across = punch_mm(hole)
    if across is not None:
        (x, y), arm = region.centroid, min(CROSS_MM, _CROSS_SHARE * across / 2)
        yield polyline([(x - arm, y), (x + arm, y)])
        yield polyline([(x, y - arm), (x, y + arm)])


def hand_words(designs: Sequence[Design], spacing_mm: float) -> str:
    """Say on the sheet what to do by hand with pieces of some designs."""
    every = [hole for design in designs for hole in design.holes]
    holes = [across for hole in every if (across := punch_mm(hole)) is not None]
    sizes = sorted({round(across, 1) for across in holes})
    punch = (
        f" Punch {' and '.join(f'{s:g}' for s in sizes)} mm at the crosses."
        if sizes
        else ""
    )
    cut = "inside the grey line" if has_lines(spacing_mm) else "from tick to tick"
    folded = has_fold_ticks(spacing_mm) and any(design.creases for design in designs)
    fold = " Fold from tick to tick." if folded else ""
    return f" Cut {cut}.{fold}{punch}"


def lanes(boxes: Sequence[Rect], area: Rect) -> tuple[InkStroke, ...]:
    """Ticks at the ends of every straight cut that runs right across between pieces.

    `boxes` are those of the outlines; the first cuts are made with a trimmer or a long
    rule, so that scissors have strips to turn.
    """
    x0, y0, x1, y1 = area
    out: list[Contour] = []
    for at in _gaps([(box[1], box[3]) for box in boxes]):
        out += [polyline([(x0, at), (x0 + LANE_TICK_MM, at)])]
        out += [polyline([(x1 - LANE_TICK_MM, at), (x1, at)])]
    for at in _gaps([(box[0], box[2]) for box in boxes]):
        out += [polyline([(at, y0), (at, y0 + LANE_TICK_MM)])]
        out += [polyline([(at, y1 - LANE_TICK_MM), (at, y1)])]
    return tuple(InkStroke(line, LINE_MM, GREY) for line in out)


def _gaps(spans: Iterable[tuple[float, float]]) -> Iterator[float]:
    """Middles of what lies between spans that do not overlap."""
    ordered = sorted(spans)
    end = ordered[0][1] if ordered else 0.0
    for low, high in ordered[1:]:
        if low >= end - FLATTEN_MM:
            yield (low + end) / 2
        end = max(end, high)


def moved(strokes: Sequence[InkStroke], at: Affine) -> Iterator[InkStroke]:
    """Move what guides hands to the place of a piece."""
    for stroke in strokes:
        yield InkStroke(stroke.contour.transformed(at), stroke.width_mm, stroke.colour)


def _pair(point: Points) -> Point:
    return (float(point[0]), float(point[1]))
