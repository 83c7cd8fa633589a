"""Files for a print shop, written beside those for the maker's own printer.

shop.pdf         one piece a page, design by design, each in the order of the list
shop-job.pdf     what the shop must know of the job
shop-sheets.pdf  the pieces ganged on sheets as for the maker, with their die lines
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from personalize.batch import Batch, once
from personalize.checks.ink_findings import ink_findings, ink_limit
from personalize.checks.kept import Due, check_kept
from personalize.checks.shop_findings import (
    ganged_findings,
    picture_findings,
    shop_findings,
)
from personalize.checks.turned import check_turned
from personalize.finding import Finding
from personalize.geometry.zone import Region
from personalize.options import Options
from personalize.output.shop_job import ShopShare, job_lines, write_job_sheet
from personalize.output.shop_painted import PaintedPieces
from personalize.output.shop_pdf import ShopPdf
from personalize.rules import Rule
from personalize.sheet.fill import Sheet

SHOP_FILE, JOB_FILE, GANGED_FILE = "shop.pdf", "shop-job.pdf", "shop-sheets.pdf"


def found_for_shop(batch: Batch, options: Options) -> list[Finding]:
    """What a print shop would send the job back for; nothing where none is to have it."""
    if not options.also & {"shop", "ganged"}:
        return []
    out = []
    limit = ink_limit(options.most_ink, options.profile)
    inks = options.profile.inks if options.profile is not None else None
    for job in batch.jobs:
        sizes, placed = job.sizes, batch.placed
        texts = [
            (one.panel, sizes[unit.message.row, unit.copies[0], one.panel], one.colour)
            for unit in job.units
            for one in unit.surveys
            if unit.message.row in placed
        ]
        pictures = [
            (unit.message.row, unit.chosen.picture)
            for unit in job.units
            if unit.chosen.picture is not None and unit.message.row in placed
        ]
        words = [(panel, colour) for panel, _, colour in texts]
        design = job.design
        whose = design.name if len(batch.sides) > 1 else None
        found = [
            *shop_findings(design, texts, inks=inks),
            *picture_findings(design, pictures),
            *ink_findings(design, pictures, words, limit),
        ]
        if design.is_back:  # its bleed is the front's, or more
            found = [one for one in found if one.rule != Rule.SHOP_BLEED]
        out += [replace(one, design=whose) for one in found]
    if "ganged" in options.also and options.sheets.precut is None:
        out += ganged_findings(min(part.plan.spacing_mm for part in batch.parts))
    return list(once(out))


class Shop:
    """The files under way; sheets go in one by one."""

    def __init__(
        self,
        name: str,
        printed: Mapping[str, Region],
        due: Sequence[Due],
        options: Options,
    ) -> None:
        """Begin the files that are wanted.

        Parameters
        ----------
        name
            Of the job: no guest's name.
        printed
            How far each design is printed on a sheet, by its name, in piece mm.
        due
            What the files must hold of each side of each design, in the order of the list.
        options
            Which files, and the profile of the press.
        """
        self._name, self._due = name, due
        rules = options.sheets
        self._flip, self._paper = rules.flip if rules.two_sided else None, rules.paper
        self._profile = options.profile
        # A piece alone on its page has all of its bleed, however near they lie on sheets.
        alone = {one.design.name: one.design.bleed for one in due}
        self._single, self._ganged = (
            ShopPdf(name, reach, curves=options.curves, profile=options.profile)
            if kind in options.also
            else None
            for kind, reach in (("shop", alone), ("ganged", printed))
        )
        fronts = [one for one in due if not one.design.is_back]
        wanted = [
            (one.design.name, wanted.message.row, wanted.copy, number)
            for one in fronts
            for number, wanted in enumerate(one.wanted, 1)
        ]
        self._painted = PaintedPieces()
        self._numbers = {
            (name, row, copy): (place, number)
            for place, (name, row, copy, number) in enumerate(wanted)
        }
        """Of each piece its place among all, and its number in its design."""

    def add_sheet(self, sheet: Sheet) -> None:
        """Take the pieces of a sheet; spares are none of the shop's."""
        if self._ganged is not None:
            self._ganged.add_sheet(sheet)
        for piece in (placed.piece for placed in sheet.placed):
            if piece.row is not None and self._single is not None:
                self._painted.add(piece)
                key = (piece.design.name, piece.row, piece.copy)
                self._single.add_piece(piece, *self._numbers[key])

    def write(self, folder: Path) -> list[str]:
        """Write the files, and read back that each holds every piece. Gives their names."""
        files, due = [], self._due
        if self._single is not None:
            self._single.save(folder / SHOP_FILE)
            alone = [Due(one.design, one.wanted, one.total, 0) for one in due]
            check_kept(folder / SHOP_FILE, alone)
            title = f"{self._name}: job sheet"
            write_job_sheet(self._job_lines(), title, folder / JOB_FILE)
            files += [SHOP_FILE, JOB_FILE]
        if self._ganged is not None:
            self._ganged.save(folder / GANGED_FILE)
            check_kept(folder / GANGED_FILE, due)
            if self._flip is not None:
                designs = [one.design for one in due]
                check_turned(folder / GANGED_FILE, designs, self._flip, self._paper)
            files.append(GANGED_FILE)
        return files

    def _job_lines(self) -> list[str]:
        backs = {one.design.name for one in self._due if one.design.is_back}
        shares, page = [], 1
        for one in self._due:
            if one.design.is_back or not one.wanted:
                continue
            back = one.design.back
            backed = back is not None and back.name in backs
            painted = self._painted.of(one.design.name)
            share = ShopShare(one.design, len(one.wanted), page, backed, painted)
            shares.append(share)
            page += share.pages
        profile = self._profile.name if self._profile is not None else None
        return list(job_lines(self._name, shares, profile))
