"""The panels that are seen in a drawing: their names, and what each is for."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from personalize.design.design import Colour, Panel, TypeStyle
from personalize.design.glue import glue_lines, rings_of, tabs, takes_glue
from personalize.design.keep_off import all_edges, kept
from personalize.design.lines import FoundLines
from personalize.design.panels import faces_of, lay_out
from personalize.design.spec import DesignSpec
from personalize.design.svg import SvgDocument
from personalize.design.text_area import TextArea, text_areas
from personalize.errors import InputError, Problem
from personalize.finding import Finding, Severity
from personalize.fonts.catalogue import catalogue
from personalize.geometry.zone import Region, middle_of


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


def as_finding(problem: Problem) -> Finding:
    """Tell of a problem of the drawing as a finding."""
    says = f"{problem.says[:1].upper()}{problem.says[1:]}"
    return Finding("outline", Severity.ERROR, says, problem.do)


_PLAIN = {"": TypeStyle(catalogue()[0], Colour(0.0, 0.0, 0.0))}
"""Any style: what is seen here does not depend on it."""


def seen_panels(
    lines: FoundLines, spec: DesignSpec, drawing: SvgDocument
) -> tuple[list[SeenPanel], list[Finding]]:
    """Name every panel as a design would; find those without room for text."""
    faces, height_mm = faces_of(lines), drawing.height_mm
    named: Sequence[Panel] = ()
    glued: Sequence[Region] = [faces.panels[i] for i in tabs(faces.panels)]
    areas: tuple[TextArea, ...] = ()
    findings: list[Finding] = []
    try:
        areas = text_areas(drawing, spec)
        layout = lay_out(lines, spec, _PLAIN, height_mm, areas=areas)
        named, glued = layout.panels, layout.glued
    except InputError as error:
        if spec.panels:
            findings = [as_finding(problem) for problem in error.problems]
    rings = rings_of(glue_lines(lines.lines))
    edges = all_edges(lines, glued, spec)
    out: list[SeenPanel] = []
    for i, region in enumerate(faces.panels):
        panel = next((one for one in named if one.region == region), None)
        zone = panel.zone if panel else None
        if panel is None and (spec.panels or not spec.parted):
            zone = next(iter(kept(region, edges)), None)
        x, y = middle_of(zone or region)
        is_tab = region in glued
        name = _tab_name(out) if is_tab else f"panel{i + 1}"
        out.append(
            SeenPanel(
                panel.of if panel else name,
                region,
                (x, height_mm - y),
                zone is not None and not is_tab and not takes_glue(region, rings),
                panel.faces if panel else None,
                is_tab,
                _area(panel, areas),
            )
        )
    findings += _about(out, len(faces.loose_ends), alone=not spec.parted)
    return _in_order(out, named), findings


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
            "no-room",
            Severity.WARNING if alone and len(bare) == len(panels) else Severity.NOTE,
            f"No room for text inside the margins: {', '.join(bare)}.",
            "Make the distances under [margins] smaller if words shall stand there.",
        )
    if loose:
        yield Finding(
            "loose-crease",
            Severity.WARNING,
            f"{loose} crease{'s end' if loose > 1 else ' ends'} inside a panel and"
            " divide nothing.",
            "Draw each crease from edge to edge.",
            figures={"creases": loose},
        )
