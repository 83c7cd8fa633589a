"""The folded piece: its panels as rigid plates, hinged at the creases."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from personalize.design.pose import (
    Hinge,
    Pose,
    ajar,
    folded,
    in_one_plane,
    posed,
    scaled,
    tree_of,
)
from personalize.design.reading import AROUND, Reading, Stance, reading_of
from personalize.geometry.affine import Point, Points
from personalize.geometry.zone import Region, common, without

AJAR_DEG = 2.0
"""Shut creases are opened by this much to see which panel lies before which."""
LEAST_MM2 = 1.0
"""Panels that share less do not lie on each other."""
_ONE_SIDED = 4.0
"""A panel is on one side of another where it reaches so many times further there."""
SAME_SHARE = 0.9
"""Panels that cover each other by so much are worth one zone. Judgement."""
APART_MM = 0.1
"""Where two ways of folding a panel differ by more, its creases do not go together."""


@dataclass(frozen=True, slots=True)
class Lap:
    """Two panels that lie in one plane, over each other."""

    under: int
    over: int
    """The panel whose print is covered, and the one that covers it."""
    area_mm2: float
    region: Region
    """What they share, on the flat panel that is under."""


@dataclass(frozen=True)
class Folding:
    """How a piece is folded, and how it is set up."""

    regions: tuple[Region, ...]
    """Every panel of the flat piece, whether or not it carries words."""
    names: tuple[str, ...]
    root: int = 0
    """Place of the front, which stays where it is."""
    hinges: tuple[Hinge, ...] = ()
    stance: Stance = field(default_factory=Stance)
    viewer: str = AROUND
    worded: Mapping[str, str | None] = field(default_factory=dict, hash=False)
    """Panels that carry words, each with the one that it is said to face."""
    sure: frozenset[str] = frozenset()
    """Panels whose words' turn or reader the design itself says."""

    @cached_property
    def poses(self) -> tuple[Pose, ...]:
        """Where every panel lies once the piece is folded."""
        return posed(self.regions, self.root, self.hinges)

    @cached_property
    def poses_ajar(self) -> tuple[Pose, ...]:
        """The same, with what is shut a little open."""
        return posed(self.regions, self.root, ajar(self.hinges, AJAR_DEG))

    def poses_at(self, fraction: float) -> tuple[Pose, ...]:
        """Where every panel lies when each crease has gone a part of its way, 0 to 1."""
        return posed(self.regions, self.root, scaled(self.hinges, fraction))

    @cached_property
    def tree(self) -> tuple[tuple[int, Hinge], ...]:
        """Panels that hang on the front, the nearest first, and by which hinge."""
        return tree_of(len(self.regions), self.root, self.hinges)

    @cached_property
    def steps(self) -> tuple[int, ...]:
        """How many creases lie between the front and every panel."""
        out = [0] * len(self.regions)
        for child, hinge in self.tree:
            out[child] = 1 + out[_other(hinge, child)]
        return tuple(out)

    def reading(self, panel: int, viewer: str | None = None) -> Reading:
        """Say how words stand on a panel."""
        return reading_of(self._poses_read[panel], self.stance, viewer or self.viewer)

    @cached_property
    def _poses_read(self) -> tuple[Pose, ...]:
        """Where every panel lies when it is read.

        Two prints that a valley fold shuts on each other are read with it opened: then
        the far one carries on the near one.
        """
        found = list(self.poses)
        for child, hinge in self.tree:
            if hinge.fold.shut and hinge.fold.valley:
                found[child] = found[_other(hinge, child)]
        return tuple(found)

    @cached_property
    def laps(self) -> tuple[Lap, ...]:
        """Every panel whose print another one covers."""
        out = []
        for under in range(len(self.regions)):
            for over in range(len(self.regions)):
                if under != over and (lap := self._lap(under, over)) is not None:
                    out.append(lap)
        return tuple(out)

    def _lap(self, under: int, over: int) -> Lap | None:
        onto = in_one_plane(self.poses[under], self.poses[over])
        if onto is None:
            return None
        parts = common(self.regions[under], self.regions[over].mapped(onto))
        if not parts or parts[0].area_mm2 < LEAST_MM2:
            return None
        ring = np.array(parts[0].outer)
        if not self._before(under, over, ring, onto.inverse().many(ring)):
            return None
        return Lap(under, over, parts[0].area_mm2, parts[0])

    def _before(self, under: int, over: int, ring: Points, there: Points) -> bool:
        """Whether a panel lies before the print of another.

        Where rigid plates cannot tell, as with the flap that is tucked into a letter, the
        one with fewer creases to the front stays outside.
        """
        lower, upper = self.poses_ajar[under], self.poses_ajar[over]
        heights = (upper.many(there) - lower.many(ring)) @ lower.normal
        before, behind = max(0.0, float(heights.max())), max(0.0, -float(heights.min()))
        if before > _ONE_SIDED * behind:
            return True
        if behind > _ONE_SIDED * before or float(lower.normal @ upper.normal) < 0:
            return False
        return (self.steps[over], over) < (self.steps[under], under)

    def hidden_share(self, panel: int) -> float:
        """Part of a panel's area whose print other panels cover, 0 to 1."""
        left = [self.regions[panel]]
        for lap in self.laps:
            if lap.under == panel:
                left = [part for one in left for part in without(one, lap.region)]
        whole = self.regions[panel].area_mm2
        return 1 - sum(part.area_mm2 for part in left) / whole

    @cached_property
    def back_to_back(self) -> tuple[tuple[int, int, float], ...]:
        """Pairs of panels whose backs lie on each other, with the area that they share."""
        covered = {(lap.under, lap.over) for lap in self.laps}
        out = []
        for second, region in enumerate(self.regions):
            for first in range(second):
                onto = in_one_plane(self.poses[first], self.poses[second])
                if onto is None or onto.determinant > 0 or (first, second) in covered:
                    continue
                parts = common(self.regions[first], region.mapped(onto))
                area = sum(part.area_mm2 for part in parts)
                if area > LEAST_MM2:
                    out.append((first, second, area))
        return tuple(out)

    @cached_property
    def unsaid_backs(self) -> dict[str, str]:
        """Panels with words that lie back to back with another, where nothing says so.

        Each pair once, the one nearer the front first.
        """
        said = {name for pair in self.worded.items() for name in pair if pair[1]}
        out: dict[str, str] = {}
        for *pair, area in self.back_to_back:
            pair.sort(key=lambda i: (self.steps[i], i))
            one, other = (self.names[i] for i in pair)
            free = {one, other} <= set(self.worded) and not {one, other} & said
            if free and area >= SAME_SHARE * min(self.regions[i].area_mm2 for i in pair):
                out[one] = other
                said |= {one, other}
        return out

    @cached_property
    def at_odds(self) -> tuple[tuple[Hinge, float], ...]:
        """Hinges that close a loop and do not meet once folded, with the gap in mm."""
        hung = [hinge for _, hinge in self.tree]
        out = []
        for hinge in self.hinges:
            if hinge in hung:
                continue
            first, second = self.poses[hinge.first], self.poses[hinge.second]
            here = folded(hinge.a, hinge.b, self.regions[hinge.second].centroid, hinge.fold)
            wanted = first.after(here)
            ring = np.array(self.regions[hinge.second].outer)
            gap = np.linalg.norm(wanted.many(ring) - second.many(ring), axis=1).max()
            if gap > APART_MM:
                out.append((hinge, float(gap)))
        return tuple(out)

    def box(self, panel: int) -> tuple[Point, Point, Point]:
        """Reach of a panel in space once folded: across, up, toward the reader."""
        points = self.poses[panel].many(np.array(self.regions[panel].outer))
        low, high = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        across, up, near = zip(low, high, strict=True)
        return (across, up, near)

    def with_hinges(self, hinges: tuple[Hinge, ...]) -> "Folding":
        """Give the same piece folded otherwise."""
        return replace(self, hinges=hinges)


def _other(hinge: Hinge, panel: int) -> int:
    return hinge.first if hinge.second == panel else hinge.second
