"""What we see of each piece of a drawing: its panels, and which of them take text."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from personalize.design.creases import hinged
from personalize.design.design import Colour, Panel, TypeStyle
from personalize.design.fold_findings import fold_findings
from personalize.design.lines import FoundLines
from personalize.design.panels import lay_out
from personalize.design.pieces import DrawnPiece
from personalize.design.seen_creases import SeenCrease, seen_creases
from personalize.design.spec import PanelSpec, TypeSpec
from personalize.errors import InputError, Problem
from personalize.finding import Finding, Severity
from personalize.fonts.catalogue import catalogue
from personalize.geometry.faces import Faces, cut_into_panels
from personalize.geometry.zone import Region, middle_of
from personalize.rules import Rule
from personalize.units import FLATTEN_MM


@dataclass(frozen=True, slots=True)
class SeenPanel:
    """One panel that the lines make."""

    name: str
    region: Region
    at_mm: tuple[float, float]
    """A point well inside, in the drawing's own axes: mm from the top left."""
    takes_text: bool
    faces: str | None
    back: str | None = None
    """Panel that lies back to back with it once folded, where nothing is said of it."""


@dataclass(frozen=True, slots=True)
class SeenPiece:
    """One piece of the drawing: an outermost outline and what lies in it."""

    name: str
    """Empty where the drawing is one piece that nothing names."""
    lines: FoundLines
    at_mm: tuple[float, float]
    """A point well inside, in the drawing's own axes: mm from the top left."""
    panels: tuple[SeenPanel, ...]
    creases: tuple[SeenCrease, ...]
    """Creases that join two panels."""

    @property
    def area_mm2(self) -> float:
        """Of the paper that is left: within the outline, holes taken out."""
        return self.lines.paper.area_mm2


def see_piece(piece: DrawnPiece, height_mm: float) -> tuple[SeenPiece, list[Finding]]:
    """Look at one piece: its panels, and what is wrong with them."""
    panels, creases, found = _parts(piece, height_mm)
    x, y = middle_of(piece.lines.solid)
    if piece.name:
        found = [replace(one, says=f"{piece.name}: {one.says}") for one in found]
    at = (x, height_mm - y)
    return SeenPiece(piece.name, piece.lines, at, tuple(panels), creases), found


def as_finding(problem: Problem) -> Finding:
    """Give a problem of the outline as a finding."""
    says = f"{problem.says[:1].upper()}{problem.says[1:]}"
    return Finding(Rule.OUTLINE, Severity.ERROR, says, problem.do)


def _faces(lines: FoundLines) -> Faces:
    creases = [crease.flattened(FLATTEN_MM) for crease in lines.creases]
    return cut_into_panels(
        lines.outline.flattened(FLATTEN_MM),
        [hole.flattened(FLATTEN_MM) for hole in lines.holes],
        [points for points in creases if len(points) > 1],
    )


def _parts(
    piece: DrawnPiece, height_mm: float
) -> tuple[list[SeenPanel], tuple[SeenCrease, ...], list[Finding]]:
    """Name every panel as a design would; find those without room for text."""
    lines, spec = piece.lines, piece.spec
    faces = _faces(lines)
    named: Sequence[Panel] = ()
    findings: list[Finding] = []
    backs: dict[str, str] = {}
    try:
        layout = lay_out(lines, spec, _PLAIN, height_mm, told=piece.creases)
        named = layout.panels
        findings += fold_findings(layout.folding)
        backs = layout.folding.unsaid_backs
    except InputError as error:
        if spec.panels:
            findings = [as_finding(problem) for problem in error.problems]
    out = []
    for i, region in enumerate(faces.panels):
        panel = next((one for one in named if one.region == region), None)
        zone = panel.zone if panel else None
        if panel is None and (spec.panels or not spec.parted):
            zone = _zone(region, piece, height_mm)
        x, y = middle_of(zone or region)
        out.append(
            SeenPanel(
                panel.of if panel else f"panel{i + 1}",
                region,
                (x, height_mm - y),
                zone is not None,
                panel.faces if panel else None,
                backs.get(panel.of) if panel else None,
            )
        )
    names = [panel.name for panel in out]
    creases = seen_creases(hinged(faces.panels, piece.creases), names, height_mm)
    findings += _about(out, len(faces.loose_ends), alone=not spec.parted)
    return _in_order(out, [panel.of for panel in named]), creases, findings


def _in_order(panels: Sequence[SeenPanel], order: Sequence[str]) -> list[SeenPanel]:
    """Put first what is read as it lies: the first panel of a design."""

    def place(panel: SeenPanel) -> int:
        return order.index(panel.name) if panel.name in order else len(order)

    return sorted(panels, key=place)


_PLAIN = {"": TypeStyle(catalogue()[0], Colour(0.0, 0.0, 0.0))}
"""Any style: what is seen here does not depend on it."""


def _zone(region: Region, piece: DrawnPiece, height_mm: float) -> Region | None:
    """Give the safe zone of one panel alone; None where it has none."""
    x, y = middle_of(region)
    alone = PanelSpec("", "one", (x, height_mm - y), None, None, None, "", TypeSpec())
    try:
        one = replace(piece.spec, panels=(alone,), wordless=False)
        layout = lay_out(piece.lines, one, _PLAIN, height_mm, told=piece.creases)
    except InputError:
        return None
    return layout.panels[0].zone


def _about(panels: Sequence[SeenPanel], loose: int, *, alone: bool) -> Iterator[Finding]:
    bare = [panel.name for panel in panels if not panel.takes_text]
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
