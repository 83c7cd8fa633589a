"""How large can a block of boxes be inside a shape? Exact, for any polygon.

The block is a text's line boxes at size 1, the shape a safe zone in the reading frame.
The unknowns are a shift t and a size s; box corners move as t + s c.

- Against the convex hull of the shape every edge is one linear condition n.t + s h <= d,
  where h is the block's support in the edge's direction n.
- What the hull has and the shape has not (notches, holes) is covered by convex pockets.
  A box clears a pocket when some line separates them; for two convex polygons one along
  an edge of either will do (separating axis theorem). Each chosen edge is again one
  linear condition.

So with the separating edges chosen the largest size is a linear programme in three
unknowns, solved exactly. A convex shape needs one. With pockets we start from the best
of many seed points, solve, choose the edges anew where the block now is, and solve again
until nothing is gained; each step keeps the last answer possible, so size never falls.

The dual of a solved programme bounds the size of every other block in the same shape,
which spares most of the work when hundreds of line breaks are compared.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from personalize.geometry import zone
from personalize.geometry.affine import Point, Points
from personalize.type.solvers import EPSILON_MM, maximise

Floats = NDArray[np.float64]

SEED_ACROSS = 14
"""Seed points along the longer side of a shape with pockets. Fourteen found the best
place of 1,000 random blocks in flags, hearts, rings and bays; ten missed some."""
STARTS = 5
"""How many of the best seeds are climbed from."""
APART = 12
"""Starts lie at least this part of the longer side apart."""
_BELOW, _ABOVE = 2, 3
"""Conditions of a pocket that hold a box below or above all of it."""


@dataclass(frozen=True)
class Pocket:
    """One convex part of what the shape has not.

    A box clears it if n.p <= d for some edge (n, d) and every corner p of the box.
    """

    normals: Floats
    offsets: Floats

    @cached_property
    def rows(self) -> Floats:
        """Normals and offsets side by side, shape (m, 3)."""
        return np.column_stack([self.normals, self.offsets])


@dataclass(frozen=True, slots=True)
class Found:
    """A size and the shift of the block's centre."""

    size: float
    at: Point


@dataclass(frozen=True, slots=True)
class Certificate:
    """Weights on hull edges that bound the size of any block: s <= sum(w d) / sum(w h).

    They are the dual of one block's programme, so their directions cancel out: sum(w n)
    is nought, and what is left of the conditions holds for every shift.
    """

    rows: list[int]
    weights: list[float]
    total: float

    def bounds(self, supports: Floats) -> Floats:
        """Upper bounds for blocks whose hull supports are given (b, m): shape (b,)."""
        below = supports[:, self.rows] @ np.array(self.weights)
        bounds: Floats = np.full(len(below), np.inf)
        np.divide(self.total, below, out=bounds, where=below > 1e-12)
        return bounds


class Shape:
    """A safe zone made ready for fitting (all in mm, reading frame, y up)."""

    def __init__(self, region: zone.Region, *, level: bool = False) -> None:
        """Make ready; in a `level` shape blocks keep to the height of the centroid."""
        self.region = region
        self.level = level
        corners = zone.hull(region)
        edges = np.roll(corners, -1, axis=0) - corners
        self.normals: Floats = np.column_stack([edges[:, 1], -edges[:, 0]])
        self.normals /= np.hypot(*self.normals.T)[:, None]
        self.offsets: Floats = np.einsum("ij,ij->i", self.normals, corners)
        self.pockets = tuple(_pocket(piece) for piece in zone.pockets(region))
        x0, y0, x1, y1 = region.box
        self.width_mm, self.height_mm = x1 - x0, y1 - y0
        self.centre = ((x0 + x1) / 2, (y0 + y1) / 2)
        self.centroid = region.centroid
        if level:
            y = self.centroid[1]
            self.normals = np.concatenate([self.normals, _UP_AND_DOWN])
            self.offsets = np.concatenate([self.offsets, [y, -y]])

    @cached_property
    def is_rectangle(self) -> bool:
        """Whether the shape is a rectangle with level and upright sides."""
        axial = np.isclose(np.abs(self.normals).max(axis=1), 1.0, rtol=0, atol=1e-12)
        return not self.pockets and len(self.normals) == 4 and bool(axial.all())

    @cached_property
    def seeds(self) -> Points:
        """Points inside the hull to start from, on a grid.

        Those in a notch or hole too: a block's lines may lie on both sides of it.
        """
        x0, y0, x1, y1 = self.region.box
        step = max(self.width_mm, self.height_mm) / SEED_ACROSS
        middles = [self.centre[0], self.centroid[0]]
        xs = np.concatenate([np.arange(x0 + step / 2, x1, step), middles])
        ys = np.arange(y0 + step / 2, y1, step / 2)
        if self.level:
            xs, ys = np.arange(x0 + step / 4, x1, step / 4), np.array([self.centroid[1]])
        points = np.array(np.meshgrid(xs, ys)).reshape(2, -1).T
        points = np.concatenate([points, [self.centroid, self.centre][: 2 - self.level]])
        clear = (points @ self.normals.T <= self.offsets + EPSILON_MM).all(axis=1)
        inside: Points = points[clear]
        return inside if len(inside) else points[-1:]

    def supports(self, blocks: Floats) -> Floats:
        """Give supports of blocks (..., k, 4) in the hull's directions: shape (..., m)."""
        out: Floats = reaches(blocks, self.normals).max(axis=-2)
        if self.level:
            out[..., -2:] = 0.0  # these two hold the block's origin, not its boxes
        return out

    def largest(self, block: Floats) -> Found:
        """Find the largest size of one block of boxes, shape (k, 4) about its centre."""
        found = self.solve(block)[0]
        again = self.pockets and not self.level
        return self.improved(block, found) if again else found

    def solve(self, block: Floats) -> tuple[Found, Certificate]:
        """Find the largest size, and what bounds the sizes of other blocks."""
        h = self.supports(block)
        s, t, rows, weights = maximise(self.normals, h, self.offsets)
        total = sum(w * float(self.offsets[i]) for i, w in zip(rows, weights, strict=True))
        certificate = Certificate(rows, weights, total)
        if not self.pockets:
            return Found(s, t), certificate
        parts = [reaches(block, pocket.normals) for pocket in self.pockets]
        best = Found(0.0, self.centroid)
        seen: set[bytes] = set()
        for start in self._starts(block, h, parts):
            climbed = self._climb(start, h, parts, seen)
            if climbed.size > best.size:
                best = climbed
        return best, certificate

    def improved(self, block: Floats, found: Found) -> Found:
        """Try other edges for the boxes that hold a size back, while it gains.

        Whichever edges are chosen, what the programme gives is possible.
        """
        h = self.supports(block)
        parts = [reaches(block, pocket.normals) for pocket in self.pockets]
        base = len(self.normals)
        pairs = [(p, i) for p, part in enumerate(parts) for i in range(len(part))]
        best = found
        for _ in range(12):
            found = best
            rows, support, _, _ = self.separating(found.at, found.size, parts)
            normals = np.concatenate([self.normals, rows[:, :2]])
            reach, ends = np.append(h, support), np.append(self.offsets, rows[:, 2])
            for row in (r for r in maximise(normals, reach, ends)[2] if r >= base):
                pocket, box = pairs[row - base]
                kept = normals[row].copy(), reach[row], ends[row]
                for edge, support_there in zip(
                    self.pockets[pocket].rows, parts[pocket][box], strict=True
                ):
                    normals[row], reach[row], ends[row] = edge[:2], support_there, edge[2]
                    size, at, _, _ = maximise(normals, reach, ends)
                    if size > best.size * (1 + 1e-6):
                        best = Found(size, at)
                normals[row], reach[row], ends[row] = kept
            if best is found:
                break
        return best

    def _starts(self, block: Floats, h: Floats, parts: list[Floats]) -> list[Found]:
        """Give the best seeds, each with a size that is possible there.

        They lie apart, to lead to different places: rather up and down than sideways.
        """
        points = np.concatenate([self.seeds, *self._between(block, h, parts)])
        sizes = self._sizes_at(points, h, parts)
        order = np.argsort(-sizes, kind="stable")[: len(sizes) // 2 + 1]
        near = (max(self.width_mm, self.height_mm) / APART) ** 2
        starts: list[Found] = []
        points = points[order]
        while len(points) and len(starts) < STARTS:
            x, y = points[0].tolist()
            starts.append(Found(float(sizes[order[0]]), (x, y)))
            apart = (((points - points[0]) * (0.5, 1.0)) ** 2).sum(axis=1) > near
            points, order = points[apart], order[apart]
        return starts

    def _between(self, block: Floats, h: Floats, parts: list[Floats]) -> list[Points]:
        """Give the places where some first lines pass over a pocket, the rest under it."""
        if self.level:
            return []
        places = []
        lines = np.arange(len(block))
        for pocket, part in zip(self.pockets, parts, strict=True):
            for count in range(1, len(block)):
                side = np.where(lines < count, _ABOVE, _BELOW)
                size, at, _, _ = maximise(
                    np.concatenate([self.normals, pocket.normals[side]]),
                    np.concatenate([h, part[lines, side]]),
                    np.concatenate([self.offsets, pocket.offsets[side]]),
                )
                if size > 0:
                    places.append(np.array([at]))
        return places

    def _sizes_at(self, points: Points, h: Floats, parts: list[Floats]) -> Floats:
        """Find the largest size of the block with its origin at each of some points.

        Along one edge of a pocket a box is clear up to some size, or (the origin being
        beyond the edge) from some size on. So a box is caught by a pocket at the sizes
        between the last "up to" and the first "from": step down past those.
        """
        sizes: Floats = _ratio(self.offsets - points @ self.normals.T, h).min(axis=1)
        up, low = [], []
        for pocket, part in zip(self.pockets, parts, strict=True):
            slack = (pocket.offsets - points @ pocket.normals.T)[:, None, :]
            reach = part[None, :, :]
            with np.errstate(divide="ignore", invalid="ignore"):
                share = slack / reach
            ahead = slack >= 0
            until = np.where(ahead, np.where(reach > 1e-12, share, np.inf), 0.0)
            since = np.where(~ahead & (reach < -1e-12), share, np.inf)
            since = np.where(ahead & (reach <= 1e-12), 0.0, since)
            up.append(until.max(axis=2))
            low.append(since.min(axis=2))
        ups, lows = np.concatenate(up, axis=1), np.concatenate(low, axis=1)
        while True:
            caught = (ups < sizes[:, None]) & (sizes[:, None] < lows * (1 - 1e-9))
            lower = np.minimum(sizes, np.where(caught, ups, np.inf).min(axis=1))
            if (lower == sizes).all():
                return sizes
            sizes = lower

    def separating(
        self, at: Point, size: float, parts: list[Floats]
    ) -> tuple[Floats, Floats, float, bytes]:
        """Choose for each box and pocket the edge with most room.

        Gives rows (n, d) and h of the chosen edges, the least room left (negative when
        some box is not clear), and a key of the choice.
        """
        rows, supports, least, key = [], [], math.inf, b""
        for pocket, part in zip(self.pockets, parts, strict=True):
            room = pocket.offsets - pocket.normals @ at - size * part
            best = room.argmax(axis=1)
            rows.append(pocket.rows[best])
            supports.append(part[np.arange(len(part)), best])
            least = min(least, float(room.max(axis=1).min()))
            key += best.tobytes()
        return np.concatenate(rows), np.concatenate(supports), least, key

    def _climb(
        self, found: Found, h: Floats, parts: list[Floats], seen: set[bytes]
    ) -> Found:
        """Solve, choose the separating edges anew, and solve again while it gains.

        A choice already `seen` leads where an earlier climb went.
        """
        for _ in range(12):  # measured: three or four suffice, twelve is a guard
            rows, support, least, key = self.separating(found.at, found.size, parts)
            if least < -EPSILON_MM or key in seen:
                return found
            seen.add(key)
            s, t, _, _ = maximise(
                np.concatenate([self.normals, rows[:, :2]]),
                np.concatenate([h, support]),
                np.concatenate([self.offsets, rows[:, 2]]),
            )
            if s <= found.size * (1 + 1e-9):
                return found
            found = Found(s, t)
        return found


def _pocket(piece: Points) -> Pocket:
    """Turn a convex polygon into the conditions that keep a box clear of it."""
    edges = np.roll(piece, -1, axis=0) - piece
    outward = np.column_stack([edges[:, 1], -edges[:, 0]])
    outward /= np.hypot(*outward.T)[:, None]
    beyond = np.einsum("ij,ij->i", outward, piece)
    (x0, y0), (x1, y1) = piece.min(axis=0), piece.max(axis=0)
    sides = np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]])
    return Pocket(
        np.concatenate([sides, -outward]),
        np.concatenate([[x0, -x1, y0, -y1], -beyond]),
    )


_UP_AND_DOWN = np.array([[0.0, 1.0], [0.0, -1.0]])


def reaches(boxes: Floats, normals: Floats) -> Floats:
    """Reach of boxes (..., 4) in directions (m, 2): shape (..., m)."""
    nx, ny = normals[:, 0], normals[:, 1]
    b = boxes[..., None]
    out: Floats = np.maximum(b[..., 0, :] * nx, b[..., 2, :] * nx)
    out += np.maximum(b[..., 1, :] * ny, b[..., 3, :] * ny)
    return out


def _ratio(slack: Floats, h: Floats) -> Floats:
    """Size up to which slack - s h stays >= 0: 0 where already below, inf if for ever."""
    with np.errstate(divide="ignore", invalid="ignore"):
        up_to = np.where(h > 1e-12, slack / h, np.inf)
    return np.where((slack > 0) | ((h == 0) & (slack > -EPSILON_MM)), up_to, 0.0)
