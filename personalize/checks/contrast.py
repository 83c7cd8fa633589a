"""How well words stand out from the artwork under them.

WCAG 2.2, "relative luminance" and "contrast ratio". It is a formula for screens: for print
it is a hint. The artwork is drawn once for each version, on white paper; a row's own
picture lies over it.
"""

import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from personalize.checks.strokes import ink_points, inside
from personalize.design.artwork_render import render_artwork
from personalize.design.chosen import Chosen, Picture
from personalize.design.design import Artwork, Design, Panel, PictureArea
from personalize.design.pictures import seen_pixels
from personalize.design.png import png_pixels
from personalize.design.style import Colour
from personalize.geometry.affine import Points
from personalize.geometry.zone import Region
from personalize.type.compose import ComposedText
from personalize.units import FLATTEN_MM

PX_PER_MM = 4.0
"""Pixels per mm in which the artwork is looked at: half a thin stroke of a small letter."""
LEAST_RATIO, LEAST_LARGE_RATIO = 4.5, 3.0
"""WCAG 2.2, success criterion 1.4.3; no rounding up."""
LARGE_PT, LARGE_BOLD_PT = 18.0, 14.0
"""The same, "large scale"."""
NEARLY_ALL = 0.9
"""So much of a zone makes it certain that some of any text is too faint. Judgement."""
_DRAWN = re.compile(
    rb"<(?:\w+:)?(?:path|rect|circle|ellipse|line|polyline|polygon|text|image|use)\b"
)
_BOLD = ("bold", "black", "heavy")

Floats = NDArray[np.float64]
_Pixel = tuple[NDArray[np.int_], NDArray[np.int_]]


def contrast(one: float, other: float) -> float:
    """Contrast ratio of two luminances, 1 to 21.

    >>> round(contrast(Colour(1, 1, 1).luminance, Colour(0, 0, 0).luminance), 3)
    21.0
    """
    return (max(one, other) + 0.05) / (min(one, other) + 0.05)


@lru_cache(maxsize=16)
def luminances(art: Artwork) -> Floats:
    """Luminance of artwork on white paper, from the top left: (rows, columns)."""
    return _luminance(_levels(art))


@lru_cache(maxsize=4)
def _levels(art: Artwork) -> Floats:
    """Red, green and blue of artwork on white paper, 0 to 1: (rows, columns, 3)."""
    if _DRAWN.search(art.svg) is None:
        # Plain paper, without the renderer's start.
        return np.ones((1, 1, 3))
    pixels = png_pixels(render_artwork(art.svg, PX_PER_MM, name=art.file, fonts=art.fonts))
    return _over(pixels, np.ones(3))


def _over(pixels: NDArray[np.uint8], ground: Floats) -> Floats:
    """Lay pixels with alpha over a ground."""
    alpha = pixels[..., 3:] / 255
    out: Floats = pixels[..., :3] / 255 * alpha + ground * (1 - alpha)
    return out


def _luminance(levels: Floats) -> Floats:
    linear = np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)
    out: Floats = linear @ np.array([0.2126, 0.7152, 0.0722])
    return out


def luminance_at(art: Artwork, points: Points) -> Floats:
    """Luminance of the artwork at points of the piece, shape (n,)."""
    seen = luminances(art)
    out: Floats = seen[_pixel(art, points, seen.shape)]
    return out


def _pixel(art: Artwork, points: Points, shape: tuple[int, ...]) -> _Pixel:
    x0, y0, x1, y1 = art.box_mm
    rows, columns = shape[:2]
    column = ((points[:, 0] - x0) / (x1 - x0) * columns).astype(int)
    row = ((y1 - points[:, 1]) / (y1 - y0) * rows).astype(int)
    return np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)


def _within_picture(area: PictureArea, points: Points) -> NDArray[np.bool_]:
    """Whether points lie in the area of a row's picture."""
    ring = area.contour.flattened(FLATTEN_MM)
    return inside(points, ring, np.roll(ring, -1, axis=0))


def luminance_under(
    art: Artwork, picture: Picture | None, area: PictureArea | None, points: Points
) -> Floats:
    """Luminance of what is printed at points: the artwork, and the picture over it."""
    seen = luminance_at(art, points)
    if picture is None or area is None:
        return seen
    place = picture.place.inverse().many(points)
    on = ((place >= 0) & (place < 1)).all(axis=1) & _within_picture(area, points)
    if not on.any():
        return seen
    pixels = seen_pixels(picture.path, round(picture.width_mm * PX_PER_MM))
    rows, columns, _ = pixels.shape
    across, up = place[on].T
    own = pixels[
        ((1 - up) * rows).astype(int).clip(0, rows - 1), (across * columns).astype(int)
    ]
    levels = _levels(art)
    seen[on] = _luminance(_over(own, levels[_pixel(art, points[on], levels.shape)]))
    return seen


def least_ratio(text: ComposedText) -> float:
    """Ratio that a text needs: large letters need less."""
    bold = any(word in text.font.casefold() for word in _BOLD)
    large = text.size_pt >= (LARGE_BOLD_PT if bold else LARGE_PT)
    return LEAST_LARGE_RATIO if large else LEAST_RATIO


@dataclass(frozen=True, slots=True)
class Ground:
    """What a colour meets in the safe zone of a panel."""

    clear: bool
    """It stands out everywhere: no text need be looked at."""
    faint: bool
    """Hardly anywhere, whatever the size: no text need be looked at either."""
    share: float
    """Part of the zone that is too faint for small letters."""
    ratio: float
    """Contrast in the middle of what is seen."""
    picture: str
    """The row's own picture, where words may lie on it."""


class Contrast:
    """Looks at the words of one design on its artwork."""

    def __init__(self, design: Design) -> None:
        self._design = design
        self._grounds: dict[tuple[str, str, str, Picture | None], Ground] = {}
        self._zones: dict[str, tuple[Points, bool]] = {}

    def ground(self, panel: Panel, chosen: Chosen, colour: Colour) -> Ground:
        """Look at a whole safe zone, once for each colour, version and picture."""
        points, pictured = self._zone(panel)
        picture = chosen.picture if pictured else None
        key = (panel.name, chosen.version_name, colour.css, picture)
        if key not in self._grounds:
            art = self._design.artwork_of(chosen.version_name)
            under = luminance_under(art, picture, self._design.picture, points)
            ratios = _ratios(colour.luminance, under)
            if panel.style.rim is not None:
                rim = panel.style.rim.colour or colour.opposite
                own = contrast(colour.luminance, rim.luminance)
                ratios = np.maximum(ratios, own)
            self._grounds[key] = Ground(
                bool((ratios >= LEAST_RATIO).all()),
                bool((ratios < LEAST_LARGE_RATIO).mean() >= NEARLY_ALL),
                float((ratios < LEAST_RATIO).mean()),
                float(np.median(ratios)),
                picture.file if picture is not None else "",
            )
        return self._grounds[key]

    def _zone(self, panel: Panel) -> tuple[Points, bool]:
        """Give places in a safe zone, and whether a row's picture may lie under some."""
        if panel.name not in self._zones:
            points, area = _within(panel.zone), self._design.picture
            pictured = area is not None and bool(_within_picture(area, points).any())
            self._zones[panel.name] = (points, pictured)
        return self._zones[panel.name]

    def faint(self, text: ComposedText, chosen: Chosen) -> tuple[float, float]:
        """Give the share of a text's ink that is too faint, and how faint that is.

        The ratio is the median of what is too faint (the least of all where nothing is).

        Where it has a rim, the better of rim and artwork counts, as letters are read by
        their edges.
        """
        points = _ink(text)
        if not len(points):
            return 0.0, 21.0
        art = self._design.artwork_of(chosen.version_name)
        under = luminance_under(art, chosen.picture, self._design.picture, points)
        ratios = _ratios(text.colour.luminance, under)
        if text.rim is not None:
            own = contrast(text.colour.luminance, text.rim_colour.luminance)
            ratios = np.maximum(ratios, own)
        low = ratios[ratios < least_ratio(text)]
        faint = float(np.median(low)) if len(low) else float(ratios.min())
        return len(low) / len(ratios), faint


def _ratios(luminance: float, under: Floats) -> Floats:
    high, low = np.maximum(luminance, under), np.minimum(luminance, under)
    out: Floats = (high + 0.05) / (low + 0.05)
    return out


def _within(zone: Region) -> Points:
    """Give the middles of pixels in a safe zone; its middle where it has none."""
    x0, y0, x1, y1 = zone.box
    step = 1 / PX_PER_MM
    xs, ys = np.arange(x0, x1 + step, step), np.arange(y0, y1 + step, step)
    grid = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    rings = zone.rings()
    starts = np.concatenate(rings)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    parts = np.array_split(grid, max(1, len(grid) * len(starts) // 1_000_000))
    kept = np.concatenate([part[inside(part, starts, ends)] for part in parts])
    return kept if len(kept) else np.array([zone.centroid])


def _ink(text: ComposedText) -> Points:
    """Places under the ink of a text, on the flat piece."""
    parts = [
        text.line_to_piece(line).many(ink_points(run.font, gid) * run.scale + (x, y))
        for line in text.lines
        for run in line.shaped.runs
        for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True)
        if run.font.face.ink(gid) is not None and not run.font.face.layers(gid)
    ]
    return np.concatenate(parts) if parts else np.empty((0, 2))
