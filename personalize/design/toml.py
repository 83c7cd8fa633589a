"""Read a design's TOML file: every mistake in it as one sentence with file and line."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from personalize.design.design import LineKind, Margins, Stick
from personalize.design.reading import AROUND, LYING, SET_UP, VIEWERS
from personalize.design.spec import ArtworkSpec, BackSpec, DesignSpec
from personalize.design.toml_artwork import picture_spec, version_specs
from personalize.design.toml_back import back_spec
from personalize.design.toml_creases import crease_specs
from personalize.design.toml_file_artwork import artwork_spec, extends_edge
from personalize.design.toml_panels import PanelReader
from personalize.design.toml_pieces import piece_specs, stock_of
from personalize.design.toml_type import type_spec
from personalize.design.toml_wishes import cut_wishes, sheet_wishes
from personalize.errors import InputError, Problem, refuse

USES = ("food", "children", "flame", "allergen")
"""Words for `use`: each brings its care notes."""
PX_PER_INCH_RANGE = (10.0, 2540.0)
"""From a tenth of a drawing program's to a hundred px to the mm."""
_TOP_KEYS = ("name", "svg", "px_per_inch", "mend", "use", "set_up", "viewer", "stock")
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


class _Reader(PanelReader):
    """Reads the tables of a design."""

    def design(self, data: dict[str, Any]) -> DesignSpec:
        known = (*_TOP_KEYS, "lines", "margins", "stick", "type", "panel")
        rest = ("crease", "version", "picture", "piece", "artwork", "sheet", "cut", "back")
        self.known_keys("", 0, data, (*known, *rest))
        artwork = artwork_spec(self, data)
        return DesignSpec(
            place=self.file,
            name=" ".join((self.text("", 0, data, "name") or "").split()),
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
            panels=self.panels(data),
            creases=crease_specs(self, data),
            lying=self.choice("", 0, data, "set_up", SET_UP) == LYING,
            viewer=self.choice("", 0, data, "viewer", VIEWERS) or AROUND,
            versions=version_specs(self, data, artwork),
            picture=picture_spec(self, data),
            artwork=artwork,
            stock=stock_of(self, "", 0, data) or "",
            sheet=sheet_wishes(self, data),
            cut=cut_wishes(self, data),
            pieces=piece_specs(self, data),
            extend_edge=extends_edge(self, data),
            back=self._back(data, artwork),
        )

    def _back(
        self, data: Mapping[str, Any], artwork: ArtworkSpec | None
    ) -> BackSpec | None:
        if "back" not in data:
            return None
        table = self.table(data, "back")
        spec, problems = back_spec(self.file, self._toml, table, artwork)
        self.problems += problems
        return spec

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
