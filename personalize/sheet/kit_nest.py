"""Places for kits, pieces of several outlines: as many as a fixed amount of work finds.

Two ways are tried, and the fullest sheet is taken; of two as full the tidier.

blocks    one kit packed into a box that so many of go side by side or above each other
freely    all pieces laid into each other (`board`), the largest first; each kit is then
          made of pieces that lie near each other

No clock and no chance: the same answer every time. Every layout is proved to keep all
distances before it is used.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np

from personalize.geometry.affine import Affine
from personalize.geometry.convex import lie_apart
from personalize.geometry.zone import Region, grown, region_of
from personalize.sheet.board import (
    CORNERS,
    STEP_MM,
    WEIGHTS,
    Board,
    Key,
    Laying,
    Scores,
    Shapes,
    Spot,
    draws,
)
from personalize.sheet.boxes import Arrangement
from personalize.sheet.grid import grids
from personalize.sheet.guillotine import guillotined
from personalize.sheet.nest import ALONG_GRAIN, TURNS, mixed
from personalize.sheet.paper import Rect
from personalize.sheet.remembered import remembered

MOST_SPLIT = 8
"""A sheet is split into at most so many columns or rows of blocks."""
TRIES = 160
"""Rules drawn from a fixed row of numbers, after those that are written down."""
MOST_LAID = 27_000
"""Pieces laid in all tries together."""
_BLOCK_RULES = ((1e-3, 1.0), (1.0, 1e-3), (0.3, 1.0), (1.0, 0.3))
_ROW_MM = 5.0
"""Kits whose tops are this near are read as one row."""

Keys = dict[int, tuple[Key, ...]]
"""For each shape the turns that it may take."""
Placed = tuple[Affine, Rect]
Kit = tuple[Placed, ...]
"""Places of its pieces, in their order."""


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
        Places kit by kit, in the order of its pieces. None when no kit fits.
    """
    nest = _KitNest(shapes, kit, area, spacing_mm, bleed_mm, clear_zones)
    rest = [(one.outline.outer, one.along_grain) for one in shapes]
    question = ("kits", kit, area, spacing_mm, bleed_mm, clear_zones, rest)
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
        self._shapes = Shapes([one.outline for one in shapes], spacing_mm, bleed_mm)
        areas = [one.outline.area_mm2 for one in shapes]
        self._order = sorted(set(kit), key=lambda shape: -areas[shape])
        """Shapes, the largest first."""

    def best(self) -> tuple[Arrangement, ...]:
        """Give the fullest layouts, the tidiest first."""
        found = [one for one in self._blocks() if self._lie_apart(one)]
        most = max(map(len, found), default=0)
        if most < self._bound():
            found += [one for one in self._freely(most) if self._lie_apart(one)]
            most = max(map(len, found), default=0)
        return tuple(_arrangement(one) for one in found if most and len(one) == most)

    def _bound(self) -> int:
        """Count the kits that a sheet could hold if they filled it without a gap."""
        half = self._spacing / 2
        each = [grown(one.outline, half).area_mm2 for one in self._forms]
        x0, y0, x1, y1 = self._area
        more = self._spacing - 2 * self._bleed
        room = max(x1 - x0 + more, 0.0) * max(y1 - y0 + more, 0.0)
        return int(room / sum(each[shape] for shape in self._kit))

    def _lie_apart(self, kits: Sequence[Kit]) -> bool:
        pieces = [
            self._forms[shape].outline.mapped(at)
            for kit in kits
            for shape, (at, _) in zip(self._kit, kit, strict=True)
        ]
        return lie_apart(pieces, self._spacing, self._area, self._bleed, self._zones)

    def _keys(self, board: Board) -> Iterator[Keys]:
        """Give for each shape the turns that it may take in one layout on a board.

        All that may lie anyhow are turned alike; of those with a grain each may have its
        own way.
        """
        grained = [shape for shape in self._order if self._forms[shape].along_grain]
        for free in TURNS[::-1] if len(grained) < len(self._order) else TURNS[:1]:
            for ways in product(ALONG_GRAIN, repeat=len(grained)):
                own = dict(zip(grained, ways, strict=True))
                keys = {
                    shape: tuple(
                        key
                        for q in own.get(shape, free)
                        if (key := 4 * shape + q) in board.turned
                    )
                    for shape in self._order
                }
                if all(keys.values()):
                    yield keys

    def _blocks(self) -> Iterator[tuple[Kit, ...]]:
        """Pack a kit into boxes that columns or rows of a sheet hold, and lay out these."""
        tried: set[tuple[float, float]] = set()
        for box, block in self._packed():
            size = (round(box[2] - box[0], 3), round(box[3] - box[1], 3))
            if size in tried:
                continue
            tried.add(size)
            for laid in self._laid_out(size):
                yield tuple(
                    tuple(_moved(one, at, box) for one in block) for at in laid.places
                )

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

    def _packed(self) -> Iterator[tuple[Rect, Kit]]:
        """Pack one kit into strips of the widths and heights that a sheet splits into."""
        x0, y0, x1, y1 = self._area
        wide, high = x1 - x0 - 2 * self._bleed, y1 - y0 - 2 * self._bleed
        rooms = []
        for split in range(1, MOST_SPLIT + 1):
            rooms.append(((wide + self._spacing) / split - self._spacing, high))
            rooms.append((wide, (high + self._spacing) / split - self._spacing))
        for w, h in rooms:
            if min(w, h) <= 0:
                continue
            board = Board(self._shapes, (0.0, 0.0, w, h), 0.0)
            for keys in self._keys(board):
                for across, up in _BLOCK_RULES:
                    for corner in range(2):
                        spots = _one_kit(
                            board, self._kit, keys, board.scores(across, up, corner)
                        )
                        if spots is not None:
                            block = tuple(_on(board, spot) for spot in spots)
                            yield _box_of([box for _, box in block]), block

    def _freely(self, least: int) -> Iterator[tuple[Kit, ...]]:
        """Lay all pieces into each other; give each layout that holds more kits."""
        board = Board(self._shapes, self._area, self._bleed, self._zones)
        sets = list(self._keys(board))
        laid = 0
        for keys, scores in self._rules(board, sets):
            while laid <= MOST_LAID:
                spots = self._filled(board, keys, scores, least + 1)
                laid += (least + 1) * len(self._kit)
                if spots is None:
                    break
                least += 1
                yield self._in_kits(board, spots)

    def _rules(self, board: Board, sets: Sequence[Keys]) -> Iterator[tuple[Keys, Scores]]:
        for keys in sets:
            for corner in range(CORNERS):
                for across, up in WEIGHTS[:4]:
                    yield keys, board.scores(across, up, corner)
        for number in range(TRIES if sets else 0):
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
    ) -> dict[int, list[Spot]] | None:
        """Lay so many kits, shape by shape; None where they have no place."""
        every = tuple(key for mine in keys.values() for key in mine)
        laying = Laying(board, every, scores)
        out: dict[int, list[Spot]] = {}
        for shape in self._order:
            start = len(laying.spots)
            for _ in range(kits * self._kit.count(shape)):
                if not laying.lay(keys[shape]):
                    return None
            out[shape] = laying.spots[start:]
        return out

    def _in_kits(self, board: Board, spots: dict[int, list[Spot]]) -> tuple[Kit, ...]:
        """Make kits of pieces that lie near each other, from the top row down."""
        placed = {
            shape: [_on(board, spot) for spot in mine] for shape, mine in spots.items()
        }
        first = self._order[0]
        count = len(placed[first]) // self._kit.count(first)
        firsts = sorted(placed[first], key=_reading)
        many = self._kit.count(first)
        kits = [firsts[i * many : (i + 1) * many] for i in range(count)]
        middles = [_middle(_box_of([box for _, box in kit])) for kit in kits]
        taken: list[dict[int, list[Placed]]] = [{first: list(kit)} for kit in kits]
        for shape in self._order[1:]:
            many = self._kit.count(shape)
            ways = sorted(
                (math.dist(middles[kit], _middle(one[1])), kit, number)
                for kit in range(count)
                for number, one in enumerate(placed[shape])
            )
            gone: set[int] = set()
            for _, kit, number in ways:
                mine = taken[kit].setdefault(shape, [])
                if number not in gone and len(mine) < many:
                    gone.add(number)
                    mine.append(placed[shape][number])
        return tuple(tuple(mine[shape].pop(0) for shape in self._kit) for mine in taken)


def _one_kit(
    board: Board,
    kit: Sequence[int],
    keys: Keys,
    scores: Scores,
) -> list[Spot] | None:
    """Lay one kit, the largest pieces first; its spots are in the order of the kit."""
    every = tuple(key for mine in keys.values() for key in mine)
    laying = Laying(board, every, scores)
    out: dict[int, list[Spot]] = {}
    for shape in keys:
        for _ in range(kit.count(shape)):
            if not laying.lay(keys[shape]):
                return None
            out.setdefault(shape, []).append(laying.spots[-1])
    return [out[shape].pop(0) for shape in kit]


def _on(board: Board, spot: Spot) -> Placed:
    key, column, row = spot
    return board.placed((key, column * STEP_MM, row * STEP_MM))


def _moved(one: Placed, at: Affine, block: Rect) -> Placed:
    """Move a place of a block onto a sheet; `at` maps the block's box from the origin."""
    place, (x0, y0, x1, y1) = one
    left, bottom = block[:2]
    moved = at @ Affine(1, 0, 0, 1, -left, -bottom)
    corners = [moved((x, y)) for x in (x0, x1) for y in (y0, y1)]
    xs, ys = zip(*corners, strict=True)
    return moved @ place, (min(xs), min(ys), max(xs), max(ys))


def _box_of(boxes: Sequence[Rect]) -> Rect:
    return (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )


def _middle(box: Rect) -> tuple[float, float]:
    return ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)


def _reading(one: Placed) -> tuple[float, float, float]:
    """Order by rows from the top, each from the left."""
    _, box = one
    return (-round(box[3] / _ROW_MM), box[0], box[1])


def _arrangement(kits: Sequence[Kit]) -> Arrangement:
    """Put kits into an order to be read, and give all their places."""
    ordered = sorted(
        kits, key=lambda kit: _reading((kit[0][0], _box_of([box for _, box in kit])))
    )
    places = [one for kit in ordered for one in kit]
    return Arrangement(tuple(at for at, _ in places), tuple(box for _, box in places))
