"""How a design asks to be laid out and cut, where the command line says nothing else."""

from dataclasses import dataclass

HEAVY_G_M2 = 170.0
"""Paper from which grain matters to a fold. Common practice, no source."""
LINES, DASHES = "lines", "dashes"
ANY, HALF = "any", "half"
SHEETS, PILES = "sheets", "piles"


@dataclass(frozen=True, slots=True)
class SheetWishes:
    """How pieces lie on sheets."""

    paper_g_m2: float | None = None
    """Weight of the paper; None where it is not said."""
    turns: str | None = None
    """ANY, or HALF turns alone; None where it is not said."""
    order: str | None = None
    """SHEETS or PILES: in which order pieces are dealt out; None where it is not said."""

    def along_grain(self, *, folded: bool) -> bool:
        """Whether all pieces lie the same way but for half turns.

        Paper folds well along its grain and breaks across it; all creases then go one way.
        """
        if self.turns is not None:
            return self.turns == HALF
        heavy = self.paper_g_m2 is not None and self.paper_g_m2 >= HEAVY_G_M2
        return folded and heavy


@dataclass(frozen=True, slots=True)
class CutWishes:
    """How lines are cut; None where that is not said."""

    creases: str | None = None
    """LINES or DASHES."""
    perforations: str | None = None
    nicks: int | None = None
    nick_mm: float | None = None
    around_mm: float | None = None
