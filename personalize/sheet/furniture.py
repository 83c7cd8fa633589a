"""What a sheet carries beside its pieces: register marks, rules and the slug.

Rules show whether the print is true to scale on both axes; the slug says which job and
sheet this is, the rows on it (numbers, no names) and which edge goes first.
"""

from collections.abc import Sequence
from unicodedata import bidirectional

from personalize.fonts.catalogue import catalogue
from personalize.geometry.affine import Affine, translation
from personalize.geometry.path import polyline
from personalize.sheet.ink import (
    GREY,
    MARK_FROM_EDGE_MM,
    MARK_LINE_MM,
    MARK_RADIUS_MM,
    Ink,
    InkStroke,
    InkText,
    MarkKind,
    RegisterMark,
)
from personalize.sheet.paper import Paper, PaperMargins, Rect
from personalize.sheet.slots import SHORT_RULE_MM, SLUG_DEPTH_MM, Slot
from personalize.type.manner import Manner
from personalize.type.shape import Paragraph

SLUG_EM_MM = 2.6
ARROW_MM = 4.0
"""Room for the arrow before the slug."""
_SENTENCE = Manner(direction="ltr")
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})
_TURNING = dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A)])
"""Characters that turn the direction of what stands beside them (UAX #9, table 4)."""


def register_marks(
    paper: Paper, margins: PaperMargins, kind: MarkKind = MarkKind.CROSS_HAIR
) -> tuple[RegisterMark, ...]:
    """Put a mark in each corner, inside the printer's margins."""
    size = MARK_RADIUS_MM if kind is MarkKind.CROSS_HAIR else MARK_LINE_MM / 2

    def from_edge(margin: float) -> float:
        return max(margin, MARK_FROM_EDGE_MM) + size

    xs = (from_edge(margins.left), paper.width_mm - from_edge(margins.right))
    ys = (from_edge(margins.bottom), paper.height_mm - from_edge(margins.top))
    return tuple(
        RegisterMark(
            (x, y), kind, (1.0 if x is xs[0] else -1.0, 1.0 if y is ys[0] else -1.0)
        )
        for y in reversed(ys)
        for x in xs
    )


def rule(slot: Slot, length_mm: float) -> list[Ink]:
    """Draw a rule with a tick every 10 mm and its true length beside it."""
    marks = [polyline([(0, 0.3), (length_mm, 0.3)])]
    for i in range(int(length_mm) // 10 + 1):
        tall = 2.2 if i % 5 == 0 else 1.4
        marks.append(polyline([(10.0 * i, 0.3), (10.0 * i, 0.3 + tall)]))
    ink: list[Ink] = [InkStroke(m.transformed(slot.place), 0.2) for m in marks]
    words = f"This line is {length_mm:g} mm long. Print at 100 %."
    start = 12.0 if length_mm >= SHORT_RULE_MM else 0.0
    place = slot.place @ translation(start, 2.9)
    return [*ink, line_of_text(words, place, length_mm - (start + 2 if start else 0))]


def in_line(name: str) -> str:
    """Give a name as a part of a sentence, whatever its letters and their direction."""
    plain = " ".join(name.translate(_TURNING).split())
    turns = any(bidirectional(c) in _RIGHT_TO_LEFT for c in plain)
    return f"\u2068{plain}\u2069" if turns else plain


def line_of_text(words: str, place: Affine, room_mm: float) -> InkText:
    """Set one small grey line from a place on, smaller where the room is short."""
    paragraph = Paragraph(words, catalogue()[0], manner=_SENTENCE)
    line = paragraph.line(0, len(paragraph.segments) - 1)
    right = line.ink[2] if line.ink else 1.0
    size = min(SLUG_EM_MM, room_mm / right)
    return InkText(line, place @ Affine(size, 0, 0, size, 0, 0), GREY)


def slug_words(  # noqa: PLR0917 - the parts of one sentence
    job: str,
    sheet: int,
    sheets: int,
    rows: Sequence[int],
    paper: str,
    stock: str = "",
    side: str = "",
) -> str:
    """Say which sheet and side this is, which rows are on it, what it is printed on."""
    job, stock = in_line(job), in_line(stock)
    listed = _ranges(rows)
    if len(listed) > 60:
        listed = f"{min(rows)} to {max(rows)}"
    on_it = f", row{'s' * (len(set(rows)) > 1)} {listed}" if rows else ""
    on = f" On {stock}." if stock else ""
    which = short_words(sheet, sheets, side)
    return f"{job}, {which}{on_it}.{on} {paper}, top edge first."


def short_words(sheet: int, sheets: int, side: str = "") -> str:
    """Say which sheet and side this is, and no more."""
    return f"sheet {sheet} of {sheets}{f', {side}' if side else ''}"


def slug(slot: Slot, words: str) -> tuple[Ink, ...]:
    """Set the slug in its slot, behind an arrow to the edge that goes first: the top."""
    x0, y0, x1, y1 = slot.box
    room = max(x1 - x0, y1 - y0) - ARROW_MM
    text = line_of_text(words, slot.place @ translation(ARROW_MM, 0.9), room)
    return (*arrow(slot), text)


def arrow(slot: Slot) -> tuple[InkStroke, ...]:
    """Draw an arrow at the start of a slot that points to the top of the sheet."""
    x0, y0, _, _ = slot.box
    x, y = (x0 + SLUG_DEPTH_MM / 2, y0 + 0.3) if slot.upright else (x0 + 1.5, y0 + 0.3)
    top = y + 3.0
    return (
        InkStroke(polyline([(x, y), (x, top)]), 0.3),
        InkStroke(polyline([(x - 0.9, top - 1.2), (x, top), (x + 0.9, top - 1.2)]), 0.3),
    )


def where_words(boxes: Sequence[Rect], paper: Paper, *, face_down: bool = False) -> str:
    """Say where the die lines of a sheet lie, for a machine that adds its own marks."""
    x0, y0, x1, y1 = (
        f(box[i] for box in boxes) for f, i in ((min, 0), (min, 1), (max, 2), (max, 3))
    )
    down = ", print down" if face_down else ""
    return (
        f" Die lines{down}: {x1 - x0:.2f} x {y1 - y0:.2f} mm, {x0:.2f} from the left,"
        f" {paper.height_mm - y1:.2f} from the top."
    )


def _ranges(rows: Sequence[int]) -> str:
    """Write row numbers as 2-5, 8, 11."""
    spans: list[list[int]] = []
    for row in sorted(set(rows)):
        if spans and row == spans[-1][1] + 1:
            spans[-1][1] = row
        else:
            spans.append([row, row])
    return ", ".join(f"{a}-{b}" if a != b else f"{a}" for a, b in spans)
