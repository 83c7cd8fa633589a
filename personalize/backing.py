"""Backing pieces: the outline grown all round, cut from unprinted stock."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from personalize.design.design import Design, DesignLine, LineKind
from personalize.finding import Finding, Severity
from personalize.geometry.parts import offset
from personalize.geometry.path import polyline
from personalize.geometry.zone import region_of
from personalize.rules import Rule
from personalize.sheet.plan import CUT_STEM, Plan
from personalize.sheet.planning import plan_sheets
from personalize.units import FLATTEN_MM

STEM = "backing"


def backing_of(design: Design, by_mm: float) -> Design:
    """Give the piece that goes behind another: larger by so much, with its holes alone."""
    outline = region_of(design.outline.flattened(FLATTEN_MM / 2))
    ring = np.array(offset([outline], by_mm)[0].outer)
    edge = polyline(map(tuple, ring.tolist()), closed=True)
    holes = [hole.flattened(FLATTEN_MM) for hole in design.holes]
    return replace(
        design,
        name=f"{design.name}, backing",
        outline=edge,
        creases=(),
        crease_degs=(),
        slits=(),
        glue=(),
        lines=tuple(DesignLine(LineKind.CUTTING, one) for one in (*design.holes, edge)),
        silhouette=region_of(ring, holes),
        bleed=region_of(ring),
        margins=replace(design.margins, bleed=0.0),
        panels=(),
        versions=(),
        picture=None,
        stick=None,
        back=None,
        told=(),
    )


@dataclass(frozen=True, slots=True)
class Backing:
    """The sheets of the backing pieces of one design."""

    plan: Plan
    count: int
    """How many are needed."""

    @property
    def sheets(self) -> int:
        """How often its cut file is cut."""
        return self.plan.sheets_for(self.count)


def backings_of(plan: Plan, kits: int, stems: Mapping[str, str]) -> tuple[Backing, ...]:
    """Lay out the sheets of backing pieces, design by design; none where none are wanted.

    They carry no print, so that they need neither marks nor one way up. `stems` are the
    names of cut files by the names of designs. Raises InputError when not one fits.
    """
    rules = plan.rules
    if rules.backing_mm is None or not kits:
        return ()
    plain = replace(rules, marks=False, mirror=False, flip=None, spacing_mm=None)
    out = []
    for number, design in enumerate(plan.designs):
        found = plan_sheets(backing_of(design, rules.backing_mm), plain)
        stem = stems[design.name].replace(CUT_STEM, STEM, 1)
        count = kits * plan.kit.count(number)
        out.append(Backing(replace(found, cut_stem=stem), count))
    return tuple(out)


def backing_finding(backing: Backing, by_mm: float) -> Finding:
    """Tell how backing pieces, larger by so much, are cut."""
    plan, sheets = backing.plan, backing.sheets
    return Finding(
        Rule.BACKING,
        Severity.NOTE,
        f"{plan.cut_stem}.svg cuts backing pieces, {by_mm:g} mm larger all round,"
        f" {plan.per_sheet} to a sheet: {sheets} sheet{'s' * (sheets != 1)} for"
        f" {backing.count}.",
        "Cut it from unprinted stock, as often as there are sheets; it needs no marks.",
        figures={"sheets": sheets, "per_sheet": plan.per_sheet},
    )
