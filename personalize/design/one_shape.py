"""One closed shape of a drawing, by a selector: the area of a picture or of a text."""

from personalize.design.selectors import no_selector
from personalize.design.svg import SvgDocument
from personalize.errors import InputError, refuse
from personalize.geometry.chains import closed_up
from personalize.geometry.path import Contour, signed_area
from personalize.geometry.zone import crossing
from personalize.units import FLATTEN_MM

LEAST_MM2 = 1.0
"""A smaller shape is a slip of the pen: nothing can be seen in it."""
_DO = "Name one closed shape, such as a rectangle or a circle."


def closed_shape(drawing: SvgDocument, selector: str, place: str) -> tuple[int, Contour]:
    """Find the closed shape that ``area = "..."`` names: its key and its edge.

    Raises InputError, at `place`, when there is not just one, or it encloses no area.
    """
    try:
        keys = drawing.select(selector)
    except ValueError:
        raise InputError(no_selector(selector, place)) from None
    found = [
        (shape.key, closed_up(contour))
        for shape in drawing.shapes
        if shape.key in keys
        for contour in shape.contours
    ]
    if len(found) != 1 or not found[0][1].closed:
        what = f"{len(found)} lines" if len(found) != 1 else "an open line"
        raise refuse(place, f"area = {selector!r} names {what} in {drawing.name}.", _DO)
    _refuse_no_area(found[0][1], drawing, selector, place)
    return found[0]


def _refuse_no_area(
    contour: Contour, drawing: SvgDocument, selector: str, place: str
) -> None:
    ring = contour.flattened(FLATTEN_MM)
    at = crossing(ring) if len(ring) > 2 else None
    if at is not None:
        x, y = at
        raise refuse(
            place,
            f"area = {selector!r} names a line that crosses itself at {x:.1f} mm across,"
            f" {drawing.height_mm - y:.1f} mm down.",
            _DO,
        )
    if len(ring) < 3 or abs(signed_area(ring)) < LEAST_MM2:
        says = f"area = {selector!r} names a shape of less than {LEAST_MM2:g} mm2."
        raise refuse(place, says, _DO)
