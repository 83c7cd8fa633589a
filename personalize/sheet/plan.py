"""Plans: how the sheets of a design, or of several together, are laid out.

A sheet holds kits, dealt out one after the other. Most often a kit is one piece. Where
the pieces of a guest are to lie side by side, it is one piece of each of several designs.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from personalize.design.design import Design
from personalize.design.pieces import JOINT
from personalize.geometry.affine import Affine, Point
from personalize.geometry.zone import Region, grown, region_of
from personalize.sheet.boxes import Arrangement
from personalize.sheet.deal import Deal, Order
from personalize.sheet.ink import InkStroke, RegisterMark
from personalize.sheet.paper import Rect
from personalize.sheet.rules import SheetRules
from personalize.sheet.slots import Slots
from personalize.units import FLATTEN_MM

CUT_STEM = "cut"


@dataclass(frozen=True, slots=True)
class Member:
    """One design on the sheets of a plan."""

    design: Design
    bleed_mm: float
    """Effective bleed: at most half the spacing, so that no neighbour is printed over."""
    back_bleed_mm: float = 0.0
    """That of its back, 0 where it has none."""
    guides: tuple[InkStroke, ...] = ()
    """What guides hands round one piece, in piece mm."""

    @property
    def printed(self) -> Region:
        """How far artwork is printed round a piece, in piece mm."""
        return _printed(self.design, self.bleed_mm)


@dataclass(frozen=True, slots=True)
class Plan:
    """How the sheets of some designs are laid out, before any piece is placed."""

    members: tuple[Member, ...]
    kit: tuple[int, ...]
    """The pieces of a kit, in their order: for each the number of its design among the
    members."""
    rules: SheetRules
    arrangement: Arrangement
    """Places kit by kit, in the order of its pieces."""
    spacing_mm: float
    marks: tuple[RegisterMark, ...]
    slots: Slots | None
    lanes: tuple[InkStroke, ...] = ()
    """Ticks for the first straight cuts by hand."""
    cut_stem: str = CUT_STEM
    """Name of the cut files, without their ends."""
    roomier: "Plan | None" = None
    """Another that holds no more, but leaves room for rules and slug."""

    @property
    def tells_all(self) -> bool:
        """Whether its sheets have room for the slug and both rules."""
        return self.slots is not None and self.slots.rules is not None

    def for_kits(self, kits: int) -> "Plan":
        """Take the roomier plan where it needs no more sheets for a number of kits."""
        other = self.roomier
        same = other is not None and other.sheets_for(kits) == self.sheets_for(kits)
        return other if other is not None and same else self

    @property
    def designs(self) -> tuple[Design, ...]:
        """Whose pieces are on these sheets."""
        return tuple(member.design for member in self.members)

    @property
    def member(self) -> Member:
        """The only design on these sheets, with all that is known of it there."""
        (member,) = self.members
        return member

    @property
    def design(self) -> Design:
        """The only design on these sheets."""
        return self.member.design

    @property
    def name(self) -> str:
        """What the sheets are called: by their designs, or by the drawings of these."""
        return joint_name(self.designs)

    @property
    def stock(self) -> str:
        """What they are printed on, which all designs have in common."""
        return self.designs[0].stock

    @property
    def last_cut_file(self) -> str:
        """Name of the cut file of a last sheet that is filled otherwise."""
        return f"{self.cut_stem}-last.svg"

    @property
    def kept_free(self) -> tuple[Rect, ...]:
        """Clear zones of register marks and of machines or hands, in sheet mm."""
        return (*(mark.clear_zone for mark in self.marks), *self.rules.clear_boxes)

    @property
    def kept_shapes(self) -> tuple[tuple[Point, ...], ...]:
        """Corners of the same, slanted zones as they were told."""
        boxes = [mark.clear_zone for mark in self.marks]
        shapes = [((a, b), (c, b), (c, d), (a, d)) for a, b, c, d in boxes]
        return (*shapes, *(zone.on(self.rules.paper) for zone in self.rules.clear))

    @property
    def printed_sides(self) -> Mapping[str, Region]:
        """How far each side of a piece is printed, by the names of their designs."""
        sides = {}
        for member in self.members:
            sides[member.design.name] = member.printed
            back = member.design.back
            if back is not None and self.rules.two_sided:
                sides[back.name] = _printed(back, member.back_bleed_mm)
        return sides

    @property
    def per_sheet(self) -> int:
        """Kits on a full sheet."""
        return len(self.arrangement.places) // len(self.kit)

    def places_of(self, kit: int) -> tuple[tuple[Member, Affine], ...]:
        """Give where the pieces of a kit (from 0) lie on a sheet."""
        start = kit * len(self.kit)
        places = self.arrangement.places[start : start + len(self.kit)]
        members = (self.members[number] for number in self.kit)
        return tuple(zip(members, places, strict=True))

    def sheets_for(self, kits: int) -> int:
        """Sheets needed for a number of kits."""
        return self.deal(kits).sheets

    def deal(self, kits: int) -> Deal:
        """Say how a number of kits goes on sheets."""
        rules = self.rules
        order = rules.order or Order.SHEETS
        return Deal(kits, self.per_sheet, rules.skipped, order, rules.spares)


def joint_name(designs: Sequence[Design]) -> str:
    """Name some designs together; the pieces of one drawing by the drawing."""
    if len(designs) == 1:
        return designs[0].name
    names = [one.name.removesuffix(JOINT + one.piece) for one in designs]
    *others, last = dict.fromkeys(names)
    return f"{', '.join(others)} and {last}" if others else last


def _printed(design: Design, bleed_mm: float) -> Region:
    outline = outline_of(design)
    return grown(outline, bleed_mm) if bleed_mm > 0 else outline


def outline_of(design: Design) -> Region:
    """Give the outline of a design without its holes, in piece mm."""
    return region_of(design.outline.flattened(FLATTEN_MM))
