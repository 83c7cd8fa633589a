"""Keys of a design that say which outlines of its drawing are pieces."""

from collections.abc import Mapping
from typing import Any

from personalize.design.spec import PieceSpec
from personalize.design.toml_values import Values, shown

PIECE_KEYS = ("name", "at", "count", "stock", "words")
MOST_PER_MESSAGE = 100
"""Most pieces of one kind for a message. Judgement: more is a slip of the hand."""


def piece_specs(values: Values, data: Mapping[str, Any]) -> tuple[PieceSpec, ...]:
    """Read every [[piece]]."""
    out: list[PieceSpec] = []
    for nth, table in enumerate(values.tables(data, "piece")):
        values.known_keys("piece", nth, table, PIECE_KEYS)
        name = values.name("piece", nth, table, [other.name for other in out], "leaf")
        out.append(
            PieceSpec(
                values.place("piece", nth, "at"),
                name or f"piece{nth + 1}",
                _point(values, nth, table),
                _count(values, nth, table),
                stock_of(values, "piece", nth, table),
                values.flag("piece", nth, table, "words") is not False,
            )
        )
    return tuple(out)


def stock_of(values: Values, table: str, nth: int, data: Mapping[str, Any]) -> str | None:
    """Give the words for what a piece is printed on, in one line."""
    said = values.text(table, nth, data, "stock")
    if said is None:
        return None
    plain = " ".join(said.split())
    if plain and plain.isprintable() and len(plain) <= 60:
        return plain
    values.problem(
        values.place(table, nth, "stock"),
        "stock must be up to 60 letters in one line.",
        'Write, for example, stock = "white card 220".',
    )
    return None


def _count(values: Values, nth: int, table: Mapping[str, Any]) -> int:
    value = table.get("count", 1)
    if type(value) is int and 1 <= value <= MOST_PER_MESSAGE:
        return value
    values.problem(
        values.place("piece", nth, "count"),
        f"count must be a whole number from 1 to {MOST_PER_MESSAGE}, not {shown(value)}.",
        "Write how many of it belong to one message, such as count = 2.",
    )
    return 1


def _point(
    values: Values, nth: int, table: Mapping[str, Any]
) -> tuple[float, float] | None:
    value = table.get("at")
    if value is None:
        return None
    numbers = isinstance(value, list) and len(value) == 2
    if numbers and all(type(v) in (int, float) and abs(v) <= 1e6 for v in value):
        return (float(value[0]), float(value[1]))
    values.problem(
        values.place("piece", nth, "at"),
        f"at must be a point inside the piece, not {shown(value)}.",
        "Write two numbers in mm from the drawing's top left, such as at = [30, 20].",
    )
    return None
