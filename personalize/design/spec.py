"""What a design's TOML file says, checked but not yet applied to the drawing."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from personalize.design.design import Colour, LineKind, Margins, Stick
from personalize.messages.pattern import Pattern


@dataclass(frozen=True, slots=True)
class TypeSpec:
    """Keys of [type] or of a panel, None where not given."""

    font: str | None = None
    colour: Colour | None = None
    sizes: str | None = None
    max_pt: float | None = None
    min_pt: float | None = None
    max_lines: int | None = None
    width_share: float | None = None
    align: str | None = None
    language: str | None = None


@dataclass(frozen=True, slots=True)
class PanelSpec:
    """One [[panel]]."""

    place: str
    """File and line, for problems found later."""
    name: str
    at: tuple[float, float] | None
    pattern: Pattern | None
    faces: str | None
    turn_deg: float | None
    type_place: str
    type: TypeSpec


@dataclass(frozen=True)
class DesignSpec:
    """A whole TOML file, checked but not yet applied to the SVG."""

    place: str
    name: str | None = None
    svg: str | None = None
    px_per_inch: float | None = None
    """For a drawing that states no size."""
    px_place: str = ""
    mend: bool = False
    """Whether small faults of the cut lines shall be mended."""
    use: tuple[str, ...] = ()
    lines: Mapping[LineKind, tuple[str, ...]] = field(default_factory=dict)
    lines_place: str = ""
    margins: Margins = field(default_factory=Margins)
    stick: Stick | None = None
    type: TypeSpec = field(default_factory=TypeSpec)
    type_place: str = ""
    panels: tuple[PanelSpec, ...] = ()
