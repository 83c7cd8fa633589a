"""Letters as curves: their outlines as paths, filled or stroked.

For a rim round letters, and for print shops that ask for curves instead of text.
"""

import math

from personalize.fonts.catalogue import Font
from personalize.geometry.affine import Affine
from personalize.output.path_pen import PathPen
from personalize.output.pdf_content import Part, colour_glyphs, matrix
from personalize.output.pdf_fonts import FontBook
from personalize.type.shape import ShapedLine
from personalize.units import number

_PLACES = 2
"""Decimals of a font's own units."""


class Outlines:
    """Writes lines as curves; keeps the path of each glyph."""

    def __init__(self) -> None:
        self._paths: dict[tuple[Font, int], str] = {}

    def filled(self, book: FontBook, line: ShapedLine, em_to_pt: Affine) -> list[Part]:
        """Fill the letters of a line with the colour that is set."""
        out = self._drawn(line, em_to_pt, None)
        for run in line.runs:
            out += colour_glyphs(book, run, em_to_pt)
        return out

    def stroked(self, line: ShapedLine, em_to_pt: Affine, width_pt: float) -> list[Part]:
        """Draw round the letters with the colour that is set, with round joins."""
        drawn = self._drawn(line, em_to_pt, width_pt)
        return ["q 1 J 1 j", *drawn, "Q"] if drawn else []

    def _drawn(
        self, line: ShapedLine, em_to_pt: Affine, width_pt: float | None
    ) -> list[Part]:
        out: list[Part] = []
        for run in line.runs:
            scale = run.scale / run.font.face.upem
            for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True):
                path = self._path(run.font, gid)
                if not path or (width_pt is None and run.font.face.layers(gid)):
                    continue
                place = em_to_pt @ Affine(scale, 0, 0, scale, x, y)
                drawn = f"{path} f"
                if width_pt is not None:
                    # A pen is as large as the frame that it draws in.
                    wide = width_pt / math.hypot(place.a, place.b)
                    drawn = f"{number(wide)} w {path} S"
                out.append(f"q {matrix(place)} cm {drawn} Q")
        return out

    def _path(self, font: Font, gid: int) -> str:
        key = (font, gid)
        if key not in self._paths:
            pen = PathPen(_PLACES)
            font.face.draw(gid, pen)
            self._paths[key] = "\n".join(pen.parts)
        return self._paths[key]
