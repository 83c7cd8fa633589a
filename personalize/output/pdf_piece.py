"""What is printed of a piece, as parts of a PDF page, and the resources that they need.

Each piece and each of its texts stands in marked content of our own, from which
`personalize.checks.kept` reads them back:

    /PersonalizePiece <</Row 5 /Copy 1 /Design <FEFF...> /Version <FEFF...>
                        /Picture <FEFF...>>> BDC
                       (no Row: a spare; Version and Picture where it has one)
      /PersonalizeText <</Panel <FEFF...> /Text <FEFF...>>> BDC ... EMC
    EMC
"""

import math
from collections.abc import Mapping, Sequence
from pathlib import Path

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

from personalize.fold.piece import Piece
from personalize.geometry.affine import Affine
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
from personalize.sheet.ink import Ink, InkStroke
from personalize.type.compose import ComposedText
from personalize.type.shape import ShapedLine
from personalize.units import PT_PER_MM, number

PIECE_TAG, TEXT_TAG = "PersonalizePiece", "PersonalizeText"

Box = tuple[float, float, float, float]
Page = tuple[Mapping[str, Box], Sequence[Part]]
"""The boxes of a page by name, in mm, and what is drawn on it."""


class Drawn:
    """What a document draws: pages take its parts, `resources` embeds what they use."""

    def __init__(
        self, pdf: pikepdf.Pdf, printed: Mapping[str, Region], *, curves: bool = False
    ) -> None:
        """Begin.

        Parameters
        ----------
        pdf
            The document.
        printed
            How far each design is printed, by its name, in piece mm.
        curves
            Draw letters as curves: there is no text then but in our marked content.
        """
        self._pdf = pdf
        self._book = FontBook()
        self._artwork = ArtworkBook(pdf, printed)
        self._outlines = Outlines()
        self._curves = curves

    def piece(self, piece: Piece, at: Affine) -> list[Part]:
        """Draw a piece; `at` maps piece mm to page mm."""
        design = piece.design
        drawn = self._artwork.artwork(design.name, design.artwork_of(piece.version))
        if piece.picture is not None and design.picture is not None:
            picture = self._artwork.picture(design.name, piece.picture, design.picture)
            drawn += "\n" + picture
        parts: list[Part] = [f"q {matrix(in_pt(at))} cm {drawn} Q"]
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
        return marked(PIECE_TAG, _told(piece), parts)

    def ink(self, ink: Sequence[Ink]) -> list[Part]:
        """Draw lines and letters beside the pieces."""
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

    def add_pages(self, pages: Sequence[Page], **more: pikepdf.Object) -> None:
        """Embed the fonts, and add pages; `more` are further resources that they name."""
        fonts, codes = self._book.embed(self._pdf)
        forms = self._artwork.resources
        for name, form in self._book.forms(self._pdf).items():
            forms[f"/{name}"] = form
        named = {"Font": fonts, "XObject": forms, **more}
        resources = self._pdf.make_indirect(
            Dictionary({f"/{name}": value for name, value in named.items()})
        )
        for boxes, parts in pages:
            page = Dictionary(
                Type=Name.Page,
                Resources=resources,
                Contents=Stream(self._pdf, encoded(parts, codes)),
            )
            for name, box in boxes.items():
                page[f"/{name}"] = Array([_real(v) for v in box])
            self._pdf.pages.append(pikepdf.Page(page))

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
            wide = 2 * text.rim.mm * PT_PER_MM * math.sqrt(abs(at.determinant))
            parts += self._outlines.stroked(line, place, wide)
        return parts


def _told(piece: Piece) -> str:
    """Properties of a piece's marked content."""
    row = "" if piece.row is None else f"/Row {piece.row} "
    told = f"{row}/Copy {piece.copy} /Design {text_string(piece.design.name)}"
    if piece.version:
        told += f" /Version {text_string(piece.version)}"
    if piece.picture is not None:
        told += f" /Picture {text_string(piece.picture.file)}"
    return told


def in_pt(by: Affine) -> Affine:
    """Give a map between mm frames as one between pt frames."""
    return Affine(by.a, by.b, by.c, by.d, by.e * PT_PER_MM, by.f * PT_PER_MM)


def new_document(title: str) -> pikepdf.Pdf:
    """Begin a document that is printed at its own size. The title has no guest's name."""
    pdf = pikepdf.new()
    pdf.Root.ViewerPreferences = Dictionary(PrintScaling=Name("/None"))
    pdf.docinfo["/Title"] = title
    pdf.docinfo["/Creator"] = "personalize"
    return pdf


def save_document(pdf: pikepdf.Pdf, to: Path) -> None:
    """Write a document; the same input gives the same bytes.

    It says that it is PDF 1.7 (ISO 32000-1): layers came with 1.5, the wish to be printed
    at its own size with 1.6; a reader may pass over what is newer than a file says it is.
    """
    pdf.save(to, min_version="1.7", deterministic_id=True, compress_streams=True)


def _real(value_mm: float) -> pikepdf.Object:
    return pikepdf.Object.parse(number(value_mm * PT_PER_MM).encode())
