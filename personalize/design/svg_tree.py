"""The elements of a drawing, and the way down to one that is drawn."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from lxml import etree

from personalize.design.svg_lengths import Viewport
from personalize.design.svg_style import Declared
from personalize.design.svg_xml import href
from personalize.geometry.affine import Affine

Box = tuple[float, float, float, float]
NO_BOX: Box = (0.0, 0.0, 0.0, 0.0)
"""Of what draws nothing."""
BoxKey = tuple[int, Viewport, tuple[str | None, str | None] | None]
"""An element, what its percentages refer to, the size that a ``use`` lays on it."""
BOX_STEPS = 200_000
"""Most elements visited to find the boxes of groups that turn about their own middle."""


@dataclass(frozen=True, slots=True)
class Tree:
    """The elements of a document, and what the CSS says about each."""

    elements: tuple[etree._Element, ...]
    css: tuple[Declared, ...]
    place: dict[etree._Element, int]
    by_id: dict[str, int]
    boxes: dict[BoxKey, Box] = field(default_factory=dict)
    """Boxes of elements, found so far."""
    boxed: dict[str, int] = field(default_factory=lambda: {"steps": 0})
    """Elements visited for boxes so far."""

    def target(self, element: etree._Element) -> int | None:
        """Find the element that a ``use`` draws; None for no or an outside link."""
        link = href(element) or ""
        return self.by_id.get(link[1:]) if link.startswith("#") else None

    def round(self, at: int) -> set[int]:
        """Give an element and those that it stands in.

        A paint, clip, mask or marker that contains what asks for it is in error and left
        out (SVG 2 chapter 16, "circular reference"): drawings meet it when a style rule
        for every path holds inside a marker too.
        """
        own = self.elements[at]
        return {at, *(self.place[one] for one in own.iterancestors())}


@dataclass(frozen=True, slots=True)
class Link:
    """One step on the way down to a drawn element; `above` is nearer the root."""

    element: int
    above: "Link | None"

    def up(self) -> Iterator[int]:
        """Give the elements on the way, the drawn one first, the root last."""
        link: Link | None = self
        while link is not None:
            yield link.element
            link = link.above


@dataclass(frozen=True, slots=True)
class Clip:
    """What bounds the things below: a clip path, or the edge of a viewport."""

    element: int | None
    """The ``clipPath``; None for the edge of a viewport."""
    to_root: Affine
    """Of the units that it is written in: those of what it clips."""
    viewport: Viewport
    box: Box | None
    """The edge (x, y, width, height); for a clip path the box that it is measured in,
    None where it is written in plain units."""


@dataclass(frozen=True, slots=True)
class Ignored:
    """Something in the file that is not drawn or cannot be used: where, and why."""

    line: int
    says: str
    hidden: int | None = None
    """Place of an element that is hidden; None for all else."""

    def told(self) -> str:
        """Say it with its line."""
        return f"{self.says} (line {self.line})" if self.line else self.says


def conditions_hold(element: etree._Element) -> bool:
    """Test conditional processing (SVG 2 chapter 5): no extension, English."""
    extensions = element.get("requiredExtensions")
    if extensions is not None and extensions.strip():
        return False
    languages = element.get("systemLanguage")
    if languages is None:
        return True
    tags = [tag.strip().lower() for tag in languages.split(",")]
    return any(tag == "en" or tag.startswith("en-") for tag in tags)
