"""A piece: one copy of a design with the composed texts of one message."""

from dataclasses import dataclass

from personalize.design.chosen import Picture
from personalize.design.design import Design
from personalize.type.compose import ComposedText


@dataclass(frozen=True, slots=True)
class Piece:
    """One cut-out copy. A spare has no row and no texts."""

    design: Design
    row: int | None
    copy: int
    version: str
    """Name of its version as the design has it; empty where it has none."""
    texts: tuple[ComposedText, ...]
    picture: Picture | None = None
    back: "Piece | None" = None
    """Its other side, where that is printed: a piece of the back's design."""


def spare(design: Design, *, back: bool = False) -> Piece:
    """Give a piece with artwork and no words, for a late guest; with its back if asked."""
    behind = spare(design.back) if back and design.back is not None else None
    return Piece(design, None, 1, "", (), back=behind)
