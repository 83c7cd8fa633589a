"""What is said of sheets that are printed or cut another way round."""

from collections.abc import Iterator

from personalize.finding import Finding, Severity
from personalize.rules import Rule
from personalize.sheet.ink import MARK_LINE_MM
from personalize.sheet.rules import SheetRules

_HAIR_MM = 0.05
"""A mark that is drawn to the very edge of what is printed is not told."""


def sheet_findings(rules: SheetRules) -> Iterator[Finding]:
    """Tell once what the maker asked for, lest it surprise her on the paper."""
    if rules.mirror:
        yield Finding(
            Rule.MIRRORED,
            Severity.NOTE,
            "Pieces are printed in mirror image and cut so, for film that goes face down"
            " onto something. Register marks, rules and the slug are not mirrored.",
            "Mirroring must be off in the printer's own settings. White is not printed: on"
            " clear film what is white lets through what lies beneath.",
        )
    if rules.face_down:
        yield Finding(
            Rule.CUT_FACE_DOWN,
            Severity.NOTE,
            "The cut file is for sheets that lie with their print down.",
            "Turn each sheet over like a page, top edge still first. A machine cannot read"
            " register marks through paper: place the sheet by its edges.",
        )
    yield from _marks_in_margin(rules)


def _marks_in_margin(rules: SheetRules) -> Iterator[Finding]:
    """Tell of own marks that the printer would not print whole."""
    if not rules.marks:
        return
    x0, y0, x1, y1 = rules.margins.within(rules.paper)
    for mark in rules.own_marks:
        boxes = [contour.bounds() for contour in mark.contours()]
        half = MARK_LINE_MM / 2
        out = max(
            max(x0 - box[0], y0 - box[1], box[2] - x1, box[3] - y1) + half for box in boxes
        )
        if out > _HAIR_MM:
            x, y = mark.centre
            down = rules.paper.height_mm - y
            yield Finding(
                Rule.MARK_IN_MARGIN,
                Severity.WARNING,
                f"Your register mark {x:.1f} mm from the left and {down:.1f} mm from the"
                f" top reaches {out:.1f} mm into the edge that the printer leaves blank: it"
                " may not be printed whole, and then the cut is off.",
                "Draw it further in, or give --margin as your printer has it (`personalize"
                " ruler` tells).",
                figures={
                    "x_mm": round(x, 3),
                    "down_mm": round(down, 3),
                    "in_margin_mm": round(out, 3),
                },
            )
