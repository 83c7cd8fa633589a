"""A job: the messages of a table set in a design, with a size for every text.

A run over several designs has a job for each; they share the messages and nothing else.
The first of two passes over the batch. It keeps numbers and words only; glyphs are set
again, one piece at a time, when files are written (`Job.composed`).
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import partial
from typing import Any

from personalize.checks.findings import unused_findings
from personalize.checks.legibility import Read, legibility_findings
from personalize.checks.text_findings import message_findings, size_findings
from personalize.checks.ways_out import WaysOut
from personalize.design.chosen import Chosen, chosen_by
from personalize.design.design import Design, Panel
from personalize.design.style import Colour
from personalize.design.version_choice import other_versions
from personalize.earlier import EarlierSizes
from personalize.errors import InputError, Problem
from personalize.finding import Finding, faulty_rows
from personalize.messages.choose import sort_by
from personalize.messages.doubts import doubts
from personalize.messages.message import heading_findings, messages_of
from personalize.messages.pattern import missing_headings
from personalize.messages.reserved import RESERVED, reserved
from personalize.messages.table import Message, Source, Table
from personalize.messages.words import word_findings
from personalize.type.compose import (
    ComposedText,
    Survey,
    Typesetter,
    is_numbered,
    texts_of,
)
from personalize.type.itemise import collation_key
from personalize.type.sizes import Sizes, SizeSet, Wanted, give_sizes
from personalize.type.spread import Spread, spread_of


@dataclass(frozen=True, slots=True)
class Unit:
    """Pieces that say the same: all copies of a message, or one where they are numbered."""

    message: Message
    copies: tuple[int, ...]
    """Which pieces of the message, from 1: copies times how many belong to each."""
    first: int
    """Number of the first of them in the whole batch, from 1."""
    surveys: tuple[Survey, ...]
    chosen: Chosen
    """Version, colour and picture of this row."""


@dataclass(frozen=True)
class Job:
    """Messages set in a design: ready to be looked at, or to be put on sheets."""

    source: Source
    design: Design
    messages: tuple[Message, ...]
    units: tuple[Unit, ...]
    sizes: Mapping[tuple[int, int, str], float]
    """Size in points by row, first copy and panel."""
    findings: tuple[Finding, ...]
    total: int
    """Pieces in the whole batch."""
    typesetter: Typesetter = field(repr=False)
    size_sets: tuple[SizeSet, ...] = ()
    """What texts shared their sizes, and which these are."""
    spreads: tuple[Spread, ...] = ()
    """How the sizes of each set are spread."""

    @property
    def faulty(self) -> frozenset[int]:
        """Rows that an error stands against."""
        return faulty_rows(self.findings)

    def composed(self, unit: Unit) -> tuple[ComposedText, ...]:
        """Set the texts of a unit at their sizes."""
        return tuple(
            self.typesetter.compose(
                survey, self.sizes[unit.message.row, unit.copies[0], survey.panel]
            )
            for survey in unit.surveys
        )


def prepare(
    table: Table,
    design: Design,
    sort: str | None = None,
    earlier: EarlierSizes | None = None,
    progress: Callable[[int, int], None] = lambda done, total: None,
) -> Job:
    """Read a batch of one design and give every text its size: see `prepare_all`."""
    (job,) = prepare_all(table, (design,), sort, earlier, progress)
    return job


def prepare_all(
    table: Table,
    designs: Sequence[Design],
    sort: str | None = None,
    earlier: EarlierSizes | None = None,
    progress: Callable[[int, int], None] = lambda done, total: None,
) -> tuple[Job, ...]:
    """Read a batch and give every text its size within its own design.

    Messages come in the order of their rows, or of their words under the heading `sort`.
    Sizes are those of an `earlier` batch where it is given. The first job also has what
    was found in the table itself.
    Raises InputError when the table lacks a column that a design or `sort` asks for, or
    a count of copies cannot be read.
    """
    known = together(*(partial(earlier.of, one) for one in designs)) if earlier else []
    messages = _messages(table, designs)
    if sort is not None:
        styles = [panel.style for design in designs for panel in design.panels]
        key = collation_key(styles[0].language if styles else "")
        messages = sort_by(messages, sort, table.headings, key)
    jobs = [
        _job(table, design, designs, messages, known=sizes, progress=progress)
        for design, sizes in zip(designs, known or [{}] * len(designs), strict=True)
    ]
    shared = (*_of_cells(table, designs), *unused_findings(designs, messages))
    jobs[0] = replace(jobs[0], findings=(*jobs[0].findings, *shared))
    return tuple(jobs)


def together(*steps: Callable[[], Any]) -> list[Any]:
    """Do all steps and give what each gave; problems of all are raised as one error."""
    problems: dict[Problem, None] = {}
    values = []
    for step in steps:
        try:
            values.append(step())
        except InputError as error:
            problems |= dict.fromkeys(error.problems)
    if problems:
        raise InputError(problems)
    return values


def _job(
    table: Table,
    design: Design,
    designs: Sequence[Design],
    messages: tuple[Message, ...],
    *,
    known: Mapping[frozenset[str], tuple[float, ...]],
    progress: Callable[[int, int], None],
) -> Job:
    """Set all messages in one design of a run."""
    typesetter = Typesetter(design)
    choose = partial(chosen_by, design=design, folder=table.folder, others=designs)
    units, total = _units(messages, design, typesetter, choose, progress)
    findings = (*_of_units(units, design), *other_versions(design, designs, messages))
    sized = _sized(units, design, known)
    job = Job(
        table.source,
        design,
        messages,
        units,
        sized.sizes,
        (*_unique(findings), *sized.findings),
        total,
        typesetter,
        tuple(sized.sets),
        tuple(sized.spreads),
    )
    hard = legibility_findings(design, _read(job))
    return replace(job, findings=(*job.findings, *hard))


def _of_units(units: Iterable[Unit], design: Design) -> Iterator[Finding]:
    """Give what is found in the words of each piece, and in what its row chooses."""
    ways = WaysOut(design)
    for unit in units:
        if design.panels:
            yield from message_findings(design, unit.message, unit.surveys, ways)
        yield from unit.chosen.findings


def _read(job: Job) -> Iterator[Read]:
    """Give every text that fits, with its size."""
    faulty = job.faulty
    for unit in job.units:
        row = unit.message.row
        for survey in unit.surveys if row not in faulty else ():
            size_pt = job.sizes[row, unit.copies[0], survey.panel]
            set_it = partial(job.typesetter.compose, survey, size_pt)
            yield Read(row, survey, size_pt, unit.chosen, set_it)


def _of_cells(table: Table, designs: Sequence[Design]) -> Iterator[Finding]:
    """Give what was found in the cells that these designs put to use."""
    used = {h for one in designs for panel in one.panels for h in panel.pattern.headings}
    used |= {h for h in table.headings if reserved(h)}
    for finding in (*table.findings, *word_findings(table)):
        if finding.column is None or finding.column in used:
            yield finding
    yield from heading_findings(table)
    yield from doubts(table, used)


def _messages(table: Table, designs: Sequence[Design]) -> tuple[Message, ...]:
    problems: list[Problem] = []
    messages: tuple[Message, ...] = ()
    try:
        messages = messages_of(table)
    except InputError as error:
        problems += error.problems
    told: set[str] = set()
    for design in designs:
        lacking = list(_lacking(table, design))
        problems += [problem for heading, problem in lacking if heading not in told]
        told |= {heading for heading, _ in lacking}
    if problems:
        raise InputError(problems)
    if not any(message.copies for message in messages):
        raise InputError(
            Problem(
                table.source.file,
                "every row has 0 copies, so there is nothing to make.",
                "Give at least one row a copy.",
            )
        )
    return messages


def _lacking(table: Table, design: Design) -> Iterator[tuple[str, Problem]]:
    """Give every heading that a design asks for and the table lacks."""
    headings = {h for h in table.headings if h} | set(RESERVED)
    for panel in design.panels:
        if panel.optional:
            continue
        for name in missing_headings(panel.pattern, headings):
            near = get_close_matches(name, table.headings, 1, 0.6)
            do = (
                f"Rename {near[0]!r} in the spreadsheet, or write {{{near[0]}}} in the"
                " design."
                if near
                else f"Add one, or use one that is there: {', '.join(table.headings)}."
            )
            says = (
                f"there is no column headed {name!r}, which panel {panel.name!r} of"
                f" {design.name} asks for."
            )
            yield name, Problem(table.source.file, says, do)


def _units(
    messages: Sequence[Message],
    design: Design,
    typesetter: Typesetter,
    choose: Callable[[Message], Chosen],
    progress: Callable[[int, int], None],
) -> tuple[tuple[Unit, ...], int]:
    """Survey all texts; the same words on the same panel are looked at once."""
    total = sum(message.copies for message in messages) * design.per_message
    numbered = is_numbered(design)
    known: dict[tuple[str, str, Colour | None], Survey] = {}
    units = []
    number = 1
    for message in messages:
        copies = tuple(range(1, message.copies * design.per_message + 1))
        chosen = choose(message)
        for group in ((c,) for c in copies) if numbered else (copies,) if copies else ():
            surveys = []
            for name, text in texts_of(design, message, number, total).items():
                key = (name, text, chosen.colour)
                if key not in known:
                    (known[key],) = typesetter.survey({name: text}, chosen.colour)
                surveys.append(known[key])
            units.append(Unit(message, group, number, tuple(surveys), chosen))
            number += len(group)
        progress(number - 1, total)
    return tuple(units), total


@dataclass
class _Sized:
    """Sizes of a batch, gathered set by set."""

    sizes: dict[tuple[int, int, str], float] = field(default_factory=dict)
    sets: list[SizeSet] = field(default_factory=list)
    spreads: list[Spread] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


def _sized(
    units: Sequence[Unit],
    design: Design,
    known: Mapping[frozenset[str], tuple[float, ...]],
) -> _Sized:
    """Give sizes to all texts, set by set; `known` are those of an earlier batch."""
    out = _Sized()
    for groups in design.size_sets:
        places = tuple(panel.name for group in groups for panel in group)
        _size_set(out, units, groups, known.get(frozenset(places), ()))
    return out


def _size_set(
    out: _Sized,
    units: Sequence[Unit],
    groups: Sequence[Sequence[Panel]],
    earlier: Sequence[float],
) -> None:
    """Give sizes to the texts of a set; those of one group share one on each piece."""
    rule = groups[0][0].style.sizes
    panels = [panel for group in groups for panel in group]
    places = tuple(panel.name for panel in panels)
    keys, wanted = _wanted(units, groups)
    given: Sizes = give_sizes(rule, wanted, earlier)
    out.sizes |= {
        (unit.message.row, unit.copies[0], panel): size
        for (unit, names), size in zip(keys, given.sizes_pt, strict=True)
        for panel in names
    }
    apart = [
        (one.row, size)
        for one, size in zip(wanted, given.sizes_pt, strict=True)
        if one.fits
    ]
    fitting = replace(given, sizes_pt=tuple(size for _, size in apart))
    rows = [row for row, _ in apart]
    out.findings += _unique(size_findings(panels, rows, fitting, rule))
    out.sets.append(SizeSet(places, rule, given.steps_pt))
    spread = spread_of(places, rule, wanted, given)
    out.spreads += [spread] if spread is not None else []


def _wanted(
    units: Sequence[Unit], groups: Sequence[Sequence[Panel]]
) -> tuple[list[tuple[Unit, list[str]]], list[Wanted]]:
    """Give what shares one size, as unit and panels, with the largest that it can be."""
    keys, wanted = [], []
    for names in [{panel.name for panel in group} for group in groups]:
        for unit in units:
            mine = [survey for survey in unit.surveys if survey.panel in names]
            if mine:
                keys.append((unit, [survey.panel for survey in mine]))
                wanted.append(
                    Wanted(
                        unit.message.row,
                        min(survey.level_pt for survey in mine),
                        max(survey.floor_pt for survey in mine),
                    )
                )
    return keys, wanted


def _unique(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Drop what was told before of another copy or panel of the same message."""
    seen = set()
    for finding in findings:
        key = (finding.rule, finding.row, finding.says, finding.block)
        if key not in seen:
            seen.add(key)
            yield finding
