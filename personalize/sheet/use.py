"""How much paper a run takes, told before anything is written."""

from dataclasses import dataclass

from personalize.sheet.fill import Plan


@dataclass(frozen=True, slots=True)
class PaperUse:
    """Pieces, sheets and paper of one run."""

    design: str
    pieces: int
    sheets: int
    per_sheet: int
    paper: str
    paper_m2: float
    """Of all sheets."""
    share: float
    """Part of a full sheet that its pieces cover."""
    at_most: bool = False
    """Whether a fuller sheet may still be found when the sheets are made."""

    def __str__(self) -> str:
        """Say it in a sentence."""
        piece = "piece" if self.pieces == 1 else "pieces"
        sheet = "sheet" if self.sheets == 1 else "sheets"
        most, least = ("at most ", "at least ") if self.at_most else ("", "")
        return (
            f"{self.pieces} {piece} on {most}{self.sheets} {sheet} of {self.paper},"
            f" {least}{self.per_sheet} to a sheet: {self.paper_m2:.2f} m2 of paper,"
            f" {self.share:.0%} of a full sheet is used."
        )


def paper_use(plan: Plan, pieces: int, *, at_most: bool = False) -> PaperUse:
    """Tell how much paper a number of pieces takes."""
    paper = plan.rules.paper
    sheet_mm2 = paper.width_mm * paper.height_mm
    sheets = plan.sheets_for(pieces)
    return PaperUse(
        plan.design.name,
        pieces,
        sheets,
        plan.per_sheet,
        paper.name,
        sheets * sheet_mm2 / 1e6,
        plan.per_sheet * plan.design.silhouette.area_mm2 / sheet_mm2,
        at_most,
    )
