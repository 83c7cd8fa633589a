"""Places for identical pieces on a sheet: a plain grid, upright or by a quarter turn.

Fixed work, no clock and no chance: the same answer every time.
"""

from collections.abc import Iterator, Sequence
from itertools import product

from personalize.geometry.zone import Region
from personalize.sheet.boxes import SLACK_MM, Arrangement, meets_any, placed_box, wider
from personalize.sheet.paper import Rect


def grids(
    outline: Region,
    area: Rect,
    *,
    spacing_mm: float,
    bleed_mm: float,
    clear_zones: Sequence[Rect],
) -> Iterator[Arrangement]:
    """Give every grid that holds the most pieces, the best placed first.

    `bleed_mm` is printed round each outline and stays in the area and out of the clear
    zones like the piece itself. Nothing is given when no piece fits.
    """
    found = [
        grid
        for turn in (0, 90)
        for grid in _turned(turn, outline.box, area, spacing_mm, bleed_mm, clear_zones)
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
) -> Iterator[Arrangement]:
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
        free = [b for b in boxes if not meets_any(wider(b, bleed), clear_zones)]
        yield Arrangement(tuple(placed_box(box, b, turn) for b in free), tuple(free))
