"""What the command line says: results, and why an input cannot be used."""

import json
import os
import re
import shutil
import sys
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any, NoReturn

import click

from personalize.errors import InputError
from personalize.finding import Finding, Severity
from personalize.options import Result
from personalize.output.report import finding_entry
from personalize.rules import about

MOST_NARROW, MOST_WIDE = 30, 100
"""Columns of text on a terminal, at least and at most."""
MOST_LETTERS = 200
"""Of a word in a sentence: what is longer was no word (a list given as a value, say)."""
_A_ROW = 3
"""So many files that are numbered through are told by the first and the last."""
_HEADINGS = {
    Severity.ERROR: "Must be mended",
    Severity.WARNING: "Look at this",
    Severity.NOTE: "Good to know",
}
_COLOURS = {Severity.ERROR: "red", Severity.WARNING: "yellow", Severity.NOTE: "cyan"}
_OF_THE_RUN = ("changes", "paper")
"""Subjects whose notes are few, and are to be read before paper is spent."""
_PLURAL = {Severity.ERROR: "errors", Severity.WARNING: "warnings", Severity.NOTE: "notes"}


def refused(error: InputError, *, as_json: bool) -> NoReturn:
    """Say why an input cannot be used, and stop."""
    if as_json:
        problems = [{"place": p.place, "says": p.says, "do": p.do} for p in error.problems]
        click.echo(json.dumps({"problems": problems}, ensure_ascii=False, indent=1))
    for problem in error.problems:
        # A line break in a heading or a file name must not make it two lines.
        click.echo(_shortened(" ".join(str(problem).splitlines())), err=True)
    sys.exit(2)


def _shortened(sentence: str) -> str:
    """Cut words in the middle that are too long to be read; JSON has them whole."""
    return re.sub(
        rf"\S{{{MOST_LETTERS},}}", lambda m: f"{m[0][:60]}...{m[0][-20:]}", sentence
    )


def result_entry(result: Result) -> dict[str, Any]:
    """Give a result for programs."""
    risks = {"risks": [asdict(risk) for risk in result.risks]} if result.risks else {}
    return {
        "made": result.made,
        "folder": str(result.folder) if result.folder else None,
        "files": list(result.files),
        "pieces": result.pieces,
        "sheets": result.sheets,
        "left_out": result.left_out,
        **risks,
        "designs": [asdict(share) for share in result.shares],
        "findings": [finding_entry(finding) for finding in result.findings],
    }


def tell(result: Result) -> None:
    """Say what came out, in plain words; notes are counted, the rest is listed.

    Where there is a proof, it has the notes, but for those of the whole run.
    """
    has_proof = "proof.html" in result.files
    notes = 0
    for severity in Severity:
        found = [f for f in result.findings if f.severity is severity and not is_care(f)]
        if has_proof and severity is Severity.NOTE:
            whole = [f for f in found if about(f.rule).subject in _OF_THE_RUN]
            notes, found = len(found) - len(whole), whole
        tell_findings(severity, found)
    for one in result.findings:
        if is_care(one):
            _paragraph(f"Take care. {one.says} {one.do}", "", "")
    click.echo(_counted(result.findings, notes))
    if result.made:
        _tell_sheets(result)
    elif result.folder is not None:
        if result.left_out:
            click.echo("No sheets were written, since an error stands.")
        click.echo(f"Look at {result.folder / 'proof.html'}")


def _tell_sheets(result: Result) -> None:
    """Say what was made, and why these rows on a trial sheet."""
    click.echo(
        f"{_many(result.pieces, 'piece')} on {_many(result.sheets, 'sheet')}"
        + (f", {result.left_out} left out" if result.left_out else "")
        + f". Files in {result.folder}: {', '.join(_in_rows(result.files))}"
    )
    for share in result.shares:
        if len(result.shares) > 1 or share.stock:
            on = f" on {share.stock}" if share.stock else ""
            cut = " and ".join(share.cut_files) or "nothing to cut"
            click.echo(
                f"  {share.design}: {_many(share.pieces, 'piece')},"
                f" {_many(share.sheets, 'sheet')}{on}, {cut}"
            )
    if result.checklist:
        click.echo("On the evening:")
    for step in result.checklist:
        click.echo(f"  [ ] {step}")
    if result.risks:
        click.echo("Try it on plain paper, at 100 %, and look at these rows:")
    for risk in result.risks:
        whose = f", {risk.design}" if risk.design is not None else ""
        click.echo(f"  row {risk.row}{whose}: {risk.why}")


def _in_rows(names: Sequence[str]) -> Iterator[str]:
    """Give names of files; of those that are numbered through the first and the last.

    >>> list(_in_rows(["print.pdf", "at-1.png", "at-2.png", "at-3.png", "cut.svg"]))
    ['print.pdf', 'at-1.png to at-3.png', 'cut.svg']
    >>> list(_in_rows(["sheet-1.png", "sheet-2.png", "cut-2.svg", "cut-4.svg"]))
    ['sheet-1.png', 'sheet-2.png', 'cut-2.svg', 'cut-4.svg']
    """
    rows: list[list[str]] = []
    for name in names:
        if rows and name == _next_name(rows[-1][-1]):
            rows[-1].append(name)
        else:
            rows.append([name])
    for row in rows:
        if len(row) < _A_ROW:
            yield from row
        else:
            yield f"{row[0]} to {row[-1]}"


def _next_name(name: str) -> str:
    """Count the number at the end of a file's name on by one; empty where it has none."""
    stem, dot, end = name.partition(".")
    before, dash, number = stem.rpartition("-")
    return f"{before}{dash}{int(number) + 1}{dot}{end}" if number.isdecimal() else ""


def is_care(finding: Finding) -> bool:
    """Whether a finding is a note of caution, which is shown once and in full."""
    return finding.rule.startswith("care-")


def tell_findings(severity: Severity, found: Sequence[Finding]) -> None:
    """List findings of one severity under a heading: row, what is wrong, what to do."""
    if not found:
        return
    heading = f"{_HEADINGS[severity]} ({len(found)})"
    coloured = "NO_COLOR" not in os.environ
    click.echo(
        click.style(heading, fg=_COLOURS[severity], bold=True, reset=True)
        if coloured
        else heading
    )
    # What has one remedy stands together, and the remedy once.
    remedies: dict[tuple[str, str], list[Finding]] = {}
    for one in found:
        remedies.setdefault((one.rule, one.do), []).append(one)
    for (_, do), alike in remedies.items():
        for one in alike:
            where = f"{one.where}: " if one.where else ""
            _paragraph(f"{where}{one.says}", "  ", "    ")
        if do:
            _paragraph(do, "    > ", "      ")


def _paragraph(words: str, first: str, rest: str) -> None:
    """Say a paragraph: wrapped on a terminal, on one line for a program."""
    words = " ".join(words.split())
    if not sys.stdout.isatty():
        click.echo(f"{first}{words}")
        return
    width = max(MOST_NARROW, min(shutil.get_terminal_size().columns - 1, MOST_WIDE))
    made = textwrap.wrap(
        words,
        width,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    click.echo("\n".join(made))


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
