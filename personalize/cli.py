"""The command line: check, proof, make.

Exit codes: 0 nothing above a note; 1 a warning or an error stands; 2 input or usage
cannot be used; 3 our own fault. Results go to stdout, progress and problems to stderr.
"""

import gc
import json
import math
import sys
import tomllib
import traceback
from collections.abc import Callable
from dataclasses import asdict
from importlib import metadata
from pathlib import Path
from typing import Any, NoReturn

import click

from personalize.design.design import Design
from personalize.design.load import load_design
from personalize.errors import InputError, OwnFaultError, refuse
from personalize.finding import Finding, Severity
from personalize.messages.message import messages_of
from personalize.messages.read import read_table
from personalize.messages.table import Table
from personalize.messages.words import cleaned
from personalize.output.report import finding_entry
from personalize.result import check_writable
from personalize.run import Options, Result, check, choose, make, proof, together
from personalize.sheet.fill import SheetRules
from personalize.sheet.paper import Paper, PaperMargins, parse_margins, parse_paper
from personalize.starter import write_starter
from personalize.units import length_mm

MOST_SPACING_MM = 500.0
INTERRUPTED = 130
"""Exit code after Ctrl-C: 128 and the signal's number, as shells have it."""
NOT_YET = "Only print.pdf, cut.svg, proof.html and report.json are written so far."
_PYPROJECT = Path(__file__).resolve().parent.parent / "pyproject.toml"
_PLURAL = {Severity.ERROR: "errors", Severity.WARNING: "warnings", Severity.NOTE: "notes"}


def _version() -> str:
    """Version of the package, installed or run from a checkout."""
    try:
        return metadata.version("personalize")
    except metadata.PackageNotFoundError:
        return str(tomllib.loads(_PYPROJECT.read_text("utf-8"))["project"]["version"])


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(_version(), prog_name="personalize")
def cli() -> None:
    """Put the names of a spreadsheet on printable paper kits.

    MESSAGES is a CSV or XLSX file. A design is an SVG, its TOML, or the name of a
    bundled sample: plant-flag, herb-tag, table-tent, jar-lid.
    """


def _shared(function: Callable[..., None]) -> Callable[..., None]:
    for decorator in (
        click.argument("messages"),
        click.option("--design", required=True, help="SVG, TOML, or a sample's name."),
        click.option("--worksheet", help="Worksheet of a workbook that has several."),
        click.option(
            "--encoding", help="Of a text file, such as cp1252 [told by the file]."
        ),
        click.option(
            "--delimiter", help="comma, semicolon, tab or pipe [told by the file]."
        ),
        click.option("--heading-row", type=int, help="Row that holds the headings."),
        click.option(
            "--clean", is_flag=True, help="Mend stray spaces and invisible characters."
        ),
        click.option("--where", multiple=True, help="Only rows with HEADING=VALUE."),
        click.option("--sort", help="Order pieces by the words under this heading."),
        click.option(
            "--paper", default="A4", show_default=True, help="A4, Letter, 8x10in..."
        ),
        click.option("--margin", help="Blank edge in mm: one, or top,right,bottom,left."),
        click.option("--spacing", help="Distance between pieces in mm [twice the bleed]."),
        click.option(
            "--marks",
            type=click.Choice(["corners", "none"]),
            default="corners",
            show_default=True,
            help="Register marks.",
        ),
        click.option("--rows", help="Rows to put on sheets, such as 3,5-9,12-."),
        click.option("--json", "as_json", is_flag=True, help="Tell the result as JSON."),
    ):
        function = decorator(function)
    return function


@cli.command("check")
@_shared
def check_command(**given: Any) -> None:
    """Find what would go wrong, and write nothing."""
    _run(given, lambda table, design, options: check(table, design, options))


@cli.command("proof")
@_shared
@click.option("--out", required=True, help="Folder for proof.html and report.json.")
def proof_command(**given: Any) -> None:
    """Show every piece with its problems in a page for the browser."""
    out = Path(given["out"])
    _run(given, lambda table, design, options: proof(table, design, out, options))


@cli.command("make")
@_shared
@click.option("--out", required=True, help="Folder for the files.")
@click.option("--also", help="Further files, with commas between.")
@click.option("--no-proof", is_flag=True, help="Leave the proof out.")
@click.option(
    "--leave-out-faulty",
    is_flag=True,
    help="Make the sheets without the pieces that an error stands against.",
)
def make_command(**given: Any) -> None:
    """Write sheets to print, the cut file, the proof and the report."""
    out = Path(given["out"])
    _run(given, lambda table, design, options: make(table, design, out, options))


@cli.command("starter")
@click.argument("design")
@click.option("--out", required=True, help="New file to write: .csv or .xlsx.")
@click.option("--json", "as_json", is_flag=True, help="Tell the result as JSON.")
def starter_command(design: str, out: str, *, as_json: bool) -> None:
    """Write a spreadsheet with the right headings to fill in."""
    try:
        columns = write_starter(load_design(design), Path(out))
    except InputError as error:
        _refused(error, as_json=as_json)
    if as_json:
        click.echo(json.dumps([asdict(c) for c in columns], ensure_ascii=False, indent=1))
        return
    for column in columns:
        click.echo(f"{column.heading}: {column.note}")
    click.echo(f"Fill in {out}, then take the example row away.")


def _options(given: dict[str, Any]) -> Options:
    """Read the options; raises InputError with all that is wrong with them."""
    paper, margins, spacing, _ = together(
        lambda: parse_paper(given["paper"]),
        lambda: _margins(given["margin"], given["paper"]),
        lambda: _spacing(given["spacing"]),
        lambda: _also(given.get("also")),
    )
    return Options(
        SheetRules(paper, margins, spacing, given["marks"] != "none"),
        given["rows"],
        given["where"],
        given["sort"],
        leave_out_faulty=given.get("leave_out_faulty", False),
        proof=not given.get("no_proof", False),
        progress=_progress() if sys.stderr.isatty() else lambda done, total: None,
    )


def _margins(text: str | None, paper: str) -> PaperMargins:
    if text is None:
        return PaperMargins()
    try:
        return parse_margins(text, parse_paper(paper))
    except InputError as error:
        if error.problems[0].place != "--paper":
            raise
        # That is told beside; margins are read here for their own mistakes.
        return parse_margins(text, Paper(paper, math.inf, math.inf))


def _spacing(text: str | None) -> float | None:
    if text is None:
        return None
    try:
        value = length_mm(text)
    except ValueError:
        value = -1.0
    if not 0 <= value <= MOST_SPACING_MM:
        raise refuse(
            "--spacing",
            f"{text!r} is no distance from 0 to {MOST_SPACING_MM:g} mm.",
            "Write a number of mm, such as 4.",
        )
    return value


def _also(text: str | None) -> None:
    """No further kinds of file are known yet: say so rather than leave one out."""
    if text is not None:
        raise refuse("--also", f"{text!r} names no kind of file that is known.", NOT_YET)


def _progress() -> Callable[[int, int], None]:
    def show(done: int, total: int) -> None:
        if done == total:
            click.echo("\r" + " " * 40 + "\r", err=True, nl=False)
        elif done % 25 == 0:
            click.echo(f"\rsetting piece {done} of {total}", err=True, nl=False)

    return show


def _inputs(given: dict[str, Any]) -> tuple[Table, Design, Options]:
    """Read everything, so that all problems of all inputs are told at once."""
    table, design, options, _ = together(
        lambda: _table(given),
        lambda: load_design(given["design"]),
        lambda: _options(given),
        lambda: _out(given.get("out")),
    )
    return table, design, options


def _table(given: dict[str, Any]) -> Table:
    """Read the spreadsheet, its counts of copies and the choice of rows included."""
    table = read_table(
        given["messages"],
        worksheet=given["worksheet"],
        encoding=given["encoding"],
        delimiter=given["delimiter"],
        heading_row=given["heading_row"],
    )
    if given["clean"]:
        table, _ = cleaned(table)
    choose(messages_of(table), table.headings, given["rows"], given["where"])
    return table


def _out(text: str | None) -> None:
    """Refuse a folder that cannot be replaced."""
    if text is not None:
        check_writable(Path(text))


def _run(
    given: dict[str, Any], stage: Callable[[Table, Design, Options], Result]
) -> NoReturn:
    try:
        result = stage(*_inputs(given))
    except InputError as error:
        _refused(error, as_json=given["as_json"])
    except KeyboardInterrupt:
        click.echo("Stopped; nothing was changed.", err=True)
        sys.exit(INTERRUPTED)
    if given["as_json"]:
        click.echo(json.dumps(_as_json(result), ensure_ascii=False, indent=1))
    else:
        _tell(result)
    above_note = result.worst in (Severity.ERROR, Severity.WARNING)
    sys.exit(1 if above_note else 0)


def _refused(error: InputError, *, as_json: bool) -> NoReturn:
    if as_json:
        problems = [{"place": p.place, "says": p.says, "do": p.do} for p in error.problems]
        click.echo(json.dumps({"problems": problems}, ensure_ascii=False, indent=1))
    for problem in error.problems:
        # A line break in a heading or a file name must not make it two lines.
        click.echo(" ".join(str(problem).splitlines()), err=True)
    sys.exit(2)


def _as_json(result: Result) -> dict[str, Any]:
    return {
        "made": result.made,
        "folder": str(result.folder) if result.folder else None,
        "files": list(result.files),
        "pieces": result.pieces,
        "sheets": result.sheets,
        "left_out": result.left_out,
        "findings": [finding_entry(finding) for finding in result.findings],
    }


def _tell(result: Result) -> None:
    """Say what came out, in plain words; notes are counted, the rest is listed."""
    notes = 0
    has_proof = "proof.html" in result.files
    for finding in result.findings:
        is_note = finding.severity is Severity.NOTE
        if has_proof and is_note and not finding.rule.startswith("care-"):
            notes += 1
        else:
            click.echo(str(finding))
    click.echo(_counted(result.findings, notes))
    if result.made:
        click.echo(
            f"{_many(result.pieces, 'piece')} on {_many(result.sheets, 'sheet')}"
            + (f", {result.left_out} left out" if result.left_out else "")
            + f". Files in {result.folder}: {', '.join(result.files)}"
        )
    elif result.folder is not None:
        if result.left_out:
            click.echo("No sheets were written, since an error stands.")
        click.echo(f"Look at {result.folder / 'proof.html'}")


def _counted(findings: tuple[Finding, ...], notes: int) -> str:
    counts = [
        _many(n, _PLURAL[severity].removesuffix("s"))
        for severity in (Severity.ERROR, Severity.WARNING)
        if (n := sum(f.severity is severity for f in findings))
    ]
    if notes:
        counts.append(f"{_many(notes, 'note')} (see the proof)")
    return f"Found: {', '.join(counts)}." if counts else "Nothing to mend."


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def main() -> NoReturn:
    """Run the command line; a crash is told as our own fault, with exit code 3."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            # Names in any script must not stop a run in an old console.
            reconfigure(errors="backslashreplace")
    # What is imported stays: looking through it again and again cost 5 % (measured).
    gc.freeze()
    gc.set_threshold(50_000, 20, 100)
    try:
        cli()
    except OwnFaultError as error:
        click.echo(f"Our own fault, nothing was written: {error}", err=True)
    except Exception:
        click.echo("Our own fault, nothing was written. Please report this:", err=True)
        click.echo(traceback.format_exc(), err=True)
    sys.exit(3)
