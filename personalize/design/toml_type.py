"""Keys of a design that say how words are set: [type], and the same keys in a panel."""

import re
from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from personalize.design.spec import TypeSpec
from personalize.design.toml_values import Values, shown

SIZE_RULES = ("largest", "same", "steps")
TOWARD_CREASE, AWAY_FROM_CREASE = "toward-crease", "away-from-crease"
ALIGNMENTS = ("centre", "start", "end", TOWARD_CREASE, AWAY_FROM_CREASE)
DIRECTIONS = ("auto", "ltr", "rtl")
CASES = ("as-typed", "upper", "lower")
RIMS = ("none", "line", "soft")
_MOST_AXIS = 32767.0  # OpenType 1.9.1, "Fixed": 16 bits before the point
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
        font_member=_member(values, table, nth, data),
        font_instance=values.text(table, nth, data, "font_instance"),
        font_axes=_axes(values, table, nth, data),
        emoji_font=values.text(table, nth, data, "emoji_font"),
        colour=values.colour(table, nth, data),
        sizes=values.choice(table, nth, data, "sizes", SIZE_RULES),
        max_pt=values.number(table, nth, data, "max_pt", 1, 2000),
        min_pt=values.number(table, nth, data, "min_pt", 1, 2000),
        max_lines=None if lines is None else int(lines),
        width_share=values.number(table, nth, data, "width_share", 0.1, 1),
        align=values.choice(table, nth, data, "align", ALIGNMENTS),
        language=_language(values, table, nth, data),
        direction=values.choice(table, nth, data, "direction", DIRECTIONS),
        case=values.choice(table, nth, data, "case", CASES),
        features=_features(values, table, nth, data),
        letter_spacing_em=values.number(table, nth, data, "letter_spacing_em", -0.1, 1),
        hyphenate=values.flag(table, nth, data, "hyphenate"),
        rim=values.choice(table, nth, data, "rim", RIMS),
        rim_mm=values.number(table, nth, data, "rim_mm", 0.05, 20),
        rim_colour=values.colour(table, nth, data, "rim_colour"),
        size_group=values.text(table, nth, data, "size_group"),
        read_from_m=values.number(table, nth, data, "read_from_m", 0.1, 100),
        script_face=values.flag(table, nth, data, "script_face"),
        allergen=values.flag(table, nth, data, "allergen"),
        package_cm2=values.number(table, nth, data, "package_cm2", 1, 100_000),
    )


_LANGUAGE = re.compile(r"(?:[A-Za-z]{2,3}(?:-[A-Za-z0-9]{1,8})*)?")
"""A BCP 47 tag (RFC 5646, 2.2.1: there is no language of more than three letters yet), or
nothing, for none."""


def _language(values: Values, table: str, nth: int, data: Mapping[str, Any]) -> str | None:
    """Give the tag of a language: what is none would be passed over without a word."""
    told = values.text(table, nth, data, "language")
    if told is None or _LANGUAGE.fullmatch(told):
        return told
    values.problem(
        values.place(table, nth, "language"),
        f"{told!r} is no tag of a language.",
        'Write it short, for example "tr" for Turkish or "sr-Latn" for Serbian in Latin'
        " letters (a BCP 47 tag).",
    )
    return None


_FEATURE = re.compile(r"([+-]?)([A-Za-z0-9]{4})(?:=(\d{1,5}))?")
"""A tag of four letters or figures, on unless said otherwise: "ss01", "-liga", "salt=2"."""


def _features(
    values: Values, table: str, nth: int, data: Mapping[str, Any]
) -> tuple[tuple[str, int], ...] | None:
    """Read OpenType features (OpenType 1.9.1, "Registered features"): tag and value."""
    told = data.get("features")
    if told is None:
        return None
    words = told if isinstance(told, list) else [told]
    out = []
    for word in words:
        match = _FEATURE.fullmatch(word) if isinstance(word, str) else None
        if match is None or (match[1] == "-" and match[3]):
            values.problem(
                values.place(table, nth, "features"),
                f"{shown(word)} is no OpenType feature.",
                'Write tags of four letters or figures, for example "ss01", "-liga" or'
                ' "salt=2".',
            )
        else:
            out.append((match[2], 0 if match[1] == "-" else int(match[3] or 1)))
    return tuple(out)


def _member(
    values: Values, table: str, nth: int, data: Mapping[str, Any]
) -> str | int | None:
    """Give the member of a collection: its name, or its number from 1."""
    value = data.get("font_member")
    if type(value) is int:
        return value
    return values.text(table, nth, data, "font_member")


def _axes(
    values: Values, table: str, nth: int, data: Mapping[str, Any]
) -> tuple[tuple[str, float], ...] | None:
    """Give places on the axes of a variable font."""
    value = data.get("font_axes")
    if value is None:
        return None
    if isinstance(value, dict) and all(
        type(v) in (int, float) and abs(v) <= _MOST_AXIS for v in value.values()
    ):
        return tuple((tag, float(v)) for tag, v in value.items())
    values.problem(
        values.place(table, nth, "font_axes"),
        "font_axes must give a number for each axis.",
        "Write, for example, font_axes = { wght = 650 }.",
    )
    return None
