"""Which way words stand on a folded panel, as those see them who look at the piece.

The front stays in the plane z = 0. In a piece that stands, up is the way that its words
stand; in one that lies, the front lies level with its print up.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from personalize.design.pose import Pose

LEVEL_DEG = 1.0
"""A panel that leans by less lies level: its own slope says nothing of which way is up."""
AROUND, ABOVE = "around", "above"
VIEWERS = (AROUND, ABOVE)
"""Whoever reads a panel walks round the piece, or stays before its front and looks down."""
STANDING, LYING = "standing", "lying"
SET_UP = (STANDING, LYING)

Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Reading:
    """How words stand on a panel."""

    turn_deg: float
    """Counter-clockwise on the flat piece, from 0 to below 360."""
    level: bool = False
    """Whether the panel lies level, so that only its reader's place tells what is up."""


@dataclass(frozen=True, slots=True)
class Stance:
    """How a folded piece is set up."""

    front_turn_deg: float = 0.0
    lying: bool = False

    @property
    def up(self) -> Vector:
        """Direction away from the ground."""
        return np.array([0.0, 0.0, 1.0]) if self.lying else self._words_up

    @property
    def away(self) -> Vector:
        """Level direction away from a reader who is before the front."""
        return self._words_up if self.lying else np.array([0.0, 0.0, -1.0])

    @property
    def _words_up(self) -> Vector:
        angle = math.radians(self.front_turn_deg + 90)
        return np.array([math.cos(angle), math.sin(angle), 0.0])


def reading_of(pose: Pose, stance: Stance, viewer: str = AROUND) -> Reading:
    """Say how words stand on a panel, upright as its reader sees them.

    Whoever walks round the piece sees "up" as the panel's slope shows it. On a panel that
    lies level, up is the direction away from a reader before the front; from below, in a
    piece that stands, it is toward them, as for somebody who bends and looks up; a piece
    that lies is turned over like a page. Whoever looks from above takes what is farther
    away for up.
    """
    first, second = stance.up, stance.away
    if viewer == ABOVE:
        first, second = second, first
    elif not stance.lying and float(pose.normal @ stance.up) < 0:
        second = -second
    turn = _turn(pose, first)
    if turn is not None:
        return Reading(turn)
    turn = _turn(pose, second)
    assert turn is not None  # no panel is square to both
    return Reading(turn, level=viewer == AROUND)


def _turn(pose: Pose, up: Vector) -> float | None:
    """Turn that makes words stand along a direction in space; None across the panel."""
    x, y, _ = pose.turn.T @ up
    if math.hypot(x, y) < math.sin(math.radians(LEVEL_DEG)):
        return None
    turn = round(math.degrees(math.atan2(y, x)) - 90, 9) % 360
    return 0.0 if turn == 360 else turn
