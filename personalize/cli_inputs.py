"""What the command line is given: shared options, and the reading of all inputs."""

import sys
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import click

from personalize.batch import choose
from personalize.cli_sheets import sheet_rules
from personalize.design.design import Design
from personalize.design.load import load_designs
from personalize.design.pieces import refuse_unknown
from personalize.earlier import EarlierSizes, read_earlier
from personalize.errors import refuse
from personalize.job import together
from personalize.messages.message import messages_of
from personalize.messages.read import read_table
from personalize.messages.table import Table
from personalize.messages.words import cleaned
from personalize.options import ALSO, Options
from personalize.result import check_writable


def shared(function: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options that check, proof and make have in common."""
    for decorator in (
        click.argument("messages"),
        click.option(
            "--design",
            "designs",
            required=True,
            multiple=True,
            help="SVG, TOML, or a sample's name; again for each further design.",
        ),
        click.option(
            "--piece",
            "pieces",
            multiple=True,
            help="Only this piece of a drawing that has several.",
        ),
        click.option("--worksheet", help="Worksheet of a workbook that has several."),
        click.option(
            "--encoding", help="Of a text file, such as cp1252 [told by the file]."
        ),
        click.option(
            "--delimiter", help="comma, semicolon, tab or pipe [told by the file]."
        ),
        click.option("--heading-row", type=int, help="Row that holds the headings."),
        click.option(
            "--clean", is_flag=True, help="Mend stray spaces and invisible characters."
        ),
        click.option("--where", multiple=True, help="Only rows with HEADING=VALUE."),
        click.option("--sort", help="Order pieces by the words under this heading."),
        click.option(
            "--paper", default="A4", show_default=True, help="A4, Letter, 8x10in..."
        ),
        click.option("--margin", help="Blank edge in mm: one, or top,right,bottom,left."),
        click.option("--spacing", help="Distance between pieces in mm [twice the bleed]."),
        click.option(
            "--marks",
            type=click.Choice(["corners", "none"]),
            help="Register marks [corners; none where there are clear zones].",
        ),
        click.option(
            "--clear",
            multiple=True,
            help='Part of the sheet to leave free, such as "top left 14x14".',
        ),
        click.option("--machine", help="Record of your printer and cutter, see `ruler`."),
        click.option("--rows", help="Rows to put on sheets, such as 3,5-9,12-."),
        click.option("--sizes-from", help="report.json of an earlier run: use its sizes."),
        click.option("--json", "as_json", is_flag=True, help="Tell the result as JSON."),
    ):
        function = decorator(function)
    return function


def _options(given: dict[str, Any]) -> Options:
    """Read the options; raises InputError with all that is wrong with them."""
    rules, earlier, also = together(
        lambda: sheet_rules(given),
        lambda: _earlier(given["sizes_from"]),
        lambda: _also(given.get("also")),
    )
    return Options(
        rules,
        given["rows"],
        given["where"],
        given["sort"],
        also=also,
        curves=given.get("curves", False),
        earlier=earlier,
        leave_out_faulty=given.get("leave_out_faulty", False),
        proof=not given.get("no_proof", False),
        progress=_progress() if sys.stderr.isatty() else lambda done, total: None,
    )


def _earlier(text: str | None) -> EarlierSizes | None:
    return None if text is None else read_earlier(Path(text))


def _also(text: str | None) -> frozenset[str]:
    kinds = [kind.strip().casefold() for kind in (text or "").split(",") if kind.strip()]
    unknown = [kind for kind in kinds if kind not in ALSO]
    if unknown or (text is not None and not kinds):
        says = f"{(unknown[0] if unknown else text)!r} names no kind of file that is known."
        raise refuse("--also", says, f"Use {', '.join(ALSO)}.")
    return frozenset(kinds)


def _progress() -> Callable[[int, int], None]:
    def show(done: int, total: int) -> None:
        if done == total:
            click.echo("\r" + " " * 40 + "\r", err=True, nl=False)
        elif done % 25 == 0:
            click.echo(f"\rsetting piece {done} of {total}", err=True, nl=False)

    return show


def inputs(given: dict[str, Any]) -> tuple[Table, tuple[Design, ...], Options]:
    """Read everything, so that all problems of all inputs are told at once."""
    table, designs, options, _ = together(
        lambda: _table(given),
        lambda: designs_of(given["designs"], given["pieces"]),
        lambda: _options(given),
        lambda: _out(given.get("out")),
    )
    return table, designs, options


def designs_of(sources: Sequence[str], pieces: Sequence[str]) -> tuple[Design, ...]:
    """Load every design that is named, each piece of a drawing as one of its own.

    Raises InputError with all that is wrong with them, or for a piece that none has.
    """
    loaded = together(*(partial(load_designs, source, pieces) for source in sources))
    designs = tuple(design for some in loaded for design in some)
    refuse_unknown(pieces, [design.piece for design in designs if design.piece])
    return designs


def _table(given: dict[str, Any]) -> Table:
    """Read the spreadsheet, its counts of copies and the choice of rows included."""
    table = read_table(
        given["messages"],
        worksheet=given["worksheet"],
        encoding=given["encoding"],
        delimiter=given["delimiter"],
        heading_row=given["heading_row"],
    )
    if given["clean"]:
        table, _ = cleaned(table)
    choose(messages_of(table), table.headings, given["rows"], given["where"])
    return table


def _out(text: str | None) -> None:
    """Refuse a folder that cannot be replaced."""
    if text is not None:
        check_writable(Path(text))
