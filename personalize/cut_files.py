"""Write the cut files of a run and read each back."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from personalize.checks.wall import Expected, check_wall
from personalize.output.cut_dxf import cut_dxf
from personalize.output.cut_svg import cut_svg
from personalize.sheet.fill import CutLayout, Plan, cut_layouts
from personalize.sheet.uncut import CutRules

ALSO = ("dxf",)
"""Kinds of files that are written on request."""


@dataclass(frozen=True, slots=True)
class CutOptions:
    """What a maker chooses for her cut files."""

    rules: CutRules = field(default_factory=CutRules)
    also: frozenset[str] = frozenset()
    """Further kinds of files, of `ALSO`."""


def write_cut_files(
    folder: Path, plan: Plan, count: int, options: CutOptions
) -> tuple[list[str], Sequence[CutLayout]]:
    """Write the cut files of `count` pieces; give their names and what is in them.

    Raises
    ------
    InputError
        The rules ask for more nicks than a line has room for.
    WallError
        A file is not what it must be.
    """
    files = []
    layouts = cut_layouts(plan, count, options.rules)
    for layout in layouts:
        written = {layout.file: cut_svg(layout)}
        if "dxf" in options.also:
            written[layout.file.replace(".svg", ".dxf")] = cut_dxf(layout)
        for file, text in written.items():
            (folder / file).write_text(text, "utf-8", newline="\n")
            expected = expected_of(plan, count, layout, options.rules)
            check_wall((folder / file).read_bytes(), file, expected)
            files.append(file)
    return files, layouts


def expected_of(plan: Plan, count: int, layout: CutLayout, rules: CutRules) -> Expected:
    """Say what a cut file must hold; pieces are counted anew, not taken from the layout."""
    last = count - (plan.sheets_for(count) - 1) * plan.per_sheet
    used = plan.per_sheet
    if not plan.rules.spares and (count < plan.per_sheet or "last" in layout.file):
        used = last
    return Expected(
        plan.design, plan.arrangement.places[:used], plan.rules.paper, rules, layout.uncut
    )
