"""The whole run: from a table and designs to files, or to findings alone.

    check   what would go wrong
    proof   the same with a picture of every piece
    make    sheets to print, cut files, proof and report

The stages are joined here and in `batch`, and nowhere else. Pieces are set one at a time
and go through all writers at once, so that memory does not grow with their glyphs.
"""

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from personalize.batch import Batch, Designs, Part, begin
from personalize.checks.inside import InsideCheck
from personalize.checks.kept import Due, Wanted, check_kept
from personalize.checks.wall import check_wall
from personalize.design.design import Design
from personalize.finding import Finding
from personalize.fold.piece import Piece
from personalize.geometry.zone import Region, grown, region_of
from personalize.job import Job, Unit
from personalize.messages.table import Table
from personalize.options import Options, Progress, Result, Share
from personalize.output.cut_dxf import cut_dxf
from personalize.output.cut_svg import cut_svg
from personalize.output.pdf import PrintPdf
from personalize.output.picklist import PICKLIST_FILE, PickList
from personalize.output.proof import ProofPage
from personalize.output.report import REPORT_FILE, Report
from personalize.result import check_writable, staged
from personalize.sheet.fill import Filled, Plan, check_page, cut_layouts, fill
from personalize.type.compose import ComposedText
from personalize.units import FLATTEN_MM

PRINT_FILE, PROOF_FILE = "print.pdf", "proof.html"
PROBLEMS_SUFFIX = "-problems"

__all__ = ["Options", "Result", "check", "make", "proof"]


def check(table: Table, designs: Designs, options: Options | None = None) -> Result:
    """Find what would go wrong. Raises InputError where input cannot be used."""
    options = options or Options()
    batch = begin(table, designs, options, fully=False)
    progress = _Progress(options.progress, batch.units)
    for part in batch.parts:
        inside = InsideCheck(part.design)
        for unit in part.job.units:
            _checked(part.job, unit, inside)
            progress.step()
    return Result(batch.findings(), pieces=batch.count)


def proof(
    table: Table, designs: Designs, out: Path, options: Options | None = None
) -> Result:
    """Write the proof and the report of a batch into the folder `out`.

    Raises InputError where input cannot be used; then nothing is written.
    """
    options = options or Options()
    check_writable(out)
    return _proved(begin(table, designs, options, fully=False), out, options)


def make(
    table: Table, designs: Designs, out: Path, options: Options | None = None
) -> Result:
    """Write sheets, cut files, proof and report of a batch into the folder `out`.

    `designs` is one design or several: every message gets one of each, as often as it has
    copies. While an error stands against a row that is asked for, sheets are written only
    with `Options.leave_out_faulty`; otherwise the proof and the report go to a folder
    beside, and an earlier result in `out` stays.

    Raises
    ------
    InputError
        Input cannot be used. Nothing is written.
    OwnFaultError
        A check on the written files failed. Nothing is moved into place.
    """
    options = options or Options()
    check_writable(out)
    batch = begin(table, designs, options)
    if (batch.left_out and not options.leave_out_faulty) or not batch.count:
        whole = Path(os.path.abspath(out))  # "." has no name to add to
        beside = whole.with_name(whole.name + PROBLEMS_SUFFIX)
        check_writable(beside)
        return _proved(batch, beside, options)
    with staged(out) as folder:
        findings, files, shares = _written(batch, folder, options)
    return Result(
        findings,
        out,
        made=True,
        pieces=batch.count,
        sheets=batch.sheets,
        left_out=batch.left_out,
        files=files,
        shares=shares,
    )


@dataclass(slots=True)
class _Progress:
    """Counts pieces over all designs."""

    tell: Progress
    total: int
    done: int = 0

    def step(self) -> None:
        """Tell that one more is done."""
        self.done += 1
        self.tell(self.done, self.total)


def _checked(job: Job, unit: Unit, inside: InsideCheck) -> tuple[ComposedText, ...]:
    """Set a unit, and prove its ink to be inside where it fits at all."""
    texts = job.composed(unit)
    if unit.message.row not in job.faulty:
        for text in texts:
            inside.check(text, unit.message.row)
    return texts


def _report(batch: Batch) -> Report:
    sizes = ((part.design, part.job.size_sets) for part in batch.parts)
    return Report(batch.source, len(batch.messages), sizes)


def _proved(batch: Batch, out: Path, options: Options) -> Result:
    """Write proof and report only."""
    findings = batch.findings()
    page = ProofPage(batch.name, batch.designs, batch.source, findings)
    progress = _Progress(options.progress, batch.units)
    for part in batch.parts:
        for _ in _pieces(part, batch, page, progress):
            pass  # each is drawn on the page as it comes by
    with staged(out) as folder:
        _write(folder / PROOF_FILE, page.html(batch.count, 0, options.sheets.paper))
        _write(folder / REPORT_FILE, _report(batch).json(findings, [PROOF_FILE]))
    return Result(
        findings, out, pieces=batch.count, left_out=batch.left_out, files=(PROOF_FILE,)
    )


def _pieces(
    part: Part, batch: Batch, page: ProofPage | None, progress: _Progress
) -> Iterator[Piece]:
    """Give the pieces for the sheets in order; show each unit on the proof on its way."""
    job, design = part.job, part.design
    inside = InsideCheck(design)
    for unit in job.units:
        row = unit.message.row
        texts = _checked(job, unit, inside)
        if page is not None and row in batch.chosen:
            page.add(design, row, unit.copies, texts, unit.chosen)
        if row in batch.placed:
            for copy in unit.copies:
                version = unit.chosen.version.name if unit.chosen.version else ""
                yield Piece(design, row, copy, version, texts, unit.chosen.picture)
        progress.step()


@dataclass(slots=True)
class _Writers:
    """Everything that sheets and pieces go through on their way."""

    page: ProofPage | None
    pdf: PrintPdf
    report: Report
    picks: PickList | None
    filled: list[Filled] = field(default_factory=list)

    def write(self, part: Part, batch: Batch, progress: _Progress) -> None:
        """Write the sheets of one design."""
        rows: list[list[int]] = []
        pieces = _pieces(part, batch, self.page, progress)
        for sheet in fill(part.plan, pieces, part.count, part.among):
            self.pdf.add_sheet(sheet)
            self.report.add_sheet(sheet)
            if self.picks is not None:
                self.picks.add_sheet(sheet)
            rows.append([p.piece.row for p in sheet.placed if p.piece.row is not None])
        for _ in pieces:
            pass  # faulty ones after the last placed piece, for the proof
        self.filled.append(Filled(part.plan, rows, part.among))


def _written(
    batch: Batch, folder: Path, options: Options
) -> tuple[tuple[Finding, ...], tuple[str, ...], tuple[Share, ...]]:
    """Write all files into a folder and read back what must be proved."""
    findings = batch.findings()
    page = None
    if options.proof:
        page = ProofPage(batch.name, batch.designs, batch.source, findings)
    printed = {part.design.name: _printed(part.design, part.plan) for part in batch.parts}
    correction = options.sheets.correction
    pdf = PrintPdf(batch.name, printed, curves=options.curves, correction=correction.print)
    report = _report(batch)
    report.tell_correction(correction)
    picks = PickList() if "picklist" in options.also else None
    writers = _Writers(page, pdf, report, picks)
    progress = _Progress(options.progress, batch.units)
    for part in batch.parts:
        writers.write(part, batch, progress)
    furniture = check_page(writers.filled)
    if furniture:
        pdf.add_page(options.sheets.paper, furniture)
    pdf.save(folder / PRINT_FILE)
    files, shares = [PRINT_FILE], []
    for part in batch.parts:
        own = _cut_files(part, folder, options)
        files += own
        design = part.design
        shares.append(Share(design.name, design.stock, part.count, part.sheets, (*own,)))
    if page is not None:
        html = page.html(batch.count, batch.sheets, options.sheets.paper)
        _write(folder / PROOF_FILE, html)
        files.append(PROOF_FILE)
    if picks is not None:
        (folder / PICKLIST_FILE).write_bytes(picks.data())
        files.append(PICKLIST_FILE)
    _prove_kept(folder, batch)
    _write(folder / REPORT_FILE, writers.report.json(findings, files))
    return findings, (*files, REPORT_FILE), tuple(shares)


def _printed(design: Design, plan: Plan) -> Region:
    """How far a design is printed: its outline with the effective bleed."""
    outline = region_of(design.outline.flattened(FLATTEN_MM))
    return grown(outline, plan.bleed_mm) if plan.bleed_mm > 0 else outline


def _cut_files(part: Part, folder: Path, options: Options) -> Sequence[str]:
    """Write the cut files of one design, and read each back."""
    files = []
    for layout in cut_layouts(part.plan, part.count):
        written = {layout.file: cut_svg(layout)}
        if "dxf" in options.also:
            written[layout.file.replace(".svg", ".dxf")] = cut_dxf(layout)
        for file, text in written.items():
            _write(folder / file, text)
            _prove_cut(folder, file, part, last=layout.file == part.plan.last_cut_file)
            files.append(file)
    return files


def _prove_cut(folder: Path, file: str, part: Part, *, last: bool) -> None:
    """Read a cut file back; its pieces are counted anew, not taken from the layout."""
    plan, count = part.plan, part.count
    used = plan.per_sheet
    if not plan.rules.spares and (count < plan.per_sheet or last):
        used = count - (part.sheets - 1) * plan.per_sheet
    check_wall(
        (folder / file).read_bytes(),
        file,
        plan.design,
        [plan.rules.correction.cut @ at for at in plan.arrangement.places[:used]],
        plan.rules.paper,
    )


def _prove_kept(folder: Path, batch: Batch) -> None:
    """Read print.pdf back: messages x copies are the pieces made and those left out."""
    due = []
    for part in batch.parts:
        wanted, number = [], 1
        for message in batch.messages:
            for copy in range(1, message.copies * part.design.per_message + 1):
                if message.row in batch.placed:
                    wanted.append(Wanted(message, copy, number))
                number += 1
        due.append(Due(part.design, wanted, part.job.total, part.spares))
    check_kept(folder / PRINT_FILE, due)


def _write(path: Path, text: str) -> None:
    path.write_text(text, "utf-8", newline="\n")
