"""What the command line is given: shared options, and the reading of all inputs."""

import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import click

from personalize.batch import choose
from personalize.changes import PieceSeen, read_pieces
from personalize.checks.ink_findings import MOST_INK
from personalize.cli_cut import read_also, read_cut_options, refuse_machine_files
from personalize.cli_progress import shown_progress
from personalize.cli_sheets import sheet_rules, two_sided_shift_mm
from personalize.colour_profile import Profile, read_profile
from personalize.cut_files import CutOptions
from personalize.cut_only import counted_table, refuse_both, without_words
from personalize.design.design import TWO_SIDED_SHIFT_MM, Design
from personalize.design.load import load_designs
from personalize.design.pieces import refuse_unknown
from personalize.earlier import EarlierSizes, read_earlier
from personalize.errors import InputError, Problem, refuse
from personalize.job import together
from personalize.messages.message import messages_of
from personalize.messages.read import read_table
from personalize.messages.table import Table
from personalize.messages.words import cleaned
from personalize.options import Options
from personalize.result import check_writable
from personalize.sharing import refuse_none_to_share
from personalize.sheet.backs import Flip
from personalize.sheet.deal import Order
from personalize.sheet.hand import HAND_BLEED_MM, ByHand
from personalize.sheet.rules import SheetRules
from personalize.sheet.use import PaperUse

LEAST_INK, FULL_INK = 100.0, 400.0
"""Percent: one ink in full, and four."""
_INPUT = (
    click.argument("messages", required=False),
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
    click.option("--encoding", help="Of a text file, such as cp1252 [told by the file]."),
    click.option("--delimiter", help="comma, semicolon, tab or pipe [told by the file]."),
    click.option("--heading-row", type=int, help="Row that holds the headings."),
    click.option(
        "--clean", is_flag=True, help="Mend stray spaces and invisible characters."
    ),
    click.option("--where", multiple=True, help="Only rows with HEADING=VALUE."),
    click.option("--sort", help="Order pieces by the words under this heading."),
)
_SHEETS = (
    click.option("--paper", default="A4", show_default=True, help="A4, Letter, 8x10in..."),
    click.option("--margin", help="Blank edge in mm: one, or top,right,bottom,left."),
    click.option("--spacing", help="Distance between pieces in mm [twice the bleed]."),
    click.option(
        "--marks",
        help="Register marks: crosses, corners, none, or your own SVG"
        " [crosses; none where there are clear zones].",
    ),
    click.option(
        "--clear",
        multiple=True,
        help='Part of the sheet to leave free, such as "top left 14x14".',
    ),
    click.option("--mirror", is_flag=True, help="Mirror the pieces: for transfer film."),
    click.option("--face-down", is_flag=True, help="Cut with the print lying down."),
    click.option("--spare-lines", is_flag=True, help="Lines on spares to write on."),
    click.option("--labels", help="Table (TOML) of a sheet whose labels are cut already."),
    click.option("--first-place", help="ROW,COLUMN of the first label that is free."),
    click.option(
        "--order",
        type=click.Choice([order.value for order in Order]),
        help="piles: sheets cut as one stack give piles that are sorted"
        " [as the design asks, else sheets].",
    ),
    click.option(
        "--by-guest",
        is_flag=True,
        help="Several designs of one stock on the same sheets, each guest's pieces side by"
        " side. Otherwise each design has its own sheets.",
    ),
    click.option(
        "--two-sided",
        type=click.Choice([way.value for way in Flip]),
        help="Print backs too, on sheets turned over the upright axis of the page (the long"
        " edge of one that stands) or its level one; none: fronts alone are meant.",
    ),
    click.option(
        "--two-sided-shift",
        help="How far the print of one side may be off the other's, in mm [1.5].",
    ),
    click.option("--backing", help="Cut backing pieces too, so many mm larger all round."),
    click.option(
        "--by-hand",
        type=click.Choice([way.value for way in ByHand]),
        help="No machine: lines for scissors, round the piece or for one cut folded.",
    ),
    click.option("--machine", help="Record of your printer and cutter, see `ruler`."),
    click.option("--rows", help="Rows to put on sheets, such as 3,5-9,12-."),
    click.option("--sizes-from", help="report.json or folder of a run: use its sizes."),
    click.option("--against", help="report.json or folder of a run: tell changes."),
    click.option("--json", "as_json", is_flag=True, help="Tell the result as JSON."),
)


def shared(function: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options that check, proof and make have in common."""
    for decorator in (*_INPUT, *_SHEETS):
        function = decorator(function)
    return function


def _options(given: dict[str, Any]) -> Options:
    """Read the options; raises InputError with all that is wrong with them."""
    rules, earlier, also, cut, against, profile, most_ink = together(
        lambda: sheet_rules(given),
        lambda: _earlier(given["sizes_from"]),
        lambda: read_also(given.get("also")),
        lambda: read_cut_options(given),
        lambda: _against(given["against"]),
        lambda: _profile(given.get("profile")),
        lambda: _most_ink(given.get("most_ink")),
    )
    together(
        lambda: _refuse_at_odds(rules, also, cut),
        lambda: _refuse_idle(given, also),
    )
    return Options(
        rules,
        given["rows"],
        given["where"],
        given["sort"],
        also=also,
        cut=cut,
        profile=profile,
        most_ink=most_ink,
        curves=given.get("curves", False),
        earlier=earlier,
        against=against,
        leave_out_faulty=given.get("leave_out_faulty", False),
        proof=not given.get("no_proof", False),
        progress=shown_progress() if sys.stderr.isatty() else lambda done, total: None,
        planned=_plan_told(given),
    )


_FOR = {
    "profile": ("--profile", ("shop", "ganged")),
    "most_ink": ("--most-ink", ("shop", "ganged")),
    "dxf_curves": ("--dxf-curves", ("dxf",)),
}
"""Options that change nothing but further files of these kinds."""


def _refuse_idle(given: dict[str, Any], also: frozenset[str]) -> None:
    """Refuse options that would change nothing: whoever writes them expects something."""
    problems = [
        Problem(
            option,
            f"it is for {' and '.join(kinds)} files, and none is asked for.",
            f"Write --also {kinds[0]} too, or leave it out.",
        )
        for key, (option, kinds) in _FOR.items()
        if given.get(key) is not None and not also & {*kinds}
    ]
    why = {
        "--labels": given["labels"] is not None,
        "--rows": given["rows"] is not None,
        "--where": bool(given["where"]),
        "--count": given.get("count") is not None,
    }
    without = [option for option, is_there in why.items() if is_there]
    if given["spare_lines"] and without:
        says = f"with {' and '.join(without)} there are no spares to draw lines on."
        problems.append(Problem("--spare-lines", says, "Leave one of them out."))
    if problems:
        raise InputError(problems)


def _refuse_at_odds(rules: SheetRules, also: frozenset[str], cut: CutOptions) -> None:
    """Refuse files that sheets of this kind cannot have."""
    if rules.face_down and "together" in also:
        raise refuse(
            "--face-down",
            "print and cut cannot be in one file where the cut alone is mirrored.",
            "Leave out together in --also.",
        )
    beside = also & {"dxf", "together", "marks"}
    if rules.precut is not None and cut != CutOptions():
        raise refuse(
            "--labels",
            "how a machine cuts is asked for, and labels are cut already.",
            "Leave that out, or --labels.",
        )
    if rules.precut is not None and beside:
        raise refuse(
            "--also",
            f"{sorted(beside)[0]} is for cutting, and labels are cut already.",
            "Leave it out, or --labels.",
        )
    if rules.by_hand is not None:
        refuse_machine_files(also, cut)
    if "marks" in also and not rules.marks:
        raise refuse(
            "--also",
            "marks is for register marks, and these sheets have none.",
            "Leave it out, or write --marks crosses.",
        )


def _earlier(text: str | None) -> EarlierSizes | None:
    return None if text is None else read_earlier(Path(text))


def _against(text: str | None) -> tuple[PieceSeen, ...] | None:
    return None if text is None else read_pieces(Path(text))


def _profile(text: str | None) -> Profile | None:
    return None if text is None else read_profile(Path(text))


def _most_ink(text: str | None) -> float:
    """Read percent of all inks together, with or without the sign."""
    if text is None:
        return MOST_INK
    try:
        value = float(text.strip().removesuffix("%"))
    except ValueError:
        value = 0.0
    if not LEAST_INK <= value <= FULL_INK:
        raise refuse(
            "--most-ink",
            f"{text!r} is no number from {LEAST_INK:g} to {FULL_INK:g}.",
            "Write the percent that your shop takes, such as 300.",
        )
    return value


def _plan_told(given: dict[str, Any]) -> Callable[[Sequence[PaperUse]], None]:
    """Say how much paper a run takes, before anything is written.

    For a check that is a result; else it goes the way of progress.
    """

    def told(uses: Sequence[PaperUse]) -> None:
        for use in uses:
            if use.pieces and not given["as_json"]:
                whose = f"{use.design}: " if len(uses) > 1 else ""
                click.echo(f"{whose}{use}", err="out" in given)

    return told


def inputs(given: dict[str, Any]) -> tuple[Table, tuple[Design, ...], Options]:
    """Read everything, so that all problems of all inputs are told at once."""
    refuse_both(given)
    table, designs, options, _ = together(
        lambda: _table(given),
        lambda: designs_of(
            given["designs"],
            given["pieces"],
            two_sided_shift_mm(given),
            HAND_BLEED_MM[ByHand(given["by_hand"])] if given["by_hand"] else 0.0,
        ),
        lambda: _options(given),
        lambda: _out(given.get("out")),
    )
    refuse_none_to_share(designs, options.sheets)
    if given.get("count") is not None:
        # As many as are wanted, no spares: none is there for a late guest.
        rules = replace(options.sheets, spares=False)
        bare = tuple(map(without_words, designs))
        return table, bare, replace(options, sheets=rules)
    return table, designs, options


def designs_of(
    sources: Sequence[str],
    pieces: Sequence[str],
    shift_mm: float = TWO_SIDED_SHIFT_MM,
    least_bleed_mm: float = 0.0,
) -> tuple[Design, ...]:
    """Load every design that is named, each piece of a drawing as one of its own.

    `shift_mm` says how far the print of a back may be off its front's; what has any bleed
    gets `least_bleed_mm` at least. Raises InputError with all that is wrong with them, or
    for a piece that none has.
    """
    load = partial(load_designs, two_sided_shift_mm=shift_mm, least_bleed_mm=least_bleed_mm)
    loaded = together(*(partial(load, source, pieces) for source in sources))
    designs = tuple(design for some in loaded for design in some)
    refuse_unknown(pieces, [design.piece for design in designs if design.piece])
    return designs


def _table(given: dict[str, Any]) -> Table:
    """Read the spreadsheet, its counts of copies and the choice of rows included."""
    if given.get("count") is not None:
        return counted_table(given["count"])
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
