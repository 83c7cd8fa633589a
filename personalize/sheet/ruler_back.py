"""The other side of the ruler sheet: how a printer turns sheets over, and where it prints.

    O   from the left edge of the paper to the upright line, the back lying before you
    P   from the bottom edge to the level line

An arrow on each side shows which way the sheet was turned: held against the light they
point one way over the upright axis, and against each other over the level one.
"""

from collections.abc import Iterator

from personalize.geometry.affine import Point, translation
from personalize.geometry.path import polyline
from personalize.sheet.furniture import line_of_text
from personalize.sheet.ink import Ink, InkStroke
from personalize.sheet.ruler import LINE_AT_MM, LINE_FROM_MM, LINE_MM, RulerSheet

ARROW_MM = 25.0
_HEAD_MM = 6.0
SHORT_MM = 60.0
"""Length of the two lines."""


def front_arrow(sheet: RulerSheet) -> tuple[Ink, ...]:
    """Draw what the front has besides, where there is a back."""
    x, y = _middle(sheet)
    return (*_arrow((x, y)), _words("front", (x - 20, y + 14)))


def back_ink(sheet: RulerSheet) -> tuple[Ink, ...]:
    """Draw everything that is on the back."""
    return tuple(_back(sheet))


def _back(sheet: RulerSheet) -> Iterator[Ink]:
    at, start = LINE_AT_MM, LINE_FROM_MM
    yield InkStroke(polyline([(start, at), (start + SHORT_MM, at)]), LINE_MM)
    yield InkStroke(polyline([(at, start), (at, start + SHORT_MM)]), LINE_MM)
    yield _words("O", (at - 7, start + 2))
    yield _words("P", (start + 2, at - 5))
    x, y = _middle(sheet)
    yield from _arrow((x, y))
    yield _words("back", (x + 6, y + 14))
    lines = (
        "The other side of the ruler sheet, as it lies before you with its arrow up.",
        "O: from the paper's left edge to the upright line.",
        "P: from its bottom edge to the level line.",
        "Hold it against the light. Both arrows point one way: --two-sided upright.",
        "They point against each other: --two-sided level.",
    )
    for i, line in enumerate(lines):
        room = sheet.paper.width_mm - start - 25
        yield _words(line, (start + 3, at + SHORT_MM / 2 - 5 * i), room)


def _middle(sheet: RulerSheet) -> Point:
    """Give the foot of the arrows: the middle of the sheet, clear of what it says."""
    return (sheet.paper.width_mm / 2, sheet.paper.height_mm / 2 + 15)


def _arrow(foot: Point) -> Iterator[Ink]:
    x, y = foot
    top = y + ARROW_MM
    yield InkStroke(polyline([(x, y), (x, top)]), 2 * LINE_MM)
    head = [
        (x - _HEAD_MM / 2, top - _HEAD_MM),
        (x, top),
        (x + _HEAD_MM / 2, top - _HEAD_MM),
    ]
    yield InkStroke(polyline(head), 2 * LINE_MM)


def _words(words: str, at: Point, room_mm: float = 20.0) -> Ink:
    return line_of_text(words, translation(*at), room_mm)
