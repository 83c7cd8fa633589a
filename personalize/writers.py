"""All files of a run: sheets go through every writer at once, as they are filled.

So memory does not grow with the glyphs of a batch. What was written is read back before
it counts: cut files by `cut_files`, print files by `checks.kept`.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from personalize.also import proofs, write_also
from personalize.batch import Batch, Part
from personalize.checklist import checklist
from personalize.checks.kept import Due, Wanted, check_kept
from personalize.checks.turned import check_turned
from personalize.checks.wall import Expected
from personalize.cut_files import write_cut_files, write_marks, write_pictures
from personalize.finding import Finding
from personalize.fold.piece import Piece
from personalize.geometry.affine import IDENTITY
from personalize.options import Options, Share
from personalize.output.pdf import PrintPdf
from personalize.output.picklist import PICKLIST_FILE, PickList
from personalize.output.proof import ProofPage
from personalize.output.proof_sheets import Ground
from personalize.output.report import REPORT_FILE, Report
from personalize.sheet.check_page import Filled, check_pages
from personalize.sheet.cut_layouts import CutLayout, round_all
from personalize.sheet.fill import Sheet, fill, where_cut
from personalize.shop import Shop

PRINT_FILE, PROOF_FILE = "print.pdf", "proof.html"


class Writers:
    """The files of a run under way."""

    def __init__(self, batch: Batch, findings: Sequence[Finding], options: Options) -> None:
        """Begin the files that are wanted; nothing is written yet."""
        self._batch, self._findings, self._options = batch, findings, options
        self._page = proof_page(batch, findings) if options.proof else None
        self.shown = proofs(self._page, batch, findings, options)
        """What pieces are shown on as they come by."""
        printed = {
            name: region
            for part in batch.parts
            for name, region in part.plan.printed_sides.items()
        }
        self._correction = options.sheets.correction
        self._pdf = PrintPdf(
            batch.name,
            printed,
            curves=options.curves,
            correction=self._correction.print,
            back=self._correction.back,
        )
        self._report = report_of(batch)
        cut = options.sheets.cut_map if options.sheets.is_machine_cut else IDENTITY
        self._report.tell_correction(replace(self._correction, cut=cut))
        self._picks = PickList() if "picklist" in options.also else None
        self._due = _due(batch)
        self._shop = Shop(batch.name, printed, self._due, options)
        self._filled: list[Filled] = []
        self._cut_files: list[str] = []
        self._smallest_pt = math.inf

    def write(self, part: Part, pieces: Iterable[Piece]) -> None:
        """Put the pieces of a part on its sheets, and write these."""
        rows: list[list[int]] = []
        where: list[str] = []
        coming = iter(pieces)
        around_mm = self._around_mm(part)
        for sheet in fill(part.plan, coming, part.count, part.among, around_mm):
            self._take(sheet)
            if self._page is not None:
                reach = part.plan.rules.margins.within(sheet.paper)
                frame = round_all(part.plan, sheet.placed, self._options.cut.rules_for)
                ground = Ground(reach, part.plan.kept_shapes, frame)
                self._page.add_sheet(sheet, ground)
                if sheet.back is not None:
                    self._page.add_sheet(sheet.back, Ground(reach))
            rows.append([p.piece.row for p in sheet.placed if p.piece.row is not None])
            where.append(where_cut(part.plan, sheet.placed, around_mm))
        for _ in coming:
            pass  # faulty ones after the last placed piece, for the proof
        self._filled.append(Filled(part.plan, rows, part.among, where))

    def _around_mm(self, part: Part) -> float:
        """Give the distance of a cut round all pieces of a sheet, 0 where there is none."""
        asked = (self._options.cut.rules_for(one).around_mm for one in part.plan.designs)
        return max((mm for mm in asked if mm is not None), default=0.0)

    def _take(self, sheet: Sheet) -> None:
        for taker in (self._pdf, self._report, self._picks, self._shop):
            if taker is not None:
                taker.add_sheet(sheet)
        self._cut_files.append(sheet.cut_file)
        pieces = [one.piece for side in (sheet, sheet.back) if side for one in side.placed]
        sizes = [text.size_pt for piece in pieces for text in piece.texts]
        self._smallest_pt = min([self._smallest_pt, *sizes])

    def save(self, folder: Path) -> tuple[tuple[str, ...], tuple[Share, ...]]:
        """Write all files into a folder and read back what must be proved.

        Gives their names, and the share of each design.
        """
        batch, paper = self._batch, self._options.sheets.paper
        for furniture in check_pages(self._filled):
            self._pdf.add_page(paper, furniture)
        self._pdf.save(folder / PRINT_FILE)
        check_kept(folder / PRINT_FILE, self._due)
        rules = self._options.sheets
        if rules.flip is not None and rules.two_sided:
            check_turned(folder / PRINT_FILE, batch.designs, rules.flip, paper)
        cut_files, shares = self._cut(folder)
        files = [PRINT_FILE, *cut_files]
        if self._page is not None:
            steps = checklist(self._options.sheets, batch.designs)
            write_text(folder / PROOF_FILE, self._page.html(batch.count, paper, steps))
            files.append(PROOF_FILE)
        if self._picks is not None:
            (folder / PICKLIST_FILE).write_bytes(self._picks.data())
            files.append(PICKLIST_FILE)
        files += write_also(folder, self.shown, self._findings, self._options, batch.count)
        files += self._shop.write(folder)
        write_text(folder / REPORT_FILE, self._report.json(self._findings, files))
        return (*files, REPORT_FILE), tuple(shares)

    def _cut(self, folder: Path) -> tuple[list[str], list[Share]]:
        """Write what the machine needs, design by design, and pictures of all sheets."""
        options = self._options
        files: list[str] = []
        shares: list[Share] = []
        expected: dict[str, tuple[CutLayout, Expected]] = {}
        for part in self._batch.parts:
            own, must = write_cut_files(
                folder, part.plan, part.count, options.cut, options.also
            )
            files += own
            expected.update(must)
            for backing in part.backings:
                whole = backing.sheets * backing.plan.per_sheet
                also = options.also & {"dxf"}
                plan = backing.plan
                files += write_cut_files(folder, plan, whole, options.cut, also)[0]
            name, stock = part.plan.name, part.plan.stock
            shares.append(Share(name, stock, part.pieces, part.sheets, (*own,)))
        if "marks" in options.also:
            files.append(write_marks(folder, self._batch.parts[0].plan))
        files += write_pictures(
            folder / PRINT_FILE,
            self._cut_files,
            expected,
            self._smallest_pt,
            options.also,
            two_sided=options.sheets.two_sided,
        )
        return files, shares


def proof_page(batch: Batch, findings: Sequence[Finding]) -> ProofPage:
    """Begin the proof of a run."""
    off = batch.parts[0].plan.rules.cut_shift_mm
    page = ProofPage(batch.name, batch.source, len(batch.messages), findings, off)
    for part in batch.parts:
        printed = part.plan.printed_sides
        for job in part.jobs:
            page.show(job.design, printed[job.design.name], job.spreads)
    return page


def report_of(batch: Batch) -> Report:
    """Begin the report of a run."""
    sizes = ((job.design, job.size_sets) for job in batch.jobs)
    return Report(batch.source, len(batch.messages), sizes)


def write_text(path: Path, text: str) -> None:
    """Write a text file, the same bytes on every system."""
    path.write_text(text, "utf-8", newline="\n")


def _due(batch: Batch) -> list[Due]:
    """What print.pdf must hold: messages x copies, less those left out."""
    due = []
    for part in batch.parts:
        for sides in part.sides:
            wanted, number = [], 1
            for message in batch.messages:
                for copy in range(1, message.copies * sides.design.per_message + 1):
                    if message.row in batch.placed:
                        wanted.append(Wanted(message, copy, number))
                    number += 1
            spares = part.spares_of(sides.design)
            due += [Due(job.design, wanted, job.total, spares) for job in sides.jobs]
    return due
