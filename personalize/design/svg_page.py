"""Size of a drawing's page, and how its user units lie on it."""

from dataclasses import dataclass

from lxml import etree

from personalize.design.svg_lengths import PHYSICAL, Viewport, length
from personalize.design.svg_style import declared
from personalize.design.svg_tree import Tree
from personalize.design.svg_values import fit_view_box, origin, transform, view_box
from personalize.errors import refuse
from personalize.geometry.affine import IDENTITY, Affine, translation
from personalize.units import MM_PER_PX

FAR_MM = 100_000.0
"""Farthest coordinate that counts as part of a drawing: 100 m. Beyond it a curve would
need millions of chords; no piece of paper is there."""
LEAST_MM = 0.01
"""Least side of a drawing: what two files of a run may disagree by."""
_DEFAULT_PX = (300.0, 150.0)
"""Size of a drawing that states none: CSS 2 section 10.3.2, as browsers have it."""


@dataclass(frozen=True, slots=True)
class Page:
    """Size of the root viewport in CSS pixels, and the map of user units into it."""

    width_px: float
    height_px: float
    stated: bool
    """Whether the size comes from physical units."""
    inner: Affine
    viewport: Viewport
    """What percentages inside refer to."""


def read_page(tree: Tree, name: str) -> Page:
    """Size the root viewport: SVG 2 section 8.2 and CSS sizing of replaced elements.

    Raises InputError when there is no usable size.
    """
    root = tree.elements[0]
    own = declared(root, tree.css[0])
    box = view_box(root.get("viewBox"))
    sides = [_side(root, own, key) for key in ("width", "height")]
    known = [side for side in sides if side is not None]
    if any(side <= 0 for side, _ in known) or (box is not None and 0 in box[2:]):
        raise refuse(name, "the drawing has no area.", "Give it a width and a height.")
    if box is not None:
        width, height = _with_box(sides, (box[2], box[3]))
    else:
        width, height = (
            default if side is None else side[0]
            for side, default in zip(sides, _DEFAULT_PX, strict=True)
        )
    if min(width, height) * MM_PER_PX < LEAST_MM:
        raise refuse(name, "the drawing is under 0.01 mm small.", "Scale it up.")
    if not max(width, height) * MM_PER_PX < FAR_MM:
        raise refuse(name, "the drawing is over 100 m large.", "Scale it down.")
    inner, viewport = IDENTITY, Viewport(width, height)
    if box is not None:
        viewport = Viewport(box[2], box[3])
        try:
            inner = fit_view_box(box, (width, height), root.get("preserveAspectRatio"))
        except ValueError:
            raise refuse(name, "its viewBox is far too small.", "Scale it up.") from None
    needed = 1 if box is not None else 2
    stated = len(known) >= needed and all(unit in PHYSICAL for _, unit in known)
    return Page(width, height, stated, inner, viewport)


_Side = tuple[float, str] | None


def _side(root: etree._Element, own: dict[str, str], key: str) -> _Side:
    """Give a side of the root in px with its unit; None for auto or a percentage.

    A style sheet that fits the drawing to a window says nothing about paper, so the
    attribute is asked too when CSS gives no fixed length.
    """
    for text in (own.get(key), root.get(key)):
        one = length(text)
        value = None
        if one is not None and not one.is_shared:
            value = Viewport(0, 0).px(one, "x")
        if one is not None and value is not None:
            return value, one.unit
    return None


def _with_box(sides: list[_Side], box: tuple[float, float]) -> tuple[float, float]:
    """Fill in a side that is not given from the proportions of the viewBox."""
    width, height = sides
    if width is not None and height is not None:
        return width[0], height[0]
    if width is not None:
        return width[0], width[0] * box[1] / box[0]
    if height is not None:
        return height[0] * box[0] / box[1], height[0]
    return box


def root_transform(tree: Tree, page: Page) -> Affine:
    """Give the root's own transform, brought to its user units.

    It acts on the whole viewport, in px; its origin is the corner unless CSS says else.
    """
    own = declared(tree.elements[0], tree.css[0])
    viewport = Viewport(page.width_px, page.height_px)
    matrix = transform(own.get("transform"), viewport) or IDENTITY
    if matrix == IDENTITY:
        return IDENTITY
    box = (0.0, 0.0, page.width_px, page.height_px)
    x, y = origin(own.get("transform-origin"), box, viewport) or (0.0, 0.0)
    return (
        page.inner.inverse() @ translation(x, y) @ matrix @ translation(-x, -y) @ page.inner
    )
