"""Edge colours of artwork continued into the bleed, for drawings that end at the outline.

A picture under the artwork: each of its pixels in the bleed has the colour that the artwork
shows at the nearest place of the outline. Even edges look as if drawn on; a pattern becomes
streaks, which is why a maker has to ask for it.
"""

import math
from collections.abc import Sequence

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from personalize.design.artwork import Box
from personalize.design.artwork_parts import image_of
from personalize.design.artwork_render import render_artwork
from personalize.design.png import png_pixels
from personalize.fonts.cut_down import PartOfFont
from personalize.geometry.affine import Points
from personalize.geometry.path import Contour, segment_pairs
from personalize.units import FLATTEN_MM, MM_PER_INCH

PX_PER_INCH = 300.0
"""What print asks of photos (common practice, no source)."""
MOST_PIXELS = 16_000_000
"""Of a page looked at; an A3 page has 17 million at 300 px to the inch. Larger ones are
drawn coarser."""
INSIDE_MM = 0.3
"""How far inside the outline a colour is taken: past what is smoothed at the edge."""
_UNDER_MM = 0.5
"""How far the picture reaches in under the artwork, so that no hairline is left between."""
_AT_ONCE = 2_000_000


def with_edge_extended(
    svg: bytes, box_mm: Box, outline: Contour, bleed_mm: float, fonts: Sequence[PartOfFont]
) -> bytes:
    """Lay a picture of continued edge colours under an artwork.

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
    pixels = png_pixels(render_artwork(svg, px_per_mm, fonts=fonts))
    high, wide = pixels.shape[:2]
    size = np.array([(x1 - x0) / wide, (y1 - y0) / high])
    ring = outline.flattened(FLATTEN_MM)
    rows, columns = np.divmod(np.arange(high * wide), wide)
    near = _near(ring, (high, wide), box_mm, bleed_mm + 1 / px_per_mm)
    at = np.flatnonzero(near)
    middles = np.stack(
        [x0 + (columns[at] + 0.5) * size[0], y1 - (rows[at] + 0.5) * size[1]], axis=1
    )
    edge, outward = _onto(middles, ring)
    beyond = ((middles - edge) * outward).sum(axis=1)
    wanted = beyond > -_UNDER_MM
    at, edge, outward = at[wanted], edge[wanted], outward[wanted]
    source = edge - outward * INSIDE_MM
    from_row = np.clip(((y1 - source[:, 1]) / size[1]).astype(int), 0, high - 1)
    from_column = np.clip(((source[:, 0] - x0) / size[0]).astype(int), 0, wide - 1)
    under = np.zeros((high * wide, 4), np.uint8)
    under[at] = pixels[from_row, from_column]
    root = etree.fromstring(svg)
    root.insert(0, image_of(under.reshape(high, wide, 4), (0, 0, x1 - x0, y1 - y0)))
    return etree.tostring(root, encoding="utf-8", xml_declaration=True)


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


def _onto(points: Points, ring: Points) -> tuple[Points, Points]:
    """Give for each point the nearest one on a ring, and the way outward there.

    At a corner the way is that from the corner to the point, so that each pixel looks back
    along its own line.
    """
    starts, ends = segment_pairs(ring, closed=True)
    along = ends - starts
    square = np.maximum((along**2).sum(axis=1), 1e-18)
    x, y = ring.T
    turn = 1.0 if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0 else -1.0
    normals = turn * np.stack([along[:, 1], -along[:, 0]], axis=1)
    normals /= np.sqrt(square)[:, None]
    edge, outward = np.empty_like(points), np.empty_like(points)
    step = max(1, _AT_ONCE // len(ring))
    for first in range(0, len(points), step):
        part = points[first : first + step]
        rel = part[:, None, :] - starts
        share = np.clip((rel * along).sum(axis=2) / square, 0, 1)
        away = rel - share[..., None] * along
        best = (away**2).sum(axis=2).argmin(axis=1)
        nth = np.arange(len(part))
        edge[first : first + step] = starts[best] + share[nth, best, None] * along[best]
        outward[first : first + step] = normals[best]
    apart = points - edge
    length = np.hypot(*apart.T)
    outside = ((apart * outward).sum(axis=1) > 0) & (length > 1e-6)
    outward[outside] = apart[outside] / length[outside, None]
    return edge, outward
