"""Which lines inside a piece are likely to be slits, and which shapes text areas."""

from collections.abc import Sequence

from personalize.design.svg import Shape
from personalize.geometry.affine import Points
from personalize.geometry.chains import chained, closed_up
from personalize.geometry.path import signed_area
from personalize.geometry.zone import Region, crossing, distance_mm
from personalize.units import FLATTEN_MM

REACH_MM = 3.0
"""An open line that ends this near to an edge is taken to be meant to reach it."""
MOST_SLITS = 20
"""More open lines than that, drawn like the outline, are a drawing."""


def slits_among(group: Sequence[Shape], regions: Sequence[Region]) -> frozenset[int] | None:
    """Find the lines, drawn like the outline, that do not run from edge to edge.

    None where there are so many that they are a drawing.
    """
    runs = [
        (shape.key, points)
        for shape in group
        for contour in shape.contours
        if len(points := contour.flattened(FLATTEN_MM)) > 1
    ]
    chains = [line for line, _ in chained([points for _, points in runs])]
    if not regions or len(chains) > MOST_SLITS:
        return None
    rings = [ring for region in regions for ring in region.rings()]
    folds: set[int] = set()
    for _ in chains:  # a crease may end at one that was found in the last round
        anchors = [chains[i] for i in folds]
        more = {
            i
            for i, line in enumerate(chains)
            if all(
                min(distance_mm(rings, end), distance_mm(anchors, end, closed=False))
                <= REACH_MM
                for end in (_point(line[0]), _point(line[-1]))
            )
        }
        if more == folds:
            break
        folds = more
    through = [chains[i] for i in folds]
    return frozenset(
        key
        for key, points in runs
        if distance_mm(through, _point(points[0]), closed=False) > _ON_MM
        or distance_mm(through, _point(points[-1]), closed=False) > _ON_MM
    )


_ON_MM = 1e-6


def _point(at: Points) -> tuple[float, float]:
    return (float(at[0]), float(at[1]))


def is_text_area(shape: Shape) -> bool:
    """Whether a shape can be one that words stay in: one closed line round some room."""
    shut = [closed_up(contour) for contour in shape.contours]
    if len(shut) != 1 or not shut[0].closed:
        return False
    ring = shut[0].flattened(FLATTEN_MM)
    if len(ring) < 3 or crossing(ring) is not None:
        return False
    x0, y0, x1, y1 = shut[0].bounds()
    area = abs(signed_area(ring))
    return area >= _ROOM_MM2 and 2 * area >= (x1 - x0) * (y1 - y0)


_ROOM_MM2 = 20.0
"""A smaller shape has no room for words (4 x 5 mm)."""
