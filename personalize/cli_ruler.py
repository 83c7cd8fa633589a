"""The commands `ruler` and `machines`: measure a printer and a cutter, and keep it."""

import json
from pathlib import Path
from typing import Any

import click

from personalize.checks.wall_ruler import check_ruler, squares_of
from personalize.cli_tell import refused
from personalize.errors import InputError, refuse
from personalize.output.cut_dxf import cut_dxf
from personalize.output.cut_svg import cut_svg
from personalize.output.pdf import PrintPdf
from personalize.result import REPORT, REPORT_KEY, check_writable, staged
from personalize.settings import check_name, find_machine, keep_machine, machine_files
from personalize.sheet.askew import in_words, shows
from personalize.sheet.cut_layouts import CutLayout
from personalize.sheet.fill import Sheet
from personalize.sheet.furniture import register_marks
from personalize.sheet.machine import Machine
from personalize.sheet.paper import Paper, PaperMargins, parse_margins, parse_paper
from personalize.sheet.ruler import (
    CUT_DRIFT_MM,
    WHITE_MM,
    Measured,
    RulerSheet,
    measured,
    parse_measured,
    refuse_on_marks,
    ruler_sheet,
)
from personalize.sheet.ruler_back import back_ink, front_arrow

PRINT_FILE, CUT_FILE, DXF_FILE = "ruler.pdf", "ruler-cut.svg", "ruler-cut.dxf"


@click.command("ruler")
@click.option("--out", help="Folder for the ruler sheet.")
@click.option("--paper", default="A4", show_default=True, help="A4, Letter, 8x10in...")
@click.option("--margin", help="Blank edge in mm, for the register marks.")
@click.option("--both-sides", is_flag=True, help="A second page, for its other side.")
@click.option("--measured", "figures", help='What was measured: "A=149.6 B=224.8 ...".')
@click.option("--save", help="Name to keep the machine record by.")
@click.option("--json", "as_json", is_flag=True, help="Tell the result as JSON.")
def ruler_command(
    *,
    out: str | None,
    paper: str,
    margin: str | None,
    both_sides: bool,
    figures: str | None,
    save: str | None,
    as_json: bool,
) -> None:
    """Make a sheet to measure the printer and the cutter; keep what was measured.

    First print and cut the sheet (--out). Then give the figures (--measured) and a name
    for this printer and cutter (--save), on the same --paper. Runs with --machine NAME
    come out true.
    """
    try:
        sheet = ruler_sheet(parse_paper(paper))
        if figures is None:
            if out is None or save is not None:
                raise _one_of_two()
            margins = (
                PaperMargins() if margin is None else parse_margins(margin, sheet.paper)
            )
            files = _write(sheet, margins, Path(out), both_sides=both_sides)
            told: dict[str, Any] = {"folder": out, "files": files}
            lines = [
                f"Wrote {', '.join(files)} in {out}.",
                *_evening(paper, both_sides=both_sides),
            ]
        else:
            if save is None or out is not None:
                raise _one_of_two()
            told, lines = _kept(sheet, figures, save)
    except InputError as error:
        refused(error, as_json=as_json)
    click.echo(
        json.dumps(told, ensure_ascii=False, indent=1) if as_json else "\n".join(lines)
    )


def _kept(sheet: RulerSheet, figures: str, name: str) -> tuple[dict[str, Any], list[str]]:
    """Keep a record of what was measured; give it, and say it in words."""
    check_name(name)
    found = measured(sheet, parse_measured(figures), name)
    path = keep_machine(found.machine)
    kept = f"Kept as {path.stem}. Use it with --machine {name!r}."
    told = {"machine": _entry(found.machine), "askew_mm_per_100": found.machine.askew}
    return told, [*_told(found, sheet.paper), kept]


def _one_of_two() -> InputError:
    return refuse(
        "personalize ruler",
        "the sheet is made with --out, and measured with --measured and --save.",
        "Give --out FOLDER first; when the sheet is printed and cut, the other two.",
    )


def _write(
    sheet: RulerSheet, margins: PaperMargins, out: Path, *, both_sides: bool
) -> list[str]:
    check_writable(out)
    marks = register_marks(sheet.paper, margins)
    pdf = PrintPdf("Ruler sheet", {})  # no piece is printed
    ink = (*sheet.ink(), *(front_arrow(sheet) if both_sides else ()))
    refuse_on_marks(sheet, ink, marks)
    pdf.add_sheet(Sheet(1, sheet.paper, (), marks, ink, CUT_FILE))
    if both_sides:
        pdf.add_page(sheet.paper, back_ink(sheet))
    layout = CutLayout(CUT_FILE, sheet.paper, sheet.die_lines())
    written = {CUT_FILE: cut_svg(layout), DXF_FILE: cut_dxf(layout)}
    files = [PRINT_FILE, CUT_FILE, DXF_FILE]
    with staged(out) as folder:
        pdf.save(folder / PRINT_FILE)
        for file, text in written.items():
            (folder / file).write_text(text, "utf-8", newline="\n")
            data = (folder / file).read_bytes()
            check_ruler(data, file, sheet.paper, squares_of(ink, WHITE_MM), marks)
        report = json.dumps({REPORT_KEY: 1, "files": [*files, REPORT]})
        (folder / REPORT).write_text(report + "\n", "utf-8", newline="\n")
    return files


def _evening(paper: str, *, both_sides: bool) -> list[str]:
    """Say what to do with the sheet."""
    same = "" if paper.casefold() == "a4" else f" --paper {paper!r}"
    sides, last = (", on both sides of a sheet", "P") if both_sides else ("", "N")
    return [
        f"1. Print {PRINT_FILE} at 100 %{sides}, with edge-to-edge printing off.",
        f"2. Let the cutter read its marks and cut {CUT_FILE}. Mind the blade: fingers"
        " away, children with an adult, and as the machine's own manual says.",
        f"3. Measure what stands beside the letters A to {last}, in mm.",
        f'4. personalize ruler{same} --measured "A=... B=..." --save NAME',
    ]


def _told(found: Measured, paper: Paper) -> list[str]:
    machine = found.machine
    across, up = (100 * (scale - 1) for scale in machine.print_scale)
    lines = [
        f"Scale: {across:+.2f} % across, {up:+.2f} % up. It is corrected.",
        f"Print lies {machine.print_shift_mm[0]:+.2f} mm right, "
        f"{machine.print_shift_mm[1]:+.2f} mm up. It is corrected.",
        f"The cut lies {machine.cut_shift_mm[0]:+.2f} mm right of the print, "
        f"{machine.cut_shift_mm[1]:+.2f} mm up. It is corrected.",
    ]
    if machine.back_shift_mm is not None:
        lines.append(
            f"The back lies {machine.back_shift_mm[0]:+.2f} mm right, "
            f"{machine.back_shift_mm[1]:+.2f} mm up. It is corrected."
        )
    if machine.askew is not None and shows(machine.askew, paper):
        lines.append(
            f"The paper goes in askew: {in_words(machine.askew, paper)}. That is not"
            " corrected: set the paper guides close to the stack, print the sheet again and"
            " measure again. Runs with this record tell where it matters."
        )
    if found.cut_drift_mm and max(map(abs, found.cut_drift_mm)) > CUT_DRIFT_MM:
        lines.append(
            f"The cut differs by {found.cut_drift_mm[0]:+.2f} and"
            f" {found.cut_drift_mm[1]:+.2f} mm from one square to the other. That is not"
            " corrected: let the machine read all its marks, on a fresh mat."
        )
    return lines


@click.command("machines")
@click.option("--json", "as_json", is_flag=True, help="Tell them as JSON.")
def machines_command(*, as_json: bool) -> None:
    """List the machine records that are kept, and where."""
    try:
        found = [(path, find_machine(path.stem)) for path in machine_files()]
    except InputError as error:
        refused(error, as_json=as_json)
    if as_json:
        told = [_entry(machine) for _, machine in found]
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    if not found:
        click.echo("None yet. Make one with `personalize ruler`.")
    for path, machine in found:
        click.echo(f"{machine.name}: {path}")
        for key, value in _entry(machine).items():
            if key != "name" and value:
                shown = ", ".join(f"{v:g}" if isinstance(v, float) else v for v in value)
                click.echo(f"  {key} {shown}")


def _entry(machine: Machine) -> dict[str, Any]:
    def four(margins: PaperMargins | None) -> list[float] | None:
        if margins is None:
            return None
        return [margins.top, margins.right, margins.bottom, margins.left]

    back, apart = machine.back_shift_mm, machine.two_sided_shift_mm
    askew = machine.askew
    return {
        "name": machine.name,
        "margins_mm": four(machine.margins),
        "reach_mm": four(machine.reach),
        "print_scale": [round(v, 5) for v in machine.print_scale],
        "print_shift_mm": [round(v, 3) for v in machine.print_shift_mm],
        "cut_shift_mm": [round(v, 3) for v in machine.cut_shift_mm],
        "back_shift_mm": None if back is None else [round(v, 3) for v in back],
        "two_sided_shift_mm": None if apart is None else [round(apart, 3)],
        "askew_mm_per_100": askew and [round(v, 3) for v in askew],
        "clear": list(machine.clear_words),
    }
