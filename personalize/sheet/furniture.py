"""What a sheet carries beside its pieces: register marks, rules and the slug.

Rules show whether the print is true to scale on both axes; the slug says which job and
sheet this is, the rows on it (numbers, no names) and which edge goes first.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from unicodedata import bidirectional

import numpy as np
from numpy.typing import NDArray

from personalize.fonts.catalogue import catalogue
from personalize.geometry.affine import Affine, Points, translation
from personalize.geometry.path import polyline
from personalize.sheet.boxes import SLACK_MM
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
from personalize.type.manner import Manner
from personalize.type.shape import Paragraph

RULE_MM = 100.0
SHORT_RULE_MM = 50.0
RULE_DEPTH_MM = 5.0
SLUG_LENGTH_MM, SLUG_DEPTH_MM = 110.0, 3.5
LONG_SLUG_MM = 165.0
"""Of a slug that also tells where the die lines lie."""
SLUG_EM_MM = 2.6
ARROW_MM = 4.0
"""Room for the arrow before the slug."""
MOST_STEPS = 300
"""Places tried along one edge, at most."""
AWAY_MM = 0.8
"""Distance of rules and slug from pieces and from each other."""
_SENTENCE = Manner(direction="ltr")
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})
_TURNING = dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A)])
"""Characters that turn the direction of what stands beside them (UAX #9, table 4)."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A free box for a rule or the slug; an upright one reads from below."""

    box: Rect
    upright: bool

    @property
    def place(self) -> Affine:
        """Map from a level strip at the origin to the slot."""
        x0, y0, x1, _ = self.box
        return Affine(0, 1, -1, 0, x1, y0) if self.upright else translation(x0, y0)


@dataclass(frozen=True, slots=True)
class Slots:
    """Where the slug and the rules go."""

    slug: Slot
    rules: tuple[Slot, Slot] | None
    """The level and the upright one; None when they need a page of their own."""
    rule_mm: float = 0.0

    @property
    def boxes(self) -> tuple[Rect, ...]:
        """What they take of the sheet."""
        return (self.slug.box, *(slot.box for slot in self.rules or ()))


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


def find_slots(
    area: Rect, taken: Sequence[Rect], slug_mm: float = SLUG_LENGTH_MM
) -> Slots | None:
    """Find room for the slug and two rules where no piece and no mark lies.

    The slug alone, where there is no more room: it tells the sheets apart. None where
    even that has no place.
    """
    for rule_mm in (RULE_MM, SHORT_RULE_MM):
        used = list(taken)
        slots = []
        for length, depth, ways in (
            (rule_mm, RULE_DEPTH_MM, (False,)),
            (rule_mm, RULE_DEPTH_MM, (True,)),
            (slug_mm, SLUG_DEPTH_MM, (False, True)),
        ):
            slot = _free(length, depth, ways, area, used)
            if slot is None:
                break
            slots.append(slot)
            used.append(slot.box)
        if len(slots) == 3:
            level, upright, words = slots
            return Slots(words, (level, upright), rule_mm)
    slot = _free(slug_mm, SLUG_DEPTH_MM, (False, True), area, taken)
    return Slots(slot, None) if slot is not None else None


def _free(
    length: float,
    depth: float,
    ways: tuple[bool, ...],
    area: Rect,
    taken: Sequence[Rect],
) -> Slot | None:
    for upright in ways:
        w, h = (depth, length) if upright else (length, depth)
        corners = list(_corners(area, w, h))
        if not corners:
            continue
        blocked = _blocked(np.array(corners), w, h, taken)
        if not blocked.all():
            x, y = corners[int(blocked.argmin())]
            return Slot((x, y, x + w, y + h), upright)
    return None


def _blocked(
    corners: Points, w: float, h: float, taken: Sequence[Rect]
) -> NDArray[np.bool_]:
    """Whether a box at each lower left corner comes too near to what is taken.

    Thousands of corners are tried: one pass over all of them for each taken box.
    """
    x, y = corners.T
    blocked = np.zeros(len(corners), dtype=bool)
    for x0, y0, x1, y1 in taken:
        blocked |= (
            (x - AWAY_MM < x1 - SLACK_MM)
            & (x0 < x + w + AWAY_MM - SLACK_MM)
            & (y - AWAY_MM < y1 - SLACK_MM)
            & (y0 < y + h + AWAY_MM - SLACK_MM)
        )
    return blocked


def _corners(area: Rect, w: float, h: float) -> Iterable[tuple[float, float]]:
    """Places to try: along the edges from the bottom left, in steps of 1 mm (A4)."""
    wide, high = area[2] - area[0] - w, area[3] - area[1] - h
    if wide < 0 or high < 0:
        return []
    step = max(1.0, wide / MOST_STEPS, high / MOST_STEPS)
    xs = sorted(
        {area[0] + i * step for i in range(int(wide / step) + 1)} | {area[0] + wide}
    )
    ys = sorted(
        {area[1] + j * step for j in range(int(high / step) + 1)} | {area[1] + high}
    )
    if w > h:
        middle = (area[0] + area[2] - w) / 2
        xs.sort(key=lambda x: abs(x - middle))
        return [(x, y) for y in ys for x in xs]
    middle = (area[1] + area[3] - h) / 2
    ys.sort(key=lambda y: abs(y - middle))
    return [(x, y) for x in xs for y in ys]


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
    which = f"sheet {sheet} of {sheets}{f', {side}' if side else ''}"
    return f"{job}, {which}{on_it}.{on} {paper}, top edge first."


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
