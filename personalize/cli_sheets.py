"""Options about sheets: paper, margins, marks, clear zones, the maker's machines."""

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from personalize.cli_values import distance_mm
from personalize.design.design import TWO_SIDED_SHIFT_MM
from personalize.design.files import is_file
from personalize.errors import InputError, refuse
from personalize.job import together
from personalize.options import DEFAULT_PAPER
from personalize.settings import find_machine
from personalize.sheet.backs import Flip
from personalize.sheet.clear import ClearZone, parse_clear
from personalize.sheet.deal import Order
from personalize.sheet.hand import ByHand
from personalize.sheet.ink import MarkKind, RegisterMark
from personalize.sheet.machine import MOST_TWO_SIDED_MM, Machine
from personalize.sheet.own_marks import read_marks
from personalize.sheet.paper import (
    LEAST_ROOM_MM,
    Paper,
    PaperMargins,
    parse_margins,
    parse_paper,
)
from personalize.sheet.precut import Precut, find_precut, first_place
from personalize.sheet.rules import SheetRules

MOST_SPACING_MM = 500.0
MOST_BACKING_MM = 50.0


def sheet_rules(given: dict[str, Any]) -> SheetRules:
    """Read what is said of sheets; raises InputError with all that is wrong with it.

    What is said on the command line goes before the machine record.
    """
    paper, margins, spacing, clear, machine = together(
        lambda: parse_paper(given["paper"]),
        lambda: _margins(given["margin"], given["paper"]),
        lambda: _spacing(given["spacing"]),
        lambda: _clear(given["clear"]),
        lambda: _machine(given["machine"]),
    )
    margins = margins or machine.margins or PaperMargins()
    clear = (*clear, *machine.clear)
    marks = given["marks"] != "none" if given["marks"] else not clear
    rules = SheetRules(paper, margins, spacing, marks, reach=machine.reach)
    kind, own = _marks(given["marks"], paper)
    rules = replace(rules, mark_kind=kind, own_marks=own)
    rules = replace(rules, mirror=given["mirror"], face_down=given["face_down"])
    flip = given["two_sided"]
    rules = replace(rules, flip=Flip(flip) if flip is not None else None)
    order = Order(given["order"]) if given["order"] is not None else None
    rules = replace(rules, order=order, spare_lines=given["spare_lines"])
    rules = replace(rules, by_guest=given["by_guest"])
    if given["backing"] is not None:
        rules = replace(rules, backing_mm=_backing(given))
    if given["by_hand"] is not None:
        rules = replace(rules, by_hand=_by_hand(given), marks=False)
    rules = replace(rules, clear=clear, correction=machine.correction)
    rules = replace(rules, askew=machine.askew or (0.0, 0.0))
    _refuse_no_room(rules, given)
    return _labels(rules, given)


def _refuse_no_room(rules: SheetRules, given: dict[str, Any]) -> None:
    """Refuse paper that a machine record leaves nothing of."""
    x0, y0, x1, y1 = rules.all_margins.within(rules.paper)
    if given["machine"] is not None and min(x1 - x0, y1 - y0) < LEAST_ROOM_MM:
        raise refuse(
            "--machine",
            f"{given['machine']} leaves nothing of {rules.paper.name} paper: the printer's"
            " margins and what the cutter does not reach take it all.",
            "Take larger paper, or look at margins_mm and reach_mm of the record.",
        )


def _labels(rules: SheetRules, given: dict[str, Any]) -> SheetRules:
    """Add what is said of labels that are cut already."""
    if given["labels"] is None:
        if given["first_place"] is not None:
            raise refuse(
                "--first-place",
                "it is for sheets of labels that are cut already.",
                "Name their table too, with --labels.",
            )
        return rules
    precut = find_precut(Path(given["labels"]))
    for option, why in _not_with_labels(rules, given, precut):
        raise refuse(option, why, "Leave it out, or --labels.")
    skipped = 0
    if given["first_place"] is not None:
        skipped = first_place(given["first_place"], precut)
    # No spares: labels that no piece takes stay blank, for another day.
    rules = replace(rules, marks=False, spares=False)
    return replace(rules, paper=precut.paper, precut=precut, skipped=skipped)


def _not_with_labels(
    rules: SheetRules, given: dict[str, Any], precut: Precut
) -> Iterator[tuple[str, str]]:
    """Give what cannot be meant for labels that are cut already, and why not."""
    own, asked = precut.paper, rules.paper
    unlike = (own.width_mm, own.height_mm) != (asked.width_mm, asked.height_mm)
    if unlike and asked != DEFAULT_PAPER:
        yield "--paper", f"the labels of {precut.file} are on {own.name} paper."
    if given["marks"] not in {None, "none"}:
        yield "--marks", "a cutting machine looks for marks, and labels are cut already."
    if given["by_hand"] is not None:
        yield "--by-hand", "the labels are cut already."
    if given["spacing"] is not None:
        yield "--spacing", f"{precut.file} says where the labels are."
    if rules.order is Order.PILES:
        yield "--order", "piles are for sheets that are cut as a stack; labels are cut."
    if rules.by_guest:
        yield "--by-guest", "each design goes on labels of its own."
    if rules.face_down:
        yield "--face-down", "the labels are cut already."


def two_sided_shift_mm(given: dict[str, Any]) -> float:
    """Read how far a back may be off its front: the option, the record, or the usual.

    Raises InputError for what is no such distance; a faulty record is told elsewhere.
    """
    text = given["two_sided_shift"]
    if text is None:
        try:
            own = _machine(given["machine"]).two_sided_shift_mm
        except InputError:
            own = None
        return TWO_SIDED_SHIFT_MM if own is None else own
    return distance_mm("--two-sided-shift", text, 0, MOST_TWO_SIDED_MM)


def _backing(given: dict[str, Any]) -> float:
    """Read how much larger backing pieces are. Raises InputError."""
    if given["by_hand"] is not None or given["labels"] is not None:
        raise refuse(
            "--backing",
            "backing pieces are cut by a machine, and nothing else is here.",
            "Leave it out, or --by-hand and --labels.",
        )
    return distance_mm("--backing", given["backing"], 0, MOST_BACKING_MM)


def _by_hand(given: dict[str, Any]) -> ByHand:
    """Read how hands cut. Raises InputError for what only a machine can use."""
    for key, name in (("marks", "--marks"), ("face_down", "--face-down")):
        if given[key] not in (None, False, "none"):
            raise refuse(
                name,
                "this is for a cutting machine, and --by-hand for none.",
                f"Leave out {name} or --by-hand.",
            )
    return ByHand(given["by_hand"])


_KINDS = {"crosses": MarkKind.CROSS_HAIR, "corners": MarkKind.CORNER}


def _marks(text: str | None, paper: Paper) -> tuple[MarkKind, tuple[RegisterMark, ...]]:
    if text is None or text == "none":
        return MarkKind.CROSS_HAIR, ()
    if text in _KINDS:
        return _KINDS[text], ()
    path = Path(text)
    if path.suffix.casefold() != ".svg" or not is_file(path):
        raise refuse(
            "--marks",
            f"{text!r} is no kind of register marks, and no SVG file that is there.",
            f"Use {', '.join(_KINDS)}, none, or a drawing of your own marks.",
        )
    return MarkKind.OWN, read_marks(path, paper)


def _margins(text: str | None, paper: str) -> PaperMargins | None:
    if text is None:
        return None
    try:
        return parse_margins(text, parse_paper(paper))
    except InputError as error:
        if error.problems[0].place != "--paper":
            raise
        # That is told beside; margins are read here for their own mistakes.
        return parse_margins(text, Paper(paper, math.inf, math.inf))


def _spacing(text: str | None) -> float | None:
    return None if text is None else distance_mm("--spacing", text, 0, MOST_SPACING_MM)


def _clear(texts: tuple[str, ...]) -> tuple[ClearZone, ...]:
    return tuple(together(*(lambda text=text: parse_clear(text) for text in texts)))


def _machine(name: str | None) -> Machine:
    return Machine("") if name is None else find_machine(name)
