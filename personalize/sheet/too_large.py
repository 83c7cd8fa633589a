"""What is said of a piece that has no place on a sheet, and what would help."""

from collections.abc import Sequence
from dataclasses import replace

from personalize.design.design import Design
from personalize.errors import refuse
from personalize.geometry.affine import scaling
from personalize.geometry.zone import region_of
from personalize.sheet.furniture import register_marks
from personalize.sheet.grid import grids
from personalize.sheet.paper import Rect, parse_paper
from personalize.sheet.rules import SheetRules
from personalize.units import FLATTEN_MM

LARGER_PAPERS = ("A3", "Tabloid", "A2", "A1")
"""Papers that are tried for a piece that is too large, from the smallest."""
SCALES = tuple(percent / 100 for percent in range(95, 45, -5))
"""Parts of its size that are tried for it."""


def too_large(design: Design, area: Rect, rules: SheetRules) -> Exception:
    """Make the error for a piece that has no place in an area, with what would help."""
    x0, y0, x1, y1 = design.box_mm
    marks = ", and the register marks take its corners" if rules.marks else ""
    marks += ", less the clear zones" if rules.clear else ""
    return refuse(
        design.file,
        f"the piece is {x1 - x0:.1f} x {y1 - y0:.1f} mm and does not fit on"
        f" {rules.paper.name} paper: there are"
        f" {area[2] - area[0]:.1f} x {area[3] - area[1]:.1f} mm inside the margins{marks}.",
        _what_helps(design, rules),
    )


def kit_too_large(designs: Sequence[Design], rules: SheetRules) -> Exception:
    """Make the error for a guest's pieces that one sheet does not hold together."""
    names = [
        one.name if one.per_message == 1 else f"{one.per_message} of {one.name}"
        for one in designs
    ]
    return refuse(
        "--by-guest",
        f"one guest's pieces ({', '.join(names)}) do not fit on one sheet of"
        f" {rules.paper.name} paper together.",
        "Leave out --by-guest, so that each design has sheets of its own; or take larger"
        " paper, smaller margins or --marks none.",
    )


def _what_helps(design: Design, rules: SheetRules) -> str:
    """Say what to do; of what is said to fit, a plain grid was tried."""
    larger = (name for name in LARGER_PAPERS if _has_place(design, _on(rules, name)))
    found = next(larger, None)
    ways = [f"larger paper{f' ({found} has room)' if found else ''}", "smaller margins"]
    if rules.clear:
        ways.append("smaller clear zones")
    if rules.marks:
        fits = _has_place(design, replace(rules, marks=False))
        ways.append(f"--marks none{' (then it fits)' if fits else ''}")
    do = f"Take {', '.join(ways[:-1])} or {ways[-1]}"
    scale = next((s for s in SCALES if _has_place(design, rules, s)), None)
    at = f"; drawn at {scale:.0%} of its size it would fit" if scale else ""
    return f"{do}{at}."


def _on(rules: SheetRules, paper: str) -> SheetRules:
    return replace(rules, paper=parse_paper(paper))


def _has_place(design: Design, rules: SheetRules, scale: float = 1.0) -> bool:
    """Whether a plain grid of a piece, drawn smaller, has a place."""
    outline = region_of(design.outline.flattened(FLATTEN_MM)).mapped(scaling(scale))
    marks = register_marks(rules.paper, rules.margins) if rules.marks else ()
    zones = [mark.clear_zone for mark in marks]
    zones += [box for zone in rules.clear for box in zone.boxes(rules.paper)]
    area = rules.margins.within(rules.paper)
    bleed = design.margins.bleed
    found = grids(outline, area, spacing_mm=2 * bleed, bleed_mm=bleed, clear_zones=zones)
    return next(found, None) is not None
