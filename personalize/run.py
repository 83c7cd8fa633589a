"""The whole run: from a table and a design to files, or to findings alone.

    check   what would go wrong
    proof   the same with a picture of every piece
    make    sheets to print, the cut file, proof and report

The stages are joined here and nowhere else. Pieces are set one at a time and go through
all writers at once, so that memory does not grow with their glyphs.
"""

import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from personalize.checks.findings import design_findings
from personalize.checks.inside import InsideCheck
from personalize.checks.kept import Wanted, check_kept
from personalize.checks.wall import check_wall
from personalize.design.design import Design
from personalize.earlier import EarlierSizes
from personalize.errors import InputError, Problem
from personalize.finding import Finding, Severity, worst_first
from personalize.fold.piece import Piece
from personalize.geometry.zone import grown, region_of
from personalize.job import Job, Unit, prepare
from personalize.messages.choose import choose_where
from personalize.messages.message import choose_rows
from personalize.messages.table import Message, Table
from personalize.output.cut_dxf import cut_dxf
from personalize.output.cut_svg import cut_svg
from personalize.output.pdf import PrintPdf
from personalize.output.proof import ProofPage
from personalize.output.report import REPORT_FILE, Report
from personalize.result import check_writable, staged
from personalize.sheet.fill import (
    Plan,
    SheetRules,
    check_page,
    cut_layouts,
    fill,
    plan_sheets,
)
from personalize.sheet.paper import Paper
from personalize.type.compose import ComposedText
from personalize.units import FLATTEN_MM

PRINT_FILE, PROOF_FILE = "print.pdf", "proof.html"
PROBLEMS_SUFFIX = "-problems"
DEFAULT_PAPER = Paper("A4", 210.0, 297.0)

ALSO = ("dxf",)
"""Kinds of files that are written on request."""

Progress = Callable[[int, int], None]


def _silent(done: int, total: int) -> None:
    """Tell nobody."""


@dataclass(frozen=True, slots=True)
class Options:
    """What a maker chooses for a run, beside messages and design."""

    sheets: SheetRules = field(default_factory=lambda: SheetRules(DEFAULT_PAPER))
    rows: str | None = None
    """Rows to put on sheets, such as "3,5-9"; sizes still come from the whole batch."""
    where: tuple[str, ...] = ()
    """Conditions HEADING=VALUE on the rows to put on sheets."""
    sort: str | None = None
    """Heading to order the pieces by; None keeps the order of the rows."""
    also: frozenset[str] = frozenset()
    """Further kinds of files, of `ALSO`."""
    earlier: EarlierSizes | None = None
    """Sizes of an earlier batch, for late guests (`read_earlier`); None finds them anew."""
    curves: bool = False
    """Draw the letters of print.pdf as curves, without text in it."""
    leave_out_faulty: bool = False
    proof: bool = True
    progress: Progress = _silent


@dataclass(frozen=True, slots=True)
class Result:
    """What a run came to."""

    findings: tuple[Finding, ...]
    """Worst first."""
    folder: Path | None = None
    """Where the files are; None for a check."""
    made: bool = False
    """Whether sheets were written."""
    pieces: int = 0
    sheets: int = 0
    left_out: int = 0
    """Pieces that an error kept off the sheets."""
    files: tuple[str, ...] = ()

    @property
    def worst(self) -> Severity | None:
        """The weightiest severity that stands."""
        return self.findings[0].severity if self.findings else None


@dataclass(frozen=True)
class _Plan:
    """Which units go on sheets, and how."""

    plan: Plan
    placed: frozenset[int]
    """Rows on the sheets."""
    chosen: frozenset[int]
    """Rows asked for."""
    count: int
    left_out: int


def check(table: Table, design: Design, options: Options | None = None) -> Result:
    """Find what would go wrong. Raises InputError where input cannot be used."""
    options = options or Options()
    job, planned = _begun(table, design, options, fully=False)
    inside = InsideCheck(design)
    for i, unit in enumerate(job.units, 1):
        _checked(job, unit, inside)
        options.progress(i, len(job.units))
    return Result(_findings(job, planned.plan), pieces=planned.count)


def proof(
    table: Table, design: Design, out: Path, options: Options | None = None
) -> Result:
    """Write the proof and the report of a batch into the folder `out`.

    Raises InputError where input cannot be used; then nothing is written.
    """
    options = options or Options()
    check_writable(out)
    return _proved(*_begun(table, design, options, fully=False), out, options)


def make(table: Table, design: Design, out: Path, options: Options | None = None) -> Result:
    """Write sheets, cut file, proof and report of a batch into the folder `out`.

    While an error stands against a row that is asked for, sheets are written only with
    `Options.leave_out_faulty`; otherwise the proof and the report go to a folder beside,
    and an earlier result in `out` stays.

    Raises
    ------
    InputError
        Input cannot be used. Nothing is written.
    OwnFaultError
        A check on the written files failed. Nothing is moved into place.
    """
    options = options or Options()
    check_writable(out)
    job, planned = _begun(table, design, options)
    if (planned.left_out and not options.leave_out_faulty) or not planned.count:
        whole = Path(os.path.abspath(out))  # "." has no name to add to
        beside = whole.with_name(whole.name + PROBLEMS_SUFFIX)
        check_writable(beside)
        return _proved(job, planned, beside, options)
    with staged(out) as folder:
        result = _written(job, planned, folder, options)
    return Result(
        result.findings,
        out,
        made=True,
        pieces=planned.count,
        sheets=planned.plan.sheets_for(planned.count),
        left_out=planned.left_out,
        files=result.files,
    )


def together(*steps: Callable[[], Any]) -> list[Any]:
    """Do all steps and give what each gave; problems of all are raised as one error."""
    problems: list[Problem] = []
    values = []
    for step in steps:
        try:
            values.append(step())
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return values


def _begun(
    table: Table, design: Design, options: Options, *, fully: bool = True
) -> tuple[Job, _Plan]:
    """Give every text its size, and lay out a sheet."""
    rules = options.sheets
    if options.rows is not None or options.where:
        rules = replace(rules, spares=False)
    job, plan = together(
        lambda: prepare(table, design, options.sort, options.earlier),
        lambda: plan_sheets(design, rules, fully=fully),
    )
    chosen = choose(job.messages, table.headings, options.rows, options.where)
    return job, _planned(job, plan, chosen)


def choose(
    messages: Sequence[Message],
    headings: Sequence[str],
    rows: str | None,
    where: Sequence[str],
) -> tuple[Message, ...]:
    """Choose the messages to put on sheets: by their rows, by their words, or both."""
    chosen = tuple(messages)
    if rows is not None:
        # Rows are counted as they stand in the file, whatever the order of the pieces.
        wanted = choose_rows(sorted(messages, key=lambda message: message.row), rows)
        kept = {message.row for message in wanted}
        chosen = tuple(message for message in chosen if message.row in kept)
    return choose_where(chosen, where, headings) if where else chosen


def _planned(job: Job, plan: Plan, chosen: Sequence[Message]) -> _Plan:
    asked = {message.row: message.copies for message in chosen}
    if not sum(asked.values()):
        raise InputError(
            Problem("--rows", "the chosen rows have 0 copies.", "Choose others.")
        )
    placed = {row: copies for row, copies in asked.items() if row not in job.faulty}
    return _Plan(
        plan,
        frozenset(placed),
        frozenset(asked),
        sum(placed.values()),
        sum(asked.values()) - sum(placed.values()),
    )


def _findings(job: Job, plan: Plan) -> tuple[Finding, ...]:
    return worst_first([*job.findings, *design_findings(job.design, plan.bleed_mm)])


def _checked(job: Job, unit: Unit, inside: InsideCheck) -> tuple[ComposedText, ...]:
    """Set a unit, and prove its ink to be inside where it fits at all."""
    texts = job.composed(unit)
    if unit.message.row not in job.faulty:
        for text in texts:
            inside.check(text, unit.message.row)
    return texts


def _proved(job: Job, planned: _Plan, out: Path, options: Options) -> Result:
    """Write proof and report only."""
    findings = _findings(job, planned.plan)
    page = ProofPage(job.design, job.source, findings)
    for _ in _pieces(job, planned, page, options.progress):
        pass  # each is drawn on the page as it comes by
    report = Report(job.source, len(job.messages), job.design, job.size_sets)
    with staged(out) as folder:
        _write(folder / PROOF_FILE, page.html(planned.count, 0, planned.plan.rules.paper))
        _write(folder / REPORT_FILE, report.json(findings, [PROOF_FILE]))
    return Result(
        findings, out, pieces=planned.count, left_out=planned.left_out, files=(PROOF_FILE,)
    )


def _pieces(
    job: Job, planned: _Plan, page: ProofPage | None, progress: Progress
) -> Iterator[Piece]:
    """Give the pieces for the sheets in order; show each unit on the proof on its way."""
    inside = InsideCheck(job.design)
    for i, unit in enumerate(job.units, 1):
        row = unit.message.row
        texts = _checked(job, unit, inside)
        if page is not None and row in planned.chosen:
            page.add(row, unit.copies, texts, unit.chosen)
        if row in planned.placed:
            for copy in unit.copies:
                version = unit.chosen.version.name if unit.chosen.version else ""
                yield Piece(job.design, row, copy, version, texts, unit.chosen.picture)
        progress(i, len(job.units))


def _written(job: Job, planned: _Plan, folder: Path, options: Options) -> Result:
    """Write all files into a folder and read back what must be proved."""
    plan, design = planned.plan, job.design
    findings = _findings(job, plan)
    page = ProofPage(design, job.source, findings) if options.proof else None
    pdf = _print_pdf(plan, options)
    report = Report(job.source, len(job.messages), job.design, job.size_sets)
    report.tell_correction(plan.rules.correction)
    rows: list[list[int]] = []
    pieces = _pieces(job, planned, page, options.progress)
    for sheet in fill(plan, pieces, planned.count):
        pdf.add_sheet(sheet)
        report.add_sheet(sheet)
        rows.append([p.piece.row for p in sheet.placed if p.piece.row is not None])
    for _ in pieces:
        pass  # faulty ones after the last placed piece, for the proof
    furniture = check_page(plan, rows)
    if furniture:
        pdf.add_page(plan.rules.paper, furniture)
    pdf.save(folder / PRINT_FILE)
    files = [PRINT_FILE]
    for layout in cut_layouts(plan, planned.count):
        written = {layout.file: cut_svg(layout)}
        if "dxf" in options.also:
            written[layout.file.replace(".svg", ".dxf")] = cut_dxf(layout)
        for file, text in written.items():
            _write(folder / file, text)
            _prove_cut(folder, file, planned)
            files.append(file)
    if page is not None:
        html = page.html(planned.count, len(rows), plan.rules.paper)
        _write(folder / PROOF_FILE, html)
        files.append(PROOF_FILE)
    _prove_kept(folder, job, planned)
    _write(folder / REPORT_FILE, report.json(findings, files))
    return Result(findings, folder, files=(*files, REPORT_FILE))


def _print_pdf(plan: Plan, options: Options) -> PrintPdf:
    outline = region_of(plan.design.outline.flattened(FLATTEN_MM))
    printed = grown(outline, plan.bleed_mm) if plan.bleed_mm > 0 else outline
    true = plan.rules.correction.print
    return PrintPdf(plan.design.name, printed, curves=options.curves, correction=true)


def _prove_cut(folder: Path, file: str, planned: _Plan) -> None:
    """Read a cut file back; its pieces are counted anew, not taken from the layout."""
    plan, count = planned.plan, planned.count
    last = count - (plan.sheets_for(count) - 1) * plan.per_sheet
    used = plan.per_sheet
    if not plan.rules.spares and (count < plan.per_sheet or "last" in file):
        used = last
    check_wall(
        (folder / file).read_bytes(),
        file,
        plan.design,
        [plan.rules.correction.cut @ at for at in plan.arrangement.places[:used]],
        plan.rules.paper,
    )


def _prove_kept(folder: Path, job: Job, planned: _Plan) -> None:
    """Read print.pdf back: messages x copies are the pieces made and those left out."""
    wanted, number = [], 1
    for message in job.messages:
        for copy in range(1, message.copies + 1):
            if message.row in planned.placed:
                wanted.append(Wanted(message, copy, number))
            number += 1
    places = planned.plan.per_sheet * planned.plan.sheets_for(planned.count)
    spares = places - planned.count if planned.plan.rules.spares else 0
    check_kept(folder / PRINT_FILE, job.design, wanted, job.total, spares)


def _write(path: Path, text: str) -> None:
    path.write_text(text, "utf-8", newline="\n")
