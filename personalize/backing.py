"""Backing pieces: the outline grown all round, cut from unprinted stock."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from personalize.design.design import Design, DesignLine, LineKind
from personalize.finding import Finding, Severity
from personalize.geometry.parts import offset
from personalize.geometry.path import polyline
from personalize.geometry.zone import region_of
from personalize.rules import Rule
from personalize.sheet.fill import CUT_STEM, Plan, plan_sheets
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


def backing_plan(plan: Plan) -> Plan | None:
    """Lay out the sheets of backing pieces; None where none are asked for.

    They carry no print, so that they need neither marks nor one way up. Raises InputError
    when not one fits.
    """
    rules = plan.rules
    if rules.backing_mm is None:
        return None
    plain = replace(rules, marks=False, mirror=False, flip=None, spacing_mm=None)
    found = plan_sheets(backing_of(plan.design, rules.backing_mm), plain)
    return replace(found, cut_stem=plan.cut_stem.replace(CUT_STEM, STEM, 1))


def backing_findings(plan: Plan, count: int) -> Iterator[Finding]:
    """Tell how the backing pieces of `count` pieces are cut."""
    backing = backing_plan(plan)
    if backing is not None and count:
        sheets = backing.sheets_for(count)
        yield Finding(
            Rule.BACKING,
            Severity.NOTE,
            f"{backing.cut_stem}.svg cuts backing pieces, {plan.rules.backing_mm:g} mm"
            f" larger all round, {backing.per_sheet} to a sheet: {sheets} sheet"
            f"{'s' * (sheets != 1)} for {count}.",
            "Cut it from unprinted stock, as often as there are sheets; it needs no marks.",
            figures={"sheets": sheets, "per_sheet": backing.per_sheet},
        )
