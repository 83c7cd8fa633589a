"""Words over a line that parts the paper within the piece: they would be cut or torn."""

import numpy as np

from personalize.checks.contrast import ink_of
from personalize.design.design import CUT_SHIFT_MM, Design, LineKind
from personalize.geometry.affine import Points
from personalize.geometry.path import distances
from personalize.type.compose import ComposedText
from personalize.units import FLATTEN_MM

_PARTING = (LineKind.PERFORATING, LineKind.PARTIAL_CUTTING)


class PartingLines:
    """The lines of one design that are perforated or cut half through."""

    def __init__(self, design: Design) -> None:
        lines = [o.contour for o in design.lines if o.kind in _PARTING]
        self._lines: list[tuple[Points, bool]] = [
            (points, one.closed)
            for one in lines
            if len(points := one.flattened(FLATTEN_MM)) > 1
        ]

    def __bool__(self) -> bool:
        """Whether there are any."""
        return bool(self._lines)

    def torn(self, text: ComposedText) -> float | None:
        """Give how near the ink of a text comes to one, in mm; None where it is clear.

        Clear is further off than a cut may be.
        """
        points = ink_of(text)
        if not len(points):
            return None
        low, high = points.min(axis=0) - CUT_SHIFT_MM, points.max(axis=0) + CUT_SHIFT_MM
        nearest = np.inf
        for line, closed in self._lines:
            if (line.max(axis=0) < low).any() or (line.min(axis=0) > high).any():
                continue
            nearest = min(nearest, float(distances(points, line, closed=closed).min()))
        return nearest if nearest < CUT_SHIFT_MM else None
