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
unknowns, solved exactly. A convex shape needs one. With pockets we branch and bound: solve
with the hull alone; take the box that a pocket catches most; for each edge of that pocket
solve again with the edge's condition added; go on below the largest first, and drop what
is no larger than the best place found. What is left in the end is the largest there is.

The dual of a solved programme bounds the size of every other block in the same shape,
which spares most of the work when hundreds of line breaks are compared.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from personalize.geometry import convex, zone
from personalize.geometry.affine import Point, Points
from personalize.type.solvers import EPSILON_MM, Programme, Row, Vertex

Floats = NDArray[np.float64]

SEED_ACROSS = 14
"""Seed points along the longer side of a shape with pockets, to slide a block from."""
GAIN = 1e-5
"""A place must make a block this much larger than the best known to be looked for."""
MOST_PROGRAMMES = 20_000
"""Guard on the programmes of one block. Measured: 221 at most on the samples, 11,000 on
random texts in shapes with bays and round holes; past it the best place so far stands."""


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

    @cached_property
    def _edges(self) -> list[tuple[float, float, float]]:
        return [(x, y, d) for x, y, d in self.rows.tolist()]

    def row(self, edge: int, reach: float) -> tuple[Row, float]:
        """Give the condition that holds a box clear along an edge: r.(t, s) <= end."""
        x, y, end = self._edges[edge]
        return (x, y, float(reach)), end


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
        corners = convex.hull(region)
        edges = np.roll(corners, -1, axis=0) - corners
        self.normals: Floats = np.column_stack([edges[:, 1], -edges[:, 0]])
        self.normals /= np.hypot(*self.normals.T)[:, None]
        self.offsets: Floats = np.einsum("ij,ij->i", self.normals, corners)
        self.pockets = tuple(_pocket(piece) for piece in convex.pockets(region))
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
        return self.solve(block)[0] or Found(0.0, self.centroid)

    def solve(self, block: Floats, over: float = 0.0) -> tuple[Found | None, Certificate]:
        """Find the largest size of a block, and what bounds the sizes of other blocks.

        None where it is no larger than `over`: to know that is cheaper than the size.
        """
        h = self.supports(block)
        programme = Programme(self.normals, h, self.offsets, len(block) * len(self.pockets))
        vertex = programme.first()
        if vertex is None:
            return None, Certificate([], [], 0.0)
        total = sum(w * float(self.offsets[i]) for i, w in vertex.weights)
        certificate = Certificate(
            [i for i, _ in vertex.weights], [w for _, w in vertex.weights], total
        )
        found = Found(over, self.centroid)
        if vertex.size > over:
            parts = [reaches(block, pocket.normals) for pocket in self.pockets]
            found = self._branched(programme, vertex, 0, parts, found)
        return found if found.size > over else None, certificate

    def _branched(
        self,
        programme: Programme,
        vertex: Vertex,
        depth: int,
        parts: list[Floats],
        best: Found,
    ) -> Found:
        """Search below a solved programme for a place larger than the best (see above)."""
        caught = self._worst(vertex, parts)
        if caught is None:
            return Found(vertex.size, vertex.at)
        pocket, box = caught
        least = best.size * (1 + GAIN)
        below: list[tuple[Vertex, int]] = []
        for edge in range(len(self.pockets[pocket].offsets)):
            row, end = self.pockets[pocket].row(edge, parts[pocket][box, edge])
            if programme.spent < MOST_PROGRAMMES:
                solved = programme.with_row(vertex, depth, row, end, least)
                if solved is not None:
                    below.append((solved, edge))
        for solved, edge in sorted(below, key=lambda v: (-v[0].size, v[1])):
            if solved.size > best.size * (1 + GAIN):
                row, end = self.pockets[pocket].row(edge, parts[pocket][box, edge])
                programme.keep(depth, row, end)
                best = self._branched(programme, solved, depth + 1, parts, best)
        return best

    def _worst(self, vertex: Vertex, parts: list[Floats]) -> tuple[int, int] | None:
        """Give the pocket and the box that it catches most, or None when all are clear."""
        worst, caught = -EPSILON_MM, None
        at = np.array(vertex.at)
        for i, (pocket, part) in enumerate(zip(self.pockets, parts, strict=True)):
            room = (pocket.offsets - pocket.normals @ at - vertex.size * part).max(axis=1)
            box = int(room.argmin())
            if room[box] < worst:
                worst, caught = float(room[box]), (i, box)
        return caught

    def separating(
        self, at: Point, size: float, parts: list[Floats]
    ) -> tuple[Floats, Floats, float]:
        """Choose for each box and pocket the edge with most room.

        Gives rows (n, d) and h of the chosen edges, and the least room left (negative when
        some box is not clear).
        """
        rows, supports, least = [], [], math.inf
        for pocket, part in zip(self.pockets, parts, strict=True):
            room = pocket.offsets - pocket.normals @ at - size * part
            best = room.argmax(axis=1)
            rows.append(pocket.rows[best])
            supports.append(part[np.arange(len(part)), best])
            least = min(least, float(room.max(axis=1).min()))
        return np.concatenate(rows), np.concatenate(supports), least


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
