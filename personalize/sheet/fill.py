"""Fill sheets: every piece gets a place, every sheet its marks, rules and slug."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice

from personalize.design.design import Design, LineKind
from personalize.errors import refuse
from personalize.fold.drift import CUT_SHIFT_MM
from personalize.fold.piece import Piece, spare
from personalize.geometry.affine import IDENTITY, Affine, scaling, translation
from personalize.geometry.zone import Region, grown, region_of
from personalize.sheet.around import around
from personalize.sheet.boxes import Arrangement, wider
from personalize.sheet.clear import ClearZone
from personalize.sheet.cutting import Uncut, cutting
from personalize.sheet.furniture import (
    LONG_SLUG_MM,
    RULE_MM,
    SHORT_RULE_MM,
    SLUG_LENGTH_MM,
    Slot,
    Slots,
    find_slots,
    line_of_text,
    register_marks,
    rule,
    slug,
    slug_words,
    where_words,
)
from personalize.sheet.grid import grids
from personalize.sheet.hand import (
    HAND_SHIFT_MM,
    HAND_SPACING_MM,
    LINE_MM,
    ByHand,
    guides,
    hand_words,
    lanes,
    placed,
    reach_mm,
    straight_rows,
)
from personalize.sheet.ink import DieLine, Ink, InkStroke, MarkKind, RegisterMark
from personalize.sheet.machine import Correction
from personalize.sheet.nest import arrangements
from personalize.sheet.paper import Paper, PaperMargins, Rect, parse_paper
from personalize.sheet.uncut import CutRules
from personalize.units import FLATTEN_MM

CUT_STEM = "cut"
LARGER_PAPERS = ("A3", "Tabloid", "A2", "A1")
"""Papers that are tried for a piece that is too large, from the smallest."""
SCALES = tuple(percent / 100 for percent in range(95, 45, -5))
"""Parts of its size that are tried for it."""
SLUG_STEP_MM = 5.0
"""From slug to slug on a page of their own."""


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
    by_hand: ByHand | None = None
    """How hands cut the pieces out; None for a machine."""

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
    def cut_shift_mm(self) -> float:
        """How far a cut may be off."""
        return CUT_SHIFT_MM if self.by_hand is None else HAND_SHIFT_MM

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
        outline = region_of(self.design.outline.flattened(FLATTEN_MM))
        return grown(outline, self.bleed_mm) if self.bleed_mm > 0 else outline

    @property
    def per_sheet(self) -> int:
        """Places on a full sheet."""
        return len(self.arrangement.places)

    def sheets_for(self, pieces: int) -> int:
        """Sheets needed for a number of pieces."""
        return -(-pieces // self.per_sheet)


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
    """Name of the cut file that belongs to it; empty where hands cut it."""
    stock: str = ""
    """What it is printed on; empty where that is not said."""


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
    is quicker.
    """
    bleed = design.margins.bleed
    spacing = rules.spacing_mm
    if spacing is None:
        spacing = 2 * bleed if bleed > 0 else 3.0
        spacing = max(spacing, HAND_SPACING_MM) if rules.by_hand else spacing
    effective = min(bleed, spacing / 2)
    marks = _marks(rules)
    area = printable = rules.margins.within(rules.paper)
    drawn = guides(design, rules.by_hand, spacing)
    if drawn:
        area = wider(area, min(effective - reach_mm(design), 0.0))
    zones = _zones(rules, marks)
    first: Plan | None = None
    outline = region_of(design.outline.flattened(FLATTEN_MM)).mapped(rules.piece_map)
    quick: tuple[Arrangement, ...] = ()
    if not fully:
        quick = tuple(
            grids(outline, area, spacing_mm=spacing, bleed_mm=effective, clear_zones=zones)
        )
    # Where a grid has no place, shapes may still lie between the marks.
    for found in quick or (straight_rows if rules.by_hand else arrangements)(
        outline, area, spacing_mm=spacing, bleed_mm=effective, clear_zones=zones
    ):
        ticks = lanes(found.boxes, printable) if rules.by_hand else ()
        taken = [*_grown(found.boxes, effective), *zones]
        taken += [wider(tick.contour.bounds(), LINE_MM) for tick in ticks]
        long = LONG_SLUG_MM if rules.clear and not rules.marks else SLUG_LENGTH_MM
        slots = find_slots(area, taken, long) or find_slots(area, taken)
        places = tuple(at @ rules.piece_map for at in found.places)
        laid = Arrangement(places, found.boxes)
        plan = Plan(design, rules, laid, spacing, effective, marks, slots, drawn, ticks)
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


def _zones(rules: SheetRules, marks: Sequence[RegisterMark]) -> tuple[Rect, ...]:
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
        places = plan.arrangement.places[: _places_used(plan, number, count)]
        batch += [spare(plan.design)] * (len(places) - len(batch))
        yield Sheet(
            among.before + number,
            plan.rules.paper,
            tuple(Placed(piece, at) for piece, at in zip(batch, places, strict=True)),
            plan.marks,
            (
                *_by_hand(plan, places),
                *_furniture(plan, among.before + number, among.sheets or total, batch),
            ),
            _cut_file(plan, number, count),
            plan.design.stock,
        )


def _by_hand(plan: Plan, places: Sequence[Affine]) -> Iterator[Ink]:
    """Give what guides hands on a sheet."""
    for at in places:
        yield from placed(plan.guides, at)
    yield from plan.lanes


def _places_used(plan: Plan, number: int, count: int) -> int:
    """Count the places used on a sheet, spares among them."""
    if plan.rules.spares:
        return plan.per_sheet
    return min(plan.per_sheet, count - (number - 1) * plan.per_sheet)


def _cut_file(plan: Plan, number: int, count: int) -> str:
    """Name the cut file: one for all sheets, unless the last is filled otherwise."""
    if plan.rules.by_hand is not None:
        return ""
    like_first = _places_used(plan, number, count) == _places_used(plan, 1, count)
    return f"{plan.cut_stem}.svg" if like_first else plan.last_cut_file


def _furniture(
    plan: Plan, number: int, total: int, pieces: Sequence[Piece]
) -> tuple[Ink, ...]:
    if plan.slots is None:
        return ()
    rows = [piece.row for piece in pieces if piece.row is not None]
    words = _slug_words(plan, number, total, rows)
    if plan.rules.clear and not plan.rules.marks:
        words += where_words(plan.arrangement.boxes[: len(pieces)], plan.rules.paper)
    return (
        *rule(plan.slots.level_rule, plan.slots.rule_mm),
        *rule(plan.slots.upright_rule, plan.slots.rule_mm),
        *slug(plan.slots.slug, words),
    )


def _slug_words(plan: Plan, number: int, total: int, rows: Sequence[int]) -> str:
    design, paper = plan.design, plan.rules.paper.name
    then = hand_words(design) if plan.rules.by_hand else ""
    return slug_words(design.name, number, total, rows, paper, design.stock) + then


@dataclass(frozen=True, slots=True)
class Filled:
    """The sheets of one design, as their slugs tell of them."""

    plan: Plan
    rows: Sequence[Sequence[int]]
    """Rows on each sheet."""
    among: Among = ALONE


def check_page(filled: Sequence[Filled]) -> tuple[Ink, ...]:
    """Rules and slugs on a page of their own, where sheets had no room for them.

    One page tells of all designs; nothing is given when all sheets had room.
    """
    told = [
        _slug_words(one.plan, one.among.before + i, one.among.sheets or len(one.rows), rows)
        for one in filled
        if one.plan.slots is None
        for i, rows in enumerate(one.rows, 1)
    ]
    if not told:
        return ()
    rules = filled[0].plan.rules
    x0, y0, x1, y1 = rules.margins.within(rules.paper)
    length = RULE_MM if min(x1 - x0, y1 - y0) > RULE_MM + 15 else SHORT_RULE_MM
    ink: list[Ink] = [
        *rule(Slot((x0 + 10, y0 + 2, x0 + 10 + length, y0 + 7), upright=False), length),
        *rule(Slot((x0 + 2, y0 + 10, x0 + 7, y0 + 10 + length), upright=True), length),
    ]
    lines = int((y1 - y0 - 20) // SLUG_STEP_MM)
    for i, words in enumerate(told[:lines], 1):
        at = Affine(1, 0, 0, 1, x0 + 10, y1 - SLUG_STEP_MM * i)
        ink.append(line_of_text(words, at, x1 - x0 - 14))
    return tuple(ink)


def cut_layouts(
    plan: Plan, count: int, rules: CutRules | None = None
) -> tuple[CutLayout, ...]:
    """Die lines of each different sheet, in the order of cutting.

    Raises InputError where the rules cannot be kept.
    """
    rules = rules or CutRules()
    layouts: dict[str, CutLayout] = {}
    for number in sorted({1, plan.sheets_for(count)}):
        file = _cut_file(plan, number, count)
        if file in layouts:
            continue
        places = plan.arrangement.places[: _places_used(plan, number, count)]
        cut = cutting(plan.design, places, rules, plan.spacing_mm)
        true = plan.rules.cut_map
        lines = tuple(DieLine(o.kind, o.contour.transformed(true)) for o in cut.lines)
        if rules.around_mm is not None:
            boxes = [plan.design.outline.transformed(true @ at).bounds() for at in places]
            zones = _zones(plan.rules, plan.marks)
            frame = around(boxes, zones, plan.rules.paper, rules.around_mm)
            lines = (*lines, DieLine(LineKind.CUTTING, frame))
        layouts[file] = CutLayout(file, plan.rules.paper, lines, cut.uncut)
    return tuple(layouts.values())
