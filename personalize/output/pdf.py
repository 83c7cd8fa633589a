"""Write print.pdf: artwork, text, register marks, rules and slug, sheet by sheet.

Decides nothing: every place, size and colour comes in. Artwork and pictures are stored
once and shared; texts are real text. Each piece and each of its texts stands in marked
content of our own, from which `personalize.checks.kept` reads them back:

    /PersonalizePiece <</Row 5 /Copy 1 /Design <FEFF...> /Version <FEFF...>
                        /Picture <FEFF...>>> BDC
                       (no Row: a spare; Version and Picture where it has one)
      /PersonalizeText <</Panel <FEFF...> /Text <FEFF...>>> BDC ... EMC
    EMC
"""

from collections.abc import Mapping, Sequence
from pathlib import Path

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

from personalize.fold.piece import Piece
from personalize.geometry.affine import IDENTITY, Affine
from personalize.geometry.zone import Region
from personalize.output.pdf_artwork import ArtworkBook
from personalize.output.pdf_content import (
    TO_PT,
    Part,
    colour,
    encoded,
    line_of_text,
    marked,
    matrix,
    path,
    polygon,
    ring_of_text,
    text_string,
)
from personalize.output.pdf_fonts import FontBook
from personalize.output.pdf_outlines import Outlines
from personalize.sheet.fill import Sheet
from personalize.sheet.ink import MARK_LINE_MM, Ink, InkStroke, RegisterMark
from personalize.sheet.paper import Paper
from personalize.type.compose import ComposedText
from personalize.type.shape import ShapedLine
from personalize.units import PT_PER_MM, number

PIECE_TAG, TEXT_TAG = "PersonalizePiece", "PersonalizeText"


class PrintPdf:
    """A document under way; pages go in one by one, `save` finishes it."""

    def __init__(
        self,
        title: str,
        printed: Mapping[str, Region],
        *,
        curves: bool = False,
        correction: Affine = IDENTITY,
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
        """
        self._pdf = pikepdf.new()
        self._book = FontBook()
        self._pages: list[tuple[Paper, list[Part]]] = []
        self._drawn = ArtworkBook(self._pdf, printed)
        self._outlines = Outlines()
        self._curves = curves
        self._correction = correction
        self._pdf.Root.ViewerPreferences = Dictionary(PrintScaling=Name("/None"))
        self._pdf.docinfo["/Title"] = title
        self._pdf.docinfo["/Creator"] = "personalize"

    def add_sheet(self, sheet: Sheet) -> None:
        """Write one sheet."""
        parts: list[Part] = []
        for placed in sheet.placed:
            parts += self._piece(placed.piece, placed.at)
        parts += self._ink(sheet.furniture)
        for mark in sheet.marks:
            parts += _mark(mark)
        self._pages.append((sheet.paper, parts))

    def add_page(self, paper: Paper, ink: Sequence[Ink]) -> None:
        """Write a page without pieces."""
        self._pages.append((paper, self._ink(ink)))

    def _piece(self, piece: Piece, at: Affine) -> list[Part]:
        design = piece.design
        drawn = self._drawn.artwork(design.name, design.artwork_of(piece.version))
        if piece.picture is not None and design.picture is not None:
            drawn += "\n" + self._drawn.picture(design.name, piece.picture, design.picture)
        parts: list[Part] = [f"q {matrix(_in_pt(at))} cm {drawn} Q"]
        for text in piece.texts:
            shown: list[Part] = [colour(text.colour)]
            lines = [
                (line.shaped, TO_PT @ at @ text.line_to_piece(line)) for line in text.lines
            ]
            parts += self._rim(text, at, lines)
            if text.bent is not None and not self._curves:
                shown += ring_of_text(self._book, text.bent, lines)
            else:
                for line, place in lines:
                    shown += self._line(line, place)
            properties = f"/Panel {text_string(text.panel)} /Text {text_string(text.text)}"
            parts += marked(TEXT_TAG, properties, shown)
        row = "" if piece.row is None else f"/Row {piece.row} "
        told = f"{row}/Copy {piece.copy} /Design {text_string(design.name)}"
        if piece.version:
            told += f" /Version {text_string(piece.version)}"
        if piece.picture is not None:
            told += f" /Picture {text_string(piece.picture.file)}"
        return marked(PIECE_TAG, told, parts)

    def _line(self, line: ShapedLine, place: Affine) -> list[Part]:
        if self._curves:
            return self._outlines.filled(self._book, line, place)
        return line_of_text(self._book, line, place)

    def _rim(
        self, text: ComposedText, at: Affine, lines: Sequence[tuple[ShapedLine, Affine]]
    ) -> list[Part]:
        """Draw what stands round or under the letters of a text."""
        if text.rim is None:
            return []
        if text.soft:
            shape = "\n".join(polygon(part, TO_PT @ at) for part in text.soft)
            return [colour(text.rim_colour), f"{shape} f"]
        parts: list[Part] = [colour(text.rim_colour, stroke=True)]
        for line, place in lines:
            parts += self._outlines.stroked(line, place, 2 * text.rim.mm * PT_PER_MM)
        return parts

    def _ink(self, ink: Sequence[Ink]) -> list[Part]:
        parts: list[Part] = []
        for item in ink:
            if isinstance(item, InkStroke):
                parts.append(colour(item.colour, stroke=True))
                parts.append(f"{number(item.width_mm * PT_PER_MM)} w")
                parts.append(f"{path(item.contour, TO_PT)} S")
            else:
                parts.append(colour(item.colour))
                parts += self._line(item.line, TO_PT @ item.place)
        return parts

    def save(self, to: Path) -> None:
        """Embed the fonts and write the file; the same input gives the same bytes."""
        fonts, codes = self._book.embed(self._pdf)
        forms = self._drawn.resources
        for name, form in self._book.forms(self._pdf).items():
            forms[f"/{name}"] = form
        resources = self._pdf.make_indirect(Dictionary(Font=fonts, XObject=forms))
        true = self._correction == IDENTITY
        before = [] if true else [f"{matrix(_in_pt(self._correction))} cm"]
        for paper, parts in self._pages:
            page = Dictionary(
                Type=Name.Page,
                MediaBox=Array([0, 0, *_size(paper.width_mm, paper.height_mm)]),
                Resources=resources,
                Contents=Stream(self._pdf, encoded([*before, *parts], codes)),
            )
            self._pdf.pages.append(pikepdf.Page(page))
        self._pdf.save(to, deterministic_id=True, compress_streams=True)


def _in_pt(by: Affine) -> Affine:
    """Give a map between mm frames as one between pt frames."""
    return Affine(by.a, by.b, by.c, by.d, by.e * PT_PER_MM, by.f * PT_PER_MM)


def _size(width_mm: float, height_mm: float) -> list[pikepdf.Object]:
    return [
        pikepdf.Object.parse(number(v * PT_PER_MM).encode()) for v in (width_mm, height_mm)
    ]


def _mark(mark: RegisterMark) -> list[Part]:
    lines = "\n".join(path(contour, TO_PT) for contour in mark.contours())
    return [f"0 G {number(MARK_LINE_MM * PT_PER_MM)} w", f"{lines} S"]
