"""The column of versions, which all designs of a run share.

A row names one version, or several with commas between: each design takes the one that is
its own, and its first where none is.
"""

from collections.abc import Iterator, Sequence
from difflib import get_close_matches

from personalize.design.design import Design
from personalize.finding import Finding, Severity
from personalize.messages.grid import numbers_told, runs_of
from personalize.messages.reserved import VERSION
from personalize.messages.same import compared, names_in
from personalize.messages.table import Message
from personalize.rules import Rule


def version_faults(
    message: Message, design: Design, designs: Sequence[Design]
) -> Iterator[Finding]:
    """Tell what is wrong with the version that a row asks for.

    What no design of the run has is told in the same words of each of them.
    """
    cell = message.version
    if not cell.strip() or not design.versions:
        return
    every = list(designs) or [design]
    if not any(_whole(one, cell) for one in every):
        for part in names_in(cell) or (cell,):
            if not any(_whole(one, part) for one in every):
                yield _unknown(message, part, every)
    own = design.named(cell)
    if len(own) > 1 and not _follows(design, every):
        names = " and ".join(repr(version.name) for version in own)
        yield Finding(
            Rule.TWO_VERSIONS,
            Severity.ERROR,
            f"{design.name} cannot be {names} at once.",
            "Name one version of each design.",
            message.row,
            VERSION,
        )


def other_versions(
    design: Design, designs: Sequence[Design], messages: Sequence[Message]
) -> Iterator[Finding]:
    """Tell which rows name versions of other designs only, and what they get.

    It weighs more where the designs have names in common: they were meant to match.
    """
    if not design.versions or _follows(design, designs):
        return
    rows: dict[str, list[int]] = {}
    for message in messages:
        cell = message.version
        if message.copies and not design.named(cell) and _known(designs, cell):
            rows.setdefault(cell, []).append(message.row)
    own = {compared(version.name) for version in design.versions}
    for cell, numbers in rows.items():
        theirs = [one for one in designs if one.named(cell)]
        alike = any(compared(v.name) in own for one in theirs for v in one.versions)
        runs = [(str(a), str(b)) for a, b in runs_of(sorted(numbers))]
        yield Finding(
            Rule.OTHER_VERSION,
            Severity.WARNING if alike else Severity.NOTE,
            f"{design.name} has no version {cell!r} ({numbers_told('row', runs)}):"
            f" {theirs[0].name} has. It is made as {design.versions[0].name!r}, its first.",
            f"If it should be another, name it too: {cell}, {design.versions[-1].name}.",
            column=VERSION,
            figures={"rows": len(numbers)},
        )


def _follows(design: Design, designs: Sequence[Design]) -> bool:
    """Whether it is a back with the versions of its front, of which all is told."""
    fronts = [one for one in designs if one.back is not None and one.versions]
    return any(one.back is not None and one.back.name == design.name for one in fronts)


def _whole(design: Design, name: str) -> bool:
    return any(compared(version.name) == compared(name) for version in design.versions)


def _known(designs: Sequence[Design], cell: str) -> bool:
    return any(one.named(cell) for one in designs)


def _unknown(message: Message, name: str, designs: Sequence[Design]) -> Finding:
    having = [one for one in designs if one.versions and not _follows(one, designs)]
    names = list(dict.fromkeys(v.name for one in having for v in one.versions))
    near = get_close_matches(name, names, 1, 0.5)
    whose = having[0].name if len(having) == 1 else "No design of this run"
    return Finding(
        Rule.UNKNOWN_VERSION,
        Severity.ERROR,
        f"{whose} has {'no' if len(having) == 1 else 'a'} version {name!r}.",
        f"Did you mean {near[0]!r}?" if near else f"Use one of {', '.join(names)}.",
        message.row,
        VERSION,
    )
