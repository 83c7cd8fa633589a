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
    size_group: str | None = None


@dataclass(frozen=True, slots=True)
class RingSpec:
    """The table `ring` of a panel or block, None where not given."""

    place: str
    centre: tuple[float, float] | None = None
    radius: float | None = None
    depth: float | None = None
    reading: str = "outward"
    middle_deg: float | None = None
    most_deg: float | None = None


@dataclass(frozen=True, slots=True)
class BlockSpec:
    """One [[panel.block]]."""

    place: str
    name: str
    share: float | None
    pattern: Pattern
    type_place: str
    type: TypeSpec
    ring: RingSpec | None = None


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
    blocks: tuple[BlockSpec, ...] = ()
    gap: float | None = None
    ring: RingSpec | None = None


@dataclass(frozen=True)
class DesignSpec:
    """A whole TOML file, checked but not yet applied to the SVG."""

    place: str
    name: str | None = None
    svg: str | None = None
    use: tuple[str, ...] = ()
    lines: Mapping[LineKind, tuple[str, ...]] = field(default_factory=dict)
    lines_place: str = ""
    margins: Margins = field(default_factory=Margins)
    stick: Stick | None = None
    type: TypeSpec = field(default_factory=TypeSpec)
    type_place: str = ""
    panels: tuple[PanelSpec, ...] = ()
