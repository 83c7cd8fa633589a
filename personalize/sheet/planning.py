"""Making plans: where the pieces of a kit lie, and what else a sheet has room for.

Places are found by `nest`, `kit_nest`, or in straight rows for hands; of those that are as
full the first is taken that leaves room for slug and rules. Its distances are proved.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from personalize.design.design import Design
from personalize.errors import ApartError
from personalize.geometry.convex import lie_apart
from personalize.geometry.zone import Region
from personalize.sheet.around import area_inside, around_of, beside
from personalize.sheet.boxes import Arrangement, wider
from personalize.sheet.deal import Order
from personalize.sheet.grid import grids
from personalize.sheet.hand import (
    HAND_SPACING_MM,
    LINE_MM,
    guides,
    lanes,
    reach_mm,
    straight_rows,
)
from personalize.sheet.ink import RegisterMark
from personalize.sheet.kept_free import marks_of, zones_of
from personalize.sheet.kit_nest import KitShape, kit_arrangements
from personalize.sheet.nest import arrangements
from personalize.sheet.paper import Rect
from personalize.sheet.plan import Member, Plan, outline_of
from personalize.sheet.precut import arranged, fit_of
from personalize.sheet.rules import SheetRules
from personalize.sheet.slots import (
    LONG_SLUG_MM,
    SLUG_LENGTH_MM,
    Slots,
    bands,
    find_slots,
    strips,
)
from personalize.sheet.too_large import kit_too_large, too_large


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
        laid = Arrangement(tuple(at @ rules.piece_map for at in found.places), found.boxes)
        taken = [wider(band, self.taken_mm) for band in self._bands(kit, laid)]
        taken += self.zones
        taken += [wider(tick.contour.bounds(), LINE_MM) for tick in ticks]
        taken += beside(found.boxes, rules)
        area = self.printable if rules.around_mm else self.area
        slots = _slots(rules, area, taken)
        return Plan(
            self.members, kit, rules, laid, self.spacing_mm, self.marks, slots, ticks
        )

    def fullest(
        self, kit: tuple[int, ...], search: Callable[..., Sequence[Arrangement]]
    ) -> Plan | None:
        """Take the fullest sheet; where it has no room for the rules, know another too.

        `search` finds arrangements round given `clear_zones`.
        """
        plan = self.best(kit, search(clear_zones=self.far_zones))
        if plan is None or plan.tells_all:
            return plan
        zones = (*self.far_zones, *strips(self.area))
        other = self.best(kit, search(clear_zones=zones))
        return replace(plan, roomier=other) if other and other.tells_all else plan

    def best(self, kit: tuple[int, ...], found: Sequence[Arrangement]) -> Plan | None:
        """Take the first that leaves room for rules and slug, or for most of these.

        Raises ApartError where its pieces would not keep their distances.
        """
        best, most = None, -1
        for one in found:
            plan = self.plan(kit, one)
            told = 0 if plan.slots is None else plan.slots.told
            if told > most:
                best, most = plan, told
            if plan.tells_all:
                break
        if best is not None:
            self._prove(best)
        return best

    def _laid(self, kit: tuple[int, ...], found: Arrangement) -> Iterator[Region]:
        """Give the outlines of all pieces where they lie."""
        outlines = [outline_of(one) for one in self.designs]
        for i, at in enumerate(found.places):
            yield outlines[kit[i % len(kit)]].mapped(at)

    def _bands(self, kit: tuple[int, ...], found: Arrangement) -> list[Rect]:
        return [band for one in self._laid(kit, found) for band in bands(one)]

    def _prove(self, plan: Plan) -> None:
        """Prove what is used, in whatever way and in whatever run it was found."""
        laid = list(self._laid(plan.kit, plan.arrangement))
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
    search = partial(
        straight_rows if rules.by_hand else arrangements,
        outline,
        room.area,
        spacing_mm=room.spacing_mm,
        bleed_mm=room.taken_mm,
        along_grain=grain,
    )
    plan = room.fullest((0,), search) if not quick else room.best((0,), quick)
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
    search = partial(
        kit_arrangements,
        shapes,
        kit,
        room.area,
        spacing_mm=room.spacing_mm,
        bleed_mm=room.taken_mm,
    )
    plan = room.fullest(kit, search)
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
