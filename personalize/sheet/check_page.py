"""Pages of their own for rules and slugs, where sheets have no room for them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from personalize.geometry.affine import Affine
from personalize.sheet.fill import ALONE, Among, slug_of
from personalize.sheet.furniture import line_of_text, rule
from personalize.sheet.ink import Ink
from personalize.sheet.plan import Plan
from personalize.sheet.rules import SheetRules
from personalize.sheet.slots import RULE_MM, SHORT_RULE_MM, Slot

SLUG_STEP_MM = 5.0
"""From slug to slug."""
ASIDE_MM = 10.0
"""From the margin to the start of a rule."""
ABOVE_RULES_MM = 20.0
"""Kept free of slugs at the foot of the page, for the level rule."""


@dataclass(frozen=True, slots=True)
class Filled:
    """The sheets of one design, as their slugs tell of them."""

    plan: Plan
    rows: Sequence[Sequence[int]]
    """Rows on each sheet."""
    among: Among = ALONE
    where: Sequence[str] = ()
    """Where the die lines of each sheet lie, as its slug would tell."""


def check_pages(filled: Sequence[Filled]) -> tuple[tuple[Ink, ...], ...]:
    """Rules, and the slugs that had no room, on pages of their own.

    They tell of all designs; none is given when all sheets had room for all.
    Labels are too dear for that: they get none.
    """
    lacking = [one for one in filled if one.plan.rules.precut is None and _lacks(one.plan)]
    if not lacking:
        return ()
    told = [line for one in lacking if not _has_slug(one.plan) for line in _slugs(one)]
    names = ", ".join(one.plan.name for one in lacking)
    words = f"Measure these lines: the sheets of {names} have no room for them."
    rules = filled[0].plan.rules
    _, y0, _, y1 = rules.margins.within(rules.paper)
    lines = max(int((y1 - y0 - ABOVE_RULES_MM) // SLUG_STEP_MM) - 1, 1)
    pages = [told[i : i + lines] for i in range(0, len(told), lines)] or [[]]
    return tuple(_page(rules, [words, *own]) for own in pages)


def _slugs(filled: Filled) -> Iterator[str]:
    """Give the slug of each sheet, and where its die lines lie on a line of its own."""
    total = filled.among.sheets or len(filled.rows)
    where = filled.where or [""] * len(filled.rows)
    for i, (rows, told) in enumerate(zip(filled.rows, where, strict=True), 1):
        yield slug_of(filled.plan, filled.among.before + i, total, rows)
        if told:
            yield told.strip()


def _has_slug(plan: Plan) -> bool:
    return plan.slots is not None and not plan.slots.short


def _lacks(plan: Plan) -> bool:
    return not plan.tells_all


def _rule_mm(room_mm: float) -> float:
    """Choose the length of both rules: on small paper whole centimetres, or 0."""
    usual = next((mm for mm in (RULE_MM, SHORT_RULE_MM) if mm <= room_mm), None)
    return usual if usual is not None else max(room_mm // 10 * 10, 0.0)


def _page(rules: SheetRules, told: Sequence[str]) -> tuple[Ink, ...]:
    """Draw both rules and what is told, line by line from the top."""
    x0, y0, x1, y1 = rules.margins.within(rules.paper)
    length = _rule_mm(min(x1 - x0, y1 - y0) - ASIDE_MM)
    ink: list[Ink] = []
    if length:
        x, y = x0 + ASIDE_MM, y0 + ASIDE_MM
        ink += rule(Slot((x, y0 + 2, x + length, y0 + 7), upright=False), length)
        ink += rule(Slot((x0 + 2, y, x0 + 7, y + length), upright=True), length)
    for i, words in enumerate(told, 1):
        at = Affine(1, 0, 0, 1, x0 + 10, y1 - SLUG_STEP_MM * i)
        ink.append(line_of_text(words, at, x1 - x0 - 14))
    return tuple(ink)
