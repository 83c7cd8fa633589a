"""Files for a print shop, written beside those for the maker's own printer.

shop.pdf         one piece a page, in the order of the sheets
shop-job.pdf     what the shop must know of the job
shop-sheets.pdf  the pieces ganged on sheets as for the maker, with their die lines
"""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from personalize.batch import Batch, once
from personalize.checks.ink_findings import ink_findings, ink_limit
from personalize.checks.kept import Due, check_kept
from personalize.checks.shop_findings import shop_findings
from personalize.checks.turned import check_turned
from personalize.design.design import Design
from personalize.finding import Finding
from personalize.geometry.zone import Region
from personalize.options import Options
from personalize.output.shop_job import ShopShare, job_lines, write_job_sheet
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
            *shop_findings(design, texts, profile=options.profile is not None),
            *ink_findings(design, pictures, words, limit),
        ]
        if design.is_back:  # its bleed is the front's, or more
            found = [one for one in found if one.rule != Rule.SHOP_BLEED]
        out += [replace(one, design=whose) for one in found]
    return list(once(out))


class Shop:
    """The files under way; sheets go in one by one."""

    def __init__(self, name: str, printed: Mapping[str, Region], options: Options) -> None:
        """Begin the files that are wanted.

        Parameters
        ----------
        name
            Of the job: no guest's name.
        printed
            How far each design is printed on a sheet, by its name, in piece mm.
        options
            Which files, and the profile of the press.
        """
        self._name = name
        rules = options.sheets
        self._flip, self._paper = rules.flip if rules.two_sided else None, rules.paper
        self._profile = options.profile
        self._single, self._ganged = (
            ShopPdf(name, printed, curves=options.curves, profile=options.profile)
            if kind in options.also
            else None
            for kind in ("shop", "ganged")
        )
        self._counts: dict[str, tuple[Design, int]] = {}
        self._backed: set[str] = set()

    def add_sheet(self, sheet: Sheet) -> None:
        """Take the pieces of a sheet; spares are none of the shop's."""
        if self._ganged is not None:
            self._ganged.add_sheet(sheet)
        for placed in sheet.placed:
            if placed.piece.row is None:
                continue
            design = placed.piece.design
            number = self._counts.get(design.name, (design, 0))[1] + 1
            self._counts[design.name] = (design, number)
            if placed.piece.back is not None:
                self._backed.add(design.name)
            if self._single is not None:
                self._single.add_piece(placed.piece, number)

    def write(self, folder: Path, due: list[Due]) -> list[str]:
        """Write the files, and read back that each holds every piece. Gives their names."""
        files = []
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
        shares, page = [], 1
        for design, count in self._counts.values():
            share = ShopShare(design, count, page, design.name in self._backed)
            shares.append(share)
            page += share.pages
        profile = self._profile.name if self._profile is not None else None
        return list(job_lines(self._name, shares, profile))
