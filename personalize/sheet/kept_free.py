"""What pieces leave free on a sheet: register marks, and zones of machines or hands."""

from collections.abc import Sequence

from personalize.sheet.furniture import register_marks
from personalize.sheet.ink import RegisterMark
from personalize.sheet.paper import Rect
from personalize.sheet.rules import SheetRules


def marks_of(rules: SheetRules) -> tuple[RegisterMark, ...]:
    """Give the register marks of a sheet: those of the maker's own, ours, or none."""
    if not rules.marks:
        return ()
    if rules.own_marks:
        return rules.own_marks
    return register_marks(rules.paper, rules.margins, rules.mark_kind)


def zones_of(rules: SheetRules, marks: Sequence[RegisterMark]) -> tuple[Rect, ...]:
    """Give what pieces leave free: round the marks, and where the maker says so."""
    return (*(mark.clear_zone for mark in marks), *rules.clear_boxes)
