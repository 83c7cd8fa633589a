"""Write the cut files of a run and read each back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from personalize.checks.wall import Expected, check_wall
from personalize.checks.wall_picture import TOGETHER
from personalize.design.design import Design, LineKind
from personalize.design.wishes import DASHES
from personalize.output.cut_dxf import CURVES, cut_dxf
from personalize.output.cut_svg import cut_svg, together_svg
from personalize.output.marks_svg import marks_svg
from personalize.output.raster import inside_png, page_png, resolution_for
from personalize.sheet.boxes import mapped
from personalize.sheet.cut_layouts import CutLayout, RulesOf, cut_layouts
from personalize.sheet.cutting import ToCut
from personalize.sheet.deal import Order
from personalize.sheet.paper import PaperMargins, Rect
from personalize.sheet.plan import Plan
from personalize.sheet.uncut import CREASE_DASHES, PERFORATION, CutRules

MARKS_FILE = "marks.svg"


@dataclass(frozen=True, slots=True)
class CutOptions:
    """What a maker chooses for her cut files."""

    rules: CutRules = field(default_factory=CutRules)
    dxf_curves: str = CURVES[0]
    """How curves are written in a DXF file, one of `CURVES`."""
    told: frozenset[str] = frozenset()
    """Which of creases, perforations, nicks and around the maker told for this run, even if
    only to have none: they go before what designs ask for."""

    @property
    def around_mm(self) -> float | None:
        """How far away a cut round all pieces is wanted; None where nothing was told."""
        untold = None if "around" not in self.told else 0.0
        return self.rules.around_mm if self.rules.around_mm is not None else untold

    def rules_for(self, design: Design) -> CutRules:
        """Give the rules for a design: those of this run, else what it asks for."""
        mine, asked = self.rules, design.cut
        dashes = dict(mine.dashes)
        for kind, wish, told, usual in (
            (LineKind.CREASING, asked.creases, "creases", CREASE_DASHES),
            (LineKind.PERFORATING, asked.perforations, "perforations", PERFORATION),
        ):
            if wish == DASHES and told not in self.told:
                dashes.setdefault(kind, usual)
        if not mine.nicks and asked.nicks is not None and "nicks" not in self.told:
            mine = replace(mine, nicks=asked.nicks, nick_mm=asked.nick_mm or mine.nick_mm)
            mine = replace(mine, nicks_asked=f"nicks under [cut] of {design.name}")
        if mine.around_mm is None and "around" not in self.told:
            told = f"around_mm under [cut] of {design.name}"
            mine = replace(mine, around_mm=asked.around_mm, around_asked=told)
        return replace(mine, dashes=dashes)


def write_cut_files(
    folder: Path, plan: Plan, count: int, options: CutOptions, also: frozenset[str]
) -> tuple[list[str], Mapping[str, tuple[CutLayout, Expected]]]:
    """Write the cut files of `count` kits; give their names.

    Give besides, for each name of an SVG, what is in it and must be.

    Raises
    ------
    InputError
        The rules ask for more nicks than a line has room for.
    WallError
        A file is not what it must be.
    """
    files = []
    made = {}
    for layout in cut_layouts(plan, count, options.rules_for):
        expected = expected_of(plan, count, layout, options.rules_for)
        made[layout.file] = (layout, expected)
        written = {layout.file: cut_svg(layout)}
        if "dxf" in also:
            written[layout.file.replace(".svg", ".dxf")] = cut_dxf(
                layout, options.dxf_curves
            )
        for file, text in written.items():
            (folder / file).write_text(text, "utf-8", newline="\n")
            check_wall((folder / file).read_bytes(), file, expected)
            files.append(file)
    return files, made


def write_pictures(
    print_pdf: Path,
    cut_files: Sequence[str],
    expected: Mapping[str, tuple[CutLayout, Expected]],
    smallest_pt: float,
    also: frozenset[str],
    *,
    two_sided: bool = False,
) -> list[str]:
    """Draw every sheet: as a picture, or with its die lines over it, as is asked for.

    Parameters
    ----------
    print_pdf
        The sheets, as written. Files go beside it.
    cut_files
        Name of the cut file of each sheet.
    expected
        What is in each cut file, and must be.
    smallest_pt
        Size of the smallest text on any piece.
    also
        What is asked for.
    two_sided
        Whether a page for its back follows each front.
    """
    files: list[str] = []
    if not also & {"together", "png"}:
        return files
    px_per_inch = inside_px = resolution_for(smallest_pt)
    for number, cut_file in enumerate(cut_files, 1):
        page = 2 * number - 1 if two_sided else number
        sides = {f"sheet-{number}.png": page}
        if two_sided:
            sides[f"sheet-{number}-back.png"] = page + 1
        for file, at in sides.items() if "png" in also else ():
            files.append(file)
            (print_pdf.parent / file).write_bytes(page_png(print_pdf, at, px_per_inch))
        if "together" in also:
            layout, must = expected[cut_file]
            files.append(f"{TOGETHER}-{number}.svg")
            path = print_pdf.parent / files[-1]
            inside, inside_px = inside_png(print_pdf, page, inside_px)
            path.write_text(together_svg(layout, inside), "utf-8", newline="\n")
            check_wall(path.read_bytes(), files[-1], must)
    return files


def write_marks(folder: Path, plan: Plan) -> str:
    """Write the register marks, which are the same on all sheets; give the file's name."""
    text = marks_svg(plan.marks, plan.rules.paper, plan.rules.lying)
    (folder / MARKS_FILE).write_text(text, "utf-8", newline="\n")
    return MARKS_FILE


def expected_of(plan: Plan, count: int, layout: CutLayout, rules_of: RulesOf) -> Expected:
    """Say what a cut file must hold; kits are counted anew, not taken from the layout."""
    per_sheet, sheets = plan.per_sheet, -(-count // plan.per_sheet)
    used = per_sheet
    if not plan.rules.spares and plan.rules.order is Order.PILES:
        used = count // sheets if layout.file == plan.last_cut_file else -(-count // sheets)
    elif not plan.rules.spares and (count < per_sheet or layout.file == plan.last_cut_file):
        used = count - (sheets - 1) * per_sheet
    true = plan.rules.cut_map
    designs = [plan.designs[number] for number in plan.kit] * used
    places = plan.arrangement.places[: len(designs)]
    pieces = [
        ToCut(design, true @ at, rules_of(design))
        for design, at in zip(designs, places, strict=True)
    ]
    return Expected(pieces, plan.rules.paper, layout.uncut, *_off(plan))


def _off(plan: Plan) -> tuple[tuple[Rect, ...], Rect]:
    """Say where a cut round the pieces may not run, and what it may not leave."""
    rules, paper = plan.rules, plan.rules.paper
    kept_free = tuple(mapped(box, rules.cut_map) for box in plan.kept_free)
    # What the cutter reaches is said of the sheet as it lies before it, and the blade goes
    # where the file has it and a little aside.
    reached = (rules.reach or PaperMargins(0, 0, 0, 0)).within(paper)
    return kept_free, mapped(reached, rules.correction.cut)
