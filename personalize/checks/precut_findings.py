"""What is said of labels that are cut already.

Rules: cut-already, unlike-its-label, label-in-margin.
"""

from collections import Counter
from collections.abc import Iterator

from personalize.design.design import Design, LineKind
from personalize.finding import Finding, Severity
from personalize.geometry.zone import region_of
from personalize.rules import Rule
from personalize.sheet.plan import Plan
from personalize.sheet.precut import FITS_MM, LIKE_MM, Fit, Precut, fit_of
from personalize.units import FLATTEN_MM

_NAMES = {
    LineKind.CREASING: "crease",
    LineKind.PERFORATING: "perforation",
}


def precut_findings(plan: Plan) -> Iterator[Finding]:
    """Tell what nobody cuts, and where a label is not as its design has it."""
    precut = plan.rules.precut
    if precut is None:
        return
    yield _uncut(plan, precut)
    design = plan.design
    outline = region_of(design.outline.flattened(FLATTEN_MM))
    fit = fit_of(outline.mapped(plan.rules.piece_map), precut)
    if fit.apart_mm > LIKE_MM:
        yield _unlike(plan, precut, fit)
    x0, y0, x1, y1 = plan.rules.margins.within(plan.rules.paper)
    boxes = precut.boxes
    out = max(
        *(x0 - box[0] for box in boxes),
        *(y0 - box[1] for box in boxes),
        *(box[2] - x1 for box in boxes),
        *(box[3] - y1 for box in boxes),
    )
    if out > 0.05:
        yield Finding(
            Rule.LABEL_IN_MARGIN,
            Severity.WARNING,
            f"Labels of {precut.file} reach {out:.1f} mm into the edge that the printer"
            " leaves blank: what is printed there may be missing.",
            "Give --margin as your printer has it (`personalize ruler` tells), or leave"
            " that part of the design white.",
            figures={"in_margin_mm": round(out, 3)},
        )


def _uncut(plan: Plan, precut: Precut) -> Finding:
    """Say that there is no cut file, and which lines of the design nobody cuts."""
    listed = _listed(plan.design)
    says = f"The labels of {precut.file} are cut already: no cut file is written."
    if listed:
        says += f" Nobody cuts or scores the design's {listed}."
    return Finding(
        Rule.CUT_ALREADY,
        Severity.WARNING if listed else Severity.NOTE,
        says,
        "Do that by hand, or leave out --labels." if listed else "Print, peel and stick.",
    )


def _listed(design: Design) -> str:
    """Name the lines beside the outline that a tool would follow."""
    kinds = Counter(
        _NAMES.get(line.kind, "hole or slit")
        for line in design.lines
        if line.contour is not design.outline and line.kind is not LineKind.GLUING
    )
    parts = []
    for name, count in sorted(kinds.items()):
        many = " or ".join(word + "s" for word in name.split(" or "))
        parts.append(f"{count} {many}" if count > 1 else name)
    return " and ".join(parts)


def _unlike(plan: Plan, precut: Precut, fit: Fit) -> Finding:
    """Say how far label and outline are apart, and what that does to the words."""
    margin = plan.design.margins.outline
    x0, y0, x1, y1 = plan.design.box_mm
    w, h = precut.size_mm
    says = (
        f"The outline, {x1 - x0:.1f} x {y1 - y0:.1f} mm, is not that of the labels in"
        f" {precut.file}, {w:g} x {h:g} mm: they are up to {fit.apart_mm:.1f} mm apart."
    )
    if fit.past_mm > FITS_MM and plan.design.panels:
        near = max(0.0, margin - fit.past_mm)
        says += f" Words may come as near as {near:.1f} mm to the edge of a label."
    return Finding(
        Rule.UNLIKE_ITS_LABEL,
        Severity.WARNING,
        says,
        "Draw the outline as the label is, its corners too, or measure corner_mm and"
        " size_mm again.",
        figures={
            "apart_mm": round(fit.apart_mm, 3),
            "past_mm": round(fit.past_mm, 3),
            "bleed_mm": round(plan.member.bleed_mm, 3),
        },
    )
