"""Where a row's own picture goes on the piece."""

from collections.abc import Sequence

from personalize.design.design import Panel, PictureArea
from personalize.design.spec import PictureSpec
from personalize.design.svg import SvgDocument
from personalize.errors import refuse
from personalize.geometry.chains import closed_up
from personalize.geometry.path import Contour, polyline, signed_area
from personalize.geometry.zone import Region, common, crossing, region_of
from personalize.units import FLATTEN_MM

LEAST_MM2 = 1.0
"""A smaller shape is a slip of the pen: no picture can be seen in it."""


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
    try:
        keys = drawing.select(spec.area or "")
    except ValueError:
        raise refuse(
            spec.place,
            f"{spec.area!r} is not a CSS selector.",
            'Write "#name" for an id or ".name" for a class.',
        ) from None
    contours = [
        closed_up(contour)
        for shape in drawing.shapes
        if shape.key in keys
        for contour in shape.contours
    ]
    if len(contours) != 1 or not contours[0].closed:
        found = f"{len(contours)} lines" if len(contours) != 1 else "an open line"
        raise refuse(
            spec.place,
            f"area = {spec.area!r} names {found} in {drawing.name}.",
            "Name one closed shape, such as a rectangle or a circle.",
        )
    _refuse_no_area(contours[0], drawing, spec)
    return contours[0]


def _refuse_no_area(contour: Contour, drawing: SvgDocument, spec: PictureSpec) -> None:
    ring = contour.flattened(FLATTEN_MM)
    at = crossing(ring) if len(ring) > 2 else None
    if at is not None:
        x, y = at
        raise refuse(
            spec.place,
            f"area = {spec.area!r} names a line that crosses itself at {x:.1f} mm across,"
            f" {drawing.height_mm - y:.1f} mm down.",
            "Name one closed shape, such as a rectangle or a circle.",
        )
    if len(ring) < 3 or abs(signed_area(ring)) < LEAST_MM2:
        raise refuse(
            spec.place,
            f"area = {spec.area!r} names a shape of less than {LEAST_MM2:g} mm2.",
            "Name one closed shape, such as a rectangle or a circle.",
        )


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
