"""Write print.pdf: artwork, text, register marks, rules and slug, sheet by sheet.

Decides nothing: every place, size and colour comes in. Artwork and pictures are stored
once and shared; texts are real text, in marked content (`pdf_piece`).
"""

from collections.abc import Mapping, Sequence
from pathlib import Path

from personalize.geometry.affine import IDENTITY, Affine
from personalize.geometry.zone import Region
from personalize.output.pdf_content import TO_PT, Part, matrix, path
from personalize.output.pdf_piece import Box, Drawn, in_pt, new_document, save_document
from personalize.sheet.fill import Sheet
from personalize.sheet.ink import MARK_LINE_MM, Ink, RegisterMark
from personalize.sheet.paper import Paper
from personalize.units import PT_PER_MM, number


class PrintPdf:
    """A document under way; pages go in one by one, `save` finishes it."""

    def __init__(
        self,
        title: str,
        printed: Mapping[str, Region],
        *,
        curves: bool = False,
        correction: Affine = IDENTITY,
        back: Affine = IDENTITY,
    ) -> None:
        """Begin a document.

        Parameters
        ----------
        title
            Name of the job: no guest's name.
        printed
            How far each design is printed, by its name, in piece mm: the outline with its
            effective bleed.
        curves
            Draw letters as curves: there is no text then but in our marked content.
        correction
            From sheet mm to the mm of the file, for a printer that is not true.
        back
            The same of the backs of sheets, in mm of these as they lie.
        """
        self._pdf = new_document(title)
        self._drawn = Drawn(self._pdf, printed, curves=curves)
        self._pages: list[tuple[Mapping[str, Box], list[Part]]] = []
        self._before = {"front": _corrected(correction), "back": _corrected(back)}

    def add_sheet(self, sheet: Sheet) -> None:
        """Write one sheet, and behind it its other side, if it has one."""
        self._add_side(sheet)
        if sheet.back is not None:
            self._add_side(sheet.back)

    def _add_side(self, sheet: Sheet) -> None:
        parts = [*self._before[sheet.side]]
        for placed in sheet.placed:
            parts += self._drawn.piece(placed.piece, placed.at)
        parts += self._drawn.ink(sheet.furniture)
        for mark in sheet.marks:
            parts += _mark(mark)
        self._pages.append((_boxes(sheet.paper), parts))

    def add_page(self, paper: Paper, ink: Sequence[Ink]) -> None:
        """Write a page without pieces."""
        before = self._before["front"]
        self._pages.append((_boxes(paper), [*before, *self._drawn.ink(ink)]))

    def save(self, to: Path) -> None:
        """Embed the fonts and write the file; the same input gives the same bytes."""
        self._drawn.add_pages(self._pages)
        save_document(self._pdf, to)


def _corrected(by: Affine) -> list[Part]:
    return [] if by == IDENTITY else [f"{matrix(in_pt(by))} cm"]


def _boxes(paper: Paper) -> Mapping[str, Box]:
    return {"MediaBox": (0.0, 0.0, paper.width_mm, paper.height_mm)}


def _mark(mark: RegisterMark) -> list[Part]:
    lines = "\n".join(path(contour, TO_PT) for contour in mark.contours())
    return [f"0 G {number(MARK_LINE_MM * PT_PER_MM)} w", f"{lines} S"]
