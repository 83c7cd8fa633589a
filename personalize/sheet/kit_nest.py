"""Places for kits, pieces of several outlines: as many as a fixed amount of work finds.

Three ways are tried, and the fullest sheet is taken; of two as full the tidier.

blocks    one kit packed into a box (`kit_blocks`), and so many boxes side by side or above
          each other
freely    all pieces laid into each other (`board`), the largest first
pushed    all pieces of one kit more strewn over the sheet and pushed apart (`push`)

Where pieces were not laid by kits, each kit is made of pieces that lie near each other.

No clock and no chance: the same answer every time. Every layout is proved to keep all
distances before it is used.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, combinations, product

import numpy as np

from personalize.geometry.convex import lie_apart
from personalize.geometry.zone import Region, grown, region_of
from personalize.sheet import push
from personalize.sheet.board import (
    CORNERS,
    WEIGHTS,
    Board,
    Key,
    Laying,
    Scores,
    Shapes,
    draws,
)
from personalize.sheet.boxes import Arrangement, mixed, upright
from personalize.sheet.grid import grids
from personalize.sheet.guillotine import guillotined
from personalize.sheet.kit_blocks import (
    Keys,
    Kit,
    KitPieces,
    Placed,
    box_of,
    moved,
    on,
    packed,
    smallest,
    stacked,
)
from personalize.sheet.paper import Rect
from personalize.sheet.push import Pushing, more
from personalize.sheet.remembered import remembered

TRIES = 160
"""Rules drawn from a fixed row of numbers, after those that are written down."""
MOST_WORK = 1_000_000_000
"""Places looked at in all tries together (`board.Work`): about 2 s here."""
MOST_GIVEN = 12
"""Layouts that are given to choose among, all as full."""
_ROW_MM = 5.0
"""Kits whose tops are this near are read as one row."""
_SLACK = 1e-6
_NEARER_MM2 = 1e-6
"""An exchange that brings pieces nearer by less is none."""


@dataclass(frozen=True, slots=True)
class KitShape:
    """What is laid of one design."""

    outline: Region
    """In mm, without holes."""
    along_grain: bool = False
    """All pieces lie the same way, or turned by half a turn against each other."""


@lru_cache(maxsize=16)
def kit_arrangements(
    shapes: tuple[KitShape, ...],
    kit: tuple[int, ...],
    area: Rect,
    *,
    spacing_mm: float,
    bleed_mm: float,
    clear_zones: tuple[Rect, ...] = (),
) -> tuple[Arrangement, ...]:
    """Give arrangements with the most kits that were found, the tidiest first.

    Parameters
    ----------
    shapes
        The outlines.
    kit
        The pieces of a kit: for each the number of its shape.
    area
        Where pieces may lie, in sheet mm.
    spacing_mm
        Least distance between two outlines.
    bleed_mm
        Printed round each outline; it stays in the area and out of the clear zones.
    clear_zones
        Boxes that stay free.

    Returns
    -------
    tuple of Arrangement
        Places kit by kit, in the order of its pieces. Empty when no kit fits.
    """
    nest = _KitNest(shapes, kit, area, spacing_mm, bleed_mm, clear_zones)
    rest = [(one.outline.outer, one.along_grain) for one in shapes]
    limits = (spacing_mm, bleed_mm, push.MOST_WORK)
    question = ("kits", kit, area, *limits, clear_zones, rest)
    return remembered(question, shapes[0].outline, nest.best)


class _KitNest:
    """The shapes of a kit on a sheet, and the ways to fill it."""

    def __init__(  # noqa: PLR0917 - the whole of one question, asked in one place
        self,
        shapes: tuple[KitShape, ...],
        kit: tuple[int, ...],
        area: Rect,
        spacing_mm: float,
        bleed_mm: float,
        clear_zones: tuple[Rect, ...],
    ) -> None:
        self._forms, self._kit, self._area = shapes, kit, area
        self._spacing, self._bleed, self._zones = spacing_mm, bleed_mm, clear_zones
        areas = [one.outline.area_mm2 for one in shapes]
        self._pieces = KitPieces(
            Shapes([one.outline for one in shapes], spacing_mm, bleed_mm),
            kit,
            tuple(sorted(set(kit), key=lambda shape: -areas[shape])),
            frozenset(i for i, one in enumerate(shapes) if one.along_grain),
        )

    def best(self) -> tuple[Arrangement, ...]:
        """Give the fullest layouts, the tidiest first."""
        found = self._fullest(self._blocks())
        most = max(map(len, found), default=0)
        for way in (self._freely, self._pushed):
            if most < self._bound():
                found += [one for one in way(most) if self._lie_apart(one)]
                most = max(map(len, found), default=0)
        full = [one for one in found if most and len(one) == most]
        return tuple(_arrangement(self._upright(one)) for one in full)

    def _upright(self, kits: tuple[Kit, ...]) -> tuple[Kit, ...]:
        """Turn what is head down within its own box, shape by shape, where it may be."""
        for shape in self._pieces.order:
            turned = tuple(
                tuple(
                    (upright(at, box), box) if own == shape else (at, box)
                    for own, (at, box) in zip(self._kit, kit, strict=True)
                )
                for kit in kits
            )
            if turned != kits and self._lie_apart(turned):
                kits = turned
        return kits

    def _fullest(self, blocks: Iterator[tuple[Kit, Arrangement]]) -> list[tuple[Kit, ...]]:
        """Give layouts with the most blocks, proved; the rest are not looked at."""
        found: list[tuple[Kit, ...]] = []
        for kit, laid in sorted(blocks, key=lambda one: -len(one[1].places)):
            fewer = found and len(laid.places) < len(found[0])
            if fewer or len(found) == MOST_GIVEN:
                break
            kits = tuple(moved(kit, at) for at in laid.places)
            if self._lie_apart(kits):
                found.append(kits)
        return found

    def _bound(self) -> int:
        """Count the kits that a sheet could hold if they filled it without a gap."""
        half = self._spacing / 2
        each = [grown(one.outline, half).area_mm2 for one in self._forms]
        return int(self._room_mm2() / sum(each[shape] for shape in self._kit))

    def _room_mm2(self) -> float:
        """Measure the sheet as it is to pieces that are grown by half the spacing."""
        x0, y0, x1, y1 = self._area
        more = self._spacing - 2 * self._bleed
        return max(x1 - x0 + more, 0.0) * max(y1 - y0 + more, 0.0)

    def _lie_apart(self, kits: Sequence[Kit]) -> bool:
        pieces = [
            self._forms[shape].outline.mapped(at)
            for kit in kits
            for shape, (at, _) in zip(self._kit, kit, strict=True)
        ]
        return lie_apart(pieces, self._spacing, self._area, self._bleed, self._zones)

    def _blocks(self) -> Iterator[tuple[Kit, Arrangement]]:
        """Pack a kit into boxes that columns or rows of a sheet hold, and lay out these.

        Boxes that are too large to be as many as others were are left out.
        """
        pieces, spacing = self._pieces, self._spacing
        every = chain(
            stacked(pieces, spacing), packed(pieces, self._area, self._bleed, spacing)
        )
        most = 0
        for size, kit in smallest(every):
            room = self._room_mm2() / ((size[0] + spacing) * (size[1] + spacing))
            if int(room + _SLACK) >= most:
                for laid in self._laid_out(size):
                    most = max(most, len(laid.places))
                    yield kit, laid

    def _laid_out(self, size: tuple[float, float]) -> Iterator[Arrangement]:
        """Lay out boxes of a size, their lower left corner in the origin."""
        w, h = size
        outline = region_of(np.array([(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]))
        rules = {"spacing_mm": self._spacing, "bleed_mm": self._bleed}
        yield from grids(outline, self._area, clear_zones=self._zones, **rules)
        cut = guillotined(outline.box, self._area, clear_zones=self._zones, **rules)
        grain = any(one.along_grain for one in self._forms)
        if cut.places and not (grain and mixed(cut)):
            yield cut

    def _freely(self, least: int) -> Iterator[tuple[Kit, ...]]:
        """Lay all pieces into each other; give each layout that holds more kits."""
        board = Board(self._pieces.shapes, self._area, self._bleed, self._zones)
        sets = list(self._pieces.keys(board.turned))
        for keys, scores in self._rules(board, sets):
            while self._may_go_on():
                placed = self._filled(board, keys, scores, least + 1)
                if placed is None:
                    break
                least += 1
                yield self._in_kits(placed)

    def _pushed(self, least: int) -> Iterator[tuple[Kit, ...]]:
        """Push all pieces apart; give each layout that holds more kits."""
        board = Board(self._pieces.shapes, self._area, self._bleed, self._zones)
        pushing, kit = Pushing(board), self._kit
        usable = dict.fromkeys(pushing.usable(list(board.turned)))
        sets = list(self._pieces.keys(usable))

        def pieces(keys: Keys, kits: int) -> list[tuple[Key, ...]]:
            return [keys[shape] for shape in kit * kits]

        for keys, spots in more(pushing, sets, pieces, least, self._bound()):
            placed: dict[int, list[Placed]] = {shape: [] for shape in keys}
            for i, spot in enumerate(spots):
                placed[kit[i % len(kit)]].append(on(board, spot))
            yield self._in_kits(placed)

    def _may_go_on(self) -> bool:
        return self._pieces.shapes.work.done <= MOST_WORK

    def _rules(self, board: Board, sets: Sequence[Keys]) -> Iterator[tuple[Keys, Scores]]:
        for keys, corner, (across, up) in product(sets, range(CORNERS), WEIGHTS[:4]):
            if not self._may_go_on():
                return
            yield keys, board.scores(across, up, corner)
        for number in range(TRIES if sets else 0):
            if not self._may_go_on():
                return
            drawn = draws(number)
            corner = int(drawn[2] * CORNERS)
            scores = board.scores(drawn[0] * 2 - 1, drawn[1] * 2 - 1, corner)
            for key in scores:
                scores[key] += (drawn[3 + key % 4] - 0.5) * 20
            yield sets[int(drawn[7] * len(sets))], scores

    def _filled(
        self,
        board: Board,
        keys: Keys,
        scores: Scores,
        kits: int,
    ) -> dict[int, list[Placed]] | None:
        """Lay so many kits, shape by shape; None where they have no place."""
        every = tuple(key for mine in keys.values() for key in mine)
        laying = Laying(board, every, scores)
        out: dict[int, list[Placed]] = {}
        for shape in self._pieces.order:
            start = len(laying.spots)
            for _ in range(kits * self._kit.count(shape)):
                if not (self._may_go_on() and laying.lay(keys[shape])):
                    return None
            out[shape] = [on(board, spot) for spot in laying.spots[start:]]
        return out

    def _in_kits(self, placed: Mapping[int, Sequence[Placed]]) -> tuple[Kit, ...]:
        """Make kits of pieces that lie near each other, from the top row down."""
        first, *others = self._pieces.order
        many = self._kit.count(first)
        firsts = sorted(placed[first], key=_reading)
        count = len(firsts) // many
        kits = [{first: firsts[i * many : (i + 1) * many]} for i in range(count)]
        middles = [_middle(box_of(kit[first])) for kit in kits]
        for shape in others:
            dealt = _dealt(middles, placed[shape], self._kit.count(shape))
            for kit, mine in zip(kits, dealt, strict=True):
                kit[shape] = mine
        return tuple(self._pieces.by_kit(kit) for kit in kits)


def _dealt(
    middles: Sequence[tuple[float, float]], placed: Sequence[Placed], many: int
) -> list[list[Placed]]:
    """Deal pieces out to kits, each to a near one.

    No two could be exchanged so that the sum of all squared distances became less.
    """

    def away(kit: int, number: int) -> float:
        return math.dist(middles[kit], _middle(placed[number][1])) ** 2

    kits = range(len(middles))
    mine: list[list[int]] = [[] for _ in kits]
    gone: set[int] = set()
    ways = (
        (away(kit, number), kit, number) for kit in kits for number in range(len(placed))
    )
    for _, kit, number in sorted(ways):
        if number not in gone and len(mine[kit]) < many:
            gone.add(number)
            mine[kit].append(number)
    changed = True
    while changed:
        changed = False
        for (one, other), i, j in (
            (pair, i, j)
            for pair in combinations(kits, 2)
            for i in range(many)
            for j in range(many)
        ):
            a, b = mine[one][i], mine[other][j]
            now, then = away(one, a) + away(other, b), away(one, b) + away(other, a)
            if then < now - _NEARER_MM2:
                mine[one][i], mine[other][j] = b, a
                changed = True
    return [[placed[number] for number in numbers] for numbers in mine]


def _middle(box: Rect) -> tuple[float, float]:
    return ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)


def _reading(one: Placed) -> tuple[float, float, float]:
    """Order by rows from the top, each from the left."""
    _, box = one
    return (-round(box[3] / _ROW_MM), box[0], box[1])


def _arrangement(kits: Sequence[Kit]) -> Arrangement:
    """Put kits into an order to be read, and give all their places."""
    ordered = sorted(kits, key=lambda kit: _reading((kit[0][0], box_of(kit))))
    places = [one for kit in ordered for one in kit]
    return Arrangement(tuple(at for at, _ in places), tuple(box for _, box in places))
