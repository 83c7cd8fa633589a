"""A batch: the designs of a run, each with its job, its sheets and its share of pieces.

    messages  x  copies  x  designs  =  pieces

Every design has sheets of its own, one after the other, numbered through; those of one
stock follow each other. A message that an error stands against in one design is left out
of all of them, so that nobody gets half a kit.
"""

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from personalize.backing import backing_findings
from personalize.changes import compared
from personalize.checks.findings import back_findings, design_findings
from personalize.checks.hand_findings import hand_findings
from personalize.checks.precut_findings import precut_findings
from personalize.checks.sheet_findings import refuse_odd_sides, unprinted_back
from personalize.design.design import Design
from personalize.design.fold_findings import fold_findings
from personalize.design.pieces import JOINT
from personalize.errors import InputError, Problem, refuse
from personalize.finding import Finding, worst_first
from personalize.job import Job, prepare_all, together
from personalize.messages.choose import choose_where
from personalize.messages.message import choose_rows
from personalize.messages.table import Message, Source, Table
from personalize.options import Options
from personalize.sheet.fill import CUT_STEM, Among, Plan, SheetRules, plan_sheets
from personalize.sheet.use import paper_use

Designs = Design | Sequence[Design]
MOST_STEM = 60
"""Letters of a design's name in the name of its cut file."""


@dataclass(frozen=True)
class Part:
    """The share of one design in a run."""

    job: Job
    plan: Plan
    count: int
    """Pieces that go on sheets."""
    among: Among
    back: Job | None = None
    """The same messages on the backs of the pieces, where these are printed."""

    @property
    def jobs(self) -> tuple[Job, ...]:
        """Give the job of each side that is printed."""
        return (self.job,) if self.back is None else (self.job, self.back)

    @property
    def design(self) -> Design:
        """Whose share it is."""
        return self.plan.design

    @property
    def sheets(self) -> int:
        """How many sheets it takes."""
        return self.plan.sheets_for(self.count)

    @property
    def spares(self) -> int:
        """Places on its sheets that no message takes."""
        rules = self.plan.rules
        if not rules.spares or not self.count:
            return 0
        return self.plan.per_sheet * self.sheets - rules.skipped - self.count


@dataclass(frozen=True)
class Batch:
    """All designs of a run, and which messages go on sheets."""

    parts: tuple[Part, ...]
    placed: frozenset[int]
    """Rows on the sheets."""
    chosen: frozenset[int]
    """Rows asked for."""
    left_out: int
    """Pieces that an error keeps off the sheets."""

    @property
    def count(self) -> int:
        """Pieces that go on sheets."""
        return sum(part.count for part in self.parts)

    @property
    def sheets(self) -> int:
        """Sheets of all designs."""
        return sum(part.sheets for part in self.parts)

    @property
    def designs(self) -> tuple[Design, ...]:
        """In the order of their sheets."""
        return tuple(part.design for part in self.parts)

    @property
    def sides(self) -> tuple[Design, ...]:
        """Designs in the same order, each followed by its back where that is printed."""
        return tuple(job.design for part in self.parts for job in part.jobs)

    @property
    def source(self) -> Source:
        """Where the messages come from."""
        return self.parts[0].job.source

    @property
    def messages(self) -> tuple[Message, ...]:
        """All messages, whether or not they are placed."""
        return self.parts[0].job.messages

    @property
    def units(self) -> int:
        """Pieces that differ, over all designs."""
        return sum(len(job.units) for part in self.parts for job in part.jobs)

    @property
    def name(self) -> str:
        """What the whole run is called: by its design, or by its drawings."""
        if len(self.parts) == 1:
            return self.parts[0].design.name
        names = [one.name.removesuffix(JOINT + one.piece) for one in self.designs]
        return " and ".join(dict.fromkeys(names))

    def findings(self) -> tuple[Finding, ...]:
        """Give everything that was found, worst first, with the designs concerned."""
        found = []
        for part in self.parts:
            design, rules = part.design, part.plan.rules
            own = [
                *part.job.findings,
                *design_findings(design, part.plan.bleed_mm, rules.cut_shift_mm),
                *hand_findings(design, rules.by_hand),
                *backing_findings(part.plan, part.count),
                *fold_findings(design.folding),
                *precut_findings(part.plan),
                *design.told,
                *unprinted_back(design, part.plan.rules.flip),
            ]
            alone = None if len(self.sides) == 1 else design.name
            found += [replace(one, design=alone) for one in own]
            if part.back is not None:
                back = part.back.design
                own = [
                    *part.back.findings,
                    *back_findings(back, part.plan.back_bleed_mm, rules.cut_shift_mm),
                ]
                found += [replace(one, design=back.name) for one in own]
        return worst_first(once(found))


def once(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Tell what concerns no panel once for all designs."""
    kept: dict[tuple[object, ...], Finding] = {}
    for finding in findings:
        whose = finding.design if finding.panel is not None else None
        place = (finding.row, finding.column, finding.panel, finding.block)
        key = (finding.rule, finding.says, whose, *place)
        if key in kept and kept[key].design != finding.design:
            kept[key] = replace(kept[key], design=None)
        kept.setdefault(key, finding)
    yield from kept.values()


def begin(table: Table, designs: Designs, options: Options, *, fully: bool = True) -> Batch:
    """Give every text its size, and lay out the sheets of every design.

    Raises InputError with all that keeps the table or a design from being used.
    """
    every = _in_order((designs,) if isinstance(designs, Design) else tuple(designs))
    rules = options.sheets
    if options.rows is not None or options.where:
        rules = replace(rules, spares=False)
    refuse_odd_sides(every, rules)
    backs = [one.back for one in every if one.back is not None and rules.two_sided]
    sides = (*every, *backs)
    stems = cut_stems([design.name for design in every])
    jobs, *plans = together(
        lambda: prepare_all(table, sides, options.sort, options.earlier, options.progress),
        *(
            partial(_plan, design, stem, own, fully=fully)
            for design, stem, own in zip(every, stems, _rules_of(every, rules), strict=True)
        ),
    )
    if options.against is not None:
        jobs = [compared(job, options.against) for job in jobs]
    chosen = choose(jobs[0].messages, table.headings, options.rows, options.where)
    batch = _batch(jobs, plans, chosen)
    options.planned(
        [paper_use(part.plan, part.count, at_most=not fully) for part in batch.parts]
    )
    return batch


def _rules_of(designs: Sequence[Design], rules: SheetRules) -> list[SheetRules]:
    """Give each design its rules: the part-used sheet of labels goes to the first."""
    return [replace(rules, skipped=0 if i else rules.skipped) for i in range(len(designs))]


def _plan(design: Design, stem: str, rules: SheetRules, *, fully: bool) -> Plan:
    return replace(plan_sheets(design, rules, fully=fully), cut_stem=stem)


def _in_order(designs: Sequence[Design]) -> tuple[Design, ...]:
    """Put designs of one stock one after the other. Raises InputError for two alike."""
    if not designs:
        raise refuse("--design", "no design is given.", "Give one or more.")
    names = [design.name for design in designs]
    problems = [
        Problem(
            "--design",
            f"two designs are called {name!r} ({' and '.join(_files(designs, name))}).",
            "Give each its own name in its design file, and each design once.",
        )
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]
    if problems:
        raise InputError(problems)
    stocks = list(dict.fromkeys(design.stock for design in designs))
    return tuple(sorted(designs, key=lambda design: stocks.index(design.stock)))


def _files(designs: Sequence[Design], name: str) -> list[str]:
    return [design.file for design in designs if design.name == name]


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
        words = "".join(c if c.isalnum() else " " for c in plain)[:MOST_STEM].split()
        stem = "-".join((CUT_STEM, *(words or ["design"])))
        found, nth = stem, 2
        # The file of a last sheet must not be another design's either.
        while {found, f"{found}-last"} & taken:
            found, nth = f"{stem}-{nth}", nth + 1
        taken |= {found, f"{found}-last"}
        out.append(found)
    return out


def _batch(jobs: Sequence[Job], plans: Sequence[Plan], chosen: Sequence[Message]) -> Batch:
    """Count the pieces of every design, and number their sheets through.

    The jobs of backs stand behind those of all fronts.
    """
    fronts = jobs[: len(plans)]
    backs = {job.design.name: job for job in jobs[len(plans) :]}
    asked = {message.row: message.copies for message in chosen}
    if not sum(asked.values()):
        raise InputError(
            Problem("--rows", "the chosen rows have 0 copies.", "Choose others.")
        )
    faulty = frozenset[int]().union(*(job.faulty for job in jobs))
    placed = {row: copies for row, copies in asked.items() if row not in faulty}
    kits, wanted = sum(placed.values()), sum(asked.values())
    counts = [kits * job.design.per_message for job in fronts]
    sheets = [plan.sheets_for(count) for plan, count in zip(plans, counts, strict=True)]
    parts = tuple(
        Part(
            job,
            plan,
            count,
            Among(sum(sheets[:i]), sum(sheets)),
            backs.get(job.design.back.name) if job.design.back is not None else None,
        )
        for i, (job, plan, count) in enumerate(zip(fronts, plans, counts, strict=True))
    )
    out = (wanted - kits) * sum(job.design.per_message for job in fronts)
    return Batch(parts, frozenset(placed), frozenset(asked), out)


def choose(
    messages: Sequence[Message],
    headings: Sequence[str],
    rows: str | None,
    where: Sequence[str],
) -> tuple[Message, ...]:
    """Choose the messages to put on sheets: by their rows, by their words, or both."""
    chosen = tuple(messages)
    if rows is not None:
        # Rows are counted as they stand in the file, whatever the order of the pieces.
        wanted = choose_rows(sorted(messages, key=lambda message: message.row), rows)
        kept = {message.row for message in wanted}
        chosen = tuple(message for message in chosen if message.row in kept)
    return choose_where(chosen, where, headings) if where else chosen
