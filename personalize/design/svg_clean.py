"""A drawing written anew for renderers: nothing active, nothing from outside it.

Elements and attributes are copied, not edited: what is not known to be harmless never
arrives. CSS is settled while copying: what wins on an element is written on it, and the
style sheet is left out. So no rule depends on structure any more (``:nth-child``),
``var()`` and selectors hold that renderers do not know, and there is no sheet that could
ask for a file.
"""

from dataclasses import dataclass, replace
from typing import Any

import tinycss2
from lxml import etree

from personalize.design.svg_lengths import Viewport, length
from personalize.design.svg_shapes import SHAPES, path_data
from personalize.design.svg_style import GEOMETRY, PLACING, Inherited, declared
from personalize.design.svg_tree import Tree, conditions_hold
from personalize.design.svg_values import view_box
from personalize.design.svg_walk import (
    chosen_by_switch,
    element_map,
)
from personalize.design.svg_xml import (
    SVG,
    XML,
    drop,
    href,
    local,
    local_urls,
    picture_fault,
)
from personalize.geometry.affine import IDENTITY, Affine

NAMES: Any = {None: SVG}
"""Namespaces of what we write (the stubs of lxml know no default namespace)."""
MARK = "data-at"
"""Attribute that carries an element's place in the source while we work on the copy."""
_TEXT = frozenset({"text", "tspan", "textPath"})
_KEPT = _TEXT | {
    *("svg", "g", "defs", "symbol", "use", "switch", "image", "a"),
    *("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"),
    *("linearGradient", "radialGradient", "stop", "pattern"),
    *("clipPath", "mask", "marker", "filter"),
    *("feBlend", "feColorMatrix", "feComponentTransfer", "feComposite"),
    *("feConvolveMatrix", "feDiffuseLighting", "feDisplacementMap", "feDistantLight"),
    *("feDropShadow", "feFlood", "feFuncA", "feFuncB", "feFuncG", "feFuncR"),
    *("feGaussianBlur", "feImage", "feMerge", "feMergeNode", "feMorphology"),
    *("feOffset", "fePointLight", "feSpecularLighting", "feSpotLight", "feTile"),
    "feTurbulence",
}
"""Elements of SVG 2 and Filter Effects 1 that paint, place or are painted with."""
_LISTS = frozenset({"text", "tspan"})
"""Their x and y are lists of the attribute alone, no properties (SVG 2 chapter 11)."""
_PLACED = frozenset({"transform", "transform-origin", "transform-box"}) | PLACING
_SETTLED = frozenset(
    {"style", "class", "href", "src", "requiredExtensions", "systemLanguage"}
    | {"requiredFeatures"}
)
"""Attributes that are settled while copying, or lead outside."""
_SIZED = SHAPES | {"image", "use", "svg"}
_AXES = {
    **dict.fromkeys(("x", "width", "cx", "rx", "x1", "x2"), "x"),
    **dict.fromkeys(("y", "height", "cy", "ry", "y1", "y2"), "y"),
    "r": "other",
}
_EFFECTS = frozenset({"filter", "mask", "clip-path", "marker"}) | {
    *("marker-start", "marker-mid", "marker-end")
}
_UNTOUCHED = frozenset({"id", "d", "points"})
_OF_ROOT = frozenset(
    {"x", "y", "width", "height", "viewBox", "preserveAspectRatio", "overflow", "id"}
)
"""What the page's own svg element says of its size; the new root says it instead."""


@dataclass(frozen=True, slots=True)
class _Above:
    """What holds where an element is copied to."""

    style: Inherited
    viewport: Viewport
    sure: bool = True
    """Whether the viewport is the same wherever this is drawn."""


def clean_copy(tree: Tree, viewport: Viewport) -> etree._Element:
    """Copy a drawing without what is active, foreign or outside.

    Parameters
    ----------
    tree
        The drawing as read.
    viewport
        Of the root, in its user units.

    Returns
    -------
    etree._Element
        An ``svg`` element in the root's user units that clips nothing, with each
        element's place in the source as the attribute `MARK`. The root's own transform
        is left out.
    """
    size = {"width": repr(viewport.width), "height": repr(viewport.height)}
    box = f"0 0 {viewport.width!r} {viewport.height!r}"
    root = etree.Element(f"{{{SVG}}}svg", nsmap=NAMES)
    root.set(MARK, "0")
    above = _Above(Inherited(), viewport)
    inside = _dress(tree, 0, root, above)
    drop(root, *_OF_ROOT)
    for name, value in {**size, "viewBox": box, "overflow": "visible"}.items():
        root.set(name, value)
    if root.get("style"):
        root.set("style", f"{root.get('style')};overflow:visible")
    for child in tree.elements[0]:
        _copy(tree, child, root, replace(inside, viewport=viewport, sure=True))
    return root


def _copy(tree: Tree, source: etree._Element, into: etree._Element, above: _Above) -> None:
    """Copy one element and what is below it, at most `svg_xml.MAX_DEPTH` deep."""
    at = tree.place[source]
    placed = None
    if local(source) in _KEPT and conditions_hold(source):
        placed = _matrix(tree, at, above)
    if placed is not None and not _empty_viewport(tree, at, above):
        tag = _tag_of(source, into)
        element = etree.SubElement(into, f"{{{SVG}}}{tag}")
        element.set(MARK, str(at))
        inside = _dress(tree, at, element, above)
        if placed != IDENTITY:
            element.set("transform", matrix_text(placed))
        if tag in _TEXT:
            element.text = source.text
        for child in _drawn_of(source):
            _copy(tree, child, element, inside)
    if source.tail and local(into) in _TEXT:
        _append_text(into, source.tail)


def _empty_viewport(tree: Tree, at: int, above: _Above) -> bool:
    """Whether an svg has a side of zero or less, so that nothing in it is drawn.

    Renderers take it for 100 % (measured).
    """
    if local(tree.elements[at]) != "svg":
        return False
    own = declared(tree.elements[at], tree.css[at])
    sides = [length(own.get(name)) for name in ("width", "height")]
    return any(
        side is not None and (above.viewport.px(side, "x") or 0.0) <= 0 for side in sides
    )


def _tag_of(source: etree._Element, into: etree._Element) -> str:
    """Give the tag of a copy. Links go nowhere on paper, and switches are settled."""
    tag = local(source)
    if tag == "a":
        return "tspan" if local(into) in _TEXT else "g"
    return "g" if tag == "switch" else tag


def _drawn_of(source: etree._Element) -> list[etree._Element]:
    """Give the children; of a switch the one that the shapes follow."""
    children = list(source)
    if local(source) == "switch":
        return [child for child in children if chosen_by_switch(child)][:1]
    return children


def _append_text(parent: etree._Element, text: str) -> None:
    if len(parent):
        parent[-1].tail = (parent[-1].tail or "") + text
    else:
        parent.text = (parent.text or "") + text


def _matrix(tree: Tree, at: int, above: _Above) -> Affine | None:
    """Give an element's transform as the shapes have it; None when nothing can be drawn.

    Written as a matrix, so that units, origins and CSS transforms mean the same to the
    renderer as to the die lines.
    """
    own = declared(tree.elements[at], tree.css[at])
    style = above.style.child(own)
    viewport = replace(above.viewport, font_px=style.font_px)
    return element_map(tree, at, own, viewport, style)


def matrix_text(by: Affine) -> str:
    """Write a map as an SVG transform, every digit kept."""
    return "matrix(" + " ".join(repr(v + 0.0) for v in by.tuple) + ")"


def _dress(tree: Tree, at: int, out: etree._Element, above: _Above) -> _Above:
    """Give the copy its attributes and settled CSS; return what holds below it."""
    source = tree.elements[at]
    own = declared(source, tree.css[at])
    style = above.style.child(own)
    viewport = replace(above.viewport, font_px=style.font_px)
    tag = local(source)
    _copy_attributes(tree, source, out)
    _write_css(tree, source, out)
    _copy_link(source, out)
    if tag in _SIZED:
        _write_lengths(out, viewport, sure=above.sure or tag == "use")
    if tag == "use":
        _lay_symbol(tree, source, out, viewport)
    if tag == "symbol":
        drop(out, "x", "y", "width", "height")
    if tag in ("svg", "symbol"):
        box = view_box(source.get("viewBox"))
        if box is not None:
            viewport = Viewport(box[2], box[3], style.font_px)
        return _Above(style, viewport, box is not None)
    return _Above(style, viewport, above.sure)


def _lay_symbol(
    tree: Tree, source: etree._Element, out: etree._Element, viewport: Viewport
) -> None:
    """Lay on a ``use`` what its symbol says of its own place and size.

    Renderers know these attributes on the ``use`` alone (measured).
    """
    at = tree.target(source)
    if at is None or local(tree.elements[at]) != "symbol":
        return
    own = declared(tree.elements[at], tree.css[at])
    for name in ("x", "y", "width", "height"):
        one = length(own.get(name))
        value = None if one is None else viewport.px(one, _AXES[name])
        if value is None or (name in ("width", "height") and out.get(name)):
            continue
        before = length(out.get(name)) if name in ("x", "y") else None
        out.set(name, repr(value + (before.value if before else 0.0)))


def _write_lengths(out: etree._Element, viewport: Viewport, *, sure: bool) -> None:
    """Write lengths as numbers, as the shapes have them.

    Renderers refer percentages in a symbol to the page (measured). Where the viewport
    depends on the ``use``, percentages stay.
    """
    for name in _AXES.keys() & set(out.attrib):
        one = length(out.get(name))
        value = None if one is None else viewport.px(one, _AXES[str(name)])
        if one is not None and value is not None and (sure or not one.is_shared):
            out.set(name, repr(value))


def _copy_attributes(tree: Tree, source: etree._Element, out: etree._Element) -> None:
    for key, raw in source.attrib.items():
        name, value = str(key), str(raw)
        if name == f"{{{XML}}}space":
            out.set(name, value)
        if name.startswith("{") or name.lower().startswith(("on", "data-")):
            continue
        if name in _PLACED - PLACING or name in _SETTLED:
            continue
        if name == "id" and tree.by_id.get(value) != tree.place[source]:
            continue  # of two elements with one id the first counts
        safe = value if name in _UNTOUCHED else safe_value(value)
        if safe is not None and not _void(tree, source, name, safe):
            out.set(name, _plain(name, safe))


def _plain(prop: str, value: str) -> str:
    """Write a keyword in lower case: CSS does not mind the case of it, renderers do."""
    lower = value.lower()
    if prop == "image-rendering" and lower in ("pixelated", "crisp-edges"):
        return "optimizeSpeed"  # the one word for it that renderers know (measured)
    if prop in ("display", "visibility") or lower in ("none", "auto", "inherit"):
        return lower
    return value


def _void(tree: Tree, source: etree._Element, prop: str, value: str) -> bool:
    """Whether a value asks for what the element stands in, or an effect that is missing.

    Renderers differ on both; to a browser they are not there. (A paint that is missing
    may have a fallback after it: it stays.)
    """
    found = {tree.by_id.get(key) for key in local_urls(value)}
    if None in found and prop in _EFFECTS:
        return True
    return bool(found and found & tree.round(tree.place[source]))


def _write_css(tree: Tree, source: etree._Element, out: etree._Element) -> None:
    """Write what CSS says: geometry as attributes (renderers read it there alone)."""
    tag = local(source)
    words: list[str] = []
    for prop, value in tree.css[tree.place[source]].items():
        safe = safe_value(value)
        if prop in _PLACED or safe is None or _void(tree, source, prop, safe):
            continue
        safe = _plain(prop, safe)
        if prop not in GEOMETRY:
            words.append(f"{prop}:{safe}")
        elif tag not in _LISTS:
            if safe == "auto":
                drop(out, prop)
            else:
                out.set(prop, path_data(safe) if prop == "d" else safe)
    if words:
        out.set("style", ";".join(words))


def _copy_link(source: etree._Element, out: etree._Element) -> None:
    """Keep a link to the inside, and a picture that is itself in the file."""
    link = href(source)
    if link is None or local(source) in ("a", "script"):
        return
    inside = link.startswith("#") and len(link) > 1
    if inside or (local(source) in ("image", "feImage") and picture_fault(link) is None):
        out.set("href", link)


_REACHING = frozenset({"url", "src", "image", "image-set", "-webkit-image-set"})
_SUSPECT = ("url", "src", "image", "\\", "var(", "javascript")


def safe_value(text: str) -> str | None:
    """Give a CSS value that names nothing outside the drawing; None for one that does.

    >>> safe_value("url('#sky') red"), safe_value("url(https://example.org/a.png)")
    ('url(#sky) red', None)
    """
    lower = text.lower()
    if not any(word in lower for word in _SUSPECT):
        return text
    if "var(" in lower or "javascript:" in lower:
        return None
    try:
        tokens = tinycss2.parse_component_value_list(text, skip_comments=True)
        written = [_written(token) for token in tokens]
    except RecursionError:
        return None
    return None if None in written else "".join(str(one) for one in written).strip()


def _written(token: Any) -> str | None:
    """Write one token again, links in the plainest form; None for what is not safe."""
    if token.type == "error":
        return None
    if token.type == "url":
        return _link(token.value)
    if token.type == "function":
        if token.lower_name in ("url", "src"):
            inner = [one for one in token.arguments if one.type != "whitespace"]
            return _link(inner[0].value) if [t.type for t in inner] == ["string"] else None
        if token.lower_name in _REACHING:
            return None
        if any(_written(one) is None for one in token.arguments):
            return None
    elif token.type.endswith("block") and any(_written(t) is None for t in token.content):
        return None
    return str(token.serialize())


def _link(target: str) -> str | None:
    plain = target.strip()
    if not plain.startswith("#") or set(plain) & set(" \"'()\\"):
        return None
    return f"url({plain})"
