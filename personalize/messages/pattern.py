"""Patterns: what a panel says, with the headings of the spreadsheet between braces.

    {name}       the cell under the heading "name"
    {{ and }}    a brace itself
    {n} {total}  the number of the piece in the run and how many pieces there are

What stands between braces is a heading and nothing else: ``{No.}`` and ``{a:b}`` ask for
the columns of those very names.
"""

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass

from personalize.messages.reserved import reserved
from personalize.messages.table import Message

COUNTERS = ("n", "total")
"""What counts pieces, unless the spreadsheet has a heading of that name."""

_PIECE = re.compile(r"(?P<plain>[^{}]+)|\{\{|\}\}|\{(?P<heading>[^{}]*)\}")


@dataclass(frozen=True, slots=True)
class Slot:
    """A place in a pattern that the words under a heading fill."""

    heading: str
    """Without the spaces at both ends, as in the headings of a table."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """What a panel says, read by `parse_pattern`."""

    text: str
    """As it was written."""
    parts: tuple[str | Slot, ...]
    """Words (never empty, never two in a row) and slots, in order."""

    @property
    def headings(self) -> tuple[str, ...]:
        """Headings asked for, each once, in order; the counters are not among them."""
        slots = (part.heading for part in self.parts if isinstance(part, Slot))
        return tuple(dict.fromkeys(name for name in slots if name not in COUNTERS))

    @property
    def counts(self) -> bool:
        """Whether ``{n}`` or ``{total}`` is used: each piece may then say other words."""
        return any(
            isinstance(part, Slot) and part.heading in COUNTERS for part in self.parts
        )

    def expand(self, message: Message, n: int, total: int) -> str:
        """Fill the slots with the words of a message, exactly as they stand in the cells.

        Parameters
        ----------
        message
            Its words by heading; ``{copies}``, ``{version}`` and the other reserved
            headings give its own fields.
        n, total
            Number of the piece (from 1), and of all pieces in the run.

        Returns
        -------
        str
            The whole text. A heading that the table lacks gives no words, as a panel may
            be optional: refuse the others first, with `missing_headings`.
        """
        return "".join(
            part if isinstance(part, str) else _filled(part.heading, message, n, total)
            for part in self.parts
        )


def parse_pattern(text: str) -> Pattern:
    """Read a pattern.

    >>> parse_pattern("{name}, {{no {n}").parts
    (Slot(heading='name'), ', {no ', Slot(heading='n'))

    Raises
    ------
    ValueError
        A brace has no partner, or there is no heading between two of them. It says so in
        one sentence for a person.
    """
    return Pattern(text, tuple(_joined(_parts(text))))


def missing_headings(pattern: Pattern, headings: Collection[str]) -> tuple[str, ...]:
    """Tell which headings a pattern asks for and a table, having `headings`, lacks."""
    return tuple(name for name in pattern.headings if name not in headings)


def _parts(text: str) -> Iterator[str | Slot]:
    start = 0
    while start < len(text):
        piece = _PIECE.match(text, start)
        if piece is None:
            raise ValueError(f"the {text[start]} at character {start + 1} has no partner.")
        if (heading := piece["heading"]) is None:
            yield piece["plain"] or text[start]
        elif heading.strip():
            yield Slot(heading.strip())
        else:
            raise ValueError(
                f"there is no heading between the braces at character {start + 1}."
            )
        start = piece.end()


def _joined(parts: Iterator[str | Slot]) -> Iterator[str | Slot]:
    """Join words that stand next to each other."""
    words = ""
    for part in parts:
        if isinstance(part, str):
            words += part
            continue
        if words:
            yield words
        words = ""
        yield part
    if words:
        yield words


def _filled(heading: str, message: Message, n: int, total: int) -> str:
    if heading in message.words:
        return message.words[heading]
    own = {"n": str(n), "total": str(total)}
    if (kind := reserved(heading)) is not None:
        own |= {heading: message.own(kind)}
    return own.get(heading, "")
