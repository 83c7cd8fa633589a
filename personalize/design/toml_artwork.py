"""Keys of a design that say what is drawn: its versions, and a picture for each row."""

from collections.abc import Mapping, Sequence
from typing import Any

from personalize.design.spec import ArtworkSpec, PictureSpec, VersionSpec
from personalize.design.toml_file_artwork import file_of
from personalize.design.toml_values import Values

FITS = ("cover", "whole")
"""Whether a picture fills its area and is cut at the edge, or is seen whole inside it."""
WORDS = ("beside", "over")
_DRAWING_KEYS = ("svg", "show", "line_art")
_VERSION_KEYS = ("name", "colour", "file", "page", *_DRAWING_KEYS)
_PICTURE_KEYS = ("area", "box", "fit", "words", "turn_deg")


def version_specs(
    values: Values, data: Mapping[str, Any], artwork: ArtworkSpec | None
) -> tuple[VersionSpec, ...]:
    """Read every [[version]]; `artwork` is what the design is printed with else."""
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
                selectors(values, "version", nth, table),
                values.colour("version", nth, table),
                bool(values.flag("version", nth, table, "line_art")),
                _file(values, nth, table, artwork),
            )
        )
    return tuple(out)


def _file(
    values: Values, nth: int, table: Mapping[str, Any], artwork: ArtworkSpec | None
) -> ArtworkSpec | None:
    """Give the file of a version, told by itself or with the design's own keys."""
    drawn = [key for key in _DRAWING_KEYS if key in table]
    named = [key for key in ("file", "page") if key in table]
    if drawn and named:
        values.problem(
            values.place("version", nth, named[0]),
            f"{named[0]} and {drawn[0]} say two pictures for one version.",
            "Keep one of them.",
        )
    if not named:
        return None if drawn else artwork
    return file_of(values, "version", nth, table, artwork)


def selectors(
    values: Values, name: str, nth: int, table: Mapping[str, Any]
) -> tuple[str, ...]:
    """Read `show` of a table: one selector or several."""
    given = table.get("show", [])
    found = [given] if isinstance(given, str) else given
    if isinstance(found, list) and all(isinstance(s, str) and s.strip() for s in found):
        return tuple(found)
    values.problem(
        values.place(name, nth, "show"),
        "show must be a CSS selector in quotes, or a list of them.",
        'Write, for example, show = "#plum-layer".',
    )
    return ()


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
