"""What of a line is left uncut on purpose: gaps between dashes, nicks in an outline."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from personalize.design.design import DesignLine, LineKind
from personalize.errors import refuse
from personalize.geometry.along import Track

Span = tuple[float, float]
"""From and to along a line, in mm from its start; `to` may pass the end of a closed one."""

LEAST_HOLE_MM = 20.0
"""Holes narrower than this get no nicks: their waste is too small to be held. Judgement."""
NICK_FREE_MM = 3.0
"""Nicks keep so far from corners, where a blade turns. Judgement."""
_OFFSETS = 48
"""Turns of the even spacing that are tried."""


@dataclass(frozen=True, slots=True)
class Dashes:
    """A line as dashes: cut, gap, cut, with so much uncut at either end."""

    cut_mm: float
    gap_mm: float
    end_mm: float


CREASE_DASHES = Dashes(2.0, 2.0, 2.0)
PERFORATION = Dashes(3.0, 1.0, 1.0)
"""Common practice, no source."""


NICK_MM = 0.5
"""Common practice, no source."""


@dataclass(frozen=True, slots=True)
class CutRules:
    """How the lines of a sheet are to be cut."""

    dashes: dict[LineKind, Dashes] = field(default_factory=dict, hash=False)
    """Kinds that are cut as dashes, for machines without the tool for them."""
    nicks: int = 0
    """Bridges that hold each piece in its sheet; 0 where a carrier holds it."""
    nick_mm: float = NICK_MM
    around_mm: float | None = None
    """Distance of a cut round all pieces of a sheet; None for no such cut."""
    nicks_asked: str = field(default="--nicks", compare=False)
    around_asked: str = field(default="--around", compare=False)
    """What asks for these, to be named where they cannot be."""


def gaps_of(line: DesignLine, track: Track, rules: CutRules, place: str) -> list[Span]:
    """Spans of a line that are left uncut. Raises InputError where nicks have no room."""
    dashes = rules.dashes.get(line.kind)
    if dashes is not None:
        return dash_gaps(track.length_mm, dashes, closed=track.closed)
    if line.kind is LineKind.CUTTING and rules.nicks and line.contour.closed:
        x0, y0, x1, y1 = line.contour.bounds()
        if min(x1 - x0, y1 - y0) >= LEAST_HOLE_MM:
            asked = rules.nicks_asked
            return nick_spans(track, rules.nicks, rules.nick_mm, place, asked)
    return []


def dash_gaps(length_mm: float, dashes: Dashes, *, closed: bool) -> list[Span]:
    """Spread a whole number of dashes evenly, their ratio kept, and give the gaps."""
    if closed:
        count = max(1, round(length_mm / (dashes.cut_mm + dashes.gap_mm)))
        step = length_mm / count
        gap = step * dashes.gap_mm / (dashes.cut_mm + dashes.gap_mm)
        return [(i * step, i * step + gap) for i in range(count)]
    end = min(dashes.end_mm, length_mm / 3)
    room = length_mm - 2 * end
    count = max(1, round((room + dashes.gap_mm) / (dashes.cut_mm + dashes.gap_mm)))
    share = room / (count * dashes.cut_mm + (count - 1) * dashes.gap_mm)
    cut, gap = dashes.cut_mm * share, dashes.gap_mm * share
    inner = [
        (end + (i + 1) * cut + i * gap, end + (i + 1) * (cut + gap))
        for i in range(count - 1)
    ]
    return [(0.0, end), *inner, (length_mm - end, length_mm)]


def nick_spans(
    track: Track, count: int, nick_mm: float, place: str, asked: str = "--nicks"
) -> list[Span]:
    """Place nicks evenly round a closed line, away from its corners.

    The even spacing is turned to where the worst nick is furthest from a corner; one that
    is still too near moves by itself, at most a quarter of the spacing.
    """
    step = track.length_mm / count
    if step < 4 * nick_mm + 2:
        raise refuse(
            place,
            f"{count} nicks of {nick_mm:g} mm are too many for a line that is"
            f" {track.length_mm:.0f} mm long.",
            f"Give {asked} a smaller number, or shorter nicks.",
        )
    offsets = [step * (i + 0.5) / _OFFSETS for i in range(_OFFSETS)]
    best = max(offsets, key=lambda at: _worst(track, [at + i * step for i in range(count)]))
    middles = [_moved(track, best + i * step, step / 4) for i in range(count)]
    return sorted((m - nick_mm / 2, m + nick_mm / 2) for m in middles)


def _worst(track: Track, middles: Sequence[float]) -> float:
    """Give how far the nearest corner is, as far as it matters."""
    return min(min(track.from_corners(m), NICK_FREE_MM) for m in middles)


def _moved(track: Track, middle: float, most: float) -> float:
    shifts = sorted((i / 10 * most for i in range(-10, 11)), key=abs)
    near = [(middle + by) % track.length_mm for by in shifts]
    return max(near, key=lambda at: min(track.from_corners(at), NICK_FREE_MM))


def kept_of(spans: Sequence[Span], length_mm: float, *, closed: bool) -> list[Span]:
    """Give what is left of a line without some spans; all of it as one span from 0.

    Spans of a closed line may run over its start; so may what is left.
    """
    spans = merged(spans, length_mm)
    if not spans:
        return [(0.0, length_mm)]
    ends = [0.0, *(b for _, b in spans)]
    starts = [*(a for a, _ in spans), length_mm]
    out = [(a, b) for a, b in zip(ends, starts, strict=True) if b - a > HAIR_MM]
    if closed and len(out) > 1 and out[0][0] == 0 and out[-1][1] == length_mm:
        first, last = out[0], out.pop()
        out[0] = (last[0], length_mm + first[1])
    return out


HAIR_MM = 0.005
"""A shorter piece is no piece: half of what files may disagree by."""


def merged(spans: Sequence[Span], length_mm: float) -> list[Span]:
    """Sort spans into 0 to `length_mm` and join those that meet."""
    flat = []
    for a, b in spans:
        turn = math.floor(a / length_mm + 1e-12) * length_mm
        a, b = a - turn, b - turn
        flat.append((max(a, 0.0), min(b, length_mm)))
        if b > length_mm + 1e-9:
            flat.append((0.0, b - length_mm))
    out: list[Span] = []
    for a, b in sorted(flat):
        if out and a <= out[-1][1] + HAIR_MM:
            out[-1] = (out[-1][0], max(b, out[-1][1]))
        else:
            out.append((a, b))
    return out


def without(spans: Sequence[Span], taken: Sequence[Span], length_mm: float) -> list[Span]:
    """Give what is left of spans outside others; none runs over the start."""
    out = []
    for a, b in merged(spans, length_mm):
        at = a
        for c, d in merged(taken, length_mm):
            if d <= at or c >= b:
                continue
            if c - at > HAIR_MM:
                out.append((at, c))
            at = max(at, d)
        if b - at > HAIR_MM:
            out.append((at, b))
    return out
