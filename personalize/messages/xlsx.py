"""Read a worksheet of an xlsx workbook: the words as they are seen in its cells."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from personalize.errors import InputError, Problem, refuse
from personalize.messages.grid import Record, column_letters, plain_breaks, table_of
from personalize.messages.table import Source, Table
from personalize.messages.xlsx_parts import (
    MOST_BYTES,
    WORKBOOK,
    Area,
    Cell,
    DamagedError,
    Grid,
    Package,
    Sheet,
    TooLargeError,
    Workbook,
)
from personalize.messages.xlsx_seen import seen_number, text_is_plain

_AS_TEXT = (
    "Format the cell as text and type it again, or save the sheet as CSV UTF-8, "
    "which keeps what is seen."
)
_TRUTH = {"0": "FALSE", "false": "FALSE", "1": "TRUE", "true": "TRUE"}


@dataclass(frozen=True, slots=True)
class _Fault:
    """Why a cell cannot be read, and the remedy."""

    says: str
    do: str


def read_xlsx(data: bytes, name: str, worksheet: str | None) -> Table:
    r"""Read a worksheet of the workbook `data`, which messages call `name`.

    What is seen in a cell is what comes out. Strings are kept exactly, but for line
    breaks, which become ``\n``; the look of numbers is that of `seen_number`; truth values
    are TRUE and FALSE. Whatever cannot be shown for certain is refused, cell by cell:
    dates and other number formats, errors, formulas without a saved result, and words in
    hidden rows, hidden columns and merged cells. Row numbers are the worksheet's own.

    Parameters
    ----------
    worksheet
        Its title; None takes the one visible worksheet that has something in it.

    Raises
    ------
    InputError
        The workbook is damaged or too large, the worksheet cannot be told, or cells in it
        cannot be read. All problems of a worksheet are told at once.
    """
    try:
        workbook = Workbook(Package(data))
        grids = _candidates(workbook, name, worksheet)
    except DamagedError as error:
        raise refuse(
            name,
            f"the workbook is damaged: {error}.",
            "Open it in a spreadsheet program and save it again as .xlsx.",
        ) from error
    except TooLargeError as error:
        raise _too_large(name) from error
    sheet, grid = _chosen(grids, name)
    return _table(grid, Source(name, worksheet=sheet.title))


def refuse_other_zip(data: bytes, name: str) -> None:
    """Refuse a zip file that is no xlsx workbook, and say what it seems to be.

    Raises
    ------
    InputError
        It has no part ``xl/workbook.xml``, or is no whole zip file.
    """
    save_as = "Save it as .xlsx or as CSV UTF-8."
    try:
        package = Package(data)
        if WORKBOOK in package:
            return
        # Open Document 1.3 part 2, section 3.3: what kind it is stands in this part.
        kind = package.part("mimetype") if "mimetype" in package else b""
    except DamagedError as error:
        raise refuse(name, "the file is damaged or cut off.", save_as) from error
    except TooLargeError as error:
        raise _too_large(name) from error
    if kind.strip().startswith(b"application/vnd.oasis.opendocument.spreadsheet"):
        raise refuse(name, "this is an OpenDocument spreadsheet.", save_as)
    raise refuse(name, "this is no .xlsx workbook, but another zip file.", save_as)


def _too_large(name: str) -> InputError:
    return refuse(
        name,
        f"the file unpacks to more than {MOST_BYTES // 1024**2} MB.",
        "Keep the list alone in a workbook, without pictures.",
    )


def _candidates(
    workbook: Workbook, name: str, worksheet: str | None
) -> list[tuple[Sheet, Grid]]:
    """Read the worksheet that is asked for, or all the visible ones with words in them."""
    if worksheet is None:
        grids = [(s, workbook.grid(s)) for s in workbook.sheets if s.visible]
        return [(sheet, grid) for sheet, grid in grids if grid.cells]
    # Spreadsheet programs let no two titles differ by case alone (common practice, no
    # source), so this is the one that was meant.
    wanted = worksheet.strip().casefold()
    for sheet in workbook.sheets:
        if sheet.title.strip().casefold() == wanted:
            return [(sheet, workbook.grid(sheet))]
    raise refuse(
        name,
        f"there is no worksheet {worksheet!r}.",
        f"It has {_listed(workbook.sheets)}.",
    )


def _chosen(grids: Sequence[tuple[Sheet, Grid]], name: str) -> tuple[Sheet, Grid]:
    if not grids:
        raise refuse(
            name,
            "no visible worksheet has anything in it.",
            "Put headings and rows in one.",
        )
    if len(grids) > 1:
        raise refuse(
            name,
            "more than one worksheet has something in it.",
            f"Say which one to read: {_listed([sheet for sheet, _ in grids])}.",
        )
    return grids[0]


def _listed(sheets: Sequence[Sheet]) -> str:
    return ", ".join(repr(sheet.title) for sheet in sheets) or "no worksheet at all"


def _table(grid: Grid, source: Source) -> Table:
    problems: list[Problem] = []
    rows: dict[int, dict[int, str]] = {}
    for cell in grid.cells:
        seen = _seen(cell)
        if isinstance(seen, _Fault):
            problems.append(Problem(_at(source, cell), seen.says, seen.do))
            # The rest of the sheet is checked too: this stands for words of its own.
            seen = f"\0{cell.row},{cell.column}"
        rows.setdefault(cell.row, {})[cell.column] = seen
    problems += _hidden_problems(grid, source)
    problems += _merged_problems(grid, source)
    try:
        table = table_of(source, _records(rows))
    except InputError as error:
        problems += error.problems
    if problems:
        raise InputError(problems)
    return table


def _records(rows: dict[int, dict[int, str]]) -> Iterator[Record]:
    """Lay the cells out; the heading reaches as far as any row, and each row as far as it.

    A worksheet has no row that is too short, as a CSV file has, and words beyond the last
    heading are told as a column without one.
    """
    filled = {n: cells for n, cells in rows.items() if any(cells.values())}
    heading = filled.get(min(filled, default=0), {})
    reach = 1 + max((column for cells in filled.values() for column in cells), default=0)
    least = 1 + max((c for c, text in heading.items() if text.strip()), default=0)
    for number, cells in filled.items():
        width = reach if cells is heading else max(least, max(cells) + 1)
        yield number, [cells.get(column, "") for column in range(width)]


def _seen(cell: Cell) -> str | _Fault:
    """Write a cell as it is seen."""
    if cell.unsaved:
        return _Fault(
            "the formula has no saved result.",
            "Open the workbook in a spreadsheet program and save it.",
        )
    match cell.kind:
        case "text":
            return _seen_text(cell)
        case "n":
            seen = seen_number(cell.value, cell.format_code)
            return seen if seen is not None else _unseen_number(cell)
        case "b" if cell.value.strip() in _TRUTH:
            return _TRUTH[cell.value.strip()]
        case "e":
            return _Fault(
                f"the cell shows the error {cell.value}.", "Mend its formula, or empty it."
            )
        case "d":
            return _Fault("a date is seen in a way that cannot be told.", _AS_TEXT)
    return _Fault(f"the cell holds {cell.value[:40]!r}, which is unknown.", _AS_TEXT)


def _seen_text(cell: Cell) -> str | _Fault:
    try:
        # Escapes can spell a character beyond U+FFFF in two halves.
        text = cell.value.encode("utf-16", "surrogatepass").decode("utf-16")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        return _Fault("there is a character that no text has.", "Type the words again.")
    if not text_is_plain(cell.format_code):
        return _Fault(
            f"the number format {cell.format_code!r} changes how the words are seen.",
            _AS_TEXT,
        )
    return plain_breaks(text)


def _unseen_number(cell: Cell) -> _Fault:
    if cell.format_code.lower() in {"general", "@", ""}:
        return _Fault(
            f"programs shorten the number {cell.value}, each in its own way.", _AS_TEXT
        )
    return _Fault(
        f"the number {cell.value} (perhaps a date) has the number format "
        f"{cell.format_code!r}, which cannot be shown for certain.",
        _AS_TEXT,
    )


def _hidden_problems(grid: Grid, source: Source) -> Iterator[Problem]:
    """Tell of words that the maker does not see: in one sentence each for rows, columns."""
    rows = sorted({c.row for c in grid.cells if c.row in grid.hidden_rows})
    if rows:
        yield Problem(
            f"{source.file}, {_runs('row', rows, str)}",
            "there are words in what is hidden or filtered away.",
            "Show it, or delete it.",
        )
    used = sorted({cell.column for cell in grid.cells})
    columns = [c for c in used if any(a <= c <= b for a, b in grid.hidden_columns)]
    if columns:
        yield Problem(
            f"{source.file}, {_runs('column', columns, column_letters)}",
            "there are words in what is hidden.",
            "Show it, or delete it.",
        )


def _merged_problems(grid: Grid, source: Source) -> Iterator[Problem]:
    """Tell of merged cells with words in them: whose words they are cannot be told."""
    rows: dict[int, list[int]] = {}
    for cell in grid.cells:
        rows.setdefault(cell.row, []).append(cell.column)
    for area in grid.merged:
        if any(area.left <= column <= area.right for column in _within(area, rows)):
            yield Problem(
                f"{source.file}, cell {_name(area.top, area.left)}",
                f"the cells {area.name} are merged, and there are words in them.",
                "Take the merging away, and write the words in each row that needs them.",
            )


def _within(area: Area, rows: dict[int, list[int]]) -> Iterator[int]:
    """Give the filled columns of the rows that an area covers."""
    numbers = range(area.top, area.bottom + 1)
    for row in numbers if len(numbers) < len(rows) else rows:
        if row in numbers:
            yield from rows.get(row, ())


def _runs(noun: str, numbers: Sequence[int], name: Callable[[int], str]) -> str:
    """Name rows or columns, with a dash for each run of them.

    >>> _runs("row", [4], str), _runs("row", [4, 7, 8, 9], str)
    ('row 4', 'rows 4, 7-9')
    """
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    names = [name(a) if a == b else f"{name(a)}-{name(b)}" for a, b in runs]
    return f"{noun}{'s' if len(numbers) > 1 else ''} {', '.join(names)}"


def _at(source: Source, cell: Cell) -> str:
    return f"{source.file}, cell {_name(cell.row, cell.column)}"


def _name(row: int, column: int) -> str:
    return f"{column_letters(column)}{row}"
