"""Which creases a design speaks of, and how it says that they are folded."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from personalize.design.pose import Fold, Hinge, hinges_of
from personalize.design.selectors import keys_named
from personalize.design.spec import CreaseSpec
from personalize.design.svg import SvgDocument
from personalize.errors import InputError, Problem
from personalize.geometry.affine import Point, Points
from personalize.geometry.chains import chained
from personalize.geometry.path import Contour, distances
from personalize.geometry.zone import Region
from personalize.units import FLATTEN_MM

ON_LINE_MM = 0.5
"""A border of two panels this near to a drawn line is that line."""
NEAR_MM = 10.0
"""A point further from every crease names none."""


@dataclass(frozen=True, slots=True)
class ToldCrease:
    """A [[crease]] with the lines that it speaks of, in page mm, y up."""

    spec: CreaseSpec
    lines: tuple[Points, ...] | None = None
    at: Point | None = None

    @property
    def every(self) -> bool:
        """Whether it speaks of all creases."""
        return self.lines is None and self.at is None


def told_creases(
    specs: Sequence[CreaseSpec], drawing: SvgDocument
) -> tuple[ToldCrease, ...]:
    """Find the lines that a design's [[crease]] tables name. Raises InputError."""
    contours = {shape.key: shape.contours for shape in drawing.shapes}
    problems: list[Problem] = []
    out = []
    for spec in specs:
        at = spec.at and (spec.at[0], drawing.height_mm - spec.at[1])
        if not spec.lines:
            out.append(ToldCrease(spec, None, at))
            continue
        found: list[Points] = []
        for selector in spec.lines:
            keys = keys_named(drawing, selector, "lines", spec.place, problems)
            found += _open_lines(keys, contours)
        out.append(ToldCrease(spec, tuple(found)))
    if problems:
        raise InputError(problems)
    return tuple(out)


def _open_lines(
    keys: frozenset[int], contours: Mapping[int, tuple[Contour, ...]]
) -> list[Points]:
    runs = [
        points
        for key in sorted(keys)
        for contour in contours[key]
        if len(points := contour.flattened(FLATTEN_MM)) > 1
    ]
    return [line for line, _ in chained(runs)]


def shared_creases(
    told: Sequence[ToldCrease], pieces: Sequence[tuple[Region, bool]]
) -> list[tuple[ToldCrease, ...]]:
    """Share what is said of creases among the pieces of a drawing.

    Each piece is its paper, and whether it has creases at all. What lies on no piece goes
    to the first, which tells of it.
    """
    out: list[list[ToldCrease]] = [[] for _ in pieces]
    for one in told:
        mine = [i for i, piece in enumerate(pieces) if _speaks_of(one, *piece)]
        for i in mine or [0]:
            out[i].append(one)
    return [tuple(own) for own in out]


def _speaks_of(one: ToldCrease, paper: Region, creased: bool) -> bool:  # noqa: FBT001
    """Whether a [[crease]] speaks of a crease of this piece."""
    if one.every:
        return creased
    if one.at is not None:
        return paper.contains(one.at)
    middles = [_inner(line)[1] for line in one.lines or ()]
    return any(paper.contains((float(x), float(y))) for x, y in middles)


def hinged(regions: Sequence[Region], told: Sequence[ToldCrease]) -> tuple[Hinge, ...]:
    """Join the panels at their creases, folded as the design says.

    Raises InputError with everything that is wrong with what it says.
    """
    hinges = list(hinges_of(regions))
    by_whom: dict[int, ToldCrease] = {}
    problems = []
    # What is said of all creases holds where nothing else is said of one.
    for one in sorted(told, key=lambda one: not one.every):
        places, problem = _meant(one, hinges)
        if problem is not None:
            problems.append(problem)
        for place in places:
            before = by_whom.get(place)
            if before is not None and not before.every and _fold(before) != _fold(one):
                problems.append(
                    Problem(
                        one.spec.place,
                        "this crease is folded in another way by"
                        f" {before.spec.place.rpartition(', ')[2]}.",
                        "Say each crease once.",
                    )
                )
            by_whom[place] = one
    if problems:
        raise InputError(problems)
    for place, one in by_whom.items():
        hinges[place] = replace(hinges[place], fold=_fold(one), told=True)
    return tuple(hinges)


def _fold(one: ToldCrease) -> Fold:
    return Fold(one.spec.angle_deg, one.spec.way == "valley")


def _meant(one: ToldCrease, hinges: Sequence[Hinge]) -> tuple[list[int], Problem | None]:
    """Say which hinges a [[crease]] speaks of."""
    place = one.spec.place
    if not hinges:
        return [], Problem(
            place,
            "the piece has no crease between two panels.",
            "Draw one from edge to edge and name it under [lines], or leave this out.",
        )
    if one.every:
        return list(range(len(hinges))), None
    if one.at is not None:
        away = [
            min(
                float(distances(np.array([one.at]), np.array(line), closed=False)[0])
                for line in hinge.stretches
            )
            for hinge in hinges
        ]
        nearest = int(np.argmin(away))
        if away[nearest] > NEAR_MM:
            return [], Problem(
                place,
                f"the nearest crease is {away[nearest]:.1f} mm from this point.",
                "Give a point on it, in mm from the drawing's top left corner.",
            )
        return [nearest], None
    found = [
        i
        for i, hinge in enumerate(hinges)
        if any(_runs_on(line, one.lines or ()) for line in hinge.stretches)
    ]
    if found:
        return found, None
    return [], Problem(
        place,
        f"lines = {', '.join(map(repr, one.spec.lines))} names no crease between two"
        " panels.",
        "Name a line that is Creasing under [lines] and runs from edge to edge.",
    )


def _runs_on(stretch: Sequence[Point], lines: Sequence[Points]) -> bool:
    """Whether a stretch of border lies along one of some lines."""
    inner = _inner(np.array(stretch))
    return any(distances(inner, line, closed=False).max() <= ON_LINE_MM for line in lines)


def _inner(line: Points) -> Points:
    """Give the points at a quarter, half and three quarters of a line's length."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    wanted = along[-1] * np.array([0.25, 0.5, 0.75])
    return np.column_stack([np.interp(wanted, along, line[:, i]) for i in (0, 1)])


def folds_along(
    creases: Sequence[Contour], hinges: Sequence[Hinge]
) -> tuple[tuple[Hinge, ...], ...]:
    """Give for every drawn crease the hinges that lie on it; none for a loose one."""
    out: list[tuple[Hinge, ...]] = []
    for crease in creases:
        points = crease.flattened(FLATTEN_MM)
        if len(points) < 2:
            out.append(())
        else:
            out.append(tuple(hinge for hinge in hinges if _lies_on(points, hinge)))
    return tuple(out)


def _lies_on(line: Points, hinge: Hinge) -> bool:
    """Whether a drawn line, or one dash of it, and a hinge run along each other."""
    low, high = line.min(axis=0) - ON_LINE_MM, line.max(axis=0) + ON_LINE_MM
    for stretch in hinge.stretches:
        points = np.array(stretch)
        apart = (points.max(axis=0) < low) | (points.min(axis=0) > high)
        if apart.any():
            continue  # most do not even come near
        if _runs_on(stretch, [line]) or _runs_on(line.tolist(), [points]):
            return True
    return False


def widest_deg(folds: Sequence[Hinge]) -> float:
    """Give the largest angle by which a crease is folded; 180 where nothing tells."""
    return max((hinge.fold.angle_deg for hinge in folds), default=180.0)
