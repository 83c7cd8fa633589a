"""Read [sheet] and [cut] of a design file: how it asks to be laid out and cut."""

from collections.abc import Mapping
from typing import Any

from personalize.design.toml_values import Values, shown
from personalize.design.wishes import (
    ANY,
    DASHES,
    HALF,
    LINES,
    PILES,
    SHEETS,
    CutWishes,
    SheetWishes,
)

G_M2_RANGE = (20.0, 2000.0)
MOST_NICKS = 99
NICK_MM_RANGE = (0.1, 5.0)
AROUND_MM_RANGE = (0.5, 100.0)


def sheet_wishes(values: Values, data: Mapping[str, Any]) -> SheetWishes:
    """Read [sheet]."""
    table = values.table(data, "sheet")
    values.known_keys("sheet", 0, table, ("paper_g_m2", "turns", "order"))
    return SheetWishes(
        values.number("sheet", 0, table, "paper_g_m2", *G_M2_RANGE),
        values.choice("sheet", 0, table, "turns", (ANY, HALF)),
        values.choice("sheet", 0, table, "order", (SHEETS, PILES)),
    )


def cut_wishes(values: Values, data: Mapping[str, Any]) -> CutWishes:
    """Read [cut]."""
    table = values.table(data, "cut")
    known = ("creases", "perforations", "nicks", "nick_mm", "around_mm")
    values.known_keys("cut", 0, table, known)
    return CutWishes(
        values.choice("cut", 0, table, "creases", (LINES, DASHES)),
        values.choice("cut", 0, table, "perforations", (LINES, DASHES)),
        _nicks(values, table),
        values.number("cut", 0, table, "nick_mm", *NICK_MM_RANGE),
        values.number("cut", 0, table, "around_mm", *AROUND_MM_RANGE),
    )


def _nicks(values: Values, table: Mapping[str, Any]) -> int | None:
    found = table.get("nicks")
    if found is None or (type(found) is int and 0 <= found <= MOST_NICKS):
        return found
    values.problem(
        values.place("cut", 0, "nicks"),
        f"nicks must be a whole number from 0 to {MOST_NICKS}, not {shown(found)}.",
        "Write, for example, nicks = 4.",
    )
    return None
