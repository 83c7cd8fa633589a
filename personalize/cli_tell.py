"""What the command line says: results, and why an input cannot be used."""

import json
import sys
from dataclasses import asdict
from typing import Any, NoReturn

import click

from personalize.errors import InputError
from personalize.finding import Finding, Severity
from personalize.options import Result
from personalize.output.report import finding_entry

_PLURAL = {Severity.ERROR: "errors", Severity.WARNING: "warnings", Severity.NOTE: "notes"}


def refused(error: InputError, *, as_json: bool) -> NoReturn:
    """Say why an input cannot be used, and stop."""
    if as_json:
        problems = [{"place": p.place, "says": p.says, "do": p.do} for p in error.problems]
        click.echo(json.dumps({"problems": problems}, ensure_ascii=False, indent=1))
    for problem in error.problems:
        # A line break in a heading or a file name must not make it two lines.
        click.echo(" ".join(str(problem).splitlines()), err=True)
    sys.exit(2)


def result_entry(result: Result) -> dict[str, Any]:
    """Give a result for programs."""
    return {
        "made": result.made,
        "folder": str(result.folder) if result.folder else None,
        "files": list(result.files),
        "pieces": result.pieces,
        "sheets": result.sheets,
        "left_out": result.left_out,
        "designs": [asdict(share) for share in result.shares],
        "findings": [finding_entry(finding) for finding in result.findings],
    }


def tell(result: Result) -> None:
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
        for share in result.shares:
            if len(result.shares) > 1 or share.stock:
                on = f" on {share.stock}" if share.stock else ""
                click.echo(
                    f"  {share.design}: {_many(share.pieces, 'piece')},"
                    f" {_many(share.sheets, 'sheet')}{on}, {' and '.join(share.cut_files)}"
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
