"""Write shop-job.pdf: what a print shop must know of the job, on one page or more.

Counts, sizes, stock, folds, layers and colours; no guest's name. Decides nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from personalize.design.design import Design, LineKind
from personalize.geometry.affine import scaling, translation
from personalize.geometry.path import polyline
from personalize.output.pdf import PrintPdf
from personalize.sheet.furniture import line_of_text
from personalize.sheet.ink import Ink, InkStroke
from personalize.sheet.paper import Paper

A4 = Paper("A4", 210.0, 297.0)
LEFT_MM, TOP_MM, STEP_MM, ROOM_MM = 25.0, 270.0, 6.5, 165.0
LARGER = 1.4
"""Than the lines beside pieces."""
_FOLDED = (LineKind.CREASING, LineKind.PERFORATING)
_SAYS = {
    LineKind.CUTTING: "cut through",
    LineKind.PARTIAL_CUTTING: "cut the upper layer only",
    LineKind.CREASING: "crease, to be folded",
    LineKind.PERFORATING: "perforate",
    LineKind.GLUING: "glue area",
}


@dataclass(frozen=True, slots=True)
class ShopShare:
    """What the job has of one design."""

    design: Design
    pieces: int
    first_page: int
    """Of shop.pdf, from 1."""
    backs: bool = False
    """Whether a page for its back follows each piece."""

    @property
    def pages(self) -> int:
        """How many pages of shop.pdf it takes."""
        return self.pieces * (2 if self.backs else 1)


def job_lines(name: str, shares: Sequence[ShopShare], profile: str | None) -> Iterator[str]:
    """Give the lines of the job sheet; an empty one parts designs."""
    pieces = sum(share.pieces for share in shares)
    sides = ", front and back in turn" if any(share.backs for share in shares) else ""
    yield f"Job: {name}. {pieces} pieces, one a page{sides}, in shop.pdf."
    yield "Trim and bleed are in the page boxes. No register marks; scale 100 %."
    yield (
        f"Colours are meant for the output condition {profile}."
        if profile
        else "Colours are RGB and grey, without an output intent: convert as you always do."
    )
    if any(share.design.panels for share in shares):
        yield "Fonts are embedded. Black text is in one ink."
    for share in shares:
        yield ""
        yield from _design_lines(share)


def _design_lines(share: ShopShare) -> Iterator[str]:
    design = share.design
    x0, y0, x1, y1 = design.box_mm
    last = share.first_page + share.pages - 1
    yield f"{design.name}: {share.pieces} pieces, pages {share.first_page} to {last}."
    yield (
        f"Trimmed size {x1 - x0:.2f} x {y1 - y0:.2f} mm, bleed {design.margins.bleed:g} mm."
    )
    if share.backs:
        yield "Printed on both sides: a back is as it is seen when its piece is turned over"
        yield "left to right, top still up. Die lines are on the fronts."
    yield f"Stock: {design.stock or 'to be agreed'}."
    counts = dict.fromkeys(LineKind, 0)
    for line in design.lines:
        counts[line.kind] += 1
    for kind, count in counts.items():
        if count:
            lines = "line" if count == 1 else "lines"
            yield f"Layer {kind.value}: {count} {lines}, {_SAYS[kind]} (own ink)."
    if any(counts[kind] for kind in _FOLDED):
        yield "Deliver flat or folded as agreed; the printed side is the outside of a fold."


def write_job_sheet(lines: Sequence[str], title: str, to: Path) -> None:
    """Write the lines on as many A4 pages as they take."""
    pdf = PrintPdf(title, {})
    per_page = int((TOP_MM - 25) // STEP_MM)
    for start in range(0, len(lines), per_page):
        pdf.add_page(A4, list(_page(lines[start : start + per_page])))
    pdf.save(to)


def _page(lines: Sequence[str]) -> Iterator[Ink]:
    for i, words in enumerate(lines):
        y = TOP_MM - i * STEP_MM
        if words:
            at = translation(LEFT_MM, y) @ scaling(LARGER)
            yield line_of_text(words, at, ROOM_MM / LARGER)
        else:
            rule = polyline([(LEFT_MM, y + 1), (LEFT_MM + ROOM_MM, y + 1)])
            yield InkStroke(rule, 0.2)
