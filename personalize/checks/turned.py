"""Does every back lie on its front? Asked of the written file, point by point.

Held against the light, a point of the front at (x, y) is seen from behind at
(width - x, y), or at (x, height - y), as the sheet was turned over.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from personalize.checks.kept import ReadPiece, read_pieces
from personalize.design.design import Design
from personalize.errors import KeptError
from personalize.geometry.affine import Points
from personalize.sheet.backs import Flip
from personalize.sheet.paper import Paper
from personalize.units import FLATTEN_MM, PT_PER_MM, TOLERANCE_MM


def check_turned(pdf: Path, designs: Sequence[Design], flip: Flip, paper: Paper) -> None:
    """Prove that the page after each front has its backs, each behind its piece.

    Raises KeptError at the first that is not so.
    """
    pages: dict[int, list[ReadPiece]] = {}
    for piece in read_pieces(pdf):
        pages.setdefault(piece.page, []).append(piece)
    sides = {one.back.name: _Side.of(one, one.back) for one in designs if one.back}
    backed = {one.front for one in sides.values()}
    for page, pieces in pages.items():
        if any(piece.design in sides for piece in pieces):
            before = pages.get(page - 1, [])
            if not before or any(piece.design in sides for piece in before):
                raise KeptError(f"page {page} has backs, and no front comes before it.")
            continue
        # Designs without a back may share the sheet.
        fronts = [piece for piece in pieces if piece.design in backed]
        behind = pages.get(page + 1, []) if fronts else []
        if len(behind) != len(fronts):
            count = f"{len(fronts)} pieces with backs and {len(behind)} backs"
            raise KeptError(f"page {page} has {count}.")
        for front, back in zip(fronts, behind, strict=True):
            _compare(front, back, sides.get(back.design), flip, paper)


@dataclass(frozen=True, slots=True)
class _Side:
    """A back as it must be."""

    front: str
    """Name of its front's design."""
    points: Points
    """Of the outline, in mm of the front."""
    turned: Points
    """The same in mm of the back."""

    @classmethod
    def of(cls, front: Design, back: Design) -> "_Side":
        """Flatten the outline once for all pieces."""
        points = front.outline.flattened(FLATTEN_MM)
        return cls(front.name, points, back.turned.many(points))


def _compare(
    front: ReadPiece, back: ReadPiece, side: _Side | None, flip: Flip, paper: Paper
) -> None:
    where = f"page {back.page}, back of row {front.row}, copy {front.copy}"
    same = (front.row, front.copy) == (back.row, back.copy)
    if side is None or side.front != front.design or not same:
        raise KeptError(f"{where} is that of row {back.row}, copy {back.copy}.")
    seen = _mapped(front.place, side.points)
    if flip is Flip.UPRIGHT:
        seen[:, 0] = paper.width_mm - seen[:, 0]
    else:
        seen[:, 1] = paper.height_mm - seen[:, 1]
    off = float(np.hypot(*(seen - _mapped(back.place, side.turned)).T).max())
    if off > TOLERANCE_MM:
        raise KeptError(f"{where} is {off:.3f} mm off it.")


def _mapped(place: tuple[float, ...], points: Points) -> Points:
    """Map piece mm to page mm by six numbers of a file, the last two in pt."""
    a, b, c, d, e, f = place
    x, y = points.T
    across, up = a * x + c * y + e / PT_PER_MM, b * x + d * y + f / PT_PER_MM
    return np.column_stack([across, up])
