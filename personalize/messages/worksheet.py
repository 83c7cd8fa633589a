"""From the cells of a worksheet, as they are seen, to a table.

All kinds of workbook come through here, so that hidden rows, merged cells and cells whose
look cannot be told are treated alike in each.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from personalize.errors import InputError, Problem, refuse
from personalize.finding import Figure, Finding, Severity
from personalize.messages.grid import (
    MOST_LETTERS,
    Record,
    column_letters,
    filled,
    numbers_told,
    runs_of,
    table_of,
)
from personalize.messages.heading import heading_at
from personalize.messages.package import DamagedError, TooLargeError
from personalize.messages.seen import Fault, Seen
from personalize.messages.table import ReadOptions, Source, Table
from personalize.rules import Rule


@dataclass(frozen=True, slots=True)
class SeenCell:
    """One cell that holds something; `row` counts from 1, `column` from 0."""

    row: int
    column: int
    seen: Seen


@dataclass(frozen=True, slots=True)
class Area:
    """A block of cells; rows from 1, columns from 0, both ends included."""

    top: int
    left: int
    bottom: int
    right: int

    @property
    def name(self) -> str:
        """Name it as a spreadsheet program does, such as ``A2:B3``."""
        return f"{cell_name(self.top, self.left)}:{cell_name(self.bottom, self.right)}"


@dataclass(frozen=True, slots=True)
class Worksheet:
    """What is seen of a worksheet, and what in it is hidden or merged."""

    title: str
    cells: tuple[SeenCell, ...]
    """Row by row, from the left."""
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    """Of the columns that hold something, those that are hidden."""
    merged: tuple[Area, ...] = ()
    reformatted: tuple[Area, ...] = ()
    """Areas in which conditions may change how a number looks."""


_Cells = dict[int, dict[int, Seen]]

_MOST_CELLS = 8_000_000
"""Most cells that the rows have room for, filled or not. Judgement: a list of 100 000
names with 80 columns; a cell that somebody touched far to the right makes rows long."""
_SHOW_HEADING = (
    "Show the row, or give --heading-row with the number of the row of headings."
)
_ENGLISH = (
    "Decimal points, commas between thousands, slashes in dates, names of months and days, "
    "TRUE and FALSE are printed as in English, because a workbook does not tell the "
    "language of the computer it is seen on."
)


def cell_name(row: int, column: int) -> str:
    """Name a cell as a spreadsheet program does.

    >>> cell_name(2, 0)
    'A2'
    """
    return f"{column_letters(column)}{row}"


def within(columns: Iterable[int], runs: Iterable[tuple[int, int]]) -> frozenset[int]:
    """Find the columns that lie in one of the runs, given by first and last.

    >>> sorted(within([0, 3, 9], [(2, 4), (3, 3), (20, 30)]))
    [3]
    """
    found: set[int] = set()
    waiting = sorted(runs, reverse=True)
    reach = -1
    for column in sorted(columns):
        while waiting and waiting[-1][0] <= column:
            reach = max(reach, waiting.pop()[1])
        if column <= reach:
            found.add(column)
    return frozenset(found)


def table_from(sheet: Worksheet, file: str, options: ReadOptions) -> Table:
    """Make a table of a worksheet.

    Hidden rows are left out and told; hidden columns are read and told. What lies under
    merged cells is left out. A cell whose look cannot be told keeps the best text there
    is, with a finding of severity error that keeps its row out of print.

    Raises
    ------
    InputError
        The headings cannot be read or do not suit the rows, or a cell is far too long.
    """
    rows = _by_row(sheet.cells)
    covered = _without_covered(rows, sheet.merged)
    hidden = _hidden(rows, sheet, options.heading_row, file)
    rows = {number: cells for number, cells in rows.items() if number not in hidden}
    source = Source(file, worksheet=sheet.title, decisions=(*_decisions(sheet, hidden),))
    problems = [*_too_long(rows, file)]
    records, heading_row = _records(rows, options.heading_row)
    try:
        table = table_of(source, records, heading_row, whole=False)
    except InputError as error:
        problems += [*_as_problems(rows, file), *_hidden_problem(hidden, file)]
        raise InputError([*problems, *error.problems]) from error
    shown = {n: cells for n, cells in rows.items() if n >= (heading_row or 1)}
    heading = shown.get(heading_row or 1, {})
    headings = {c: s.text.strip() for c, s in heading.items() if s.text.strip()}
    problems += _as_problems({heading_row or 1: heading}, file)
    if problems:
        raise InputError(problems)
    findings = (
        *_hidden_finding(hidden),
        *_merged_findings(covered, shown, headings),
        *_reformatted_findings(sheet.reformatted, shown, headings),
        *_cell_findings(shown, headings),
    )
    decisions = [*table.source.decisions, *_blank_rows(records, hidden)]
    if any(seen.english for cells in shown.values() for seen in cells.values()):
        decisions.append(_ENGLISH)
    source = replace(table.source, decisions=tuple(decisions))
    return replace(table, source=source, findings=findings)


def _by_row(cells: Sequence[SeenCell]) -> _Cells:
    rows: _Cells = {}
    for cell in cells:
        rows.setdefault(cell.row, {})[cell.column] = cell.seen
    return rows


def _without_covered(rows: _Cells, merged: Sequence[Area]) -> dict[Area, list[str]]:
    """Take out what lies under merged cells, and name it for each area."""
    numbers = sorted(rows)
    used = sorted({column for cells in rows.values() for column in cells})
    left = len(numbers) * len(used)
    covered: dict[Area, list[str]] = {}
    for area in merged:
        inside = numbers[
            bisect_left(numbers, area.top) : bisect_right(numbers, area.bottom)
        ]
        columns = used[bisect_left(used, area.left) : bisect_right(used, area.right)]
        left -= len(inside) * len(columns)
        if left < 0:
            raise DamagedError("its merged cells lie over each other")
        places = ((row, column) for row in inside for column in columns)
        covered[area] = [
            cell_name(row, column)
            for row, column in places
            if (row, column) != (area.top, area.left)
            and rows[row].pop(column, None) is not None
        ]
    for number in [number for number, cells in rows.items() if not cells]:
        del rows[number]
    return covered


def _hidden(
    rows: _Cells, sheet: Worksheet, heading_row: int | None, file: str
) -> list[int]:
    """Find the filled rows that are hidden and will be left out."""
    filled = {n for n, cells in rows.items() if any(s.text.strip() for s in cells.values())}
    hidden = sorted(filled & sheet.hidden_rows)
    if heading_row is not None:
        return [number for number in hidden if number != heading_row]
    if hidden and hidden[0] == min(filled):
        raise refuse(
            f"{file}, row {hidden[0]}",
            "the first row with words in it is hidden, and may hold the headings.",
            _SHOW_HEADING,
        )
    return hidden


def _decisions(sheet: Worksheet, hidden: Sequence[int]) -> Iterator[str]:
    if hidden:
        yield f"{_rows_told(hidden)} {_left_out(hidden)}."
    columns = sorted(sheet.hidden_columns)
    if columns:
        runs = [(column_letters(a), column_letters(b)) for a, b in runs_of(columns)]
        are = "is" if len(columns) == 1 else "are"
        told = numbers_told("column", runs)
        yield f"{told[0].upper()}{told[1:]} {are} hidden, and {are} read like the others."


def _blank_rows(records: Sequence[Record], hidden: Sequence[int]) -> Iterator[str]:
    """Tell which rows above the last one are blank, and not merely hidden."""
    filled_rows = {number for number, _ in records} | set(hidden)
    last = records[-1][0]
    blank = [n for n in range(1, last) if n not in filled_rows]
    if blank:
        are, make = ("is", "makes") if len(blank) == 1 else ("are", "make")
        yield f"{_rows_told(blank)} {are} blank and {make} no piece."


def _rows_told(hidden: Sequence[int]) -> str:
    told = numbers_told("row", [(str(a), str(b)) for a, b in runs_of(hidden)])
    return f"{told[0].upper()}{told[1:]}"


def _left_out(hidden: Sequence[int]) -> str:
    are = "is" if len(hidden) == 1 else "are"
    return f"{are} hidden or filtered away, and {are} left out"


def _hidden_problem(hidden: Sequence[int], file: str) -> Iterator[Problem]:
    if hidden:
        says = f"{_rows_told(hidden).lower()} {_left_out(hidden)}."
        yield Problem(file, says, "Show what is to be printed.")


def _hidden_finding(hidden: Sequence[int]) -> Iterator[Finding]:
    if hidden:
        yield Finding(
            Rule.HIDDEN_ROWS,
            Severity.WARNING,
            f"{_rows_told(hidden)} {_left_out(hidden)}.",
            "Show the rows that are to be printed, or delete them.",
            figures={"rows": len(hidden)},
        )


def _records(rows: _Cells, heading_row: int | None) -> tuple[list[Record], int | None]:
    """Lay the cells out; give the row of headings too, unless nothing is in the rows.

    The heading reaches as far as any row, and each row as far as the last heading: a
    worksheet has no row that is too short, as a CSV file has, and words beyond the last
    heading are told as a column without one.
    """
    reaches = {
        number: 1 + max((c for c, seen in cells.items() if seen.text), default=-1)
        for number, cells in rows.items()
    }
    _not_too_wide(sum(reaches.values()))
    records = filled([(n, _laid(rows[n], reach)) for n, reach in reaches.items() if reach])
    if not records:
        return [], heading_row
    if heading_row is None:
        heading_row = records[heading_at(records)][0]
    heading = rows.get(heading_row, {})
    least = 1 + max((c for c, seen in heading.items() if seen.text.strip()), default=-1)
    _not_too_wide(least * len(records))
    widths = {heading_row: max(reaches.values())}
    return [
        (n, _laid(rows[n], widths.get(n, max(least, len(cells))))) for n, cells in records
    ], heading_row


def _laid(cells: Mapping[int, Seen], width: int) -> list[str]:
    return [cells[column].text if column in cells else "" for column in range(width)]


def _not_too_wide(cells: int) -> None:
    if cells > _MOST_CELLS:
        raise TooLargeError(f"its rows have room for more than {_MOST_CELLS:,} cells")


def _too_long(rows: _Cells, file: str) -> Iterator[Problem]:
    for row, cells in rows.items():
        for column, seen in cells.items():
            if len(seen.text) > MOST_LETTERS:
                yield Problem(
                    f"{file}, cell {cell_name(row, column)}",
                    f"the cell holds {len(seen.text):,} letters; no program lets one hold "
                    f"more than {MOST_LETTERS:,}.",
                    "Shorten it.",
                )


def _as_problems(rows: _Cells, file: str) -> Iterator[Problem]:
    """Tell the cells that cannot be read where nothing can be printed at all."""
    for row, cells in rows.items():
        for column, seen in cells.items():
            if seen.fault is not None and seen.fault.severity is Severity.ERROR:
                place = f"{file}, cell {cell_name(row, column)}"
                yield Problem(place, seen.fault.says, seen.fault.do)


def _cell_findings(rows: _Cells, headings: Mapping[int, str]) -> Iterator[Finding]:
    """Tell each cell that an error stands against, and each column with lesser faults."""
    lesser: dict[tuple[int, Rule, Severity], list[tuple[int, Fault]]] = {}
    for row, cells in rows.items():
        for column, seen in cells.items():
            fault = seen.fault
            if fault is None or column not in headings:
                continue
            if fault.severity is Severity.ERROR:
                says = f"cell {cell_name(row, column)}: {fault.says}"
                yield _finding(fault, says, row, headings[column], {})
            else:
                key = (column, fault.rule, fault.severity)
                lesser.setdefault(key, []).append((row, fault))
    for (column, _, _), found in lesser.items():
        row, fault = found[0]
        cells_told = f"cell {cell_name(row, column)}"
        if len(found) > 1:
            cells_told += f" and {len(found) - 1} more of its column"
        says = f"{cells_told}: {fault.says}"
        yield _finding(fault, says, row, headings[column], {"cells": len(found)})


def _finding(
    fault: Fault, says: str, row: int, column: str, figures: Mapping[str, Figure]
) -> Finding:
    return Finding(
        fault.rule, fault.severity, says, fault.do, row=row, column=column, figures=figures
    )


def _merged_findings(
    merged: Mapping[Area, Sequence[str]], rows: _Cells, headings: Mapping[int, str]
) -> Iterator[Finding]:
    """Tell each merged area whose words other cells of the list would have needed."""
    numbers = sorted(rows)
    for area, covered in merged.items():
        first = rows.get(area.top, {}).get(area.left)
        below = [n for n in _between(numbers, area.top, area.bottom) if n != area.top]
        beside = [c for c in headings if area.left < c <= area.right]
        if (first is None or not first.text or not (below or beside)) and not covered:
            continue
        if not numbers or area.bottom < numbers[0]:
            continue
        under = (
            f" What lies under it in {', '.join(covered[:9])} is left out."
            if covered
            else ""
        )
        yield Finding(
            Rule.MERGED_CELLS,
            Severity.WARNING,
            f"the cells {area.name} are merged, and their words count for cell "
            f"{cell_name(area.top, area.left)} only.{under}",
            "Take the merging away, and write the words in each cell that needs them.",
            row=area.top,
            column=headings.get(area.left),
        )


def _between(numbers: Sequence[int], first: int, last: int) -> Sequence[int]:
    return numbers[bisect_left(numbers, first) : bisect_right(numbers, last)]


def _reformatted_findings(
    areas: Sequence[Area], rows: _Cells, headings: Mapping[int, str]
) -> Iterator[Finding]:
    """Tell each area with words in it whose look depends on conditions."""
    numbers = sorted(rows)[1:]
    for area in areas:
        inside = _between(numbers, area.top, area.bottom)
        column = next((c for c in headings if area.left <= c <= area.right), None)
        if inside and column is not None:
            yield Finding(
                Rule.CONDITIONAL_FORMAT,
                Severity.WARNING,
                f"a condition may change how numbers look in the cells {area.name}; they "
                "are printed without it.",
                "Take the conditional formatting away, or format the cells as text.",
                row=inside[0],
                column=headings[column],
            )
