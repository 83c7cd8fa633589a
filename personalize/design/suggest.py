"""What the lines of a drawing are likely to be: from their geometry first, then by name.

A closed line that stands in no other is cut; an open one inside it is creased; a dashed
one inside too. Names (ids, classes, labels) tell what geometry cannot: perforating,
gluing, kiss cuts, and which of several closed lines is meant.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from personalize.design.design import LineKind
from personalize.design.line_names import Kind, Other, is_inner, named
from personalize.design.suggest_inside import REACH_MM, is_text_area, slits_among
from personalize.design.svg import Shape
from personalize.geometry.affine import Points
from personalize.geometry.chains import chained, closed_up, end_of, loops
from personalize.geometry.path import Contour, signed_area
from personalize.geometry.zone import Region, distance_mm, region_of
from personalize.units import FLATTEN_MM

MOST_CREASES = 100
"""More open lines than that, drawn alike, are a drawing."""
MIN_DASHES = 3
"""So many strokes in a row are a dashed line drawn one by one."""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What one shape seems to be, and why."""

    kind: Kind
    why: str


def suggest(shapes: Sequence[Shape]) -> dict[int, Suggestion]:
    """Say what each shape seems to be, by key."""
    return _Guess(shapes).every()


@dataclass(slots=True)
class _Ring:
    """A closed line: of one shape, or of several that join."""

    keys: tuple[int, ...]
    look: tuple[object, ...]
    region: Region
    area_mm2: float
    box: tuple[float, float, float, float]
    inside: "_Ring | None" = None


@dataclass(slots=True)
class _Guess:
    shapes: Sequence[Shape]
    out: dict[int, Suggestion] = field(default_factory=dict)

    def every(self) -> dict[int, Suggestion]:
        """Sort them all."""
        lines = [shape for shape in self.shapes if self._is_line(shape)]
        self._by_name(lines)
        left = [shape for shape in lines if shape.key not in self.out]
        rings = _nested(_rings(left))
        self._closed(rings, given=self._has_outline())
        if not self._has_outline():
            self._last_resort()
        self._unseen()
        self._open([shape for shape in left if shape.key not in self.out])
        return self.out

    def _has_outline(self) -> bool:
        """Whether some line is taken for a cut that may be an outline."""
        return any(
            one.kind is LineKind.CUTTING and not is_inner(_names(shape))
            for shape in self.shapes
            if (one := self.out.get(shape.key))
        )

    def _say(self, shape: Shape | int, kind: Kind, why: str) -> None:
        key = shape if isinstance(shape, int) else shape.key
        self.out[key] = Suggestion(kind, why)

    def _is_line(self, shape: Shape) -> bool:
        """Whether a shape can be a line; says what it is where it cannot."""
        own = _own_name(shape)
        if own is Other.TEXT_AREA:
            self._say(shape, own, "closed; its name says so")
        elif shape.stroke is None and own is not LineKind.GLUING:
            self._say(shape, Other.ARTWORK, "filled, without a line")
        elif _is_filled(shape) and own is None:
            self._say(shape, Other.ARTWORK, "filled")
        else:
            return True
        return False

    def _by_name(self, lines: Sequence[Shape]) -> None:
        """Take the word of a shape's own name, and of a group's where geometry agrees."""
        for shape in lines:
            own, groups = _own_name(shape), named(shape.labels[shape.own_labels :])
            if own is not None:
                self._say(shape, own, f"{_drawn(shape)}; its name says so")
            elif groups is not None and _agrees(shape, groups):
                self._say(shape, groups, f"{_drawn(shape)}; its group's name says so")

    def _closed(self, rings: Sequence[_Ring], *, given: bool) -> None:
        """Sort closed lines; `given` tells that an outline is named already."""
        kind: Kind
        looks, regions = (self._cut_looks(), self._regions()) if given else (set(), [])
        for ring in rings:
            joined = ", joined from several" if len(ring.keys) > 1 else ""
            if given and ring.look in looks and any(r.covers(ring.region) for r in regions):
                kind, why = (
                    LineKind.CUTTING,
                    f"closed, inside, drawn like the outline{joined}",
                )
            elif given:
                kind, why = Other.ARTWORK, "closed, but another line is named as the cut"
            elif ring.inside is None:
                kind, why = LineKind.CUTTING, f"closed and outermost{joined}"
            elif ring.look == _outermost(ring).look:
                kind, why = (
                    LineKind.CUTTING,
                    f"closed, inside, drawn like the outline{joined}",
                )
            elif self._dashed(ring):
                kind, why = (
                    LineKind.PERFORATING,
                    f"closed, dashed, inside the outline{joined}",
                )
            else:
                kind, why = Other.ARTWORK, "closed, inside, drawn unlike the outline"
            for key in ring.keys:
                self._say(key, kind, why)

    def _dashed(self, ring: _Ring) -> bool:
        keys = set(ring.keys)
        return any(shape.dashed for shape in self.shapes if shape.key in keys)

    def _last_resort(self) -> None:
        """Without an unfilled outline take the largest line that is closed all the same."""
        closed = [
            (abs(signed_area(points)), shape)
            for shape in self.shapes
            if shape.stroke is not None and all(closed_up(c).closed for c in shape.contours)
            for points in [max((c.flattened(FLATTEN_MM) for c in shape.contours), key=len)]
        ]
        if closed:
            largest = max(closed, key=lambda one: one[0])[1]
            self._say(largest, LineKind.CUTTING, "the largest closed line; it is filled")

    def _unseen(self) -> None:
        """Take closed shapes without line or fill, inside a piece, for text areas."""
        bare = [
            shape
            for shape in self.shapes
            if shape.stroke is None and shape.fill is None and is_text_area(shape)
        ]
        for shape in bare:
            points = shape.contours[0].flattened(FLATTEN_MM)
            own = region_of(points)
            around = [r for r in self._regions() if r.covers(own)]
            if around and all(_UNSEEN < own.area_mm2 / r.area_mm2 < 0.95 for r in around):
                self._say(shape, Other.TEXT_AREA, "closed, without line or fill")

    def _cut_looks(self) -> set[tuple[object, ...]]:
        """What the lines are drawn like that are taken for cuts so far."""
        return {
            look_of(shape)
            for shape in self.shapes
            if (one := self.out.get(shape.key)) and one.kind is LineKind.CUTTING
        }

    def _regions(self) -> list[Region]:
        """What the closed cut lines enclose."""
        edges = [
            closed_up(contour)
            for shape in self.shapes
            for contour in shape.contours
            if (one := self.out.get(shape.key)) and one.kind is LineKind.CUTTING
        ]
        edges += [ring for ring, _ in loops([c for c in edges if not c.closed])]
        return [
            region_of(points)
            for edge in edges
            if edge.closed and len(points := edge.flattened(FLATTEN_MM)) > 2
        ]

    def _open(self, lines: Sequence[Shape]) -> None:
        """Sort open lines by where they run and where they end."""
        regions = self._regions()
        cuts = self._cut_looks()
        for group in _alike(lines):
            kind, why = self._open_group(group, regions)
            slits = slits_among(group, regions) if look_of(group[0]) in cuts else None
            for shape in group:
                if slits is not None and (kind, why) in (_THROUGH, _ENDS):
                    kind, why = _SLIT if shape.key in slits else _THROUGH
                within = any(_is_inside(shape, region) for region in regions)
                if within or not regions:
                    self._say(shape, kind, why)
                else:
                    self._say(shape, Other.IGNORE, "outside every outline")

    def _open_group(
        self, group: Sequence[Shape], regions: Sequence[Region]
    ) -> tuple[Kind, str]:
        """Say what open lines that are drawn alike are, all together."""
        if not regions:
            return _nearly_closed(group)
        if any(shape.dashed for shape in group):
            return LineKind.CREASING, "open, dashed, inside the outline"
        runs = [
            points
            for shape in group
            for contour in shape.contours
            if len(points := contour.flattened(FLATTEN_MM)) > 1
        ]
        chains = chained(runs)
        if len(runs) >= MIN_DASHES * len(chains):
            return LineKind.CREASING, "short strokes in a row, inside the outline"
        if len(chains) > MOST_CREASES:
            return Other.ARTWORK, "open, too many to be creases"
        reached = sum(
            all(_is_near(point, regions, chains, i) for point in (line[0], line[-1]))
            for i, (line, _) in enumerate(chains)
        )
        if 2 * reached >= len(chains):
            return _THROUGH
        return _ENDS


_THROUGH: tuple[Kind, str] = (LineKind.CREASING, "open, from edge to edge")
_ENDS: tuple[Kind, str] = (Other.ARTWORK, "open, ends inside, drawn unlike the outline")
_SLIT: tuple[Kind, str] = (
    LineKind.CUTTING,
    "open, ends inside, drawn like the outline: a slit",
)
_UNSEEN = 0.02
"""A shape that nobody sees is a text area when it takes this much of the piece."""


def _is_filled(shape: Shape) -> bool:
    """Whether a fill shows: a straight line has none, whatever is said of its fill."""
    return shape.fill is not None and any(
        abs(signed_area(points)) > _NO_AREA_MM2
        for contour in shape.contours
        if len(points := contour.flattened(FLATTEN_MM)) > 2
    )


_NO_AREA_MM2 = 1e-6


def _names(shape: Shape) -> list[str]:
    return [
        name
        for name in (shape.id, *shape.classes, *shape.labels[: shape.own_labels])
        if name
    ]


def _drawn(shape: Shape) -> str:
    """Say how a line is drawn."""
    closed = all(closed_up(contour).closed for contour in shape.contours)
    return ("closed" if closed else "open") + (", dashed" if shape.dashed else "")


def _own_name(shape: Shape) -> Kind | None:
    kind = named(_names(shape))
    return None if kind is Other.TEXT_AREA and not is_text_area(shape) else kind


def _agrees(shape: Shape, kind: Kind) -> bool:
    """Whether a line looks as one of this kind does."""
    closed = all(closed_up(contour).closed for contour in shape.contours)
    if kind is Other.TEXT_AREA or (kind is LineKind.GLUING and not closed):
        return False
    if kind is LineKind.CUTTING:
        return not shape.dashed
    if kind in (LineKind.CREASING, LineKind.PERFORATING):
        return not closed
    return True


def look_of(shape: Shape) -> tuple[object, ...]:
    """Give what a line is drawn like."""
    return (shape.stroke, shape.stroke_mm, shape.dashes if shape.dashed else "")


def _alike(shapes: Sequence[Shape]) -> list[list[Shape]]:
    groups: dict[tuple[object, ...], list[Shape]] = {}
    for shape in shapes:
        groups.setdefault((*look_of(shape), shape.classes), []).append(shape)
    return list(groups.values())


def _rings(lines: Sequence[Shape]) -> Iterator[_Ring]:
    """Give the closed lines: shapes that are closed, and open ones that join."""
    for shape in lines:
        shut = [closed_up(contour) for contour in shape.contours]
        if shut and all(contour.closed for contour in shut):
            yield from _ring_of(shut, (shape.key,), look_of(shape))
    for group in _alike(lines):
        owners = [
            (shape.key, contour)
            for shape in group
            if len(shape.contours) == 1 and not closed_up(shape.contours[0]).closed
            for contour in shape.contours
        ]
        for contour, places in loops([contour for _, contour in owners]):
            keys = tuple(owners[at][0] for at in places)
            yield from _ring_of([contour], keys, look_of(group[0]))


def _ring_of(
    contours: Sequence[Contour], keys: tuple[int, ...], look: tuple[object, ...]
) -> Iterator[_Ring]:
    rings = [points for c in contours if len(points := c.flattened(FLATTEN_MM)) > 2]
    if rings:
        outer = max(rings, key=lambda ring: abs(signed_area(ring)))
        region = region_of(outer)
        yield _Ring(keys, look, region, abs(signed_area(outer)), region.box)


def _nested(rings: Iterator[_Ring]) -> list[_Ring]:
    """Find for each closed line the smallest that it stands in."""
    by_size = sorted(rings, key=lambda ring: -ring.area_mm2)
    for i, ring in enumerate(by_size):
        points = (ring.region.outer[0], ring.region.outer[len(ring.region.outer) // 2])
        for outer in reversed(by_size[:i]):
            x0, y0, x1, y1 = outer.box
            # Most lines of a drawing lie apart: boxes are quick to compare.
            if all(
                x0 <= x <= x1 and y0 <= y <= y1 and outer.region.contains((x, y))
                for x, y in points
            ):
                ring.inside = outer
                break
    return by_size


def _outermost(ring: _Ring) -> _Ring:
    while ring.inside is not None:
        ring = ring.inside
    return ring


def _is_inside(shape: Shape, region: Region) -> bool:
    """Whether the middle of a line is in a region."""
    points = shape.contours[0].flattened(FLATTEN_MM)
    middle = points[len(points) // 2]
    if len(points) % 2 == 0:
        middle = (middle + points[len(points) // 2 - 1]) / 2
    return region.contains((float(middle[0]), float(middle[1])))


def _is_near(
    end: Points, regions: Sequence[Region], chains: Sequence[tuple[Points, float]], own: int
) -> bool:
    """Whether a line that ends at a point is meant to reach an edge or another line."""
    point = (float(end[0]), float(end[1]))
    if any(distance_mm(region.rings(), point) <= REACH_MM for region in regions):
        return True
    others = [line for i, (line, _) in enumerate(chains) if i != own]
    return distance_mm(others, point, closed=False) <= REACH_MM


def _nearly_closed(group: Sequence[Shape]) -> tuple[Kind, str]:
    """Without an outline, an open line whose ends all but meet is meant to be one."""
    for shape in group:
        for contour in shape.contours:
            (x0, y0), (x1, y1) = contour.start, end_of(contour)
            gap = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
            if len(contour.segments) > 1 and gap < 0.1 * contour.length_mm():
                return LineKind.CUTTING, f"all but closed: its ends are {gap:.2f} mm apart"
    return LineKind.CREASING, "open"
