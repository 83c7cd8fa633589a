"""Where a row's own picture goes on the piece."""

from collections.abc import Sequence

from personalize.design.design import Panel, PictureArea
from personalize.design.one_shape import closed_shape
from personalize.design.spec import PictureSpec
from personalize.design.svg import SvgDocument
from personalize.errors import refuse
from personalize.geometry.path import Contour, polyline
from personalize.geometry.zone import Region, common, region_of
from personalize.units import FLATTEN_MM


def picture_edge(drawing: SvgDocument, spec: PictureSpec) -> Contour:
    """Find the edge of the area: a shape of the drawing, or a box.

    Raises InputError when there is not just one closed shape, or it encloses no area.
    """
    if spec.box is not None:
        left, top, width, height = spec.box
        corners = [
            (left, top + height),
            (left + width, top + height),
            (left + width, top),
            (left, top),
        ]
        return polyline([drawing.point_mm(x, y) for x, y in corners], closed=True)
    return closed_shape(drawing, spec.area or "", spec.place)[1]


def picture_owner(spec: PictureSpec, edge: Contour, pieces: Sequence[Region]) -> int:
    """Tell which of some pieces the area lies in. Raises InputError where in none.

    With one piece alone it is that one's, wherever it lies: `placed_area` looks after that.
    """
    if len(pieces) == 1:
        return 0
    region = region_of(edge.flattened(FLATTEN_MM))
    shares = [sum(part.area_mm2 for part in common(region, one)) for one in pieces]
    if max(shares) <= 0:
        raise refuse(
            spec.place,
            "the area of the picture lies outside every piece, so it is never seen.",
            "Give an area inside an outline, in mm from the drawing's top left corner.",
        )
    return shares.index(max(shares))


def placed_area(
    spec: PictureSpec, edge: Contour, panels: Sequence[Panel], printed: Region
) -> PictureArea:
    """Give the area; its picture stands as the words of its panel do.

    Raises InputError when nothing of it lies where the piece is `printed`.
    """
    region = region_of(edge.flattened(FLATTEN_MM))
    if not common(region, printed):
        raise refuse(
            spec.place,
            "the area of the picture lies outside the piece, so it is never seen.",
            "Give an area inside the outline, in mm from the drawing's top left corner.",
        )
    middle = region.centroid
    turns = [panel.turn_deg for panel in panels if panel.region.contains(middle)]
    told = spec.turn_deg
    turn = told if told is not None else turns[0] if turns else 0.0
    return PictureArea(edge, spec.fit, turn, spec.words == "beside")
