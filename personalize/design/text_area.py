"""Text areas that the maker drew: a closed shape in which the words of a panel stay."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from personalize.design.line_names import Other
from personalize.design.one_shape import closed_shape
from personalize.design.spec import DesignSpec
from personalize.design.suggest import suggest
from personalize.design.svg import SvgDocument
from personalize.errors import InputError, Problem
from personalize.geometry.chains import closed_up
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region, middle_of, region_of
from personalize.units import FLATTEN_MM


@dataclass(frozen=True, slots=True)
class TextArea:
    """One drawn text area."""

    panel: str | None
    """Name of its panel; None for one that we found by its look, in whatever panel."""
    contour: Contour
    key: int
    """Of its shape in the drawing."""

    @property
    def middle(self) -> tuple[float, float]:
        """A point well inside, page mm, y up."""
        return middle_of(region_of(self.contour.flattened(FLATTEN_MM)))


def text_areas(drawing: SvgDocument, spec: DesignSpec) -> tuple[TextArea, ...]:
    """Find the text areas of a drawing, as the design file or their looks tell.

    Raises InputError with every `area` that is not one closed shape.
    """
    if _by_look(spec):
        shapes = {shape.key: shape for shape in drawing.shapes}
        return tuple(
            TextArea(None, closed_up(shapes[key].contours[0]), key)
            for key in sorted(_looked(drawing))
        )
    out: list[TextArea] = []
    problems: list[Problem] = []
    for panel in spec.panels:
        if panel.area is None:
            continue
        try:
            key, edge = closed_shape(drawing, panel.area, panel.area_place)
            out.append(TextArea(panel.name, edge, key))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return tuple(out)


def unprinted(drawing: SvgDocument, spec: DesignSpec) -> frozenset[int]:
    """Give the shapes that are text areas and nothing else: they are not printed.

    `drawing` may be that of a version, which need not have them.
    """
    if _by_look(spec):
        return frozenset(_looked(drawing))
    return frozenset(
        key
        for panel in spec.panels
        if panel.area is not None and not panel.print_area
        for key in drawing.select(panel.area)
    )


def _by_look(spec: DesignSpec) -> bool:
    return not spec.lines and not spec.panels


def _looked(drawing: SvgDocument) -> Sequence[int]:
    return [
        key for key, one in suggest(drawing.shapes).items() if one.kind is Other.TEXT_AREA
    ]


def with_points(
    spec: DesignSpec, areas: Sequence[TextArea], height_mm: float
) -> DesignSpec:
    """Give panels that have an area and no point a point inside it."""
    middles = {one.panel: one.middle for one in areas}
    return replace(
        spec,
        panels=tuple(
            replace(panel, at=(middles[panel.name][0], height_mm - middles[panel.name][1]))
            if panel.at is None and panel.name in middles
            else panel
            for panel in spec.panels
        ),
    )


def area_in(
    areas: Sequence[TextArea], region: Region, name: str | None = None
) -> Contour | None:
    """Give the text area of a panel: by its name, else the one that lies in it."""
    for one in areas:
        if one.panel == name if name is not None else region.contains(one.middle):
            return one.contour
    return None
