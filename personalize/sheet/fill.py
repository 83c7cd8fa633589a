"""Fill sheets: every piece gets a place, every sheet its marks, rules and slug."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice

from personalize.design.design import Design
from personalize.errors import refuse
from personalize.fold.piece import Piece, spare
from personalize.geometry.affine import IDENTITY, Affine, scaling, translation
from personalize.geometry.zone import Region, grown, region_of
from personalize.sheet.backs import Flip, back_place, side_words
from personalize.sheet.boxes import Arrangement
from personalize.sheet.clear import ClearZone
from personalize.sheet.cutting import Uncut
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
from personalize.sheet.ink import DieLine, Ink, MarkKind, RegisterMark
from personalize.sheet.machine import Correction
from personalize.sheet.nest import arrangements
from personalize.sheet.paper import Paper, PaperMargins, Rect, parse_paper
from personalize.units import FLATTEN_MM

CUT_STEM = "cut"
LARGER_PAPERS = ("A3", "Tabloid", "A2", "A1")
"""Papers that are tried for a piece that is too large, from the smallest."""
SCALES = tuple(percent / 100 for percent in range(95, 45, -5))
"""Parts of its size that are tried for it."""


@dataclass(frozen=True, slots=True)
class SheetRules:
    """What the maker chose for her sheets."""

    paper: Paper
    margins: PaperMargins = field(default_factory=PaperMargins)
    spacing_mm: float | None = None
    """None: twice the bleed, or 3 mm without bleed."""
    marks: bool = True
    mark_kind: MarkKind = MarkKind.CROSS_HAIR
    own_marks: tuple[RegisterMark, ...] = ()
    """Marks that the maker has drawn; none of ours then."""
    spares: bool = True
    clear: tuple[ClearZone, ...] = ()
    """Parts of the sheet that pieces leave free."""
    mirror: bool = False
    """Pieces in mirror image, in print and cut alike: for film that is transferred."""
    face_down: bool = False
    """The cut alone mirrored over the sheet's upright axis: its print lies down."""
    correction: Correction = field(default_factory=Correction)
    """What makes print and cut come out true on the maker's machines."""
    flip: Flip | None = None
    """How sheets are turned over for the backs of pieces; None where that is not said."""

    @property
    def two_sided(self) -> bool:
        """Whether backs are printed."""
        return self.flip not in {None, Flip.NONE}

    @property
    def piece_map(self) -> Affine:
        """Map of a piece to itself as it is printed: its mirror image, or as it is."""
        return scaling(-1, 1) if self.mirror else IDENTITY

    @property
    def cut_map(self) -> Affine:
        """From sheet mm to the mm of the cut file."""
        over = translation(self.paper.width_mm, 0) @ scaling(-1, 1)
        return self.correction.cut @ over if self.face_down else self.correction.cut

    @property
    def clear_boxes(self) -> tuple[Rect, ...]:
        """Clear zones of machines or hands, in sheet mm."""
        return tuple(box for zone in self.clear for box in zone.boxes(self.paper))


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
        return -(-pieces // self.per_sheet)


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


@dataclass(frozen=True, slots=True)
class CutLayout:
    """The die lines of a sheet; sheets filled alike share one."""

    file: str
    paper: Paper
    lines: tuple[DieLine, ...]
    """In the order of cutting."""
    uncut: tuple[Uncut, ...] = ()
    """What is left uncut on purpose."""


def plan_sheets(design: Design, rules: SheetRules, *, fully: bool = True) -> Plan:
    """Lay out a sheet of a design. Raises InputError when not one piece fits.

    A plain grid will do where nothing is printed (not `fully`) and it has a place: that
    is quicker. Where sheets are two-sided, margins hold for both sides.
    """
    bleed = widest = design.margins.bleed
    if rules.flip is not None and rules.two_sided:
        rules = replace(rules, margins=rules.flip.both(rules.margins))
        widest = max(bleed, design.back.margins.bleed if design.back is not None else 0.0)
    spacing = rules.spacing_mm
    if spacing is None:
        spacing = 2 * widest if widest > 0 else 3.0
    effective, taken_mm = min(bleed, spacing / 2), min(widest, spacing / 2)
    marks = _marks(rules)
    area = rules.margins.within(rules.paper)
    zones = zones_of(rules, marks)
    first: Plan | None = None
    outline = region_of(design.outline.flattened(FLATTEN_MM)).mapped(rules.piece_map)
    quick: tuple[Arrangement, ...] = ()
    if not fully:
        quick = tuple(
            grids(outline, area, spacing_mm=spacing, bleed_mm=taken_mm, clear_zones=zones)
        )
    # Where a grid has no place, shapes may still lie between the marks.
    for found in quick or arrangements(
        outline, area, spacing_mm=spacing, bleed_mm=taken_mm, clear_zones=zones
    ):
        taken = [*_grown(found.boxes, taken_mm), *zones]
        long = LONG_SLUG_MM if rules.clear and not rules.marks else SLUG_LENGTH_MM
        slots = find_slots(area, taken, long) or find_slots(area, taken)
        places = tuple(at @ rules.piece_map for at in found.places)
        laid = Arrangement(places, found.boxes)
        plan = Plan(design, rules, laid, spacing, effective, marks, slots)
        if slots is not None:
            return plan
        first = first or plan
    if first is None:
        raise _too_large(design, area, rules)
    return first


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


def _too_large(design: Design, area: Rect, rules: SheetRules) -> Exception:
    x0, y0, x1, y1 = design.box_mm
    marks = ", and the register marks take its corners" if rules.marks else ""
    marks += ", less the clear zones" if rules.clear else ""
    return refuse(
        design.file,
        f"the piece is {x1 - x0:.1f} x {y1 - y0:.1f} mm and does not fit on"
        f" {rules.paper.name} paper: there are"
        f" {area[2] - area[0]:.1f} x {area[3] - area[1]:.1f} mm inside the margins{marks}.",
        _what_helps(design, rules),
    )


def _what_helps(design: Design, rules: SheetRules) -> str:
    """Say what to do; of what is said to fit, a plain grid was tried."""
    larger = (name for name in LARGER_PAPERS if _has_place(design, _on(rules, name)))
    found = next(larger, None)
    do = f"Take larger paper{f' ({found} has room)' if found else ''}, smaller margins"
    if rules.marks:
        fits = _has_place(design, replace(rules, marks=False))
        do += f", or --marks none{' (then it fits)' if fits else ''}"
    scale = next((s for s in SCALES if _has_place(design, rules, s)), None)
    at = f"; drawn at {scale:.0%} of its size it would fit" if scale else ""
    return f"{do}{at}."


def _on(rules: SheetRules, paper: str) -> SheetRules:
    return replace(rules, paper=parse_paper(paper))


def _has_place(design: Design, rules: SheetRules, scale: float = 1.0) -> bool:
    """Whether a plain grid of a piece, drawn smaller, has a place."""
    outline = region_of(design.outline.flattened(FLATTEN_MM)).mapped(scaling(scale))
    marks = register_marks(rules.paper, rules.margins) if rules.marks else ()
    zones = [mark.clear_zone for mark in marks]
    zones += [box for zone in rules.clear for box in zone.boxes(rules.paper)]
    area = rules.margins.within(rules.paper)
    bleed = design.margins.bleed
    found = grids(outline, area, spacing_mm=2 * bleed, bleed_mm=bleed, clear_zones=zones)
    return next(found, None) is not None


def fill(
    plan: Plan, pieces: Iterable[Piece], count: int, among: Among = ALONE
) -> Iterator[Sheet]:
    """Place `count` pieces in their order, giving each sheet as soon as it is full.

    Sheets are numbered `among` those of other designs. The last sheet is filled up with
    spares unless the rules say not to.
    """
    coming, total = iter(pieces), plan.sheets_for(count)
    for number in range(1, total + 1):
        batch = list(islice(coming, plan.per_sheet))
        places = plan.arrangement.places[: places_used(plan, number, count)]
        bare = spare(plan.design, back=plan.rules.two_sided)
        batch += [bare] * (len(places) - len(batch))
        told = (among.before + number, among.sheets or total)
        front = Sheet(
            among.before + number,
            plan.rules.paper,
            tuple(Placed(piece, at) for piece, at in zip(batch, places, strict=True)),
            plan.marks,
            _furniture(plan, *told, batch),
            cut_file_of(plan, number, count),
            plan.design.stock,
        )
        yield _with_back(plan, front, *told)


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


def places_used(plan: Plan, number: int, count: int) -> int:
    """Count the places used on a sheet, spares among them."""
    if plan.rules.spares:
        return plan.per_sheet
    return min(plan.per_sheet, count - (number - 1) * plan.per_sheet)


def cut_file_of(plan: Plan, number: int, count: int) -> str:
    """Name the cut file: one for all sheets, unless the last is filled otherwise."""
    like_first = places_used(plan, number, count) == places_used(plan, 1, count)
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
    return slug_words(design.name, number, total, rows, paper, design.stock, side)
