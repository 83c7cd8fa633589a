"""Fill sheets: every piece gets a place, every sheet its marks, rules and slug."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from personalize.fold.piece import Piece, spare
from personalize.geometry.affine import Affine
from personalize.sheet.backs import back_place, side_words
from personalize.sheet.boxes import wider
from personalize.sheet.furniture import rule, short_words, slug, slug_words, where_words
from personalize.sheet.hand import hand_words, moved
from personalize.sheet.ink import Ink, RegisterMark
from personalize.sheet.paper import Paper
from personalize.sheet.plan import Member, Plan
from personalize.sheet.slots import Slot
from personalize.sheet.spare_lines import spare_lines


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


def fill(
    plan: Plan,
    pieces: Iterable[Piece],
    count: int,
    among: Among = ALONE,
    around_mm: float = 0.0,
) -> Iterator[Sheet]:
    """Place `count` kits in their order, giving each sheet as soon as it is full.

    `pieces` come kit by kit, those of a kit in its order. Sheets are numbered `among`
    those of other designs. The last sheet is filled up with spares unless the rules say
    not to. `around_mm` is the distance of a cut round all pieces, which slugs tell of.
    """
    deal = plan.deal(count)
    for number, batch in enumerate(deal.batches(_kits(pieces, len(plan.kit))), 1):
        kits = kits_on(plan, number, count)
        placed = [
            Placed(piece, at)
            for kit, own in zip(kits, batch, strict=False)
            for piece, (_, at) in zip(own, kit, strict=True)
        ]
        placed += [
            Placed(spare(member.design, back=plan.rules.two_sided), at)
            for kit in kits[len(batch) :]
            for member, at in kit
        ]
        told = (among.before + number, among.sheets or deal.sheets)
        front = Sheet(
            among.before + number,
            plan.rules.paper,
            tuple(placed),
            plan.marks,
            (
                *_by_hand(plan, kits),
                *_furniture(plan, *told, placed, around_mm),
                *_on_spares(plan, placed),
            ),
            cut_file_of(plan, number, count),
            plan.stock,
        )
        yield _with_back(plan, front, *told)


def _kits(pieces: Iterable[Piece], size: int) -> Iterator[tuple[Piece, ...]]:
    """Bundle the pieces that are dealt out together."""
    coming = iter(pieces)
    while kit := tuple(islice(coming, size)):
        yield kit


def _by_hand(plan: Plan, kits: Iterable[Sequence[tuple[Member, Affine]]]) -> Iterator[Ink]:
    """Give what guides hands on a sheet."""
    for kit in kits:
        for member, at in kit:
            yield from moved(member.guides, at)
    yield from plan.lanes


def _on_spares(plan: Plan, placed: Iterable[Placed]) -> Iterator[Ink]:
    """Draw lines to write on, where they are asked for."""
    if plan.rules.spare_lines:
        for one in placed:
            if one.piece.row is None:
                yield from spare_lines(one.piece.design, one.at)


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
        slot = plan.slots.slug
        turned = Slot(flip.box(slot.box, paper), upright=slot.upright)
        rows, short = _rows(front.placed), plan.slots.short
        words = slug_of(plan, number, total, rows, back=True, short=short)
        ink = slug(turned, words)
    ink = (*ink, *_on_spares(plan, placed))
    other = replace(front, placed=placed, marks=(), furniture=ink, side="back")
    return replace(front, back=other)


def _rows(placed: Iterable[Placed]) -> list[int]:
    return [one.piece.row for one in placed if one.piece.row is not None]


def kits_on(
    plan: Plan, number: int, count: int
) -> tuple[tuple[tuple[Member, Affine], ...], ...]:
    """Give the places used on a sheet (from 1), kit by kit, spares among them."""
    return tuple(plan.places_of(kit) for kit in plan.deal(count).places(number))


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
    plan: Plan, number: int, total: int, placed: Sequence[Placed], around_mm: float
) -> tuple[Ink, ...]:
    if plan.slots is None:
        return ()
    rows, short = _rows(placed), plan.slots.short
    words = slug_of(plan, number, total, rows, back=False, short=short)
    words += "" if short else where_cut(plan, placed, around_mm)
    rules = plan.slots.rules or ()
    drawn = [ink for slot in rules for ink in rule(slot, plan.slots.rule_mm)]
    return (*drawn, *slug(plan.slots.slug, words))


def where_cut(plan: Plan, placed: Iterable[Placed], around_mm: float) -> str:
    """Say where the cut file has the die lines of a sheet, where a machine adds marks.

    Her machine's program lays them there by hand, so it is the cut file's place that is
    told, with what undoes the cutter's faults and as a sheet lies that is face down.
    """
    rules = plan.rules
    if not rules.clear or rules.marks or not rules.is_machine_cut:
        return ""
    boxes = [
        one.piece.design.outline.transformed(rules.cut_map @ one.at).bounds()
        for one in placed
    ]
    boxes = [wider(box, around_mm) for box in boxes]
    return where_words(boxes, rules.paper, face_down=rules.face_down)


def slug_of(
    plan: Plan,
    number: int,
    total: int,
    rows: Sequence[int],
    *,
    back: bool | None = None,
    short: bool = False,
) -> str:
    """Say which sheet this is; of a two-sided one, which side (None: both)."""
    paper, flip = plan.rules.paper.name, plan.rules.flip
    side = ""
    if flip is not None and plan.rules.two_sided and back is not None:
        side = side_words(flip, back=back)
        blank = all(design.back is None for design in plan.designs)
        side += ", left blank" if back and blank else ""
    if short:  # so many letters as can be read in its room
        return short_words(number, total, side.partition(",")[0])
    words = slug_words(plan.name, number, total, rows, paper, plan.stock, side)
    if plan.rules.by_hand is None or back:
        return words
    return words + hand_words(plan.designs, plan.spacing_mm)
