"""The whole run: from a table and designs to files, or to findings alone.

    check   what would go wrong
    proof   the same with a picture of every piece
    make    sheets to print, cut files, proof and report

The stages are joined here and in `batch`, and nowhere else. Pieces are set one at a time
and go through all writers at once, so that memory does not grow with their glyphs.
"""

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

from personalize.also import Shown, proofs, write_also
from personalize.batch import Batch, Designs, Part, Sides, begin
from personalize.checklist import checklist
from personalize.checks.inside import InsideCheck
from personalize.checks.sheet_findings import sheet_findings
from personalize.finding import Finding, Severity, worst_first
from personalize.fold.piece import Piece
from personalize.messages.table import Table
from personalize.options import Options, Progress, Result, Share
from personalize.output.report import REPORT_FILE
from personalize.result import check_writable, staged
from personalize.shop import found_for_shop
from personalize.two_sides import Backs, checked, piece_of
from personalize.writers import PROOF_FILE, Writers, proof_page, report_of, write_text

PROBLEMS_SUFFIX = "-problems"

__all__ = ["Options", "Result", "check", "make", "proof"]


def check(table: Table, designs: Designs, options: Options | None = None) -> Result:
    """Find what would go wrong. Raises InputError where input cannot be used."""
    options = options or Options()
    batch = begin(table, designs, options, fully=False)
    progress = _Progress(options.progress, batch.units)
    for job in batch.jobs:
        inside = InsideCheck(job.design)
        for unit in job.units:
            checked(job, unit, inside)
            progress.step()
    return Result(_findings(batch, options), pieces=batch.count)


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
    with `Options.leave_out_faulty`, and while one stands against the artwork none are: the
    proof and the report go to a folder beside, and an earlier result in `out` stays.

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
    left_out = batch.left_out and not options.leave_out_faulty
    if left_out or not batch.count or _is_unfit(batch):
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
        checklist=checklist(options.sheets, batch.designs),
    )


def _is_unfit(batch: Batch) -> bool:
    """Whether artwork must not be printed as it is."""
    sides = [side for one in batch.designs for side in (one, one.back) if side is not None]
    told = [f for side in sides for art in side.artworks.values() for f in art.told]
    return any(finding.severity is Severity.ERROR for finding in told)


@dataclass(slots=True)
class _Progress:
    """Counts pieces over all designs."""

    tell: Progress
    total: int
    done: int = 0

    def step(self, more: int = 1) -> None:
        """Tell that one more is done, or several."""
        self.done += more
        self.tell(self.done, self.total)


def _findings(batch: Batch, options: Options) -> tuple[Finding, ...]:
    return worst_first(
        [
            *batch.findings(),
            *found_for_shop(batch, options),
            *sheet_findings(options.sheets),
        ]
    )


def _proved(batch: Batch, out: Path, options: Options) -> Result:
    """Write proof and report only."""
    findings = _findings(batch, options)
    page = proof_page(batch, findings)
    shown = proofs(page, batch, findings, options)
    progress = _Progress(options.progress, batch.units)
    for part in batch.parts:
        for _ in _pieces(part, batch, shown, progress):
            pass  # each is drawn on the page as it comes by
    files = [PROOF_FILE]
    with staged(out) as folder:
        write_text(folder / PROOF_FILE, page.html(batch.count, options.sheets.paper))
        files += write_also(folder, shown, findings, options, batch.count)
        write_text(folder / REPORT_FILE, report_of(batch).json(findings, files))
    return Result(
        findings, out, pieces=batch.count, left_out=batch.left_out, files=tuple(files)
    )


def _pieces(
    part: Part, batch: Batch, shown: Sequence[Shown], progress: _Progress
) -> Iterator[Piece]:
    """Give the pieces for the sheets, kit by kit.

    All of each design are taken, faulty ones at the end too, so that every unit is shown.
    """
    coming = [_of_design(sides, batch, shown, progress) for sides in part.sides]
    numbers = range(len(part.sides))
    while kit := [
        piece
        for number in numbers
        for piece in islice(coming[number], part.plan.kit.count(number))
    ]:
        yield from kit


def _of_design(
    sides: Sides, batch: Batch, shown: Sequence[Shown], progress: _Progress
) -> Iterator[Piece]:
    """Give the pieces of one design in order; show each unit on the proofs on its way."""
    job, design = sides.front, sides.design
    inside, backs = InsideCheck(design), Backs(sides.back)
    for unit in job.units:
        row = unit.message.row
        texts = checked(job, unit, inside)
        behind = backs.coming_with(unit)
        for page in shown if row in batch.chosen else ():
            page.add(design, row, unit.copies, texts, unit.chosen)
            for back, said in behind:
                page.add(backs.design, row, back.copies, said, back.chosen)
        if row in batch.placed:
            for copy in unit.copies:
                front = piece_of(design, unit, copy, texts)
                yield replace(front, back=backs.of(row, copy))
        progress.step(1 + len(behind))


def _written(
    batch: Batch, folder: Path, options: Options
) -> tuple[tuple[Finding, ...], tuple[str, ...], tuple[Share, ...]]:
    """Write all files into a folder."""
    findings = _findings(batch, options)
    writers = Writers(batch, findings, options)
    progress = _Progress(options.progress, batch.units)
    for part in batch.parts:
        writers.write(part, _pieces(part, batch, writers.shown, progress))
    files, shares = writers.save(folder)
    return findings, files, shares
