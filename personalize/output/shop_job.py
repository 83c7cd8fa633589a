"""Write shop-job.pdf: what a print shop must know of the job, on one page or more.

Counts, sizes, stock, folds, layers and colours; no guest's name. Decides nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import wrap

from personalize.design.design import Design, LineKind
from personalize.design.painted import KINDS, UNPAINTED, Painted
from personalize.geometry.affine import scaling, translation
from personalize.geometry.path import polyline
from personalize.output.pdf import PrintPdf
from personalize.sheet.furniture import in_line, line_of_text
from personalize.sheet.ink import Ink, InkStroke
from personalize.sheet.paper import Paper

A4 = Paper("A4", 210.0, 297.0)
LEFT_MM, TOP_MM, STEP_MM, ROOM_MM = 25.0, 270.0, 6.5, 165.0
MOST_LETTERS = 92
"""Of a line: they have room at full size as a rule, and set smaller where they have not."""
LARGER = 1.4
"""Than the lines beside pieces."""
_SAYS = {
    LineKind.CUTTING: "cut through",
    LineKind.PARTIAL_CUTTING: "cut the upper layer only",
    LineKind.CREASING: "crease",
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
    painted: Painted = UNPAINTED
    """With what its artwork, pictures and words are painted, on both sides."""

    @property
    def pages(self) -> int:
        """How many pages of shop.pdf it takes."""
        return self.pieces * (2 if self.backs else 1)


def job_lines(name: str, shares: Sequence[ShopShare], profile: str | None) -> Iterator[str]:
    """Give the lines of the job sheet; an empty one parts designs."""
    pieces = _counted(sum(share.pieces for share in shares), "piece")
    sides = ", front and back in turn" if any(share.backs for share in shares) else ""
    yield f"Job: {in_line(name)}. {pieces}, one a page{sides}, in shop.pdf."
    yield "Trim and bleed are in the page boxes. No register marks; scale 100 %."
    yield from _colours(shares, profile)
    if any(share.design.panels for share in shares):
        yield "Fonts are embedded. Black text is in one ink."
    for share in shares:
        yield ""
        yield from _design_lines(share)


def _colours(shares: Sequence[ShopShare], profile: str | None) -> Iterator[str]:
    """Say what colours are in shop.pdf, beside the inks of the die lines."""
    painted = UNPAINTED
    for share in shares:
        painted |= share.painted
    kinds = [kind for kind in KINDS if kind in painted.kinds]
    kinds += ["spot inks"] if painted.spots else []
    if kinds:
        what = f"{', '.join(kinds[:-1])} and {kinds[-1]}" if kinds[1:] else kinds[0]
        yield (
            f"Colours are {what}, none converted; the output condition is"
            f" {in_line(profile)}."
            if profile
            else f"Colours are {what}, without an output intent: convert as you always do."
        )
    elif painted.known:
        yield "Nothing is printed but what stands beside the pieces."
    if not painted.known:
        yield "Parts of the artwork could not be looked at: other colours may be in it."
    if painted.every_ink:
        yield "Parts of the artwork are in all inks at once, as register marks are."


def _design_lines(share: ShopShare) -> Iterator[str]:
    design = share.design
    x0, y0, x1, y1 = design.box_mm
    last = share.first_page + share.pages - 1
    pages = f"pages {share.first_page} to {last}" if share.pages > 1 else f"page {last}"
    yield f"{in_line(design.name)}: {_counted(share.pieces, 'piece')}, {pages}."
    yield (
        f"Trimmed size {x1 - x0:.2f} x {y1 - y0:.2f} mm, bleed {design.margins.bleed:g} mm."
    )
    if share.backs:
        yield "Printed on both sides: a back is as it is seen when its piece is turned over"
        yield "left to right, top still up. Die lines are on the fronts."
    yield f"Stock: {in_line(design.stock) or 'to be agreed'}."
    if share.painted.spots:
        inks = ", ".join(in_line(ink) for ink in sorted(share.painted.spots))
        yield f"Spot inks of its artwork, as they are in it: {inks}."
    counts = dict.fromkeys(LineKind, 0)
    for line in design.lines:
        counts[line.kind] += 1
    for kind, count in counts.items():
        if count:
            lines = _counted(count, "line")
            yield f"Layer {kind.value}: {lines}, {_SAYS[kind]} (own ink)."
    if counts[LineKind.CREASING]:
        yield _folds(design)


def _folds(design: Design) -> str:
    """Say which side of its folds is printed."""
    folds = [one.fold for one in design.folding.hinges if one.fold.angle_deg > 0]
    inside = sum(fold.valley for fold in folds)
    if not folds:
        return "Creases are only marked, not folded: deliver flat."
    deliver = "Deliver flat or folded as agreed"
    if 0 < inside < len(folds):
        return (
            f"{deliver}: {_counted(len(folds) - inside, 'fold')} with the printed side"
            f" outside, {inside} with it inside."
        )
    where = "inside" if inside else "outside"
    return f"{deliver}; the printed side is the {where} of a fold."


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'s' * (count != 1)}"


def write_job_sheet(lines: Sequence[str], title: str, to: Path) -> None:
    """Write the lines on as many A4 pages as they take."""
    pdf = PrintPdf(title, {})
    lines = [part for line in lines for part in wrap(line, MOST_LETTERS) or [""]]
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
