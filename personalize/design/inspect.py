"""What we see in a drawing: its size, its lines and what they seem to be, its panels."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from personalize.design.bleed_findings import seen_edge
from personalize.design.design import LineKind
from personalize.design.inspect_panels import SeenPanel, as_finding
from personalize.design.inspect_pieces import SeenPiece, see_piece
from personalize.design.layers import without_layers
from personalize.design.line_names import Kind, Other
from personalize.design.lines import FoundLines, by_selector, find_pieces, joined_cuts
from personalize.design.pieces import DrawnPiece, drawn_pieces
from personalize.design.seen_creases import SeenCrease
from personalize.design.slits import drawn_twice, parted, twice_troubles
from personalize.design.spec import DesignSpec
from personalize.design.suggest import Suggestion, look_of, suggest
from personalize.design.svg import (
    PX_PER_INCH,
    Shape,
    SvgDocument,
    parse_svg,
    size_said_twice,
)
from personalize.design.trouble import Trouble, troubles, weak_places
from personalize.errors import InputError
from personalize.finding import Finding, Severity, worst_first
from personalize.geometry.chains import closed_up
from personalize.geometry.path import Contour
from personalize.rules import Rule
from personalize.units import MM_PER_INCH

OTHER_PX = (90, 72)
"""Pixels to the inch that drawing programs have written besides CSS's 96. Common practice,
no source."""
Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class LineGroup:
    """Lines that look alike and seem to be the same."""

    kind: Kind
    why: str
    keys: tuple[int, ...]
    ids: tuple[str, ...]
    classes: tuple[str, ...]
    labels: tuple[str, ...]
    stroke: str | None
    stroke_mm: float
    dashes: str
    """"" for a line without gaps."""
    closed: bool
    contours: tuple[Contour, ...]
    length_mm: float
    box_mm: Box
    """Page mm, y up."""


@dataclass(frozen=True, slots=True)
class Inspection:
    """All that was seen."""

    drawing: SvgDocument
    px_per_inch: float | None
    """As the maker chose; None for the 96 of CSS or a drawing that states its size."""
    groups: tuple[LineGroup, ...]
    told_by: str | None
    """Name of the TOML file that says which lines are which; None where we guessed."""
    pieces: tuple[SeenPiece, ...]
    """Empty where there is no usable outline."""
    findings: tuple[Finding, ...]

    @property
    def panels(self) -> tuple[SeenPanel, ...]:
        """Panels of all pieces."""
        return tuple(panel for piece in self.pieces for panel in piece.panels)

    @property
    def creases(self) -> tuple[SeenCrease, ...]:
        """Creases between panels, of all pieces."""
        return tuple(crease for piece in self.pieces for crease in piece.creases)

    @property
    def kinds(self) -> Mapping[LineKind, frozenset[int]]:
        """Shapes by kind of line."""
        return {
            kind: keys
            for kind in LineKind
            if (
                keys := frozenset(
                    key for one in self.groups if one.kind is kind for key in one.keys
                )
            )
        }


def inspect_svg(
    data: bytes,
    name: str,
    spec: DesignSpec,
    px_per_inch: float | None = None,
) -> Inspection:
    """Look at a drawing.

    Parameters
    ----------
    data, name
        The SVG file and its bare name.
    spec
        What the TOML file beside it says; an empty one where there is none.
    px_per_inch
        Pixels to the inch for a drawing that states no size, over what `spec` says.

    Raises
    ------
    InputError
        When it is no SVG that can be read, or the selectors of `spec` are wrong.
    """
    px = px_per_inch or spec.px_per_inch
    drawing = parse_svg(data, name, px or PX_PER_INCH)
    if px is not None and drawing.size_stated:
        place = "--px-per-inch" if px_per_inch is not None else spec.px_place
        raise size_said_twice(place, drawing)
    if spec.back is not None and spec.back.layers:
        back = (spec.back.layers, spec.back.place, px or PX_PER_INCH)
        drawing = without_layers(drawing, *back)
    told_by = spec.place if spec.lines else None
    seen = _told(drawing, spec) if told_by else suggest(drawing.shapes)
    groups = _groups(drawing.shapes, seen)
    findings = [*_size(drawing, px), *_left_out(drawing)]
    found: tuple[FoundLines, ...] = ()
    pieces: tuple[DrawnPiece, ...] = ()
    try:
        found = find_pieces(
            drawing,
            spec.lines,
            spec.lines_place or spec.place,
            mend=spec.mend,
            kinds={
                key: one.kind for key, one in seen.items() if isinstance(one.kind, LineKind)
            },
        )
        pieces = drawn_pieces(drawing, found, spec)
    except InputError as error:
        findings += _outline_findings(drawing, groups, error)
    findings += _cut_findings(drawing, groups, found if pieces else ())
    shown, told = _pieces(drawing, pieces)
    return Inspection(drawing, px, groups, told_by, shown, worst_first([*findings, *told]))


def _pieces(
    drawing: SvgDocument, pieces: Sequence[DrawnPiece]
) -> tuple[tuple[SeenPiece, ...], list[Finding]]:
    """Look at every piece, and at the edge of its picture."""
    seen_pieces, findings = [], []
    for piece in pieces:
        one, more = see_piece(piece, drawing)
        seen_pieces.append(one)
        findings += [*piece.told, *more]
        findings += seen_edge(drawing, piece.lines, piece.spec)
    return tuple(seen_pieces), findings


def _told(drawing: SvgDocument, spec: DesignSpec) -> dict[int, Suggestion]:
    """Sort shapes as the TOML file says."""
    kinds = by_selector(drawing, spec.lines, spec.lines_place or spec.place)
    art = spec.artwork
    traced = art is not None and art.trace is not None
    why = f"traced from {art.file}" if art and traced else f"{spec.place} says so"
    return {
        shape.key: Suggestion(kinds[shape.key], why)
        if shape.key in kinds
        else Suggestion(Other.ARTWORK, f"no line, as {spec.place} has it")
        for shape in drawing.shapes
    }


def _groups(
    shapes: Sequence[Shape], seen: Mapping[int, Suggestion]
) -> tuple[LineGroup, ...]:
    """Put together what looks alike and seems to be the same; lines first."""
    alike: dict[tuple[object, ...], list[Shape]] = {}
    for shape in shapes:
        one = seen[shape.key]
        look: tuple[object, ...] = (one.kind, one.why)
        if shape.stroke is not None:
            closed = all(closed_up(c).closed for c in shape.contours)
            look += (*look_of(shape), closed, shape.classes)
        alike.setdefault(look, []).append(shape)
    order: list[Kind] = [*LineKind, *Other]
    groups = [_group(members, seen[members[0].key]) for members in alike.values()]
    return tuple(sorted(groups, key=lambda g: (order.index(g.kind), g.keys[0])))


def _group(members: Sequence[Shape], one: Suggestion) -> LineGroup:
    first = members[0]
    contours = tuple(closed_up(c) for shape in members for c in shape.contours)
    boxes = [c.bounds() for c in contours]
    labels = [label for shape in members for label in shape.labels[: shape.own_labels or 1]]
    return LineGroup(
        one.kind,
        one.why,
        tuple(shape.key for shape in members),
        tuple(dict.fromkeys(shape.id for shape in members if shape.id)),
        tuple(dict.fromkeys(word for shape in members for word in shape.classes)),
        tuple(dict.fromkeys(labels)),
        first.stroke,
        first.stroke_mm,
        first.dashes if first.dashed else "",
        all(c.closed for c in contours),
        contours,
        sum(c.length_mm() for c in contours),
        (
            min(b[0] for b in boxes),
            min(b[1] for b in boxes),
            max(b[2] for b in boxes),
            max(b[3] for b in boxes),
        ),
    )


def _size(drawing: SvgDocument, px: float | None) -> Iterator[Finding]:
    if drawing.size_stated or px is not None:
        return
    others = " and ".join(
        f"{_sized(drawing, PX_PER_INCH / other)} at {other}" for other in OTHER_PX
    )
    yield Finding(
        Rule.SIZE_NOT_STATED,
        Severity.WARNING,
        f"{drawing.name} states no size in mm or inches. At 96 px to the inch it is"
        f" {_sized(drawing, 1)}; it would be {others}.",
        "Measure something that you know, and say px_per_inch = 96, 90 or 72.",
        figures={
            f"width_mm_at_{one:g}": round(drawing.width_mm * PX_PER_INCH / one, 3)
            for one in (PX_PER_INCH, *OTHER_PX)
        },
    )


def _sized(drawing: SvgDocument, times: float) -> str:
    return size_text(drawing.width_mm * times, drawing.height_mm * times)


def size_text(width_mm: float, height_mm: float) -> str:
    """Say a size in mm and in inches.

    >>> size_text(50.8, 25.4)
    '50.80 x 25.40 mm (2.000 x 1.000 in)'
    """
    inches = f"{width_mm / MM_PER_INCH:.3f} x {height_mm / MM_PER_INCH:.3f} in"
    return f"{width_mm:.2f} x {height_mm:.2f} mm ({inches})"


def _left_out(drawing: SvgDocument) -> Iterator[Finding]:
    for says in drawing.told():
        yield Finding(Rule.LEFT_OUT, Severity.NOTE, f"{says[:1].upper()}{says[1:]}.", "")


def _cuts(groups: Sequence[LineGroup]) -> list[Contour]:
    return [c for one in groups if one.kind is LineKind.CUTTING for c in one.contours]


def _outline_findings(
    drawing: SvgDocument, groups: Sequence[LineGroup], error: InputError
) -> list[Finding]:
    """Tell why there is no outline, with its places where they are known."""
    every = _cuts(groups)
    twice = [*twice_troubles(every)]
    again = drawn_twice(every) if twice else []
    open_ones = [
        cut for cut in every if not cut.closed and all(cut is not one for one in again)
    ]
    shut = [cut for cut in every if cut.closed]
    cuts = parted([*shut, *joined_cuts(open_ones)])[0]
    found = [_trouble(one, drawing) for one in (*twice, *troubles(cuts))]
    if any(one.severity is Severity.ERROR for one in found):
        return found
    return [*found, *(as_finding(problem) for problem in error.problems)]


def _cut_findings(
    drawing: SvgDocument, groups: Sequence[LineGroup], found: Sequence[FoundLines]
) -> Iterator[Finding]:
    """Tell of notes on usable cut lines, of weak places, and of what was mended."""
    if not found:
        return
    yield from (
        _trouble(one, drawing)
        for one in troubles(parted(_cuts(groups))[0])
        if one.severity is not Severity.ERROR
    )
    for lines in found:
        for one in weak_places(lines.outline, lines.holes):
            yield _trouble(one, drawing)
    for says in found[0].mended:
        yield Finding(Rule.MENDED, Severity.NOTE, f"Mended: {says}.", "")


def _trouble(one: Trouble, drawing: SvgDocument) -> Finding:
    says = one.told(drawing.height_mm)
    figures = {"x_mm": round(one.at[0], 3), "y_mm": round(one.at[1], 3)}
    said = f"{says[:1].upper()}{says[1:]}"
    return Finding(one.rule, one.severity, said, one.do, figures=figures)
