"""Where pieces lie on a sheet, and the boxes that they take."""

from collections.abc import Sequence
from dataclasses import dataclass

from personalize.geometry.affine import Affine, rotation, translation
from personalize.sheet.paper import Rect

SLACK_MM = 1e-6
"""Float noise allowed where a piece just fits."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Places on a sheet: maps from the piece (mm) to the sheet (mm), top row first."""

    places: tuple[Affine, ...]
    boxes: tuple[Rect, ...]
    """Box of the outline at each place."""


def mixed(found: Arrangement) -> bool:
    """Whether some pieces lie across the others."""
    return len({abs(round(at.a, 6)) for at in found.places}) > 1


def upright(at: Affine, box: Rect) -> Affine:
    """Turn a piece that lies head down by half a turn within its box.

    Whether it then still keeps its distances is for others to prove.
    """
    if round(at.a) != -1:
        return at
    return Affine(-1, 0, 0, -1, box[0] + box[2], box[1] + box[3]) @ at


def placed_box(box: Rect, onto: Rect, turn: int) -> Affine:
    """Map the outline's box onto a box of the grid."""
    turned = rotation(turn)
    corners = [turned((box[i], box[j])) for i in (0, 2) for j in (1, 3)]
    x, y = min(c[0] for c in corners), min(c[1] for c in corners)
    return translation(onto[0] - x, onto[1] - y) @ turned


def wider(box: Rect, by: float) -> Rect:
    """Grow a box on all sides."""
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def mapped(box: Rect, by: Affine) -> Rect:
    """Move, stretch, mirror or turn a box; by quarter turns, but for what no eye sees."""
    (x0, y0), (x1, y1) = by(box[:2]), by(box[2:])
    return (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def meets(a: Rect, b: Rect) -> bool:
    """Whether two boxes share more than an edge."""
    return (
        a[0] < b[2] - SLACK_MM
        and b[0] < a[2] - SLACK_MM
        and a[1] < b[3] - SLACK_MM
        and b[1] < a[3] - SLACK_MM
    )


def meets_any(box: Rect, others: Sequence[Rect]) -> bool:
    """Whether a box shares more than an edge with any of others."""
    return any(meets(box, other) for other in others)
