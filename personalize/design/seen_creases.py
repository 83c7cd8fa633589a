"""Creases between panels as `inspect` tells them: where, and how they are folded."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from personalize.design.pose import Hinge
from personalize.geometry.affine import Point


@dataclass(frozen=True, slots=True)
class SeenCrease:
    """One crease between two panels."""

    between: tuple[str, str]
    at_mm: Point
    """Its middle in the drawing's own axes: mm from the top left."""
    length_mm: float
    angle_deg: float
    way: str
    """"mountain" or "valley", as seen from the printed side."""
    told: bool
    """Whether the design says so; else it is what we take."""

    @property
    def words(self) -> str:
        """How it is folded, in words."""
        if self.angle_deg == 0:
            return "only marked"
        return f"{self.angle_deg:g} degrees, {self.way}"


def seen_creases(
    hinges: Iterable[Hinge], names: Sequence[str], height_mm: float
) -> tuple[SeenCrease, ...]:
    """Tell of every crease; `names` are those of the regions that hinges join."""
    return tuple(
        SeenCrease(
            (names[hinge.first], names[hinge.second]),
            _middle(hinge, height_mm),
            hinge.length_mm,
            hinge.fold.angle_deg,
            hinge.fold.way,
            hinge.told,
        )
        for hinge in hinges
    )


def _middle(hinge: Hinge, height_mm: float) -> Point:
    line = np.array(hinge.stretches[0])
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    x, y = (float(np.interp(along[-1] / 2, along, line[:, i])) for i in (0, 1))
    return (x, height_mm - y)
