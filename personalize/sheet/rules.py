"""What a maker chooses for her sheets."""

from dataclasses import dataclass, field, replace

from personalize.design.design import CUT_SHIFT_MM
from personalize.geometry.affine import IDENTITY, Affine, scaling, translation
from personalize.sheet.askew import Askew
from personalize.sheet.backs import Flip
from personalize.sheet.clear import ClearZone
from personalize.sheet.deal import Order
from personalize.sheet.hand import HAND_SHIFT_MM, ByHand
from personalize.sheet.ink import MarkKind, RegisterMark
from personalize.sheet.machine import Correction
from personalize.sheet.paper import Paper, PaperMargins, Rect
from personalize.sheet.precut import Precut


@dataclass(frozen=True, slots=True)
class SheetRules:
    """What the maker chose for her sheets."""

    paper: Paper
    margins: PaperMargins = field(default_factory=PaperMargins)
    """What the printer leaves blank."""
    spacing_mm: float | None = None
    """None: twice the bleed, or 3 mm without bleed."""
    marks: bool = True
    mark_kind: MarkKind = MarkKind.CROSS_HAIR
    own_marks: tuple[RegisterMark, ...] = ()
    """Marks that the maker has drawn; none of ours then."""
    spares: bool = True
    clear: tuple[ClearZone, ...] = ()
    """Parts of the sheet that pieces leave free."""
    mirror: bool = False
    """Pieces in mirror image, in print and cut alike: for film that is transferred."""
    face_down: bool = False
    """The cut alone mirrored over the sheet's upright axis: its print lies down."""
    correction: Correction = field(default_factory=Correction)
    """What makes print and cut come out true on the maker's machines."""
    askew: Askew = (0.0, 0.0)
    """How the maker's printer drifts over 100 mm: told where it matters, not corrected."""
    flip: Flip | None = None
    """How sheets are turned over for the backs of pieces; None where that is not said."""
    precut: Precut | None = None
    """Labels that are cut already: pieces go into their places, and nothing is cut."""
    skipped: int = 0
    """Labels of the first sheet that are used up."""
    order: Order | None = None
    """None leaves it to the designs."""
    by_guest: bool = False
    """Whether the pieces of a guest lie side by side, where designs have one stock."""
    spare_lines: bool = False
    """Whether spares get lines to write on."""
    backing_mm: float | None = None
    """How much larger backing pieces are, all round; None for none."""
    around_mm: float | None = None
    """How far away a cut runs round all pieces of a sheet, 0 for none; None leaves it to
    the designs."""
    by_hand: ByHand | None = None
    """How hands cut the pieces out; None for a machine."""
    reach: PaperMargins | None = None
    """How near to each edge of a sheet the cutter reads and cuts, as the sheet lies before
    it; None where that is not known."""

    @property
    def is_machine_cut(self) -> bool:
        """Whether there is anything to cut, and a machine cuts it."""
        return self.precut is None and self.by_hand is None

    @property
    def cut_shift_mm(self) -> float:
        """How far a cut may be off."""
        return CUT_SHIFT_MM if self.by_hand is None else HAND_SHIFT_MM

    @property
    def two_sided(self) -> bool:
        """Whether backs are printed."""
        return self.flip not in {None, Flip.NONE}

    @property
    def all_margins(self) -> PaperMargins:
        """What pieces and marks keep free along each edge of a front.

        The printer's margins count on both sides of a sheet, the cutter's reach on the one
        that it cuts: a sheet that lies face down has its left edge at the cutter's right.
        """
        kept = self.margins
        if self.flip is not None and self.two_sided:
            kept = self.flip.both(kept)
        reach = self.reach_margins
        return kept if reach is None else kept.and_also(reach)

    @property
    def reach_margins(self) -> PaperMargins | None:
        """What the cutter does not reach, along each edge as the front is printed."""
        if self.reach is None or not self.is_machine_cut or not self.face_down:
            return self.reach if self.is_machine_cut else None
        return replace(self.reach, left=self.reach.right, right=self.reach.left)

    @property
    def piece_map(self) -> Affine:
        """Map of a piece to itself as it is printed: its mirror image, or as it is."""
        return scaling(-1, 1) if self.mirror else IDENTITY

    @property
    def lying(self) -> Affine:
        """From sheet mm to those of the sheet as it lies before the cutter."""
        if not self.face_down:
            return IDENTITY
        return translation(self.paper.width_mm, 0) @ scaling(-1, 1)

    @property
    def cut_map(self) -> Affine:
        """From sheet mm to the mm of the cut file: as it lies, the cutter's faults undone.

        Of die lines alone: marks stand where they are, and the blade goes beside them.
        """
        return self.correction.cut @ self.lying

    @property
    def clear_boxes(self) -> tuple[Rect, ...]:
        """Clear zones of machines or hands, in sheet mm."""
        return tuple(box for zone in self.clear for box in zone.boxes(self.paper))
