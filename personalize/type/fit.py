"""The fit: the largest size of a text in a shape, its line breaks and its place.

Follows the rules, numbered as in docs/fit.md:
1 lines, 2 ink boxes, 3 leading, 4 block, 5 optimum, 6 evenness, 7 place, 9 rectangles.
Sizes here are the em in mm.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Point
from personalize.type.break_sets import (
    MOST_BREAK_SETS,
    Breaks,
    combinations,
    least_width,
    sets_within,
)
from personalize.type.contain import GAIN, Found, Shape
from personalize.type.itemise import BreakKind
from personalize.type.place import Stand
from personalize.type.shape import STACKED, Paragraph

Floats = NDArray[np.float64]
EARN = 1.2
"""An extra line must make the text this much larger (rule 5)."""
SHARE = 0.997
"""Evener breaks may cost this much of the size (rule 6)."""
INK_GAP_EM = 0.12
"""Least distance between the ink of two lines (rule 3)."""
HYPHEN_PENALTY = 0.5
"""Evenness that a hyphen shown at a break must make up for: half a line's width, squared
and summed as unevenness is. Judgement: a broken word looks worse than a ragged edge."""
_TALL = {"Deva": 1.35, "Beng": 1.35, "Thai": 1.4, "Laoo": 1.4, "Arab": 1.4, "Khmr": 1.4}
"""Least leading by script, in em. Common practice, no source."""
_TALL |= {"Mymr": 1.4, "Aran": 1.9, STACKED: 1.35}


@dataclass(frozen=True, slots=True)
class Rules:
    """How a text may be set."""

    max_lines: int = 5
    width_share: float = 0.92
    align: str = "centre"
    """"centre"; "start" or "end" of the line; or a side: left, right, top or bottom."""
    cap_mm: float = math.inf
    """Largest size wanted."""


@dataclass(frozen=True, slots=True)
class Setting:
    """A text set: which lines, how large, and where in the shape's frame."""

    size_mm: float
    breaks: Breaks
    leading_em: float
    origins: tuple[Point, ...]
    """Origin of each line (its left end on the baseline), mm in the reading frame."""


@dataclass(frozen=True)
class _Lines:
    """All break sets of one number of lines, with their blocks about their centres."""

    breaks: Sequence[Breaks]
    blocks: Floats
    """(b, k, 4) boxes at size 1."""
    widths: Floats
    """(b, k) ink widths."""
    ups: Floats
    """(b,) height of the first baseline above the block's centre."""
    bound: Floats
    """(b,) upper bounds of the size, lowered as programmes are solved."""
    found: dict[int, Found] = field(default_factory=dict)


class Fitting:
    """One text in one shape."""

    def __init__(
        self,
        paragraph: Paragraph,
        shape: Shape,
        rules: Rules,
        known: Mapping[int, float] | None = None,
        ink: Floats | None = None,
    ) -> None:
        """Make ready; `known` (S(k)) and `ink` of an earlier fit spare their search."""
        self.paragraph, self.shape, self.rules = paragraph, shape, rules
        self.ink = paragraph.ink_table() if ink is None else ink
        segments = paragraph.segments
        self.forced = tuple(i for i, s in enumerate(segments) if s.kind is BreakKind.FORCED)
        self.count = len(segments)
        # Lines that the cell itself asks for are kept, even past the most lines wanted.
        most = max(rules.max_lines, len(self.forced) + 1)
        self.line_counts = range(len(self.forced) + 1, min(most, self.count) + 1)
        diagonal = self.ink[np.arange(self.count), np.arange(self.count)]
        self._deepest, self._highest = diagonal[:, 2].max(), diagonal[:, 3].max()
        self._lines: dict[int, _Lines] = {}
        self._best: dict[int, int] = {}
        self._known = dict(known or {})

    def leading(self, k: int) -> float:
        """Distance of baselines in em for k lines (rule 3)."""
        least = 0.0 if k < 2 else 1.1 if k == 2 else 1.2
        ink = float(self._highest + self._deepest)
        tall = max((_TALL.get(s, 0.0) for s in self.paragraph.tall_scripts), default=0.0)
        return max(least, tall if k > 1 else 0.0, ink + INK_GAP_EM)

    def best(self, k: int) -> float:
        """Largest size with exactly k lines, capped: S(k) of rule 5."""
        if k not in self._known:
            index = self._best_index(k)
            size: float = self._lines_of(k).found[index].size
            self._known[k] = min(size, self.rules.cap_mm)
        return self._known[k]

    @property
    def known(self) -> dict[int, float]:
        """S(k) as far as it had to be found."""
        return dict(self._known)

    @property
    def sizes(self) -> dict[int, float]:
        """S(k) for every possible number of lines k."""
        return {k: self.best(k) for k in self.line_counts}

    def _best_index(self, k: int) -> int:
        if k not in self._best:
            self._best[k] = self._search(self._lines_of(k))
        return self._best[k]

    def largest(self, floor_mm: float = 0.0) -> tuple[int, float]:
        """Give the number of lines k* and the size L of rule 5."""
        counts = list(self.line_counts)
        k = next(
            k
            for k in counts
            if all(self._under(m, EARN * self.best(k)) for m in counts if m > k)
        )
        if self.best(k) < floor_mm:
            sizes = self.sizes
            k = max(counts, key=lambda n: (sizes[n], -n))
        return k, self.best(k)

    def _under(self, k: int, size_mm: float) -> bool:
        """Whether S(k) stays under a size; solved only where no bound tells."""
        if k not in self._known:
            if self.rules.cap_mm < size_mm:
                return True
            if k not in self._best and float(self._lines_of(k).bound.max()) < size_mm:
                return True
        return self.best(k) < size_mm

    def at_largest(self, floor_mm: float = 0.0) -> Setting:
        """Set the text at its own largest size (rules 5 to 7)."""
        k, size = self.largest(floor_mm)
        breaks = self._evenest(k, SHARE * size)
        found = self._solved(self._lines_of(k), breaks)
        return self._placed(k, breaks, min(found.size, self.rules.cap_mm))

    def again(self, setting: Setting, size_mm: float) -> Setting:
        """Set the same lines at another (smaller) size."""
        k = len(setting.breaks)
        index = list(self._lines_of(k).breaks).index(setting.breaks)
        return self._placed(k, index, size_mm)

    def at(self, size_mm: float) -> Setting | None:
        """Set the text at a given size: fewest lines that fit, then evenest.

        None when it does not fit in any number of lines.
        """
        for k in self.line_counts:
            if self.best(k) >= size_mm * (1 - 1e-12):
                return self._placed(k, self._evenest(k, size_mm), size_mm)
        return None

    def _search(self, lines: _Lines) -> int:
        """Find the break set with the largest size; ties go to the earliest breaks."""
        if self.shape.is_rectangle:
            return int(lines.bound.argmax())
        best, best_size = 0, 0.0
        supports = self.shape.supports(lines.blocks) if len(lines.breaks) > 1 else None
        while True:
            index = int(_open(lines).argmax())
            if lines.bound[index] <= best_size * (1 + GAIN) or index in lines.found:
                return best
            found, certificate = self.shape.solve(lines.blocks[index], best_size)
            if supports is not None and certificate.rows:
                np.minimum(lines.bound, certificate.bounds(supports), out=lines.bound)
            if found is None and best_size > 0:
                lines.bound[index] = min(lines.bound[index], best_size * (1 + GAIN))
            else:
                lines.found[index] = found = found or Found(0.0, self.shape.centroid)
                best, best_size = index, found.size

    def _solved(self, lines: _Lines, index: int) -> Found:
        if index not in lines.found:
            lines.found[index] = self.shape.largest(lines.blocks[index])
        return lines.found[index]

    def _reaches(self, lines: _Lines, index: int, size_mm: float) -> bool:
        """Whether a break set can be set at a size; its own largest is known if so."""
        least = size_mm * (1 - 1e-12)
        if index not in lines.found and lines.bound[index] >= least:
            found, _ = self.shape.solve(lines.blocks[index], least * (1 - 2 * GAIN))
            if found is None:
                lines.bound[index] = min(lines.bound[index], least * (1 - GAIN))
            else:
                lines.found[index] = found
        return index in lines.found and lines.found[index].size >= least

    def _evenest(self, k: int, size_mm: float) -> int:
        """Find the evenest break set that reaches a size (rule 6)."""
        lines = self._lines_of(k)
        for index in np.argsort(self._unevenness(lines), kind="stable"):
            if self._reaches(lines, int(index), size_mm):
                return int(index)
        return self._best_index(k)

    def _unevenness(self, lines: _Lines) -> Floats:
        widest = np.maximum(lines.widths.max(axis=1, keepdims=True), 1e-9)
        uneven: Floats = (((widest - lines.widths) / widest) ** 2).sum(axis=1)
        kinds = self.paragraph.segments
        soft = np.array([s.kind.shows_hyphen for s in kinds])
        if soft.any():
            uneven += HYPHEN_PENALTY * soft[np.array(lines.breaks)].sum(axis=1)
        return uneven.round(9)

    def _lines_of(self, k: int) -> _Lines:
        known = self._lines.get(k)
        if known is None:
            known = self._lines[k] = self._blocks(k, self._break_sets(k))
        return known

    def _break_sets(self, k: int) -> Sequence[Breaks]:
        if math.comb(self.count - 1, k - 1) <= MOST_BREAK_SETS:
            sets: Sequence[Breaks] = combinations(self.count, k)
            if self.forced:
                sets = [b for b in sets if set(self.forced) <= set(b)]
            return sets
        return self._narrow_sets(k)

    def _narrow_sets(self, k: int) -> Sequence[Breaks]:
        """Leave out break sets with a line too wide for the best size to be found there.

        Lines no wider than the narrowest possible give a size s that can be reached; a
        line wider than the widest chord at s cannot be part of the optimum.
        """
        widths = self.ink[..., 1] - self.ink[..., 0]
        narrowest = least_width(widths, k, self.forced)
        trial = next(iter(sets_within(widths, k, self.forced, narrowest * (1 + 1e-9))))
        size = self.shape.largest(self._blocks(k, [trial]).blocks[0]).size
        limit = self.shape.width_mm / self.rules.width_share / max(size, 1e-9)
        while True:
            sets = list(
                itertools.islice(
                    sets_within(widths, k, self.forced, limit), MOST_BREAK_SETS + 1
                )
            )
            if len(sets) <= MOST_BREAK_SETS:
                return sets or [trial]
            limit = narrowest + (limit - narrowest) * 0.8

    def _blocks(self, k: int, sets: Sequence[Breaks]) -> _Lines:
        """Build the blocks of break sets (rules 2 to 4)."""
        ends = np.array(sets, dtype=np.intp).reshape(-1, k)
        starts = np.concatenate([np.zeros((len(ends), 1), np.intp), ends[:, :-1] + 1], 1)
        ink = self.ink[starts, ends]
        widths = ink[..., 1] - ink[..., 0]
        baselines = -self.leading(k) * np.arange(k)
        half = widths / self.rules.width_share / 2
        middle = self._middles(widths)
        blocks = np.stack(
            [
                middle - half,
                baselines - ink[..., 2],
                middle + half,
                baselines + ink[..., 3],
            ],
            axis=-1,
        )
        x = (blocks[..., 0].min(1) + blocks[..., 2].max(1)) / 2
        y = (blocks[..., 1].min(1) + blocks[..., 3].max(1)) / 2
        if self.shape.level:
            # The origin goes to the middle of the band that the eye centres on.
            y = (self._tops(ends[:, 0]) + baselines[-1]) / 2
        blocks -= np.stack([x, y, x, y], axis=-1)[:, None, :]
        lines = _Lines(sets, blocks, widths, -y, self._first_bound(blocks))
        if self.shape.is_rectangle:
            centre = self.shape.centre
            for i, size in enumerate(lines.bound.tolist()):
                lines.found[i] = Found(size, centre)
        return lines

    def _middles(self, widths: Floats) -> Floats:
        """Middle of each line's ink, from the middle of the widest for set-off lines."""
        if self.side not in ("left", "right"):
            return np.zeros(widths.shape)
        rest: Floats = (widths.max(axis=1, keepdims=True) - widths) / 2
        return -rest if self.side == "left" else rest

    def _first_bound(self, blocks: Floats) -> Floats:
        """Sizes that the shape's width and height allow (exact in a rectangle, rule 9)."""
        with np.errstate(divide="ignore"):
            wide = self.shape.width_mm / (blocks[..., 2].max(1) - blocks[..., 0].min(1))
            high = self.shape.height_mm / (blocks[..., 3].max(1) - blocks[..., 1].min(1))
        bound: Floats = np.minimum(wide, high)
        return bound

    def _placed(self, k: int, index: int, size: float) -> Setting:
        """Place a block at a size (rule 7) and give its lines' origins."""
        lines = self._lines_of(k)
        block, breaks, up = (
            lines.blocks[index],
            lines.breaks[index],
            float(lines.ups[index]),
        )
        starts = (0, *(b + 1 for b in breaks[:-1]))
        leading = self.leading(k)
        known = self._solved(lines, index).at
        top = float(self._tops(np.array([breaks[0]]))[0])
        face, share = self.paragraph.font.face, self.rules.width_share
        stand = Stand(self.shape, face, self.side, share)
        at = stand.place(block, top, up, leading * (k - 1), size, known)
        origins = []
        for i, (first, last) in enumerate(zip(starts, breaks, strict=True)):
            left, right = self.ink[first, last, :2]
            middle = (block[i, 0] + block[i, 2]) / 2
            origins.append(
                (
                    at[0] + size * float(middle - (left + right) / 2),
                    at[1] + size * (up - i * leading),
                )
            )
        return Setting(size, breaks, leading, tuple(origins))

    @property
    def side(self) -> str:
        """Side of the zone that the text stands at, or "centre"."""
        align = self.rules.align
        if align not in ("start", "end"):
            return align
        return "left" if (align == "start") != self.paragraph.items.rtl else "right"

    def _tops(self, first_breaks: NDArray[np.intp]) -> Floats:
        """Top of the band of a block that the eye centres on, above its first baseline."""
        face = self.paragraph.font.face
        ink_tops = self.ink[0, first_breaks, 3]
        tops: Floats = np.clip(ink_tops, face.x_height, face.cap_height)
        return tops


def _open(lines: _Lines) -> Floats:
    """Bounds of the break sets not yet solved."""
    bound = lines.bound.copy()
    bound[list(lines.found)] = -1.0
    return bound
