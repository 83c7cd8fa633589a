"""Text round a ring: one line whose letters, or whole words, stand turned on a circle.

The line is shaped whole. Where letters do not join, each grapheme cluster is a rigid part;
where they do (Arabic, Devanagari, a brush script), each word is. A part is placed by the
middle of its advance, so that the spaces stay even along the circle:

- Read outward (tops away from the centre) advances are measured along the baseline.
- Read inward they are measured where the tops of the letters are.

So letters stand nowhere closer than in a straight line. All corners of every part's ink
box keep between the ring's two circles: with a size chosen, that gives the least and the
greatest radius of the baseline in closed form, and the largest size by halving.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from personalize.design.design import Ring
from personalize.geometry.affine import Point
from personalize.geometry.zone import covers
from personalize.type.itemise import Itemised
from personalize.type.shape import GlyphRun, Paragraph, ShapedLine, ink_of

Floats = NDArray[np.float64]

UNJOINED = frozenset(
    ("Latn", "Grek", "Cyrl", "Armn", "Geor", "Hebr", "Hani", "Hira", "Kana", "Hang", "Bopo",
     "Thai", "Laoo", "Khmr", "Zyyy", "Zinh", "Zsye", "Zsym")
)  # fmt: skip
"""Scripts whose clusters may be parted; in others words stay whole."""
TOUCH_EM = 0.005
"""Letters whose boxes come this near are taken to touch."""
JOINED_SHARE = 0.65
"""Where so many neighbours touch, the letters are joined. Measured on 200 texts: 0.67 and
more in the brush script that we ship (0.96 on average), 0.6 at most in others (0.03)."""
HALVINGS = 44
RADII = 33
"""Baseline radii tried where a zone does not hold the whole ring."""


@dataclass(frozen=True, slots=True)
class Part:
    """Glyphs that keep together."""

    shaped: ShapedLine
    """Its origin is the middle of its advance, on the baseline."""
    middle_em: float
    """That origin, from the origin of the whole line."""


@dataclass(frozen=True, slots=True)
class _Group:
    """A cluster of glyphs before it is known what it joins."""

    run: GlyphRun
    glyphs: tuple[int, int]
    """First of its glyphs in the run, and the one after the last."""
    text: tuple[int, int]
    """Its characters in the text of the run, likewise."""
    start: float
    end: float
    """Where the pen is before and after it."""
    joins: bool

    @property
    def blank(self) -> bool:
        """Whether it shows nothing."""
        return not self.run.text[slice(*self.text)].strip()

    def with_next(self, other: "_Group") -> "_Group":
        """Join the group that follows in the same run."""
        return _Group(
            self.run,
            (self.glyphs[0], other.glyphs[1]),
            (min(self.text[0], other.text[0]), max(self.text[1], other.text[1])),
            self.start,
            other.end,
            self.joins,
        )

    def cut(self, origin_em: float) -> GlyphRun:
        """Give its glyphs as a run of their own, their origin moved."""
        glyphs, first = slice(*self.glyphs), self.text[0]
        return replace(
            self.run,
            text=self.run.text[slice(*self.text)],
            ids=self.run.ids[glyphs],
            clusters=tuple(c - first for c in self.run.clusters[glyphs]),
            xs=tuple(x - origin_em for x in self.run.xs[glyphs]),
            ys=self.run.ys[glyphs],
        )


def parts_of(line: ShapedLine) -> tuple[Part, ...]:
    """Cut a line into its rigid parts; spaces are left out."""
    groups = list(_groups(line))
    joined = _is_joined(groups)
    parts: list[list[_Group]] = []
    before: _Group | None = None
    for group in groups:
        if not group.blank:
            keeps = before is not None and not before.blank
            if keeps and (joined or group.joins or (before and before.joins)):
                parts[-1].append(group)
            else:
                parts.append([group])
        before = group
    return tuple(map(_part, parts))


def _part(groups: Sequence[_Group]) -> Part:
    middle = (groups[0].start + groups[-1].end) / 2
    whole = [groups[0]]
    for group in groups[1:]:
        if group.run is whole[-1].run:
            whole[-1] = whole[-1].with_next(group)
        else:
            whole.append(group)
    runs = tuple(group.cut(middle) for group in whole)
    text = "".join(run.text for run in runs)
    return Part(ShapedLine(text, runs, ink_of(runs)), middle)


def _groups(line: ShapedLine) -> Iterator[_Group]:
    """Give the glyphs of each grapheme cluster, from left to right."""
    for run in line.runs:
        if not run.ids:
            continue  # a direction mark, say: nothing is drawn of it
        items = Itemised(run.text)
        cluster_of = [i for i, (a, b) in enumerate(items.clusters) for _ in range(b - a)]
        owners = [cluster_of[c] for c in run.clusters]
        cuts = [i for i in range(len(owners)) if i == 0 or owners[i] != owners[i - 1]]
        spans = list(zip(cuts, [*cuts[1:], len(owners)], strict=True))
        starts = [_pen(run, a, b) for a, b in spans]
        last = run.xs[-1] + run.face_advance(run.ids[-1])
        for (a, b), start, end in zip(spans, starts, [*starts[1:], last], strict=True):
            first = min(run.clusters[a:b])
            # Up to the next glyph's text: a ligature stands for several clusters.
            later = [c for c in run.clusters if c > first and c not in run.clusters[a:b]]
            end_of_text = min(later, default=len(run.text))
            joins = any(items.scripts[c] not in UNJOINED for c in run.clusters[a:b])
            yield _Group(run, (a, b), (first, end_of_text), start, end, joins)


def _pen(run: GlyphRun, a: int, b: int) -> float:
    """Where the pen is before some glyphs: marks without an advance do not tell."""
    wide = [run.xs[i] for i in range(a, b) if run.face_advance(run.ids[i]) > 0]
    return min(wide or run.xs[a:b])


def _is_joined(groups: Sequence[_Group]) -> bool:
    """Whether most letters of a line touch the next one."""
    touching, pairs = 0, 0
    for left, right in itertools.pairwise(groups):
        one, two = ink_of([left.cut(0.0)]), ink_of([right.cut(0.0)])
        if one and two and not left.blank and not right.blank:
            pairs += 1
            touching += one[2] >= two[0] - TOUCH_EM
    return pairs > 1 and touching >= JOINED_SHARE * pairs


class RingFitting:
    """One text on one ring, in the reading frame."""

    def __init__(self, paragraph: Paragraph, ring: Ring, align: str, cap_mm: float) -> None:
        """Make ready; centre and zone of the ring are in the reading frame."""
        self.ring, self.cap_mm = ring, cap_mm
        self.line = paragraph.line(0, len(paragraph.segments) - 1)
        self.parts = [p for p in parts_of(self.line) if p.shaped.ink is not None]
        boxes = np.array([p.shaped.ink for p in self.parts]).reshape(-1, 4)
        self._middles = np.array([p.middle_em for p in self.parts])
        face = paragraph.font.face
        tops = np.clip(boxes[:, 3], face.x_height, face.cap_height)
        self._band = float(tops.max(initial=face.x_height))
        # Heights counted away from the centre: turned about where the tops point to it.
        self._low, self._high = boxes[:, 1], boxes[:, 3]
        self._even = 0.0
        if not ring.outward:
            self._low, self._high = -boxes[:, 3], -boxes[:, 1]
            self._even = -float(np.median(tops)) if len(tops) else 0.0
        self._left, self._right = boxes[:, 0], boxes[:, 2]
        lefts, rights = self._middles + boxes[:, 0], self._middles + boxes[:, 2]
        left, right = (float(lefts.min()), float(rights.max())) if len(tops) else (0.0, 0.0)
        at = {"start": left, "left": left, "end": right, "right": right}
        self._anchor = at.get(align, (left + right) / 2)

    def largest(self) -> float:
        """Find the largest size in mm at which the text lies in its ring and zone."""
        low, high = 0.0, self._most()
        if self._radius(high) is not None:
            return high
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            if self._radius(middle) is None:
                high = middle
            else:
                low = middle
        return low

    def at(self, size_mm: float) -> tuple[tuple[ShapedLine, Point, float], ...]:
        """Place the text at a size that is no more than its largest.

        Gives each part with its origin (mm) and its turn (degrees counter-clockwise).
        """
        radius = self._radius(size_mm)
        if radius is None:  # a text too large for any ring: shown, with its finding
            radius = (self.ring.inner_mm + self.ring.outer_mm) / 2
        turns = np.degrees(self._turns(size_mm, radius))
        out = []
        x, y = self.ring.centre
        for part, turn in zip(self.parts, turns.tolist(), strict=True):
            clock = self.ring.middle_deg + (turn if self.ring.outward else -turn)
            way = math.radians(90 - clock)
            origin = (x + radius * math.cos(way), y + radius * math.sin(way))
            upright = -clock if self.ring.outward else 180 - clock
            out.append((part.shaped, origin, upright))
        return tuple(out)

    def _most(self) -> float:
        """Give a size that is certainly not too small."""
        deepest = float((self._high - self._low).max(initial=1e-6))
        return min(self.cap_mm, 2 * self.ring.outer_mm / deepest)

    def _turns(self, size: float, radius: float) -> Floats:
        """Angle of each part from the middle of the text, in radians."""
        along: Floats = size * (self._middles - self._anchor)
        return along / max(radius + size * self._even, 1e-9)

    def _radii(self, size: float) -> tuple[float, float]:
        """Least and greatest radius of the baseline that keep all ink in the ring."""
        inner, outer = self.ring.inner_mm, self.ring.outer_mm
        wide = size * np.maximum(-self._left, self._right)
        if not len(wide):
            return inner, outer
        if (wide >= outer).any():
            return 0.0, -1.0
        greatest = np.sqrt(outer**2 - wide**2) - size * self._high
        near = size * np.maximum(np.maximum(self._left, -self._right), 0.0)
        least = np.sqrt(np.maximum(inner**2 - near**2, 0.0)) - size * self._low
        return float(least.max()), float(greatest.min())

    def _span(self, size: float, radius: float) -> float:
        """Angle from the first ink to the last, in radians."""
        turns = self._turns(size, radius)
        ends = []
        for height in (self._low, self._high):
            away = radius + size * height
            if (away <= 0).any():
                return math.inf
            ends.append(turns + np.arctan2(size * self._left, away))
            ends.append(turns + np.arctan2(size * self._right, away))
        both = np.concatenate(ends)
        return float(np.ptp(both)) if len(both) else 0.0

    def _radius(self, size: float) -> float | None:
        """Radius of the baseline at a size; None where there is none.

        As near as can be to where the band between capitals (or x) and baseline lies in
        the middle of the ring's depth.
        """
        least, greatest = self._radii(size)
        most = math.radians(self.ring.most_deg) * (1 + 1e-12)
        if least > greatest or self._span(size, greatest) > most:
            return None
        up = self._band / 2 if self.ring.outward else -self._band / 2
        wanted = (self.ring.inner_mm + self.ring.outer_mm) / 2 - size * up
        wanted = min(max(wanted, least), greatest)
        if self._span(size, wanted) > most:
            wanted = self._longer(size, wanted, greatest, most)
        if self.ring.within is None:
            return wanted
        radii = np.linspace(least, greatest, RADII).tolist()
        for radius in sorted([wanted, *radii], key=lambda r: (abs(r - wanted), r)):
            if self._span(size, radius) <= most and self._inside(size, radius):
                return float(radius)
        return None

    def _longer(self, size: float, low: float, high: float, most: float) -> float:
        """Least radius on which the text is no longer than it may be."""
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            if self._span(size, middle) > most:
                low = middle
            else:
                high = middle
        return high

    def _inside(self, size: float, radius: float) -> bool:
        """Whether the zone holds the ink box of every part."""
        assert self.ring.within is not None
        return bool(covers(self.ring.within, self._corners(size, radius)).all())

    def _corners(self, size: float, radius: float) -> Floats:
        """Corners of all parts' ink boxes, shape (n, 4, 2)."""
        turns = self._turns(size, radius)
        turns = turns if self.ring.outward else -turns
        clock: Floats = math.radians(self.ring.middle_deg) + turns
        up = np.column_stack([np.sin(clock), np.cos(clock)])[:, None, :]
        along = np.column_stack([np.cos(clock), -np.sin(clock)])[:, None, :]
        if not self.ring.outward:
            along = -along
        x = size * np.stack([self._left, self._right, self._right, self._left], axis=1)
        y = size * np.stack([self._low, self._low, self._high, self._high], axis=1)
        out: Floats = (radius + y)[..., None] * up + x[..., None] * along
        out += np.array(self.ring.centre)
        return out
