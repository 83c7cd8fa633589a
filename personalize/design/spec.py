"""What a design's TOML file says, checked but not yet applied to the drawing."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from personalize.design.design import LineKind, Margins, Stick
from personalize.design.style import Colour
from personalize.design.wishes import CutWishes, SheetWishes
from personalize.messages.pattern import Pattern


@dataclass(frozen=True, slots=True)
class TypeSpec:
    """Keys of [type] or of a panel, None where not given."""

    font: str | None = None
    font_member: str | int | None = None
    font_instance: str | None = None
    font_axes: tuple[tuple[str, float], ...] | None = None
    emoji_font: str | None = None
    colour: Colour | None = None
    sizes: str | None = None
    max_pt: float | None = None
    min_pt: float | None = None
    max_lines: int | None = None
    width_share: float | None = None
    align: str | None = None
    language: str | None = None
    direction: str | None = None
    case: str | None = None
    features: tuple[tuple[str, int], ...] | None = None
    letter_spacing_em: float | None = None
    hyphenate: bool | None = None
    rim: str | None = None
    rim_mm: float | None = None
    rim_colour: Colour | None = None
    size_group: str | None = None
    read_from_m: float | None = None
    script_face: bool | None = None
    allergen: bool | None = None
    package_cm2: float | None = None


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
    viewer: str | None = None
    """Who reads it, where that is not who reads the others."""
    area: str | None = None
    """Selector of the shape that its words stay in, whatever the margins are."""
    area_place: str = ""
    print_area: bool = False
    """Whether that shape is artwork too."""
    glue: bool = False
    """Whether the panel takes adhesive, and so no words."""


@dataclass(frozen=True, slots=True)
class CreaseSpec:
    """One [[crease]]: how creases are folded; all of them where it names none."""

    place: str
    lines: tuple[str, ...] = ()
    """Selectors of the creases."""
    at: tuple[float, float] | None = None
    """Or a point on one, in the drawing's own axes."""
    angle_deg: float = 180.0
    way: str = "mountain"


@dataclass(frozen=True, slots=True)
class VersionSpec:
    """One [[version]]."""

    place: str
    name: str
    svg: str | None = None
    """Another drawing of the same lines; None for the design's own."""
    show: tuple[str, ...] = ()
    """Selectors of what is drawn in this version alone."""
    colour: Colour | None = None
    line_art: bool = False
    """Whether its picture is turned into lines to colour in."""
    artwork: "ArtworkSpec | None" = None
    """The file that is its picture; None for a drawing."""


@dataclass(frozen=True, slots=True)
class PictureSpec:
    """[picture]: where each row's own picture goes."""

    place: str
    area: str | None = None
    """Selector of the shape that it fills."""
    box: tuple[float, float, float, float] | None = None
    """Or a box: left, top, width, height in the drawing's own axes, in mm."""
    fit: str = "cover"
    words: str = "beside"
    turn_deg: float | None = None


@dataclass(frozen=True, slots=True)
class PieceSpec:
    """One [[piece]]: an outline of the drawing that is taken."""

    place: str
    name: str
    at: tuple[float, float] | None
    count: int = 1
    stock: str | None = None
    words: bool = True
    """Whether it carries words at all."""


@dataclass(frozen=True, slots=True)
class BackSpec:
    """[back]: what is printed on the other side of the piece."""

    place: str
    svg: str | None = None
    """Drawing of the back, as it is seen from behind; None for the design's own."""
    show: tuple[str, ...] = ()
    """Selectors of what of the design's own drawing is the back."""
    artwork: "ArtworkSpec | None" = None
    """A PDF page or a picture that is the back."""
    panels: tuple[PanelSpec, ...] = ()
    versions: tuple[VersionSpec, ...] = ()
    type: TypeSpec = field(default_factory=TypeSpec)
    type_place: str = ""

    @property
    def layers(self) -> tuple[str, ...]:
        """Selectors of all that no front shows of the design's own drawing."""
        if self.svg is not None:
            return ()
        own = (show for one in self.versions if one.svg is None for show in one.show)
        return (*self.show, *own)


@dataclass(frozen=True, slots=True)
class TraceSpec:
    """How the outline is taken from a transparent edge."""

    offset_mm: float = 0.0
    """How far outside the edge it runs; negative for inside."""
    tolerance_mm: float = 0.1
    """How far it may be from the edge."""
    specks_mm2: float = 3.0
    """Smaller parts and holes are left out. Judgement."""


@dataclass(frozen=True, slots=True)
class ArtworkSpec:
    """[artwork]: a file of its own that is printed under the words."""

    place: str
    file: str
    page: int = 1
    """Of a PDF file, from 1."""
    box: str | None = None
    """Of a PDF page: the one that is laid on the drawing's page, or at `at`."""
    at: tuple[float, float] | None = None
    """Its top left corner in the drawing's own axes; None for where it fits."""
    size_mm: tuple[float, float] | None = None
    width_mm: float | None = None
    px_per_inch: float | None = None
    trace: TraceSpec | None = None
    """How its edge gives the lines; None where a drawing does."""
    extend_edge: bool = False
    """Whether the colours of its edge are continued past it."""


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
    creases: tuple[CreaseSpec, ...] = ()
    lying: bool = False
    """Whether the folded piece lies on its back, or stands."""
    viewer: str = "around"
    versions: tuple[VersionSpec, ...] = ()
    picture: PictureSpec | None = None
    artwork: ArtworkSpec | None = None
    stock: str = ""
    """What it is printed on."""
    sheet: SheetWishes = field(default_factory=SheetWishes)
    cut: CutWishes = field(default_factory=CutWishes)
    pieces: tuple[PieceSpec, ...] = ()
    """Outlines of the drawing that are taken; empty for all of them."""
    wordless: bool = False
    """Whether the piece carries no words at all."""
    parted: bool = False
    """Whether it is one of several pieces of a drawing: a panel that nothing is told of
    and that has no room carries no words then."""
    extend_edge: bool = False
    """Whether the artwork's edge colours are continued into the bleed."""
    back: BackSpec | None = None
