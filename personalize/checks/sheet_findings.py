"""What is said of sheets that are printed or cut another way round."""

from collections.abc import Iterator, Sequence

from personalize.design.design import CUT_SHIFT_MM, Design
from personalize.errors import refuse
from personalize.finding import Finding, Severity
from personalize.rules import Rule
from personalize.sheet.askew import corner_off_mm, drift_mm, in_words, leaning, shows
from personalize.sheet.backs import Flip
from personalize.sheet.ink import MARK_LINE_MM, RegisterMark
from personalize.sheet.paper import Paper, Rect
from personalize.sheet.rules import SheetRules

_HAIR_MM = 0.05
"""A mark that is drawn to the very edge of what is printed is not told."""


def refuse_odd_sides(designs: Sequence[Design], rules: SheetRules) -> None:
    """Refuse two-sided sheets that have no backs, or whose fronts are mirror images."""
    if not rules.two_sided:
        return
    if not any(design.back is not None for design in designs):
        names = ", ".join(design.name for design in designs)
        raise refuse(
            "--two-sided",
            f"there is no back to print: {names} {'has' if len(designs) == 1 else 'have'}"
            " none.",
            "Describe it under [back] in the design file, or leave the option out.",
        )
    fronts = {design.name for design in designs}
    for design in designs:
        if design.back is not None and design.back.name in fronts:
            raise refuse(
                "--design",
                f"{design.back.name!r} is a design's name, and that of the back of"
                f" {design.name} too.",
                "Give one of the two designs another name.",
            )
    if rules.mirror:
        raise refuse(
            "--two-sided",
            "--mirror is for film that is seen from one side.",
            "Leave one of the two out.",
        )


def unprinted_back(design: Design, flip: Flip | None) -> Iterator[Finding]:
    """Tell of a back that nobody says how to print: its words would be lost."""
    if design.back is not None and flip is None:
        yield Finding(
            Rule.BACK_NOT_PRINTED,
            Severity.WARNING,
            f"{design.name} has a back, and its front alone is printed.",
            "Say how the sheets are turned over: --two-sided upright like a leaf of a book,"
            " --two-sided level like one of a wall calendar; or --two-sided none, if fronts"
            " alone are meant.",
        )


def sheet_findings(rules: SheetRules) -> Iterator[Finding]:
    """Tell once what the maker asked for, lest it surprise her on the paper."""
    if rules.flip is not None and rules.two_sided:
        yield _turned_over(rules.flip, rules.paper)
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
    if shows(rules.askew, rules.paper):
        yield from _askew(rules)
    yield from _marks_in_margin(rules)


def _askew(rules: SheetRules) -> Iterator[Finding]:
    """Tell of a printer that prints askew, and of what that does to these sheets."""
    off, why = corner_off_mm(rules.askew, rules.paper), ""
    left = corner_off_mm(leaning(rules.askew), rules.paper)
    if rules.two_sided:
        off *= 2  # as the sheet is held, the back leans the other way
        why = "Backs lean the other way: in the corners a back is"
        why += f" up to {off:.1f} mm beside its front."
    elif rules.precut is not None:
        why = f"In the corners words are up to {off:.1f} mm beside their label."
    elif rules.by_hand is not None:
        off, why = 0.0, "Hands cut along what is printed, so pieces come out right."
    elif rules.face_down or not (rules.marks or rules.clear):
        why = "A cut that is placed by the paper's edges is not askew: in the corners it is"
        why += f" up to {off:.1f} mm beside the print."
    else:
        off = left
        why = "A cutter that reads the marks turns with them"
        why += f", which leaves up to {off:.1f} mm in the corners."
    severe = off >= CUT_SHIFT_MM / 2
    right, up = drift_mm(rules.askew, rules.paper)
    do = "Set the paper guides close to the stack, and measure again: `personalize ruler`."
    yield Finding(
        Rule.PRINTED_ASKEW,
        Severity.WARNING if severe else Severity.NOTE,
        f"Your printer prints askew, which is not corrected: over this sheet"
        f" {in_words(rules.askew, rules.paper)}. {why}",
        f"{do} Pieces near the middle of the sheet come out best." if severe else do,
        figures={"right_mm": right, "up_mm": up, "corner_off_mm": round(off, 3)},
    )


def _marks_in_margin(rules: SheetRules) -> Iterator[Finding]:
    """Tell of own marks that the printer would not print whole, or the cutter not see."""
    if not rules.marks:
        return
    printed = rules.margins.within(rules.paper)
    reached = rules.all_margins.within(rules.paper)
    for mark in rules.own_marks:
        blank_mm, unseen_mm = _outside_mm(mark, printed), _outside_mm(mark, reached)
        out = blank_mm if blank_mm > _HAIR_MM else unseen_mm
        if out <= _HAIR_MM:
            continue
        x, y = mark.centre
        down = rules.paper.height_mm - y
        where = (
            f"Your register mark {x:.1f} mm from the left and {down:.1f} mm from the top"
        )
        if blank_mm > _HAIR_MM:
            says = (
                f"{where} reaches {out:.1f} mm into the edge that the printer leaves blank:"
                " it may not be printed whole, and then the cut is off."
            )
            do = (
                "Draw it further in, or give --margin as your printer has it (`personalize"
                " ruler` tells)."
            )
        else:
            says = (
                f"{where} reaches {out:.1f} mm out of what the cutter can read by your"
                " machine record: it may not be found, and then nothing is cut."
            )
            do = "Draw it further in, or measure the reach of your cutter anew."
        figures = {"x_mm": round(x, 3), "down_mm": round(down, 3)}
        figures["in_margin_mm"] = round(out, 3)
        yield Finding(Rule.MARK_IN_MARGIN, Severity.WARNING, says, do, figures=figures)


def _outside_mm(mark: RegisterMark, area: Rect) -> float:
    """Measure how far a mark with its lines reaches out of an area."""
    x0, y0, x1, y1 = area
    boxes = [contour.bounds() for contour in mark.contours()]
    out = max(max(x0 - b[0], y0 - b[1], b[2] - x1, b[3] - y1) for b in boxes)
    return out + MARK_LINE_MM / 2


def _turned_over(flip: Flip, paper: Paper) -> Finding:
    """Say how the printer must turn its sheets over."""
    upright = flip is Flip.UPRIGHT
    how = "left to right, like a leaf of a book"
    if not upright:
        how = "top to bottom, like a leaf of a wall calendar"
    tall = paper.height_mm >= paper.width_mm
    edge = "" if paper.height_mm == paper.width_mm else ", over the"
    if edge:
        edge += f" {'long' if upright == tall else 'short'} edge of the paper"
    return Finding(
        Rule.TURNED_OVER,
        Severity.NOTE,
        f"Fronts and backs follow each other in print.pdf: sheets are turned over {how}"
        f"{edge}.",
        "Set two-sided printing so, or print odd pages first and even ones on their backs."
        " Try one sheet and hold it against the light: each back must lie on its front.",
    )
