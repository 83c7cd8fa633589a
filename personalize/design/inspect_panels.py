"""The panels that are seen in a drawing: their names, and what each is for."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from personalize.design.creases import folds_along, hinged, widest_deg
from personalize.design.design import Panel
from personalize.design.fold_findings import fold_findings
from personalize.design.glue import glue_lines, rings_of, tabs, takes_glue
from personalize.design.keep_off import all_edges, kept
from personalize.design.panels import faces_of, lay_out
from personalize.design.pieces import DrawnPiece
from personalize.design.seen_creases import SeenCrease, seen_creases
from personalize.design.style import Colour, TypeStyle
from personalize.design.svg import SvgDocument
from personalize.design.text_area import TextArea, text_areas
from personalize.errors import InputError, Problem
from personalize.finding import Finding, Severity
from personalize.fonts.catalogue import catalogue
from personalize.geometry.zone import Region, middle_of
from personalize.rules import Rule


@dataclass(frozen=True, slots=True)
class SeenPanel:
    """One panel that the lines make."""

    name: str
    region: Region
    at_mm: tuple[float, float]
    """A point well inside, in the drawing's own axes: mm from the top left."""
    takes_text: bool
    faces: str | None
    glue: bool = False
    """Whether it is a tab that takes adhesive."""
    area: int | None = None
    """Key of the shape that its words stay in."""
    back: str | None = None
    """Panel that lies back to back with it once folded, where nothing is said of it."""


def as_finding(problem: Problem) -> Finding:
    """Tell of a problem of the drawing as a finding."""
    says = f"{problem.says[:1].upper()}{problem.says[1:]}"
    return Finding(Rule.OUTLINE, Severity.ERROR, says, problem.do)


_PLAIN = {"": TypeStyle(catalogue()[0], Colour(0.0, 0.0, 0.0))}
"""Any style: what is seen here does not depend on it."""


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known of a piece's panels, if it could be laid out."""

    panels: tuple[Panel, ...] = ()
    glued: tuple[Region, ...] = ()
    areas: tuple[TextArea, ...] = ()
    backs: Mapping[str, str] = field(default_factory=dict)


def _known(piece: DrawnPiece, drawing: SvgDocument) -> tuple[_Known, list[Finding]]:
    """Lay a piece out as a design would."""
    lines, spec = piece.lines, piece.spec
    try:
        areas = text_areas(drawing, spec)
        layout = lay_out(
            lines, spec, _PLAIN, drawing.height_mm, told=piece.creases, areas=areas
        )
    except InputError as error:
        every = faces_of(lines).panels
        bare = _Known(glued=tuple(every[i] for i in tabs(every)))
        told = error.problems if spec.panels else ()
        return bare, [as_finding(problem) for problem in told]
    backs = layout.folding.unsaid_backs
    known = _Known(layout.panels, layout.glued, areas, backs)
    return known, list(fold_findings(layout.folding))


def seen_panels(
    piece: DrawnPiece, drawing: SvgDocument
) -> tuple[list[SeenPanel], tuple[SeenCrease, ...], list[Finding]]:
    """Name every panel as a design would; find those without room for text."""
    lines, spec = piece.lines, piece.spec
    faces, height_mm = faces_of(lines), drawing.height_mm
    known, findings = _known(piece, drawing)
    rings = rings_of(glue_lines(lines.lines))
    hinges = hinged(faces.panels, piece.creases)
    degs = list(map(widest_deg, folds_along(lines.creases, hinges)))
    edges = all_edges(lines, degs, known.glued, spec)
    out: list[SeenPanel] = []
    for i, region in enumerate(faces.panels):
        panel = next((one for one in known.panels if one.region == region), None)
        zone = panel.zone if panel else None
        if panel is None and (spec.panels or not spec.parted):
            zone = next(iter(kept(region, edges)), None)
        x, y = middle_of(zone or region)
        is_tab = region in known.glued
        name = _tab_name(out) if is_tab else f"panel{i + 1}"
        out.append(
            SeenPanel(
                panel.of if panel else name,
                region,
                (x, height_mm - y),
                zone is not None and not is_tab and not takes_glue(region, rings),
                panel.faces if panel else None,
                is_tab,
                _area(panel, known.areas),
                known.backs.get(panel.of) if panel else None,
            )
        )
    names = [panel.name for panel in out]
    creases = seen_creases(hinges, names, height_mm)
    findings += _about(out, len(faces.loose_ends), alone=not spec.parted)
    return _in_order(out, known.panels), creases, findings


def _in_order(seen: Sequence[SeenPanel], named: Sequence[Panel]) -> list[SeenPanel]:
    """The first panel of a design is the one that is read as it lies."""
    order = [panel.of for panel in named]
    return sorted(
        seen, key=lambda one: order.index(one.name) if one.name in order else len(order)
    )


def _area(panel: Panel | None, areas: Sequence[TextArea]) -> int | None:
    """Give the key of the shape that a panel's words stay in."""
    if panel is None or panel.area is None:
        return None
    return next(one.key for one in areas if one.contour == panel.area)


def _tab_name(panels: Sequence[SeenPanel]) -> str:
    count = sum(panel.glue for panel in panels)
    return f"tab{count + 1}" if count else "tab"


def _about(panels: Sequence[SeenPanel], loose: int, *, alone: bool) -> Iterator[Finding]:
    bare = [panel.name for panel in panels if not panel.takes_text and not panel.glue]
    if bare:
        yield Finding(
            Rule.NO_ROOM,
            Severity.WARNING if alone and len(bare) == len(panels) else Severity.NOTE,
            f"No room for text inside the margins: {', '.join(bare)}.",
            "Make the distances under [margins] smaller if words shall stand there.",
        )
    if loose:
        yield Finding(
            Rule.LOOSE_CREASE,
            Severity.WARNING,
            f"{loose} crease{'s end' if loose > 1 else ' ends'} inside a panel and"
            f" divide{'s' * (loose == 1)} nothing.",
            "Draw each crease from edge to edge.",
            figures={"creases": loose},
        )
