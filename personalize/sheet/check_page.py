"""A page of its own for rules and slugs, where sheets have no room for them."""

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

SLUG_STEP_MM = 5.0
"""From slug to slug."""


@dataclass(frozen=True, slots=True)
class Filled:
    """The sheets of one design, as their slugs tell of them."""

    plan: Plan
    rows: Sequence[Sequence[int]]
    """Rows on each sheet."""
    among: Among = ALONE


def check_page(filled: Sequence[Filled]) -> tuple[Ink, ...]:
    """Rules and slugs on a page of their own, where sheets had no room for them.

    One page tells of all designs; nothing is given when all sheets had
    room. Labels are too dear for that: they get none.
    """
    told = [
        slug_of(one.plan, one.among.before + i, one.among.sheets or len(one.rows), rows)
        for one in filled
        if one.plan.slots is None and one.plan.rules.precut is None
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
