"""Find the die lines of a drawing: by the design's selectors, or by what they look like."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from personalize.design.design import DesignLine, LineKind
from personalize.design.svg import Shape, SvgDocument
from personalize.errors import InputError, Problem, refuse
from personalize.geometry.path import Contour, signed_area
from personalize.geometry.zone import crossing, region_of
from personalize.units import FLATTEN_MM

CLOSE_MM = 0.01
"""A contour whose ends are this near is closed (the tolerance of print against cut)."""

_NAMES = {
    LineKind.CUTTING: {"cut", "cutting", "edge", "outline", "knife", "hole"},
    LineKind.CREASING: {"crease", "creases", "creasing", "fold", "folds", "score"},
    LineKind.PERFORATING: {"perforation", "perforating"},
    LineKind.GLUING: {"glue", "gluing"},
}
"""Our own words for lines, looked for in ids, classes and labels of a bare drawing."""


@dataclass(frozen=True)
class FoundLines:
    """The die lines of a drawing, sorted by what they do."""

    outline: Contour
    holes: tuple[Contour, ...]
    creases: tuple[Contour, ...]
    lines: tuple[DesignLine, ...]
    keys: frozenset[int]
    """Shapes that are lines, not artwork."""


def find_lines(
    drawing: SvgDocument, selectors: Mapping[LineKind, Sequence[str]], place: str
) -> FoundLines:
    """Sort the lines of a drawing. Raises InputError where it has no usable outline."""
    kinds = (
        _by_selector(drawing, selectors, place) if selectors else _by_look(drawing.shapes)
    )
    shapes = {shape.key: shape for shape in drawing.shapes}
    lines = [
        DesignLine(kind, closed(contour))
        for key, kind in sorted(kinds.items())
        for contour in shapes[key].contours
    ]
    cuts = [line.contour for line in lines if line.kind is LineKind.CUTTING]
    outline, holes = _outline_and_holes(cuts, drawing, place if selectors else drawing.name)
    creases = tuple(line.contour for line in lines if line.kind is LineKind.CREASING)
    return FoundLines(outline, holes, creases, tuple(lines), frozenset(kinds))


def _by_selector(
    drawing: SvgDocument, selectors: Mapping[LineKind, Sequence[str]], place: str
) -> dict[int, LineKind]:
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


def _by_look(shapes: Sequence[Shape]) -> dict[int, LineKind]:
    """Sort lines of a drawing that nothing is told of: by name, else by look.

    Without a named outline the closed unfilled strokes are cuts, and open unfilled
    strokes creases.
    """
    kinds: dict[int, LineKind] = {}
    for shape in shapes:
        kind = _named(shape)
        if kind is not None:
            kinds[shape.key] = kind
    if LineKind.CUTTING not in kinds.values():
        for shape in shapes:
            if shape.fill is None and shape.stroke is not None and shape.key not in kinds:
                closed = all(closed(c).closed for c in shape.contours)
                kinds[shape.key] = LineKind.CUTTING if closed else LineKind.CREASING
    return kinds


def _named(shape: Shape) -> LineKind | None:
    if shape.fill is not None and shape.stroke is None:
        return None  # a filled shape called "edge" is a picture of an edge
    for name in (shape.id, *shape.classes, *shape.labels):
        words = set(name.casefold().replace("-", " ").replace("_", " ").split())
        for kind, known in _NAMES.items():
            if words & known:
                return kind
    return None


def closed(contour: Contour) -> Contour:
    """Close a contour whose ends meet."""
    if contour.closed or not contour.segments:
        return contour
    (x0, y0), (x1, y1) = contour.start, contour.segments[-1].end
    if abs(x0 - x1) <= CLOSE_MM and abs(y0 - y1) <= CLOSE_MM and len(contour.segments) > 1:
        return Contour(contour.start, contour.segments, closed=True)
    return contour


def _outline_and_holes(
    cuts: Sequence[Contour], drawing: SvgDocument, place: str
) -> tuple[Contour, tuple[Contour, ...]]:
    if not cuts:
        raise refuse(
            place,
            "there is no outline for the knife to follow.",
            'Draw one closed line and name it: Cutting = "#edge" under [lines].',
        )
    _refuse_open(cuts, drawing)
    by_area = sorted(cuts, key=lambda c: -abs(signed_area(c.flattened(FLATTEN_MM))))
    outline, *rest = by_area
    ring = outline.flattened(FLATTEN_MM)
    cross = crossing(ring)
    if cross is not None:
        raise refuse(
            drawing.name,
            f"the outline crosses itself {_where(drawing, cross)}.",
            "Redraw it there as one line round the piece.",
        )
    inside = region_of(ring)
    strays = [c for c in rest if not inside.contains(c.start)]
    if strays:
        raise refuse(
            drawing.name,
            f"there are {len(strays) + 1} outlines side by side"
            f" (one starts {_where(drawing, strays[0].start)}).",
            "Keep one piece in each drawing, or name its outline under [lines].",
        )
    return outline, tuple(rest)


def _refuse_open(cuts: Sequence[Contour], drawing: SvgDocument) -> None:
    problems = []
    for cut in cuts:
        if cut.closed:
            continue
        end = cut.segments[-1].end if cut.segments else cut.start
        gap = ((end[0] - cut.start[0]) ** 2 + (end[1] - cut.start[1]) ** 2) ** 0.5
        problems.append(
            Problem(
                drawing.name,
                f"the outline is open: its ends, {_where(drawing, cut.start)} and"
                f" {_where(drawing, end)}, are {gap:.2f} mm apart.",
                "Join them in your drawing program.",
            )
        )
    if problems:
        raise InputError(problems)


def _where(drawing: SvgDocument, point: tuple[float, float]) -> str:
    """Say where a point is, as the drawing program shows it: from the top left."""
    return f"at {point[0]:.1f} mm across, {drawing.height_mm - point[1]:.1f} mm down"
