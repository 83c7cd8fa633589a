"""What shows if the cut drifts: bare paper at the edge, letters too near to it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from personalize.design.design import Design
from personalize.geometry.affine import Point, Points, translation
from personalize.geometry.zone import Region, Rims, common, without
from personalize.type.compose import ComposedText
from personalize.units import FLATTEN_MM

HAIR_MM2 = 0.02
"""Less bare paper than this is float noise of flattened curves."""


@dataclass(frozen=True, slots=True)
class Drift:
    """A way that the cut goes astray, seen with the print upright on the flat piece."""

    key: str
    name: str
    dx_mm: float
    dy_mm: float
    """Upward is positive."""


def drifts(shift_mm: float) -> tuple[Drift, ...]:
    """Give the eight ways, all of that length, clockwise from above."""
    slant = shift_mm * math.sqrt(0.5)
    up, right, down, left = "up", "to the right", "down", "to the left"
    ways = (
        ("n", up, 0, 1), ("ne", f"up and {right}", 1, 1), ("e", right, 1, 0),
        ("se", f"down and {right}", 1, -1), ("s", down, 0, -1),
        ("sw", f"down and {left}", -1, -1), ("w", left, -1, 0),
        ("nw", f"up and {left}", -1, 1),
    )  # fmt: skip
    return tuple(
        Drift(key, name, *(v * (slant if x and y else shift_mm) for v in (x, y)))
        for key, name, x, y in ways
    )


def bare(design: Design, printed: Region, drift: Drift) -> tuple[Region, ...]:
    """Give the parts of a piece cut astray to which no print reaches, in piece mm.

    `printed` is as far as artwork is printed round the piece; see `shown_short` for what
    the artwork itself leaves unpainted.
    """
    moved = design.silhouette.mapped(translation(drift.dx_mm, drift.dy_mm))
    parts = without(moved, printed)
    return parts if sum(part.area_mm2 for part in parts) > HAIR_MM2 else ()


def shown_short(
    design: Design, short: Sequence[Region], drift: Drift
) -> tuple[Region, ...]:
    """Give the parts of a piece cut astray that the artwork falls short of, in piece mm.

    `short` are the areas beside its cut lines that lack ink.
    """
    moved = design.silhouette.mapped(translation(drift.dx_mm, drift.dy_mm))
    parts = [part for area in short for part in common(area, moved)]
    return tuple(part for part in parts if part.area_mm2 > HAIR_MM2)


class Edges:
    """The lines that a blade follows on one design, asked how near letters come to them."""

    def __init__(self, design: Design) -> None:
        cuts = (design.outline, *design.holes)
        x0, _, x1, y1 = design.box_mm
        self._top: Point = ((x0 + x1) / 2, y1)
        self._rims = Rims([cut.flattened(FLATTEN_MM) for cut in cuts])

    def gap_mm(self, texts: Sequence[ComposedText], drift: Drift | None = None) -> float:
        """Distance from the ink of texts to the nearest cut; infinite without ink.

        The ink is taken as the boxes of its lines, so that the true distance is no less.
        """
        shift = (drift.dx_mm, drift.dy_mm) if drift else (0.0, 0.0)
        boxes = [box - np.array(shift) for text in texts for box in _boxes(text)]
        return min(map(self._rims.gap_mm, boxes), default=math.inf)

    def narrowest(self, texts: Sequence[ComposedText]) -> Point:
        """Give the point between ink and cut where they come nearest to each other.

        It is the middle of the outline's top where there is no ink.
        """
        boxes = [box for text in texts for box in _boxes(text)]
        if not boxes:
            return self._top
        return self._rims.between(min(boxes, key=self._rims.gap_mm))


def _boxes(text: ComposedText) -> list[Points]:
    """Corners of the boxes of a text's lines, in piece mm."""
    out = []
    for line in text.lines:
        if line.shaped.ink is not None:
            x0, y0, x1, y1 = line.shaped.ink
            corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
            out.append(text.line_to_piece(line).many(corners))
    return out
