"""Keys of a design that say how words are set: [type], and the same keys in a panel."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from personalize.design.spec import TypeSpec
from personalize.design.toml_values import Values

SIZE_RULES = ("largest", "same", "steps")
TOWARD_CREASE, AWAY_FROM_CREASE = "toward-crease", "away-from-crease"
ALIGNMENTS = ("centre", "start", "end", TOWARD_CREASE, AWAY_FROM_CREASE)
TYPE_KEYS = tuple(f.name for f in fields(TypeSpec))


def type_spec(values: Values, table: str, nth: int, data: Mapping[str, Any]) -> TypeSpec:
    """Read a table of type keys; in a panel other keys may stand beside them."""
    if table == "type":
        values.known_keys(table, nth, data, TYPE_KEYS)
    lines = values.number(table, nth, data, "max_lines", 1, 40)
    if lines is not None and lines != int(lines):
        values.problem(
            values.place(table, nth, "max_lines"),
            "max_lines must be a whole number.",
            f"Write max_lines = {int(lines)}.",
        )
    return TypeSpec(
        font=values.text(table, nth, data, "font"),
        colour=values.colour(table, nth, data),
        sizes=values.choice(table, nth, data, "sizes", SIZE_RULES),
        max_pt=values.number(table, nth, data, "max_pt", 1, 2000),
        min_pt=values.number(table, nth, data, "min_pt", 1, 2000),
        max_lines=None if lines is None else int(lines),
        width_share=values.number(table, nth, data, "width_share", 0.1, 1),
        align=values.choice(table, nth, data, "align", ALIGNMENTS),
        language=values.text(table, nth, data, "language"),
        size_group=values.text(table, nth, data, "size_group"),
    )
