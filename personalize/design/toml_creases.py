"""Read [[crease]] from a design's TOML file: which creases, and how they are folded."""

from collections.abc import Mapping
from typing import Any

from personalize.design.spec import CreaseSpec
from personalize.design.toml_values import Values

CREASE_KEYS = ("lines", "at", "angle_deg", "way")
WAYS = ("mountain", "valley")
"""As seen from the printed side: away from the reader, and toward them."""


def crease_specs(values: Values, data: Mapping[str, Any]) -> tuple[CreaseSpec, ...]:
    """Read every [[crease]]."""
    return tuple(
        _crease(values, nth, table)
        for nth, table in enumerate(values.tables(data, "crease"))
    )


def _crease(values: Values, nth: int, table: Mapping[str, Any]) -> CreaseSpec:
    values.known_keys("crease", nth, table, CREASE_KEYS)
    if "lines" in table and "at" in table:
        values.problem(
            values.place("crease", nth, "at"),
            "this crease is named by its lines and by a point.",
            "Keep one of lines and at.",
        )
    angle = values.number("crease", nth, table, "angle_deg", 0, 180)
    key = "lines" if "lines" in table else "at" if "at" in table else "angle_deg"
    return CreaseSpec(
        values.place("crease", nth, key),
        _lines(values, nth, table),
        values.point("crease", nth, table, "at", "a point on the crease"),
        180.0 if angle is None else angle,
        values.choice("crease", nth, table, "way", WAYS) or WAYS[0],
    )


def _lines(values: Values, nth: int, table: Mapping[str, Any]) -> tuple[str, ...]:
    if "lines" not in table:
        return ()
    given = table["lines"]
    selectors = [given] if isinstance(given, str) else given
    if (
        isinstance(selectors, list)
        and selectors
        and all(isinstance(s, str) and s.strip() for s in selectors)
    ):
        return tuple(selectors)
    values.problem(
        values.place("crease", nth, "lines"),
        "lines must be a CSS selector in quotes, or a list of them.",
        'Write, for example, lines = "#spine".',
    )
    return ()
