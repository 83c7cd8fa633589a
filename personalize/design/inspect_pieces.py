"""What we see of each piece of a drawing: its panels, and which of them take text."""

from dataclasses import dataclass, replace

from personalize.design.inspect_panels import SeenPanel, seen_panels
from personalize.design.lines import FoundLines
from personalize.design.pieces import DrawnPiece
from personalize.design.seen_creases import SeenCrease
from personalize.design.svg import SvgDocument
from personalize.finding import Finding
from personalize.geometry.zone import middle_of


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


def see_piece(piece: DrawnPiece, drawing: SvgDocument) -> tuple[SeenPiece, list[Finding]]:
    """Look at one piece: its panels, and what is wrong with them."""
    panels, creases, found = seen_panels(piece, drawing)
    x, y = middle_of(piece.lines.solid)
    if piece.name:
        found = [replace(one, says=f"{piece.name}: {one.says}") for one in found]
    at = (x, drawing.height_mm - y)
    return SeenPiece(piece.name, piece.lines, at, tuple(panels), creases), found
