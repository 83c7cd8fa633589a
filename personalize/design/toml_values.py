"""Values of a TOML table, checked one by one; every mistake is told with its line."""

import difflib
import re
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

import tinycss2.color3

from personalize.design.style import Colour
from personalize.errors import Problem
from personalize.messages.same import compared

_Kind = TypeVar("_Kind")

_EXAMPLES = {
    "max_pt": 24,
    "min_pt": 9,
    "max_lines": 3,
    "width_share": 0.9,
    "turn_deg": 90,
    "angle_deg": 90,
    "letter_spacing_em": 0.05,
    "px_per_inch": 72,
    "rim_mm": 0.6,
    "share": 2,
    "middle_deg": 180,
    "most_deg": 200,
    "width_mm": 60,
    "offset_mm": 1.5,
    "tolerance_mm": 0.1,
    "specks_mm2": 3,
    "read_from_m": 2,
    "package_cm2": 60,
}


def parse_colour(text: str) -> Colour | None:
    """Read a solid colour as a web page writes it (CSS Color 3); None where it is none.

    >>> parse_colour("#fff"), parse_colour("transparent"), parse_colour("Bo")
    (Colour(red=1.0, green=1.0, blue=1.0), None, None)
    """
    parsed = tinycss2.color3.parse_color(text)
    if parsed is None or isinstance(parsed, str) or parsed.alpha != 1:
        return None
    # Section 4.2.1: what is outside the range of a device is clipped.
    red, green, blue = (min(1.0, max(0.0, part)) for part in parsed[:3])
    return Colour(red, green, blue)


class Values:
    """Checks values of one file, and gathers what is wrong with them.

    A value stands in the `nth` table (from 0) called `table`; "" is the top of the file.
    """

    def __init__(self, file: str, text: str, within: str = "") -> None:
        """Begin; tables are looked for in the file `text`, below the table `within`."""
        self.file = file
        self._within = within
        self._toml = text
        self.problems: list[Problem] = []

    def place(self, table: str, nth: int = 0, key: str = "") -> str:
        """Say where a key stands: file and line, or the file alone."""
        table = self._full(table)
        line = _line_of(self._toml, table, nth, key)
        if line is None and not table:
            line = _line_of(self._toml, key, 0, "")
        return f"{self.file}, line {line}" if line else self.file

    def problem(self, place: str, says: str, do: str) -> None:
        """Keep a mistake."""
        self.problems.append(Problem(place, says, do))

    def known_keys(
        self, table: str, nth: int, data: Mapping[str, Any], known: tuple[str, ...]
    ) -> None:
        """Tell of every key that is not known."""
        for key in data:
            if key not in known:
                near = difflib.get_close_matches(key, known, 1, 0.6)
                hint = f"Did you mean {near[0]}?" if near else f"Use {', '.join(known)}."
                full = self._full(table)
                inside = f" in {_bracketed(full)}" if full else ""
                self.problem(
                    self.place(table, nth, key), f"there is no key {key}{inside}.", hint
                )

    def _full(self, table: str) -> str:
        return ".".join(part for part in (self._within, table) if part)

    def table(self, data: Mapping[str, Any], name: str) -> Mapping[str, Any]:
        """Give a table, empty where it is missing or no table."""
        value = data.get(name, {})
        if isinstance(value, dict):
            return value
        self.problem(
            self.place("", 0, name),
            f"{name} must be a table.",
            f"Write [{self._full(name)}] on a line of its own, its keys below it.",
        )
        return {}

    def tables(self, data: Mapping[str, Any], name: str) -> list[dict[str, Any]]:
        """Give the tables of one name, none where it is no list of tables."""
        value = data.get(name, [])
        if isinstance(value, list) and all(isinstance(v, dict) for v in value):
            return value
        self.problem(
            self.place("", 0, name),
            f"a {name} must be a table of its own.",
            f"Write [[{self._full(name)}]], with two brackets on each side.",
        )
        return []

    def _of_kind(
        self, kind: type[_Kind], says: str, place: str, value: object, do: str
    ) -> _Kind | None:
        """Give a value of one kind; None where it is missing, or of another, told."""
        if value is None or isinstance(value, kind):
            return value
        self.problem(place, f"{says}, not {shown(value)}.", do)
        return None

    def text(self, table: str, nth: int, data: Mapping[str, Any], key: str) -> str | None:
        """Give words, None where they are missing or no words."""
        value, place = data.get(key), self.place(table, nth, key)
        do = f'Write {key} = "{shown(value)}".'
        return self._of_kind(str, f"{key} must be words in quotes", place, value, do)

    def name(
        self,
        table: str,
        nth: int,
        data: Mapping[str, Any],
        taken: Sequence[str],
        example: str,
    ) -> str:
        """Give the name of one of several tables, unlike all that are taken."""
        name = (self.text(table, nth, data, "name") or "").strip()
        place = self.place(table, nth, "name")
        if not name:
            self.problem(place, f"a {table} has no name.", f'Write name = "{example}".')
        elif compared(name) in map(compared, taken):
            says = f"two {table}s are called {name!r}."
            self.problem(place, says, "Give each its own name.")
        return name

    def choice(
        self,
        table: str,
        nth: int,
        data: Mapping[str, Any],
        key: str,
        choices: tuple[str, ...],
    ) -> str | None:
        """Give one of a few words."""
        value = self.text(table, nth, data, key)
        if value is not None and value not in choices:
            self.problem(
                self.place(table, nth, key),
                f"{key} cannot be {value!r}.",
                f"Use one of {', '.join(choices)}.",
            )
        return value

    def flag(self, table: str, nth: int, data: Mapping[str, Any], key: str) -> bool | None:
        """Give true or false."""
        value, place = data.get(key), self.place(table, nth, key)
        do = f"Write {key} = true, without quotes, or leave it out."
        return self._of_kind(bool, f"{key} must be true or false", place, value, do)

    def number(  # noqa: PLR0917 - where the number stands, and what it may be
        self,
        table: str,
        nth: int,
        data: Mapping[str, Any],
        key: str,
        low: float = 0.0,
        high: float = 10_000.0,
    ) -> float | None:
        """Give a number within limits."""
        value = data.get(key)
        if value is None:
            return None
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if is_number and low <= value <= high:
            return float(value)
        self.problem(
            self.place(table, nth, key),
            f"{key} must be a number from {low:g} to {high:g}, not {shown(value)}.",
            f"Write, for example, {key} = {_EXAMPLES.get(key, 2.5):g}.",
        )
        return None

    def point(
        self, table: str, nth: int, data: Mapping[str, Any], key: str, what: str
    ) -> tuple[float, float] | None:
        """Give a point in mm; `what` it should be is told where it is none."""
        value = data.get(key)
        if value is None:
            return None
        if (
            isinstance(value, list)
            and len(value) == 2
            and all(type(v) in (int, float) and abs(v) <= 1e6 for v in value)
        ):
            return (float(value[0]), float(value[1]))
        self.problem(
            self.place(table, nth, key),
            f"{key} must be {what}, in mm.",
            f"Write, for example, {key} = [30, 20].",
        )
        return None

    def colour(
        self, table: str, nth: int, data: Mapping[str, Any], key: str = "colour"
    ) -> Colour | None:
        """Give a solid colour as a web page writes it."""
        value = self.text(table, nth, data, key)
        if value is None:
            return None
        parsed = parse_colour(value)
        if parsed is None:
            self.problem(
                self.place(table, nth, key),
                f"{value!r} is not a solid colour.",
                'Write it as in a web page, for example "#2d1b3d".',
            )
            return None
        return parsed


def _bracketed(table: str) -> str:
    """Name a table as people write it: a ring stands in a panel or in a block."""
    return f"[{table}]" if not table.endswith(".ring") else "a ring"


def shown(value: object) -> str:
    """Show a value as it stands in the file."""
    return str(value).lower() if isinstance(value, bool) else repr(value)


def _line_of(text: str, table: str, nth: int, key: str) -> int | None:
    """Line (from 1) of a key in the nth table of a name, else of the table's heading."""
    at_table = table == ""
    seen, heading = -1, None
    for number, line in enumerate(text.splitlines(), 1):
        bare = line.strip()
        if bare.startswith("["):
            at_table = bare.split("#")[0].strip().strip("[] ") == table
            seen += at_table
            if at_table and seen == nth:
                heading = number
        here = at_table and (table == "" or seen == nth)
        if here and key and re.match(rf"[\"']?{re.escape(key)}[\"']?\s*=", bare):
            return number
    return heading
