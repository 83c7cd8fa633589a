"""Line art of an artwork: its shapes as thin dark lines on white, to colour in by hand.

Every filled edge gets a thin line, own lines are black, wide ones become two thin lines
with white between. What is filled turns white, so that it still hides what lies beneath;
what one sees through (half transparent, or blended) hides nothing, and a gradient that
fades away has no edge to draw.
"""

import copy
import math
from collections.abc import Mapping
from dataclasses import dataclass

from lxml import etree

from personalize.design.artwork import NO_LINE
from personalize.design.svg_lengths import Viewport
from personalize.design.svg_values import transform, view_box
from personalize.design.svg_xml import SVG, drop, local, local_urls
from personalize.geometry.affine import IDENTITY, Affine
from personalize.units import number

LINE_MM = 0.2
"""Width of the lines: a fine pen's."""
WIDE_MM = 0.9
"""From this width on, a line is drawn as its two edges: there is room to colour it in."""
_SOLID = 0.5
"""From this opacity on, a fill hides what lies beneath it."""
_FAINT = 0.25
"""Under this opacity nothing is drawn: a faint picture lies under words as a rule."""
INK, PAPER = "#1a1a1a", "#ffffff"
_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
_TEXT = frozenset({"text", "tspan", "textPath"})
_KEPT_WHOLE = frozenset({"clipPath", "mask", "filter", "defs", "symbol", "pattern"}) | {
    *("linearGradient", "radialGradient")
}
_LOOKS = (
    *("fill", "stroke", "stroke-width", "opacity", "fill-opacity", "stroke-opacity"),
    *("filter", "mix-blend-mode", "isolation", "paint-order", "marker"),
)
_ANY = Viewport(1.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class LineArt:
    """The line art of an artwork."""

    svg: bytes
    pictures: int
    """Photos that were left out."""


@dataclass(frozen=True, slots=True)
class _Paint:
    """What is inherited of how a shape is painted."""

    fill: bool = True
    stroke: bool = False
    width: float = 1.0
    seen: float = 1.0
    """Opacity of the groups round it; 0 where they are blended."""
    fill_opacity: float = 1.0
    stroke_opacity: float = 1.0

    @property
    def strongest(self) -> float:
        """Opacity of its fill or its line, whichever is seen more."""
        fill = self.fill_opacity if self.fill else 0.0
        return self.seen * max(fill, self.stroke_opacity if self.stroke else 0.0)


def line_art(svg: bytes) -> LineArt:
    """Turn an SVG of `artwork_svg` into line art on a page of the same size."""
    root = etree.fromstring(svg)
    photos = [one for one in root.iter() if local(one) == "image"]
    for photo in photos:
        photo.tag = f"{{{SVG}}}g"  # empty
        drop(photo, "href")
    by_id = {str(one.get("id")): one for one in root.iter() if one.get("id")}
    whole = {key: copy.deepcopy(one) for key, one in by_id.items()}
    _unfold(root, whole)
    _draw(root, _Paint(), IDENTITY, _fading(by_id))
    made = etree.tostring(root, encoding="utf-8", xml_declaration=True)
    return LineArt(made, len(photos))


def _unfold(element: etree._Element, whole: Mapping[str, etree._Element]) -> None:
    """Put a copy of what each ``use`` draws in its place: lines are as wide everywhere.

    How much that may come to was bounded when the drawing was read.
    """
    target = whole.get((element.get("href") or "")[1:]) if local(element) == "use" else None
    if target is not None:
        made = copy.deepcopy(target)
        made.tail = None
        for one in made.iter():
            drop(one, "id")
        if local(made) in ("symbol", "svg"):
            made.tag = f"{{{SVG}}}svg"
            for name in ("width", "height"):
                made.set(name, element.get(name) or made.get(name) or "100%")
        shift = f"translate({element.get('x', '0')} {element.get('y', '0')})"
        element.set("transform", f"{element.get('transform', '')} {shift}".strip())
        drop(element, "href", "x", "y", "width", "height")
        element.tag = f"{{{SVG}}}g"
        element.append(made)
    if local(element) not in _KEPT_WHOLE:
        for child in list(element):
            _unfold(child, whole)


def _draw(
    element: etree._Element, above: _Paint, to_page: Affine, fading: frozenset[str]
) -> None:
    """Redraw an element and all in it; `fading` are the paints that fade away."""
    tag = local(element)
    if tag in _KEPT_WHOLE:
        return
    css = _css(element)
    paint = _painted(css, above, fading)
    to_page = to_page @ _inner(element)
    hidden_line = (element.get("style") or "").endswith(NO_LINE)
    scale = math.sqrt(abs(to_page.determinant)) or 1.0
    drop(element, *_LOOKS)
    kept = {name: value for name, value in css.items() if name not in _LOOKS}
    if tag in _SHAPES or tag in _TEXT:
        kept |= _look(paint, scale, text=tag in _TEXT, hidden_line=hidden_line)
    element.set("style", ";".join(f"{name}:{value}" for name, value in kept.items()))
    for child in list(element):
        _draw(child, paint, to_page, fading)
    wide = paint.stroke and paint.width * scale >= WIDE_MM and not hidden_line
    if wide and paint.strongest >= _FAINT and tag in _SHAPES:
        _hollow(element, paint.width - 2 * LINE_MM / scale)


def _look(paint: _Paint, scale: float, *, text: bool, hidden_line: bool) -> dict[str, str]:
    """Give the style of one shape."""
    solid = paint.fill and paint.seen * paint.fill_opacity >= _SOLID
    look = {"fill": PAPER if solid else "none"}
    if paint.strongest < _FAINT:
        return {"fill": "none", "stroke": "none"}
    if hidden_line:  # the knife's own line: its fill alone is artwork
        return {**look, "stroke": "none"}
    if paint.stroke and not text:
        return {**look, "stroke": INK, "stroke-width": number(paint.width, 6)}
    if paint.fill or paint.stroke:
        look |= {"stroke": INK, "stroke-linejoin": "round"}
        look["stroke-width"] = number(LINE_MM / scale, 6)
    return look


def _hollow(element: etree._Element, width: float) -> None:
    """Lay a white line on a wide black one, so that its edges are left."""
    inner = copy.deepcopy(element)
    drop(inner, "id")
    inner.tail = None
    css = _css(inner) | {"fill": "none", "stroke": PAPER, "stroke-width": number(width, 6)}
    css |= dict.fromkeys(("marker-start", "marker-mid", "marker-end"), "none")
    inner.set("style", ";".join(f"{name}:{value}" for name, value in css.items()))
    group = etree.Element(f"{{{SVG}}}g")
    parent = element.getparent()
    assert parent is not None
    group.tail, element.tail = element.tail, None
    parent.replace(element, group)
    group.extend([element, inner])


def _css(element: etree._Element, *more: str) -> dict[str, str]:
    """Give what an element says of its looks: attributes, and over them its style."""
    own = {n: str(element.get(n)) for n in (*_LOOKS, *more) if element.get(n)}
    for part in (element.get("style") or "").split(";"):
        name, colon, value = part.partition(":")
        if colon:
            own[name.strip()] = value.strip()
    return own


def _fading(by_id: Mapping[str, etree._Element]) -> frozenset[str]:
    """Give the ids of gradients that are half transparent, or more so, anywhere."""
    out = set()
    for key, gradient in by_id.items():
        if not local(gradient).endswith("Gradient"):
            continue
        seen: list[etree._Element] = []
        held: etree._Element | None = gradient
        while held is not None and len(held) == 0 and held not in seen:
            seen.append(held)
            held = by_id.get((held.get("href") or "")[1:])
        stops = [_css(stop, "stop-opacity") for stop in (held if held is not None else ())]
        if any(_share(css.get("stop-opacity"), 1.0) < _SOLID for css in stops):
            out.add(key)
    return frozenset(out)


def _paints(value: str, fading: frozenset[str]) -> bool:
    """Whether a paint leaves an edge."""
    return value not in ("none", "transparent") and not fading & set(local_urls(value))


def _painted(css: dict[str, str], above: _Paint, fading: frozenset[str]) -> _Paint:
    blended = css.get("mix-blend-mode", "normal") != "normal"
    own = 0.0 if blended else _share(css.get("opacity"), 1.0)
    fill, stroke = css.get("fill", "inherit"), css.get("stroke", "inherit")
    width = css.get("stroke-width", "").removesuffix("px")
    return _Paint(
        above.fill if fill == "inherit" else _paints(fill, fading),
        above.stroke if stroke == "inherit" else _paints(stroke, fading),
        float(width) if width.replace(".", "", 1).isdigit() else above.width,
        above.seen * own,
        _share(css.get("fill-opacity"), above.fill_opacity),
        _share(css.get("stroke-opacity"), above.stroke_opacity),
    )


def _share(text: str | None, otherwise: float) -> float:
    try:
        told = (text or "").strip()
        return float(told[:-1]) / 100 if told.endswith("%") else float(told)
    except ValueError:
        return otherwise


def _inner(element: etree._Element) -> Affine:
    """Give the map from what is in an element to what is round it."""
    own = transform(element.get("transform"), _ANY) or IDENTITY
    box = view_box(element.get("viewBox"))
    if local(element) != "svg" or element.getparent() is None or box is None:
        return own
    try:
        wide, high = float(element.get("width") or 0), float(element.get("height") or 0)
    except ValueError:
        return own
    if not (box[2] and box[3] and wide > 0 and high > 0):
        return own
    scale = min(wide / box[2], high / box[3])
    return own @ Affine(scale, 0, 0, scale, 0, 0)
