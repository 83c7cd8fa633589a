"""Machine records: what a maker measured of her printer and her cutter.

A printer draws every length a little too long or too short and puts the page a little
aside; a cutter cuts a little beside the marks that it reads. Both are measured once, on
the ruler sheet (`personalize.sheet.ruler`), and undone in every run that names the
record. Sheet mm are then true on the paper:

    paper = scale * file + shift      what the printer does
    file  = (paper - shift) / scale   what we write, artwork, marks and rules alike
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from personalize.design.toml_values import Values
from personalize.errors import InputError, Problem
from personalize.geometry.affine import IDENTITY, Affine, scaling, translation
from personalize.sheet.askew import Askew
from personalize.sheet.clear import ClearZone, parse_clear
from personalize.sheet.paper import PaperMargins

MOST_SCALE = 0.02
"""Scale past this is not corrected: the printer is set to fit the page. Judgement."""
MOST_SHIFT_MM = 20.0
MOST_MARGIN_MM = 200.0
MOST_TWO_SIDED_MM = 10.0
_KEYS = ("margins_mm", "reach_mm", "print_scale", "print_shift_mm", "cut_shift_mm", "clear")
_BACK_KEYS = ("back_shift_mm", "two_sided_shift_mm")
_ASKEW_KEY = "askew_mm_per_100"
MOST_ASKEW = 10.0


@dataclass(frozen=True, slots=True)
class Correction:
    """What is done to files so that paper comes out true."""

    print: Affine = IDENTITY
    """From sheet mm to the mm written in the print file."""
    cut: Affine = IDENTITY
    """From sheet mm to the mm written in the cut file."""
    back: Affine = IDENTITY
    """From mm of a sheet's back, as it lies when printed, to those written for it."""


@dataclass(frozen=True, slots=True)
class Machine:
    """A maker's printer and cutter."""

    name: str
    margins: PaperMargins | None = None
    """What the printer leaves blank; None where it was not measured."""
    reach: PaperMargins | None = None
    """How near to each edge of the paper the cutter reads and cuts."""
    print_scale: tuple[float, float] = (1.0, 1.0)
    """Printed length through length in the file, across and up."""
    print_shift_mm: tuple[float, float] = (0.0, 0.0)
    """How far right and up of its place the lower left corner of the file is printed."""
    cut_shift_mm: tuple[float, float] = (0.0, 0.0)
    """How far right and up of the print the blade cuts."""
    clear: tuple[ClearZone, ...] = ()
    clear_words: tuple[str, ...] = field(default=(), compare=False)
    back_shift_mm: tuple[float, float] | None = None
    """The same as `print_shift_mm` of the back, as it lies before its maker: right and up.
    None where it was not measured: a printer that is fed alike shifts both sides alike."""
    two_sided_shift_mm: float | None = None
    """How far the print of one side may still be off the other's; None for the usual."""
    askew: Askew | None = None
    """Drift of the print over 100 mm, rightward on the way up, upward on the way right. It
    is told where it matters and not corrected; None where it was not measured."""

    @property
    def correction(self) -> Correction:
        """What undoes its faults."""
        (sx, sy), (dx, dy) = self.print_scale, self.print_shift_mm
        cut_x, cut_y = self.cut_shift_mm
        back_x, back_y = self.back_shift_mm or self.print_shift_mm
        smaller = scaling(1 / sx, 1 / sy)
        return Correction(
            smaller @ translation(-dx, -dy),
            translation(-cut_x, -cut_y),
            smaller @ translation(-back_x, -back_y),
        )


def read_machine(text: str, file: str, name: str) -> Machine:
    """Read a machine record. Raises InputError with all that is wrong in it.

    Parameters
    ----------
    text
        TOML.
    file
        Its bare name, for sentences.
    name
        What the maker calls the machine.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        do = "Mend that place, or measure anew with `personalize ruler`."
        raise InputError(Problem(file, f"this is not TOML: {error}.", do)) from None
    values = Values(file, text)
    values.known_keys("", 0, data, (*_KEYS, *_BACK_KEYS, _ASKEW_KEY))
    low, high = 1 - MOST_SCALE, 1 + MOST_SCALE
    margins = _numbers(values, data, "margins_mm", 4, (0, MOST_MARGIN_MM))
    reach = _numbers(values, data, "reach_mm", 4, (0, MOST_MARGIN_MM))
    scale = _numbers(values, data, "print_scale", 2, (low, high))
    shift = _numbers(values, data, "print_shift_mm", 2, (-MOST_SHIFT_MM, MOST_SHIFT_MM))
    cut = _numbers(values, data, "cut_shift_mm", 2, (-MOST_SHIFT_MM, MOST_SHIFT_MM))
    back = _numbers(values, data, "back_shift_mm", 2, (-MOST_SHIFT_MM, MOST_SHIFT_MM))
    apart = values.number("", 0, data, "two_sided_shift_mm", 0, MOST_TWO_SIDED_MM)
    askew = _numbers(values, data, _ASKEW_KEY, 2, (-MOST_ASKEW, MOST_ASKEW))
    words = _words(values, data, "clear")
    clear = []
    for written in words:
        try:
            clear.append(parse_clear(written, values.place("", 0, "clear")))
        except InputError as error:
            values.problems += error.problems
    if values.problems:
        raise InputError(values.problems)
    return Machine(
        name,
        PaperMargins(*margins) if margins else None,
        PaperMargins(*reach) if reach else None,
        (scale[0], scale[1]) if scale else (1.0, 1.0),
        (shift[0], shift[1]) if shift else (0.0, 0.0),
        (cut[0], cut[1]) if cut else (0.0, 0.0),
        tuple(clear),
        words,
        (back[0], back[1]) if back else None,
        apart,
        (askew[0], askew[1]) if askew else None,
    )


def _numbers(
    values: Values,
    data: Mapping[str, Any],
    key: str,
    count: int,
    limits: tuple[float, float],
) -> tuple[float, ...]:
    found = data.get(key)
    if found is None:
        return ()
    numbers = found if isinstance(found, list) else [found]
    right = len(numbers) == count and all(
        isinstance(n, int | float)
        and not isinstance(n, bool)
        and limits[0] <= n <= limits[1]
        for n in numbers
    )
    if right:
        return tuple(float(n) for n in numbers)
    values.problem(
        values.place("", 0, key),
        f"{key} must be {count} numbers from {limits[0]:g} to {limits[1]:g}.",
        f"Write {key} = [{', '.join([f'{sum(limits) / 2 or 0.5:g}'] * count)}], say.",
    )
    return ()


def _words(values: Values, data: Mapping[str, Any], key: str) -> tuple[str, ...]:
    found = data.get(key, [])
    if isinstance(found, list) and all(isinstance(word, str) for word in found):
        return tuple(found)
    values.problem(
        values.place("", 0, key),
        f"{key} must be a list of words.",
        f'Write {key} = ["..."], each in quotes.',
    )
    return ()


def written(machine: Machine) -> str:
    """Write a record as TOML; `read_machine` gives it back."""
    lines = [f"# Machine record {machine.name}: see docs/machines.md"]
    for key, margins in (("margins_mm", machine.margins), ("reach_mm", machine.reach)):
        if margins is not None:
            four = (margins.top, margins.right, margins.bottom, margins.left)
            lines.append(f"{key} = {_listed(four)}  # top, right, bottom, left")
    for key, pair, says in (
        ("print_scale", machine.print_scale, "across, up: printed / meant"),
        ("print_shift_mm", machine.print_shift_mm, "right, up"),
        ("cut_shift_mm", machine.cut_shift_mm, "right, up, of the print"),
        ("back_shift_mm", machine.back_shift_mm, "right, up, of the back as it lies"),
        (
            _ASKEW_KEY,
            machine.askew,
            "right on the way up, up on the way right: not corrected",
        ),
    ):
        if pair is not None:
            lines.append(f"{key} = {_listed(pair)}  # {says}")
    if machine.two_sided_shift_mm is not None:
        lines.append(f"two_sided_shift_mm = {round(machine.two_sided_shift_mm, 5)}")
    if machine.clear_words:
        zones = ", ".join(f"{words!r}" for words in machine.clear_words)
        lines.append(f"clear = [{zones}]")
    return "\n".join(lines) + "\n"


def _listed(numbers: tuple[float, ...]) -> str:
    return f"[{', '.join(f'{round(n, 5)}' for n in numbers)}]"
