"""Find the die lines of a drawing: by the design's selectors, or by what they look like."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from personalize.design.design import DesignLine, LineKind
from personalize.design.slits import parted, slit_troubles
from personalize.design.suggest import suggest
from personalize.design.svg import Shape, SvgDocument
from personalize.design.trouble import mended, troubles
from personalize.errors import InputError, Problem, refuse
from personalize.finding import Severity
from personalize.geometry.chains import closed_up, loops
from personalize.geometry.path import Contour, Line, signed_area
from personalize.geometry.zone import crossing, region_of
from personalize.units import FLATTEN_MM


@dataclass(frozen=True)
class FoundLines:
    """The die lines of a drawing, sorted by what they do."""

    outline: Contour
    holes: tuple[Contour, ...]
    creases: tuple[Contour, ...]
    lines: tuple[DesignLine, ...]
    keys: frozenset[int]
    """Shapes that are lines, not artwork."""
    slits: tuple[Contour, ...] = ()
    """Open cut lines inside the piece."""
    mended: tuple[str, ...] = ()
    """What was mended, where the maker asked for it."""


def find_lines(
    drawing: SvgDocument,
    selectors: Mapping[LineKind, Sequence[str]],
    place: str,
    *,
    mend: bool = False,
    kinds: Mapping[int, LineKind] | None = None,
) -> FoundLines:
    """Sort the lines of a drawing. Raises InputError where it has no usable outline.

    With `mend` small faults of the cut lines are mended first, and told. `kinds` gives
    the lines by key where they are known already.
    """
    if kinds is None:
        looked = not selectors
        kinds = (
            by_look(drawing.shapes) if looked else by_selector(drawing, selectors, place)
        )
    shapes = {shape.key: shape for shape in drawing.shapes}
    lines = _joined(
        DesignLine(kind, closed_up(contour))
        for key, kind in sorted(kinds.items())
        for contour in shapes[key].contours
    )
    says: tuple[str, ...] = ()
    if mend:
        cuts, slits = parted(_cuts(lines))
        done = mended(cuts)
        others = [line for line in lines if line.kind is not LineKind.CUTTING]
        lines = [DesignLine(LineKind.CUTTING, cut) for cut in (*done.cuts, *slits)] + others
        says = done.says
    cuts, slits = parted(_cuts(lines))
    outline, holes = _outline_and_holes(cuts, drawing, place if selectors else drawing.name)
    wrong = [
        Problem(drawing.name, one.told(drawing.height_mm), one.do)
        for one in slit_troubles(outline, holes, slits)
    ]
    if wrong:
        raise InputError(wrong)
    creases = tuple(
        _drawn_round(line.contour) for line in lines if line.kind is LineKind.CREASING
    )
    return FoundLines(
        outline, holes, creases, tuple(lines), frozenset(kinds), tuple(slits), says
    )


def _cuts(lines: Sequence[DesignLine]) -> list[Contour]:
    return [line.contour for line in lines if line.kind is LineKind.CUTTING]


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
    problems = []
    for kind, group in selectors.items():
        for selector in group:
            try:
                keys = drawing.select(selector)
            except ValueError:
                problems.append(
                    Problem(
                        place,
                        f"{selector!r} is not a CSS selector.",
                        'Write "#name" for an id or ".name" for a class.',
                    )
                )
                continue
            if not keys:
                problems.append(
                    Problem(
                        place,
                        f"nothing drawn in {drawing.name} matches {kind} = {selector!r}.",
                        "Check the id or class in the drawing (hidden lines do not count).",
                    )
                )
            for key in keys:
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


def _outline_and_holes(
    cuts: Sequence[Contour], drawing: SvgDocument, place: str
) -> tuple[Contour, tuple[Contour, ...]]:
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
    by_area = sorted(cuts, key=lambda c: -abs(signed_area(c.flattened(FLATTEN_MM))))
    outline, *rest = by_area
    ring = outline.flattened(FLATTEN_MM)
    inside = region_of(ring)
    strays = [c for c in rest if not inside.contains(c.start)]
    if strays:
        raise refuse(
            drawing.name,
            f"there are {len(strays) + 1} outlines side by side"
            f" (one starts {_where(drawing, strays[0].start)}).",
            "Keep one piece in each drawing, or name its outline under [lines].",
        )
    over = crossing(ring, [hole.flattened(FLATTEN_MM) for hole in rest])
    if over is not None:
        raise refuse(
            drawing.name,
            f"two cut lines cross, or one stands in a hole {_where(drawing, over)}.",
            "Draw holes apart from each other and from the edge.",
        )
    return outline, tuple(rest)


def _where(drawing: SvgDocument, point: tuple[float, float]) -> str:
    """Say where a point is, as the drawing program shows it: from the top left."""
    return f"at {point[0]:.1f} mm across, {drawing.height_mm - point[1]:.1f} mm down"
