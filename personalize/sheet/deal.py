"""How pieces are dealt out to the places of sheets: how many sheets, which places.

sheets   sheet by sheet: the first pieces fill the first sheet
piles    place by place through all sheets: sheets that are cut as one stack give
piles that are sorted, each going on where the one before it ends
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import islice
from typing import TypeVar

Thing = TypeVar("Thing")


class Order(StrEnum):
    """How pieces follow each other on sheets."""

    SHEETS = "sheets"
    PILES = "piles"


@dataclass(frozen=True, slots=True)
class Deal:
    """How a number of pieces goes on sheets."""

    count: int
    """Pieces."""
    per_sheet: int
    """Places on a full sheet."""
    skipped: int = 0
    """Places of the first sheet that are used up already."""
    order: Order = Order.SHEETS
    spares: bool = True
    """Whether places that no piece takes are filled with spares."""

    @property
    def sheets(self) -> int:
        """How many sheets it takes."""
        return -(-(self.count + self.skipped) // self.per_sheet) if self.count else 0

    def places(self, number: int) -> range:
        """Give the places used on a sheet (from 1), spares among them."""
        start = self.skipped if number == 1 else 0
        if self.spares:
            return range(start, self.per_sheet)
        if self.order is Order.PILES:
            whole, more = divmod(self.count + self.skipped, self.sheets)
            return range(start, whole + (number <= more))
        left = self.count + self.skipped - (number - 1) * self.per_sheet
        return range(start, min(self.per_sheet, left))

    def batches(self, things: Iterable[Thing]) -> Iterator[list[Thing]]:
        """Give the pieces of each sheet, those of a lower place first.

        Sheet by sheet they are taken as they come. For piles all of them must be there
        before the first sheet is.
        """
        coming = iter(things)
        if self.order is Order.SHEETS or self.sheets < 2:
            for number in range(1, self.sheets + 1):
                start = self.skipped if number == 1 else 0
                yield list(islice(coming, self.per_sheet - start))
            return
        every = list(islice(coming, self.count))
        yield from (every[first :: self.sheets] for first in range(self.sheets))
