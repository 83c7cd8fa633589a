"""Sheets whose labels are cut already: where the places are, and how a piece lies there.

A table of the maker's own, in TOML, says it; measured from the top left of the paper, as
one measures with a rule. No machine cuts these sheets: the blade has been there before.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from personalize.design.files import bytes_of
from personalize.design.toml_values import Values
from personalize.errors import InputError, Problem, refuse
from personalize.geometry.affine import Affine, rotation, translation
from personalize.geometry.parts import apart_mm, reach_past_mm
from personalize.geometry.zone import Region, region_of
from personalize.sheet.boxes import Arrangement
from personalize.sheet.paper import Paper, Rect, parse_paper

FITS_MM = 0.3
"""How far an outline's box may be larger than a place: a third of a millimetre is within
what printers are off. Judgement."""
LIKE_MM = 0.5
"""Outline and place further apart than this are told. Judgement."""
MOST_ROWS = 200
MOST_MM = 5000.0
MOST_BYTES = 100_000
_TURNS_TRIED = (0, 90)
_KEYS = ("paper", "rows", "columns", "first_mm", "size_mm", "pitch_mm", "corner_mm")


@dataclass(frozen=True, slots=True)
class Precut:
    """A sheet of labels that are cut already."""

    file: str
    """Bare name of the table, for sentences."""
    paper: Paper
    rows: int
    columns: int
    first_mm: tuple[float, float]
    """Upper left corner of the first place: from the left, from the top of the paper."""
    size_mm: tuple[float, float]
    """Width and height of a place."""
    pitch_mm: tuple[float, float]
    """From one place to the next: across, down."""
    corner_mm: float = 0.0
    """Radius of the corners of a place; half its width and height make it round."""

    @property
    def boxes(self) -> tuple[Rect, ...]:
        """All places in sheet mm, row by row from the top."""
        (x, y), (w, h), (across, down) = self.first_mm, self.size_mm, self.pitch_mm
        top = self.paper.height_mm - y
        return tuple(
            (x + c * across, top - r * down - h, x + c * across + w, top - r * down)
            for r in range(self.rows)
            for c in range(self.columns)
        )

    @property
    def gap_mm(self) -> float:
        """Least distance from a place to the next; as if endless where there is one."""
        gaps = [MOST_MM]
        gaps += [self.pitch_mm[0] - self.size_mm[0]] if self.columns > 1 else []
        gaps += [self.pitch_mm[1] - self.size_mm[1]] if self.rows > 1 else []
        return max(0.0, min(gaps))

    @property
    def place(self) -> Region:
        """The shape of a place, its middle in the origin."""
        w, h = self.size_mm
        return _rounded_box(w, h, min(self.corner_mm, w / 2, h / 2))


def _rounded_box(w: float, h: float, r: float) -> Region:
    if r <= 0:
        return region_of(np.array([(-w, -h), (w, -h), (w, h), (-w, h)]) / 2)
    turns = np.linspace(0, np.pi / 2, 33)
    corner = r * np.column_stack([np.cos(turns), np.sin(turns)])
    parts = []
    for quarter, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        to_corner = translation(sx * (w / 2 - r), sy * (h / 2 - r))
        parts.append((to_corner @ rotation(90 * quarter)).many(corner))
    return region_of(np.concatenate(parts))


@dataclass(frozen=True, slots=True)
class Fit:
    """How an outline lies in the places of a pre-cut sheet."""

    turn_deg: int
    apart_mm: float
    """Furthest distance between outline and place."""
    past_mm: float
    """How far the outline reaches out of its place."""
    room_mm: float
    """How far artwork may reach past the outline before it is on a neighbour."""


def fit_of(outline: Region, precut: Precut) -> Fit:
    """Tell how an outline lies in the places: upright, or by a quarter turn if better.

    Raises InputError where it is larger than a place either way.
    """
    w, h = precut.size_mm
    place = precut.place
    found = []
    for turn in _TURNS_TRIED:
        turned = _middled(outline, turn)
        x0, y0, x1, y1 = turned.box
        if x1 - x0 <= w + FITS_MM and y1 - y0 <= h + FITS_MM:
            room = precut.gap_mm / 2 + min(w - x1 + x0, h - y1 + y0) / 2
            past = reach_past_mm(place, turned)
            found.append(Fit(turn, apart_mm(place, turned), past, max(0.0, room)))
    if not found:
        x0, y0, x1, y1 = outline.box
        raise refuse(
            precut.file,
            f"its labels are {w:g} x {h:g} mm, and the piece is {x1 - x0:.1f} x"
            f" {y1 - y0:.1f} mm: it does not fit into one.",
            "Take sheets with larger labels, or draw the piece smaller.",
        )
    return min(found, key=lambda fit: (round(fit.apart_mm, 2), fit.turn_deg))


def arranged(outline: Region, precut: Precut, fit: Fit) -> Arrangement:
    """Put an outline in the middle of every place."""
    x0, y0, x1, y1 = outline.box
    to_middle = rotation(fit.turn_deg) @ translation(-(x0 + x1) / 2, -(y0 + y1) / 2)
    places: list[Affine] = []
    for a, b, c, d in precut.boxes:
        places.append(translation((a + c) / 2, (b + d) / 2) @ to_middle)
    return Arrangement(tuple(places), precut.boxes)


def _middled(outline: Region, turn: int) -> Region:
    x0, y0, x1, y1 = outline.box
    at = rotation(turn) @ translation(-(x0 + x1) / 2, -(y0 + y1) / 2)
    return outline.mapped(at)


def first_place(text: str, precut: Precut) -> int:
    """Read which place is the first that is free; give how many are used up before it.

    Places are told as ROW,COLUMN from 1, from the top left. Raises InputError.
    """
    row, _, column = text.partition(",")
    try:
        r, c = int(row), int(column)
    except ValueError:
        r = c = 0
    if not (1 <= r <= precut.rows and 1 <= c <= precut.columns):
        raise refuse(
            "--first-place",
            f"{text!r} is no place of {precut.file}, which has {precut.rows} rows and"
            f" {precut.columns} columns.",
            "Write row and column of the first free label, such as 3,2.",
        )
    return (r - 1) * precut.columns + c - 1


def find_precut(path: Path) -> Precut:
    """Read the table of a pre-cut sheet from its file. Raises InputError."""
    data = bytes_of(path)
    try:
        text = data[:MOST_BYTES].decode()
    except UnicodeDecodeError:
        text = "\0"  # no TOML, and told as such
    return read_precut(text, path.name)


def read_precut(text: str, file: str) -> Precut:
    """Read the table of a pre-cut sheet. Raises InputError with all that is wrong in it."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        do = "Mend that place; docs/labels.md shows a whole table."
        raise InputError(Problem(file, f"this is not TOML: {error}.", do)) from None
    values = Values(file, text)
    values.known_keys("", 0, data, _KEYS)
    paper = None
    try:
        paper = parse_paper(values.text("", 0, data, "paper") or "A4")
    except InputError as error:
        (problem,) = error.problems
        values.problem(values.place("", 0, "paper"), problem.says, problem.do)
    rows, columns = (_count(values, data, key) for key in ("rows", "columns"))
    first, size, pitch = (
        _pair(values, data, key, needed=key != "pitch_mm" or rows * columns != 1)
        for key in ("first_mm", "size_mm", "pitch_mm")
    )
    corner = values.number("", 0, data, "corner_mm", 0, MOST_MM) or 0.0
    if values.problems or paper is None:
        raise InputError(values.problems)
    precut = Precut(file, paper, rows, columns, first, size, pitch, corner)
    _check(values, precut)
    if values.problems:
        raise InputError(values.problems)
    return precut


def _count(values: Values, data: Mapping[str, Any], key: str) -> int:
    found = data.get(key)
    if isinstance(found, int) and not isinstance(found, bool) and 1 <= found <= MOST_ROWS:
        return found
    values.problem(
        values.place("", 0, key),
        f"{key} must be a whole number from 1 to {MOST_ROWS}.",
        f"Count the {key} of labels and write {key} = 7, say.",
    )
    return 0


def _pair(
    values: Values, data: Mapping[str, Any], key: str, *, needed: bool
) -> tuple[float, float]:
    found = data.get(key)
    if found is None and not needed:
        return (0.0, 0.0)
    if isinstance(found, list) and len(found) == 2:
        x, y = found
        right = all(
            isinstance(v, int | float) and not isinstance(v, bool) and 0 <= v <= MOST_MM
            for v in found
        )
        if right and (key != "size_mm" or min(x, y) > 0):
            return (float(x), float(y))
    values.problem(
        values.place("", 0, key),
        f"{key} must be two lengths in mm, across and down.",
        f"Measure them and write {key} = [63, 38], say.",
    )
    return (0.0, 0.0)


def _check(values: Values, precut: Precut) -> None:
    """Tell of places that lie over each other or leave the paper."""
    (w, h), (across, down) = precut.size_mm, precut.pitch_mm
    if (precut.columns > 1 and across < w) or (precut.rows > 1 and down < h):
        values.problem(
            values.place("", 0, "pitch_mm"),
            f"the labels lie over each other: they are {w:g} x {h:g} mm, and the next one"
            f" begins after {across:g} mm across and {down:g} mm down.",
            "Measure from the left edge of a label to that of the next, and likewise the"
            " top edges.",
        )
        return
    right = max(box[2] for box in precut.boxes)
    low = min(box[1] for box in precut.boxes)
    if right > precut.paper.width_mm + FITS_MM or low < -FITS_MM:
        values.problem(
            values.place("", 0, "first_mm"),
            f"the last label ends {right:g} mm from the left and"
            f" {precut.paper.height_mm - low:g} mm from the top, and {precut.paper.name} is"
            f" {precut.paper.width_mm:g} x {precut.paper.height_mm:g} mm.",
            "Measure first_mm, size_mm and pitch_mm again.",
        )
