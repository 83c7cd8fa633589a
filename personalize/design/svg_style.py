"""Which CSS and presentation attributes hold for which element of an SVG.

The cascade of CSS Cascade 4 as far as a drawing needs it: presentation attributes below
every rule (SVG 2 section 6.6), rules by specificity and order, the ``style`` attribute,
then ``!important``; custom properties are put in where ``var()`` asks for them.
Of at-rules, ``@media`` counts where it holds for a screen of any kind: a maker draws what
a screen shows, and a print style would change the drawing unseen. The others
(``@import``, ``@font-face``) are left out, as renderers do.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import cssselect2
import tinycss2
from lxml import etree

from personalize.design.svg_lengths import Viewport, length
from personalize.design.svg_xml import local
from personalize.errors import refuse

GEOMETRY = frozenset(
    {"x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "d", "transform"}
    | {"transform-origin", "transform-box"}
)
"""Properties that place a shape. Renderers read them from attributes only (measured), so
`personalize.design.artwork` moves them there."""
PLACING = frozenset({"translate", "rotate", "scale"})
"""Properties that place a thing and are no attributes: ``rotate`` of a text is another."""
_READ = GEOMETRY | {
    "clip-path",
    "clip-rule",
    "color",
    "display",
    "fill",
    "font-size",
    "overflow",
    "stroke",
    "stroke-dasharray",
    "stroke-width",
    "visibility",
}
_OF_CSS = _READ | PLACING
MAX_MATCHES = 50_000_000
"""Most selector-element pairs tried: seconds of work, thousands of times a real file."""
_MAX_VALUE = 2000
"""Longest value after ``var()`` is put in, in characters: custom properties can double
each other."""
_VAR = re.compile(r"var\(\s*(--[^\s,()]+)\s*(?:,((?:[^()]|\([^()]*\))*))?\)")

Declared = dict[str, str]


def cascade(elements: list[etree._Element], name: str) -> list[Declared]:
    """Give the CSS declarations that win on each element (attributes not counted).

    Parameters
    ----------
    elements
        All elements of the document in document order, the root first.
    name
        Bare file name, for the sentences.

    Returns
    -------
    list[dict[str, str]]
        Property in lower case to value as text, the later winner last; ``var()``
        replaced, custom properties themselves left out.
    """
    matcher = _matcher(elements, name)
    wrappers = (
        cssselect2.ElementWrapper.from_xml_root(elements[0]).iter_subtree()
        if matcher is not None
        else iter(())
    )
    place = {element: i for i, element in enumerate(elements)}
    out: list[Declared] = []
    custom: list[Declared] = []
    for element in elements:
        matched = matcher.match(next(wrappers)) if matcher is not None else ()
        won = _winners(element, matched)
        parent = element.getparent()
        above = custom[place[parent]] if parent is not None else {}
        own = {key: value for key, value in won.items() if key.startswith("--")}
        custom.append(_with_own(above, own) if own else above)
        out.append(_without_var(element, won, custom[-1]))
    return out


def _matcher(elements: list[etree._Element], name: str) -> Any | None:
    """Collect the rules of every ``style`` element; None when there is no rule."""
    matcher = cssselect2.Matcher()
    count = 0
    for element in elements:
        if local(element) != "style" or not _is_css(element):
            continue
        for rule in _rules("".join(map(str, element.itertext()))):
            try:
                selectors = cssselect2.compile_selector_list(rule.prelude)
            except (cssselect2.SelectorError, RecursionError):
                continue  # CSS Syntax 3: a rule that is not understood is dropped
            declarations = _declarations(rule.content)
            for selector in selectors:
                matcher.add_selector(selector, declarations)
                count += 1
    if count * len(elements) > MAX_MATCHES:
        raise refuse(
            name,
            f"the style sheet has {count:,} selectors for {len(elements):,} elements.",
            "Save the drawing with presentation attributes.",
        )
    return matcher if count else None


def _is_css(element: etree._Element) -> bool:
    return (element.get("type") or "text/css").strip().lower() in ("text/css", "")


def _rules(text: str) -> list[Any]:
    try:
        found = tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True)
    except RecursionError:
        return []
    return list(_flat(found))


def _flat(rules: Iterable[Any]) -> Iterator[Any]:
    """Give the rules that hold, those of ``@media`` in their place."""
    for rule in rules:
        if rule.type == "qualified-rule":
            yield rule
        elif rule.type == "at-rule" and rule.lower_at_keyword == "media" and rule.content:
            if not _on_screen(tinycss2.serialize(rule.prelude)):
                continue
            inner = tinycss2.parse_rule_list(
                rule.content, skip_comments=True, skip_whitespace=True
            )
            yield from _flat(inner)


def _on_screen(queries: str) -> bool:
    """Whether a list of media queries holds for every screen (Media Queries 4).

    What asks for a size or another feature of the screen does not.
    """
    plain = re.sub(r"/\*.*?\*/", " ", queries, flags=re.DOTALL).casefold()
    words = [" ".join(one.split()) for one in plain.split(",")]
    return any(
        word in ("", "all", "screen", "only screen", "only all", "not print")
        for word in words
    )


_Declaration = tuple[str, str, bool]


def _declarations(content: Any) -> tuple[_Declaration, ...]:
    """Give property, value and importance of each declaration in a block."""
    try:
        found = tinycss2.parse_blocks_contents(
            content, skip_comments=True, skip_whitespace=True
        )
        return tuple(
            (
                one.name if one.name.startswith("--") else one.lower_name,
                tinycss2.serialize(one.value).strip(),
                bool(one.important),
            )
            for one in found
            if one.type == "declaration"
        )
    except RecursionError:
        return ()  # brackets hundreds deep: no declaration that means anything


def _winners(element: etree._Element, matched: Any) -> Declared:
    layers = [
        payload for _specificity, _order, pseudo, payload in matched if pseudo is None
    ]
    style = element.get("style")
    if style:
        layers.append(_declarations(str(style)))
    won: Declared = {}
    for important in (False, True):
        for layer in layers:
            for prop, value, is_important in layer:
                if is_important == important:
                    won.pop(prop, None)  # so that the last winner also stands last
                    won[prop] = value
    return won


def _with_own(above: Declared, own: Declared) -> Declared:
    """Lay an element's custom properties over its parent's, their own ``var()`` filled.

    What a child inherits is filled already (CSS Variables 1, section 2.2).
    """
    every = above | own
    filled = {key: _filled(value, every) for key, value in own.items()}
    kept = {key: value for key, value in filled.items() if value is not None}
    return {key: value for key, value in above.items() if key not in own} | kept


def _without_var(
    element: etree._Element, won: Declared, custom: Mapping[str, str]
) -> Declared:
    out: Declared = {}
    for prop, value in won.items():
        if prop.startswith("--"):
            continue
        filled = _filled(value, custom)
        if filled is not None:
            out[prop] = filled
    for key, attribute in element.attrib.items():
        prop = str(key)
        if "var(" in str(attribute) and prop not in out and prop != "style":
            filled = _filled(str(attribute), custom)
            if filled is not None:
                out[prop] = filled
    return out


def _filled(value: str, custom: Mapping[str, str]) -> str | None:
    """Put custom properties in; None when one is missing (CSS Variables 1, section 3)."""
    for _ in range(20):
        match = _VAR.search(value)
        if match is None:
            return value if "var(" not in value else None
        found = custom.get(match[1], match[2])
        if found is None or len(value) + len(found) > _MAX_VALUE:
            return None
        value = value[: match.start()] + found.strip() + value[match.end() :]
    return None


def declared(element: etree._Element, css: Declared) -> Declared:
    """Lay CSS winners over presentation attributes, for the properties we read."""
    out = {
        key: str(value)
        for key, value in element.attrib.items()
        if isinstance(key, str) and key in _READ
    }
    out.update((key, value) for key, value in css.items() if key in _OF_CSS)
    return out


def not_displayed(own: Declared) -> bool:
    """Whether an element and all below it are not drawn."""
    return own.get("display", "").strip().lower() == "none"


@dataclass(frozen=True, slots=True)
class Inherited:
    """Properties that pass from parent to child, resolved so far."""

    fill: str = "black"
    stroke: str = "none"
    dashes: str = "none"
    stroke_width: str = "1"
    visible: bool = True
    colour: str = "black"
    font_px: float = 16.0

    def child(self, own: Declared) -> "Inherited":
        """Give the values that hold for a child with these declarations."""
        if not own:
            return self
        font = self._font(own.get("font-size"))
        visibility = _taken(own, "visibility", "" if self.visible else "hidden")
        return Inherited(
            _taken(own, "fill", self.fill, "black"),
            _taken(own, "stroke", self.stroke, "none"),
            _taken(own, "stroke-dasharray", self.dashes, "none"),
            _taken(own, "stroke-width", self.stroke_width, "1"),
            visibility.lower() not in ("hidden", "collapse"),
            _taken(own, "color", self.colour, "black"),
            font,
        )

    def _font(self, text: str | None) -> float:
        one = length(text)
        if one is None or one.value < 0:
            return self.font_px
        value = Viewport(self.font_px, self.font_px, self.font_px).px(one, "x")
        return self.font_px if value is None else value

    def stroke_half(self, viewport: Viewport) -> float:
        """Half the width of the stroke in user units; 0 where none is drawn."""
        width = length(self.stroke_width)
        if self.stroked(viewport) is None or width is None:
            return 0.0
        return (viewport.px(width, "other") or 0.0) / 2

    def paint(self, text: str) -> str | None:
        """Resolve a paint to CSS text; None for ``none``."""
        if text.lower() == "none":
            return None
        return self.colour if text.lower() == "currentcolor" else text

    def stroked(self, viewport: Viewport) -> str | None:
        """Paint of the stroke, None where none is drawn (a width of zero draws none)."""
        width = length(self.stroke_width)
        if width is not None and viewport.px(width, "other") == 0:
            return None
        return self.paint(self.stroke)

    def dashed(self, viewport: Viewport) -> bool:
        """Whether the stroke has gaps, by SVG 2 section 13.5.6."""
        words = [length(word) for word in self.dashes.replace(",", " ").split()]
        sizes = [
            -1.0 if one is None else (viewport.px(one, "other") or 0.0) for one in words
        ]
        return bool(sizes) and min(sizes) >= 0 and sum(sizes) > 0


def _taken(own: Declared, prop: str, above: str, initial: str = "") -> str:
    value = own.get(prop, "").strip()
    if not value or value.lower() in ("inherit", "unset", "revert", "revert-layer"):
        return above
    return initial if value.lower() == "initial" else value
