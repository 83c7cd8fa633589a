"""Lines cut down to what clip paths and viewports let be seen (CSS Masking 1, SVG 2).

Exact lines stay exact where nothing is cut off; what is cut is drawn with chords.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from personalize.design.svg_lengths import Viewport
from personalize.design.svg_shapes import SHAPES, contours, shape_data
from personalize.design.svg_style import Declared, Inherited, declared, not_displayed
from personalize.design.svg_tree import Clip, Tree
from personalize.design.svg_values import corner_of
from personalize.design.svg_walk import element_map
from personalize.design.svg_xml import local, local_urls
from personalize.geometry.affine import Affine, Points, translation
from personalize.geometry.path import Contour, polyline
from personalize.geometry.zone import Region, Window, filled

CHORD_MM = 0.001
"""How far the chords of a clip path and of what it cuts may be from the curves."""
SLACK_MM = 0.01
"""A line along the edge of its clip path is seen, by half its width: it stays whole."""

Regions = tuple[Region, ...]


_BASIC = re.compile(r"\s*(?:[\w-]+-box\s+)?(\w+)\(")


def not_followed(tree: Tree) -> Iterator[tuple[int, str]]:
    """Give elements whose ``clip-path`` is written as a basic shape, and its name.

    Shapes of CSS (CSS Shapes 1, section 3) are neither cut nor printed: the element is
    drawn whole.
    """
    for at, element in enumerate(tree.elements):
        asked = declared(element, tree.css[at]).get("clip-path", "")
        match = _BASIC.match(asked)
        if match is not None and match[1].lower() != "url":
            yield at, match[1].lower()


@dataclass(slots=True)
class Clipper:
    """Cuts the contours of one drawing; remembers the regions of its clip paths."""

    tree: Tree
    page_from_root: Affine
    not_followed: set[int] = field(default_factory=set)
    """Clip paths that lines could not be cut by."""
    _known: dict[Clip, Window | None] = field(default_factory=dict)

    def seen(
        self, drawn: tuple[Contour, ...], clips: tuple[Clip, ...], *, is_filled: bool
    ) -> tuple[Contour, ...]:
        """Give what is seen of contours in page mm.

        Of a filled shape it is the edge of the area that is seen; of a stroke alone the
        lines that are. Contours that lie inside altogether come back as they are.
        """
        for clip in clips:
            if clip not in self._known:
                self._known[clip] = self._window(clip)
            window = self._known[clip]
            if window is not None:
                drawn = _cut(drawn, window, is_filled=is_filled)
        return drawn

    def _window(self, clip: Clip) -> Window | None:
        try:
            region = self._region(clip)
        except ValueError:
            region = None  # a tangle, or beyond all numbers
        if region is None and clip.element is not None:
            self.not_followed.add(clip.element)
        return None if region is None else Window(region, SLACK_MM)

    def _region(self, clip: Clip) -> Regions | None:
        """Give the region of a clip in page mm; None where lines cannot follow it."""
        to_page = self.page_from_root @ clip.to_root
        if clip.element is not None:
            return self._clip_path(clip, to_page)
        assert clip.box is not None
        x, y, width, height = clip.box
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        return filled([polyline(map(to_page, corners), closed=True).flattened(CHORD_MM)])

    def _clip_path(self, clip: Clip, to_page: Affine) -> Regions | None:
        """Join what the children of a clip path fill (CSS Masking 1, section 8)."""
        at = clip.element
        assert at is not None
        element = self.tree.elements[at]
        own = declared(element, self.tree.css[at])
        viewport = clip.viewport
        if clip.box is not None:
            x, y, width, height = clip.box
            to_page = to_page @ translation(x, y) @ Affine(width, 0, 0, height, 0, 0)
            viewport = Viewport(1, 1, viewport.font_px)
        inner = element_map(self.tree, at, own, clip.viewport, Inherited())
        if inner is None or inner.determinant == 0 or to_page.determinant == 0:
            return ()
        whole: list[Region] = []
        for child in element:
            part = self._child(self.tree.place[child], to_page @ inner, viewport, own)
            if part is None:
                return None
            whole += part
        joined = _joined(whole)
        return self._bounded(joined, own, replace(clip, element=None), at)

    def _child(
        self, at: int, to_page: Affine, viewport: Viewport, above: Declared
    ) -> Regions | None:
        """Give what one child of a clip path fills; None for text, which has no outline."""
        element = self.tree.elements[at]
        tag = local(element)
        own = declared(element, self.tree.css[at])
        style = Inherited().child(above).child(own)
        if not_displayed(own) or not style.visible:
            return ()
        viewport = replace(viewport, font_px=style.font_px)
        here = element_map(self.tree, at, own, viewport, style)
        if here is None or here.determinant == 0:
            return ()
        to_page = to_page @ here
        rule = own.get("clip-rule", above.get("clip-rule", "nonzero")).strip().lower()
        if tag == "use":
            target = self.tree.target(element)
            if target is None:
                return ()
            shift = corner_of(own, viewport)
            part = self._child(
                target, to_page @ shift, viewport, above | {"clip-rule": rule}
            )
        elif tag in SHAPES:
            drawn = contours(tag, own, shape_data(tag, element, own), viewport) or ()
            rings = [one.transformed(to_page).flattened(CHORD_MM) for one in drawn]
            part = filled(rings, even_odd=rule == "evenodd")
        else:
            return None if tag == "text" else ()
        return None if part is None else self._cut_again(part, own, to_page, viewport)

    def _bounded(
        self, region: Regions, own: Mapping[str, str], clip: Clip, at: int
    ) -> Regions | None:
        """Cut a clip path by the one that it has itself."""
        for key in local_urls(own.get("clip-path", "")):
            other = self.tree.by_id.get(key)
            if (
                other is None
                or other == at
                or local(self.tree.elements[other]) != "clipPath"
            ):
                continue
            mine = self._region(replace(clip, element=other))
            return None if mine is None else Window(mine, 0.0).area(region)
        return region

    def _cut_again(
        self, region: Regions, own: Mapping[str, str], to_page: Affine, viewport: Viewport
    ) -> Regions | None:
        """Cut one child of a clip path by the clip path that the child has."""
        root = self.page_from_root.inverse() @ to_page
        return self._bounded(region, own, Clip(None, root, viewport, None), -1)


def _joined(regions: list[Region]) -> Regions:
    if len(regions) < 2:
        return tuple(regions)
    return filled(ring for region in regions for ring in region.rings())


def _cut(
    drawn: tuple[Contour, ...], window: Window, *, is_filled: bool
) -> tuple[Contour, ...]:
    flat = [_run(contour) for contour in drawn]
    whole = [window.shows_all(points) for points in flat]
    if all(whole):
        return drawn
    if is_filled:
        try:
            area = filled(contour.flattened(CHORD_MM) for contour in drawn)
        except ValueError:
            return drawn  # a tangle: no line that a knife could follow
        return tuple(
            polyline(map(tuple, ring.tolist()), closed=True)
            for part in window.area(area)
            for ring in part.rings()
        )
    out: list[Contour] = []
    for contour, points, kept in zip(drawn, flat, whole, strict=True):
        if kept:
            out.append(contour)
        else:
            out += [polyline(map(tuple, p.tolist())) for p in window.parts(points)]
    return tuple(out)


def _run(contour: Contour) -> Points:
    points = contour.flattened(CHORD_MM)
    return np.vstack([points, points[:1]]) if contour.closed else points
