"""Write proof.pdf: every piece small, several to a page, with its row, words and findings.

For sending to somebody who decides. Vectors and real text, by the writer of print.pdf.
What concerns the whole job stands first.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

from personalize.design.chosen import NOTHING_CHOSEN, Chosen
from personalize.design.design import Design
from personalize.design.style import Colour
from personalize.finding import Finding, Severity
from personalize.fold.piece import Piece
from personalize.fonts.catalogue import Font, catalogue
from personalize.geometry.affine import Affine, Point
from personalize.geometry.path import Contour, polyline
from personalize.geometry.zone import Region, grown, region_of
from personalize.messages.table import Source
from personalize.output.pdf import PrintPdf
from personalize.sheet.fill import Placed, Sheet
from personalize.sheet.ink import Ink, InkStroke, InkText
from personalize.sheet.paper import Paper
from personalize.type.compose import ComposedText
from personalize.type.shape import Paragraph, ShapedLine
from personalize.units import FLATTEN_MM

PROOF_PDF = "proof.pdf"
_EDGE_MM, _GAP_MM, _HEAD_MM = 12.0, 6.0, 8.0
_LEAST_CELL_MM, _MOST_HIGH_MM = 52.0, 62.0
"""Least width of a piece with its words, and greatest height of its picture."""
_BODY_MM, _LINE_MM = 2.5, 3.4
"""The em and the distance of lines of what stands under a piece (7 pt)."""
_INK, _SOFT = Colour(0.1, 0.1, 0.1), Colour(0.4, 0.4, 0.4)
_COLOURS = {
    Severity.ERROR: Colour(0.7, 0.05, 0.2),
    Severity.WARNING: Colour(0.55, 0.33, 0.0),
    Severity.NOTE: _SOFT,
}
_WORDS = {Severity.ERROR: "Must be mended", Severity.WARNING: "Look at this"}
_WORDS |= {Severity.NOTE: "Good to know"}


@dataclass(frozen=True, slots=True)
class _Line:
    """A line of small print, ready to be placed."""

    shaped: ShapedLine
    em_mm: float
    colour: Colour


@dataclass(frozen=True, slots=True)
class _Cell:
    """One piece with what stands under it."""

    piece: Piece
    lines: tuple[_Line, ...]


@dataclass(frozen=True, slots=True)
class _Layout:
    """How the pieces of one design stand on a page."""

    design: Design
    columns: int
    cell_mm: float
    size_mm: Point
    """Of its picture, with the bleed, at its true size."""
    scale: float

    @property
    def picture_mm(self) -> float:
        """Height of the picture on the page."""
        return self.size_mm[1] * self.scale

    def at(self, corner: Point) -> Affine:
        """Map a piece so that its bleed's lower left corner is at a place."""
        x0, y0, _, _ = self.design.bleed.box
        s = self.scale
        return Affine(s, 0, 0, s, corner[0] - s * x0, corner[1] - s * y0)

    def outline(self, at: Affine) -> Iterator[Ink]:
        """Draw the lines that paper is cut and folded along; folds are dashed."""
        for line in (self.design.outline, *self.design.holes):
            yield InkStroke(line.transformed(at), 0.15, _SOFT)
        for crease in self.design.creases:
            for dash in _dashes(crease.transformed(at)):
                yield InkStroke(dash, 0.15, _SOFT)


def _layout(design: Design, paper: Paper) -> _Layout:
    x0, y0, x1, y1 = design.bleed.box
    wide, high = x1 - x0, y1 - y0
    room = paper.width_mm - 2 * _EDGE_MM
    most = max(1, int((room + _GAP_MM) / (_LEAST_CELL_MM + _GAP_MM)))
    # Wide pieces get the room of two: words on them are small enough.
    wanted = max(_LEAST_CELL_MM, min(0.85 * wide, room / 2 - _GAP_MM))
    columns = max(1, min(most, int((room + _GAP_MM) / (wanted + _GAP_MM))))
    cell = (room + _GAP_MM) / columns - _GAP_MM
    scale = min(1.0, cell / wide, _MOST_HIGH_MM / high)
    return _Layout(design, columns, cell, (wide, high), scale)


class ProofPdf:
    """A proof for print under way; pieces go in one by one, `save` finishes it."""

    def __init__(
        self,
        title: str,
        designs: Sequence[Design],
        source: Source,
        findings: Sequence[Finding],
        paper: Paper,
    ) -> None:
        self._title, self._source, self._paper = title, source, paper
        self._by_row: dict[int, list[Finding]] = {}
        for one in findings:
            if one.row is not None:
                self._by_row.setdefault(one.row, []).append(one)
        self._general = [one for one in findings if one.row is None]
        self._layouts = {design.name: _layout(design, paper) for design in designs}
        self._cells: dict[str, list[_Cell]] = {design.name: [] for design in designs}

    def add(
        self,
        design: Design,
        row: int,
        copies: Sequence[int],
        texts: Sequence[ComposedText],
        chosen: Chosen = NOTHING_CHOSEN,
    ) -> None:
        """Show a piece and say how many copies of it there are."""
        version = chosen.version_name
        many = f", {len(copies)} copies" if len(copies) > 1 else ""
        side = ", back" if design.is_back else ""
        head = f"Row {row}{side}{many}{f', {version}' if version else ''}"
        said = " / ".join(dict.fromkeys(text.text for text in texts)) or "no words"
        wide = self._layouts[design.name].cell_mm
        lines = [*_small(head, _INK, wide, bold=True), *_small(said, _INK, wide)]
        for one in self._by_row.get(row, []):
            if one.design in (None, design.name):
                lines += _told(one, wide)
        piece = Piece(design, row, copies[0], version, tuple(texts), chosen.picture)
        self._cells[design.name].append(_Cell(piece, tuple(lines)))

    def save(self, to: Path, pieces: int) -> None:
        """Lay out all pages and write the file."""
        pdf = PrintPdf(
            f"Proof: {self._title}",
            {name: _printed(one.design) for name, one in self._layouts.items()},
        )
        pages = list(self._pages())
        for number, (placed, ink) in enumerate(pages, 1):
            head = self._head(pieces, number, len(pages))
            pdf.add_sheet(Sheet(number, self._paper, placed, (), (*head, *ink), ""))
        pdf.save(to)

    def _head(self, pieces: int, number: int, total: int) -> Iterator[Ink]:
        top = self._paper.height_mm - _EDGE_MM
        many = "1 piece" if pieces == 1 else f"{pieces} pieces"
        title = f"{self._title}, {many} from {self._source.file}"
        words = f"{title}. Proof, page {number} of {total}; not for cutting."
        wide = self._paper.width_mm - 2 * _EDGE_MM
        for line in _wrapped(words, wide, 3.2, _SOFT, bold=False)[:1]:
            yield _placed(line, (_EDGE_MM, top - 2.0))
        ends = [(_EDGE_MM, top - 4.0), (self._paper.width_mm - _EDGE_MM, top - 4.0)]
        yield InkStroke(polyline(ends), 0.2, _SOFT)

    def _pages(self) -> Iterator[tuple[tuple[Placed, ...], list[Ink]]]:
        """Flow what is general, then rows of cells, from page to page."""
        top = self._paper.height_mm - _EDGE_MM - _HEAD_MM
        y = top
        placed: list[Placed] = []
        ink: list[Ink] = []
        wide = self._paper.width_mm - 2 * _EDGE_MM
        for line in (line for one in self._general for line in _told(one, wide)):
            if y - _LINE_MM < _EDGE_MM:
                yield tuple(placed), ink
                y, placed, ink = top, [], []
            y -= _LINE_MM
            ink.append(_placed(line, (_EDGE_MM, y)))
        y -= _GAP_MM if self._general else 0.0
        for layout, cells in self._rows():
            lines = max(len(cell.lines) for cell in cells)
            high = layout.picture_mm + 2.0 + _LINE_MM * lines
            if y - high < _EDGE_MM and y < top:
                yield tuple(placed), ink
                y, placed, ink = top, [], []
            for nth, cell in enumerate(cells):
                x = _EDGE_MM + nth * (layout.cell_mm + _GAP_MM)
                at = layout.at((x, y - layout.picture_mm))
                placed.append(Placed(cell.piece, at))
                ink += layout.outline(at)
                ink += _under(cell.lines, (x, y - layout.picture_mm - 2.0))
            y -= high + _GAP_MM
        yield tuple(placed), ink

    def _rows(self) -> Iterator[tuple[_Layout, Sequence[_Cell]]]:
        """Give the pieces that stand side by side, design by design."""
        for name, layout in self._layouts.items():
            cells = self._cells[name]
            for first in range(0, len(cells), layout.columns):
                yield layout, cells[first : first + layout.columns]


def _printed(design: Design) -> Region:
    outline = region_of(design.outline.flattened(FLATTEN_MM))
    bleed = design.margins.bleed
    return grown(outline, bleed) if bleed > 0 else outline


def _under(lines: Sequence[_Line], at: Point) -> Iterator[Ink]:
    """Place the lines under a piece, as many as the page has room for."""
    x, y = at
    room = int((y - _EDGE_MM) / _LINE_MM)
    shown = list(lines)
    if len(shown) > room:
        shown = [*shown[: room - 1], *_small("More in proof.html.", _SOFT, 50.0)[:1]]
    for i, line in enumerate(shown, 1):
        yield _placed(line, (x, y - i * _LINE_MM))


def _told(one: Finding, wide_mm: float) -> list[_Line]:
    care = one.rule.startswith("care-")
    head = "Take care" if care else _WORDS[one.severity]
    words = f"{head}: {one.says} {one.do}".strip()
    return _small(words, _COLOURS[one.severity], wide_mm)


def _small(
    words: str, colour: Colour, wide_mm: float, *, bold: bool = False
) -> list[_Line]:
    return _wrapped(words, wide_mm, _BODY_MM, colour, bold=bold)


def _wrapped(
    words: str, wide_mm: float, em_mm: float, colour: Colour, *, bold: bool
) -> list[_Line]:
    """Break words into lines of a width; what cannot be broken is set smaller."""
    out = []
    for part in words.splitlines():
        if not part.strip():
            continue
        paragraph = Paragraph(
            part.strip(), _font("Nunito Bold" if bold else "Nunito Regular")
        )
        count, first = len(paragraph.segments), 0
        while first < count:
            last = first
            while last + 1 < count and _wide(paragraph, first, last + 1) * em_mm <= wide_mm:
                last += 1
            line = paragraph.line(first, last)
            own = _wide(paragraph, first, last)
            em = min(em_mm, wide_mm / own) if own > 0 else em_mm
            out.append(_Line(line, em, colour))
            first = last + 1
    return out


def _wide(paragraph: Paragraph, first: int, last: int) -> float:
    ink = paragraph.line(first, last).ink
    return ink[2] if ink is not None else 0.0


@lru_cache(maxsize=4)
def _font(name: str) -> Font:
    return next(font for font in catalogue() if font.name == name)


def _placed(line: _Line, at: Point) -> InkText:
    place = Affine(line.em_mm, 0, 0, line.em_mm, *at)
    return InkText(line.shaped, place, line.colour)


def _dashes(contour: Contour) -> Iterator[Contour]:
    """Cut a line into dashes of 1.5 mm."""
    points = contour.flattened(FLATTEN_MM).tolist()
    for (ax, ay), (bx, by) in pairwise(points):
        length = math.dist((ax, ay), (bx, by))
        count = max(1, int(length / 2.5))
        for i in range(count):
            a, b = (i + 0.2) / count, (i + 0.8) / count
            yield polyline(
                [
                    (ax + (bx - ax) * a, ay + (by - ay) * a),
                    (ax + (bx - ax) * b, ay + (by - ay) * b),
                ]
            )
