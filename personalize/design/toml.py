"""Read a design's TOML file: every mistake in it as one sentence with file and line."""

import difflib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import fields
from typing import Any

import tinycss2.color3

from personalize.design.design import Colour, LineKind, Margins, Stick
from personalize.design.spec import DesignSpec, PanelSpec, TypeSpec
from personalize.errors import InputError, Problem, refuse
from personalize.messages.pattern import Pattern, parse_pattern

USES = ("food", "children", "flame")
"""Words for `use`: each brings its care notes."""
MOST_MM = 100.0  # margin, bleed or stick: ten times what any paper kit has
SIZE_RULES = ("largest", "same", "steps")
ALIGNMENTS = ("centre", "start", "end")


def parse_design_toml(text: str, file: str) -> DesignSpec:
    """Read the text of a TOML file. Raises InputError with all its mistakes."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(_syntax_problem(error, text, file)) from None
    except (ValueError, RecursionError):
        raise refuse(
            file,
            "there is a number far too long in it, or brackets far too deep.",
            "Keep to the keys of a design.",
        ) from None
    reader = _Reader(file, text)
    spec = reader.design(data)
    if reader.problems:
        raise InputError(reader.problems)
    return spec


def _syntax_problem(error: tomllib.TOMLDecodeError, text: str, file: str) -> Problem:
    says = str(error)
    where = re.search(r"\(at line (\d+), column (\d+)\)", says)
    line = where[1] if where else max(1, len(text.splitlines()))  # the end of the file
    plain = re.sub(r"\s*\(at .*\)", "", says)
    return Problem(
        f"{file}, line {line}",
        f"this is not valid TOML: {plain[:1].lower()}{plain[1:]}.",
        "Mend that line: words stand in quotes, numbers without.",
    )


_PANEL_KEYS = ("name", "at", "text", "faces", "turn_deg")
_EXAMPLES = {"max_pt": 24, "min_pt": 9, "max_lines": 3, "width_share": 0.9, "turn_deg": 90}
_TYPE_KEYS = tuple(f.name for f in fields(TypeSpec))


class _Reader:
    """Checks values one by one, and gathers what is wrong with them."""

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.text = text
        self.problems: list[Problem] = []

    def design(self, data: dict[str, Any]) -> DesignSpec:
        known = ("name", "svg", "use", "lines", "margins", "stick", "type", "panel")
        self._known_keys("", 0, data, known)
        return DesignSpec(
            place=self.file,
            name=self._text("", 0, data, "name"),
            svg=self._text("", 0, data, "svg"),
            use=self._uses(data),
            lines=self._lines(data),
            lines_place=self._place("lines"),
            margins=self._numbers(data, "margins", Margins),
            stick=self._numbers(data, "stick", Stick) if "stick" in data else None,
            type=self._type("type", 0, self._table(data, "type")),
            type_place=self._place("type", 0, "font"),
            panels=self._panels(data),
        )

    def _place(self, table: str, nth: int = 0, key: str = "") -> str:
        line = _line_of(self.text, table, nth, key)
        if line is None and not table:
            line = _line_of(self.text, key, 0, "")
        return f"{self.file}, line {line}" if line else self.file

    def _problem(self, place: str, says: str, do: str) -> None:
        self.problems.append(Problem(place, says, do))

    def _known_keys(
        self, table: str, nth: int, data: Mapping[str, Any], known: tuple[str, ...]
    ) -> None:
        for key in data:
            if key not in known:
                near = difflib.get_close_matches(key, known, 1, 0.6)
                hint = f"Did you mean {near[0]}?" if near else f"Use {', '.join(known)}."
                inside = f" in [{table}]" if table else ""
                self._problem(
                    self._place(table, nth, key), f"there is no key {key}{inside}.", hint
                )

    def _table(self, data: Mapping[str, Any], name: str) -> Mapping[str, Any]:
        value = data.get(name, {})
        if isinstance(value, dict):
            return value
        self._problem(
            self._place("", 0, name),
            f"{name} must be a table.",
            f"Write [{name}] on a line of its own, its keys below it.",
        )
        return {}

    def _text(self, table: str, nth: int, data: Mapping[str, Any], key: str) -> str | None:
        value = data.get(key)
        if value is None or isinstance(value, str):
            return value
        self._problem(
            self._place(table, nth, key),
            f"{key} must be words in quotes, not {_shown(value)}.",
            f'Write {key} = "{_shown(value)}".',
        )
        return None

    def _choice(
        self,
        table: str,
        nth: int,
        data: Mapping[str, Any],
        key: str,
        choices: tuple[str, ...],
    ) -> str | None:
        value = self._text(table, nth, data, key)
        if value is not None and value not in choices:
            self._problem(
                self._place(table, nth, key),
                f"{key} cannot be {value!r}.",
                f"Use one of {', '.join(choices)}.",
            )
        return value

    def _number(  # noqa: PLR0917 - where the number stands, and what it may be
        self,
        table: str,
        nth: int,
        data: Mapping[str, Any],
        key: str,
        low: float = 0.0,
        high: float = 10_000.0,
    ) -> float | None:
        value = data.get(key)
        if value is None:
            return None
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if is_number and low <= value <= high:
            return float(value)
        self._problem(
            self._place(table, nth, key),
            f"{key} must be a number from {low:g} to {high:g}, not {_shown(value)}.",
            f"Write, for example, {key} = {_EXAMPLES.get(key, 2.5):g}.",
        )
        return None

    def _uses(self, data: Mapping[str, Any]) -> tuple[str, ...]:
        value = data.get("use", [])
        words = [value] if isinstance(value, str) else value
        if isinstance(words, list) and all(w in USES for w in words):
            return tuple(words)
        self._problem(
            self._place("", 0, "use"),
            f"use cannot be {value!r}.",
            f"Use one or more of {', '.join(USES)}, or leave it out.",
        )
        return ()

    def _lines(self, data: Mapping[str, Any]) -> dict[LineKind, tuple[str, ...]]:
        table = self._table(data, "lines")
        self._known_keys("lines", 0, table, tuple(LineKind))
        out: dict[LineKind, tuple[str, ...]] = {}
        for key, value in table.items():
            selectors = [value] if isinstance(value, str) else value
            if not isinstance(selectors, list) or not all(
                isinstance(s, str) and s.strip() for s in selectors
            ):
                self._problem(
                    self._place("lines", 0, key),
                    f"{key} must be a CSS selector in quotes.",
                    f'Write, for example, {key} = "#edge".',
                )
            elif key in tuple(LineKind):
                out[LineKind(key)] = tuple(selectors)
        return out

    def _numbers(self, data: Mapping[str, Any], table: str, kind: Any) -> Any:
        values = self._table(data, table)
        names = tuple(f.name for f in fields(kind))
        self._known_keys(table, 0, values, names)
        numbers = {
            name: number
            for name in names
            if (number := self._number(table, 0, values, name, 0.0, MOST_MM)) is not None
        }
        if kind is Stick and "diameter_mm" not in numbers:
            if "diameter_mm" not in values and isinstance(data[table], dict):
                self._problem(
                    self._place(table),
                    "the stick has no diameter_mm.",
                    "Write, for example, diameter_mm = 4.",
                )
            return None
        return kind(**numbers)

    def _type(self, table: str, nth: int, data: Mapping[str, Any]) -> TypeSpec:
        if table == "type":
            self._known_keys(table, nth, data, _TYPE_KEYS)
        lines = self._number(table, nth, data, "max_lines", 1, 40)
        if lines is not None and lines != int(lines):
            self._problem(
                self._place(table, nth, "max_lines"),
                "max_lines must be a whole number.",
                f"Write max_lines = {int(lines)}.",
            )
        return TypeSpec(
            font=self._text(table, nth, data, "font"),
            colour=self._colour(table, nth, data),
            sizes=self._choice(table, nth, data, "sizes", SIZE_RULES),
            max_pt=self._number(table, nth, data, "max_pt", 1, 2000),
            min_pt=self._number(table, nth, data, "min_pt", 1, 2000),
            max_lines=None if lines is None else int(lines),
            width_share=self._number(table, nth, data, "width_share", 0.1, 1),
            align=self._choice(table, nth, data, "align", ALIGNMENTS),
            language=self._text(table, nth, data, "language"),
        )

    def _colour(self, table: str, nth: int, data: Mapping[str, Any]) -> Colour | None:
        value = self._text(table, nth, data, "colour")
        if value is None:
            return None
        parsed = tinycss2.color3.parse_color(value)
        if parsed is None or isinstance(parsed, str) or parsed.alpha != 1:
            self._problem(
                self._place(table, nth, "colour"),
                f"{value!r} is not a solid colour.",
                'Write it as in a web page, for example "#2d1b3d".',
            )
            return None
        return Colour(parsed.red, parsed.green, parsed.blue)

    def _panels(self, data: Mapping[str, Any]) -> tuple[PanelSpec, ...]:
        value = data.get("panel", [])
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            self._problem(
                self._place("", 0, "panel"),
                "a panel must be a table of its own.",
                "Write [[panel]], with two brackets on each side.",
            )
            return ()
        panels = tuple(self._panel(nth, panel) for nth, panel in enumerate(value))
        names = [panel.name for panel in panels]
        for nth, panel in enumerate(panels):
            if panel.name in names[:nth]:
                self._problem(
                    self._place("panel", nth, "name"),
                    f"two panels are called {panel.name!r}.",
                    "Give each its own name.",
                )
            others = [name for name in names if name != panel.name]
            if panel.faces is not None and panel.faces not in others:
                self._problem(
                    self._place("panel", nth, "faces"),
                    f"there is no other panel called {panel.faces!r} to face.",
                    f"Use one of {', '.join(others)}." if others else "Leave faces out.",
                )
        return panels

    def _panel(self, nth: int, data: Mapping[str, Any]) -> PanelSpec:
        self._known_keys("panel", nth, data, _PANEL_KEYS + _TYPE_KEYS)
        name = self._text("panel", nth, data, "name")
        if not name:
            self._problem(
                self._place("panel", nth), "a panel has no name.", 'Write name = "front".'
            )
        elif "{" in name or "}" in name:
            self._problem(
                self._place("panel", nth, "name"),
                f"the name {name!r} holds a brace.",
                "Leave braces to the text of a panel.",
            )
        return PanelSpec(
            place=self._place("panel", nth, "at"),
            name=name or f"panel{nth + 1}",
            at=self._point(nth, data),
            pattern=self._pattern(nth, data),
            faces=self._text("panel", nth, data, "faces"),
            turn_deg=self._number("panel", nth, data, "turn_deg", -360, 360),
            type_place=self._place("panel", nth, "font"),
            type=self._type("panel", nth, data),
        )

    def _point(self, nth: int, data: Mapping[str, Any]) -> tuple[float, float] | None:
        value = data.get("at")
        if value is None:
            return None
        if (
            isinstance(value, list)
            and len(value) == 2
            and all(type(v) in (int, float) and abs(v) <= 1e6 for v in value)
        ):
            return (float(value[0]), float(value[1]))
        self._problem(
            self._place("panel", nth, "at"),
            "at must be a point inside the panel, in mm.",
            "Write, for example, at = [30, 20].",
        )
        return None

    def _pattern(self, nth: int, data: Mapping[str, Any]) -> Pattern | None:
        text = self._text("panel", nth, data, "text")
        if text is None:
            return None
        try:
            return parse_pattern(text)
        except ValueError as error:
            self._problem(
                self._place("panel", nth, "text"),
                f"the text {text!r} cannot be read: {error}",
                "A heading stands between { and }; write {{ or }} for a brace itself.",
            )
            return None


def _shown(value: object) -> str:
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
