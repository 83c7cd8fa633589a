"""Plans: how the sheets of a design, or of several together, are laid out.

A sheet holds kits, dealt out one after the other. Most often a kit is one piece. Where
the pieces of a guest are to lie side by side, it is one piece of each of several designs.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from personalize.design.design import Design
from personalize.design.pieces import JOINT
from personalize.errors import ApartError
from personalize.geometry.affine import Affine, Point
from personalize.geometry.convex import lie_apart
from personalize.geometry.zone import Region, grown, region_of
from personalize.sheet.around import area_inside, around_of, beside
from personalize.sheet.boxes import Arrangement, wider
from personalize.sheet.deal import Deal, Order
from personalize.sheet.furniture import (
    LONG_SLUG_MM,
    SLUG_LENGTH_MM,
    Slots,
    find_slots,
)
from personalize.sheet.grid import grids
from personalize.sheet.hand import (
    HAND_SPACING_MM,
    LINE_MM,
    guides,
    lanes,
    reach_mm,
    straight_rows,
)
from personalize.sheet.ink import InkStroke, RegisterMark
from personalize.sheet.kept_free import marks_of, zones_of
from personalize.sheet.kit_nest import KitShape, kit_arrangements
from personalize.sheet.nest import arrangements
from personalize.sheet.paper import Rect
from personalize.sheet.precut import arranged, fit_of
from personalize.sheet.rules import SheetRules
from personalize.sheet.too_large import kit_too_large, too_large
from personalize.units import FLATTEN_MM

CUT_STEM = "cut"
_ALL_SLOTS = 3
"""A slug and two rules."""


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


@dataclass(frozen=True, slots=True)
class _Room:
    """What designs ask of the sheets that they share, and what these offer."""

    designs: tuple[Design, ...]
    rules: SheetRules
    spacing_mm: float
    taken_mm: float
    """Round each outline: the widest bleed of all, at most half the spacing."""
    marks: tuple[RegisterMark, ...]
    members: tuple[Member, ...]

    @property
    def printable(self) -> Rect:
        return self.rules.margins.within(self.rules.paper)

    @property
    def area(self) -> Rect:
        """Where pieces and their bleed may lie."""
        if not any(member.guides for member in self.members):
            if not self.rules.around_mm:
                return self.printable
            # Where a cut round the pieces has no room, it is that which is told later.
            inside = area_inside(self.printable, self.rules, self.taken_mm)
            return inside or self.printable
        reach = max(reach_mm(design) for design in self.designs)
        return wider(self.printable, min(self.taken_mm - reach, 0.0))

    @property
    def zones(self) -> tuple[Rect, ...]:
        return zones_of(self.rules, self.marks)

    @property
    def far_zones(self) -> tuple[Rect, ...]:
        """Zones with what a cut round the pieces needs beside them."""
        by = max((self.rules.around_mm or 0.0) - self.taken_mm, 0.0)
        return tuple(wider(zone, by) for zone in self.zones)

    def outline(self, design: Design) -> Region:
        """Give the outline as it is printed."""
        return outline_of(design).mapped(self.rules.piece_map)

    def grids(self, outline: Region) -> Iterator[Arrangement]:
        """Lay an outline out in plain grids."""
        return grids(
            outline,
            self.area,
            spacing_mm=self.spacing_mm,
            bleed_mm=self.taken_mm,
            clear_zones=self.far_zones,
        )

    def plan(self, kit: tuple[int, ...], found: Arrangement) -> Plan:
        """Make a plan of places that were found."""
        rules = self.rules
        ticks = lanes(found.boxes, self.printable) if rules.by_hand else ()
        taken = [*(wider(box, self.taken_mm) for box in found.boxes), *self.zones]
        taken += [wider(tick.contour.bounds(), LINE_MM) for tick in ticks]
        taken += beside(found.boxes, rules)
        area = self.printable if rules.around_mm else self.area
        slots = _slots(rules, area, taken)
        laid = Arrangement(tuple(at @ rules.piece_map for at in found.places), found.boxes)
        return Plan(
            self.members, kit, rules, laid, self.spacing_mm, self.marks, slots, ticks
        )

    def best(self, kit: tuple[int, ...], found: Sequence[Arrangement]) -> Plan | None:
        """Take the first that leaves room for rules and slug, or for most of these.

        Raises ApartError where its pieces would not keep their distances.
        """
        best, most = None, -1
        for one in found:
            plan = self.plan(kit, one)
            held = 0 if plan.slots is None else len(plan.slots.boxes)
            if held > most:
                best, most = plan, held
            if held == _ALL_SLOTS:
                break
        if best is not None:
            self._prove(best)
        return best

    def _prove(self, plan: Plan) -> None:
        """Prove what is used, in whatever way and in whatever run it was found."""
        outlines = [outline_of(one) for one in self.designs]
        number = len(plan.kit)
        laid = [
            outlines[plan.kit[i % number]].mapped(at)
            for i, at in enumerate(plan.arrangement.places)
        ]
        if not lie_apart(laid, self.spacing_mm, self.area, self.taken_mm, self.far_zones):
            raise ApartError(f"the pieces of {plan.name} would not lie apart on a sheet.")


def _room(designs: Sequence[Design], rules: SheetRules) -> _Room:
    """Measure what pieces of some designs need. Margins hold for both sides."""
    rules = replace(rules, margins=rules.all_margins)
    if rules.order is None:
        wishes = (one.sheet.order for one in designs if one.sheet.order is not None)
        rules = replace(rules, order=Order(next(wishes, Order.SHEETS)))
    rules = replace(rules, around_mm=around_of(designs, rules))
    widest = max(_bleed_mm(side) for one in designs for side in _sides(one, rules))
    spacing = _spacing(rules, widest)
    members = tuple(
        Member(
            one,
            min(one.margins.bleed, spacing / 2),
            min(one.back.margins.bleed, spacing / 2) if one.back is not None else 0.0,
            guides(one, rules.by_hand, spacing),
        )
        for one in designs
    )
    taken = min(widest, spacing / 2)
    return _Room(tuple(designs), rules, spacing, taken, marks_of(rules), members)


def _sides(design: Design, rules: SheetRules) -> Iterator[Design]:
    yield design
    if rules.two_sided and design.back is not None:
        yield design.back


def _bleed_mm(design: Design) -> float:
    return design.margins.bleed


def plan_sheets(design: Design, rules: SheetRules, *, fully: bool = True) -> Plan:
    """Lay out a sheet of a design. Raises InputError when not one piece fits.

    A plain grid will do where nothing is printed (not `fully`) and it has a place: that
    is quicker. Where sheets are two-sided, margins hold for both sides.
    """
    if rules.precut is not None:
        return _plan_precut(design, rules)
    room = _room((design,), rules)
    outline = room.outline(design)
    quick = () if fully else tuple(room.grids(outline))
    grain = design.sheet.along_grain(folded=bool(design.creases))
    # Where a grid has no place, shapes may still lie between the marks.
    search = straight_rows if rules.by_hand else arrangements
    found = quick or search(
        outline,
        room.area,
        spacing_mm=room.spacing_mm,
        bleed_mm=room.taken_mm,
        clear_zones=room.far_zones,
        along_grain=grain,
    )
    plan = room.best((0,), found)
    if plan is None and room.rules.around_mm:
        return plan_sheets(design, replace(rules, around_mm=0.0), fully=fully)
    if plan is None:
        raise too_large(design, room.area, room.rules)
    return plan


def plan_kits(designs: Sequence[Design], rules: SheetRules) -> Plan:
    """Lay out sheets that several designs share: pieces of one guest lie on one sheet.

    A kit has as many pieces of each as belong to a message. Raises InputError when not one
    kit fits.
    """
    room = _room(designs, rules)
    kit = tuple(i for i, one in enumerate(designs) for _ in range(one.per_message))
    shapes = tuple(
        KitShape(room.outline(one), one.sheet.along_grain(folded=bool(one.creases)))
        for one in designs
    )
    found = kit_arrangements(
        shapes,
        kit,
        room.area,
        spacing_mm=room.spacing_mm,
        bleed_mm=room.taken_mm,
        clear_zones=room.far_zones,
    )
    plan = room.best(kit, found)
    if plan is None and room.rules.around_mm:
        return plan_kits(designs, replace(rules, around_mm=0.0))
    if plan is None:
        raise kit_too_large(designs, rules)
    return plan


def _spacing(rules: SheetRules, bleed_mm: float) -> float:
    if rules.spacing_mm is not None:
        return rules.spacing_mm
    spacing = 2 * bleed_mm if bleed_mm > 0 else 3.0
    return max(spacing, HAND_SPACING_MM) if rules.by_hand else spacing


def _slots(rules: SheetRules, area: Rect, taken: Sequence[Rect]) -> Slots | None:
    long = LONG_SLUG_MM if rules.clear and not rules.marks else SLUG_LENGTH_MM
    found = find_slots(area, taken, long)
    if found is not None and found.rules is not None:
        return found
    return find_slots(area, taken) or found


def _plan_precut(design: Design, rules: SheetRules) -> Plan:
    """Put a design into the places of labels that are cut already."""
    precut = rules.precut
    assert precut is not None
    outline = outline_of(design).mapped(rules.piece_map)
    fit = fit_of(outline, precut)
    found = arranged(outline, precut, fit)
    area = rules.margins.within(rules.paper)
    slots = find_slots(area, [*found.boxes, *zones_of(rules, ())])
    laid = Arrangement(tuple(at @ rules.piece_map for at in found.places), found.boxes)
    back = design.back.margins.bleed if design.back is not None else 0.0
    member = Member(
        design,
        min(design.margins.bleed, fit.room_mm),
        min(back, fit.room_mm),
    )
    return Plan((member,), (0,), rules, laid, precut.gap_mm, (), slots)
