"""Write shop.pdf: one piece a page for a print shop, its die lines on layers.

    MediaBox   TrimBox and bleed and `ROUND_MM` more, where a line says what it is
    BleedBox   the box of the outline grown by the bleed: artwork is printed so far
    TrimBox    the box of the outline

No register marks and no correction: a shop has its own. Decides nothing.
"""

from collections.abc import Mapping
from pathlib import Path

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream, String

from personalize.colour_profile import Profile
from personalize.fold.piece import Piece
from personalize.geometry.affine import Affine, translation
from personalize.geometry.zone import Region
from personalize.output.pdf_content import Part
from personalize.output.pdf_layers import Layers
from personalize.output.pdf_piece import Box, Drawn, new_document, save_document
from personalize.sheet.boxes import wider
from personalize.sheet.fill import Sheet
from personalize.sheet.furniture import in_line, line_of_text
from personalize.sheet.ink import InkText

ROUND_MM = 7.0
EDGE_MM = 1.5
"""From the edge of the page to what is set in two lines."""
LEAST_EM_MM = 1.8
"""Letters that would be smaller (some 5 pt) are set in two lines, over all of the page.
Judgement."""


class ShopPdf:
    """A document under way; pieces go in one by one, `save` finishes it."""

    def __init__(
        self,
        title: str,
        printed: Mapping[str, Region],
        *,
        curves: bool = False,
        profile: Profile | None = None,
    ) -> None:
        """Begin a document.

        Parameters
        ----------
        title
            Name of the job: no guest's name.
        printed
            How far each design is printed, by its name, in piece mm.
        curves
            Draw letters as curves.
        profile
            Of the press, for the output intent; None leaves that to the shop.
        """
        self._pdf = new_document(title)
        self._drawn = Drawn(self._pdf, printed, curves=curves)
        self._layers = Layers(self._pdf)
        self._pages: list[tuple[int, Mapping[str, Box], list[Part]]] = []
        """Each with its place in the file."""
        if profile is not None:
            self._pdf.Root.OutputIntents = Array([_intent(self._pdf, profile)])

    def add_piece(self, piece: Piece, place: int, number: int) -> None:
        """Write a page with one piece, the `number`th of its design, and one for its back.

        Pages stand in the order of their `place`, whatever the order in which they come.
        The back's boxes are the front's turned over; its die lines are the front's alone.
        """
        name, bleed = piece.design.name, piece.design.margins.bleed
        which = f"piece {number}, row {piece.row}, copy {piece.copy}"
        if piece.back is None:
            self._page(piece, (name, which), bleed, place)
        else:
            self._page(piece, (name, f"{which}, front"), bleed, place)
            self._page(piece.back, (name, f"{which}, back"), bleed, place)

    def _page(self, side: Piece, told: tuple[str, str], bleed: float, place: int) -> None:
        around = bleed + ROUND_MM
        x0, y0, x1, y1 = side.design.box_mm
        at = translation(around - x0, around - y0)
        trim = (around, around, around + x1 - x0, around + y1 - y0)
        slug = _slug(told, around, x1 - x0)
        boxes = {
            "MediaBox": wider(trim, around),
            "BleedBox": wider(trim, bleed),
            "TrimBox": trim,
        }
        legend = self._layers.legend(self._drawn.ink(slug))
        self._pages.append((place, boxes, [*self._whole(side, at), *legend]))

    def add_sheet(self, sheet: Sheet) -> None:
        """Write a sheet with its pieces and their die lines, without register marks.

        Its back follows, if it has one.
        """
        self._add_side(sheet)
        if sheet.back is not None:
            self._add_side(sheet.back)

    def _add_side(self, sheet: Sheet) -> None:
        size = (0.0, 0.0, sheet.paper.width_mm, sheet.paper.height_mm)
        parts: list[Part] = []
        for placed in sheet.placed:
            parts += self._whole(placed.piece, placed.at)
        parts += self._layers.legend(self._drawn.ink(sheet.furniture))
        # Boxes tell of the sheet; the bleed of each piece is drawn (trade practice).
        boxes = {"MediaBox": size, "TrimBox": size}
        self._pages.append((len(self._pages), boxes, parts))

    def save(self, to: Path) -> None:
        """Embed the fonts and write the file; the same input gives the same bytes."""
        ordered = sorted(self._pages, key=lambda page: page[0])
        pages = [(boxes, parts) for _, boxes, parts in ordered]
        self._drawn.add_pages(pages, **self._layers.resources())
        self._layers.finish()
        save_document(self._pdf, to)

    def _whole(self, piece: Piece, at: Affine) -> list[Part]:
        """Draw a side of a piece; above a front, its die lines."""
        if piece.design.is_back:
            return self._drawn.piece(piece, at)
        lines = self._layers.lines(piece.design.lines, at)
        return [*self._drawn.piece(piece, at), *lines]


def _slug(told: tuple[str, str], around_mm: float, wide_mm: float) -> list[InkText]:
    """Say under a piece which it is: in one line, or in two where that is too small."""
    name, which = in_line(told[0]), told[1]
    whole = line_of_text(f"{name}, {which}", translation(around_mm, 2.2), wide_mm)
    if whole.place.a >= LEAST_EM_MM:
        return [whole]
    room = wide_mm + 2 * around_mm - 2 * EDGE_MM
    upper, lower = translation(EDGE_MM, 4.2), translation(EDGE_MM, 1.2)
    return [line_of_text(name, upper, room), line_of_text(which, lower, room)]


def _intent(pdf: pikepdf.Pdf, profile: Profile) -> Dictionary:
    """Say which press the colours are meant for (ISO 32000-1, 14.11.5)."""
    return Dictionary(
        Type=Name.OutputIntent,
        S=Name.GTS_PDFX,
        OutputConditionIdentifier=String("Custom"),
        Info=String(profile.name),
        DestOutputProfile=Stream(pdf, profile.data, N=profile.inks),
    )
