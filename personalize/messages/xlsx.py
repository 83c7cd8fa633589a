"""Read a worksheet of an xlsx workbook: the words as they are seen in its cells."""

from personalize.errors import refuse
from personalize.messages.package import DamagedError, Package, TooLargeError
from personalize.messages.table import ReadOptions, Table
from personalize.messages.workbook import (
    choose,
    only_one,
    refused_whole,
    too_large,
)
from personalize.messages.worksheet import SeenCell, Worksheet, table_from, within
from personalize.messages.xlsx_parts import WORKBOOK, Sheet, Workbook
from personalize.messages.xlsx_seen import seen_cell


def read_xlsx(data: bytes, name: str, options: ReadOptions) -> Table:
    r"""Read a worksheet of the workbook `data`, which messages call `name`.

    What is seen in a cell is what comes out. Strings are kept exactly, but for line
    breaks, which become ``\n``; numbers, dates and times look as their number format says
    (see `seen_number`); truth values are TRUE and FALSE. A cell whose look cannot be told
    for certain, that shows an error, or that is a formula without a saved result, comes
    out as it is stored, with a finding of severity error. Hidden rows are left out.
    Row numbers are the worksheet's own.

    Parameters
    ----------
    data
        The whole file.
    name
        Its bare name.
    options
        The worksheet, by its title, and the row of headings, if the maker says them;
        otherwise the one visible worksheet that has something in it is read.

    Raises
    ------
    InputError
        The workbook is damaged or too large, the worksheet cannot be told, or its
        headings cannot be read. All problems of a worksheet are told at once.
    """
    with refused_whole(name, ".xlsx"):
        workbook = Workbook(Package(data))
        titles = [(sheet.title, sheet.visible) for sheet in workbook.sheets]
        asked = options.worksheet
        found = [workbook.sheets[at] for at in choose(titles, name, asked)]
        sheet = only_one([_seen(workbook, sheet) for sheet in found], name, asked)
        return table_from(sheet, name, options)


def refuse_other_zip(data: bytes, name: str) -> None:
    """Refuse a zip file that is no xlsx workbook, and say what it seems to be.

    Raises
    ------
    InputError
        It has no part ``xl/workbook.xml``, or is no whole zip file.
    """
    save_as = "Save it as .xlsx, .ods or CSV UTF-8."
    try:
        package = Package(data)
    except DamagedError as error:
        raise refuse(name, "the file is damaged or cut off.", save_as) from error
    except TooLargeError as error:
        raise too_large(name, error) from error
    if "xl/workbook.bin" in package:
        raise refuse(name, "this is a binary .xlsb workbook.", save_as)
    if WORKBOOK not in package:
        raise refuse(name, "this is no .xlsx workbook, but another zip file.", save_as)


def _seen(workbook: Workbook, sheet: Sheet) -> Worksheet:
    grid = workbook.grid(sheet)
    system = workbook.date_system
    cells = tuple(
        SeenCell(cell.row, cell.column, seen_cell(cell, system, zeros=grid.zeros))
        for cell in grid.cells
    )
    return Worksheet(
        sheet.title,
        cells,
        grid.hidden_rows,
        within((cell.column for cell in cells), grid.hidden_columns),
        grid.merged,
        grid.reformatted,
    )
