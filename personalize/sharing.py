"""How the designs of a run share sheets, and what their cut files are called.

apart      each design has sheets of its own: one cut file serves all of them
by guest   designs of one stock share sheets, so that a guest's pieces lie side by side
"""

import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial

from personalize.design.design import Design
from personalize.errors import InputError, refuse
from personalize.finding import Finding, Severity
from personalize.job import together
from personalize.rules import Rule
from personalize.sheet.plan import CUT_STEM, Plan
from personalize.sheet.planning import plan_kits, plan_sheets
from personalize.sheet.rules import SheetRules

MOST_STEM, MOST_STEM_BYTES = 60, 200
"""Letters and bytes of a design's name in the name of its cut file. Most disks take names
of 255 bytes (NAME_MAX), with what stands before and behind it."""
Way = tuple[Plan, ...]
"""Plans for some designs: one for each, or one for all."""


def groups_of(designs: Sequence[Design], rules: SheetRules) -> list[tuple[Design, ...]]:
    """Bundle the designs that may share sheets: those of one stock, unless of labels."""
    if rules.precut is not None:
        return [(design,) for design in designs]
    stocks = dict.fromkeys(design.stock for design in designs)
    return [tuple(one for one in designs if one.stock == stock) for stock in stocks]


def refuse_none_to_share(designs: Sequence[Design], rules: SheetRules) -> None:
    """Raise InputError where pieces are wanted side by side, and no designs can share."""
    if not rules.by_guest or any(len(group) > 1 for group in groups_of(designs, rules)):
        return
    if len(designs) == 1:
        says = "there is one design, and no other to share its sheets."
        raise refuse("--by-guest", says, "Leave it out, or name the other designs too.")
    stocks = ", ".join(f"{one.name}: {one.stock or 'none told'}" for one in designs)
    raise refuse(
        "--by-guest",
        f"no two designs have the same stock ({stocks}), so none share a sheet.",
        "Leave it out, or give two of them the same stock.",
    )


def rules_of(groups: Sequence[object], rules: SheetRules) -> list[SheetRules]:
    """Give each of some groups its rules: the part-used sheet of labels is the first's."""
    return [replace(rules, skipped=0 if i else rules.skipped) for i in range(len(groups))]


@dataclass(frozen=True, slots=True)
class Ways:
    """The ways to lay out designs of one stock. One of them is there at least."""

    apart: Way | None
    by_guest: Way | None
    few: bool
    """Whether the way with the fewest sheets is wanted, whichever that is."""
    asked: bool
    """Whether the maker wants each guest's pieces side by side."""

    def chosen(self, copies: int) -> Way:
        """Take one of the ways for so many copies of messages."""
        way = self._way(copies)
        return tuple(plan.for_kits(kits_of(plan, copies)) for plan in way)

    def _way(self, copies: int) -> Way:
        apart, by_guest = self.apart, self.by_guest
        if apart is None or by_guest is None:
            return apart or by_guest or ()
        fewer = _sheets(by_guest, copies) < _sheets(apart, copies)
        return by_guest if self.asked or (self.few and fewer) else apart

    def told(self, copies: int) -> Iterator[Finding]:
        """Tell where the other way takes less paper, or the fewest sheets were taken."""
        apart, by_guest = self.apart, self.by_guest
        if apart is None or by_guest is None:
            return
        own, shared = _sheets(apart, copies), _sheets(by_guest, copies)
        count = f"{shared} sheet{'s' * (shared != 1)}"
        if self.asked and own < shared:
            says = f"With each guest's pieces side by side it takes {count}, {own} without."
            do = "Leave out --by-guest to save paper."
        elif not self.asked and self.few and shared < own:
            says = f"These rows share {count}; with sheets for each design: {own}."
            do = "Cut them with the cut file of this run, not with one of an earlier."
        elif not self.asked and shared < own:
            says = (
                f"With each guest's pieces side by side it would take {count}, not {own}."
            )
            do = "Write --by-guest to save paper."
        else:
            return
        figures = {"by_guest_sheets": shared, "apart_sheets": own}
        yield Finding(Rule.SHARED_SHEETS, Severity.NOTE, says, do, figures=figures)


def ways_of(
    designs: Sequence[Design], rules: SheetRules, *, few: bool, fully: bool
) -> Ways:
    """Lay out designs of one stock: the way that is asked for, and the other to compare.

    The other is looked for where sheets are made (`fully`), or where they are to be `few`.
    Raises InputError where the way that is asked for has no place on a sheet.
    """
    apart: Way | None = None
    by_guest: Way | None = None
    asked = rules.by_guest and len(designs) > 1
    if asked:
        by_guest = (plan_kits(designs, rules),)
    if fully or not asked:
        apart = tuple(
            together(
                *(partial(plan_sheets, one, rules, fully=fully) for one in designs),
            )
        )
    if not asked and len(designs) > 1 and (few or fully):
        # Where one sheet does not hold all pieces of a guest there is no other way.
        with suppress(InputError):
            by_guest = (plan_kits(designs, rules),)
    return Ways(apart, by_guest, few, asked)


def _sheets(way: Way, copies: int) -> int:
    return sum(plan.sheets_for(kits_of(plan, copies)) for plan in way)


def kits_of(plan: Plan, copies: int) -> int:
    """Count what is dealt out for so many copies of messages."""
    return copies * (plan.design.per_message if len(plan.kit) == 1 else 1)


def cut_stems(names: Sequence[str]) -> list[str]:
    """Name the cut files of designs, without their ends, all unlike.

    >>> cut_stems(["Plant flag"]), cut_stems(["Kit / Leaf", "kit leaf", "Äpfel"])
    (['cut'], ['cut-kit-leaf', 'cut-kit-leaf-2', 'cut-äpfel'])
    """
    if len(names) == 1:
        return [CUT_STEM]
    taken: set[str] = set()
    out = []
    for name in names:
        plain = unicodedata.normalize("NFC", name).casefold()
        spread = _short("".join(c if _in_words(c) else " " for c in plain))
        words = [word for word in spread.split() if any(map(str.isalnum, word))]
        stem = "-".join((CUT_STEM, *(words or ["design"])))
        found, nth = stem, 2
        # The file of a last sheet must not be another design's either.
        while {found, f"{found}-last"} & taken:
            found, nth = f"{stem}-{nth}", nth + 1
        taken |= {found, f"{found}-last"}
        out.append(found)
    return out


def _in_words(character: str) -> bool:
    """Whether a character is a letter or figure, or a mark that belongs to one."""
    return character.isalnum() or unicodedata.category(character).startswith("M")


def _short(words: str) -> str:
    """Cut words that are too long for the name of a file, between two characters."""
    return words[:MOST_STEM].encode()[:MOST_STEM_BYTES].decode(errors="ignore")


def named(plans: Sequence[Plan]) -> list[Plan]:
    """Name the cut files of some plans, all unlike."""
    stems = cut_stems([plan.name for plan in plans])
    return [replace(plan, cut_stem=stem) for plan, stem in zip(plans, stems, strict=True)]
