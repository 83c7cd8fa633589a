"""Which worksheet of a workbook is read, and how a workbook is refused."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from personalize.errors import InputError, refuse
from personalize.messages.package import DamagedError, TooLargeError
from personalize.messages.worksheet import Worksheet


def choose(
    sheets: Sequence[tuple[str, bool]], file: str, worksheet: str | None
) -> list[int]:
    """Find the worksheets that may be meant: the one of that title, or all visible ones.

    `sheets` are titles, each with whether the worksheet is visible. A hidden one is read
    only when it is named.

    Raises
    ------
    InputError
        There is none of that title.
    """
    if worksheet is None:
        return [at for at, (_, visible) in enumerate(sheets) if visible]
    # Spreadsheet programs let no two titles differ by case alone (common practice, no
    # source), so this is the one that was meant.
    wanted = worksheet.strip().casefold()
    for at, (title, _) in enumerate(sheets):
        if title.strip().casefold() == wanted:
            return [at]
    raise refuse(
        file,
        f"there is no worksheet {worksheet!r}.",
        f"It has {_listed([title for title, _ in sheets])}.",
    )


@contextmanager
def refused_whole(file: str, suffix: str) -> Iterator[None]:
    """Tell of a workbook that cannot be read as one that is damaged, or too large.

    Raises
    ------
    InputError
        It is either.
    """
    try:
        yield
    except DamagedError as error:
        raise damaged(file, error, suffix) from error
    except TooLargeError as error:
        raise too_large(file, error) from error


def only_one(sheets: Sequence[Worksheet], file: str, worksheet: str | None) -> Worksheet:
    """Take the one worksheet with something in it.

    Raises
    ------
    InputError
        None has, or more than one has.
    """
    filled = [s for s in sheets if worksheet is not None or s.cells]
    if not filled:
        raise refuse(
            file,
            "no visible worksheet has anything in it.",
            "Put headings and rows in one.",
        )
    if len(filled) > 1:
        raise refuse(
            file,
            "more than one worksheet has something in it.",
            f"Say which one to read: {_listed([sheet.title for sheet in filled])}.",
        )
    return filled[0]


def too_large(file: str, error: TooLargeError) -> InputError:
    """Say that a workbook holds more than is read."""
    return refuse(
        file,
        f"the file is too large to be a list: {error}.",
        "Keep the list alone in a workbook, without pictures.",
    )


def damaged(file: str, error: DamagedError, kind: str) -> InputError:
    """Say that a workbook of this kind (an ending) cannot be read."""
    return refuse(
        file,
        f"the workbook is damaged: {error}.",
        f"Open it in a spreadsheet program and save it again as {kind}.",
    )


def _listed(titles: Sequence[str]) -> str:
    return ", ".join(repr(title) for title in titles) or "no worksheet at all"
