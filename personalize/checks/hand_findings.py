"""What is said where hands cut: how, with what, and what they cannot do."""

from collections.abc import Iterator

from personalize.checks.safe_distances import BY_HAND, safe_distances
from personalize.design.design import Design, LineKind
from personalize.finding import Finding, Severity
from personalize.geometry.zone import region_of
from personalize.rules import Rule
from personalize.sheet.hand import (
    HIDDEN_BLEED_MM,
    ByHand,
    has_fold_ticks,
    has_lines,
    punch_mm,
)
from personalize.units import FLATTEN_MM

_HOW = {
    ByHand.SCISSORS: "Pieces are cut by hand: a fine grey line runs just outside of their"
    " edge, and just inside of holes.",
    ByHand.FOLD_FIRST: "Pieces are folded first and cut by hand through both layers: a fine"
    " grey line runs just outside of the edge of the face that is seen.",
}
_EDGE_TO_EDGE = (
    "Pieces lie edge to edge: straight cuts from tick to tick part them, and no line runs"
    " round them."
)
_ROOMY_MM = 4.0
"""Of spacing leave ticks of 1 mm for creases."""
_STRAIGHT = 0.999
"""Part of its box that a rectangle fills at least."""


def hand_findings(
    design: Design, by_hand: ByHand | None, spacing_mm: float
) -> Iterator[Finding]:
    """Tell what a design asks of hands; nothing where a machine cuts it."""
    if by_hand is None:
        return
    if has_lines(spacing_mm):
        yield Finding(
            Rule.CUT_BY_HAND,
            Severity.NOTE,
            _HOW[by_hand],
            "Cut on the inside of the line, so that none is left. Keep fingers out of the"
            " way of blades; children need help, and scissors with round ends.",
        )
    yield from _without_lines(design, spacing_mm)
    yield from safe_distances(design, BY_HAND, "A cut by hand")
    yield from _knife(design)
    torn = sum(line.kind is LineKind.PERFORATING for line in design.lines)
    if torn:
        yield Finding(
            Rule.NOT_BY_HAND,
            Severity.WARNING,
            f"{_many(torn, 'perforating line')} cannot be made with scissors, and"
            f" {'is' if torn == 1 else 'are'} not printed.",
            "Use a perforating wheel by the cut file of a run without --by-hand, or cut"
            " these pieces on a machine.",
            figures={"lines": torn},
        )
    if by_hand is ByHand.FOLD_FIRST and design.margins.bleed < HIDDEN_BLEED_MM:
        yield Finding(
            Rule.NARROW_HIDDEN_BLEED,
            Severity.WARNING,
            f"The face that is cut unseen has {design.margins.bleed:g} mm of bleed; two"
            f" layers shift more, so it should have {HIDDEN_BLEED_MM:g}.",
            f"Write bleed = {HIDDEN_BLEED_MM:g} under [margins] and draw the picture that"
            " far, or write extend_edge = true under [artwork].",
            figures={"bleed_mm": design.margins.bleed},
        )


def _without_lines(design: Design, spacing_mm: float) -> Iterator[Finding]:
    """Tell what nothing shows, where pieces lie too close for it."""
    lined = has_lines(spacing_mm)
    x0, y0, x1, y1 = design.box_mm
    straight = region_of(design.outline.flattened(FLATTEN_MM)).area_mm2
    missing = []
    if not lined and straight < _STRAIGHT * (x1 - x0) * (y1 - y0):
        missing.append("where their edge is not that of a rectangle")
    if design.creases and not has_fold_ticks(spacing_mm):
        missing.append("where they are folded")
    if lined and not missing:
        return
    says = [] if lined else [_EDGE_TO_EDGE]
    says += [f"Nothing shows {' and '.join(missing)}."] if missing else []
    do = [] if lined else ["Cut along a metal rule or with a trimmer, away from your hand."]
    do += [f"Write --spacing {_ROOMY_MM:g} or more to have that shown."] if missing else []
    yield Finding(
        Rule.CUT_BY_HAND,
        Severity.WARNING if missing else Severity.NOTE,
        " ".join(says),
        " ".join(do),
        figures={"spacing_mm": round(spacing_mm, 3)},
    )


def _knife(design: Design) -> Iterator[Finding]:
    odd = sum(punch_mm(hole) is None for hole in design.holes)
    told = [_many(len(design.slits), "slit")] if design.slits else []
    told += [f"{_many(odd, 'hole')} that {'is' if odd == 1 else 'are'} not round"] * (
        odd > 0
    )
    if told:
        one = len(design.slits) + odd == 1
        yield Finding(
            Rule.KNIFE_NEEDED,
            Severity.NOTE,
            f"{' and '.join(told)} {'needs' if one else 'need'} a craft knife.",
            "Cut on a mat along a metal rule, away from your hand, before the outline is"
            " cut. A knife is not for children.",
            figures={"slits": len(design.slits), "holes": odd},
        )


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'s' * (count != 1)}"
