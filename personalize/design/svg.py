"""An SVG drawing as shapes in mm, y up: units, viewports, transforms and CSS applied.

Rules are those of SVG 2; numbers are exact (no rounding, curves stay curves). The
document itself is kept beside the shapes, so that `personalize.design.artwork` can write
what is not a die line.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

import cssselect2
import tinycss2
from lxml import etree

from personalize.design import svg_walk
from personalize.design.svg_clip import Clipper, not_followed
from personalize.design.svg_entities import without_outside
from personalize.design.svg_lengths import Viewport
from personalize.design.svg_page import FAR_MM, read_page, root_transform
from personalize.design.svg_style import cascade
from personalize.design.svg_tree import Ignored, Tree
from personalize.design.svg_walk import Leaf, Walk
from personalize.design.svg_xml import (
    check_expansion,
    href,
    line_of,
    local,
    local_urls,
    picture_fault,
    safe_root,
)
from personalize.errors import InputError, refuse
from personalize.geometry.affine import Affine, Point
from personalize.geometry.path import Arc, Contour, Cubic
from personalize.units import MM_PER_INCH, MM_PER_PX

PX_PER_INCH = 96.0
"""Pixels to the inch that CSS has, taken where a drawing states no size."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One drawn outline: an element, once for each time that it is drawn."""

    key: int
    """Place in drawing order among the shapes of the document."""
    element: int
    """Place of the source element in the document; the same for several uses of it."""
    contours: tuple[Contour, ...]
    """In page mm, y up."""
    id: str
    classes: tuple[str, ...]
    labels: tuple[str, ...]
    """The element's own human labels, then labels and ids of what it stands in."""
    own_labels: int
    """How many of the labels are its own."""
    stroke: str | None
    """CSS paint as written; None where nothing is stroked."""
    fill: str | None
    """CSS paint as written; None where nothing is filled."""
    dashed: bool
    dashes: str
    """The pattern as written; it counts only where `dashed` holds."""
    stroke_mm: float
    """Width of the stroke; 0 where nothing is stroked."""
    line: int
    """Line of the source file; 0 when not known."""


@dataclass(frozen=True, slots=True)
class SvgDocument:
    """A drawing that has been read: its size, its shapes, and the document itself."""

    name: str
    width_mm: float
    height_mm: float
    page_from_root: Affine
    """Root user units (y down) to page mm (y up, origin at the page's lower left)."""
    root_map: Affine
    """The root element's own transform, in its user units."""
    viewport: Viewport
    """What percentages refer to at the root, in its user units."""
    size_stated: bool
    """Whether the size comes from physical units; else it depends on px to the inch."""
    shapes: tuple[Shape, ...]
    ignored: tuple[Ignored, ...]
    """What was left out: hidden elements, linked files, scripts."""
    tree: Tree
    leaves: tuple[Leaf, ...]
    """All that is drawn, text and pictures too, in drawing order."""

    def select(self, selector: str) -> frozenset[int]:
        """Find the shapes that a CSS selector names, themselves or by a group of theirs.

        For a ``use`` it is the use element and its groups that count, beside the used
        element. Raises ValueError when the selector is not valid CSS.

        >>> data = b'<svg><path id="a" d="M0 0h9"/></svg>'
        >>> parse_svg(data, "a.svg").select("#a")
        frozenset({0})
        """
        matched = self.matched(selector)
        keyed = [leaf for leaf in self.leaves if leaf.contours is not None]
        return frozenset(
            shape.key
            for shape, leaf in zip(self.shapes, keyed, strict=True)
            if any(at in matched for at in leaf.way.up())
        )

    def matched(self, selector: str) -> set[int]:
        """Find the elements that a CSS selector names, by their place in the document.

        Raises ValueError when the selector is not valid CSS.
        """
        root = self.tree.elements[0]
        spaces = {
            key: space
            for element in reversed(self.tree.elements)  # the root has the last word
            for key, space in element.nsmap.items()
            if key is not None
        }
        try:
            plain = _ANY_SPACE.sub(lambda match: _in_any(match[1], spaces), selector)
            tokens = tinycss2.parse_component_value_list(plain)
            compiled = cssselect2.compile_selector_list(tokens, namespaces=spaces)
        except (cssselect2.SelectorError, NotImplementedError) as error:
            raise ValueError(f"{selector!r} is not a CSS selector") from error
        except RecursionError:
            raise ValueError("the CSS selector is nested too deep") from None
        matcher = cssselect2.Matcher()
        for one in compiled:
            if one.pseudo_element is None:
                matcher.add_selector(one, None)
        wrappers = cssselect2.ElementWrapper.from_xml_root(root).iter_subtree()
        return {i for i, wrapper in enumerate(wrappers) if matcher.match(wrapper)}

    def told(self) -> tuple[str, ...]:
        """Give what was left out, each with its line, as people read it."""
        return tuple(one.told() for one in self.ignored)

    def point_mm(self, x_mm: float, y_mm: float) -> Point:
        """Turn a point in the drawing's own axes (mm from top left, y down) to y up."""
        return (x_mm, self.height_mm - y_mm)


_ANY_SPACE = re.compile(r"""\[\s*\*\|((?:[^\]"']|"[^"]*"|'[^']*')*)\]""")


def _in_any(test: str, spaces: Mapping[str, str]) -> str:
    """Write ``[*|name...]``, which our matcher lacks, as a test in each namespace.

    >>> _in_any('label="Cut"', {"k": "urn:k"})
    ':is([label="Cut"],[k|label="Cut"])'
    """
    return f":is({','.join([f'[{test}]', *(f'[{key}|{test}]' for key in spaces)])})"


def parse_svg(data: bytes, name: str, px_per_inch: float = PX_PER_INCH) -> SvgDocument:
    """Read an SVG file that nobody vouches for.

    Parameters
    ----------
    data
        The bytes of the file.
    name
        Its bare name, for sentences.
    px_per_inch
        Pixels to the inch, where the drawing states no size in mm or inches. CSS has 96
        (CSS Values 4, section 6.2); drawing programs have written 72 and 90.

    Raises
    ------
    InputError
        When it cannot be used, with one sentence and, where known, the line.
    """
    data, outside = without_outside(data)
    root = safe_root(data, name)
    tree = _tree(root, name)
    check_expansion(list(tree.elements), _links(tree), name)
    page = read_page(tree, name)
    mm = MM_PER_PX if page.stated else MM_PER_INCH / px_per_inch
    try:
        root_map = root_transform(tree, page)
        found = svg_walk.walk(tree, page.viewport, root_map)
        flip = Affine(mm, 0, 0, -mm, 0, page.height_px * mm)
        page_from_root = flip @ page.inner
    except (ValueError, OverflowError):
        raise refuse(
            name, "the drawing holds numbers that are far too large.", "Scale it down."
        ) from None
    shapes, leaves, ignored = _shapes(tree, found, page_from_root)
    told = _ignored(tree, found) + ignored
    told += [
        Ignored(line, f"the entity &{key}; leads outside the file and is left empty")
        for line, key in outside
    ]
    return SvgDocument(
        name,
        page.width_px * mm,
        page.height_px * mm,
        page_from_root,
        root_map,
        page.viewport,
        page.stated,
        shapes,
        tuple(sorted(told, key=lambda one: one.line)),
        tree,
        leaves,
    )


def size_said_twice(place: str, drawing: SvgDocument) -> InputError:
    """Make the error for px to the inch beside a size in mm or inches."""
    return refuse(
        place,
        f"{drawing.name} states its own size, {drawing.width_mm:.1f} x"
        f" {drawing.height_mm:.1f} mm, so px per inch says nothing.",
        "Leave it out.",
    )


def _tree(root: etree._Element, name: str) -> Tree:
    elements = [one for one in root.iter() if isinstance(one.tag, str)]
    by_id: dict[str, int] = {}
    for i, element in enumerate(elements):
        key = element.get("id")
        if key:
            by_id.setdefault(str(key), i)
    return Tree(
        tuple(elements),
        tuple(cascade(elements, name)),
        {element: i for i, element in enumerate(elements)},
        by_id,
    )


_LINKING = frozenset(
    {"use", "pattern", "linearGradient", "radialGradient", "filter", "feImage", "textPath"}
)
"""Elements whose link brings the other element into the drawing."""


def _links(tree: Tree) -> list[list[int]]:
    """For each element, what it draws by ``use`` or by a paint, mask, clip or marker."""
    out: list[list[int]] = []
    for at, element in enumerate(tree.elements):
        target = tree.target(element) if local(element) in _LINKING else None
        out.append([] if target is None else [target])
        values = [str(v) for k, v in element.attrib.items() if k != "style"]
        for value in (*values, *tree.css[at].values()):
            found = {tree.by_id[key] for key in local_urls(value) if key in tree.by_id}
            out[at].extend(found - tree.round(at) if found else ())
    return out


def _shapes(
    tree: Tree, found: Walk, page_from_root: Affine
) -> tuple[tuple[Shape, ...], tuple[Leaf, ...], list[Ignored]]:
    shapes: list[Shape] = []
    leaves: list[Leaf] = []
    too_far: list[Ignored] = []
    clipper = Clipper(tree, page_from_root)
    for leaf in found.leaves:
        if leaf.contours is None:
            leaves.append(leaf)
            continue
        element = tree.elements[leaf.way.element]
        contours = _on_page(leaf, page_from_root)
        if contours is None:
            says = f"<{local(element)}> lies more than 100 m away and is left out"
            too_far.append(Ignored(line_of(element), says))
            continue
        if leaf.clips:
            is_filled = leaf.style.paint(leaf.style.fill) is not None
            contours = clipper.seen(contours, leaf.clips, is_filled=is_filled)
            if not contours:
                continue
        leaves.append(leaf)
        scale = abs((page_from_root @ leaf.to_root).determinant) ** 0.5
        shapes.append(_shape(tree, leaf, len(shapes), contours, round(scale, 9)))
    too_far += [
        Ignored(
            line_of(tree.elements[at]),
            f"{_called(tree.elements[at])} does not bound any die line (text, or a tangle)",
        )
        for at in sorted(clipper.not_followed)
    ]
    too_far += [
        Ignored(
            line_of(tree.elements[at]),
            f"{_called(tree.elements[at])} is drawn whole: clip-path {name}() is not read",
        )
        for at, name in not_followed(tree)
    ]
    return tuple(shapes), tuple(leaves), too_far


def _on_page(leaf: Leaf, page_from_root: Affine) -> tuple[Contour, ...] | None:
    """Map a shape to page mm; None when it is not within `FAR_MM`."""
    try:
        to_page = page_from_root @ leaf.to_root
    except ValueError:
        return None
    out = tuple(contour.transformed(to_page) for contour in leaf.contours or ())
    for contour in out:
        for point in _points(contour):
            if not (abs(point[0]) < FAR_MM and abs(point[1]) < FAR_MM):
                return None
    return out


def _points(contour: Contour) -> list[Point]:
    points = [contour.start]
    for segment in contour.segments:
        points.append(segment.end)
        if isinstance(segment, Cubic):
            points += (segment.c1, segment.c2)
        if isinstance(segment, Arc):
            points.append((segment.rx, segment.ry))
    return points


def _shape(
    tree: Tree, leaf: Leaf, key: int, contours: tuple[Contour, ...], scale: float
) -> Shape:
    at = leaf.way.element
    element = tree.elements[at]
    style, viewport = leaf.style, leaf.viewport
    labels, own = _labels(tree, leaf)
    return Shape(
        key,
        at,
        contours,
        str(element.get("id") or ""),
        tuple(str(element.get("class") or "").split()),
        labels,
        own,
        style.stroked(viewport),
        style.paint(style.fill),
        style.dashed(viewport),
        style.dashes,
        2 * style.stroke_half(viewport) * scale,
        line_of(element),
    )


def _labels(tree: Tree, leaf: Leaf) -> tuple[tuple[str, ...], int]:
    """Own labels, then label and id of each ancestor, the nearest first; how many own.

    Drawing programs write the name of a layer as ``label`` or ``data-name``. Common
    practice, no source.
    """
    out: list[str] = []
    own = 0
    for at in leaf.way.up():
        element = tree.elements[at]
        for name, value in element.attrib.items():
            plain = etree.QName(str(name)).localname
            if plain in ("label", "data-name") and value:
                out.append(str(value))
        if at == leaf.way.element:
            own = len(out)
        key = element.get("id")
        if key and at != leaf.way.element:
            out.append(str(key))
    return tuple(out), own


def _ignored(tree: Tree, found: Walk) -> list[Ignored]:
    """List what a person might miss: hidden things, linked files, active content."""
    out = [
        Ignored(
            line_of(tree.elements[one.element]),
            f"{_called(tree.elements[one.element])} is hidden ({one.why})",
            one.element,
        )
        for one in found.hidden
    ]
    for element in tree.elements:
        tag, link = local(element), href(element) or "#"
        line = line_of(element)
        picture = tag in ("image", "feImage") and link.startswith("data:")
        fault = picture_fault(link) if picture else None
        if fault is not None:
            out.append(Ignored(line, f"{_called(element)} holds {fault}"))
        elif tag in ("image", "use", "feImage") and not link.startswith(("#", "data:")):
            out.append(Ignored(line, f"{_called(element)} is a link to outside the file"))
        elif tag in ("script", "foreignObject"):
            out.append(Ignored(line, f"<{tag}> is never used"))
    return out


def _called(element: etree._Element) -> str:
    key = element.get("id")
    return f'<{local(element)} id="{key}">' if key else f"<{local(element)}>"
