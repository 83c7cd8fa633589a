"""One sheet of the riskiest pieces, to be printed on plain paper before the real one.

    longest and shortest words, smallest letters, a script that few rows have, letters from
    another font, the palest words, every version, and what a warning stands against

Each reason names the row that shows it most; a row may have several. What room is left
on the sheet is filled with rows spread over the list.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import zip_longest
from pathlib import Path

from personalize.batch import Batch, Designs, begin
from personalize.finding import Severity
from personalize.job import Job, Unit
from personalize.messages.table import Table
from personalize.options import Options, Result, Risk
from personalize.run import make
from personalize.sharing import kits_of
from personalize.type.itemise import scripts_of

PALE = 0.4
"""Luminance from which words may be hard to see on paper. Judgement."""


def trial(
    table: Table, designs: Designs, out: Path, options: Options | None = None
) -> Result:
    """Write one sheet of each design with the riskiest rows into the folder `out`.

    Sizes are those of the whole batch. The result says why these rows.
    Raises InputError where input cannot be used.
    """
    options = options or Options()
    batch = begin(table, designs, options)
    risks = tuple(_within(batch, list(_risks(batch))))
    rows = ",".join(str(row) for row in sorted({risk.row for risk in risks}))
    chosen = replace(options, rows=rows, where=(), leave_out_faulty=True)
    return replace(make(table, designs, out, chosen), risks=risks)


def _risks(batch: Batch) -> Iterator[Risk]:
    """Give rows with their reasons, the most telling first: in turn of each design."""
    several = len(batch.jobs) > 1
    told = [
        [
            replace(r, design=job.design.name if several else None)
            for r in _of_job(batch, job)
        ]
        for job in batch.jobs
    ]
    for turn in zip_longest(*told):
        yield from (risk for risk in turn if risk is not None)


def _of_job(batch: Batch, job: Job) -> Iterator[Risk]:
    units = [unit for unit in job.units if unit.message.row in batch.placed]
    if not units:
        return
    sizes = _least_sizes(job.sizes)
    least = min(units, key=lambda unit: sizes.get(unit.message.row, 1e9))
    if least.message.row in sizes:
        size = sizes[least.message.row]
        yield Risk(least.message.row, f"the smallest letters, {size:.1f} pt")
    for finding in job.findings:
        told = finding.severity is Severity.WARNING
        if told and finding.row is not None and finding.row in batch.placed:
            yield Risk(finding.row, f"a warning: {finding.says}")
    yield Risk(max(units, key=_letters).message.row, "the most letters")
    yield Risk(min(units, key=_letters).message.row, "the fewest letters")
    yield from _scripts(units)
    yield from _borrowed(units)
    yield from _colours(units)
    yield from _versions(units)


def _least_sizes(sizes: Mapping[tuple[int, int, str], float]) -> dict[int, float]:
    least: dict[int, float] = {}
    for (row, _, _), size in sizes.items():
        least[row] = min(size, least.get(row, size))
    return least


def _letters(unit: Unit) -> int:
    return sum(len(survey.text) for survey in unit.surveys)


def _scripts(units: Sequence[Unit]) -> Iterator[Risk]:
    """A row of each script but the one that most rows have, rare ones first."""
    rows: dict[str, list[int]] = {}
    for unit in units:
        for script in {s for survey in unit.surveys for s in scripts_of(survey.text)}:
            rows.setdefault(script, []).append(unit.message.row)
    for script in sorted(rows, key=lambda script: (len(rows[script]), script))[:-1]:
        count = len(rows[script])
        yield Risk(rows[script][0], f"letters in {script}, as in {count} of the rows")


def _borrowed(units: Sequence[Unit]) -> Iterator[Risk]:
    """A row for each font that letters come from as the design's own lacks them."""
    seen: set[str] = set()
    for unit in units:
        fonts = {font for survey in unit.surveys for font in survey.borrowed}
        for font in sorted(fonts - seen):
            seen.add(font)
            yield Risk(unit.message.row, f"letters in the font {font}")


def _colours(units: Sequence[Unit]) -> Iterator[Risk]:
    """The row with the palest words, where any are pale."""
    palest = max(units, key=_luminance)
    if _luminance(palest) > PALE:
        yield Risk(palest.message.row, "the palest words")


def _luminance(unit: Unit) -> float:
    return max((survey.colour.luminance for survey in unit.surveys), default=0.0)


def _versions(units: Sequence[Unit]) -> Iterator[Risk]:
    names = Counter(u.chosen.version.name for u in units if u.chosen.version is not None)
    for name in names if len(names) > 1 else ():
        first = next(u for u in units if u.chosen.version and u.chosen.version.name == name)
        yield Risk(first.message.row, f"the version {name}")


def _within(batch: Batch, risks: Sequence[Risk]) -> Iterator[Risk]:
    """Keep as many rows as one sheet of every design holds, and fill it up."""
    copies = {message.row: message.copies for message in batch.messages}
    plans = [part.plan for part in batch.parts]
    room = [plan.per_sheet - plan.rules.skipped for plan in plans]
    taken: set[int] = set()
    spread = sorted(batch.placed)
    step = max(1, len(spread) // max(room))
    rest = [Risk(row, "one of the rest") for row in (*spread[::step], *spread)]
    for risk in (*risks, *rest):
        if risk.row in taken:
            if risk.why != rest[0].why:
                yield risk
            continue
        needs = [kits_of(plan, copies[risk.row]) for plan in plans]
        if not taken or all(n <= r for n, r in zip(needs, room, strict=True)):
            taken.add(risk.row)
            room = [r - n for n, r in zip(needs, room, strict=True)]
            yield risk
