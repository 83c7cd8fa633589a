"""With what the pieces of a job for a print shop are painted, for the job sheet."""

from collections.abc import Iterator

from personalize.design.painted import (
    CMYK,
    GREY,
    RGB,
    UNPAINTED,
    Painted,
    painted_with,
)
from personalize.design.pictures import pixels_of
from personalize.design.style import Colour
from personalize.fold.piece import Piece
from personalize.type.compose import ComposedText


class PaintedPieces:
    """What the pieces that came by are painted with; each artwork is looked at once."""

    def __init__(self) -> None:
        self._artworks: dict[tuple[str, str], Painted] = {}
        self._pieces: dict[str, Painted] = {}

    def add(self, piece: Piece) -> None:
        """Look at the artwork, the picture and the words of a piece, and of its back."""
        name = piece.design.name
        self._pieces[name] = self.of(name) | self._side(piece)
        if piece.back is not None:
            self._pieces[name] |= self._side(piece.back)

    def of(self, name: str) -> Painted:
        """Give what pieces of a design are painted with, both sides together."""
        return self._pieces.get(name, UNPAINTED)

    def _side(self, piece: Piece) -> Painted:
        kinds = {kind for text in piece.texts for kind in _kinds(text)}
        if piece.picture is not None:
            pixels = pixels_of(piece.picture.path, piece.picture.width_mm)
            kinds.add({1: GREY, 3: RGB, 4: CMYK}[pixels.channels])
        key = (piece.design.name, piece.version)
        if key not in self._artworks:
            art = piece.design.artwork_of(piece.version)
            self._artworks[key] = painted_with(art)
        return self._artworks[key] | Painted(frozenset(kinds))


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
