"""Find the row with the headings, where a title stands above it."""

import re
from collections.abc import Sequence

from personalize.messages.reserved import reserved

_Record = tuple[int, Sequence[str]]

_LOOK = 12
"""Filled rows at the top among which the headings are looked for. Judgement."""
_BODY = 200
"""Rows below them that bear witness. Judgement: it is enough to tell a column's kind."""
_NUMBER = re.compile(r"[-+]?\d[\d.,' \u00a0\u202f]*%?")
_TITLE_WORDS = 3
"""A text of so many words is rather a title than a heading. Judgement."""


def heading_at(rows: Sequence[_Record]) -> int:
    """Give the index of the record that holds the headings: 0, but for titles above.

    `rows` are filled records. Rows at the top are titles if all of this holds: each has
    at most half the filled cells of the first widest row near the top, which is then the
    row of headings; most rows below fill columns that the first row has no word over; the
    headings differ and none is a number; and something more tells the title or the
    headings apart (a blank row between, a title of several words or with figures,
    headings unlike the columns under them). Where in doubt the first row is the heading
    row, and columns without a heading are then told, so that nothing is lost in silence.
    """
    counts = [sum(1 for c in cells if c.strip()) for _, cells in rows[:_LOOK]]
    at = counts.index(max(counts))
    body = [cells for _, cells in rows[at + 1 : at + 1 + _BODY]]
    heading = rows[at][1]
    if (
        at == 0
        or not body
        or any(2 * count > counts[at] for count in counts[:at])
        or 2 * sum(_beyond(rows[0][1], cells) for cells in body) <= len(body)
        or not _can_be_headings(heading)
    ):
        return 0
    apart = any(rows[i + 1][0] > rows[i][0] + 1 for i in range(at))
    if apart or _is_title(rows[0][1]) or _unlike(heading, body):
        return at
    return 0


def is_number(text: str) -> bool:
    """Tell whether a cell holds a number, however its figures are grouped."""
    return _NUMBER.fullmatch(text.strip()) is not None


def _beyond(first: Sequence[str], cells: Sequence[str]) -> bool:
    """Tell whether a row has a value that the first row has no word over."""
    return any(
        cell and not (i < len(first) and first[i].strip()) for i, cell in enumerate(cells)
    )


def _can_be_headings(cells: Sequence[str]) -> bool:
    words = [cell.strip() for cell in cells if cell.strip()]
    # A space after each comma is how people write sentences, not lists without quoting.
    sentence = len(cells) > 1 and all(cell.startswith(" ") for cell in cells[1:])
    return (
        len(words) > 1
        and len(set(words)) == len(words)
        and not sentence
        and not any(is_number(word) for word in words)
    )


def _is_title(cells: Sequence[str]) -> bool:
    text = " ".join(cells)
    return len(text.split()) >= _TITLE_WORDS or any(c.isdigit() for c in text)


def _unlike(heading: Sequence[str], body: Sequence[Sequence[str]]) -> bool:
    """Tell whether the headings are of another kind than what stands under them."""
    if any(reserved(word) for word in heading):
        return True
    for i, word in enumerate(heading):
        below = [cells[i] for cells in body if i < len(cells) and cells[i].strip()]
        if below and word.strip():
            numbers = sum(is_number(cell) for cell in below)
            capitals = sum(cell.strip()[0].isupper() for cell in below)
            if numbers == len(below) or (
                word.strip()[0].islower() and capitals == len(below)
            ):
                return True
    return False
