"""Drawing on the proof: maps, regions and pictures as SVG, and letters drawn once.

Everything is in mm with y up inside the pictures; `picture` turns it over.
"""

import base64
from collections.abc import Iterable, Iterator, Sequence

from fontTools.pens.svgPathPen import SVGPathPen

from personalize.fonts.catalogue import Font
from personalize.geometry.affine import Affine
from personalize.geometry.zone import Region
from personalize.output.colour_glyphs import svg_layers
from personalize.type.compose import ComposedText
from personalize.type.shape import ShapedLine
from personalize.units import number

EDGE_MM = 2.0
"""Room round each picture."""

Box = tuple[float, float, float, float]


def roomy(box: Box) -> Box:
    """Give a box with room round it."""
    x0, y0, x1, y1 = box
    return (x0 - EDGE_MM, y0 - EDGE_MM, x1 + EDGE_MM, y1 + EDGE_MM)


def picture(box: Box, inner: str) -> str:
    """Give an SVG element that shows a box, y up."""
    x0, y0, x1, y1 = box
    size = f"{number(x1 - x0, 2)} {number(y1 - y0, 2)}"
    return (
        f'<svg viewBox="0 0 {size}" aria-hidden="true">'
        f'<g transform="matrix(1 0 0 -1 {number(-x0)} {number(y1)})">{inner}</g></svg>'
    )


def image(png: bytes, place: Affine) -> str:
    """Embed a picture that fills the unit square of `place`."""
    data = base64.b64encode(png).decode("ascii")
    by = matrix(place @ Affine(1, 0, 0, -1, 0, 1))
    return (
        f'<image href="data:image/png;base64,{data}" width="1" height="1"'
        f' preserveAspectRatio="none" transform="{by}"/>'
    )


def matrix(by: Affine) -> str:
    """Write a map as a transform."""
    if by.tuple[:4] == (1, 0, 0, 1):
        return f"translate({number(by.e)} {number(by.f)})"
    linear = " ".join(number(v, 7) for v in by.tuple[:4])
    return f"matrix({linear} {number(by.e)} {number(by.f)})"


def rings(region: Region) -> str:
    """Write the rings of a region as path data."""
    return "".join(
        "M" + " ".join(f"{number(x, 2)} {number(y, 2)}" for x, y in ring) + "Z"
        for ring in _points(region)
    )


def _points(region: Region) -> Iterable[Sequence[tuple[float, float]]]:
    return (region.outer, *region.holes)


class Letters:
    """Letters of a page: each glyph's outline is kept once, and used wherever it stands."""

    def __init__(self) -> None:
        self._keys: dict[tuple[Font, int, bool], str] = {}

    def text(self, text: ComposedText) -> str:
        """Draw a text in the flat piece, over its rim."""
        rim = ""
        if text.soft:
            shape = "".join(rings(part) for part in text.soft)
            rim = f'<path d="{shape}" fill="{text.rim_colour.css}"/>'
        elif text.rim is not None:
            stroked = self._lines(text, 2 * text.rim.mm / text.size_mm)
            rim = (
                f'<g fill="none" stroke="{text.rim_colour.css}" stroke-linejoin="round">'
                f"{stroked}</g>"
            )
        return f'{rim}<g fill="{text.colour.css}">{self._lines(text)}</g>'

    def _lines(self, text: ComposedText, stroke_em: float = 0.0) -> str:
        return "".join(
            self.line(line.shaped, text.line_to_piece(line), stroke_em)
            for line in text.lines
        )

    def line(self, shaped: ShapedLine, place: Affine, stroke_em: float = 0.0) -> str:
        """Draw a line; with a stroke of a width in em, or as it is."""
        out, rim = [], stroke_em > 0
        for run in shaped.runs:
            upem = run.font.face.upem / run.scale
            wide = f' stroke-width="{stroke_em * upem:.0f}"' if rim else ""
            onto = place @ Affine(1 / upem, 0, 0, 1 / upem, 0, 0)
            uses = "".join(
                f'<use href="#{self._key(run.font, gid, rim=rim)}" x="{x * upem:.0f}"'
                + (f' y="{y * upem:.0f}"' if y else "")
                + "/>"
                for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True)
                if run.font.face.ink(gid) is not None
            )
            out.append(f'<g transform="{matrix(onto)}"{wide}>{uses}</g>')
        return "".join(out)

    def _key(self, font: Font, gid: int, *, rim: bool) -> str:
        """Name a glyph's outline.

        A rim goes round the outline alone: layers have fills and a scale of their own.
        """
        key = (font, gid, bool(font.face.layers(gid)) and not rim)
        if key not in self._keys:
            self._keys[key] = f"g{len(self._keys)}"
        return self._keys[key]

    def definitions(self) -> Iterator[str]:
        """Give every outline that was used, by its name."""
        for (font, gid, coloured), key in self._keys.items():
            if coloured:
                layers = svg_layers(font.face.layers(gid), key)
                em = f'<g transform="scale({font.face.upem})">{layers}</g>'
                yield f'<g id="{key}">{em}</g>'
                continue
            pen = SVGPathPen(None, ntos=lambda v: f"{v:.0f}")
            font.face.draw(gid, pen)
            yield f'<path id="{key}" d="{pen.getCommands()}"/>'
