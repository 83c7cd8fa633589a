"""What it does to a sheet that a printer prints askew, as the ruler sheet tells it.

A printer that takes paper in crookedly turns the print; one whose carriage is not square
leans it. Both are told in mm of drift over 100 mm: rightward on the way up, and upward on
the way to the right. The middle of the sheet is right (`personalize.sheet.ruler` takes it
so), and what is off grows towards the corners. Nothing here is corrected: the next sheet
may go in another way.
"""

import math

from personalize.sheet.paper import Paper

Askew = tuple[float, float]
"""Drift in mm over 100 mm: rightward on the way up, upward on the way right."""
SHOWS_MM = 0.5
"""Drift over the sheet from which it is told. Judgement: half a millimetre is seen."""


def drift_mm(askew: Askew, paper: Paper) -> tuple[float, float]:
    """Give the drift over the whole sheet: rightward to its top, upward to its right.

    >>> drift_mm((0.2, -0.1), Paper("A4", 210, 297))
    (0.594, -0.21)
    """
    right, up = askew
    over = (right * paper.height_mm / 100, up * paper.width_mm / 100)
    return round(over[0], 3), round(over[1], 3)


def corner_off_mm(askew: Askew, paper: Paper) -> float:
    """Give how far the print of a corner is beside its place on the paper."""
    return math.hypot(*drift_mm(askew, paper)) / 2


def leaning(askew: Askew) -> Askew:
    """Give what is left when the sheet is turned back: the print is not square.

    A cutter that reads register marks turns with them, and cannot lean with them. A turn
    drifts as far up as it drifts left: what both have beyond that is lean, half and half.
    """
    each = (askew[0] + askew[1]) / 2
    return each, each


def shows(askew: Askew, paper: Paper) -> bool:
    """Whether the drift over a sheet is as much as is told."""
    return max(map(abs, drift_mm(askew, paper))) >= SHOWS_MM


def in_words(askew: Askew, paper: Paper) -> str:
    """Say the drift over a sheet in words.

    >>> in_words((0.2, -0.1), Paper("A4", 210, 297))
    'the print drifts 0.6 mm right from bottom to top, and 0.2 mm down from left to right'
    """
    over, across = drift_mm(askew, paper)
    aside, rise = "right" if over >= 0 else "left", "up" if across >= 0 else "down"
    return (
        f"the print drifts {abs(over):.1f} mm {aside} from bottom to top, and"
        f" {abs(across):.1f} mm {rise} from left to right"
    )
