"""Read a design's TOML file: every mistake in it as one sentence with file and line."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from personalize.design.design import LineKind, Margins, Stick
from personalize.design.spec import DesignSpec, PanelSpec
from personalize.design.toml_artwork import picture_spec, version_specs
from personalize.design.toml_type import TYPE_KEYS, type_spec
from personalize.design.toml_values import Values
from personalize.errors import InputError, Problem, refuse
from personalize.messages.pattern import Pattern, parse_pattern

USES = ("food", "children", "flame")
"""Words for `use`: each brings its care notes."""
PX_PER_INCH_RANGE = (10.0, 2540.0)
"""From a tenth of a drawing program's to a hundred px to the mm."""
_TOP_KEYS = ("name", "svg", "px_per_inch", "mend", "use")
MOST_MM = 100.0  # margin, bleed or stick: ten times what any paper kit has


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


class _Reader(Values):
    """Reads the tables of a design."""

    def design(self, data: dict[str, Any]) -> DesignSpec:
        known = (*_TOP_KEYS, "lines", "margins", "stick", "type", "panel")
        self.known_keys("", 0, data, (*known, "version", "picture"))
        return DesignSpec(
            place=self.file,
            name=self.text("", 0, data, "name"),
            svg=self.text("", 0, data, "svg"),
            px_per_inch=self.number("", 0, data, "px_per_inch", *PX_PER_INCH_RANGE),
            px_place=self.place("", 0, "px_per_inch"),
            mend=bool(self.flag("", 0, data, "mend")),
            use=self._uses(data),
            lines=self._lines(data),
            lines_place=self.place("lines"),
            margins=self._numbers(data, "margins", Margins),
            stick=self._numbers(data, "stick", Stick) if "stick" in data else None,
            type=type_spec(self, "type", 0, self.table(data, "type")),
            type_place=self.place("type", 0, "font"),
            panels=self._panels(data),
            versions=version_specs(self, data),
            picture=picture_spec(self, data),
        )

    def _uses(self, data: Mapping[str, Any]) -> tuple[str, ...]:
        value = data.get("use", [])
        words = [value] if isinstance(value, str) else value
        if isinstance(words, list) and all(w in USES for w in words):
            return tuple(words)
        self.problem(
            self.place("", 0, "use"),
            f"use cannot be {value!r}.",
            f"Use one or more of {', '.join(USES)}, or leave it out.",
        )
        return ()

    def _lines(self, data: Mapping[str, Any]) -> dict[LineKind, tuple[str, ...]]:
        table = self.table(data, "lines")
        self.known_keys("lines", 0, table, tuple(LineKind))
        out: dict[LineKind, tuple[str, ...]] = {}
        for key, value in table.items():
            selectors = [value] if isinstance(value, str) else value
            if not isinstance(selectors, list) or not all(
                isinstance(s, str) and s.strip() for s in selectors
            ):
                self.problem(
                    self.place("lines", 0, key),
                    f"{key} must be a CSS selector in quotes.",
                    f'Write, for example, {key} = "#edge".',
                )
            elif key in tuple(LineKind):
                out[LineKind(key)] = tuple(selectors)
        return out

    def _numbers(self, data: Mapping[str, Any], table: str, kind: Any) -> Any:
        values = self.table(data, table)
        names = tuple(f.name for f in fields(kind))
        self.known_keys(table, 0, values, names)
        numbers = {
            name: number
            for name in names
            if (number := self.number(table, 0, values, name, 0.0, MOST_MM)) is not None
        }
        if kind is Stick and "diameter_mm" not in numbers:
            if "diameter_mm" not in values and isinstance(data[table], dict):
                self.problem(
                    self.place(table),
                    "the stick has no diameter_mm.",
                    "Write, for example, diameter_mm = 4.",
                )
            return None
        return kind(**numbers)

    def _panels(self, data: Mapping[str, Any]) -> tuple[PanelSpec, ...]:
        value = self.tables(data, "panel")
        panels = tuple(self._panel(nth, panel) for nth, panel in enumerate(value))
        names = [panel.name for panel in panels]
        for nth, panel in enumerate(panels):
            if panel.name in names[:nth]:
                self.problem(
                    self.place("panel", nth, "name"),
                    f"two panels are called {panel.name!r}.",
                    "Give each its own name.",
                )
            others = [name for name in names if name != panel.name]
            if panel.faces is not None and panel.faces not in others:
                self.problem(
                    self.place("panel", nth, "faces"),
                    f"there is no other panel called {panel.faces!r} to face.",
                    f"Use one of {', '.join(others)}." if others else "Leave faces out.",
                )
        return panels

    def _panel(self, nth: int, data: Mapping[str, Any]) -> PanelSpec:
        self.known_keys("panel", nth, data, _PANEL_KEYS + TYPE_KEYS)
        name = self.text("panel", nth, data, "name")
        if not name:
            self.problem(
                self.place("panel", nth), "a panel has no name.", 'Write name = "front".'
            )
        elif "{" in name or "}" in name:
            self.problem(
                self.place("panel", nth, "name"),
                f"the name {name!r} holds a brace.",
                "Leave braces to the text of a panel.",
            )
        return PanelSpec(
            place=self.place("panel", nth, "at"),
            name=name or f"panel{nth + 1}",
            at=self._point(nth, data),
            pattern=self._pattern(nth, data),
            faces=self.text("panel", nth, data, "faces"),
            turn_deg=self.number("panel", nth, data, "turn_deg", -360, 360),
            type_place=self.place("panel", nth, "font"),
            type=type_spec(self, "panel", nth, data),
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
        self.problem(
            self.place("panel", nth, "at"),
            "at must be a point inside the panel, in mm.",
            "Write, for example, at = [30, 20].",
        )
        return None

    def _pattern(self, nth: int, data: Mapping[str, Any]) -> Pattern | None:
        text = self.text("panel", nth, data, "text")
        if text is None:
            return None
        try:
            return parse_pattern(text)
        except ValueError as error:
            self.problem(
                self.place("panel", nth, "text"),
                f"the text {text!r} cannot be read: {error}",
                "A heading stands between { and }; write {{ or }} for a brace itself.",
            )
            return None
