"""Places for identical pieces on a sheet: as many as a fixed amount of work finds.

Five ways are tried and the fullest sheet is taken: a plain grid, straight cuts right
across (`guillotine`), shapes laid into each other (here), even rows (`lattice`), and one
piece more pushed in (`push`). No clock and no chance: the same answer every time.

How shapes are laid is in `board`: by rules that are written down, and by some that are
drawn from a fixed row of numbers.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache

from personalize.geometry.convex import convex_parts, lie_apart
from personalize.geometry.zone import Region, grown
from personalize.sheet import push
from personalize.sheet.board import (
    CORNERS,
    ROUND_MM,
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
from personalize.sheet.boxes import Arrangement, meets_any, mixed, upright, wider
from personalize.sheet.grid import grids
from personalize.sheet.guillotine import guillotined
from personalize.sheet.lattice import Lattices, Shape
from personalize.sheet.lattice import Spot as Place
from personalize.sheet.paper import Rect
from personalize.sheet.push import Pushing, more
from personalize.sheet.remembered import remembered

TRIES = 160
"""Rules drawn from a fixed row of numbers, after those that are written down."""
MOST_LAID = 27_000
"""Pieces laid in all tries together. Of pieces so small that this matters even rows hold
more than hundreds of tries did (measured on fifteen shapes)."""
TURNS = ((0, 2), (1, 3), (0, 1, 2, 3))
"""Quarter turns that may be mixed: head to tail first, as it looks tidier."""
ALONG_GRAIN = TURNS[:2]
_FULL = 0.985
"""A piece that fills its box so far is taken for a rectangle (round corners, say)."""
_ROW_MM = 5.0
"""Pieces whose tops are this near are read as one row."""


@lru_cache(maxsize=16)
def arrangements(
    outline: Region,
    area: Rect,
    *,
    spacing_mm: float,
    bleed_mm: float,
    clear_zones: tuple[Rect, ...] = (),
    along_grain: bool = False,
) -> tuple[Arrangement, ...]:
    """Give arrangements with the most pieces that were found, the plainest first.

    Parameters
    ----------
    outline
        Of the piece, in mm, without holes.
    area
        Where pieces may lie, in sheet mm.
    spacing_mm
        Least distance between two outlines.
    bleed_mm
        Printed round each outline; it stays in the area and out of the clear zones.
    clear_zones
        Boxes that stay free.
    along_grain
        All pieces lie the same way, or turned by half a turn against each other.

    Returns
    -------
    tuple of Arrangement
        Empty when no piece fits. Each was proved to keep all distances.
    """
    rules = {"spacing_mm": spacing_mm, "bleed_mm": bleed_mm}
    plain = list(grids(outline, area, clear_zones=clear_zones, **rules))
    cut = guillotined(outline.box, area, clear_zones=clear_zones, **rules)
    may = cut.places and not (along_grain and mixed(cut))
    found = (*plain, cut) if may else tuple(plain)
    most = max((len(one.places) for one in found), default=0)
    bound = _bound(outline, area, spacing_mm, bleed_mm)
    if most < bound:
        turns = ALONG_GRAIN if along_grain else TURNS
        question = (area, spacing_mm, bleed_mm, clear_zones, turns)
        work = push.MOST_WORK

        def laid() -> tuple[Arrangement, ...]:
            return tuple(_laid(_Nest(outline, *question), most, bound))

        found += remembered((*question, most, bound, work), outline, laid)
        most = max((len(one.places) for one in found), default=0)
    return tuple(one for one in found if most and len(one.places) == most)


def _laid(nest: "_Nest", most: int, bound: int) -> Iterator[Arrangement]:
    """Give layouts that hold more than others did, each proved to keep all distances."""
    for way in (nest.best, nest.in_rows, lambda least: nest.pushed(least, bound)):
        laid = way(most) if most < bound else None
        if laid is not None and nest.lie_apart(laid):
            stood = Arrangement(tuple(map(upright, laid.places, laid.boxes)), laid.boxes)
            yield stood if stood != laid and nest.lie_apart(stood) else laid
            most = len(laid.places)


def _bound(outline: Region, area: Rect, spacing_mm: float, bleed_mm: float) -> int:
    """Count the pieces that a sheet could hold if they filled it without a gap.

    Piece and room are both grown by half the spacing. What rectangles leave between them
    no nesting fills: there straight cuts have the last word, but for clear zones.
    """
    x0, y0, x1, y1 = outline.box
    if outline.area_mm2 > _FULL * (x1 - x0) * (y1 - y0):
        rules = {"spacing_mm": spacing_mm, "bleed_mm": bleed_mm}
        return len(guillotined(outline.box, area, clear_zones=(), **rules).places)
    wide = area[2] - area[0] - 2 * bleed_mm + spacing_mm
    high = area[3] - area[1] - 2 * bleed_mm + spacing_mm
    return int(max(wide, 0) * max(high, 0) / grown(outline, spacing_mm / 2).area_mm2)


class _Nest:
    """One shape on a sheet, and the rules to fill it by."""

    def __init__(  # noqa: PLR0917 - the whole of one question, asked in one place
        self,
        outline: Region,
        area: Rect,
        spacing_mm: float,
        bleed_mm: float,
        clear_zones: tuple[Rect, ...],
        turns: tuple[tuple[int, ...], ...],
    ) -> None:
        self._outline, self._area, self._sets = outline, area, turns
        self._spacing, self._bleed, self._zones = spacing_mm, bleed_mm, clear_zones
        shapes = Shapes((outline,), spacing_mm, bleed_mm)
        self._board = Board(shapes, area, bleed_mm, clear_zones)

    def lie_apart(self, laid: Arrangement) -> bool:
        """Prove that all distances are kept."""
        pieces = [self._outline.mapped(at) for at in laid.places]
        return lie_apart(pieces, self._spacing, self._area, self._bleed, self._zones)

    def in_rows(self, least: int) -> Arrangement | None:
        """Lay out even rows; None where they hold no more than `least`."""
        all_turned = self._board.turned
        if not all_turned:
            return None
        size = max(max(turned.size) for turned in all_turned.values())
        rough = min(ROUND_MM, size / 500)
        half = self._spacing / 2
        shapes = {
            q: Shape(t.size, convex_parts(self._outline.mapped(t.at), half, rough))
            for q, t in all_turned.items()
        }
        if len(shapes) < 4:
            return None
        most: list[Place] = []
        for spots in Lattices(shapes, self._board.room).best():
            kept = [spot for spot in spots if not self._in_zone(spot)]
            if len(kept) > len(most):
                most = kept
        return self._arranged(most) if len(most) > least else None

    def _in_zone(self, spot: Place) -> bool:
        _, box = self._board.placed(spot)
        return meets_any(wider(box, self._bleed), self._zones)

    def best(self, least: int) -> Arrangement | None:
        """Lay out as many as possible; None where that is not more than `least`."""
        most: list[Spot] = []
        laid = 0
        for turns, scores in self._rules():
            if laid > MOST_LAID:
                break
            spots = self._filled(turns, scores)
            laid += len(spots)
            if len(spots) > len(most):
                most = spots
        if len(most) <= least:
            return None
        return self._arranged([(q, c * STEP_MM, r * STEP_MM) for q, c, r in most])

    def _filled(self, turns: Sequence[Key], scores: Scores) -> list[Spot]:
        """Lay pieces until nothing is free."""
        laying = Laying(self._board, turns, scores)
        while laying.lay(turns):
            pass
        return laying.spots

    def pushed(self, least: int, bound: int) -> Arrangement | None:
        """Push as many as possible apart; None where that is not more than `least`."""
        pushing = Pushing(self._board)
        each = (pushing.usable(turns) for turns in self._sets)
        sets = list(dict.fromkeys(turns for turns in each if turns))
        laid = None
        for _, spots in more(pushing, sets, lambda turns, n: [turns] * n, least, bound):
            laid = [(q, c * STEP_MM, r * STEP_MM) for q, c, r in spots]
        return None if laid is None else self._arranged(laid)

    def _rules(self) -> Iterator[tuple[tuple[Key, ...], Scores]]:
        board = self._board
        each = (tuple(q for q in turns if q in board.turned) for turns in self._sets)
        sets = [turns for turns in each if turns]
        for turns in dict.fromkeys(sets):
            for corner in range(CORNERS):
                for across, up in WEIGHTS:
                    yield turns, board.scores(across, up, corner)
        for number in range(TRIES if sets else 0):
            drawn = draws(number)
            corner = int(drawn[2] * CORNERS)
            scores = board.scores(drawn[0] * 2 - 1, drawn[1] * 2 - 1, corner)
            for q, draw in zip(scores, drawn[3:7], strict=False):
                scores[q] += (draw - 0.5) * 20
            yield sets[int(drawn[7] * len(sets))], scores

    def _arranged(self, spots: Sequence[Place]) -> Arrangement:
        """Turn corners of boxes into places; where nothing else is fixed, in the middle."""
        board = self._board
        boxes = [board.placed(spot)[1] for spot in spots]
        shift = [0.0, 0.0]
        for axis in (0, 1) if not self._zones else ():
            start = min(box[axis] for box in boxes) - board.origin[axis]
            end = max(box[axis + 2] for box in boxes) - board.origin[axis]
            shift[axis] = (board.room[axis] - start - end) / 2
        placed = [board.placed((q, x + shift[0], y + shift[1])) for q, x, y in spots]
        placed.sort(key=lambda p: (-round(p[1][3] / _ROW_MM), p[1][0], p[1][1]))
        return Arrangement(tuple(at for at, _ in placed), tuple(box for _, box in placed))
