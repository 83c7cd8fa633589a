"""Findings about paper: what a fold does to ink, and what a cut or fold off its line shows.

The artwork of each version is looked at as `contrast` draws it.
"""

from collections.abc import Iterator

import numpy as np

from personalize.checks.contrast import luminance_at
from personalize.design.artwork_render import has_picture
from personalize.design.design import CUT_SHIFT_MM, Artwork, Design
from personalize.finding import Finding, Severity
from personalize.geometry.affine import Points
from personalize.geometry.path import Contour
from personalize.rules import Rule
from personalize.units import FLATTEN_MM

DARK = 0.1
"""Mean luminance under which ink is a dark solid. Common practice, no source."""
EDGE_STEP = 0.2
"""Difference of luminance that an eye takes for an edge. Judgement."""
EDGE_SHARE = 0.5
"""Part of a crease along which there must be an edge to tell of it. Judgement."""
_STEP_MM = 0.5
_ACROSS = np.array([-0.7, -0.35, 0.0, 0.35, 0.7])
_BEYOND_MM = 1.0
"""Looked at on both sides of the crease: past what a fold may be off."""


def paper_findings(design: Design) -> Iterator[Finding]:
    """Tell what paper, blade and fold make of a design."""
    yield from _margins(design)
    if design.creases:
        for version, art in design.artworks.items():
            if has_picture(art.svg):
                for crease in design.creases:
                    yield from _crease(design, version, art, crease)


def _margins(design: Design) -> Iterator[Finding]:
    margins = [("outline", design.margins.outline)]
    margins += [("hole", design.margins.hole)] if design.holes else []
    for name, mm in margins:
        if design.panels and mm < CUT_SHIFT_MM:
            yield Finding(
                Rule.NARROW_MARGIN,
                Severity.WARNING,
                f"Words keep {mm:g} mm from the {name}, and a cut may be {CUT_SHIFT_MM:g}"
                " mm off: it could go through them.",
                f"Write {name} = 1.5 or more under [margins].",
                figures={"margin_mm": mm, "cut_shift_mm": CUT_SHIFT_MM},
            )


def _crease(
    design: Design, version: str, art: Artwork, crease: Contour
) -> Iterator[Finding]:
    at, across = _along(crease)
    if not len(at):
        return
    band = [luminance_at(art, at + across * mm) for mm in _ACROSS]
    mean = float(np.mean(band))
    whose = f" of version {version!r}" if version else ""
    x0, _, _, y1 = design.box_mm
    x, y = at[len(at) // 2]
    where = f"{x - x0:.0f} mm from the left and {y1 - y:.0f} mm from the top of the piece"
    figures = {"x_mm": round(float(x), 3), "y_mm": round(float(y), 3)}
    if mean < DARK:
        yield Finding(
            Rule.DARK_CREASE,
            Severity.NOTE,
            f"The picture{whose} is dark along the crease {where}: dark ink cracks where"
            " paper is folded.",
            "Lighten it there, or score the paper well before you fold it.",
            figures={**figures, "luminance": round(mean, 4)},
        )
    left = luminance_at(art, at - across * _BEYOND_MM)
    right = luminance_at(art, at + across * _BEYOND_MM)
    # An edge that runs along the crease: both sides are even by themselves and unlike.
    unlike = np.abs(left - right) > EDGE_STEP
    even = np.abs(left - luminance_at(art, at - across * 2 * _BEYOND_MM)) < EDGE_STEP / 2
    even &= np.abs(right - luminance_at(art, at + across * 2 * _BEYOND_MM)) < EDGE_STEP / 2
    share = float((unlike & even).mean())
    if share >= EDGE_SHARE:
        yield Finding(
            Rule.COLOUR_EDGE_ON_CREASE,
            Severity.WARNING,
            f"Two colours of the picture{whose} meet on the crease {where}. A fold"
            f" {CUT_SHIFT_MM:g} mm off shows a line of the one beside the other.",
            "Let one colour run a millimetre or two over the crease, or fade them.",
            figures={**figures, "share": round(share, 3)},
        )


def _along(crease: Contour) -> tuple[Points, Points]:
    """Places along a crease, and the direction across it at each."""
    points = crease.flattened(FLATTEN_MM)
    if crease.closed:
        points = np.concatenate([points, points[:1]])
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    total = float(lengths.sum())
    if total < 4 * _STEP_MM:
        return np.empty((0, 2)), np.empty((0, 2))
    # The ends lie on the outline, where there may be no picture any more.
    reached = np.arange(_STEP_MM, total - _STEP_MM, _STEP_MM)
    edge = np.searchsorted(np.cumsum(lengths), reached)
    rest = reached - (np.cumsum(lengths) - lengths)[edge]
    along = steps[edge] / lengths[edge, None]
    return points[edge] + along * rest[:, None], along[:, ::-1] * (-1.0, 1.0)
