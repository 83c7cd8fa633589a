"""Parts of artwork that a PDF cannot hold as vectors, turned into pictures where they are.

A filter is one (PDF has none: ISO 32000-2), a radial gradient that repeats or mirrors
itself another (the renderer prints its last colour: measured). Only the element that
needs it becomes a picture, at 600 px to the inch; all round it stays as it was.
"""

import base64
import copy
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from lxml import etree
from numpy.typing import NDArray

from personalize.design.png import png_of, png_pixels
from personalize.design.svg_clean import matrix_text
from personalize.design.svg_lengths import Viewport
from personalize.design.svg_values import transform, view_box
from personalize.design.svg_xml import SVG, drop, local, local_urls
from personalize.geometry.affine import IDENTITY, Affine
from personalize.units import MM_PER_INCH, number

PX_PER_INCH = 600.0
"""Of a picture of a part: twice the 300 that print asks of photos (common practice, no
source), as it may hold sharp edges."""
MOST_PIXELS = 40_000_000
"""Of a page drawn for such a picture. An A4 page has 35 million at 600 px to the inch;
larger ones are drawn coarser, so that the renderer's memory stays under its bound."""
Draw = Callable[[bytes, float], bytes]
"""Draws an SVG at some px per mm, as a PNG."""
_FILTER, _GRADIENT = "a filter", "a radial gradient that repeats"
_UNPAINTED = frozenset(
    {"defs", "symbol", "clipPath", "mask", "pattern", "marker", "filter"}
)
_OVER_ALL = ("opacity", "clip-path", "mask", "filter", "mix-blend-mode", "isolation")
"""What an element does to all that is in it. It stays in the vectors, round the picture."""


@dataclass(frozen=True, slots=True)
class PicturedPart:
    """A part of artwork that is printed as a picture."""

    why: str
    """What in it no PDF can hold, for a sentence."""
    tag: str


def pictured_parts(svg: bytes) -> tuple[PicturedPart, ...]:
    """Tell which parts of an SVG of `artwork_svg` become pictures; none for most."""
    if not _may_need(svg):
        return ()
    root = etree.fromstring(svg)
    return tuple(PicturedPart(why, local(element)) for element, why in _Hard(root).parts())


def px_per_inch(svg: bytes) -> float:
    """Tell how fine those pictures are: `PX_PER_INCH`, or less on a page too large."""
    return _px_per_mm(etree.fromstring(svg)) * MM_PER_INCH


def with_pictures(svg: bytes, draw: Draw) -> bytes:
    """Put pictures in the place of the parts that need it."""
    if not _may_need(svg):
        return svg
    root = etree.fromstring(svg)
    parts = [element for element, _ in _Hard(root).parts()]
    if not parts:
        return svg
    px_per_mm = _px_per_mm(root)
    made = [_picture(root, element, draw, px_per_mm) for element in parts]
    for element, image in zip(parts, made, strict=True):
        parent = element.getparent()
        assert parent is not None  # the page itself is no part
        if image is None:
            parent.remove(element)
        else:
            parent.replace(element, image)
    return etree.tostring(root, encoding="utf-8", xml_declaration=True)


def _may_need(svg: bytes) -> bool:
    return b"filter" in svg or b"spreadMethod" in svg


def _px_per_mm(root: etree._Element) -> float:
    box = view_box(root.get("viewBox")) or (0, 0, 1, 1)
    bound = math.sqrt(MOST_PIXELS / (box[2] * box[3]))
    return min(PX_PER_INCH / MM_PER_INCH, bound)


class _Hard:
    """Finds what cannot be printed as vectors."""

    def __init__(self, root: etree._Element) -> None:
        self._root = root
        self._by_id = {one.get("id"): one for one in root.iter() if one.get("id")}
        self._known: dict[etree._Element, str | None] = {}

    def parts(self) -> Iterator[tuple[etree._Element, str]]:
        """Give the outermost elements that become pictures, with the reason."""
        found: dict[etree._Element, str] = {}
        for element in self._root.iter():
            if any(local(one) in _UNPAINTED for one in (element, *element.iterancestors())):
                continue
            why = self._own(element)
            if why is not None:
                found.setdefault(_placed(element), why)
        for element, why in found.items():
            if not any(one in found for one in element.iterancestors()):
                yield element, why

    def _own(self, element: etree._Element) -> str | None:
        """Tell why an element itself is hard, by what it refers to."""
        words = [str(v) for k, v in element.attrib.items() if k not in ("href", "id", "d")]
        keys = [key for word in words for key in local_urls(word)]
        link = element.get("href") or ""
        if local(element) == "use" and link.startswith("#"):
            keys.append(link[1:])
        if any(_asks_for_function(word) for word in words):
            return _FILTER
        reasons = (self._whole(self._by_id[key]) for key in keys if key in self._by_id)
        return next((why for why in reasons if why is not None), None)

    def _whole(self, element: etree._Element) -> str | None:
        """Tell why an element that is referred to is hard, by all that is in it."""
        if element in self._known:
            return self._known[element]
        self._known[element] = None  # what refers to itself ends here
        why = None
        if local(element) == "filter":
            why = _FILTER
        elif local(element) == "radialGradient" and self._spread(element) != "pad":
            why = _GRADIENT
        else:
            reasons = (self._own(one) for one in element.iter())
            why = next((one for one in reasons if one is not None), None)
        self._known[element] = why
        return why

    def _spread(self, gradient: etree._Element) -> str:
        seen: list[etree._Element] = []
        held: etree._Element | None = gradient
        while held is not None and held not in seen:
            if held.get("spreadMethod"):
                return str(held.get("spreadMethod"))
            seen.append(held)
            held = self._by_id.get((held.get("href") or "")[1:])
        return "pad"


def _asks_for_function(value: str) -> bool:
    """Whether a style asks for a filter in words, such as blur(2px)."""
    parts = (part.partition(":") for part in value.split(";"))
    return any(name.strip() == "filter" and "(" in told for name, _, told in parts) and (
        "url(" not in value
    )


def _placed(element: etree._Element) -> etree._Element:
    """Give the outermost element that is as hard to place: in text, or an inner svg.

    A picture stands among shapes; in an ``svg`` with a viewport of its own its place would
    depend on that, so the whole of it becomes the picture.
    """
    best = element
    for one in (element, *element.iterancestors()):
        inner = local(one) == "svg" and one.getparent() is not None and not _is_plain(one)
        if inner or local(one) == "text":
            best = one
    return best


def _is_plain(svg: etree._Element) -> bool:
    """Whether an inner svg maps its content to itself and clips nothing."""
    box = f"0 0 {svg.get('width')} {svg.get('height')}"
    at_zero = svg.get("x", "0") == "0" and svg.get("y", "0") == "0"
    visible = "overflow:visible" in (svg.get("style") or "") or (
        svg.get("overflow") == "visible"
    )
    return at_zero and visible and svg.get("viewBox") == box


def _picture(
    root: etree._Element, element: etree._Element, draw: Draw, px_per_mm: float
) -> etree._Element | None:
    """Draw an element alone, as it stands on the page; None where it leaves no mark.

    The whole page is drawn, not a part of it: a filter may fetch its picture from afar.
    """
    alone, copied = _only(root, element)
    blend = _take(copied, "mix-blend-mode")
    pixels = png_pixels(draw(etree.tostring(alone, encoding="utf-8"), px_per_mm))
    rows, columns = (np.flatnonzero(pixels[:, :, 3].any(axis=axis)) for axis in (1, 0))
    onto_page = _to_page(element)
    if not len(rows) or onto_page.determinant == 0:
        return None
    top, bottom = int(rows[0]), int(rows[-1]) + 1
    left, right = int(columns[0]), int(columns[-1]) + 1
    box = view_box(root.get("viewBox")) or (0, 0, 1, 1)
    x_mm, y_mm = box[2] / pixels.shape[1], box[3] / pixels.shape[0]
    image = image_of(
        pixels[top:bottom, left:right],
        (left * x_mm, top * y_mm, (right - left) * x_mm, (bottom - top) * y_mm),
    )
    image.set("transform", matrix_text(onto_page.inverse()))
    if blend:
        image.set("style", f"mix-blend-mode:{blend}")
    image.tail = element.tail
    return image


def image_of(
    pixels: NDArray[np.uint8], place: tuple[float, float, float, float]
) -> etree._Element:
    """Write pixels (height, width, 4) as an ``image`` at x, y, width, height."""
    image = etree.Element(f"{{{SVG}}}image")
    for name, value in zip(("x", "y", "width", "height"), place, strict=True):
        image.set(name, number(value, 6))
    image.set("preserveAspectRatio", "none")
    packed = base64.b64encode(png_of(pixels)).decode()
    image.set("href", f"data:image/png;base64,{packed}")
    return image


def _only(
    root: etree._Element, element: etree._Element
) -> tuple[etree._Element, etree._Element]:
    """Copy a drawing with one element shown alone; give the copy, and that one in it."""
    way, here = list[int](), element
    while (parent := here.getparent()) is not None:
        way.append(parent.index(here))
        here = parent
    copied = copy.deepcopy(root)
    here = copied
    for at in reversed(way):
        for name in _OVER_ALL:
            _take(here, name)
        for nth, sibling in enumerate(here):
            if nth != at and local(sibling) not in _UNPAINTED:
                style = sibling.get("style")
                sibling.set("style", f"{style};display:none" if style else "display:none")
        here = here[at]
    return copied, here


def _take(element: etree._Element, prop: str) -> str | None:
    """Take a property off an element, wherever it is written; give its value."""
    value = element.get(prop)
    drop(element, prop)
    kept = []
    for part in (element.get("style") or "").split(";"):
        name, _, told = part.partition(":")
        if name.strip() == prop:
            value = told.strip()
        elif part.strip():
            kept.append(part)
    if "style" in element.attrib:
        element.set("style", ";".join(kept))
    return value


def _to_page(element: etree._Element) -> Affine:
    """Give the map from the user space round an element to the page."""
    out = IDENTITY
    for one in element.iterancestors():
        out = (transform(one.get("transform"), _ANY) or IDENTITY) @ out
    return out


_ANY = Viewport(1.0, 1.0, 1.0)
"""Transforms are written in user units: the viewport does not matter."""
