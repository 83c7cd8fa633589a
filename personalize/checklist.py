"""What to look at on the evening itself: a short list for the printer and the cutter."""

from collections.abc import Sequence

from personalize.design.design import Design
from personalize.sheet.askew import shows
from personalize.sheet.hand import ByHand, has_lines
from personalize.sheet.rules import SheetRules
from personalize.sheet.slots import RULE_MM


def checklist(rules: SheetRules, designs: Sequence[Design]) -> tuple[str, ...]:
    """Give the steps that hold for these sheets, in their order.

    Each is one short sentence or two. Common practice, no source.
    """
    stocks = list(dict.fromkeys(design.stock for design in designs if design.stock))
    paper = f"{rules.paper.name}: {', then '.join(stocks)}" if stocks else rules.paper.name
    before = [
        "Print the first sheet on plain paper and hold it over your card against a light.",
        "Scale 100 %, nothing fitted to the page; printing to the edge switched off.",
        f"The right paper in the right tray ({paper}), its kind chosen in the printer's"
        " settings, its better side to the print.",
    ]
    if shows(rules.askew, rules.paper):
        before.append(
            "The paper guides close to the stack: this printer has printed askew before."
        )
    if rules.two_sided:
        before.append(
            "Both sides: one sheet first, held against a light; the backs lie behind their"
            " fronts."
        )
    if rules.mirror:
        before.append("Mirroring switched off in the printer: the sheets are mirrored.")
    measured = f"Measure the {RULE_MM:g} mm rules on the first sheet, along and across."
    after = ["Let the ink dry before a sheet is stacked, cut or folded."]
    if rules.precut is not None:
        return (
            *before,
            *after,
            "A sheet with labels gone may jam a laser printer: see what its maker says.",
        )
    cut = (
        _by_hand(rules.by_hand, rules.spacing_mm)
        if rules.by_hand
        else _by_machine(rules, designs)
    )
    return (*before, measured, *after, *cut)


def _by_machine(rules: SheetRules, designs: Sequence[Design]) -> list[str]:
    steps = ["Set material, depth and tools for this card, and try them on a spare corner."]
    how = "print down" if rules.face_down else "print up"
    marks = ", its marks whole and clean" if rules.marks and not rules.face_down else ""
    steps.append(f"The edge that the arrow points to goes in first, {how}{marks}.")
    several = len(designs) > 1
    steps.append(
        "Each sheet with the cut file that its line and the proof name."
        if several
        else "The last sheet may have a cut file of its own: the proof names it."
    )
    steps.append("Hands and children away from the blade while it moves.")
    return steps


def _by_hand(way: ByHand, spacing_mm: float | None) -> list[str]:
    away = "Cut away from your hand; children need help, and scissors with round ends."
    if spacing_mm is not None and not has_lines(spacing_mm):
        parted = "Holes and slits first, then along a rule or with a trimmer"
        return [f"{parted} from tick to tick.", away]
    first = (
        "Part the sheet into strips from tick to tick."
        if way is ByHand.SCISSORS
        else "Part the pieces, fold each from tick to tick, and cut both layers at once."
    )
    return [
        first,
        "Holes and slits first, then along the inside of the grey line.",
        away,
    ]
