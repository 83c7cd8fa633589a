"""The proof's view of the sheets: where each piece lies, with marks, rules and slug."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape

from personalize.fold.piece import Piece
from personalize.geometry.affine import Point
from personalize.geometry.path import Contour
from personalize.output.cut_svg import path_data
from personalize.output.proof_draw import Letters, matrix
from personalize.output.proof_piece import Card
from personalize.sheet.fill import Sheet
from personalize.sheet.ink import MARK_LINE_MM, Ink, InkStroke
from personalize.sheet.paper import Rect
from personalize.units import number

ROUND = "round-all"
DrawnPiece = Callable[[Piece], tuple[str, str, Card | None]]
"""Gives for a piece its print, the name of its outline, and its card (none for a spare)."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What is shown of a sheet beside its pieces and its print."""

    area: Rect
    """What the printer reaches."""
    free: Sequence[Sequence[Point]] = ()
    """Corners of clear zones."""
    cut_round: Contour | None = None
    """The cut round all pieces."""


def draw_sheet(sheet: Sheet, ground: Ground, letters: Letters, drawn: DrawnPiece) -> str:
    """Draw one sheet."""
    parts = [_box(ground.area, "reach"), *(_shape(zone, "clear") for zone in ground.free)]
    if ground.cut_round is not None:
        parts.append(f'<path class="{ROUND}" d="{path_data(ground.cut_round)}"/>')
    cards: dict[str, Card] = {}
    spares = 0
    for placed in sheet.placed:
        printed, brim, card = drawn(placed.piece)
        shape = f'{printed}<use href="#{brim}"/>'
        if card is None:
            spares += 1
        else:
            cards[card.anchor] = card
            shape = f'<a href="#{card.anchor}" tabindex="-1">{shape}</a>'
        parts.append(f'<g transform="{matrix(placed.at)}">{shape}</g>')
    for mark in sheet.marks:
        lines = "".join(path_data(line) for line in mark.contours())
        parts.append(f'<path class="mark" stroke-width="{MARK_LINE_MM}" d="{lines}"/>')
    parts += [_ink(ink, letters) for ink in sheet.furniture]
    width, height = number(sheet.paper.width_mm, 2), number(sheet.paper.height_mm, 2)
    return (
        f'<figure class="sheet" id="{anchor(sheet.number, sheet.side)}" tabindex="-1">'
        f'<svg viewBox="0 0 {width} {height}" aria-hidden="true">'
        f'<g transform="matrix(1 0 0 -1 0 {height})">{"".join(parts)}</g></svg>'
        f"<figcaption><b>Sheet {sheet.number}</b>, {_which(sheet)}: "
        f"{_said(list(cards.values()), spares)}</figcaption></figure>\n"
    )


def anchor(number: int, side: str) -> str:
    """Name the figure of a side of a sheet."""
    return f"sheet-{number}{'-back' if side == 'back' else ''}"


def _which(sheet: Sheet) -> str:
    if sheet.side == "back":
        return "its back"
    return f"with {escape(sheet.cut_file)}" if sheet.cut_file else "no cut file"


def _said(cards: Sequence[Card], spares: int) -> str:
    # Pieces of a row in several designs have cards of their own: the first is led to.
    first: dict[int, Card] = {}
    for card in cards:
        first.setdefault(card.row, card)
    links = ", ".join(f'<a href="#{card.anchor}">{row}</a>' for row, card in first.items())
    words = [f"row{'s' * (len(first) != 1)} {links}"] if first else []
    words += [f"{spares} spare{'s' * (spares != 1)}"] if spares else []
    return ", ".join(words)


def _box(box: Rect, name: str) -> str:
    x0, y0, x1, y1 = box
    return _shape([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], name)


def _shape(corners: Sequence[Point], name: str) -> str:
    way = "L".join(f"{number(x, 2)} {number(y, 2)}" for x, y in corners)
    return f'<path class="{name}" d="M{way}Z"/>'


def _ink(ink: Ink, letters: Letters) -> str:
    if isinstance(ink, InkStroke):
        return (
            f'<path fill="none" stroke="{ink.colour.css}"'
            f' stroke-width="{number(ink.width_mm)}" d="{path_data(ink.contour)}"/>'
        )
    return f'<g fill="{ink.colour.css}">{letters.line(ink.line, ink.place)}</g>'


def _checklist(steps: Sequence[str]) -> str:
    if not steps:
        return ""
    items = "".join(
        f'<li><label><input type="checkbox"><span>{escape(step)}</span></label></li>'
        for step in steps
    )
    return f'<h3>On the evening</h3><ul class="checklist">{items}</ul>'


def section(sheets: Sequence[str], steps: Sequence[str]) -> str:
    """Give the whole view; nothing where no sheet was written. `steps` come first.

    A browser that runs the script leaves the sheets unread until they are asked for.
    """
    if not sheets:
        return ""
    cut_round = any(f'class="{ROUND}"' in sheet for sheet in sheets)
    more = " A full line round all pieces is cut." if cut_round else ""
    return (
        '<section id="sheets" tabindex="-1"><h2>Sheets</h2>'
        '<p class="lead">A piece leads to its row. The broken line is as far as the printer'
        f" reaches; dots bound a clear zone, which pieces leave free.{more}</p>"
        f"{_checklist(steps)}"
        f'<div class="all-sheets"><noscript>{"".join(sheets)}</noscript></div></section>\n'
    )
