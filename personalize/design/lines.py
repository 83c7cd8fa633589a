"""Find the die lines of a drawing: by the design's selectors, or by what they look like."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from personalize.design.design import DesignLine, LineKind
from personalize.design.selectors import keys_named
from personalize.design.slits import (
    drawn_twice,
    parted,
    slit_troubles,
    twice_troubles,
)
from personalize.design.suggest import suggest
from personalize.design.svg import Shape, SvgDocument
from personalize.design.trouble import mended, troubles
from personalize.errors import InputError, Problem, refuse
from personalize.finding import Severity
from personalize.geometry.affine import Points
from personalize.geometry.chains import closed_up, loops
from personalize.geometry.path import Contour, Line, signed_area
from personalize.geometry.zone import (
    Region,
    Window,
    common,
    crossing,
    distance_mm,
    region_of,
)
from personalize.units import FLATTEN_MM

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class FoundLines:
    """The die lines of one piece of a drawing, sorted by what they do."""

    outline: Contour
    holes: tuple[Contour, ...]
    creases: tuple[Contour, ...]
    lines: tuple[DesignLine, ...]
    keys: frozenset[int]
    """Shapes of the whole drawing that are lines, not artwork."""
    slits: tuple[Contour, ...] = ()
    """Open cut lines inside the piece."""
    mended: tuple[str, ...] = ()
    """What was mended in the drawing, where the maker asked for it."""

    @property
    def solid(self) -> Region:
        """What the outline encloses, curves flattened, holes not taken out."""
        return region_of(self.outline.flattened(FLATTEN_MM))

    @property
    def paper(self) -> Region:
        """The same, holes taken out."""
        holes = [hole.flattened(FLATTEN_MM) for hole in self.holes]
        return region_of(self.outline.flattened(FLATTEN_MM), holes)


def find_pieces(
    drawing: SvgDocument,
    selectors: Mapping[LineKind, Sequence[str]],
    place: str,
    *,
    mend: bool = False,
    kinds: Mapping[int, LineKind] | None = None,
) -> tuple[FoundLines, ...]:
    """Sort the lines of a drawing, piece by piece: each outermost outline is one.

    Pieces come in rows from the top left. With `mend` small faults of the cut lines are
    mended first, and told. `kinds` gives the lines by key where they are known already.
    Raises InputError where there is no usable outline.
    """
    if kinds is None and selectors:
        kinds = by_selector(drawing, selectors, place)
    kinds = by_look(drawing.shapes) if kinds is None else kinds
    shapes = {shape.key: shape for shape in drawing.shapes}
    drawn = [
        DesignLine(kind, closed_up(contour))
        for key, kind in sorted(kinds.items())
        for contour in shapes[key].contours
    ]
    says = _left_out_twice(drawn, drawing, mend=mend)
    lines = _joined(drawn)
    if mend:
        lines, done = _mended(lines)
        says += done
    slits = parted(_cuts(lines))[1]
    found = tuple(
        FoundLines(
            outline,
            tuple(_holes(own, outline)),
            tuple(_drawn_round(o.contour) for o in own if o.kind is LineKind.CREASING),
            tuple(own),
            frozenset(kinds),
            tuple(one for one in slits if any(one is o.contour for o in own)),
            says,
        )
        for outline, own in _by_piece(lines, drawing, place if selectors else drawing.name)
    )
    _refuse_slits(found, drawing)
    return found


def _mended(lines: Sequence[DesignLine]) -> tuple[list[DesignLine], tuple[str, ...]]:
    """Mend what can be mended of the closed cuts, and say what."""
    cuts, slits = parted(_cuts(lines))
    done = mended(cuts)
    others = [line for line in lines if line.kind is not LineKind.CUTTING]
    whole = [DesignLine(LineKind.CUTTING, cut) for cut in (*done.cuts, *slits)]
    return whole + others, done.says


def _left_out_twice(
    lines: list[DesignLine], drawing: SvgDocument, *, mend: bool
) -> tuple[str, ...]:
    """Take out open cut lines that are drawn twice and say so; else refuse them."""
    cuts = _cuts(lines)
    twice = drawn_twice(cuts)
    if twice and not mend:
        raise InputError(
            Problem(drawing.name, one.told(drawing.height_mm), one.do)
            for one in twice_troubles(cuts)
        )
    lines[:] = [line for line in lines if all(line.contour is not one for one in twice)]
    many = "1 open cut line" if len(twice) == 1 else f"{len(twice)} open cut lines"
    return (f"{many} drawn twice left out",) if twice else ()


def _refuse_slits(found: Sequence[FoundLines], drawing: SvgDocument) -> None:
    """Refuse slits that cannot be cut."""
    wrong = [
        Problem(drawing.name, one.told(drawing.height_mm), one.do)
        for piece in found
        for one in slit_troubles(piece.outline, piece.holes, piece.slits)
    ]
    if wrong:
        raise InputError(wrong)


def _cuts(lines: Sequence[DesignLine]) -> list[Contour]:
    return [line.contour for line in lines if line.kind is LineKind.CUTTING]


def _holes(lines: Sequence[DesignLine], outline: Contour) -> list[Contour]:
    """Give the other closed lines of a piece that are cut as its outline is."""
    kind = next(line.kind for line in lines if line.contour is outline)
    others = (o.contour for o in lines if o.kind is kind and o.contour is not outline)
    return [contour for contour in others if contour.closed]


def _joined(lines: Iterable[DesignLine]) -> list[DesignLine]:
    """Join cuts that were drawn in pieces, where their ends meet; the rest stays."""
    every = list(lines)
    pieces = [
        one for one in every if one.kind is LineKind.CUTTING and not one.contour.closed
    ]
    out = list(every)
    for ring, places in loops([one.contour for one in pieces]):
        parts = [pieces[at] for at in places]
        out[out.index(parts[0])] = DesignLine(LineKind.CUTTING, ring)
        for part in parts[1:]:
            out.remove(part)
    return out


def _drawn_round(crease: Contour) -> Contour:
    """Give a closed crease as a line that comes back to its start."""
    if not crease.closed:
        return crease
    return Contour(crease.start, (*crease.segments, Line(crease.start)))


def joined_cuts(pieces: Sequence[Contour]) -> list[Contour]:
    """Join open cut lines where their ends meet."""
    lines = (DesignLine(LineKind.CUTTING, contour) for contour in pieces)
    return [line.contour for line in _joined(lines)]


def by_selector(
    drawing: SvgDocument, selectors: Mapping[LineKind, Sequence[str]], place: str
) -> dict[int, LineKind]:
    """Sort the lines that a design's selectors name, by key.

    Raises InputError with every selector that is wrong or names nothing.
    """
    kinds: dict[int, LineKind] = {}
    problems: list[Problem] = []
    for kind, group in selectors.items():
        for selector in group:
            for key in keys_named(drawing, selector, kind, place, problems):
                if kinds.setdefault(key, kind) is not kind:
                    problems.append(
                        Problem(
                            place,
                            f"{kind} = {selector!r} names a line that is {kinds[key]} too.",
                            "Let each line be of one kind.",
                        )
                    )
                    break
    if problems:
        raise InputError(problems)
    return kinds


def by_look(shapes: Sequence[Shape]) -> dict[int, LineKind]:
    """Sort lines of a drawing that nothing is told of, by geometry and by name."""
    return {
        key: one.kind
        for key, one in sorted(suggest(shapes).items())
        if isinstance(one.kind, LineKind)
    }


def _by_piece(
    lines: Sequence[DesignLine], drawing: SvgDocument, place: str
) -> list[tuple[Contour, list[DesignLine]]]:
    """Give every outermost outline with the lines that are its own, the outline too."""
    cuts = parted(_cuts(lines))[0]
    if not cuts:  # stickers: all that is cut is cut halfway
        cuts = [o.contour for o in lines if o.kind is LineKind.PARTIAL_CUTTING]
    if not cuts:
        raise refuse(
            place,
            "there is no outline for the knife to follow.",
            'Draw one closed line and name it: Cutting = "#edge" under [lines].',
        )
    wrong = [one for one in troubles(cuts) if one.severity is Severity.ERROR]
    if wrong:
        raise InputError(
            Problem(drawing.name, one.told(drawing.height_mm), one.do) for one in wrong
        )
    outlines: list[tuple[Contour, Region]] = []
    by_area = sorted(cuts, key=lambda c: -abs(signed_area(c.flattened(FLATTEN_MM))))
    for cut in by_area:
        if not any(region.contains(cut.start) for _, region in outlines):
            outlines.append((cut, region_of(cut.flattened(FLATTEN_MM))))
    _refuse_overlaps(outlines, drawing)
    outlines = _in_rows(outlines)
    own: list[list[DesignLine]] = [[] for _ in outlines]
    for line in lines:
        own[_owner(line, outlines, drawing)].append(line)
    for (outline, _), mine in zip(outlines, own, strict=True):
        rings = [hole.flattened(FLATTEN_MM) for hole in _holes(mine, outline)]
        over = crossing(outline.flattened(FLATTEN_MM), rings)
        if over is not None:
            raise refuse(
                drawing.name,
                f"two cut lines cross, or one stands in a hole {_where(drawing, over)}.",
                "Draw holes apart from each other and from the edge.",
            )
    return [(outline, mine) for (outline, _), mine in zip(outlines, own, strict=True)]


def _refuse_overlaps(
    outlines: Sequence[tuple[Contour, Region]], drawing: SvgDocument
) -> None:
    """Refuse outlines that lie partly on each other: neither piece could be cut whole."""
    for i, (_, first) in enumerate(outlines):
        for _, second in outlines[:i]:
            shared = common(first, second) if _meet(first.box, second.box) else ()
            if shared:
                raise refuse(
                    drawing.name,
                    f"two cut lines cross {_where(drawing, shared[0].outer[0])}.",
                    "Draw pieces apart from each other, and holes inside their piece.",
                )


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _in_rows(
    outlines: Sequence[tuple[Contour, Region]],
) -> list[tuple[Contour, Region]]:
    """Put pieces in rows from the top, each from the left.

    What has its middle beside the highest piece of a row stands in that row.
    """
    left = sorted(outlines, key=lambda one: -one[1].box[3])
    out: list[tuple[Contour, Region]] = []
    while left:
        _, low, _, high = left[0][1].box
        row = [one for one in left if low <= (one[1].box[1] + one[1].box[3]) / 2 <= high]
        out += sorted(row, key=lambda one: one[1].box[0])
        left = [one for one in left if one not in row]
    return out


SHARE_MM = 1.0
"""A line that runs so far inside each of two pieces is none of either's own."""


def _owner(
    line: DesignLine, outlines: Sequence[tuple[Contour, Region]], drawing: SvgDocument
) -> int:
    """Tell which piece a line belongs to: where it runs, else the nearest."""
    if len(outlines) == 1:
        return 0
    contour = line.contour
    for i, (outline, _) in enumerate(outlines):
        if contour is outline:
            return i
    points = contour.flattened(FLATTEN_MM)
    if contour.closed or len(points) < 2:
        inside = [
            i for i, (_, region) in enumerate(outlines) if region.contains(contour.start)
        ]
    else:
        inside = [
            i
            for i, (_, region) in enumerate(outlines)
            if sum(_length_mm(part) for part in Window([region], 0.0).parts(points))
            > SHARE_MM
        ]
    if len(inside) > 1:
        raise refuse(
            drawing.name,
            f"a {line.kind} line runs over {len(inside)} pieces"
            f" (it starts {_where(drawing, contour.start)}).",
            "Draw a line of its own in each piece.",
        )
    if inside:
        return inside[0]
    middle = points[len(points) // 2]
    at = (float(middle[0]), float(middle[1]))
    away = [distance_mm(region.rings(), at) for _, region in outlines]
    holds = [i for i, (_, region) in enumerate(outlines) if region.contains(at)]
    return holds[0] if holds else away.index(min(away))


def _length_mm(points: Points) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _where(drawing: SvgDocument, point: tuple[float, float]) -> str:
    """Say where a point is, as the drawing program shows it: from the top left."""
    return f"at {point[0]:.1f} mm across, {drawing.height_mm - point[1]:.1f} mm down"
