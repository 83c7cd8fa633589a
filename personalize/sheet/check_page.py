"""Pages of their own for rules and slugs, where sheets have no room for them."""

from collections.abc import Sequence
from dataclasses import dataclass

from personalize.geometry.affine import Affine
from personalize.sheet.fill import ALONE, Among, slug_of
from personalize.sheet.furniture import (
    RULE_MM,
    SHORT_RULE_MM,
    Slot,
    line_of_text,
    rule,
)
from personalize.sheet.ink import Ink
from personalize.sheet.plan import Plan
from personalize.sheet.rules import SheetRules

SLUG_STEP_MM = 5.0
"""From slug to slug."""
ABOVE_RULES_MM = 20.0
"""Kept free of slugs at the foot of the page, for the level rule."""


@dataclass(frozen=True, slots=True)
class Filled:
    """The sheets of one design, as their slugs tell of them."""

    plan: Plan
    rows: Sequence[Sequence[int]]
    """Rows on each sheet."""
    among: Among = ALONE


def check_pages(filled: Sequence[Filled]) -> tuple[tuple[Ink, ...], ...]:
    """Rules, and the slugs that had no room, on pages of their own.

    They tell of all designs; none is given when all sheets had room for all.
    Labels are too dear for that: they get none.
    """
    lacking = [one for one in filled if one.plan.rules.precut is None and _lacks(one.plan)]
    if not lacking:
        return ()
    told = [
        slug_of(one.plan, one.among.before + i, one.among.sheets or len(one.rows), rows)
        for one in lacking
        if one.plan.slots is None
        for i, rows in enumerate(one.rows, 1)
    ]
    names = ", ".join(one.plan.name for one in lacking)
    words = f"Measure these lines: the sheets of {names} have no room for them."
    rules = filled[0].plan.rules
    _, y0, _, y1 = rules.margins.within(rules.paper)
    lines = max(int((y1 - y0 - ABOVE_RULES_MM) // SLUG_STEP_MM) - 1, 1)
    pages = [told[i : i + lines] for i in range(0, len(told), lines)] or [[]]
    return tuple(_page(rules, [words, *own]) for own in pages)


def _lacks(plan: Plan) -> bool:
    return plan.slots is None or plan.slots.rules is None


def _page(rules: SheetRules, told: Sequence[str]) -> tuple[Ink, ...]:
    """Draw both rules and what is told, line by line from the top."""
    x0, y0, x1, y1 = rules.margins.within(rules.paper)
    length = RULE_MM if min(x1 - x0, y1 - y0) > RULE_MM + 15 else SHORT_RULE_MM
    ink: list[Ink] = [
        *rule(Slot((x0 + 10, y0 + 2, x0 + 10 + length, y0 + 7), upright=False), length),
        *rule(Slot((x0 + 2, y0 + 10, x0 + 7, y0 + 10 + length), upright=True), length),
    ]
    for i, words in enumerate(told, 1):
        at = Affine(1, 0, 0, 1, x0 + 10, y1 - SLUG_STEP_MM * i)
        ink.append(line_of_text(words, at, x1 - x0 - 14))
    return tuple(ink)
