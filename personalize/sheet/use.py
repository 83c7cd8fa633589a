"""How much paper a run takes, told before anything is written."""

from dataclasses import dataclass

from personalize.sheet.plan import Plan


@dataclass(frozen=True, slots=True)
class PaperUse:
    """Pieces, sheets and paper of a design, or of several that share sheets."""

    design: str
    """The name; of several, their names."""
    pieces: int
    sheets: int
    per_sheet: int
    """Kits on a full sheet."""
    paper: str
    paper_m2: float
    """Of all sheets."""
    share: float
    """Part of a full sheet that its pieces cover."""
    kit: int = 1
    """Pieces of a guest that lie side by side and are counted as one."""
    at_most: bool = False
    """Whether a fuller sheet may still be found when the sheets are made."""

    def __str__(self) -> str:
        """Say it in a sentence."""
        piece = "piece" if self.pieces == 1 else "pieces"
        sheet = "sheet" if self.sheets == 1 else "sheets"
        most, least = ("at most ", "at least ") if self.at_most else ("", "")
        each = f"{self.per_sheet}"
        if self.kit > 1:
            each = f"those of {each} guest{'s' * (self.per_sheet != 1)}"
        return (
            f"{self.pieces} {piece} on {most}{self.sheets} {sheet} of {self.paper},"
            f" {least}{each} to a sheet: {self.paper_m2:.2f} m2 of paper,"
            f" {self.share:.0%} of a full sheet is used."
        )


def paper_use(plan: Plan, kits: int, *, at_most: bool = False) -> PaperUse:
    """Tell how much paper a number of kits takes."""
    paper = plan.rules.paper
    sheet_mm2 = paper.width_mm * paper.height_mm
    sheets = plan.sheets_for(kits)
    covered_mm2 = sum(plan.designs[number].silhouette.area_mm2 for number in plan.kit)
    return PaperUse(
        plan.name,
        kits * len(plan.kit),
        sheets,
        plan.per_sheet,
        paper.name,
        sheets * sheet_mm2 / 1e6,
        plan.per_sheet * covered_mm2 / sheet_mm2,
        len(plan.kit),
        at_most,
    )
