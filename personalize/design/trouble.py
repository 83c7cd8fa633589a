"""What can be wrong with a line that a knife shall follow, where it is, and its mending.

Nothing is mended unless the maker asks for it (``mend = true``), and then it is told.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from personalize.finding import Severity
from personalize.geometry.affine import Point, Points
from personalize.geometry.chains import end_of
from personalize.geometry.path import Contour, Line, polyline, signed_area
from personalize.geometry.zone import (
    Region,
    crossing,
    distance_mm,
    filled,
    keep_away,
    region_of,
)
from personalize.rules import Rule
from personalize.units import FLATTEN_MM

HAIR_MM = 1.0
"""Ends this near were meant to meet: they can be mended."""
SAME_MM = 0.05
"""Two lines nowhere further apart are one line drawn twice."""
LOOP_MM2 = 1.0
"""A closed cut smaller than this is a slip of the pen: no tool cuts it."""
NODE_MM = 1e-3
"""Points nearer than this are one point drawn twice."""
CHORD_MM = 0.005
"""How far a mended outline may be from the curves that it was."""
NECK_MM = 2.0
"""Paper narrower than this tears. Common practice, no source."""
HOLE_MM = 2.0
"""A blade does not turn in a smaller hole. Common practice, no source."""
TIP_DEG = 25.0
"""A corner sharper than this frays or lifts. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing that is wrong with the cut lines."""

    rule: Rule
    severity: Severity
    says: str
    """With {at} and {to} where the places are to be said."""
    do: str
    at: Point
    """Page mm, y up."""
    to: Point | None = None
    """The other end of a gap."""

    def told(self, height_mm: float) -> str:
        """Say it with its places as a drawing program shows them: from the top left."""
        (x, y), (to_x, to_y) = self.at, self.to or self.at
        return self.says.format(
            at=f"at {x:.1f} mm across, {height_mm - y:.1f} mm down",
            to=f"at {to_x:.1f} mm across, {height_mm - to_y:.1f} mm down",
        )


_REDRAW = "Redraw it there as one line round the piece, or write mend = true."


def troubles(cuts: Sequence[Contour]) -> list[Trouble]:
    """Find everything that keeps a knife from following the cut lines."""
    found = [trouble for cut in cuts for trouble in _of_one(cut)]
    found += [
        Trouble(
            Rule.DOUBLED,
            Severity.ERROR,
            "a cut line is drawn twice, one on the other, {at}.",
            "Delete one of them, or write mend = true.",
            cuts[second].start,
        )
        for _, second in _doubled(cuts)
    ]
    return found


def _of_one(cut: Contour) -> Iterator[Trouble]:
    nodes = _double_nodes(cut)
    if nodes:
        many = f"{len(nodes)} times a cut line has a point twice, first {{at}}"
        yield Trouble(Rule.DOUBLE_NODES, Severity.NOTE, f"{many}.", "", nodes[0])
    if not cut.closed:
        yield _open(cut)
        return
    ring = cut.flattened(FLATTEN_MM)
    if _loop(ring):
        yield Trouble(
            Rule.TINY_LOOP,
            Severity.ERROR,
            "there is a closed cut line of less than 1 mm2 {at}.",
            "Delete it, or write mend = true.",
            cut.start,
        )
        return
    for at in crossings(ring):
        yield Trouble(
            Rule.CROSSING, Severity.ERROR, "the outline crosses itself {at}.", _REDRAW, at
        )


def _open(cut: Contour) -> Trouble:
    end = end_of(cut)
    gap = math.dist(cut.start, end)
    do = "Join them in your drawing program"
    return Trouble(
        Rule.OPEN,
        Severity.ERROR,
        f"the outline is open: its ends, {{at}} and {{to}}, are {gap:.2f} mm apart.",
        f"{do}, or write mend = true." if gap <= HAIR_MM else f"{do}.",
        cut.start,
        end,
    )


def _loop(ring: Points) -> bool:
    return len(ring) < 3 or (abs(signed_area(ring)) < LOOP_MM2 and _extent(ring) < 3)


def _extent(ring: Points) -> float:
    return float(np.hypot(*(ring.max(axis=0) - ring.min(axis=0))))


def _double_nodes(cut: Contour) -> list[Point]:
    ends = [cut.start, *(segment.end for segment in cut.segments)]
    return [
        after
        for (before, after), segment in zip(pairwise(ends), cut.segments, strict=True)
        if isinstance(segment, Line) and math.dist(before, after) < NODE_MM
    ]


def _doubled(cuts: Sequence[Contour]) -> list[tuple[int, int]]:
    """Pairs of closed lines that lie on each other everywhere."""
    rings = {
        i: ring
        for i, cut in enumerate(cuts)
        if cut.closed and len(ring := cut.flattened(FLATTEN_MM)) > 2
    }
    boxes = {i: np.array([*r.min(axis=0), *r.max(axis=0)]) for i, r in rings.items()}
    alike: dict[int, list[int]] = {}
    found = []
    for i, ring in rings.items():
        cell = round(float(boxes[i].sum()) / SAME_MM)
        near = [j for c in range(cell - 4, cell + 5) for j in alike.get(c, ())]
        for j in near:
            close = np.abs(boxes[i] - boxes[j]).max() <= SAME_MM
            if close and _on(ring, rings[j]) and _on(rings[j], ring):
                found.append((j, i))
                break
        alike.setdefault(cell, []).append(i)
    return found


def _on(points: Points, ring: Points) -> bool:
    return all(distance_mm([ring], (float(x), float(y))) <= SAME_MM for x, y in points)


MOST_PLACES = 20
"""Crossings of one line that are told one by one."""


def crossings(ring: Points) -> list[Point]:
    """Give where a closed polyline crosses itself, at most `MOST_PLACES` of them."""
    first = crossing(ring)
    if first is None:
        return []
    starts, ends = ring, np.roll(ring, -1, axis=0)
    count = len(ring)
    found: list[Point] = []
    for i in range(count):
        later = np.arange(i + 2, count - (i == 0))
        found += _meets(starts[i], ends[i], starts[later], ends[later])
        if len(found) >= MOST_PLACES:
            break
    apart: list[Point] = []
    for point in found or [first]:
        if all(math.dist(point, other) > NODE_MM for other in apart):
            apart.append(point)
    return apart


def _meets(a: Points, b: Points, c: Points, d: Points) -> list[Point]:
    """Where the segment a b crosses each of many segments c d."""
    along, other, between = b - a, d - c, c - a
    area = along[0] * other[:, 1] - along[1] * other[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (between[:, 0] * other[:, 1] - between[:, 1] * other[:, 0]) / area
        u = (between[:, 0] * along[1] - between[:, 1] * along[0]) / area
    hit = (area != 0) & (t >= 0) & (t <= 1) & (u >= 0) & (u <= 1)
    return [(float(x), float(y)) for x, y in a + t[hit, None] * along]


@dataclass(frozen=True, slots=True)
class Mended:
    """Cut lines after mending, and what was done."""

    cuts: tuple[Contour, ...]
    says: tuple[str, ...]


def mended(cuts: Sequence[Contour]) -> Mended:
    """Mend what can be mended: gaps of a hair, small loops, lines drawn twice.

    What cannot (ends far apart, a line that crosses itself into two pieces) stays as it
    is, and `troubles` finds it again.
    """
    says: list[str] = []
    twice = {second for _, second in _doubled(cuts)}
    if twice:
        says.append(f"{len(twice)} cut line{'s' * (len(twice) > 1)} drawn twice left out")
    out = []
    for nth, cut in enumerate(cuts):
        if nth in twice:
            continue
        if cut.closed and _loop(cut.flattened(FLATTEN_MM)):
            says.append("a closed cut line of less than 1 mm2 left out")
            continue
        one = _closed(_without_double_nodes(cut), says)
        out.append(_uncrossed(one, says) if one.closed else one)
    return Mended(tuple(out), tuple(says))


def _closed(cut: Contour, says: list[str]) -> Contour:
    gap = math.dist(cut.start, end_of(cut))
    if cut.closed or gap > HAIR_MM or len(cut.segments) < 2:
        return cut
    says.append(f"a gap of {gap:.2f} mm closed")
    return Contour(cut.start, cut.segments, closed=True)


def _uncrossed(cut: Contour, says: list[str]) -> Contour:
    """Follow the outer edge of a line that crosses itself in small loops."""
    ring = cut.flattened(CHORD_MM)
    if crossing(ring) is None:
        return cut
    try:
        parts = filled([ring])
    except ValueError:
        return cut
    large = [part for part in parts if part.area_mm2 >= LOOP_MM2]
    if len(large) != 1 or any(
        abs(signed_area(np.array(hole))) >= LOOP_MM2 for hole in large[0].holes
    ):
        return cut
    before, after = abs(signed_area(ring)), abs(signed_area(np.array(large[0].outer)))
    says.append(
        f"a crossing of the outline cut off, its area {before:.2f} mm2 before and"
        f" {after:.2f} mm2 now"
    )
    return polyline(large[0].outer, closed=True)


def _without_double_nodes(cut: Contour) -> Contour:
    if not _double_nodes(cut):
        return cut
    at, kept = cut.start, []
    for segment in cut.segments:
        if isinstance(segment, Line) and math.dist(at, segment.end) < NODE_MM:
            continue
        kept.append(segment)
        at = segment.end
    return Contour(cut.start, tuple(kept), cut.closed)


def weak_places(outline: Contour, holes: Sequence[Contour]) -> Iterator[Trouble]:
    """Find thin necks, sharp tips and tiny holes: they can be cut, and may tear."""
    ring = outline.flattened(FLATTEN_MM)
    rings = [hole.flattened(FLATTEN_MM) for hole in holes]
    yield from _necks(region_of(ring, rings), ring, rings)
    for corner, degrees in _tips(outline):
        yield Trouble(
            Rule.SHARP_TIP,
            Severity.NOTE,
            f"a tip of {degrees:.0f} degrees (under {TIP_DEG:.0f}) may fray {{at}}.",
            "Round it.",
            corner,
        )
    for hole in rings:
        across = float((hole.max(axis=0) - hole.min(axis=0)).min())
        if across < HOLE_MM:
            x, y = hole.mean(axis=0)
            yield Trouble(
                Rule.TINY_HOLE,
                Severity.WARNING,
                f"the hole {{at}} is only {across:.1f} mm wide (least {HOLE_MM:g}).",
                "Make it larger, or punch it by hand.",
                (float(x), float(y)),
            )


def _necks(region: Region, ring: Points, rings: Sequence[Points]) -> Iterator[Trouble]:
    edges = [(one, True, NECK_MM / 2) for one in (ring, *rings)]
    parts = [p for p in keep_away(region, edges) if p.area_mm2 > LOOP_MM2]
    for a, b in pairwise(parts):
        first, second = np.array(a.outer), np.array(b.outer)
        gaps = np.hypot(*(first[:, None, :] - second[None, :, :]).transpose(2, 0, 1))
        i, j = np.unravel_index(int(gaps.argmin()), gaps.shape)
        x, y = (first[i] + second[j]) / 2
        yield _neck((float(x), float(y)), "between two parts of the piece")
    for hole in rings:
        for point in hole:
            at = (float(point[0]), float(point[1]))
            if distance_mm([ring], at) < NECK_MM:
                yield _neck(at, "between a hole and the edge")
                break


def _neck(at: Point, where: str) -> Trouble:
    return Trouble(
        Rule.THIN_NECK,
        Severity.WARNING,
        f"the paper {where} is narrower than {NECK_MM:g} mm {{at}} and may tear.",
        "Make it wider.",
        at,
    )


def _tips(outline: Contour) -> Iterator[tuple[Point, float]]:
    """Give the corners that are too sharp, and how sharp."""
    ring = outline.flattened(FLATTEN_MM)
    before, after = np.roll(ring, 1, axis=0) - ring, np.roll(ring, -1, axis=0) - ring
    spans = np.hypot(*before.T) * np.hypot(*after.T)
    inward = (before[:, 1] * after[:, 0] - before[:, 0] * after[:, 1]) * np.sign(
        signed_area(ring)
    )
    cosines = (before * after).sum(axis=1) / np.where(spans > 0, spans, 1)
    degrees = np.degrees(np.arccos(np.clip(cosines, -1, 1)))
    for i in np.flatnonzero((degrees < TIP_DEG) & (inward > 0) & (spans > 0)):
        yield (float(ring[i][0]), float(ring[i][1])), float(degrees[i])
