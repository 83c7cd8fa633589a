"""Blocks: one kit packed into a box, to be laid out like a single rectangle.

Two ways. Its pieces are stacked, box beside box or above box, which is exact; or they are
laid into each other in strips as wide or high as a sheet splits into (`board`).
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from personalize.geometry.affine import Affine, translation
from personalize.sheet.board import STEP_MM, Board, Key, Laying, Scores, Shapes, Spot
from personalize.sheet.nest import ALONG_GRAIN, TURNS
from personalize.sheet.paper import Rect

MOST_SPLIT = 8
"""A sheet is split into at most so many columns or rows of blocks."""
MOST_TURNED = 4
"""Of more shapes the few turns are tried first: where all meet costs the most work."""
MOST_STACKS = 24
"""Half-built stacks that are kept, the smallest: none is both wider and higher."""
MOST_WORK = 400_000_000
"""Places looked at to pack blocks (`board.Work`)."""
_HAIR_MM = 1e-6
_RULES = ((1e-3, 1.0), (1.0, 1e-3), (0.3, 1.0), (1.0, 0.3))

Keys = Mapping[int, tuple[Key, ...]]
"""For each shape the turns that it may take."""
Placed = tuple[Affine, Rect]
Kit = tuple[Placed, ...]
"""Places of its pieces, in their order."""


@dataclass(frozen=True, slots=True)
class KitPieces:
    """The pieces of a kit, and how each may be turned."""

    shapes: Shapes
    kit: tuple[int, ...]
    """For each piece the number of its shape."""
    order: tuple[int, ...]
    """Shapes, the largest first."""
    grained: frozenset[int]
    """Shapes whose pieces all lie the same way, or turned by half a turn."""

    def keys(self, usable: Mapping[Key, object]) -> Iterator[Keys]:
        """Give for each shape the turns that it may take in one layout.

        All that may lie anyhow are turned alike; of those with a grain each may have its
        own way. `usable` are the turns that have a place at all.
        """
        grained = [shape for shape in self.order if shape in self.grained]
        turns = TURNS if len(self.order) > MOST_TURNED else TURNS[::-1]
        for free in turns if len(grained) < len(self.order) else TURNS[:1]:
            for ways in product(ALONG_GRAIN, repeat=len(grained)):
                own = dict(zip(grained, ways, strict=True))
                keys = {
                    shape: tuple(
                        key
                        for q in own.get(shape, free)
                        if (key := 4 * shape + q) in usable
                    )
                    for shape in self.order
                }
                if all(keys.values()):
                    yield keys

    def by_kit(self, found: Mapping[int, Sequence[Placed]]) -> Kit:
        """Put places that were found shape by shape into the order of the kit."""
        left = {shape: list(places) for shape, places in found.items()}
        return tuple(left[shape].pop(0) for shape in self.kit)


def stacked(pieces: KitPieces, spacing_mm: float) -> Iterator[Kit]:
    """Stack the boxes of a kit: each next one beside the others or above them."""
    for keys in pieces.keys(pieces.shapes.turned):
        stacks: list[_Stack] = [_Stack(0.0, 0.0, ())]
        for shape in pieces.order:
            for _ in range(pieces.kit.count(shape)):
                stacks = _narrow_or_low(
                    larger
                    for stack in stacks
                    for key in keys[shape]
                    for larger in stack.with_one(pieces.shapes, key, spacing_mm)
                )
        for stack in stacks:
            yield pieces.by_kit(stack.by_shape())


@dataclass(frozen=True, slots=True)
class _Stack:
    """Boxes beside and above each other, from the origin."""

    wide: float
    high: float
    laid: tuple[tuple[int, Placed], ...]

    def with_one(self, shapes: Shapes, key: Key, spacing_mm: float) -> Iterator["_Stack"]:
        turned = shapes.turned[key]
        w, h = turned.size
        more = spacing_mm if self.laid else 0.0
        beside, above = (self.wide + more, 0.0), (0.0, self.high + more)
        for x, y in (beside, above):
            placed = (translation(x, y) @ turned.at, (x, y, x + w, y + h))
            laid = (*self.laid, (key // 4, placed))
            yield _Stack(max(self.wide, x + w), max(self.high, y + h), laid)

    def by_shape(self) -> dict[int, list[Placed]]:
        found: dict[int, list[Placed]] = {}
        for shape, placed in self.laid:
            found.setdefault(shape, []).append(placed)
        return found


def _narrow_or_low(stacks: Iterator[_Stack]) -> list[_Stack]:
    """Keep those that no other is as narrow and as low as."""
    kept: list[_Stack] = []
    for stack in sorted(stacks, key=lambda one: (one.wide, one.high)):
        if not kept or stack.high < kept[-1].high:
            kept.append(stack)
    return sorted(kept, key=lambda one: one.wide * one.high)[:MOST_STACKS]


def packed(
    pieces: KitPieces, area: Rect, bleed_mm: float, spacing_mm: float
) -> Iterator[Kit]:
    """Pack one kit into strips of the widths and heights that a sheet splits into."""
    x0, y0, x1, y1 = area
    wide, high = x1 - x0 - 2 * bleed_mm, y1 - y0 - 2 * bleed_mm
    rooms = []
    for split in range(1, MOST_SPLIT + 1):
        rooms.append(((wide + spacing_mm) / split - spacing_mm, high))
        rooms.append((wide, (high + spacing_mm) / split - spacing_mm))
    # No block need be longer than all pieces in a row.
    longest = sum(
        max(pieces.shapes.turned[4 * shape].size) + spacing_mm for shape in pieces.kit
    )
    for w, h in {(min(w, longest), min(h, longest)): None for w, h in rooms}:
        if min(w, h) <= 0:
            continue
        board = Board(pieces.shapes, (0.0, 0.0, w, h), 0.0)
        rules = product(pieces.keys(board.turned), _RULES, range(2))
        for keys, (across, up), corner in rules:
            if pieces.shapes.work.done > MOST_WORK:
                return
            scores = board.scores(across, up, corner)
            kit = _one_kit(board, pieces, keys, scores)
            if kit is not None:
                yield kit


def smallest(kits: Iterable[Kit]) -> list[tuple[tuple[float, float], Kit]]:
    """Give kits with the sizes of their boxes, the smallest first.

    Left out are those whose box holds that of another, either way round.
    """
    sized = []
    for kit in kits:
        box = box_of(kit)
        sized.append(((box[2] - box[0], box[3] - box[1]), kit))
    sized.sort(key=lambda one: one[0][0] * one[0][1])
    kept: list[tuple[tuple[float, float], Kit]] = []
    for (w, h), kit in sized:
        if not any(
            (a <= w + _HAIR_MM and b <= h + _HAIR_MM)
            or (b <= w + _HAIR_MM and a <= h + _HAIR_MM)
            for (a, b), _ in kept
        ):
            kept.append(((w, h), kit))
    return kept


def _one_kit(board: Board, pieces: KitPieces, keys: Keys, scores: Scores) -> Kit | None:
    """Lay one kit, the largest pieces first."""
    every = tuple(key for mine in keys.values() for key in mine)
    laying = Laying(board, every, scores)
    out: dict[int, list[Placed]] = {}
    for shape in keys:
        for _ in range(pieces.kit.count(shape)):
            if not laying.lay(keys[shape]):
                return None
            out.setdefault(shape, []).append(on(board, laying.spots[-1]))
    return pieces.by_kit(out)


def on(board: Board, spot: Spot) -> Placed:
    """Give the place of a spot, with its box."""
    key, column, row = spot
    return board.placed((key, column * STEP_MM, row * STEP_MM))


def moved(kit: Kit, at: Affine) -> Kit:
    """Move a block onto a sheet; `at` maps the block's box, laid in the origin."""
    left, bottom = box_of(kit)[:2]
    whole = at @ translation(-left, -bottom)
    return tuple((whole @ place, _mapped(box, whole)) for place, box in kit)


def _mapped(box: Rect, at: Affine) -> Rect:
    corners = [at((x, y)) for x in (box[0], box[2]) for y in (box[1], box[3])]
    xs, ys = zip(*corners, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def box_of(kit: Sequence[Placed]) -> Rect:
    """Give the box round some pieces."""
    boxes = [box for _, box in kit]
    return (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )
