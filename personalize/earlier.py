"""Sizes of an earlier batch, from its report.json, so that late guests match."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from personalize.design.design import BLOCK_JOINT, Design
from personalize.earlier_report import read_report
from personalize.errors import InputError, Problem, refuse
from personalize.type.sizes import SizeSet

OPTION = "--sizes-from"


@dataclass(frozen=True, slots=True)
class EarlierSizes:
    """The sets of sizes that a report tells of."""

    file: str
    """Bare name, for sentences."""
    sets: tuple[tuple[str, SizeSet], ...]
    """Name of the design with each set."""

    def of(self, design: Design) -> Mapping[frozenset[str], tuple[float, ...]]:
        """Give the sizes for each set of a design's texts, by the names of their places.

        Raises InputError where the report is of another design, or the design has changed.
        """
        if not design.panels:
            return {}
        told = {frozenset(s.places): s for name, s in self.sets if name == design.name}
        if not told:
            names = ", ".join(sorted({name for name, _ in self.sets})) or "none"
            raise refuse(
                OPTION,
                f"{self.file} has no sizes for {design.name}, only for: {names}.",
                "Give the report of an earlier run of this design.",
            )
        problems = []
        for groups in design.size_sets:
            panels = [panel for group in groups for panel in group]
            places = frozenset(panel.name for panel in panels)
            rule = panels[0].style.sizes
            shown = " and ".join(panel.name for panel in panels)
            if places not in told:
                problems.append(
                    Problem(
                        OPTION,
                        f"{self.file} tells no sizes for {shown} together.",
                        "The design has changed since: leave the option out.",
                    )
                )
            elif told[places].rule != rule:
                problems.append(
                    Problem(
                        OPTION,
                        f"in {self.file} the sizes of {shown} follow the rule"
                        f" {told[places].rule!r}, and now {rule!r}.",
                        "Set it back in the design, or leave the option out.",
                    )
                )
        if problems:
            raise InputError(problems)
        return {places: one.steps_pt for places, one in told.items()}


def read_earlier(path: Path) -> EarlierSizes:
    """Read the sizes of a report.json, or of the one in a folder.

    Raises InputError where there is none, or it is damaged.
    """
    name, report = read_report(path, OPTION)
    if "sizes" not in report:
        raise refuse(
            OPTION,
            f"{name} tells no sizes.",
            "Make the earlier run again with this version.",
        )
    try:
        sets = tuple(map(_set, report["sizes"]))
    except (KeyError, TypeError, ValueError):
        raise refuse(
            OPTION,
            f"the sizes in {name} are damaged.",
            "Give a report.json as it was written.",
        ) from None
    return EarlierSizes(name, sets)


def _set(entry: Mapping[str, Any]) -> tuple[str, SizeSet]:
    places = tuple(
        place["panel"] + (BLOCK_JOINT + place["block"] if place["block"] else "")
        for place in entry["places"]
    )
    steps = tuple(float(size) for size in entry["steps_pt"])
    if not all(0 < size < 1e6 for size in steps):
        raise ValueError("a size is no size")
    return str(entry["design"]), SizeSet(places, str(entry["rule"]), steps)
