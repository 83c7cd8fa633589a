"""Where a block of boxes stands in a shape, once its size is known (rule 7 of the fit)."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from personalize.fonts.harfbuzz import Face
from personalize.geometry.affine import Point
from personalize.type.contain import Shape, reaches
from personalize.type.solvers import EPSILON_MM, project

Floats = NDArray[np.float64]

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
WAYS = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "top": (0.0, 1.0), "bottom": (0.0, -1.0)}
"""Sides that a block can stand at, as directions."""


@dataclass(frozen=True, slots=True)
class Stand:
    """How the blocks of one text stand in a shape."""

    shape: Shape
    face: Face
    side: str
    """"centre", or a side of the shape."""
    width_share: float

    def place(  # noqa: PLR0917 - a block, its baselines, and where it is known to fit
        self,
        block: Floats,
        top: float,
        up: float,
        drop: float,
        size: float,
        known: Point,
    ) -> Point:
        """Give the place of a block's centre.

        The middle of the band from the last baseline to `top` above the first one lies at
        the centre of the shape's area, if the shape allows, or level with it at a side.
        `up` is the height of the first baseline above the block's centre, `drop` that of
        the first above the last (em).
        """
        x, y = self.shape.centroid
        target = (x, y - size * (up + (top - drop) / 2))
        if self.side not in WAYS:
            return nearest(self.shape, block, size, target, known)
        # Ink itself goes to the side; the share of the width is left on the other.
        ink = block.copy()
        less = (1 - self.width_share) * (block[:, 2] - block[:, 0]) / 2
        ink[:, 0] += less
        ink[:, 2] -= less
        lettered = ink.copy()  # with room for any letter above and below
        low, high = _reach(self.face)
        lettered[0, 3] = max(ink[0, 3], up + high)
        lettered[-1, 1] = min(ink[-1, 1], up - drop + low)
        for boxes in (lettered, ink) if self.side in ("top", "bottom") else (ink,):
            at = at_side(self.shape, boxes, size, target, self.side)
            if at is not None:
                return at
        near = nearest(self.shape, block, size, target, known)
        return at_side(self.shape, ink, size, near, self.side) or near


@lru_cache(maxsize=64)
def _reach(face: Face) -> tuple[float, float]:
    """How far letters without accents reach down and up from the baseline, in em."""
    gids = [face.nominal(letter) for letter in _LETTERS]
    boxes = [box for gid in gids if gid and (box := face.ink(gid)) is not None]
    return min((b[1] for b in boxes), default=0.0), max((b[3] for b in boxes), default=0.0)


def room(shape: Shape, block: Floats, size: float, at: Point) -> float:
    """Least room (mm) of a block at a size and place; negative when it is outside."""
    h = shape.supports(block)
    least = float((shape.offsets - shape.normals @ np.array(at) - size * h).min())
    if shape.pockets:
        parts = [reaches(block, pocket.normals) for pocket in shape.pockets]
        least = min(least, shape.separating(at, size, parts)[2])
    return least


def at_side(shape: Shape, block: Floats, size: float, at: Point, side: str) -> Point | None:
    """Give the place farthest to a side, level with (or straight below) a point.

    None when the block stands nowhere on the line through that point. A place beyond a
    notch or hole counts too.
    """
    way = np.array(WAYS[side])
    start = np.array(at)
    step = shape.normals @ way
    slack = shape.offsets - shape.normals @ start - size * shape.supports(block)
    if shape.level:  # its two last conditions hold the height, which this line keeps
        step, slack = step[:-2], slack[:-2]
    flat = np.abs(step) < 1e-12
    if (slack[flat] < -EPSILON_MM).any():
        return None
    ends = slack[~flat] / step[~flat]
    low = float(ends[step[~flat] < 0].max(initial=-math.inf))
    far = float(ends[step[~flat] > 0].min(initial=math.inf))
    taken = _taken(shape, block, size, start, way)
    while far >= low - EPSILON_MM:
        caught = taken[(taken[:, 0] < far - EPSILON_MM) & (far + EPSILON_MM < taken[:, 1])]
        if not len(caught):
            x, y = (start + far * way).tolist()
            return (x, y)
        far = float(caught[:, 0].min())
    return None


def _taken(shape: Shape, block: Floats, size: float, start: Floats, way: Floats) -> Floats:
    """Stretches of a line on which a box is caught by a pocket: shape (n, 2)."""
    out = [np.empty((0, 2))]
    for pocket in shape.pockets:
        step = pocket.normals @ way
        slack = pocket.offsets - pocket.normals @ start
        slack = slack - size * reaches(block, pocket.normals)
        with np.errstate(divide="ignore", invalid="ignore"):
            ends = slack / step
        flat = np.abs(step) < 1e-12
        free = (flat & (slack >= -EPSILON_MM)).any(axis=1)
        until = np.where(~flat & (step > 0), ends, -np.inf).max(axis=1)
        since = np.where(~flat & (step < 0), ends, np.inf).min(axis=1)
        out.append(np.column_stack([until, since])[~free])
    return np.concatenate(out)


def nearest(shape: Shape, block: Floats, size: float, target: Point, known: Point) -> Point:
    """Place a block at a size as near to `target` as it can be.

    `known` is a place where it fits. Ties go to the lower, then the left place.
    """
    if shape.is_rectangle:
        return _in_rectangle(shape, block, size, target)
    h = shape.supports(block)
    slack = shape.offsets - size * h
    if not shape.pockets:
        return project(shape.normals, slack, target) or known
    parts = [reaches(block, pocket.normals) for pocket in shape.pockets]
    if room(shape, block, size, target) >= -EPSILON_MM:
        return target
    best = known
    for start in (known, *_places(shape, h, parts, size, target)):
        best = min(
            best,
            _slide(shape, start, target, slack, size, parts),
            key=lambda p: (round(math.dist(p, target), 6), p[1], p[0]),
        )
    return best


def _in_rectangle(shape: Shape, block: Floats, size: float, target: Point) -> Point:
    x0, y0, x1, y1 = shape.region.box
    left, bottom = x0 - size * block[:, 0].min(), y0 - size * block[:, 1].min()
    right, top = x1 - size * block[:, 2].max(), y1 - size * block[:, 3].max()
    return (
        _clamped(target[0], float(left), float(right)),
        _clamped(target[1], float(bottom), float(top)),
    )


def _clamped(value: float, low: float, high: float) -> float:
    return (low + high) / 2 if low > high else min(max(value, low), high)


def _places(
    shape: Shape, h: Floats, parts: list[Floats], size: float, target: Point
) -> list[Point]:
    """Give up to four seeds nearest the target where the block fits at this size."""
    hull_slack = shape.offsets - shape.seeds @ shape.normals.T
    clear = (hull_slack - size * h).min(axis=1) >= 0
    for pocket, part in zip(shape.pockets, parts, strict=True):
        slack = pocket.offsets - shape.seeds @ pocket.normals.T
        free = slack[:, None, :] - size * part[None, :, :]
        clear &= free.max(axis=2).min(axis=1) >= 0
    places = shape.seeds[clear]
    order = np.argsort(np.hypot(*(places - target).T), kind="stable")[:4]
    return [(float(x), float(y)) for x, y in places[order]]


def _slide(  # noqa: PLR0917 - a block in a shape, and where to
    shape: Shape,
    at: Point,
    target: Point,
    slack: Floats,
    size: float,
    parts: list[Floats],
) -> Point:
    """Move towards the target through places where the block fits."""
    for _ in range(12):
        rows, reach, least = shape.separating(at, size, parts)
        if least < -EPSILON_MM:
            return at
        moved = project(
            np.concatenate([shape.normals, rows[:, :2]]),
            np.concatenate([slack, rows[:, 2] - size * reach]),
            target,
        )
        if moved is None or math.dist(moved, at) < 1e-7:
            return at
        at = moved
    return at
