"""The picture of a design: its drawing without the die lines, written anew.

Renderers get only what `svg_clean` has written; see `artwork_render`.
"""

import copy

from lxml import etree

from personalize.design.svg import Shape, SvgDocument
from personalize.design.svg_clean import MARK, NAMES, clean_copy, matrix_text
from personalize.design.svg_xml import SVG, drop, local
from personalize.design.window import window
from personalize.errors import OwnFaultError
from personalize.geometry.affine import Affine
from personalize.geometry.zone import Region
from personalize.units import number

Box = tuple[float, float, float, float]
NO_LINE = "stroke:none;marker-start:none;marker-mid:none;marker-end:none"
"""Style of a shape whose stroke was a die line: its fill alone is artwork."""


def artwork_svg(
    document: SvgDocument,
    without: frozenset[int],
    box_mm: Box,
    seen: Region | None = None,
    unprinted: frozenset[int] = frozenset(),
) -> bytes:
    """Write a drawing without its die lines, as an SVG of exactly `box_mm`.

    A die line's stroke is never artwork. Its fill is: a background whose edge is the
    outline keeps its fill. A die line without fill is taken out. Where an element is
    drawn several times (``use``) only the copies that are die lines change, and what a
    clip path or mask takes from it stays whole.

    Parameters
    ----------
    document
        The drawing.
    without
        Keys of the shapes that are die lines.
    box_mm
        Page of the result (x0, y0, x1, y1) in the drawing's page mm, y up. It may reach
        past the drawing's own page: artwork there shows.
    seen
        Nothing shows outside this region (page mm), where another piece may lie.
    unprinted
        Keys of other shapes that are taken out with their fill.

    Returns
    -------
    bytes
        UTF-8; its size in mm with a viewBox in mm; no script, link, style sheet,
        animation or foreign content, pictures (PNG, JPEG) kept inside.
    """
    x0, y0, x1, y1 = box_mm
    width, height = number(x1 - x0, 6), number(y1 - y0, 6)
    page = etree.Element(f"{{{SVG}}}svg", nsmap=NAMES)
    page.set("width", f"{width}mm")
    page.set("height", f"{height}mm")
    page.set("viewBox", f"0 0 {width} {height}")
    down = Affine(1, 0, 0, -1, -x0, y1)  # page mm, y up, to mm from the box's top left
    placed = down @ document.page_from_root @ document.root_map
    within = page if seen is None else window(page, seen, box_mm)
    holder = etree.SubElement(within, f"{{{SVG}}}g", transform=matrix_text(placed))
    drawing = _Editor(document)
    for shape in document.shapes:
        if shape.key in without or shape.key in unprinted:
            drawing.take_out(shape, whole=shape.key in unprinted)
    holder.append(drawing.root)
    for element in page.iter():
        drop(element, MARK)
    etree.cleanup_namespaces(page)
    return etree.tostring(page, encoding="utf-8", xml_declaration=True)


class _Editor:
    """A clean copy of a drawing in which single drawn instances can be changed."""

    def __init__(self, document: SvgDocument) -> None:
        self._tree = document.tree
        self._ways = {
            key: tuple(leaf.way.up())[::-1]
            for key, leaf in enumerate(
                leaf for leaf in document.leaves if leaf.contours is not None
            )
        }
        self.root = clean_copy(document.tree, document.viewport)
        self._whole = copy.deepcopy(self.root)
        """The drawing before any change: copies are taken from here."""
        self._whole_at = {element.get(MARK): element for element in self._whole.iter()}
        self._defs: etree._Element | None = None
        links = (element.get("href") or "" for element in self.root.iter())
        self._linked = {link[1:] for link in links if link.startswith("#")}

    def take_out(self, shape: Shape, *, whole: bool) -> None:
        """Take the stroke of one drawn shape out; the shape too where that was all."""
        element = self.root
        for at in self._ways[shape.key][1:]:
            if local(element) == "use":
                element = self._expanded(element)
                if element.get(MARK) == str(at):
                    continue
            element = _child(element, at)
            self._keep_whole(element)
        if whole or shape.fill is None:
            element.clear()
            element.tag = f"{{{SVG}}}g"  # empty; what stands beside it keeps its place
            return
        style = element.get("style")
        element.set("style", f"{style};{NO_LINE}" if style else NO_LINE)

    def _keep_whole(self, element: etree._Element) -> None:
        """Before an element that others refer to changes, keep it whole in defs."""
        key = element.get("id")
        if key is None or key not in self._linked:
            return
        if self._defs is None:
            self._defs = etree.Element(f"{{{SVG}}}defs")
            self.root.insert(0, self._defs)
        self._defs.append(copy.deepcopy(self._whole_at[element.get(MARK)]))
        _without_ids(element)

    def _expanded(self, use: etree._Element) -> etree._Element:
        """Put a copy of what a ``use`` draws in its place (SVG 2 chapter 5)."""
        target = self._whole_at[str(self._tree.by_id[str(use.get("href"))[1:]])]
        made = copy.deepcopy(target)
        made.tail = None
        _without_ids(made)
        shift = f"translate({use.get('x', '0')} {use.get('y', '0')})"
        placed = f"{use.get('transform', '')} {shift}".strip()
        if local(made) in ("symbol", "svg"):
            made.tag = f"{{{SVG}}}svg"
            for name in ("width", "height"):
                value = use.get(name) or made.get(name) or "100%"
                made.set(name, value)
        drop(use, "href", "x", "y", "width", "height")
        use.tag = f"{{{SVG}}}g"
        use.set("transform", placed)
        use.append(made)
        return made


def _child(parent: etree._Element, at: int) -> etree._Element:
    """Find the child that stands for an element of the source."""
    for child in parent:
        if child.get(MARK) == str(at):
            return child
    raise OwnFaultError("a die line was lost while its artwork was written.")


def _without_ids(element: etree._Element) -> None:
    for one in element.iter():
        drop(one, "id")
