"""The die lines of sheets, each different one once."""

from personalize.design.design import LineKind
from personalize.sheet.around import around
from personalize.sheet.cutting import cutting
from personalize.sheet.fill import CutLayout, Plan, cut_file_of, places_on, zones_of
from personalize.sheet.ink import DieLine
from personalize.sheet.uncut import CutRules


def cut_layouts(
    plan: Plan, count: int, rules: CutRules | None = None
) -> tuple[CutLayout, ...]:
    """Die lines of each different sheet, in the order of cutting.

    None for labels that are cut already. Raises InputError where the rules cannot be kept.
    """
    if plan.rules.precut is not None:
        return ()
    rules = rules or CutRules()
    layouts: dict[str, CutLayout] = {}
    for number in sorted({1, plan.sheets_for(count)}):
        file = cut_file_of(plan, number, count)
        if file in layouts:
            continue
        places = places_on(plan, number, count)
        cut = cutting(plan.design, places, rules, plan.spacing_mm)
        true = plan.rules.cut_map
        lines = tuple(DieLine(o.kind, o.contour.transformed(true)) for o in cut.lines)
        if rules.around_mm is not None:
            boxes = [plan.design.outline.transformed(true @ at).bounds() for at in places]
            zones = zones_of(plan.rules, plan.marks)
            frame = around(boxes, zones, plan.rules.paper, rules.around_mm)
            lines = (*lines, DieLine(LineKind.CUTTING, frame))
        layouts[file] = CutLayout(file, plan.rules.paper, lines, cut.uncut)
    return tuple(layouts.values())
