"""The die lines of sheets, each different one once."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from personalize.design.design import Design, LineKind
from personalize.geometry.path import Contour
from personalize.sheet.around import around, kept
from personalize.sheet.cutting import ToCut, Uncut, cutting
from personalize.sheet.fill import Placed, cut_file_of, kits_on
from personalize.sheet.ink import DieLine
from personalize.sheet.paper import Paper
from personalize.sheet.plan import Plan
from personalize.sheet.uncut import CutRules

RulesOf = Callable[[Design], CutRules]
"""Gives the rules that a design is cut by."""


@dataclass(frozen=True, slots=True)
class CutLayout:
    """The die lines of a sheet; sheets filled alike share one."""

    file: str
    paper: Paper
    lines: tuple[DieLine, ...]
    """In the order of cutting."""
    uncut: tuple[Uncut, ...] = ()
    """What is left uncut on purpose."""


def cut_layouts(
    plan: Plan, count: int, rules_of: RulesOf = lambda design: CutRules()
) -> tuple[CutLayout, ...]:
    """Die lines of each different sheet of `count` kits, in the order of cutting.

    None for labels that are cut already. Raises InputError where the rules cannot be kept.
    """
    if not plan.rules.is_machine_cut:
        return ()
    layouts: dict[str, CutLayout] = {}
    for number in sorted({1, plan.sheets_for(count)}):
        file = cut_file_of(plan, number, count)
        if file not in layouts:
            pieces = [
                ToCut(member.design, at, rules_of(member.design))
                for kit in kits_on(plan, number, count)
                for member, at in kit
            ]
            layouts[file] = _layout(plan, file, pieces)
    return tuple(layouts.values())


def _layout(plan: Plan, file: str, pieces: Sequence[ToCut]) -> CutLayout:
    cut = cutting(pieces, plan.spacing_mm)
    true = plan.rules.cut_map
    lines = tuple(DieLine(o.kind, o.contour.transformed(true)) for o in cut.lines)
    frame = _frame(plan, pieces)
    if frame is not None:
        lines = (*lines, DieLine(LineKind.CUTTING, frame))
    return CutLayout(file, plan.rules.paper, lines, cut.uncut)


def _frame(plan: Plan, pieces: Sequence[ToCut]) -> Contour | None:
    """Give the cut round some pieces, in mm of the cut file; None where none is asked for.

    Raises InputError where it has no room.
    """
    widest = max(pieces, key=lambda piece: piece.rules.around_mm or 0.0, default=None)
    if widest is None or widest.rules.around_mm is None:
        return None
    true = plan.rules.cut_map
    outlines = [piece.design.outline.transformed(true @ piece.at) for piece in pieces]
    asked, distance_mm = widest.rules.around_asked, widest.rules.around_mm
    return around(outlines, kept(plan.rules, plan.marks), distance_mm, asked)


def round_all(plan: Plan, placed: Iterable[Placed], rules_of: RulesOf) -> Contour | None:
    """Give the cut round all pieces of a sheet as it is printed, in sheet mm, if any."""
    if not plan.rules.is_machine_cut:
        return None
    pieces = [ToCut(one.piece.design, one.at, rules_of(one.piece.design)) for one in placed]
    frame = _frame(plan, pieces)
    return None if frame is None else frame.transformed(plan.rules.cut_map.inverse())
