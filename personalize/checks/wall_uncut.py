"""What a cut file may leave out, and the cut round the pieces: told, measured, proved.

The sheet says which parts of which lines stay uncut. They are measured here anew, on the
design's own lines, and must be no more than the maker's rules allow; what is left of a
line is then what the file must hold.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from personalize.checks.wall_lines import Drawn, apart, dense, drawn
from personalize.design.design import LineKind
from personalize.errors import WallError
from personalize.geometry.affine import Affine, Point, Points
from personalize.sheet.cutting import ToCut, Uncut, Why
from personalize.sheet.paper import Rect
from personalize.sheet.uncut import LEAST_HOLE_MM, CutRules
from personalize.units import TOLERANCE_MM

_JOINED_MM = 1e-6
_HAIR_MM = TOLERANCE_MM / 2
_MOST_GAP = 2.0
"""A gap is at most so many times as long as asked: dashes are spread evenly."""
_STRETCH = 1.02
"""Lines may be longer on a sheet for a machine that draws too small."""
_MOST_GAPS = 0.7
"""Gaps are at most so much of a line."""
_STEPS, _ZONE_STEPS = 6, 4
"""Points of the cut round the pieces: four corners, and the first, amid a straight, twice;
so many more at most for each box that it steps round."""


@dataclass
class Wanted:
    """What a file must hold of one kind, and what it says to leave out."""

    cut: list[Drawn] = field(default_factory=list)
    held: list[Drawn] = field(default_factory=list)
    """Gaps and nicks."""
    shared: list[Drawn] = field(default_factory=list)
    """Parts that another line must cover."""


def wanted_of(
    pieces: Sequence[ToCut], uncut: Sequence[Uncut], file: str
) -> dict[LineKind, Wanted]:
    """Derive from some pieces what a cut file must hold, kind by kind.

    Raises WallError where more is said to be uncut than the rules of a piece allow.
    """
    said: dict[tuple[int, int], list[Uncut]] = {}
    for one in uncut:
        said.setdefault((one.place, one.line), []).append(one)
    out: dict[LineKind, Wanted] = {kind: Wanted() for kind in LineKind}
    for place, piece in enumerate(pieces):
        at, rules = piece.at, piece.rules
        for number, line in enumerate(piece.design.lines):
            whole = drawn(line.contour.transformed(at))
            wanted = out[line.kind]
            mine = said.pop((place, number), [])
            if not mine:
                wanted.cut.append(whole)
                continue
            measured = _Measured(whole, file)
            spans = [(one.why, measured.span(one, at)) for one in mine]
            _check_allowed(spans, whole, line.kind, rules, file)
            for why, (a, b) in spans:
                into = wanted.shared if why is Why.SHARED else wanted.held
                into.append(measured.part(a, b))
            wanted.cut += measured.rest([span for _, span in spans])
    if said:
        raise WallError(f"{file} leaves out a part of a line that is not there.")
    return out


class _Measured:
    """A flattened line and the way along it."""

    def __init__(self, line: Drawn, file: str) -> None:
        self._points, self._file = line.points, file
        steps = np.hypot(*np.diff(line.points, axis=0).T)
        self._ways = np.concatenate([[0.0], np.cumsum(steps)])
        self.length = float(self._ways[-1])
        self.closed = math.dist(line.points[0], line.points[-1]) <= _JOINED_MM

    def span(self, one: Uncut, at: Affine) -> tuple[float, float]:
        """Measure a part; `to` may pass the end of a closed line."""
        a, m, b = (self._way(at(p)) for p in (one.start, one.middle, one.end))
        if not self.closed:
            a, b = min(a, b), max(a, b)
            if not a - _HAIR_MM <= m <= b + _HAIR_MM:
                raise WallError(f"{self._file} leaves out what is no part of a line.")
            return a, b
        if math.dist(one.start, one.end) <= _JOINED_MM:
            return 0.0, self.length
        if (m - a) % self.length > (b - a) % self.length:
            a, b = b, a
        return a, a + (b - a) % self.length

    def _way(self, point: Point) -> float:
        starts, ends = self._points[:-1], self._points[1:]
        along = ends - starts
        square = np.maximum((along**2).sum(axis=1), 1e-18)
        rel = np.array(point) - starts
        share = np.clip((rel * along).sum(axis=1) / square, 0, 1)
        away = np.hypot(*(rel - share[:, None] * along).T)
        i = int(away.argmin())
        if away[i] > TOLERANCE_MM:
            raise WallError(
                f"{self._file} leaves out something near {point[0]:.2f}, {point[1]:.2f} mm"
                " that is no part of a line."
            )
        return float(self._ways[i] + share[i] * np.sqrt(square[i]))

    def part(self, a: float, b: float) -> Drawn:
        """Give a part of the line."""
        points, ways = self._points, self._ways
        if b > self.length and self.closed:
            points = np.concatenate([points, points[1:]])
            ways = np.concatenate([ways, ways[1:] + self.length])
        inside = (ways > a + 1e-9) & (ways < b - 1e-9)
        ends = [
            [np.interp(way, ways, points[:, 0]), np.interp(way, ways, points[:, 1])]
            for way in (a, b)
        ]
        return Drawn(np.concatenate([ends[:1], points[inside], ends[1:]]))

    def rest(self, spans: Sequence[tuple[float, float]]) -> Iterator[Drawn]:
        """Give what is left between parts. Raises WallError where two overlap."""
        found = sorted(spans)
        if sum(b - a for a, b in found) > self.length + 2 * _HAIR_MM:
            raise WallError(f"{self._file} leaves out one part of a line twice.")
        first = found[0][0]
        ends = [b for _, b in found]
        starts = [*(a for a, _ in found[1:]), first + self.length]
        if not self.closed:
            ends, starts = [0.0, *ends], [first, *starts[:-1], self.length]
        for a, b in zip(ends, starts, strict=True):
            if b - a < -2 * _HAIR_MM:
                raise WallError(f"{self._file} leaves out one part of a line twice.")
            if b - a > _HAIR_MM:
                turn = math.floor(a / self.length + 1e-9) * self.length
                yield self.part(a - turn, b - turn) if self.closed else self.part(a, b)


def _check_allowed(
    spans: Sequence[tuple[Why, tuple[float, float]]],
    line: Drawn,
    kind: LineKind,
    rules: CutRules,
    file: str,
) -> None:
    """Refuse gaps and nicks that nobody asked for, and longer ones than asked for."""
    gaps = [b - a for why, (a, b) in spans if why is Why.GAP]
    nicks = [b - a for why, (a, b) in spans if why is Why.NICK]
    x, y = line.points[0]
    dashes = rules.dashes.get(kind)
    longest = _MOST_GAP * max(dashes.gap_mm, dashes.end_mm) if dashes else 0.0
    if gaps and (
        max(gaps) > longest + TOLERANCE_MM or sum(gaps) > _MOST_GAPS * line.length_mm
    ):
        raise WallError(f"{file} has a gap in a {kind} line near {x:.2f}, {y:.2f} mm.")
    box = line.box
    small = min(box[2] - box[0], box[3] - box[1]) < LEAST_HOLE_MM - TOLERANCE_MM
    most = rules.nicks * rules.nick_mm if kind is LineKind.CUTTING and not small else 0.0
    if nicks and (
        max(nicks) > rules.nick_mm * _STRETCH + TOLERANCE_MM
        or sum(nicks) > most * _STRETCH + TOLERANCE_MM
        or _apart([s for why, s in spans if why is Why.NICK], line) > rules.nicks
    ):
        raise WallError(f"{file} has a nick in a {kind} line near {x:.2f}, {y:.2f} mm.")


def _apart(spans: Sequence[tuple[float, float]], line: Drawn) -> int:
    """Count parts; one that begins where another ends goes on with it."""
    ends = np.array([b for _, b in spans])
    off = [np.abs((ends - a + line.length_mm / 2) % line.length_mm) for a, _ in spans]
    half = line.length_mm / 2
    return sum(bool((np.abs(one - half) > TOLERANCE_MM).all()) for one in off)


def check_shared(wanted: Wanted, kind: LineKind, file: str) -> None:
    """Prove that what is left out as shared is cut, or held, by another line."""
    for part in wanted.shared:
        points = dense(part.points)
        box = part.box
        near = [
            other.points
            for other in (*wanted.cut, *wanted.held)
            if (other.box[:2] <= box[2:] + TOLERANCE_MM).all()
            and (other.box[2:] >= box[:2] - TOLERANCE_MM).all()
        ]
        away = np.min([apart(points, line) for line in near], axis=0) if near else None
        if away is None or away.max() > TOLERANCE_MM:
            x, y = part.points[0]
            raise WallError(f"{file} lacks a {kind} line near {x:.2f}, {y:.2f} mm.")


def check_around(
    frame: Drawn, wanted: Sequence[Wanted], away_mm: float, zones: int, file: str
) -> None:
    """Prove that a line is the cut round all pieces.

    It is made of level and upright straights, runs round every line of every piece, and
    keeps `away_mm` from the outermost of them on each side; it may step in where so many
    boxes of marks and zones are.
    """
    lines = [line for one in wanted for line in (*one.cut, *one.held, *one.shared)]
    points: Points = frame.points
    steps = np.abs(np.diff(points, axis=0))
    closed = math.dist(points[0], points[-1]) <= _JOINED_MM
    straight = (steps.min(axis=1) <= _HAIR_MM).all()
    if not (closed and straight and len(points) <= _STEPS + _ZONE_STEPS * zones):
        raise WallError(f"{file} has a cut round the pieces of a strange shape.")
    outermost = np.concatenate(
        [
            np.min([line.box[:2] for line in lines], axis=0) - away_mm,
            np.max([line.box[2:] for line in lines], axis=0) + away_mm,
        ]
    )
    if np.abs(frame.box - outermost).max() > TOLERANCE_MM:
        raise WallError(
            f"{file} has a cut round the pieces that is not {away_mm:g} mm away from them."
        )
    every = np.concatenate([dense(line.points) for line in lines])
    within = np.zeros(len(every), dtype=bool)
    for (ax, ay), (bx, by) in pairwise(points):
        # The even-odd rule: a ray to the right crosses the upright straights.
        over = (ay > every[:, 1]) != (by > every[:, 1])
        within ^= over & (every[:, 0] < (ax + bx) / 2)
    if not within.all():
        raise WallError(f"{file} has a cut round the pieces that runs through one.")


def check_keeps_off(
    frame: Drawn, rooms: Sequence[Rect], kept_free: Sequence[Rect], file: str
) -> None:
    """Prove that the cut round the pieces leaves no room, and runs through no zone."""
    a, b, c, d = frame.box
    for x0, y0, x1, y1 in rooms:
        if min(a - x0, b - y0, x1 - c, y1 - d) < -TOLERANCE_MM:
            raise WallError(
                f"{file} has a cut round the pieces that leaves the sheet, or what the"
                " cutter reaches."
            )
    low = np.minimum(frame.points[:-1], frame.points[1:])
    high = np.maximum(frame.points[:-1], frame.points[1:])
    for box in kept_free:
        # Straights are level or upright: one is in a zone where their boxes meet.
        over = (low < np.array(box[2:]) - TOLERANCE_MM).all(axis=1)
        over &= (high > np.array(box[:2]) + TOLERANCE_MM).all(axis=1)
        if over.any():
            x, y = low[int(over.argmax())]
            raise WallError(
                f"{file} has a cut round the pieces through a mark or a clear zone near"
                f" {x:.2f}, {y:.2f} mm."
            )
