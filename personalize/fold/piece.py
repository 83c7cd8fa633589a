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


def spare(design: Design) -> Piece:
    """Give a piece with artwork and no words, for a late guest."""
    return Piece(design, None, 1, "", ())
