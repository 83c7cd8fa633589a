"""A batch: the designs of a run, each with its job, its sheets and its share of pieces.

    messages  x  copies  x  designs  =  pieces

Most often every design has sheets of its own, one after the other, numbered through;
those of one stock follow each other. On request designs of one stock share sheets, so
that the pieces of a guest lie side by side. A message that an error stands against in one
design is left out of all of them, so that nobody gets half a kit.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from personalize.backing import Backing, backing_finding, backings_of
from personalize.changes import compared
from personalize.checks.findings import back_findings, design_findings
from personalize.checks.hand_findings import hand_findings
from personalize.checks.precut_findings import precut_findings
from personalize.checks.sheet_findings import refuse_odd_sides, unprinted_back
from personalize.design.design import Design
from personalize.design.fold_findings import fold_findings
from personalize.errors import InputError, Problem, refuse
from personalize.finding import Finding, Severity, worst_first
from personalize.job import Job, prepare_all, together
from personalize.messages.choose import choose_where
from personalize.messages.message import choose_rows
from personalize.messages.table import Message, Source, Table
from personalize.options import Options
from personalize.sharing import (
    Ways,
    cut_stems,
    groups_of,
    kits_of,
    named,
    rules_of,
    ways_of,
)
from personalize.sheet.fill import Among
from personalize.sheet.plan import Member, Plan, joint_name
from personalize.sheet.use import paper_use

Designs = Design | Sequence[Design]


@dataclass(frozen=True)
class Sides:
    """All messages in one design: its front, and its back where that is printed."""

    front: Job
    back: Job | None = None

    @property
    def design(self) -> Design:
        """The design of the front."""
        return self.front.design

    @property
    def jobs(self) -> tuple[Job, ...]:
        """Give the job of each side that is printed."""
        return (self.front,) if self.back is None else (self.front, self.back)


@dataclass(frozen=True)
class Part:
    """Sheets that are laid out alike: of one design, or of several that share them."""

    sides: tuple[Sides, ...]
    """Design by design, as the plan has them."""
    plan: Plan
    count: int
    """Kits that go on sheets: pieces, where they are of one design."""
    among: Among
    backings: tuple[Backing, ...] = ()

    @property
    def jobs(self) -> tuple[Job, ...]:
        """Give the job of each side of each design."""
        return tuple(job for sides in self.sides for job in sides.jobs)

    @property
    def pieces(self) -> int:
        """Pieces that go on sheets."""
        return self.count * len(self.plan.kit)

    @property
    def sheets(self) -> int:
        """How many sheets it takes."""
        return self.plan.sheets_for(self.count)

    def spares_of(self, design: Design) -> int:
        """Count the places of a design on these sheets that no message takes."""
        rules = self.plan.rules
        if not rules.spares or not self.count:
            return 0
        kits = self.plan.per_sheet * self.sheets - rules.skipped - self.count
        return kits * self.plan.kit.count(self.plan.designs.index(design))


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
    told: tuple[Finding, ...] = ()
    """What was found of the run as a whole."""

    @property
    def count(self) -> int:
        """Pieces that go on sheets."""
        return sum(part.pieces for part in self.parts)

    @property
    def sheets(self) -> int:
        """Sheets of all designs."""
        return sum(part.sheets for part in self.parts)

    @property
    def jobs(self) -> tuple[Job, ...]:
        """The job of each side of each design, in the order of their sheets."""
        return tuple(job for part in self.parts for job in part.jobs)

    @property
    def designs(self) -> tuple[Design, ...]:
        """In the order of their sheets."""
        return tuple(design for part in self.parts for design in part.plan.designs)

    @property
    def sides(self) -> tuple[Design, ...]:
        """Designs in the same order, each followed by its back where that is printed."""
        return tuple(job.design for job in self.jobs)

    @property
    def source(self) -> Source:
        """Where the messages come from."""
        return self.jobs[0].source

    @property
    def messages(self) -> tuple[Message, ...]:
        """All messages, whether or not they are placed."""
        return self.jobs[0].messages

    @property
    def units(self) -> int:
        """Pieces that differ, over all designs."""
        return sum(len(job.units) for job in self.jobs)

    @property
    def name(self) -> str:
        """What the whole run is called: by its designs, or by their drawings."""
        return joint_name(self.designs)

    def findings(self) -> tuple[Finding, ...]:
        """Give everything that was found, worst first, with the designs concerned.

        Rows that are not asked for are read for the sizes of the whole set alone: of them
        only errors are told, which stand until they are mended.
        """
        found = list(self.told)
        for part in self.parts:
            for member, sides in zip(part.plan.members, part.sides, strict=True):
                name = None if len(self.sides) == 1 else sides.design.name
                own = _of_front(part, member, sides.front)
                found += [replace(one, design=name) for one in own]
                if sides.back is not None:
                    own = _of_back(part, member, sides.back)
                    found += [replace(one, design=sides.back.design.name) for one in own]
        others = {message.row for message in self.messages} - self.chosen
        error = Severity.ERROR
        told = [one for one in found if one.row not in others or one.severity is error]
        return worst_first(once(told))


def _of_front(part: Part, member: Member, job: Job) -> Iterator[Finding]:
    """Give what was found in a design, its messages and its sheets."""
    design, rules = member.design, part.plan.rules
    yield from job.findings
    yield from design_findings(design, member.bleed_mm, rules.cut_shift_mm)
    yield from hand_findings(design, rules.by_hand, part.plan.spacing_mm)
    if part.backings and rules.backing_mm is not None:
        backing = part.backings[part.plan.designs.index(design)]
        yield backing_finding(backing, rules.backing_mm)
    yield from fold_findings(design.folding)
    yield from precut_findings(part.plan)
    yield from design.told
    yield from unprinted_back(design, rules.flip)


def _of_back(part: Part, member: Member, job: Job) -> Iterator[Finding]:
    shift_mm = part.plan.rules.cut_shift_mm
    yield from job.findings
    yield from back_findings(job.design, member.back_bleed_mm, shift_mm)


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
    rules, few = options.sheets, options.rows is not None or bool(options.where)
    if options.cut.around_mm is not None:
        rules = replace(rules, around_mm=options.cut.around_mm)
    if few:
        rules = replace(rules, spares=False)
    refuse_odd_sides(every, rules)
    backs = [one.back for one in every if one.back is not None and rules.two_sided]
    sides = (*every, *backs)
    groups = groups_of(every, rules)
    jobs, *laid = together(
        lambda: prepare_all(table, sides, options.sort, options.earlier, options.progress),
        *(
            partial(ways_of, group, own, few=few, fully=fully)
            for group, own in zip(groups, rules_of(groups, rules), strict=True)
        ),
    )
    if options.against is not None:
        jobs = [compared(job, options.against) for job in jobs]
    chosen = choose(jobs[0].messages, table.headings, options.rows, options.where)
    if not any(message.copies for message in chosen):
        option = "--rows" if options.rows is not None else "--where"
        raise refuse(option, "the chosen rows have 0 copies.", "Choose others.")
    batch = _batch(jobs, laid, chosen)
    options.planned(
        [paper_use(part.plan, part.count, at_most=not fully) for part in batch.parts]
    )
    return batch


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


def _batch(jobs: Sequence[Job], laid: Sequence[Ways], chosen: Sequence[Message]) -> Batch:
    """Choose the ways to lay out sheets, count their pieces, and number them through."""
    fronts = {job.design.name: job for job in jobs if not job.design.is_back}
    backs = {job.design.name: job for job in jobs if job.design.is_back}
    asked = {message.row: message.copies for message in chosen}
    faulty = frozenset[int]().union(*(job.faulty for job in jobs))
    placed = {row: copies for row, copies in asked.items() if row not in faulty}
    copies, wanted = sum(placed.values()), sum(asked.values())
    plans = named([plan for ways in laid for plan in ways.chosen(copies)])
    counts = [kits_of(plan, copies) for plan in plans]
    sheets = [plan.sheets_for(count) for plan, count in zip(plans, counts, strict=True)]
    designs = [design for plan in plans for design in plan.designs]
    names = [design.name for design in designs]
    stems = dict(zip(names, cut_stems(names), strict=True))
    parts = tuple(
        Part(
            tuple(_sides(design, fronts, backs) for design in plan.designs),
            plan,
            count,
            Among(sum(sheets[:i]), sum(sheets)),
            backings_of(plan, count, stems),
        )
        for i, (plan, count) in enumerate(zip(plans, counts, strict=True))
    )
    out = (wanted - copies) * sum(design.per_message for design in designs)
    told = tuple(finding for ways in laid for finding in ways.told(copies))
    return Batch(parts, frozenset(placed), frozenset(asked), out, told)


def _sides(design: Design, fronts: Mapping[str, Job], backs: Mapping[str, Job]) -> Sides:
    back = backs.get(design.back.name) if design.back is not None else None
    return Sides(fronts[design.name], back)


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
