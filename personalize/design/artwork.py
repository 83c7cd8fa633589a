"""The picture of a design: its drawing without the die lines, written, drawn, checked.

Renderers get only what `svg_clean` has written anew, and run in a process of their own
(`artwork_worker`).
"""

import copy
import json
import math
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass

import numpy as np
import pikepdf
from lxml import etree
from numpy.typing import NDArray

from personalize.design import artwork_worker
from personalize.design.pixels import middle_of_largest
from personalize.design.svg import Shape, SvgDocument
from personalize.design.svg_clean import MARK, NAMES, clean_copy, matrix_text
from personalize.design.svg_xml import SVG, drop, local
from personalize.errors import OwnFaultError, refuse
from personalize.geometry.affine import Affine, Point
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region
from personalize.units import FLATTEN_MM, number

Box = tuple[float, float, float, float]
LIMIT_S = 90.0
"""Longest that a renderer may take. Ordinary artwork takes 0.02 s, the slowest filter met
in 87 drawings by others 36 s."""
BLEED_PX_PER_MM = 4.0
"""Pixels per mm in which the bleed is looked at: a bare hairline of one pixel is 0.25 mm,
less than any cut is off."""
_PAINTED = 128
"""Alpha from which paper counts as covered (half)."""
_DRAWN = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}) | {
    *("text", "image", "use")
}


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
    within = page if seen is None else _window(page, seen, box_mm)
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


def _window(page: etree._Element, seen: Region, box_mm: Box) -> etree._Element:
    """Give a group of the page that shows nothing outside a region."""
    x0, _, _, y1 = box_mm
    data = "".join(
        "M" + " ".join(f"{number(x - x0)} {number(y1 - y)}" for x, y in ring) + "Z"
        for ring in seen.rings()
    )
    key = "personalize-piece"
    defs = etree.SubElement(page, f"{{{SVG}}}defs")
    clip = etree.SubElement(defs, f"{{{SVG}}}clipPath", id=key)
    etree.SubElement(clip, f"{{{SVG}}}path", {"clip-rule": "evenodd", "d": data})
    return etree.SubElement(page, f"{{{SVG}}}g", {"clip-path": f"url(#{key})"})


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
        none = "stroke:none;marker-start:none;marker-mid:none;marker-end:none"
        style = element.get("style")
        element.set("style", f"{style};{none}" if style else none)

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


def has_picture(svg: bytes) -> bool:
    """Whether an SVG of `artwork_svg` puts any ink on the page."""
    root = etree.fromstring(svg)
    if not any(local(element) in _DRAWN for element in root.iter()):
        return False
    longest = max(_size_mm(root))
    pixels = _pixels(render_artwork(svg, min(8.0, 400.0 / longest)))
    return bool(pixels[:, :, 3].any())


def compile_artwork(
    svg: bytes, width_mm: float, height_mm: float, *, name: str = "the artwork"
) -> bytes:
    """Turn an SVG of `artwork_svg` into a PDF of one page of exactly that size.

    Shapes and gradients stay vectors, text stays text; filters become pictures. Equal
    input gives equal bytes.

    Parameters
    ----------
    svg
        The artwork.
    width_mm, height_mm
        Size of the page, which the SVG fills.
    name
        The design's name, for the sentence.

    Raises
    ------
    InputError
        When the renderer refuses the drawing, dies of it or takes over `LIMIT_S`.
    """
    task: dict[str, object] = {"to": "pdf", "width": width_mm, "height": height_mm}
    return _worked(task, svg, name)


def render_artwork(svg: bytes, px_per_mm: float, *, name: str = "the artwork") -> bytes:
    """Draw an SVG of `artwork_svg` as a PNG with alpha.

    Its sides are those of the page times `px_per_mm`, rounded up to whole pixels; the
    page fills it. Raises InputError as `compile_artwork` does.
    """
    root = etree.fromstring(svg)
    width, height = (math.ceil(side * px_per_mm - 1e-6) for side in _size_mm(root))
    # Renderers round the size of the page to whole px before they scale it: measured.
    root.set("width", str(width))
    root.set("height", str(height))
    root.set("preserveAspectRatio", "none")
    task: dict[str, object] = {"to": "png", "width": width, "height": height}
    return _worked(task, etree.tostring(root, encoding="utf-8"), name)


def _size_mm(root: etree._Element) -> tuple[float, float]:
    words = str(root.get("viewBox")).split()
    return (float(words[2]), float(words[3]))


def _worked(task: dict[str, object], svg: bytes, name: str) -> bytes:
    """Let the worker do a task. Raises InputError with what went wrong."""
    paths = [path for path in sys.path if os.path.isabs(path)]
    # As a file, so that the rest of the package is not loaded. -P: no module that lies
    # beside it or in the working folder is taken for a library.
    command = [sys.executable, "-P", artwork_worker.__file__]
    do = "Save the drawing as plain SVG, with effects turned into pictures."
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as empty:
        try:
            done = subprocess.run(
                command,
                input=json.dumps(task).encode() + b"\n" + svg,
                capture_output=True,
                cwd=empty,
                env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
                timeout=LIMIT_S,
                check=False,
            )
        except subprocess.TimeoutExpired:
            says = f"its picture takes longer than {LIMIT_S:.0f} s to draw."
            raise refuse(name, says, do) from None
    if done.returncode == 0:
        return done.stdout
    told = done.stderr.decode("utf-8", "replace").strip()
    if done.returncode == artwork_worker.REFUSED:
        raise refuse(name, f"its picture cannot be drawn ({told.rstrip('.')}).", do)
    if done.returncode == 1:
        last = told.splitlines()[-1] if told else "no reason given"
        raise OwnFaultError(f"The renderer could not be started: {last}.")
    raise refuse(name, "the renderer breaks down over its picture.", do)


def _pixels(png: bytes) -> NDArray[np.uint8]:
    """Read a PNG of the renderer (8 bit RGBA, not interlaced): (height, width, 4).

    PNG's filters are the predictors of PDF, so the PDF library undoes them.
    """
    width, height = (int.from_bytes(png[at : at + 4], "big") for at in (16, 20))
    if png[24:29] != b"\x08\x06\x00\x00\x00":
        raise OwnFaultError("The renderer wrote a PNG of another kind than RGBA.")
    data, at = b"", 8
    while at < len(png):
        size = int.from_bytes(png[at : at + 4], "big")
        if png[at + 4 : at + 8] == b"IDAT":
            data += png[at + 8 : at + 8 + size]
        at += 12 + size
    with pikepdf.new() as pdf:
        stream = pikepdf.Stream(pdf, b"")
        how = pikepdf.Dictionary(Predictor=15, Colors=4, BitsPerComponent=8, Columns=width)
        stream.write(data, filter=pikepdf.Name.FlateDecode, decode_parms=how)
        raw = stream.read_bytes()
    return np.frombuffer(raw, np.uint8).reshape(height, width, 4)


@dataclass(frozen=True, slots=True)
class BareBleed:
    """How much of the bleed shows paper."""

    share: float
    """Of the ring between the outline and the end of the bleed: 0 to 1."""
    middle: Point | None
    """Middle of the longest bare stretch, in piece mm; None where nothing is bare."""


def bare_bleed(svg: bytes, box_mm: Box, outline: Contour, bleed: Region) -> BareBleed:
    """Look where the artwork leaves the bleed unpainted. White paint is paint.

    Bare hairlines under two pixels (0.5 mm) between abutting shapes do not count.

    Parameters
    ----------
    svg
        The artwork, whose page is `box_mm` of the piece.
    outline
        The knife's line.
    bleed
        The outline grown by the bleed.
    """
    ring = [outline.flattened(FLATTEN_MM), *bleed.rings()[:1]]
    mask = _alpha(_ring_svg(ring, box_mm)) == 255
    bare = mask & (_alpha(svg) < _PAINTED)
    # Shrunk by a pixel and grown again within the ring; past the ring nothing is known.
    inner = ~_widened(mask & ~bare) & bare
    bare &= _widened(inner)
    if not bare.any():
        return BareBleed(0.0, None)
    row, column = middle_of_largest(bare)
    high, wide = bare.shape
    x0, y0, x1, y1 = box_mm
    middle = (
        x0 + (column + 0.5) * (x1 - x0) / wide,
        y1 - (row + 0.5) * (y1 - y0) / high,
    )
    return BareBleed(float(bare.sum() / mask.sum()), middle)


def _alpha(svg: bytes) -> NDArray[np.uint8]:
    return _pixels(render_artwork(svg, BLEED_PX_PER_MM))[:, :, 3]


def _ring_svg(rings: list[NDArray[np.float64]], box_mm: Box) -> bytes:
    """Draw what lies between two rings on a page like the artwork's."""
    x0, y0, x1, y1 = box_mm
    width, height = number(x1 - x0, 6), number(y1 - y0, 6)
    paths = (
        "M" + " ".join(f"{number(x - x0)} {number(y1 - y)}" for x, y in ring) + "Z"
        for ring in rings
    )
    return (
        f'<svg xmlns="{SVG}" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">'
        f'<path fill-rule="evenodd" d="{"".join(paths)}"/></svg>'
    ).encode()


def _widened(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Grow a mask by one pixel in all eight directions."""
    out = mask.copy()
    out[1:] |= mask[:-1]
    out[:-1] |= mask[1:]
    wide = out.copy()
    wide[:, 1:] |= out[:, :-1]
    wide[:, :-1] |= out[:, 1:]
    return wide
