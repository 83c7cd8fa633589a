"""Both sides of a piece: the back is set when its front comes by."""

from personalize.checks.inside import InsideCheck
from personalize.design.design import Design
from personalize.fold.piece import Piece
from personalize.job import Job, Unit
from personalize.type.compose import ComposedText


def checked(job: Job, unit: Unit, inside: InsideCheck) -> tuple[ComposedText, ...]:
    """Set a unit, and prove its ink to be inside where it fits at all."""
    texts = job.composed(unit)
    if unit.message.row not in job.faulty:
        for text in texts:
            inside.check(text, unit.message.row)
    return texts


def piece_of(
    design: Design, unit: Unit, copy: int, texts: tuple[ComposedText, ...]
) -> Piece:
    """Give one side of one copy."""
    version = unit.chosen.version.name if unit.chosen.version else ""
    row = unit.message.row
    return Piece(design, row, copy, version, texts, unit.chosen.picture)


class Backs:
    """The backs of the pieces of one design, in the order of their fronts.

    Copies that say the same in front may have backs that do not, and the other way round.
    """

    def __init__(self, job: Job | None) -> None:
        """Begin; `job` is that of the backs, None where there are none."""
        self._job = job
        self._inside = InsideCheck(job.design) if job is not None else None
        self._units: dict[int, list[Unit]] = {}
        for unit in job.units if job is not None else ():
            self._units.setdefault(unit.message.row, []).append(unit)
        self._row = 0
        self._set: dict[int, Piece] = {}

    @property
    def design(self) -> Design:
        """Whose they are; there must be some."""
        assert self._job is not None
        return self._job.design

    def coming_with(self, front: Unit) -> list[tuple[Unit, tuple[ComposedText, ...]]]:
        """Set and prove the backs that a front is the first to need."""
        if self._job is None or self._inside is None:
            return []
        if front.message.row != self._row:
            self._row, self._set = front.message.row, {}
        out = []
        for unit in self._units.get(self._row, ()):
            if unit.copies[0] in front.copies:
                texts = checked(self._job, unit, self._inside)
                for copy in unit.copies:
                    self._set[copy] = piece_of(self.design, unit, copy, texts)
                out.append((unit, texts))
        return out

    def of(self, row: int, copy: int) -> Piece | None:
        """Give the back of a piece whose front came by last; None where there is none."""
        return self._set.get(copy) if row == self._row else None
