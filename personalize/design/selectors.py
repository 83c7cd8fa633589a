"""CSS selectors: those that a maker wrote, and those that name given shapes alone."""

import re
from collections.abc import Iterator

from lxml import etree

from personalize.design.svg import SvgDocument
from personalize.design.svg_xml import local
from personalize.errors import Problem

_IDENT = re.compile(r"-?[A-Za-z_][\w-]*", re.ASCII)
_MANY = 2
"""A class or a group is named rather than single lines when it stands for so many."""


def no_selector(selector: str, place: str) -> Problem:
    """Tell that what is written at a place is not valid CSS."""
    return Problem(
        place,
        f"{selector!r} is not a CSS selector.",
        'Write "#name" for an id or ".name" for a class.',
    )


def keys_named(
    drawing: SvgDocument, selector: str, key: str, place: str, problems: list[Problem]
) -> frozenset[int]:
    """Find the shapes that ``key = "selector"`` names; what is wrong joins `problems`."""
    try:
        keys = drawing.select(selector)
    except ValueError:
        problems.append(no_selector(selector, place))
        return frozenset()
    if not keys:
        problems.append(
            Problem(
                place,
                f"nothing drawn in {drawing.name} matches {key} = {selector!r}.",
                "Check the id or class in the drawing (hidden lines do not count).",
            )
        )
    return keys


def selectors_for(
    drawing: SvgDocument, wanted: frozenset[int]
) -> tuple[tuple[str, ...], frozenset[int]]:
    """Name shapes by id, class, label, or else by place in the drawing.

    Parameters
    ----------
    drawing
        The drawing.
    wanted
        Keys of shapes.

    Returns
    -------
    tuple
        Selectors that together select `wanted`, as few as are found, and those of
        `wanted` that none can name alone (copies by ``use`` of what is also drawn in
        another sense).
    """
    offered: dict[str, tuple[int, frozenset[int]]] = {}
    for rank, selector, keys in _offers(drawing, wanted):
        if selector not in offered:
            offered[selector] = (rank, keys)
    left, out = set(wanted), list[str]()
    while left:
        best = max(
            offered,
            key=lambda one: (len(offered[one][1] & left), -offered[one][0], one),
            default=None,
        )
        if best is None or not offered[best][1] & left:
            break
        out.append(best)
        left -= offered[best][1]
    out.sort(key=lambda one: min(offered[one][1]))
    return tuple(out), frozenset(left)


def _offers(
    drawing: SvgDocument, wanted: frozenset[int]
) -> Iterator[tuple[int, str, frozenset[int]]]:
    """Give selectors that select some of what is wanted and nothing else."""
    ways = _ways(drawing)
    drawn_by: dict[int, set[int]] = {}
    for key, way in ways.items():
        for at in way:
            drawn_by.setdefault(at, set()).add(key)
    by_words = _by_words(drawing)
    for key in sorted(wanted):
        for depth, at in enumerate(ways[key]):
            for rank, selector in _words(drawing, at):
                keys = {k for one in by_words[selector] for k in drawn_by.get(one, ())}
                if keys <= wanted:
                    yield rank + min(depth, 1) * _MANY, selector, frozenset(keys)
            keys = drawn_by[at]
            if at and keys <= wanted:
                yield 19, _path(drawing.tree.elements[at]), frozenset(keys)


def _ways(drawing: SvgDocument) -> dict[int, tuple[int, ...]]:
    """Give for each shape the elements on the way up from it."""
    leaves = [leaf for leaf in drawing.leaves if leaf.contours is not None]
    return {
        shape.key: tuple(leaf.way.up())
        for shape, leaf in zip(drawing.shapes, leaves, strict=True)
    }


def _by_words(drawing: SvgDocument) -> dict[str, set[int]]:
    """Give the elements that each id, class and label names."""
    out: dict[str, set[int]] = {}
    for at in range(len(drawing.tree.elements)):
        for _, selector in _words(drawing, at):
            out.setdefault(selector, set()).add(at)
    return out


def _words(drawing: SvgDocument, at: int) -> Iterator[tuple[int, str]]:
    """Give selectors made of an element's own words, the plainest first."""
    element = drawing.tree.elements[at]
    key = element.get("id")
    if key and _quotable(key):
        yield 0, f"#{key}" if _IDENT.fullmatch(key) else f'[id="{key}"]'
    for word in (element.get("class") or "").split():
        if _IDENT.fullmatch(word):
            yield 1, f".{word}"
    for name, raw in element.attrib.items():
        plain, value = etree.QName(str(name)).localname, str(raw)
        if plain == "label" and value and _quotable(value):
            prefix = "*|" if str(name).startswith("{") else ""
            yield 2, f'[{prefix}label="{value}"]'
        elif plain == "data-name" and value and _quotable(value):
            yield 2, f'[data-name="{value}"]'

    above = element.getparent()
    around = above.get("id") if above is not None else None
    if around and _IDENT.fullmatch(around) and local(element):
        yield 5, f"#{around} > {local(element)}"


def _quotable(text: str) -> bool:
    return text.isprintable() and not set(text) & set("\"\\'")


def _path(element: etree._Element) -> str:
    """Name an element by its place under the root."""
    steps = []
    while (above := element.getparent()) is not None:
        steps.append(f"*:nth-child({above.index(element) + 1})")
        element = above
    return " > ".join([":root", *reversed(steps)])
