"""The wall of the ruler sheet: what is cut is a square round each printed one, no more.

Where the squares are is told anew from what is printed, as eyes and rulers find it.
"""

from collections.abc import Sequence

from personalize.checks.wall import check_squares
from personalize.errors import WallError
from personalize.sheet.boxes import wider
from personalize.sheet.ink import Ink, InkStroke, RegisterMark
from personalize.sheet.paper import Paper, Rect

SQUARES = 2
"""As many are printed."""


def check_ruler(
    data: bytes,
    file: str,
    paper: Paper,
    squares: Sequence[Rect],
    marks: Sequence[RegisterMark],
) -> None:
    """Prove that a cut file of a ruler sheet is what can be measured on it.

    It holds the `squares` of `squares_of`, on the sheet and off the clear zones of the
    register marks. Raises WallError for anything else.
    """
    if len(squares) != SQUARES:
        raise WallError(f"{file} belongs to a sheet that has not {SQUARES} squares.")
    check_squares(data, file, paper, squares)
    for x0, y0, x1, y1 in squares:
        if min(x0, y0, paper.width_mm - x1, paper.height_mm - y1) <= 0:
            raise WallError(f"{file} cuts a square that is not on the sheet.")
        for a, b, c, d in (mark.clear_zone for mark in marks):
            if x0 < c and a < x1 and y0 < d and b < y1:
                raise WallError(f"{file} cuts a square through a register mark.")


def squares_of(ink: Sequence[Ink], white_mm: float) -> tuple[Rect, ...]:
    """Give what is to be cut: `white_mm` round each printed square's outer edge."""
    return tuple(
        wider(one.contour.bounds(), one.width_mm / 2 + white_mm)
        for one in ink
        if isinstance(one, InkStroke) and one.contour.closed
    )
