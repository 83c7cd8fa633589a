"""The command ``inspect``: what we see in a drawing, and a design file to start from."""

import json
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import click

from personalize.cli_tell import refused
from personalize.design.design_starter import starter_toml
from personalize.design.file_artwork import FileArtwork, read_artwork, traced_lines
from personalize.design.files import bytes_of
from personalize.design.inspect import Inspection, LineGroup, inspect_svg, size_text
from personalize.design.inspect_panels import SeenPanel
from personalize.design.inspect_picture import picture
from personalize.design.inspect_pieces import SeenPiece
from personalize.design.line_names import Other
from personalize.design.load import DesignFiles, design_files, load_designs
from personalize.design.seen_artwork import artwork_entry, artwork_text
from personalize.design.seen_creases import SeenCrease
from personalize.design.sources import with_traced_lines
from personalize.design.toml import PX_PER_INCH_RANGE
from personalize.errors import InputError, refuse
from personalize.finding import Severity, worst_first
from personalize.output.report import finding_entry

MOST_ARTWORK = 8
"""Kinds of artwork that are listed; more are counted."""


@click.command("inspect")
@click.argument("design")
@click.option("--px-per-inch", type=float, help="For a drawing without mm or inches.")
@click.option("--picture", "picture_file", help="Write a picture of it to this new SVG.")
@click.option("--write", is_flag=True, help="Write a design file to start from beside it.")
@click.option("--json", "as_json", is_flag=True, help="Tell the result as JSON.")
def inspect_command(
    design: str,
    px_per_inch: float | None,
    picture_file: str | None,
    *,
    write: bool,
    as_json: bool,
) -> None:
    """Show what lines, panels and sizes are seen in a drawing."""
    try:
        looked = _look(design, px_per_inch)
        if looked.artwork is not None and not as_json:
            click.echo(artwork_text(looked.artwork))
        seen = _seen(looked, px_per_inch)
        if not as_json:
            _tell(seen, looked)  # first, as it says why no file can be written
        wrote = []
        if picture_file is not None:
            wrote.append(_write_new(Path(picture_file), picture(seen)))
        if write:
            wrote.append(_write_design(seen, looked))
    except InputError as error:
        refused(error, as_json=as_json)
    if as_json:
        told = {**entry(seen), "wrote": [str(path) for path in wrote]}
        if looked.artwork is not None:
            told["artwork"] = artwork_entry(looked.artwork)
        click.echo(json.dumps(told, ensure_ascii=False, indent=1))
    else:
        for path in wrote:
            click.echo(f"Wrote {path}.")
    worst = {finding.severity for finding in seen.findings}
    sys.exit(1 if worst & {Severity.ERROR, Severity.WARNING} else 0)


@dataclass(frozen=True, slots=True)
class _Looked:
    """The files of a design, and its artwork where that is a file of its own."""

    files: DesignFiles
    artwork: FileArtwork | None


def _look(design: str, px_per_inch: float | None) -> _Looked:
    low, high = PX_PER_INCH_RANGE
    if px_per_inch is not None and not low <= px_per_inch <= high:
        raise refuse(
            "--px-per-inch",
            f"{px_per_inch:g} is no number from {low:g} to {high:g}.",
            "Write 96, 90 or 72.",
        )
    files = design_files(design)
    spec = files.spec.artwork
    if spec is None:
        return _Looked(files, None)
    if px_per_inch is not None and files.toml is None:
        spec = replace(spec, px_per_inch=px_per_inch)
    return _Looked(files, read_artwork(spec, files.folder))


def _seen(looked: _Looked, px_per_inch: float | None) -> Inspection:
    files, artwork = looked.files, looked.artwork
    name = files.lines.name
    if artwork is None or artwork.spec.trace is None:
        return inspect_svg(bytes_of(files.lines), name, files.spec, px_per_inch)
    svg, told = traced_lines(artwork)
    seen = inspect_svg(svg, name, with_traced_lines(files.spec))
    return replace(seen, findings=worst_first([*seen.findings, *told]))


def _write_new(path: Path, data: bytes) -> Path:
    """Write a file that is not there yet."""
    try:
        with path.open("xb") as file:
            file.write(data)
    except FileExistsError:
        raise refuse(
            path.name, "this file is there already.", "Move it away, or name another."
        ) from None
    except OSError as error:
        raise refuse(
            path.name, f"it cannot be written ({error.strerror}).", "Name another place."
        ) from None
    return path


def _write_design(seen: Inspection, looked: _Looked) -> Path:
    """Write the design file, and see that it runs; take it away where it does not."""
    lines, artwork = looked.files.lines, looked.artwork
    text = starter_toml(seen, lines.stem, artwork.spec if artwork else None)
    path = _write_new(lines.with_suffix(".toml"), text.encode())
    try:
        load_designs(path)
    except InputError as error:
        path.unlink()
        raise InputError(replace(one, place=lines.name) for one in error.problems) from None
    return path


def entry(seen: Inspection) -> dict[str, Any]:
    """Give what was seen for programs: mm, boxes with y up from the lower left."""
    return {
        "file": seen.drawing.name,
        "size_mm": [round(seen.drawing.width_mm, 4), round(seen.drawing.height_mm, 4)],
        "size_in": [
            round(seen.drawing.width_mm / 25.4, 4),
            round(seen.drawing.height_mm / 25.4, 4),
        ],
        "size_stated": seen.drawing.size_stated,
        "lines": [_line_entry(group) for group in seen.groups],
        "pieces": [
            {
                "name": piece.name,
                "area_mm2": round(piece.area_mm2, 3),
                "box_mm": [round(v, 3) for v in piece.lines.solid.box],
                "at_mm": [round(v, 3) for v in piece.at_mm],
                "panels": [panel.name for panel in piece.panels],
            }
            for piece in seen.pieces
        ],
        "panels": [
            {"name": panel.name, "piece": piece.name, **_panel_entry(panel)}
            for piece in seen.pieces
            for panel in piece.panels
        ],
        "creases": [
            {"piece": piece.name, **_crease_entry(crease)}
            for piece in seen.pieces
            for crease in piece.creases
        ],
        "findings": [finding_entry(finding) for finding in seen.findings],
    }


def _panel_entry(panel: SeenPanel) -> dict[str, Any]:
    return {
        "area_mm2": round(panel.region.area_mm2, 3),
        "box_mm": [round(v, 3) for v in panel.region.box],
        "at_mm": [round(v, 3) for v in panel.at_mm],
        "takes_text": panel.takes_text,
        "glue": panel.glue,
    }


def _crease_entry(crease: SeenCrease) -> dict[str, Any]:
    return {
        "between": list(crease.between),
        "at_mm": [round(v, 3) for v in crease.at_mm],
        "length_mm": round(crease.length_mm, 3),
        "angle_deg": crease.angle_deg,
        "way": crease.way,
        "told": crease.told,
    }


def _line_entry(group: LineGroup) -> dict[str, Any]:
    return {
        "kind": str(group.kind),
        "why": group.why,
        "closed": group.closed,
        "count": len(group.contours),
        "length_mm": round(group.length_mm, 3),
        "box_mm": [round(v, 3) for v in group.box_mm],
        "ids": list(group.ids),
        "classes": list(group.classes),
        "labels": list(group.labels),
        "stroke": group.stroke,
        "stroke_mm": round(group.stroke_mm, 4),
        "dashes": group.dashes,
    }


def _tell(seen: Inspection, looked: _Looked) -> None:
    drawing = seen.drawing
    how = "" if drawing.size_stated else f", at {seen.px_per_inch or 96:g} px to the inch"
    if looked.artwork is None or looked.artwork.spec.trace is None:
        click.echo(f"{drawing.name}: {size_text(drawing.width_mm, drawing.height_mm)}{how}")
    if looked.files.toml is None and looked.artwork is not None:
        click.echo("Lines:")
    elif seen.told_by is not None:
        click.echo(f"Lines as {seen.told_by} has them:")
    _tell_groups(seen)
    if len(seen.pieces) > 1:
        click.echo(f"{len(seen.pieces)} pieces:")
    for piece in seen.pieces:
        _tell_piece(piece)
    for finding in seen.findings:
        click.echo(str(finding))


def _tell_groups(seen: Inspection) -> None:
    artwork = [group for group in seen.groups if isinstance(group.kind, Other)]
    for group in seen.groups:
        if group not in artwork[MOST_ARTWORK:]:
            click.echo(f"  {_line_text(group)}")
    if len(artwork) > MOST_ARTWORK:
        click.echo(f"  and {len(artwork) - MOST_ARTWORK} more kinds of artwork")


def _tell_piece(piece: SeenPiece) -> None:
    if piece.name:
        x0, y0, x1, y1 = piece.lines.solid.box
        click.echo(
            f"piece {piece.name}: {x1 - x0:.2f} x {y1 - y0:.2f} mm,"
            f" {piece.area_mm2:.1f} mm2, at [{piece.at_mm[0]:.1f}, {piece.at_mm[1]:.1f}]"
        )
    count = len(piece.panels)
    click.echo(f"{count} panel{'' if count == 1 else 's'}:")
    for panel in piece.panels:
        click.echo(f"  {_panel_text(panel)}")
    _tell_creases(piece)


def _tell_creases(piece: SeenPiece) -> None:
    count = len(piece.creases)
    if count:
        click.echo(f"{count} crease{'' if count == 1 else 's'} between panels:")
    for crease in piece.creases:
        x, y = crease.at_mm
        taken = "" if crease.told else " (taken: nothing says so)"
        click.echo(
            f"  {' | '.join(crease.between)}: {crease.words}{taken},"
            f" {crease.length_mm:.2f} mm long, at [{x:.1f}, {y:.1f}]"
        )


def _panel_text(panel: SeenPanel) -> str:
    x0, y0, x1, y1 = panel.region.box
    bare = ", takes glue" if panel.glue else ", no room for text"
    bare = "" if panel.takes_text else bare
    return (
        f"{panel.name}: {x1 - x0:.2f} x {y1 - y0:.2f} mm, {panel.region.area_mm2:.1f} mm2,"
        f" at [{panel.at_mm[0]:.1f}, {panel.at_mm[1]:.1f}]{bare}"
    )


def _line_text(group: LineGroup) -> str:
    """Say one kind of line in a line: what, how many, how large, how drawn, why."""
    names = [
        *(f"#{one}" for one in group.ids[:3]),
        *(f".{one}" for one in group.classes[:3]),
    ]
    names += [f"'{label}'" for label in group.labels[:1] if not names]
    x0, y0, x1, y1 = group.box_mm
    look = []
    if group.stroke is not None:
        look.append(f"stroke {group.stroke} {group.stroke_mm:.2f} mm")
        look.append(f"dashes {group.dashes}" if group.dashes else "solid")
    look.append("closed" if group.closed else "open")
    words = (
        f"{group.kind}: {len(group.contours)} x {' '.join(names)}, {', '.join(look)},"
        f" {x1 - x0:.2f} x {y1 - y0:.2f} mm, {group.length_mm:.1f} mm long: {group.why}"
    )
    return " ".join(words.replace(" ,", ",").split())
