"""The ruler sheet: lines of known length and place, to measure a printer and a cutter on.

What is measured on it, each by a letter that stands beside it on the paper, in mm:

    A, B        length of the level and of the upright line
    C, D        from the left edge of the paper to the upright line, at its foot and its top
    E, F        from the bottom edge to the level line, at its left and its right end
    G, H, I, J  least number that is wholly printed at the top, right, bottom, left edge
    K, L        white left of and below the first printed square, once it is cut out
    M, N        the same of the second square
    O, P        on the other side, see `personalize.sheet.ruler_back`
"""

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from personalize.design.design import LineKind
from personalize.errors import InputError, Problem, refuse
from personalize.geometry.affine import Affine, Point, translation
from personalize.geometry.path import Contour, polyline
from personalize.sheet.boxes import wider
from personalize.sheet.furniture import line_of_text
from personalize.sheet.ink import MARK_CLEAR_MM, DieLine, Ink, InkStroke, RegisterMark
from personalize.sheet.machine import MOST_SCALE, MOST_SHIFT_MM, Machine
from personalize.sheet.paper import Paper, PaperMargins, Rect

LINE_AT_MM, LINE_FROM_MM = 30.0, 40.0
"""How far the two lines lie from the edges, and where they begin."""
LINE_MM = 0.2
LONGEST_MM = 400.0
PRINTED_MM, WHITE_MM = 20.0, 5.0
"""Side of a printed square, and the white round it that the cut leaves."""
STAIR_FROM_MM, STAIR_TO_MM, STAIR_STEP_MM = 1, 15, 4.5
LEAST_PAPER_MM = (148.0, 200.0)
"""On less, the squares would be cut through each other, or through the words."""
BESIDE_MARK_MM = 2.0
"""Ink keeps so far away from a register mark here, where there is no room for more than
what tells them apart. Judgement."""
CUT_DRIFT_MM = 0.4
"""How much the cut may differ between the squares before that is told. Judgement."""
_WORDS_MM = 30.0
_MEASURED = re.compile(r"([A-Pa-p])\s*=\s*(-?\d+(?:[.,]\d+)?)\s*(?:mm)?(?=[\s;]|\Z)")


@dataclass(frozen=True, slots=True)
class RulerSheet:
    """The ruler sheet for a paper."""

    paper: Paper
    level_mm: float
    upright_mm: float
    squares: tuple[Point, ...]
    """Lower left corners of the printed squares."""

    def ink(self) -> tuple[Ink, ...]:
        """Everything that is printed on it but the register marks."""
        return tuple(_printed(self))

    def die_lines(self) -> tuple[DieLine, ...]:
        """What the cutter cuts: a square round each printed one."""
        side = PRINTED_MM + 2 * WHITE_MM
        return tuple(
            DieLine(LineKind.CUTTING, _square((x - WHITE_MM, y - WHITE_MM), side))
            for x, y in self.squares
        )


def ruler_sheet(paper: Paper) -> RulerSheet:
    """Lay out the ruler sheet. Raises InputError for paper that is too small for it."""
    width, height = paper.width_mm, paper.height_mm
    least, longer = LEAST_PAPER_MM
    if min(width, height) < least or max(width, height) < longer:
        raise refuse(
            "--paper",
            f"{paper.name} is too small to measure on.",
            f"Take paper of {least:g} x {longer:g} mm or more: it is the same machine.",
        )

    def length(side: float) -> float:
        return min(LONGEST_MM, math.floor((side - LINE_FROM_MM - 25) / 10) * 10)

    far = PRINTED_MM + 45
    return RulerSheet(
        paper,
        length(width),
        length(height),
        ((50.0, 50.0), (width - far, height - far)),
    )


def refuse_on_marks(
    sheet: RulerSheet, ink: Iterable[Ink], marks: Iterable[RegisterMark]
) -> None:
    """Raise InputError where marks come too near to what is printed or cut beside them."""
    printed = [_box(one) for one in ink]
    cut = [one.contour.bounds() for one in sheet.die_lines()]
    for mark in marks:
        near = wider(mark.clear_zone, BESIDE_MARK_MM - MARK_CLEAR_MM)
        if _any_meets(printed, near) or _any_meets(cut, mark.clear_zone):
            raise refuse(
                "--margin",
                "register marks so far in would stand too near to what is measured.",
                "Take smaller margins for this sheet: only its marks keep them.",
            )


def _any_meets(boxes: Iterable[Rect], one: Rect) -> bool:
    a, b, c, d = one
    return any(x0 < c and a < x1 and y0 < d and b < y1 for x0, y0, x1, y1 in boxes)


def _box(ink: Ink) -> Rect:
    if isinstance(ink, InkStroke):
        return wider(ink.contour.bounds(), ink.width_mm / 2)
    x0, y0, x1, y1 = ink.line.ink or (0.0, 0.0, 0.0, 0.0)
    corners = [ink.place(point) for point in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    xs, ys = zip(*corners, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def _square(corner: Point, side: float) -> Contour:
    x, y = corner
    points = [(x, y), (x + side, y), (x + side, y + side), (x, y + side), (x, y)]
    return polyline(points, closed=True)


def _printed(sheet: RulerSheet) -> Iterator[Ink]:
    at, start = LINE_AT_MM, LINE_FROM_MM
    level = polyline([(start, at), (start + sheet.level_mm, at)])
    upright = polyline([(at, start), (at, start + sheet.upright_mm)])
    for line in (level, upright):
        yield InkStroke(line, LINE_MM)
    for i in (0.0, 1.0):
        x, y = start + i * sheet.level_mm, start + i * sheet.upright_mm
        yield InkStroke(polyline([(x, at - 3), (x, at + 3)]), LINE_MM)
        yield InkStroke(polyline([(at - 3, y), (at + 3, y)]), LINE_MM)
    for x, y in sheet.squares:
        inner = LINE_MM / 2  # the outer edge of the line is where the square ends
        yield InkStroke(_square((x + inner, y + inner), PRINTED_MM - LINE_MM), LINE_MM)
    yield from _stairs(sheet.paper)
    yield from _words(sheet)


def _stairs(paper: Paper) -> Iterator[Ink]:
    """Steps along each edge, each one millimetre further in, with its number."""
    w, h = paper.width_mm, paper.height_mm
    steps = STAIR_TO_MM - STAIR_FROM_MM + 1
    half = steps * STAIR_STEP_MM / 2
    edges = (
        Affine(1, 0, 0, -1, w / 2 - half, h),
        Affine(0, 1, -1, 0, w, h / 2 - half),
        Affine(1, 0, 0, 1, w / 2 - half, 0),
        Affine(0, 1, 1, 0, 0, h / 2 - half),
    )
    for place in edges:
        for i in range(steps):
            deep, x = float(STAIR_FROM_MM + i), i * STAIR_STEP_MM
            step = polyline([(x, deep), (x + STAIR_STEP_MM - 1, deep)])
            yield InkStroke(step.transformed(place), LINE_MM)
            x_in, y_in = place((x + STAIR_STEP_MM / 2 - 0.5, 19.0))
            yield _label(f"{STAIR_FROM_MM + i}", (x_in - 1.2, y_in - 0.9), 2.4)


def _label(words: str, at: Point, room_mm: float) -> Ink:
    return line_of_text(words, translation(*at), room_mm)


def _words(sheet: RulerSheet) -> Iterator[Ink]:
    w, h = sheet.paper.width_mm, sheet.paper.height_mm
    at, start = LINE_AT_MM, LINE_FROM_MM
    level, upright = sheet.level_mm, sheet.upright_mm
    yield _label(f"A: this line is meant to be {level:g} mm", (start + 25, at + 1.6), level)
    yield line_of_text(
        f"B: this line is meant to be {upright:g} mm",
        Affine(0, 1, -1, 0, at - 1.6, start + 25),
        upright,
    )
    for letter, point in {
        "C": (at - 7, start + 2), "D": (at - 7, start + upright - 5),
        "E": (start + 2, at - 5), "F": (start + level - 5, at - 5),
        "G": (w / 2 - 42, h - 20), "H": (w - 20, h / 2 - 42),
        "I": (w / 2 - 42, 18), "J": (18, h / 2 - 42),
    }.items():  # fmt: skip
        yield _label(letter, point, 20)
    for (x, y), (left, below) in zip(sheet.squares, (("K", "L"), ("M", "N")), strict=True):
        yield _label(left, (x + 1.5, y + 9), 20)
        yield _label(below, (x + 9, y + 1.5), 20)
    lines = (
        "Print at 100 %, measure with a good steel ruler, to a tenth of a millimetre.",
        "C, D: from the paper's left edge to the upright line.",
        "E, F: from its bottom edge to the level line.",
        "G, H, I, J: the least number whose step is wholly printed.",
        "K, M: white left of the printed square, once cut out.  L, N: white below it.",
    )
    x, y = start + 3, h / 2 + 10
    low, high = (corner[1] for corner in sheet.squares)
    side = PRINTED_MM + WHITE_MM
    if high - WHITE_MM - (low + side) < _WORDS_MM:
        # No room between the squares: right of the lower and below the upper one.
        x, y = sheet.squares[0][0] + side + 5, low + PRINTED_MM - 3
    for i, line in enumerate(lines):
        yield _label(line, (x, y - 5 * i), w - x - 25)


@dataclass(frozen=True, slots=True)
class Measured:
    """What the figures of a maker say."""

    machine: Machine
    cut_drift_mm: tuple[float, float] | None
    """How much the cut's shift differs from the first square to the second."""


def parse_measured(text: str) -> dict[str, float]:
    """Read figures such as ``A=149.6 B=224,8``. Raises InputError."""
    found = {m[1].upper(): float(m[2].replace(",", ".")) for m in _MEASURED.finditer(text)}
    rest = re.sub(r"[\s;]+", "", _MEASURED.sub("", text))
    if rest or not found:
        raise refuse(
            "--measured",
            f"{rest or text!r} is no letter with its figure.",
            'Write what you measured in mm, such as "A=149.6 B=224.8 C=30.2".',
        )
    return found


def measured(sheet: RulerSheet, figures: Mapping[str, float], name: str) -> Measured:
    """Make a machine record of what was measured; what was left out is taken as right.

    Raises
    ------
    InputError
        A figure is so far off that it cannot be meant, or cannot be corrected.
    """
    problems = list(_improbable(sheet, figures))
    if problems:
        raise InputError(problems)
    level, upright = sheet.level_mm, sheet.upright_mm
    sx, sy = figures.get("A", level) / level, figures.get("B", upright) / upright
    x, up = _line(figures, "CD", upright, sheet.paper.height_mm)
    y, right = _line(figures, "EF", level, sheet.paper.width_mm)
    shift = (
        0.0 if x is None else x - sx * LINE_AT_MM,
        0.0 if y is None else y - sy * LINE_AT_MM,
    )
    askew = None if up is None or right is None else (100 * up, 100 * right)
    cut, drift = _cut(figures)
    margins = None
    if all(letter in figures for letter in "GHIJ"):
        margins = PaperMargins(*(figures[letter] for letter in "GHIJ"))
    machine = Machine(name, margins, None, (sx, sy), shift, cut, askew=askew)
    if {"O", "P"} & set(figures):
        across, above = (figures.get(letter, LINE_AT_MM) for letter in "OP")
        back = (across - sx * LINE_AT_MM, above - sy * LINE_AT_MM)
        machine = replace(machine, back_shift_mm=back)
    return Measured(machine, drift)


def _line(
    figures: Mapping[str, float], ends: str, length: float, side: float
) -> tuple[float | None, float | None]:
    """Give where a line lies at the middle of the sheet, and how it drifts per mm."""
    known = [figures[letter] for letter in ends if letter in figures]
    if len(known) < 2:
        return (known[0] if known else None), None
    drift = (known[1] - known[0]) / length
    return known[0] + drift * (side / 2 - LINE_FROM_MM), drift


def _cut(
    figures: Mapping[str, float],
) -> tuple[tuple[float, float], tuple[float, float] | None]:
    """Give the mean shift of the cut, and how it differs between the squares."""
    # A cut that lies further right leaves less white at the left.
    shifts = [
        [WHITE_MM - figures[c] for c in pair if c in figures] for pair in ("KM", "LN")
    ]
    mean = [sum(each) / len(each) if each else 0.0 for each in shifts]
    drift = [each[1] - each[0] if len(each) == 2 else None for each in shifts]
    if drift == [None, None]:
        return (mean[0], mean[1]), None
    return (mean[0], mean[1]), (drift[0] or 0.0, drift[1] or 0.0)


def _improbable(sheet: RulerSheet, figures: Mapping[str, float]) -> Iterator[Problem]:
    meant = {"A": sheet.level_mm, "B": sheet.upright_mm}
    meant |= dict.fromkeys("CDEFOP", LINE_AT_MM)
    for letter, figure in figures.items():
        place = f"--measured {letter}"
        if letter in "AB":
            off = figure / meant[letter] - 1
            if abs(off) > MOST_SCALE:
                says = f"{figure:g} mm for {meant[letter]:g} is {100 * off:+.1f} %."
                do = (
                    'The printer fits the page: print at 100 %, "fit" and edge-to-edge'
                    " printing off, and measure again. Check --paper too."
                )
                yield Problem(place, says, do)
        elif letter in "CDEFOP" and abs(figure - LINE_AT_MM) > MOST_SHIFT_MM:
            yield Problem(
                place, f"{figure:g} mm is far from {LINE_AT_MM:g}.", "Measure it again."
            )
        elif letter in "GHIJ" and not 0 <= figure <= STAIR_TO_MM:
            says = f"{figure:g} is no number from 0 to {STAIR_TO_MM}."
            yield Problem(place, says, "Write the least number whose step is printed.")
        elif letter in "KLMN" and not 0 <= figure <= 2 * WHITE_MM:
            says = f"{figure:g} mm is far from {WHITE_MM:g}."
            yield Problem(place, says, "Let the machine read the marks, and cut again.")
