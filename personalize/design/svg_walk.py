"""Which elements an SVG draws, where, and in what style: its render tree.

Follows ``g``, ``a``, ``switch``, ``use``, ``symbol`` and nested ``svg``; leaves out what
is not drawn by itself (definitions, hidden things). Coordinates are root user units,
y down.
"""

from dataclasses import dataclass, field, replace

from lxml import etree

from personalize.design.svg_lengths import Viewport, first_px
from personalize.design.svg_shapes import SHAPES, Contours, contours, shape_data
from personalize.design.svg_style import (
    PLACING,
    Declared,
    Inherited,
    declared,
    not_displayed,
)
from personalize.design.svg_tree import (
    BOX_STEPS,
    NO_BOX,
    Box,
    BoxKey,
    Clip,
    Link,
    Tree,
    conditions_hold,
)
from personalize.design.svg_values import (
    corner_of,
    fit_view_box,
    origin,
    single_transform,
    transform,
    view_box,
)
from personalize.design.svg_xml import local, local_urls
from personalize.geometry.affine import IDENTITY, Affine, Point, translation

GROUPS = frozenset({"svg", "g", "a", "switch"})
"""Elements whose children are drawn."""
_ART = frozenset({"text", "image"})
"""Elements that are drawn and have no outline of their own: artwork always."""
_DRAWN = GROUPS | SHAPES | _ART | {"use"}


@dataclass(frozen=True, slots=True)
class Leaf:
    """One thing that is drawn: a shape with contours, or artwork without."""

    way: Link
    contours: Contours | None
    to_root: Affine
    style: Inherited
    viewport: Viewport
    clips: tuple[Clip, ...] = ()
    """What bounds it: clip paths, and edges of viewports within the drawing."""


@dataclass(frozen=True, slots=True)
class Hidden:
    """An element that is left out though it stands where things are drawn."""

    element: int
    why: str


@dataclass(slots=True)
class Walk:
    """What one walk over the document has found."""

    leaves: list[Leaf] = field(default_factory=list)
    hidden: list[Hidden] = field(default_factory=list)
    traced: dict[tuple[int, Viewport], Contours] = field(default_factory=dict)
    """Contours read so far: an element that is used often is read once."""


@dataclass(frozen=True, slots=True)
class _Step:
    """An element still to visit, and what holds there.

    `size` is the width and height that a ``use`` lays on a symbol or svg.
    """

    element: int
    above: Link | None
    to_root: Affine
    style: Inherited
    viewport: Viewport
    size: tuple[str | None, str | None] | None = None
    clips: tuple[Clip, ...] = ()


def walk(tree: Tree, viewport: Viewport, root_map: Affine) -> Walk:
    """Visit everything that is drawn, in order.

    Parameters
    ----------
    tree
        The document; its links must have passed `svg_xml.check_expansion`.
    viewport
        Of the root: the size of its viewBox, or of itself without one.
    root_map
        The transform on the root element, in its own units.
    """
    found = Walk()
    first = tree.elements[0]
    own = declared(first, tree.css[0])
    if not_displayed(own):
        found.hidden.append(Hidden(0, "display: none"))
        return found
    if root_map.determinant == 0:
        return found
    style = Inherited().child(own)
    viewport = replace(viewport, font_px=style.font_px)
    steps = _children(tree, _Step(0, Link(0, None), root_map, style, viewport))
    steps.reverse()
    while steps:
        more = _visit(tree, steps.pop(), found)
        steps.extend(reversed(more))
    return found


def _children(tree: Tree, step: _Step) -> list[_Step]:
    """Give the steps to the children of an element, whose own link is ``step.above``."""
    return [
        replace(step, element=tree.place[child], size=None)
        for child in tree.elements[step.element]
    ]


def _visit(tree: Tree, step: _Step, found: Walk) -> list[_Step]:
    """Record an element that is drawn; give the steps below one that groups others."""
    element = tree.elements[step.element]
    own = declared(element, tree.css[step.element])
    if not _is_drawn(tree, step):
        return []
    if not_displayed(own):
        found.hidden.append(Hidden(step.element, "display: none"))
        return []
    entered = _entered(tree, own, step)
    if entered is None:
        return []
    step = _clipped(tree, own, entered)
    tag = local(element)
    if tag in SHAPES or tag in _ART:
        _leaf(element, own, step, found)
        return []
    return _below(tree, tag, own, replace(step, above=Link(step.element, step.above)))


def _is_drawn(tree: Tree, step: _Step) -> bool:
    element = tree.elements[step.element]
    tag = local(element)
    as_used = step.size is not None
    known = tag in _DRAWN or (tag == "symbol" and as_used)
    return known and conditions_hold(element)


def _entered(tree: Tree, own: Declared, step: _Step) -> _Step | None:
    """Go into an element's own units; None where nothing can be drawn in them."""
    style = step.style.child(own)
    viewport = replace(step.viewport, font_px=style.font_px)
    step = replace(step, style=style, viewport=viewport)
    here = element_map(tree, step.element, own, viewport, style)
    if here is None or here.determinant == 0:
        return None
    try:
        if local(tree.elements[step.element]) == "use":
            here = here @ corner_of(own, viewport)
        return replace(step, to_root=step.to_root @ here)
    except ValueError:
        return None  # the products overflow


def _leaf(element: etree._Element, own: Declared, step: _Step, found: Walk) -> None:
    tag = local(element)
    if not step.style.visible:
        if tag in SHAPES:
            found.hidden.append(Hidden(step.element, "visibility: hidden"))
        return
    drawn = None
    if tag in SHAPES:
        key = (step.element, step.viewport)
        if key not in found.traced:
            data = shape_data(tag, element, own)
            found.traced[key] = contours(tag, own, data, step.viewport) or ()
        drawn = found.traced[key]
        if not drawn:
            return
    way = Link(step.element, step.above)
    found.leaves.append(
        Leaf(way, drawn, step.to_root, step.style, step.viewport, step.clips)
    )


def _below(tree: Tree, tag: str, own: Declared, step: _Step) -> list[_Step]:
    """Give the steps from a group, use, symbol or nested svg to what it draws."""
    if tag == "use":
        return _used(tree, own, step)
    if tag in ("svg", "symbol"):
        inner = _inner(tree.elements[step.element], own, step)
        if inner is None:
            return []
        clips = step.clips if _overflows(own) else (*step.clips, inner[2])
        step = replace(step, to_root=inner[0], viewport=inner[1], clips=clips)
    below = _children(tree, step)
    if tag == "switch":
        chosen = (one for one in below if chosen_by_switch(tree.elements[one.element]))
        return list(chosen)[:1]
    return below


def _used(tree: Tree, own: Declared, step: _Step) -> list[_Step]:
    target = tree.target(tree.elements[step.element])
    if target is None or target == 0:
        return []
    size = (own.get("width"), own.get("height"))
    return [replace(step, element=target, size=size)]


def _inner(
    element: etree._Element, own: Declared, step: _Step
) -> tuple[Affine, Viewport, Clip] | None:
    """Enter the viewport of a nested svg or used symbol (SVG 2 section 8.2).

    Gives its map, its viewport and its edge.
    """
    stated = (own.get("width"), own.get("height"))
    laid = step.size or (None, None)
    width = first_px((laid[0], stated[0]), "x", step.viewport)
    height = first_px((laid[1], stated[1]), "y", step.viewport)
    if width <= 0 or height <= 0:
        return None
    corner = corner_of(own, step.viewport)
    box = view_box(element.get("viewBox"))
    outer = Viewport(width, height, step.viewport.font_px)
    edge = Clip(None, step.to_root @ corner, outer, (0.0, 0.0, width, height))
    if box is None:
        return step.to_root @ corner, outer, edge
    if box[2] == 0 or box[3] == 0:
        return None  # SVG 2 section 8.6: a side of zero disables rendering
    fit = fit_view_box(box, (width, height), element.get("preserveAspectRatio"))
    viewport = Viewport(box[2], box[3], step.viewport.font_px)
    return step.to_root @ corner @ fit, viewport, edge


def _overflows(own: Declared) -> bool:
    """Whether a viewport lets things show past its edge (SVG 2 section 14.1.3)."""
    word = own.get("overflow", "hidden").strip().lower().split()[:1]
    return word in (["visible"], ["auto"])


def _clipped(tree: Tree, own: Declared, step: _Step) -> _Step:
    """Add the clip path that an element asks for (CSS Masking 1, section 5).

    A link that leads nowhere clips nothing.
    """
    for key in local_urls(own.get("clip-path", "")):
        at = tree.by_id.get(key)
        if at is None or local(tree.elements[at]) != "clipPath":
            continue
        if at in tree.round(step.element):
            continue
        units = tree.elements[at].get("clipPathUnits")
        box = None
        if units == "objectBoundingBox":
            box = own_box(tree, step.element, own, step.viewport, step.style)
        clip = Clip(at, step.to_root, step.viewport, box)
        return replace(step, clips=(*step.clips, clip))
    return step


def element_map(
    tree: Tree, at: int, own: Declared, viewport: Viewport, style: Inherited
) -> Affine | None:
    """Give an element's own transform with its origin; None for one that is not valid.

    An attribute that cannot be read counts as absent (SVG 2 section 8.5 by way of CSS
    Transforms 1), so None is left for what overflows.
    """
    text = own.get("transform")
    if not text and PLACING.isdisjoint(own):
        return IDENTITY
    alone = [(name, own[name]) for name in ("translate", "rotate", "scale") if name in own]
    box = (0.0, 0.0, viewport.width, viewport.height)
    if own.get("transform-box", "view-box").strip().lower() in _OWN_BOX:
        box = own_box(tree, at, own, viewport, style)
        viewport = Viewport(box[2], box[3], viewport.font_px)
    matrix = transform(text, viewport) or IDENTITY
    for name, value in reversed(
        alone
    ):  # CSS Transforms 2, section 9: translate is outermost
        matrix = (single_transform(name, value, viewport) or IDENTITY) @ matrix
    about = origin(own.get("transform-origin"), box, viewport) or box[:2]
    if about == (0.0, 0.0):
        return matrix
    try:
        return translation(*about) @ matrix @ translation(-about[0], -about[1])
    except ValueError:
        return None


_OWN_BOX = ("fill-box", "content-box", "stroke-box", "border-box")


def own_box(
    tree: Tree, at: int, own: Declared, viewport: Viewport, style: Inherited
) -> Box:
    """Give the box of what an element draws in its own units (SVG 2 section 8.10).

    As x, y, width, height; all 0 where it draws nothing, or far too much to be asked
    again and again. For ``stroke-box`` it is grown by half the stroke.
    """
    asked = own.get("transform-box", "").strip().lower()
    grow = style.stroke_half(viewport) if asked in ("stroke-box", "border-box") else 0.0
    first = _Step(at, None, IDENTITY, style, viewport)
    if _key(first) not in tree.boxes:
        _measure(tree, first)
    x, y, width, height = tree.boxes[_key(first)]
    return (x - grow, y - grow, width + 2 * grow, height + 2 * grow)


@dataclass(slots=True)
class _Measure:
    """A box under way: whose it is, corners of the boxes in it, what is still to visit."""

    key: BoxKey
    corners: list[Point]
    steps: list[_Step]


def _measure(tree: Tree, first: _Step) -> None:
    """Find the box of an element, and before it those of all below.

    The box of a group is that of the boxes of what it holds, each with its map: wider than
    what is drawn where something is turned in it. That is how a browser has it (measured).
    `first` stands in the element's own units.
    """
    opened = [_begun(tree, first)]
    while opened:
        one = opened[-1]
        if not one.steps or tree.boxed["steps"] >= BOX_STEPS:
            tree.boxes[one.key] = _box_round(one.corners)
            opened.pop()
            continue
        tree.boxed["steps"] += 1
        step = one.steps[-1]
        own = declared(tree.elements[step.element], tree.css[step.element])
        style = step.style.child(own)
        viewport = replace(step.viewport, font_px=style.font_px)
        inner = replace(step, style=style, viewport=viewport, to_root=IDENTITY)
        shown = _is_drawn(tree, step) and not not_displayed(own)
        if shown and _key(inner) not in tree.boxes:
            opened.append(_begun(tree, inner))
            continue
        one.steps.pop()
        placed = _entered(tree, own, step) if shown else None
        if placed is not None:
            one.corners += map(placed.to_root, _corners(tree.boxes[_key(inner)]))


def _key(step: _Step) -> BoxKey:
    return step.element, step.viewport, step.size


def _begun(tree: Tree, step: _Step) -> _Measure:
    tree.boxes[_key(step)] = NO_BOX  # for one that asks for itself
    element = tree.elements[step.element]
    tag, own = local(element), declared(element, tree.css[step.element])
    if tag in SHAPES:
        drawn = contours(tag, own, shape_data(tag, element, own), step.viewport) or ()
        boxes = [contour.bounds() for contour in drawn]
        corners = [(b[i], b[j]) for b in boxes for i, j in ((0, 1), (2, 3))]
        return _Measure(_key(step), corners, [])
    below = _below(tree, tag, own, replace(step, above=Link(step.element, None)))
    return _Measure(_key(step), [], below[::-1])


def _corners(box: Box) -> list[Point]:
    x, y, width, height = box
    if box == NO_BOX:
        return []
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def _box_round(corners: list[Point]) -> Box:
    if not corners:
        return NO_BOX
    xs, ys = zip(*corners, strict=True)
    return (min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def chosen_by_switch(element: etree._Element) -> bool:
    """Whether a ``switch`` may take this child; embedded foreign content never is."""
    return local(element) in _DRAWN and conditions_hold(element)
