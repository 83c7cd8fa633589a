"""With what a piece of a job for a print shop is painted, for the job sheet."""

from collections.abc import Iterator

from personalize.design.painted import CMYK, GREY, RGB, Painted, painted_with
from personalize.design.pictures import pixels_of
from personalize.design.style import Colour
from personalize.fold.piece import Piece
from personalize.type.compose import ComposedText


def painted_piece(piece: Piece) -> Painted:
    """Look at the artwork, the picture and the words of a piece, and of its back."""
    kinds = {kind for text in piece.texts for kind in _kinds(text)}
    if piece.picture is not None:
        pixels = pixels_of(piece.picture.path, piece.picture.width_mm)
        kinds.add({1: GREY, 3: RGB, 4: CMYK}[pixels.channels])
    painted = painted_with(piece.design.artwork_of(piece.version))
    painted |= Painted(frozenset(kinds))
    return painted | painted_piece(piece.back) if piece.back is not None else painted


def _kinds(text: ComposedText) -> Iterator[str]:
    """Give the kinds of colours of a text, of its rim and of its emoji."""
    yield _kind(text.colour)
    if text.rim is not None:
        yield _kind(text.rim_colour)
    runs = (run for line in text.lines for run in line.shaped.runs)
    if any(run.font.face.layers(glyph) for run in runs for glyph in run.ids):
        yield RGB


def _kind(colour: Colour) -> str:
    return GREY if colour.red == colour.green == colour.blue else RGB
