"""The places for texts in one panel: bands from top to bottom, and rings.

Works in the panel's reading frame: the text stands upright there.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from personalize.design.design import Ring
from personalize.design.spec import BlockSpec, RingSpec
from personalize.errors import InputError, Problem, refuse
from personalize.geometry.affine import Affine, Point, Points
from personalize.geometry.path import distances
from personalize.geometry.zone import Region, common, region_of, sector, without

GAP_MM = 1.0
"""Between two blocks. Judgement: about the space between two lines of small type."""
DEPTH_SHARE = 0.3
"""Depth of a ring, as part of its outer radius, unless told. Judgement."""
ALONE_DEG, SHARED_DEG = 300.0, 140.0
"""Largest angle of a ring's text: alone, or where another ring stands in the panel."""
HALF_DEG = 180.0
"""A text that may run farther round leaves the others the inside of its ring alone."""
LESS_MM = 0.3
"""Room that words lose beside the text of a ring, so that they are fitted fast."""
ROUND_MM = 0.05
"""An outline this near to a circle all round is one."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where one text may stand, in piece coordinates."""

    block: BlockSpec | None
    zone: Region
    ring: Ring | None = None


def place_ring(
    spec: RingSpec,
    zone: Region,
    region: Region,
    page_height_mm: float,
    centre: Point | None = None,
    *,
    alone: bool = True,
) -> Place:
    """Find the ring of a text in a panel's zone. Raises InputError.

    `centre` is one that another panel's ring has, seen from here.
    """
    if spec.centre is not None:
        centre = (spec.centre[0], page_height_mm - spec.centre[1])
    centre = centre or _round_about(region) or zone.centroid
    outer = spec.radius
    if outer is None:
        if not zone_outside(zone).contains(centre):
            raise refuse(
                spec.place,
                "the ring's centre lies outside the safe zone, so its radius is not clear.",
                "Give its radius, for example ring = { centre = [30, 40], radius = 24 }.",
            )
        outer = _distance(centre, np.array(zone.outer))
    depth = min(spec.depth or DEPTH_SHARE * outer, outer)
    outward = spec.reading == "outward"
    middle = spec.middle_deg if spec.middle_deg is not None else 0.0 if outward else 180.0
    most = spec.most_deg or (ALONE_DEG if alone else SHARED_DEG)
    ring = Ring(centre, outer - depth, outer, outward, middle, most)
    if not _holds(zone, ring):
        ring = Ring(centre, outer - depth, outer, outward, middle, most, zone)
    parts = common(zone, sector(centre, ring.inner_mm, ring.outer_mm))
    if not parts:
        raise refuse(
            spec.place,
            "the ring lies outside the safe zone.",
            "Give another centre or radius.",
        )
    return Place(None, parts[0], ring)


def place_blocks(
    blocks: Sequence[BlockSpec],
    rings: Sequence[Place],
    zone: Region,
    to_reading: Affine,
    gap_mm: float,
) -> list[Place]:
    """Give the straight blocks their bands, and all blocks in their order.

    `rings` are the places of the blocks that have one. A band of several parts keeps its
    largest. Raises InputError.
    """
    ringed = iter(rings)
    places = {b.name: next(ringed) for b in blocks if b.ring is not None}
    _apart([(b, places[b.name]) for b in blocks if b.ring is not None], to_reading)
    straight = [block for block in blocks if block.ring is None]
    left = _left_by(rings, zone, to_reading, gap_mm)
    boxes = [part.mapped(to_reading).box for part in left]
    problems = [] if left else [_no_room(block) for block in straight]
    if straight and left:
        low, high = min(b[1] for b in boxes), max(b[3] for b in boxes)
        x0, x1 = min(b[0] for b in boxes) - 1, max(b[2] for b in boxes) + 1
        shares = [block.share or 1.0 for block in straight]
        room = high - low - gap_mm * (len(straight) - 1)
        top = high
        back = to_reading.inverse()
        for block, share in zip(straight, shares, strict=True):
            bottom = top - room * share / sum(shares)
            parts: list[Region] = []
            if bottom < top:
                corners = [(x0, bottom), (x1, bottom), (x1, top), (x0, top)]
                band = region_of(np.array(corners)).mapped(back)
                parts = [p for part in left for p in common(part, band)]
            if parts:
                places[block.name] = Place(block, max(parts, key=lambda p: p.area_mm2))
            else:
                problems.append(_no_room(block))
            top = bottom - gap_mm
    if problems:
        raise InputError(problems)
    return [Place(b, places[b.name].zone, places[b.name].ring) for b in blocks]


def _left_by(
    rings: Sequence[Place], zone: Region, to_reading: Affine, gap_mm: float
) -> list[Region]:
    """Give what rings leave of a zone: a whole one its inside, others all beside them."""
    left = [zone]
    for ring in (place.ring for place in rings if place.ring is not None):
        if ring.within is None and ring.most_deg > HALF_DEG:
            inside = ring.inner_mm - gap_mm
            if inside <= 0:
                return []
            hole = sector(ring.centre, 0.0, inside)
            left = [p for part in left for p in common(part, hole)]
        else:
            taken = _taken(ring, to_reading, gap_mm, LESS_MM)
            left = [p for part in left for p in without(part, taken)]
    return left


def _taken(ring: Ring, to_reading: Affine, gap_mm: float, less_mm: float = 0.0) -> Region:
    """Part of a ring that its text may take, with a gap, in piece coordinates.

    With `less_mm` it is drawn with long chords that take so much more of the inside: each
    makes one pocket of the zone that is left.
    """
    more = math.degrees(gap_mm / ring.outer_mm)
    span = min(ring.most_deg + 2 * more, 359.0)
    inner, outer = max(ring.inner_mm - gap_mm, 0.0), ring.outer_mm + gap_mm
    middle = 90 - ring.middle_deg
    centre = to_reading(ring.centre)
    if less_mm and inner > less_mm:
        step = 2 * math.degrees(math.acos(1 - less_mm / inner))
        chords = math.ceil(span / step)
        turns = np.radians(middle + span * (np.arange(chords + 1) / chords - 0.5))
        way = np.column_stack([np.cos(turns), np.sin(turns)])
        beyond = way * 2 * outer / math.cos(math.radians(step) / 2)
        taken = region_of(np.concatenate([beyond, (way * inner)[::-1]]) + centre)
    else:
        taken = sector(centre, inner, outer, middle, span)
    return taken.mapped(to_reading.inverse())


def _apart(rings: Sequence[tuple[BlockSpec, Place]], to_reading: Affine) -> None:
    """Refuse rings whose texts could meet."""
    for i, (block, place) in enumerate(rings):
        for other, before in rings[:i]:
            assert place.ring is not None
            assert before.ring is not None
            both = common(
                _taken(place.ring, to_reading, 0.0), _taken(before.ring, to_reading, 0.0)
            )
            if sum(part.area_mm2 for part in both) > 1e-3:
                raise refuse(
                    block.place,
                    f"the rings of blocks {other.name!r} and {block.name!r} overlap.",
                    "Give each a smaller most_deg, another middle_deg, or another radius.",
                )


def _no_room(block: BlockSpec) -> Problem:
    return Problem(
        block.place,
        f"block {block.name!r} has no room for text.",
        "Give it a larger share, or make gaps, rings or margins smaller.",
    )


def zone_outside(zone: Region) -> Region:
    """Give a zone with its holes filled."""
    return Region(zone.outer)


def _round_about(region: Region) -> Point | None:
    """Centre of a region whose outline is a circle."""
    x0, y0, x1, y1 = region.box
    centre = ((x0 + x1) / 2, (y0 + y1) / 2)
    away = np.hypot(*(np.array(region.outer) - centre).T)
    return centre if np.ptp(away) < ROUND_MM else None


def _distance(point: Point, ring: Points) -> float:
    """Distance from a point to a closed line."""
    return float(distances(np.array([point]), ring, closed=True)[0])


def _holds(zone: Region, ring: Ring) -> bool:
    """Whether a zone holds a whole ring."""
    if not zone_outside(zone).contains(ring.centre):
        return False
    if ring.outer_mm > _distance(ring.centre, np.array(zone.outer)) + 1e-9:
        return False
    for hole in map(np.array, zone.holes):
        farthest = float(np.hypot(*(hole - ring.centre).T).max())
        inside = Region(tuple(map(tuple, hole.tolist()))).contains(ring.centre)
        nearest = 0.0 if inside else _distance(ring.centre, hole)
        if farthest > ring.inner_mm and nearest < ring.outer_mm:
            return False
    return True
