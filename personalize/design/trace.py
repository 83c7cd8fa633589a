"""Cut lines from a picture's own edge: where it turns transparent.

The edge is where the opacity passes one half, between pixels by interpolation. It may be
moved out or in, and is fitted by lines and cubic curves.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from personalize.design.spec import TraceSpec
from personalize.errors import refuse
from personalize.geometry.affine import Affine, scaling
from personalize.geometry.fitting import fitted
from personalize.geometry.levels import level_rings
from personalize.geometry.parts import nested, offset
from personalize.geometry.path import Contour, Cubic, Line, signed_area
from personalize.geometry.zone import Region
from personalize.units import number

HALF = 127.5
"""Opacity of the edge, of 255."""
MOST_PARTS = 200
"""Outlines and holes that are more than this are noise, not a shape to cut."""


@dataclass(frozen=True, slots=True)
class Traced:
    """What the edge of a picture gives."""

    svg: bytes
    """A drawing of the size of the picture, its only lines the outlines and holes."""
    parts: int
    """Outlines that were found: each is a piece of its own."""
    holes: int
    specks: int
    """Parts and holes too small to cut, which were left out."""


def traced(
    alpha: NDArray[np.uint8], size_mm: tuple[float, float], spec: TraceSpec, name: str
) -> Traced:
    """Trace the edge of what is opaque.

    Parameters
    ----------
    alpha
        Opacity, shape (height, width), from 0 to 255.
    size_mm
        Width and height of the picture.
    spec
        What the design file says of tracing.
    name
        The picture, for sentences.

    Raises
    ------
    InputError
        Nothing of it is opaque, all of it is, its edge is noise, or nothing is left of it
        once its edge is moved inward.
    """
    if alpha.min() > HALF:
        raise refuse(
            name,
            "no part of it is transparent, so it has no edge to trace.",
            "Take its ground away and save it as PNG; or draw the outline in an SVG, and"
            f' write svg = "outline.svg" and, under [artwork], file = "{name}".',
        )
    high, wide = alpha.shape
    if _is_hard(alpha):
        alpha = _softened(alpha)
    to_mm = scaling(size_mm[0] / wide, size_mm[1] / high)
    try:
        rings = [to_mm.many(ring) for ring in level_rings(alpha, HALF)]
    except ValueError:
        raise _noise(name) from None
    areas = [signed_area(ring) for ring in rings]
    kept = [ring for ring, area in zip(rings, areas, strict=True) if _large(area, spec)]
    outer = [ring for ring in kept if signed_area(ring) > 0]
    if not outer:
        raise refuse(
            name,
            f"it has no opaque part of {spec.specks_mm2:g} mm2 or more to trace.",
            "Check its transparency and its size.",
        )
    if len(kept) > MOST_PARTS:
        raise _noise(name)
    parts = nested(outer, [ring for ring in kept if signed_area(ring) < 0])
    if spec.offset_mm:
        parts = _moved(parts, spec, name)
    step = max(to_mm.a, to_mm.d)
    return Traced(
        _svg(parts, size_mm, spec, step),
        len(parts),
        sum(len(part.holes) for part in parts),
        len(rings) - len(kept),
    )


def _is_hard(alpha: NDArray[np.uint8]) -> bool:
    """Whether the edge runs in steps of whole pixels, with hardly any grey between."""
    grey = np.count_nonzero((alpha > 8) & (alpha < 247))
    ink = alpha > HALF
    steps = np.count_nonzero(ink[:, 1:] != ink[:, :-1])
    steps += np.count_nonzero(ink[1:] != ink[:-1])
    return bool(grey < steps / 10)


def _softened(alpha: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Mix each pixel with its neighbours (binomial, five each way): steps become slopes."""
    for _ in range(2):
        padded = np.pad(alpha.astype(np.uint16), ((2, 2), (0, 0)))
        # 16 times the mean, rounded; the other way once it is turned.
        mixed = padded[:-4] + padded[4:] + 4 * (padded[1:-3] + padded[3:-1])
        mixed += 6 * padded[2:-2]
        alpha = np.ascontiguousarray(((mixed + 8) // 16).astype(np.uint8).T)
    return alpha


def _large(area: float, spec: TraceSpec) -> bool:
    return abs(area) >= max(spec.specks_mm2, 1e-9)


def _noise(name: str) -> Exception:
    return refuse(
        name,
        f"its transparent edge is in more than {MOST_PARTS} parts, too ragged to be cut.",
        "Clean the edge, drop larger specks (specks_mm2), or draw the outline in an SVG.",
    )


def _moved(parts: tuple[Region, ...], spec: TraceSpec, name: str) -> tuple[Region, ...]:
    moved = offset(parts, spec.offset_mm)
    left = []
    for part in moved:
        outer, *holes = part.rings()
        if _large(signed_area(outer), spec):
            kept = [hole for hole in holes if _large(signed_area(hole), spec)]
            left.append(nested([outer], kept)[0])
    if not left:
        raise refuse(
            name,
            f"nothing is left of its shape {-spec.offset_mm:g} mm inside of its edge.",
            "Write a smaller offset_mm.",
        )
    return tuple(left)


def _svg(
    parts: tuple[Region, ...], size_mm: tuple[float, float], spec: TraceSpec, step: float
) -> bytes:
    """Write the parts as a drawing whose page is the picture."""
    down = Affine(1, 0, 0, -1, 0, size_mm[1])
    width, height = (number(side, 6) for side in size_mm)
    paths = []
    for nth, part in enumerate(parts, 1):
        key = "outline" if len(parts) == 1 else f"outline-{nth}"
        names = [key, *(f"{key}-hole-{hole}" for hole in range(1, len(part.holes) + 1))]
        for name, ring in zip(names, part.rings(), strict=True):
            # The other half of the tolerance is for what pixels cannot show.
            line = fitted(ring, spec.tolerance_mm / 2, step).transformed(down)
            paths.append(f'<path id="{name}" class="cut" d="{_data(line)}"/>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">'
        f'<g fill="none" stroke="#000" stroke-width="0.1">{"".join(paths)}</g></svg>'
    ).encode()


def _data(contour: Contour) -> str:
    out = [f"M{_pair(contour.start)}"]
    for segment in contour.segments:
        if isinstance(segment, Cubic):
            pairs = map(_pair, (segment.c1, segment.c2, segment.end))
            out.append(f"C{' '.join(pairs)}")
        elif isinstance(segment, Line):
            out.append(f"L{_pair(segment.end)}")
    return "".join(out) + "Z"


def _pair(point: tuple[float, float]) -> str:
    return f"{number(point[0], 5)} {number(point[1], 5)}"
