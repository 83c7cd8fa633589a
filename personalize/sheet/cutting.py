"""How the lines of a sheet are cut: in which order, from where, and what stays uncut.

Creases of the whole sheet come first; then, piece by piece on a short way, the holes and
slits of a piece and at last its outline: a piece that is cut loose can no longer be
creased or pierced in its place.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from personalize.design.design import Design, LineKind
from personalize.geometry.affine import Affine, Point
from personalize.geometry.along import Track
from personalize.geometry.chains import backwards, end_of
from personalize.geometry.path import Contour, signed_area
from personalize.sheet.ink import DieLine
from personalize.sheet.route import nearest_next, set_downs, short_route
from personalize.sheet.shared import SharedEdges
from personalize.sheet.uncut import CutRules, Span, gaps_of, kept_of, merged, without
from personalize.units import FLATTEN_MM, TOLERANCE_MM

WHOLE_SHEET = (LineKind.GLUING, LineKind.CREASING)
PIECE_BY_PIECE = (LineKind.PARTIAL_CUTTING, LineKind.PERFORATING, LineKind.CUTTING)
"""The order of kinds: first those of the whole sheet, line by line, then the others."""
FROM: Point = (0.0, 0.0)
"""The way begins at the lower left corner of the sheet."""


class Why(StrEnum):
    """Why part of a line is not cut."""

    GAP = "gap"
    """Between dashes."""
    NICK = "nick"
    """A bridge that holds the piece."""
    SHARED = "shared"
    """Another line runs there, and is cut."""


@dataclass(frozen=True, slots=True)
class ToCut:
    """A piece on a sheet as a machine is to cut it; `at` maps piece mm to sheet mm."""

    design: Design
    at: Affine
    rules: CutRules = field(default_factory=CutRules)


def alike(
    design: Design, places: Sequence[Affine], rules: CutRules | None = None
) -> tuple[ToCut, ...]:
    """Give pieces of one design at some places, all cut by the same rules."""
    return tuple(ToCut(design, at, rules or CutRules()) for at in places)


@dataclass(frozen=True, slots=True)
class Uncut:
    """Part of a line of the design that is left uncut on purpose, in piece mm.

    `start` and `end` are one point where it is the whole of a closed line.
    """

    why: Why
    place: int
    """Which piece of the sheet."""
    line: int
    """Which of the lines of its design."""
    start: Point
    middle: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Cutting:
    """The lines of a sheet in the order of cutting, in sheet mm."""

    lines: tuple[DieLine, ...]
    uncut: tuple[Uncut, ...]


@dataclass(frozen=True, slots=True)
class _Own:
    """One line of the design, measured once for all pieces."""

    number: int
    kind: LineKind
    track: Track
    gaps: tuple[Span, ...]
    why: Why
    downs: tuple[float, ...]
    is_outline: bool


@dataclass(frozen=True, slots=True)
class _Task:
    """One line of one piece: what is cut of it, in piece mm."""

    own: _Own
    at: Affine
    runs: tuple[Contour, ...]
    whole: bool

    def ways(self) -> Iterator[Point]:
        """Places in sheet mm where the tool may begin."""
        if self.whole and self.own.track.closed:
            yield from (self.at(self.own.track.point(way)) for way in self.own.downs)
        elif self.own.track.closed:
            yield from (self.at(run.start) for run in self.runs)
        else:
            yield self.at(self.runs[0].start)
            yield self.at(end_of(self.runs[-1]))


def cutting(pieces: Sequence[ToCut], spacing_mm: float) -> Cutting:
    """Decide how the lines of some pieces on a sheet are cut.

    Raises InputError where the rules ask for more nicks than a line has room for.
    """
    owns: dict[str, list[_Own]] = {}
    for piece in pieces:
        design = piece.design
        if design.name not in owns:
            numbers = range(len(design.lines))
            owns[design.name] = [_own(design, n, piece.rules) for n in numbers]
    order = short_route([piece.at(_middle(piece.design)) for piece in pieces], FROM)
    touching = spacing_mm <= 2 * TOLERANCE_MM
    tasks: list[list[_Task]] = []
    uncut: list[Uncut] = []
    shared = {kind: SharedEdges() for kind in LineKind}
    for place in order:
        if not touching:  # each piece shares edges with itself alone
            shared = {kind: SharedEdges() for kind in LineKind}
        at = pieces[place].at
        mine = []
        for own in owns[pieces[place].design.name]:
            spans = shared[own.kind].add(own.track, at)
            uncut += _left(own, place, spans)
            task = _task(own, at, spans)
            if task.runs:
                mine.append(task)
        tasks.append(mine)
    return Cutting(tuple(_in_order(tasks)), tuple(uncut))


def _middle(design: Design) -> Point:
    x0, y0, x1, y1 = design.box_mm
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def _own(design: Design, number: int, rules: CutRules) -> _Own:
    line = design.lines[number]
    track = Track(_one_way(line.contour))
    gaps = gaps_of(line, track, rules, design.file)
    return _Own(
        number,
        line.kind,
        track,
        tuple(gaps),
        Why.GAP if line.kind in rules.dashes else Why.NICK,
        tuple(set_downs(track)) if track.closed else (),
        line.contour is design.outline,
    )


def _one_way(contour: Contour) -> Contour:
    """Run a closed line counter-clockwise, as all are."""
    if not contour.closed or signed_area(contour.flattened(FLATTEN_MM)) >= 0:
        return contour
    whole = Track(contour)
    return replace(backwards(Contour(contour.start, tuple(whole.segments))), closed=True)


def _left(own: _Own, place: int, shared: Sequence[Span]) -> Iterator[Uncut]:
    length = own.track.length_mm
    gaps = without(own.gaps, shared, length) if own.gaps else []
    for why, spans in ((Why.SHARED, shared), (own.why, gaps)):
        for a, b in spans:
            start, middle, end = (own.track.point(way) for way in (a, (a + b) / 2, b))
            yield Uncut(why, place, own.number, start, middle, end)


def _task(own: _Own, at: Affine, shared: Sequence[Span]) -> _Task:
    track = own.track
    left = merged([*own.gaps, *shared], track.length_mm)
    if not left:
        return _Task(own, at, (track.whole(),), whole=True)
    kept = kept_of(left, track.length_mm, closed=track.closed)
    return _Task(own, at, tuple(track.part(a, b) for a, b in kept), whole=False)


def _in_order(pieces: Sequence[Sequence[_Task]]) -> Iterator[DieLine]:
    """Give the lines as the tool follows them, kind by kind, piece by piece."""
    for kind in WHOLE_SHEET:
        yield from _drawn([task for piece in pieces for task in piece], kind, FROM)
    for kind in PIECE_BY_PIECE:
        at = FROM
        for piece in pieces:
            for is_outline in (False, True):
                own = [task for task in piece if task.own.is_outline == is_outline]
                for line in _drawn(own, kind, at):
                    yield line
                    at = _after(line.contour)


def _drawn(tasks: Sequence[_Task], kind: LineKind, at: Point) -> Iterator[DieLine]:
    left = [task for task in tasks if task.own.kind is kind]
    while left:
        task = nearest_next(left, at, _far)
        left.remove(task)
        for run in _runs(task, at):
            line = DieLine(kind, run.transformed(task.at))
            yield line
            at = _after(line.contour)


def _after(contour: Contour) -> Point:
    """Give where the tool is after a line."""
    return contour.start if contour.closed else end_of(contour)


def _far(task: _Task, at: Point) -> float:
    return min(math.dist(at, way) for way in task.ways())


def _runs(task: _Task, at: Point) -> Sequence[Contour]:
    """Give the runs of a line from where it faces the tool."""
    track, runs = task.own.track, task.runs
    ways = list(task.ways())
    first = min(range(len(ways)), key=lambda i: round(math.dist(at, ways[i]), 6))
    if task.whole and track.closed:
        return [track.whole(task.own.downs[first])]
    if track.closed:
        return [*runs[first:], *runs[:first]]
    return runs if first == 0 else [backwards(run) for run in reversed(runs)]
