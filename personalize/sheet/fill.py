"""Fill sheets: every piece gets a place, every sheet its marks, rules and slug."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from personalize.design.design import Design
from personalize.fold.piece import Piece, spare
from personalize.geometry.affine import Affine
from personalize.geometry.zone import Region, grown, region_of
from personalize.sheet.backs import back_place, side_words
from personalize.sheet.boxes import Arrangement, wider
from personalize.sheet.deal import Deal
from personalize.sheet.furniture import (
    LONG_SLUG_MM,
    SLUG_LENGTH_MM,
    Slot,
    Slots,
    find_slots,
    register_marks,
    rule,
    slug,
    slug_words,
    where_words,
)
from personalize.sheet.grid import grids
from personalize.sheet.hand import (
    HAND_SPACING_MM,
    LINE_MM,
    guides,
    hand_words,
    lanes,
    moved,
    reach_mm,
    straight_rows,
)
from personalize.sheet.ink import Ink, InkStroke, RegisterMark
from personalize.sheet.nest import arrangements
from personalize.sheet.paper import Paper, Rect
from personalize.sheet.precut import arranged, fit_of
from personalize.sheet.rules import SheetRules
from personalize.sheet.spare_lines import spare_lines
from personalize.sheet.too_large import too_large
from personalize.units import FLATTEN_MM

__all__ = ["Plan", "Sheet", "SheetRules", "fill", "plan_sheets"]

CUT_STEM = "cut"


@dataclass(frozen=True, slots=True)
class Plan:
    """How the sheets of one design are laid out, before any piece is placed."""

    design: Design
    rules: SheetRules
    arrangement: Arrangement
    spacing_mm: float
    bleed_mm: float
    """Effective bleed: at most half the spacing, so that no neighbour is printed over."""
    marks: tuple[RegisterMark, ...]
    slots: Slots | None
    guides: tuple[InkStroke, ...] = ()
    """What guides hands round one piece, in piece mm."""
    lanes: tuple[InkStroke, ...] = ()
    """Ticks for the first straight cuts by hand."""
    cut_stem: str = CUT_STEM
    """Name of the cut files, without their ends."""

    @property
    def last_cut_file(self) -> str:
        """Name of the cut file of a last sheet that is filled otherwise."""
        return f"{self.cut_stem}-last.svg"

    @property
    def kept_free(self) -> tuple[Rect, ...]:
        """Clear zones of register marks and of machines or hands, in sheet mm."""
        return (*(mark.clear_zone for mark in self.marks), *self.rules.clear_boxes)

    @property
    def printed(self) -> Region:
        """How far artwork is printed round a piece, in piece mm."""
        return _printed(self.design, self.bleed_mm)

    @property
    def back_bleed_mm(self) -> float:
        """How much of its bleed a back gets, 0 where there is none."""
        back = self.design.back
        return min(back.margins.bleed, self.spacing_mm / 2) if back is not None else 0.0

    @property
    def printed_sides(self) -> Mapping[str, Region]:
        """How far each side of a piece is printed, by the names of their designs."""
        sides = {self.design.name: self.printed}
        back = self.design.back
        if back is not None and self.rules.two_sided:
            sides[back.name] = _printed(back, self.back_bleed_mm)
        return sides

    @property
    def per_sheet(self) -> int:
        """Places on a full sheet."""
        return len(self.arrangement.places)

    def sheets_for(self, pieces: int) -> int:
        """Sheets needed for a number of pieces."""
        return self.deal(pieces).sheets

    def deal(self, pieces: int) -> Deal:
        """Say how a number of pieces goes on sheets."""
        rules = self.rules
        return Deal(pieces, self.per_sheet, rules.skipped, rules.order, rules.spares)


def _printed(design: Design, bleed_mm: float) -> Region:
    outline = region_of(design.outline.flattened(FLATTEN_MM))
    return grown(outline, bleed_mm) if bleed_mm > 0 else outline


@dataclass(frozen=True, slots=True)
class Among:
    """Where the sheets of one design stand among those of a whole run."""

    before: int = 0
    """Sheets that come before its first."""
    sheets: int | None = None
    """Of the whole run; None where these are all."""


ALONE = Among()


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece on a sheet; `at` maps piece mm to sheet mm."""

    piece: Piece
    at: Affine


@dataclass(frozen=True, slots=True)
class Sheet:
    """One printed page."""

    number: int
    paper: Paper
    placed: tuple[Placed, ...]
    marks: tuple[RegisterMark, ...]
    furniture: tuple[Ink, ...]
    """Rules and slug."""
    cut_file: str
    """Name of the cut file that belongs to it."""
    stock: str = ""
    """What it is printed on; empty where that is not said."""
    side: str = "front"
    back: "Sheet | None" = None
    """The page for its other side, where sheets are printed on both."""


def plan_sheets(design: Design, rules: SheetRules, *, fully: bool = True) -> Plan:
    """Lay out a sheet of a design. Raises InputError when not one piece fits.

    A plain grid will do where nothing is printed (not `fully`) and it has a place: that
    is quicker. Where sheets are two-sided, margins hold for both sides.
    """
    if rules.precut is not None:
        return _plan_precut(design, rules)
    bleed = widest = design.margins.bleed
    if rules.flip is not None and rules.two_sided:
        rules = replace(rules, margins=rules.flip.both(rules.margins))
        widest = max(bleed, design.back.margins.bleed if design.back is not None else 0.0)
    spacing = _spacing(rules, widest)
    effective, taken_mm = min(bleed, spacing / 2), min(widest, spacing / 2)
    marks = _marks(rules)
    area = printable = rules.margins.within(rules.paper)
    drawn = guides(design, rules.by_hand, spacing)
    if drawn:
        area = wider(area, min(taken_mm - reach_mm(design), 0.0))
    zones = zones_of(rules, marks)
    first: Plan | None = None
    outline = region_of(design.outline.flattened(FLATTEN_MM)).mapped(rules.piece_map)
    room = {"spacing_mm": spacing, "bleed_mm": taken_mm}
    quick = () if fully else tuple(grids(outline, area, clear_zones=zones, **room))
    grain = design.sheet.along_grain(folded=bool(design.creases))
    # Where a grid has no place, shapes may still lie between the marks.
    search = straight_rows if rules.by_hand else partial(arrangements, along_grain=grain)
    for found in quick or search(outline, area, clear_zones=zones, **room):
        ticks = lanes(found.boxes, printable) if rules.by_hand else ()
        taken = [*_grown(found.boxes, taken_mm), *zones]
        taken += [wider(tick.contour.bounds(), LINE_MM) for tick in ticks]
        slots = _slots(rules, area, taken)
        places = tuple(at @ rules.piece_map for at in found.places)
        laid = Arrangement(places, found.boxes)
        plan = Plan(design, rules, laid, spacing, effective, marks, slots, drawn, ticks)
        if slots is not None:
            return plan
        first = first or plan
    if first is None:
        raise too_large(design, area, rules)
    return first


def _spacing(rules: SheetRules, bleed_mm: float) -> float:
    if rules.spacing_mm is not None:
        return rules.spacing_mm
    spacing = 2 * bleed_mm if bleed_mm > 0 else 3.0
    return max(spacing, HAND_SPACING_MM) if rules.by_hand else spacing


def _slots(rules: SheetRules, area: Rect, taken: Sequence[Rect]) -> Slots | None:
    long = LONG_SLUG_MM if rules.clear and not rules.marks else SLUG_LENGTH_MM
    return find_slots(area, taken, long) or find_slots(area, taken)


def _plan_precut(design: Design, rules: SheetRules) -> Plan:
    """Put a design into the places of labels that are cut already."""
    precut = rules.precut
    assert precut is not None
    outline = region_of(design.outline.flattened(FLATTEN_MM)).mapped(rules.piece_map)
    fit = fit_of(outline, precut)
    found = arranged(outline, precut, fit)
    area = rules.margins.within(rules.paper)
    slots = find_slots(area, [*found.boxes, *zones_of(rules, ())])
    laid = Arrangement(tuple(at @ rules.piece_map for at in found.places), found.boxes)
    bleed = min(design.margins.bleed, fit.room_mm)
    return Plan(design, rules, laid, precut.gap_mm, bleed, (), slots)


def _marks(rules: SheetRules) -> tuple[RegisterMark, ...]:
    if not rules.marks:
        return ()
    if rules.own_marks:
        return rules.own_marks
    return register_marks(rules.paper, rules.margins, rules.mark_kind)


def zones_of(rules: SheetRules, marks: Sequence[RegisterMark]) -> tuple[Rect, ...]:
    """Give what pieces leave free: round the marks, and where the maker says so."""
    return (
        *(mark.clear_zone for mark in marks),
        *(box for zone in rules.clear for box in zone.boxes(rules.paper)),
    )


def _grown(boxes: Sequence[Rect], by: float) -> list[Rect]:
    return [(b[0] - by, b[1] - by, b[2] + by, b[3] + by) for b in boxes]


def fill(
    plan: Plan, pieces: Iterable[Piece], count: int, among: Among = ALONE
) -> Iterator[Sheet]:
    """Place `count` pieces in their order, giving each sheet as soon as it is full.

    Sheets are numbered `among` those of other designs. The last sheet is filled up with
    spares unless the rules say not to.
    """
    deal = plan.deal(count)
    for number, batch in enumerate(deal.batches(pieces), 1):
        places = places_on(plan, number, count)
        bare = spare(plan.design, back=plan.rules.two_sided)
        batch += [bare] * (len(places) - len(batch))
        told = (among.before + number, among.sheets or deal.sheets)
        front = Sheet(
            among.before + number,
            plan.rules.paper,
            tuple(Placed(piece, at) for piece, at in zip(batch, places, strict=True)),
            plan.marks,
            (
                *_by_hand(plan, places),
                *_furniture(plan, *told, batch),
                *_on_spares(plan, batch, places),
            ),
            cut_file_of(plan, number, count),
            plan.design.stock,
        )
        yield _with_back(plan, front, *told)


def _by_hand(plan: Plan, places: Sequence[Affine]) -> Iterator[Ink]:
    """Give what guides hands on a sheet."""
    for at in places:
        yield from moved(plan.guides, at)
    yield from plan.lanes


def _on_spares(
    plan: Plan, pieces: Sequence[Piece], places: Sequence[Affine]
) -> Iterator[Ink]:
    """Draw lines to write on, where they are asked for."""
    if plan.rules.spare_lines:
        for piece, at in zip(pieces, places, strict=True):
            if piece.row is None:
                yield from spare_lines(plan.design, at)


def _with_back(plan: Plan, front: Sheet, number: int, total: int) -> Sheet:
    """Give a sheet with its other side, if it has one: marks stay on the front."""
    flip, paper = plan.rules.flip, plan.rules.paper
    if flip is None or not plan.rules.two_sided:
        return front
    placed = tuple(
        Placed(back, back_place(one.at, back.design.turned, flip, paper))
        for one in front.placed
        if (back := one.piece.back) is not None
    )
    ink: tuple[Ink, ...] = ()
    if plan.slots is not None:
        rows = [p.piece.row for p in front.placed if p.piece.row is not None]
        slot = plan.slots.slug
        turned = Slot(flip.box(slot.box, paper), upright=slot.upright)
        ink = slug(turned, slug_of(plan, number, total, rows, back=True))
    other = replace(front, placed=placed, marks=(), furniture=ink, side="back")
    return replace(front, back=other)


def places_on(plan: Plan, number: int, count: int) -> tuple[Affine, ...]:
    """Give the places used on a sheet (from 1), spares among them."""
    return tuple(plan.arrangement.places[i] for i in plan.deal(count).places(number))


def cut_file_of(plan: Plan, number: int, count: int) -> str:
    """Name the cut file: one for all sheets, unless the last is filled otherwise.

    Empty where no machine cuts.
    """
    if not plan.rules.is_machine_cut:
        return ""
    deal = plan.deal(count)
    like_first = deal.places(number) == deal.places(1)
    return f"{plan.cut_stem}.svg" if like_first else plan.last_cut_file


def _furniture(
    plan: Plan, number: int, total: int, pieces: Sequence[Piece]
) -> tuple[Ink, ...]:
    if plan.slots is None:
        return ()
    rows = [piece.row for piece in pieces if piece.row is not None]
    words = slug_of(plan, number, total, rows, back=False)
    if plan.rules.clear and not plan.rules.marks:
        words += where_words(plan.arrangement.boxes[: len(pieces)], plan.rules.paper)
    return (
        *rule(plan.slots.level_rule, plan.slots.rule_mm),
        *rule(plan.slots.upright_rule, plan.slots.rule_mm),
        *slug(plan.slots.slug, words),
    )


def slug_of(
    plan: Plan, number: int, total: int, rows: Sequence[int], *, back: bool | None = None
) -> str:
    """Say which sheet this is; of a two-sided one, which side (None: both)."""
    design, paper, flip = plan.design, plan.rules.paper.name, plan.rules.flip
    side = ""
    if flip is not None and plan.rules.two_sided and back is not None:
        side = side_words(flip, back=back)
        side += ", left blank" if back and design.back is None else ""
    words = slug_words(design.name, number, total, rows, paper, design.stock, side)
    return words + hand_words(design) if plan.rules.by_hand and not back else words
