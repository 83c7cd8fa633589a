"""A design ready for use: die lines, panels with their safe zones, artwork.

All geometry is in mm with y up; the origin is the lower left corner of the SVG's page.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from personalize.design.folding import Folding
from personalize.design.style import Colour, TypeStyle
from personalize.design.wishes import CutWishes, SheetWishes
from personalize.finding import Finding
from personalize.fonts.cut_down import PartOfFont
from personalize.geometry.affine import IDENTITY, Affine, Point, rotation
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region
from personalize.messages.pattern import Pattern
from personalize.messages.same import compared, names_in


class LineKind(StrEnum):
    """What a tool does along a line, in the words of ISO 19593-1.

    Type names as in the PDF Association's Arlington model, GTS_ProcStepsType.
    """

    CUTTING = "Cutting"
    PARTIAL_CUTTING = "PartialCutting"
    CREASING = "Creasing"
    PERFORATING = "Perforating"
    GLUING = "Gluing"


@dataclass(frozen=True, slots=True)
class DesignLine:
    """One line of the design that a tool follows."""

    kind: LineKind
    contour: Contour


@dataclass(frozen=True, slots=True)
class Margins:
    """Distances that text keeps, and the bleed, in mm.

    Defaults for a home machine: common practice, no source.
    """

    outline: float = 2.5
    crease: float = 2.0
    hole: float = 3.0
    glue: float = 1.0
    bleed: float = 2.0


CUT_SHIFT_MM = 0.7
"""How far a home machine's cut may be off. Common practice, no source."""
TWO_SIDED_SHIFT_MM = 1.5
"""How far the print of one side may be off that of the other on a home printer. Common
practice, no source."""
AREA_MM = 0.5
"""Words in a text area that the maker drew keep this much from every line all the same:
a blade or a crease may be off by as much. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Stick:
    """A stick that the piece folds round."""

    diameter_mm: float
    thickness_mm: float = 0.17


@dataclass(frozen=True, slots=True)
class Ring:
    """The ring that a text runs round: between two circles, in piece coordinates."""

    centre: Point
    inner_mm: float
    outer_mm: float
    outward: bool = True
    """Whether the tops of the letters point away from the centre."""
    middle_deg: float = 0.0
    """Where the middle of the text stands: from the top as it is read, clockwise."""
    most_deg: float = 300.0
    """Largest angle that the text may take."""
    within: Region | None = None
    """Safe zone of the whole panel, where it does not hold the whole ring."""


BLOCK_JOINT = " / "
"""Between the names of a panel and its block."""


@dataclass(frozen=True, slots=True)
class Panel:
    """A place for one text: a panel of the piece, or one block of a panel."""

    name: str
    """Of the panel; where it has blocks, its name and the block's."""
    region: Region
    zone: Region
    """Safe zone in piece coordinates: one closed part, shared with the panel that this
    one faces."""
    pattern: Pattern
    style: TypeStyle
    turn_deg: float = 0.0
    """Counter-clockwise turn of the text on the flat piece."""
    faces: str | None = None
    """Name of the panel that lies back to back with this one once folded."""
    optional: bool = False
    """Whether the table may lack the column (a design without a TOML file)."""
    block: str | None = None
    """Name of the block, where the panel has several texts."""
    align: str = "centre"
    """Where the text stands: centre, start, end, left, right, top or bottom."""
    ring: Ring | None = None
    """Ring that the text runs round; None for straight lines."""
    area: Contour | None = None
    """Text area that the maker drew: it takes the place of the margins."""

    @property
    def of(self) -> str:
        """Name of the panel itself, without the block."""
        end = "" if self.block is None else BLOCK_JOINT + self.block
        return self.name.removesuffix(end)

    @property
    def to_reading(self) -> Affine:
        """Map from the piece to the frame in which the text stands upright."""
        return rotation(-self.turn_deg)


@dataclass(frozen=True, slots=True)
class Artwork:
    """The picture of a design without its die lines: a safe SVG of exactly `box_mm`.

    Where it comes from a PDF or picture file, print takes `page`, and `svg` shows the
    same to screens and checks.
    """

    svg: bytes
    box_mm: tuple[float, float, float, float]
    """In piece coordinates."""
    file: str = "the artwork"
    """Name of the drawing that it is from, for sentences."""
    fonts: tuple[PartOfFont, ...] = ()
    """What its text is set in."""
    told: tuple[Finding, ...] = field(default=(), hash=False)
    """What was found and done while it was made."""
    page: bytes | None = None
    """A PDF of one page of exactly that size, to be printed; None: that of the SVG."""
    white_edge: bool = False
    """Whether it is meant to end in white paper, as lines to be coloured in do."""

    @property
    def size_mm(self) -> Point:
        """Width and height."""
        x0, y0, x1, y1 = self.box_mm
        return (x1 - x0, y1 - y0)


@dataclass(frozen=True, slots=True)
class Version:
    """One of several pictures for the same lines."""

    name: str
    artwork: Artwork
    colour: Colour | None = None
    """Of the words on it; None for the panel's own."""


@dataclass(frozen=True, slots=True)
class PictureArea:
    """Where each row's own picture is printed."""

    contour: Contour
    """Its edge, closed, in piece coordinates: nothing of the picture is printed past it."""
    fit: str
    """"cover": the picture fills the area and is cut at its edge; "whole": all of it is
    seen, in the middle."""
    turn_deg: float
    """Counter-clockwise turn of the picture on the flat piece."""
    beside_words: bool
    """Whether words keep away from it (by the margin of a hole)."""


@dataclass(frozen=True)
class Design:
    """One printable."""

    name: str
    file: str
    """Bare name of its SVG."""
    use: tuple[str, ...]
    """What the piece is near: its care notes are shown."""
    outline: Contour
    holes: tuple[Contour, ...]
    creases: tuple[Contour, ...]
    lines: tuple[DesignLine, ...]
    """Every die line: outline, holes, slits and creases among them."""
    silhouette: Region
    """The piece within its outline, holes left out, curves flattened."""
    bleed: Region
    """The outline grown by the bleed, without holes: artwork is printed this far."""
    panels: tuple[Panel, ...]
    """Every place for a text, from panel to panel, blocks in their order."""
    margins: Margins
    stick: Stick | None
    artwork: Artwork
    """What a piece shows for which no version is chosen: the first one's."""
    folding: Folding
    """Its panels as plates in space."""
    crease_degs: tuple[float, ...]
    """Largest angle by which each of `creases` is folded."""
    versions: tuple[Version, ...] = ()
    picture: PictureArea | None = None
    slits: tuple[Contour, ...] = ()
    """Open cut lines inside the piece: words keep the margin of a hole from them."""
    glue: tuple[Contour, ...] = ()
    """Edges of the areas that take adhesive; an open one is a line of it."""
    loose_creases: int = 0
    size_stated: bool = True
    height_mm: float = 0.0
    """Height of the drawing: places in it are told from its top left."""
    left_out: tuple[str, ...] = ()
    """What of the drawing is not used, and why: hidden things, links to outside."""
    mended: tuple[str, ...] = ()
    """What was mended of its cut lines, as the maker asked."""
    piece: str = ""
    """Name of the piece in its drawing; empty where the drawing is one piece."""
    per_message: int = 1
    """How many of it are made for each copy of a message."""
    stock: str = ""
    """What it is printed on, in the maker's own words; empty where she does not say."""
    sheet: SheetWishes = field(default_factory=SheetWishes)
    cut: CutWishes = field(default_factory=CutWishes)
    told: tuple[Finding, ...] = field(default=(), hash=False)
    """What reading its drawing showed of it as one piece among others."""
    back: "Design | None" = None
    """What is printed on its other side, as it is seen from behind: a design of its own.
    None where nothing is."""
    turned: Affine = IDENTITY
    """Of a back: map from piece mm of the front to its own; it mirrors."""
    shift_mm: float = 0.0
    """Of a back: how far its print may be off the front's. Its margins have it in them."""

    @property
    def is_back(self) -> bool:
        """Whether this is the other side of a piece."""
        return self.turned != IDENTITY

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Box of the outline."""
        return self.silhouette.box

    def panel(self, name: str) -> Panel:
        """Find a panel by name. Raises KeyError."""
        return self._by_name[name]

    @property
    def _by_name(self) -> Mapping[str, Panel]:
        return {panel.name: panel for panel in self.panels}

    def named(self, cell: str) -> tuple[Version, ...]:
        """Give the versions that a cell names: as a whole, else with commas between."""
        whole = tuple(v for v in self.versions if compared(v.name) == compared(cell))
        parts = {compared(part) for part in names_in(cell)}
        return whole or tuple(v for v in self.versions if compared(v.name) in parts)

    def version(self, cell: str) -> Version | None:
        """Give the version that a row has: the one that it names, else the first.

        A row may name a version of another design of the run.
        """
        return next(iter((*self.named(cell), *self.versions)), None)

    def artwork_of(self, version: str) -> Artwork:
        """Give what a piece shows, by the exact name of its version ("" for the first)."""
        return self.artworks[version] if version else self.artwork

    @property
    def artworks(self) -> Mapping[str, Artwork]:
        """Artwork by the name of its version; by an empty name where there are none."""
        own = {version.name: version.artwork for version in self.versions}
        return own or {"": self.artwork}

    @property
    def facing_groups(self) -> tuple[tuple[Panel, ...], ...]:
        """Places that share one size on a piece: facing pairs together, others alone."""
        done: set[str] = set()
        groups = []
        for panel in self.panels:
            if panel.name in done:
                continue
            group = (panel, self.panel(panel.faces)) if panel.faces else (panel,)
            done.update(p.name for p in group)
            groups.append(group)
        return tuple(groups)

    @property
    def size_sets(self) -> tuple[tuple[tuple[Panel, ...], ...], ...]:
        """Facing groups that share a rule of sizes: those of one `size_group` together."""
        sets: dict[str, list[tuple[Panel, ...]]] = {}
        for group in self.facing_groups:
            names = [p.style.size_group for p in group if p.style.size_group]
            # A name of a panel cannot be mistaken for one of a group: it comes second.
            key = f"{names[0]}\n" if names else f"\n{group[0].name}"
            sets.setdefault(key, []).append(group)
        return tuple(map(tuple, sets.values()))
