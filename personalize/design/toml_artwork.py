"""Keys of a design that say what is drawn: its versions, and a picture for each row."""

from collections.abc import Mapping, Sequence
from typing import Any

from personalize.design.spec import PictureSpec, VersionSpec
from personalize.design.toml_values import Values

FITS = ("cover", "whole")
"""Whether a picture fills its area and is cut at the edge, or is seen whole inside it."""
WORDS = ("beside", "over")
_VERSION_KEYS = ("name", "svg", "show", "colour", "line_art")
_ARTWORK_KEYS = ("extend_edge",)
_PICTURE_KEYS = ("area", "box", "fit", "words", "turn_deg")


def version_specs(values: Values, data: Mapping[str, Any]) -> tuple[VersionSpec, ...]:
    """Read every [[version]]."""
    out: list[VersionSpec] = []
    for nth, table in enumerate(values.tables(data, "version")):
        values.known_keys("version", nth, table, _VERSION_KEYS)
        place = values.place("version", nth, "name")
        name = values.name("version", nth, table, [other.name for other in out], "plum")
        out.append(
            VersionSpec(
                place,
                name or f"version {nth + 1}",
                values.text("version", nth, table, "svg"),
                _selectors(values, nth, table),
                values.colour("version", nth, table),
                bool(values.flag("version", nth, table, "line_art")),
            )
        )
    return tuple(out)


def _selectors(values: Values, nth: int, table: Mapping[str, Any]) -> tuple[str, ...]:
    given = table.get("show", [])
    selectors = [given] if isinstance(given, str) else given
    if isinstance(selectors, list) and all(
        isinstance(s, str) and s.strip() for s in selectors
    ):
        return tuple(selectors)
    values.problem(
        values.place("version", nth, "show"),
        "show must be a CSS selector in quotes, or a list of them.",
        'Write, for example, show = "#plum-layer".',
    )
    return ()


def extends_edge(values: Values, data: Mapping[str, Any]) -> bool:
    """Read [artwork]: whether its edge colours are continued into the bleed."""
    table = values.table(data, "artwork")
    values.known_keys("artwork", 0, table, _ARTWORK_KEYS)
    return bool(values.flag("artwork", 0, table, "extend_edge"))


def picture_spec(values: Values, data: Mapping[str, Any]) -> PictureSpec | None:
    """Read [picture]; None where there is none, or it cannot be used."""
    if "picture" not in data:
        return None
    table = values.table(data, "picture")
    values.known_keys("picture", 0, table, _PICTURE_KEYS)
    place = values.place("picture", 0, "area")
    area = values.text("picture", 0, table, "area")
    box = _box(values, table)
    if ("area" in table) == ("box" in table):
        values.problem(
            place,
            "a picture needs either an area or a box.",
            'Write area = "#photo" for a shape of the drawing, or box = [10, 10, 30, 20].',
        )
    return PictureSpec(
        place,
        area,
        box,
        values.choice("picture", 0, table, "fit", FITS) or FITS[0],
        values.choice("picture", 0, table, "words", WORDS) or WORDS[0],
        values.number("picture", 0, table, "turn_deg", -360, 360),
    )


def _box(
    values: Values, table: Mapping[str, Any]
) -> tuple[float, float, float, float] | None:
    given = table.get("box")
    if given is None:
        return None
    if _are_numbers(given, 4) and given[2] >= 1 and given[3] >= 1:
        left, top, width, height = map(float, given)
        return (left, top, width, height)
    values.problem(
        values.place("picture", 0, "box"),
        "box must be four numbers in mm: left, top, width, height (these 1 or more).",
        "Write, for example, box = [10, 10, 30, 20].",
    )
    return None


def _are_numbers(given: object, count: int) -> bool:
    return (
        isinstance(given, Sequence)
        and len(given) == count
        and all(type(v) in (int, float) and abs(v) <= 1e6 for v in given)
    )
