"""The command line: check, proof, make, starter, fonts, inspect.

Exit codes: 0 nothing above a note; 1 a warning or an error stands; 2 input or usage
cannot be used; 3 our own fault. Results go to stdout, progress and problems to stderr.
"""

import gc
import json
import sys
import tomllib
import traceback
from collections.abc import Callable, Sequence
from dataclasses import asdict
from importlib import metadata
from pathlib import Path
from typing import Any, NoReturn

import click

from personalize.cli_cut import all_kinds, cut_options
from personalize.cli_fonts import fonts_command
from personalize.cli_inputs import designs_of, inputs, shared
from personalize.cli_inspect import inspect_command
from personalize.cli_ruler import machines_command, ruler_command
from personalize.cli_tell import refused, result_entry, tell
from personalize.design.design import Design
from personalize.errors import InputError, OwnFaultError, refuse
from personalize.finding import Severity
from personalize.messages.table import Table
from personalize.options import Options, Result
from personalize.run import check, make, proof
from personalize.starter import write_starter
from personalize.trial import trial

INTERRUPTED = 130
"""Exit code after Ctrl-C: 128 and the signal's number, as shells have it."""
_PYPROJECT = Path(__file__).resolve().parent.parent / "pyproject.toml"


def _version() -> str:
    """Version of the package, installed or run from a checkout."""
    try:
        return metadata.version("personalize")
    except metadata.PackageNotFoundError:
        return str(tomllib.loads(_PYPROJECT.read_text("utf-8"))["project"]["version"])


class _Group(click.Group):
    """Tells a wrong use of the command line as JSON too, where JSON is asked for."""

    def main(self, args: Sequence[str] | None = None, *rest: Any, **more: Any) -> Any:
        given = list(sys.argv[1:] if args is None else args)
        if "--json" not in given:
            return super().main(args, *rest, **more)
        more["standalone_mode"] = False
        try:
            code = super().main(args, *rest, **more)
        except click.UsageError as error:
            place = error.ctx.command_path if error.ctx is not None else "personalize"
            do = f"See {place} --help."
            refused(refuse(place, error.format_message(), do), as_json=True)
        sys.exit(code if isinstance(code, int) else 0)


@click.group(cls=_Group, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(_version(), prog_name="personalize")
def cli() -> None:
    """Put the names of a spreadsheet on printable paper kits.

    MESSAGES is a CSV or XLSX file. A design is an SVG, its TOML, or the name of a
    bundled sample: plant-flag, herb-tag, table-tent, jar-lid.
    """


@cli.command("check")
@shared
def check_command(**given: Any) -> None:
    """Find what would go wrong, and write nothing."""
    _run(given, check)


@cli.command("proof")
@shared
@click.option("--out", required=True, help="Folder for proof.html and report.json.")
@click.option(
    "--also",
    multiple=True,
    callback=all_kinds,
    help="Further files: findings, proof-pdf.",
)
def proof_command(**given: Any) -> None:
    """Show every piece with its problems in a page for the browser."""
    out = Path(given["out"])
    _run(given, lambda table, designs, options: proof(table, designs, out, options))


@cli.command("make")
@shared
@click.option("--out", required=True, help="Folder for the files.")
@cut_options
@click.option("--profile", help="ICC profile of the print shop's press.")
@click.option("--most-ink", help="Percent of ink that the press takes [300].")
@click.option("--curves", is_flag=True, help="Letters as curves in print.pdf, not text.")
@click.option("--no-proof", is_flag=True, help="Leave the proof out.")
@click.option(
    "--leave-out-faulty",
    is_flag=True,
    help="Make the sheets without the pieces that an error stands against.",
)
def make_command(**given: Any) -> None:
    """Write sheets to print, the cut file, the proof and the report."""
    out = Path(given["out"])
    _run(given, lambda table, designs, options: make(table, designs, out, options))


@cli.command("trial")
@shared
@click.option("--out", required=True, help="Folder for the trial sheet.")
def trial_command(**given: Any) -> None:
    """Write one sheet of the riskiest pieces, to try on plain paper first."""
    out = Path(given["out"])
    _run(given, lambda table, designs, options: trial(table, designs, out, options))


@cli.command("starter")
@click.argument("designs", metavar="DESIGN...", nargs=-1, required=True)
@click.option("--out", required=True, help="New file to write: .csv or .xlsx.")
@click.option("--json", "as_json", is_flag=True, help="Tell the result as JSON.")
def starter_command(designs: tuple[str, ...], out: str, *, as_json: bool) -> None:
    """Write a spreadsheet with the right headings to fill in, for all designs given."""
    try:
        columns = write_starter(designs_of(designs, ()), Path(out))
    except InputError as error:
        refused(error, as_json=as_json)
    if as_json:
        click.echo(json.dumps([asdict(c) for c in columns], ensure_ascii=False, indent=1))
        return
    for column in columns:
        click.echo(f"{column.heading}: {column.note}")
    click.echo(f"Fill in {out}, then take the example row away.")


cli.add_command(fonts_command)
cli.add_command(inspect_command)
cli.add_command(ruler_command)
cli.add_command(machines_command)


def _run(
    given: dict[str, Any],
    stage: Callable[[Table, tuple[Design, ...], Options], Result],
) -> NoReturn:
    try:
        result = stage(*inputs(given))
    except InputError as error:
        refused(error, as_json=given["as_json"])
    except KeyboardInterrupt:
        click.echo("Stopped; nothing was changed.", err=True)
        sys.exit(INTERRUPTED)
    if given["as_json"]:
        click.echo(json.dumps(result_entry(result), ensure_ascii=False, indent=1))
    else:
        tell(result)
    above_note = result.worst in (Severity.ERROR, Severity.WARNING)
    sys.exit(1 if above_note else 0)


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
