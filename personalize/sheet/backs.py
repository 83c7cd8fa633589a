"""Two-sided sheets: where a back lies when the sheet is turned over.

What counts is the axis of the page as it lies before its maker: turned over its upright
axis (left and right change places) or its level one (top and bottom do). Whether that is
the long or the short edge of the paper depends on how the paper lies.

    upright   (x, y) -> (width - x, y)    a back on a piece turned by q is turned by -q
    level     (x, y) -> (x, height - y)   a back on a piece turned by q, by 180 - q
"""

from dataclasses import replace
from enum import StrEnum

from personalize.geometry.affine import Affine
from personalize.sheet.paper import Paper, PaperMargins, Rect


class Flip(StrEnum):
    """How a sheet is turned over for its back."""

    UPRIGHT = "upright"
    """Over the page's upright axis, like a leaf of a book."""
    LEVEL = "level"
    """Over the page's level axis, like a leaf of a wall calendar."""
    NONE = "none"
    """Not at all: fronts alone are printed, and that is meant."""

    def over(self, paper: Paper) -> Affine:
        """Map the front of a sheet to its back, both as they lie when printed."""
        if self is Flip.UPRIGHT:
            return Affine(-1, 0, 0, 1, paper.width_mm, 0)
        return Affine(1, 0, 0, -1, 0, paper.height_mm)

    def box(self, box: Rect, paper: Paper) -> Rect:
        """Give a box of the front as it lies on the back."""
        over = self.over(paper)
        (ax, ay), (bx, by) = over(box[:2]), over(box[2:])
        return (min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))

    def both(self, margins: PaperMargins) -> PaperMargins:
        """Give margins that the printer keeps on both sides of a sheet."""
        if self is Flip.UPRIGHT:
            side = max(margins.left, margins.right)
            return replace(margins, left=side, right=side)
        end = max(margins.top, margins.bottom)
        return replace(margins, top=end, bottom=end)


def back_place(at: Affine, turned: Affine, flip: Flip, paper: Paper) -> Affine:
    """Give the place of a back.

    Parameters
    ----------
    at
        From mm of the front piece to mm of the sheet's front.
    turned
        From mm of the front piece to those of its back; it mirrors.
    flip, paper
        How the sheet is turned over, and its size.

    Returns
    -------
    Affine
        From mm of the back to mm of the sheet's back. It mirrors nothing.
    """
    return flip.over(paper) @ at @ turned.inverse()


def side_words(flip: Flip, *, back: bool) -> str:
    """Say which side a page is, in a slug."""
    if not back:
        return "front"
    return (
        f"back, turned over {'left to right' if flip is Flip.UPRIGHT else 'top to bottom'}"
    )
