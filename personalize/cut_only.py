"""Pieces without words: so many of a design, artwork and die lines alone."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from personalize.design.design import Design
from personalize.errors import refuse
from personalize.messages.table import Row, Source, Table

MOST_PIECES = 100_000
NO_FILE = "(no spreadsheet)"
"""Name of the source in the report."""


def counted_table(count: int) -> Table:
    """Give a table of one row without words, of which there are so many copies.

    Raises InputError where the number cannot be used.
    """
    if not 1 <= count <= MOST_PIECES:
        raise refuse(
            "--count",
            f"{count} is no number of pieces from 1 to {MOST_PIECES}.",
            "Write how many pieces you want, such as 12.",
        )
    source = Source(NO_FILE, decisions=(f"{count} pieces without words",))
    return Table(source, ("copies",), (Row(1, (str(count),)),))


def without_words(design: Design) -> Design:
    """Give a design that asks for no words."""
    back = None if design.back is None else without_words(design.back)
    return replace(design, panels=(), back=back)


def refuse_both(given: Mapping[str, Any]) -> None:
    """Raise InputError unless either a spreadsheet or a count is given.

    `given` are the options of the command line by name.
    """
    messages, count = given["messages"], given.get("count")
    if (messages is None) == (count is None):
        what = "neither a spreadsheet nor" if messages is None else "a spreadsheet and"
        raise refuse(
            "personalize",
            f"there is {what} a --count.",
            "Give a spreadsheet for pieces with words, or make --count 12 for pieces"
            " without. See personalize make --help.",
        )
    asked = [name for name in ("rows", "where", "sort") if given[name]]
    if count is not None and asked:
        raise refuse(
            f"--{asked[0]}",
            "it chooses among the rows of a spreadsheet, and there is none.",
            "Leave it out.",
        )
