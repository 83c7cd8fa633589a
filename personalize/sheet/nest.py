"""Places for identical pieces on a sheet: a plain grid, upright or by a quarter turn.

Fixed work, no clock and no chance: the same answer every time.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from personalize.geometry.affine import Affine, rotation, translation
from personalize.sheet.paper import Rect

SLACK_MM = 1e-6
"""Float noise allowed where a piece just fits."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Places on a sheet: maps from the piece (mm) to the sheet (mm), top row first."""

    places: tuple[Affine, ...]
    boxes: tuple[Rect, ...]
    """Box of the outline at each place."""


def grids(
    outline_box: Rect,
    area: Rect,
    *,
    spacing_mm: float,
    bleed_mm: float,
    clear_zones: Sequence[Rect],
) -> Iterator[Grid]:
    """Give every grid that holds the most pieces, the best placed first.

    `bleed_mm` is printed round each outline and stays in the area and out of the clear
    zones like the piece itself. Nothing is given when no piece fits.
    """
    found = [
        grid
        for turn in (0, 90)
        for grid in _turned(turn, outline_box, area, spacing_mm, bleed_mm, clear_zones)
    ]
    most = max((len(grid.places) for grid in found), default=0)
    if most:
        yield from (grid for grid in found if len(grid.places) == most)


_ANCHORS = (
    *((0.5, 0.5), (0.5, 1.0), (0.5, 0.0), (0.0, 0.5), (1.0, 0.5)),
    *((0.0, 1.0), (1.0, 1.0), (0.0, 0.0), (1.0, 0.0)),
)
"""Where the block of pieces lies in the area: the middle first, then edges, corners."""


def _turned(  # noqa: PLR0917 - the whole of one question, asked in one place
    turn: int,
    box: Rect,
    area: Rect,
    spacing: float,
    bleed: float,
    clear_zones: Sequence[Rect],
) -> Iterator[Grid]:
    w, h = box[2] - box[0], box[3] - box[1]
    if turn == 90:
        w, h = h, w
    wide, high = area[2] - area[0] - 2 * bleed, area[3] - area[1] - 2 * bleed
    columns = int((wide + spacing + SLACK_MM) // (w + spacing))
    rows = int((high + spacing + SLACK_MM) // (h + spacing))
    # One column or row fewer can lie clear of marks that the full grid would meet.
    sizes = [(columns - i, rows - j) for i, j in product((0, 1), (0, 1))]
    for (nx, ny), (ax, ay) in product(sizes, _ANCHORS):
        if nx < 1 or ny < 1:
            continue
        left = area[0] + bleed + ax * (wide - nx * (w + spacing) + spacing)
        bottom = area[1] + bleed + ay * (high - ny * (h + spacing) + spacing)
        corners = [
            (left + i * (w + spacing), bottom + j * (h + spacing))
            for j in reversed(range(ny))
            for i in range(nx)
        ]
        boxes = [(x, y, x + w, y + h) for x, y in corners]
        free = [b for b in boxes if not _meets_any(_grown(b, bleed), clear_zones)]
        yield Grid(tuple(_place(box, b, turn) for b in free), tuple(free))


def _place(box: Rect, onto: Rect, turn: int) -> Affine:
    """Map the outline's box onto a box of the grid."""
    turned = rotation(turn)
    corners = [turned((box[i], box[j])) for i in (0, 2) for j in (1, 3)]
    x, y = min(c[0] for c in corners), min(c[1] for c in corners)
    return translation(onto[0] - x, onto[1] - y) @ turned


def _grown(box: Rect, by: float) -> Rect:
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def meets(a: Rect, b: Rect) -> bool:
    """Whether two boxes share more than an edge."""
    return (
        a[0] < b[2] - SLACK_MM
        and b[0] < a[2] - SLACK_MM
        and a[1] < b[3] - SLACK_MM
        and b[1] < a[3] - SLACK_MM
    )


def _meets_any(box: Rect, others: Sequence[Rect]) -> bool:
    return any(meets(box, other) for other in others)
