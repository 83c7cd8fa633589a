"""Layers of a drawing: some shown, others hidden, as versions and backs ask for."""

import copy
from collections.abc import Iterable, Sequence
from dataclasses import replace

from lxml import etree

from personalize.design.selectors import no_selector
from personalize.design.svg import SvgDocument, parse_svg
from personalize.design.svg_tree import Ignored
from personalize.design.svg_xml import line_of, local
from personalize.errors import InputError, refuse

_DRAWN = frozenset(
    ("g", "a", "switch", "svg", "use", "text", "image", "path", "rect", "circle")
) | {"ellipse", "line", "polyline", "polygon"}
"""Elements that are drawn where they stand (SVG 2, section 5)."""


def places_of(
    drawing: SvgDocument, selectors: Sequence[str], place: str, *, needed: bool
) -> set[int]:
    """Find the elements that selectors name, by their place in the document.

    Raises InputError for what is no selector, and, where they are `needed`, for one that
    nothing matches.
    """
    found: set[int] = set()
    for selector in selectors:
        try:
            matched = drawing.matched(selector)
        except ValueError:
            raise InputError(no_selector(selector, place)) from None
        if needed and not matched:
            raise refuse(
                place,
                f"nothing in {drawing.name} matches show = {selector!r}.",
                "Check the id or class of the layer in the drawing.",
            )
        found |= matched
    return found


def with_layers(drawing: SvgDocument, shown: Iterable[int], hidden: set[int]) -> bytes:
    """Write a drawing with some elements shown and others hidden.

    An element stays as it is where it is in neither. Whatever the drawing says of them,
    and whether or not a layer was switched off when it was saved, counts no more; a group
    that holds something shown is shown too.
    """
    root = copy.deepcopy(drawing.tree.elements[0])
    elements = [one for one in root.iter() if isinstance(one.tag, str)]
    place = {element: at for at, element in enumerate(elements)}
    wanted = set(shown)
    around = {place[g] for at in wanted for g in elements[at].iterancestors()}
    for places, value in ((hidden, "none"), (wanted | around, "inline")):
        for at in places:
            style = elements[at].get("style")
            told = f"display:{value} !important"
            elements[at].set("style", f"{style};{told}" if style else told)
    return etree.tostring(root, encoding="utf-8")


def without_layers(
    drawing: SvgDocument, selectors: Sequence[str], place: str, px_per_inch: float
) -> SvgDocument:
    """Give a drawing without some layers, which are not told as left out.

    Raises InputError where nothing matches a selector.
    """
    hidden = places_of(drawing, selectors, place, needed=True)
    _refuse_lost(drawing, hidden, place)
    without = parse_svg(with_layers(drawing, (), hidden), drawing.name, px_per_inch)
    elsewhere = {i for at in hidden for i in drawing.tree.round(at)}
    return replace(without, ignored=other_than(elsewhere, drawing, without))


def only_layers(
    drawing: SvgDocument, selectors: Sequence[str], place: str, px_per_inch: float
) -> SvgDocument:
    """Give some layers of a drawing and nothing else; with none of them a blank page.

    Raises InputError where nothing matches a selector.
    """
    shown = places_of(drawing, selectors, place, needed=True)
    elements = drawing.tree.elements
    kept = {i for at in shown for i in drawing.tree.round(at)} | {0}
    hidden = {
        drawing.tree.place[child]
        for at in kept - shown
        for child in elements[at]
        if isinstance(child.tag, str)
        and local(child) in _DRAWN
        and drawing.tree.place[child] not in kept
    }
    _refuse_lost(drawing, hidden, place)
    only = parse_svg(with_layers(drawing, shown, hidden), drawing.name, px_per_inch)
    return replace(only, ignored=other_than(hidden, drawing, only))


def _refuse_lost(drawing: SvgDocument, hidden: set[int], place: str) -> None:
    """Refuse to hide what is copied (``use``) elsewhere: the copy would be lost too."""
    tree = drawing.tree
    for at, element in enumerate(tree.elements):
        if local(element) == "use" and tree.target(element) in hidden:
            if tree.round(at) & hidden:
                continue
            raise refuse(
                place,
                f"line {line_of(element)} of {drawing.name} shows a copy of what is on the"
                " other side alone.",
                "Put it into a group of its own, or into <defs>.",
            )


def other_than(
    elsewhere: set[int], drawing: SvgDocument, document: SvgDocument
) -> tuple[Ignored, ...]:
    """Tell what is left out of a document, its lines those of the file."""
    told = [one for one in drawing.ignored if one.hidden is None]
    told += [
        Ignored(line_of(drawing.tree.elements[one.hidden]), one.says, one.hidden)
        for one in document.ignored
        if one.hidden is not None and one.hidden not in elsewhere
    ]
    return tuple(sorted(told, key=lambda one: one.line))
