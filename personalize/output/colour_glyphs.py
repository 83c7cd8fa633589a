"""Letters in several colours, as shapes of a PDF or an SVG.

The unit is the em of the letter; what has no colour of its own takes that of the text.
"""

from collections.abc import Sequence
from itertools import pairwise

import pikepdf
from fontTools.pens.svgPathPen import SVGPathPen
from pikepdf import Array, Dictionary, Name, Stream

from personalize.fonts.colour import Gradient, Layer, Rgb, Solid, box_of, replay
from personalize.output.path_pen import PathPen
from personalize.units import number

_PLACES = 5
"""Decimals of an em: a hundred-thousandth, at 72 pt under 0.001 mm."""


def _n(*values: float) -> str:
    return " ".join(number(v, _PLACES) for v in values)


# PDF -----------------------------------------------------------------------------------


def pdf_form(pdf: pikepdf.Pdf, layers: Sequence[Layer]) -> pikepdf.Object:
    """Make a form of a letter's layers, to be drawn in its em."""
    content: list[str] = []
    shadings, states = Dictionary(), Dictionary()
    for i, layer in enumerate(layers):
        pen = PathPen(_PLACES)
        replay(layer, pen)
        path = "\n".join(pen.parts)
        content.append("q")
        if isinstance(layer.fill, Solid):
            if layer.fill.alpha < 1:
                states[f"/G{i}"] = Dictionary(ca=_decimal(layer.fill.alpha))
                content.append(f"/G{i} gs")
            if layer.fill.colour is not None:
                content.append(f"{_n(*layer.fill.colour)} rg")
            content.append(f"{path}\nf")
        else:
            shadings[f"/S{i}"] = _shading(layer.fill)
            content.append(f"{path}\nW n\n{_n(*layer.fill.matrix)} cm /S{i} sh")
        content.append("Q")
    return pdf.make_indirect(
        Stream(
            pdf,
            "\n".join(content).encode("ascii"),
            Type=Name.XObject,
            Subtype=Name.Form,
            BBox=Array([_decimal(v) for v in box_of(layers) or (0, 0, 0, 0)]),
            Resources=Dictionary(Shading=shadings, ExtGState=states),
        )
    )


def _decimal(value: float) -> pikepdf.Object:
    return pikepdf.Object.parse(number(value, _PLACES).encode())


def _decimals(values: Sequence[float]) -> Array:
    return Array([_decimal(v) for v in values])


def _shading(fill: Gradient) -> Dictionary:
    """Write an axial or radial shading (ISO 32000-1, 8.7.4.5.3 and 8.7.4.5.4)."""
    return Dictionary(
        ShadingType=3 if len(fill.ends) == 6 else 2,
        ColorSpace=Name.DeviceRGB,
        Coords=_decimals(fill.ends),
        Extend=Array([True, True]),
        Function=_stitched(fill.stops),
    )


def _stitched(stops: Sequence[tuple[float, Rgb]]) -> Dictionary:
    """Colours from stop to stop (ISO 32000-1, 7.10.4)."""
    # Two stops at one place are a sharp edge: parts without a length are left out.
    pairs = [(a, b) for a, b in pairwise(stops) if b[0] - a[0] > 1e-4]
    parts = [
        Dictionary(
            FunctionType=2,
            Domain=Array([0, 1]),
            N=1,
            C0=_decimals(a[1]),
            C1=_decimals(b[1]),
        )
        for a, b in pairs
    ]
    if len(parts) == 1:
        return parts[0]
    return Dictionary(
        FunctionType=3,
        Domain=Array([0, 1]),
        Functions=Array(parts),
        Bounds=_decimals([b[0] for _, b in pairs[:-1]]),
        Encode=Array([0, 1] * len(parts)),
    )


# SVG -----------------------------------------------------------------------------------


def svg_layers(layers: Sequence[Layer], key: str) -> str:
    """Give a letter's layers as SVG, in its em with y up; `key` begins the ids in it."""
    out = []
    for i, layer in enumerate(layers):
        pen = SVGPathPen(None, ntos=lambda v: number(v, _PLACES))
        replay(layer, pen)
        paint = ""
        if isinstance(layer.fill, Gradient):
            out.append(_svg_gradient(layer.fill, f"{key}-{i}"))
            paint = f' fill="url(#{key}-{i})"'
        else:
            if layer.fill.colour is not None:
                paint = f' fill="{_css(layer.fill.colour)}"'
            if layer.fill.alpha < 1:
                paint += f' fill-opacity="{number(layer.fill.alpha)}"'
        out.append(f'<path d="{pen.getCommands()}"{paint}/>')
    return "".join(out)


def _svg_gradient(fill: Gradient, key: str) -> str:
    stops = "".join(
        f'<stop offset="{number(at)}" stop-color="{_css(rgb)}"/>' for at, rgb in fill.stops
    )
    names = ("x1", "y1", "x2", "y2")
    kind = "linearGradient"
    if len(fill.ends) == 6:
        names, kind = ("fx", "fy", "fr", "cx", "cy", "r"), "radialGradient"  # type: ignore[assignment]
    ends = " ".join(f'{n}="{_n(v)}"' for n, v in zip(names, fill.ends, strict=True))
    linear = " ".join(number(v, 9) for v in fill.matrix)
    return (
        f'<{kind} id="{key}" gradientUnits="userSpaceOnUse" {ends}'
        f' gradientTransform="matrix({linear})">{stops}</{kind}>'
    )


def _css(rgb: Rgb) -> str:
    return "#" + "".join(f"{round(255 * v):02x}" for v in rgb)
