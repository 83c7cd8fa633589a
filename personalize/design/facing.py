"""Panels that are said to lie back to back once folded, and do not."""

from collections.abc import Sequence

from personalize.design.folding import Folding
from personalize.design.places import Draft
from personalize.design.spec import DesignSpec
from personalize.errors import Problem
from personalize.geometry.zone import middle_of


def wrong_faces(
    drafts: Sequence[Draft], folding: Folding, spec: DesignSpec, height_mm: float
) -> list[Problem]:
    """Tell of panels that are said to face each other and do not, each pair once."""
    if not any(draft.faces for draft in drafts):
        return []
    problems = []
    done: set[str] = set()
    by_name = {draft.name: draft for draft in drafts}
    pairs = {frozenset(pair[:2]) for pair in folding.back_to_back}
    for draft in drafts:
        other = by_name.get(draft.faces or "")
        if other is None or draft.name in done:
            continue
        done |= {draft.name, other.name}
        if frozenset((draft.index, other.index)) not in pairs:
            problems.append(
                Problem(
                    draft.spec.place if draft.spec else spec.place,
                    _says(draft, other, folding, height_mm),
                    _do(draft, folding, height_mm),
                )
            )
    return problems


def _says(draft: Draft, other: Draft, folding: Folding, height_mm: float) -> str:
    names = f"panels {draft.name!r} and {other.name!r}"
    pair = {draft.index, other.index}
    opposed = float(draft.pose.normal @ other.pose.normal) < 0
    if opposed and any({lap.under, lap.over} == pair for lap in folding.laps):
        return f"{names} lie with their prints on each other once folded, not back to back."
    return (
        f"{names} do not lie back to back once folded: {draft.name!r} reaches"
        f" {reach(folding, draft.index, height_mm)}, {other.name!r}"
        f" {reach(folding, other.index, height_mm)}."
    )


def reach(folding: Folding, panel: int, height_mm: float) -> str:
    """Say where a panel comes to lie, in mm from the drawing's top left corner."""
    (x0, x1), (y0, y1), (z0, z1) = folding.box(panel)
    says = f"{x0:.1f} to {x1:.1f} across, {height_mm - y1:.1f} to {height_mm - y0:.1f} down"
    if max(abs(z0), abs(z1)) < 0.05:
        return f"{says}, in the front's plane"
    if abs(z0) > abs(z1):
        return f"{says}, {-z1:.1f} to {-z0:.1f} behind the front"
    return f"{says}, {z0:.1f} to {z1:.1f} before the front"


def _do(draft: Draft, folding: Folding, height_mm: float) -> str:
    behind = [
        second if first == draft.index else first
        for first, second, _ in folding.back_to_back
        if draft.index in (first, second)
    ]
    if not behind:
        return "Leave `faces` out, or say in [[crease]] how the piece is folded."
    names = []
    for panel in behind:
        x, y = middle_of(folding.regions[panel])
        known = folding.names[panel] in folding.worded
        where = f"the part round [{x:.1f}, {height_mm - y:.1f}], which needs a [[panel]]"
        names.append(repr(folding.names[panel]) if known else where)
    said = " and ".join(names)
    return f"Behind {draft.name!r} lies {said}: name that, or leave `faces` out."
