"""Edge colours of artwork continued into the bleed, for drawings that end at the outline.

A picture over the artwork: where that ends, each pixel of the bleed has the colour that the
artwork shows at the nearest place of the outline. It laps the end of the artwork by a hair,
since what is smoothed there has paper or a lower layer in it, and would be seen as a seam.
Even edges look as if drawn on; a pattern becomes streaks, which is why a maker has to ask.
"""

import math
from collections.abc import Sequence

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from personalize.design.artwork import Box
from personalize.design.artwork_parts import image_of
from personalize.design.artwork_render import render_artwork
from personalize.design.bleed import grown_by_one
from personalize.design.png import png_pixels
from personalize.fonts.cut_down import PartOfFont
from personalize.geometry.affine import Points
from personalize.geometry.path import Contour, segment_pairs
from personalize.geometry.zone import keep_away, region_of
from personalize.units import FLATTEN_MM, MM_PER_INCH

PX_PER_INCH = 300.0
"""What print asks of photos (common practice, no source)."""
MOST_PIXELS = 16_000_000
"""Of a page looked at; an A3 page has 17 million at 300 px to the inch. Larger ones are
drawn coarser."""
INSIDE_MM = 0.3
"""How far inside the outline a colour is taken: past what is smoothed at the edge."""
_LAP_PX = 2
"""How far the picture laps the artwork: 0.17 mm at 300 px to the inch. An end that is
smoothed takes a pixel, of this picture or of a coarser screen."""
_DEPTH_MM = 0.15
"""From one look across the bleed to the next."""
_INK = 12
"""How far a colour on paper must be from white, of 255: less is not seen."""
_AT_ONCE = 2_000_000


def with_edge_extended(
    svg: bytes, box_mm: Box, outline: Contour, bleed_mm: float, fonts: Sequence[PartOfFont]
) -> bytes:
    """Lay a picture of continued edge colours over the bleed that an artwork leaves bare.

    White is paper, drawn or not.

    Parameters
    ----------
    svg
        The artwork, whose page is `box_mm` of the piece.
    outline
        The knife's line, closed.
    bleed_mm
        How far its colours are continued.
    fonts
        Of its text.
    """
    x0, y0, x1, y1 = box_mm
    px_per_mm = min(
        PX_PER_INCH / MM_PER_INCH, math.sqrt(MOST_PIXELS / ((x1 - x0) * (y1 - y0)))
    )
    page = _Page(_on_paper(png_pixels(render_artwork(svg, px_per_mm, fonts=fonts))), box_mm)
    ring = outline.flattened(FLATTEN_MM)
    at = np.flatnonzero(_near(ring, page.size, box_mm, bleed_mm + 1 / px_per_mm))
    middles = page.middles(at)
    source = page.cell(_nearest(middles, _inset(ring))[0])
    inked = page.ink[source]
    ended = page.marked(at, _bare(page, at, _onto(middles, ring), bleed_mm) & inked)
    for _ in range(_LAP_PX):
        ended = grown_by_one(ended)
    over = np.zeros((*page.size, 4), np.uint8)
    # Colours are also given where nothing is seen: programs mix them in at its edge.
    over.reshape(-1, 4)[at, :3] = page.pixels[source]
    over[page.marked(at, ended.ravel()[at] & inked), 3] = 255
    root = etree.fromstring(svg)
    root.append(image_of(over, (0, 0, x1 - x0, y1 - y0)))
    return etree.tostring(root, encoding="utf-8", xml_declaration=True)


class _Page:
    """The artwork as pixels, and where they lie on the piece."""

    def __init__(self, pixels: NDArray[np.uint8], box_mm: Box) -> None:
        self.pixels, self.ink = pixels, pixels.min(axis=2) < 255 - _INK
        self.size = self.ink.shape
        self._left, bottom, right, self._top = box_mm
        high, wide = self.size
        self._step = ((right - self._left) / wide, (self._top - bottom) / high)

    def middles(self, at: NDArray[np.int_]) -> Points:
        """Give the middles of pixels, which are numbered row by row, in piece mm."""
        rows, columns = np.divmod(at, self.size[1])
        across, down = self._step
        x, y = self._left + (columns + 0.5) * across, self._top - (rows + 0.5) * down
        return np.stack([x, y], axis=1)

    def cell(self, points: Points) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
        """Give rows and columns of the pixels that points lie in, or nearest to them."""
        row = ((self._top - points[:, 1]) / self._step[1]).astype(int)
        column = ((points[:, 0] - self._left) / self._step[0]).astype(int)
        return row.clip(0, self.size[0] - 1), column.clip(0, self.size[1] - 1)

    def marked(self, at: NDArray[np.int_], mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Mark those of some pixels that a mask chooses, on the whole page."""
        out = np.zeros(self.size, bool)
        out.ravel()[at[mask]] = True
        return out


def _bare(
    page: _Page, at: NDArray[np.int_], onto: tuple[Points, Points], bleed_mm: float
) -> NDArray[np.bool_]:
    """Tell pixels past the outline beyond which, straight outward, nothing is drawn.

    What is drawn further out is the artwork's own, and so is what it leaves white in it.
    Across a notch lies the piece again: there a look ends.
    """
    edge, outward = onto
    beyond = ((page.middles(at) - edge) * outward).sum(axis=1)
    inside = page.marked(at, beyond <= 0)
    bare: NDArray[np.bool_] = beyond > 0
    free = bare.copy()
    for depth in np.arange(_DEPTH_MM, bleed_mm, _DEPTH_MM):
        there = page.cell(edge + outward * depth)
        free &= ~inside[there]
        bare &= (depth < beyond) | ~free | ~page.ink[there]
    return bare


def _on_paper(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Give colours as white paper shows them, so that they may lie over what is clear."""
    alpha = pixels[:, :, 3:].astype(np.uint16)
    seen = (pixels[:, :, :3] * alpha + 255 * (255 - alpha) + 127) // 255
    return seen.astype(np.uint8)


def _near(
    ring: Points, size: tuple[int, int], box_mm: Box, within_mm: float
) -> NDArray[np.bool_]:
    """Mark the pixels whose coarse cell comes near a ring, flattened from the top left."""
    high, wide = size
    x0, y0, x1, y1 = box_mm
    cell = within_mm / 2
    columns, rows = math.ceil((x1 - x0) / cell), math.ceil((y1 - y0) / cell)
    hit = np.zeros((rows + 6, columns + 6), bool)
    starts, ends = segment_pairs(ring, closed=True)
    for start, end in zip(starts, ends, strict=True):
        count = 2 + int(np.hypot(*(end - start)) / cell * 2)
        points = start + (end - start) * np.linspace(0, 1, count)[:, None]
        across = np.clip((points[:, 0] - x0) / cell, 0, columns - 1).astype(int)
        down = np.clip((y1 - points[:, 1]) / cell, 0, rows - 1).astype(int)
        hit[down + 3, across + 3] = True
    grown = np.zeros_like(hit)
    for dy in range(-3, 4):
        for dx in range(-3, 4):
            grown |= np.roll(hit, (dy, dx), (0, 1))
    row_of = ((np.arange(high) + 0.5) * (y1 - y0) / high / cell).astype(int) + 3
    column_of = ((np.arange(wide) + 0.5) * (x1 - x0) / wide / cell).astype(int) + 3
    near: NDArray[np.bool_] = grown[np.ix_(row_of, column_of)].ravel()
    return near


def _inset(ring: Points) -> list[Points]:
    """Give the rings that lie `INSIDE_MM` inside another; it itself where it is thinner."""
    parts = keep_away(region_of(ring), [(ring, True, INSIDE_MM)])
    return [own for part in parts for own in part.rings()] or [ring]


def _onto(points: Points, ring: Points) -> tuple[Points, Points]:
    """Give for each point the nearest one on a ring, and the way outward there.

    At a corner the way is that from the corner to the point. Whether that is outward, the
    mean of its two sides tells (a sharp one lies behind one of them).
    """
    starts, ends = segment_pairs(ring, closed=True)
    along = ends - starts
    x, y = ring.T
    turn = 1.0 if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0 else -1.0
    normals = turn * np.stack([along[:, 1], -along[:, 0]], axis=1)
    normals /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    edge, best = _nearest(points, [ring])
    outward = normals[best].copy()
    for corner, beside in ((starts, 1), (ends, -1)):
        there = (np.abs(edge - corner[best]) < 1e-9).all(axis=1)
        outward[there] += np.roll(normals, beside, axis=0)[best[there]]
    outward /= np.maximum(np.hypot(*outward.T), 1e-9)[:, None]
    apart = points - edge
    length = np.hypot(*apart.T)
    outside = ((apart * outward).sum(axis=1) > 0) & (length > 1e-6)
    outward[outside] = apart[outside] / length[outside, None]
    return edge, outward


def _nearest(points: Points, rings: Sequence[Points]) -> tuple[Points, NDArray[np.int_]]:
    """Give for each point the nearest one on some rings, and on which segment it lies."""
    pairs = [segment_pairs(ring, closed=True) for ring in rings]
    starts = np.concatenate([pair[0] for pair in pairs])
    along = np.concatenate([pair[1] for pair in pairs]) - starts
    square = np.maximum((along**2).sum(axis=1), 1e-18)
    edge, segment = np.empty_like(points), np.empty(len(points), int)
    step = max(1, _AT_ONCE // len(starts))
    for first in range(0, len(points), step):
        part = points[first : first + step]
        rel = part[:, None, :] - starts
        share = np.clip((rel * along).sum(axis=2) / square, 0, 1)
        away = rel - share[..., None] * along
        best = (away**2).sum(axis=2).argmin(axis=1)
        nth = np.arange(len(part))
        edge[first : first + step] = starts[best] + share[nth, best, None] * along[best]
        segment[first : first + step] = best
    return edge, segment
