"""The drawing of a back, and where the piece lies in it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from personalize.design.design import DesignLine, LineKind
from personalize.design.file_artwork import FileArtwork, read_artwork
from personalize.design.files import beside, bytes_of
from personalize.design.layers import only_layers
from personalize.design.lines import FoundLines, find_pieces
from personalize.design.spec import BackSpec, DesignSpec, VersionSpec
from personalize.design.svg import PX_PER_INCH, SvgDocument, parse_svg
from personalize.design.versions import near, version_drawing
from personalize.errors import InputError, Problem
from personalize.geometry.affine import Affine, translation
from personalize.geometry.path import Contour


@dataclass(frozen=True, slots=True)
class Side:
    """The drawing of one version of a back."""

    place: str
    drawing: SvgDocument
    keys: frozenset[int]
    """Shapes in it that are lines, not artwork."""
    turned: Affine
    """Map from the front to it."""
    file: FileArtwork | None = None
    """What is laid on it, where that is a picture or a PDF page."""

    @property
    def name(self) -> str:
        """Of the file that it is from."""
        return self.drawing.name if self.file is None else self.file.path.name


def side_of(  # noqa: PLR0917 - a version, and all that it is drawn from
    version: VersionSpec,
    spec: DesignSpec,
    told: BackSpec,
    lines: FoundLines,
    drawing: SvgDocument,
    folder: Path,
) -> Side:
    """Read the drawing of a version, and find the piece in it. Raises InputError."""
    px_per_inch = spec.px_per_inch or PX_PER_INCH
    if version.artwork is not None:
        blank = only_layers(drawing, (), version.place, px_per_inch)
        over_page = Affine(-1, 0, 0, 1, drawing.width_mm, 0)
        art = read_artwork(version.artwork, folder)
        return Side(version.place, blank, frozenset(), over_page, art)
    if told.svg is None and version.svg is None:
        layers = (*told.show, *version.show)
        shown = only_layers(drawing, layers, version.place, px_per_inch)
        kinds = spec.lines.values()
        keys = (shown.select(selector) for kind in kinds for selector in kind)
        all_keys = frozenset[int]().union(*keys)
        return Side(version.place, shown, all_keys, _over_middle(lines.outline))
    own = drawing
    if told.svg is not None:
        path = beside(folder, told.svg, told.place)
        own = parse_svg(bytes_of(path), path.name, px_per_inch)
    return _found_in(version_drawing(version, spec, own, folder), version, spec, lines)


def _found_in(
    drawing: SvgDocument, version: VersionSpec, spec: DesignSpec, lines: FoundLines
) -> Side:
    """Find a piece in a drawing of its back, wherever it stands there."""
    over = _over_middle(lines.outline)
    problem = Problem(
        version.place,
        f"the lines in {drawing.name} are not the front's as they are seen from behind.",
        "Draw the same outline and holes there, left and right changed over.",
    )
    lines_in = _selectors_in(drawing, spec)
    try:
        found = find_pieces(drawing, lines_in, spec.lines_place, mend=spec.mend)
    except InputError as error:
        raise InputError((problem, *error.problems)) from None
    for one in found:
        turned = _onto(lines.outline.transformed(over), one.outline) @ over
        if _all_there(one, turned_lines(lines, turned)):
            return Side(version.place, drawing, one.keys, turned)
    raise InputError(problem)


def _selectors_in(
    drawing: SvgDocument, spec: DesignSpec
) -> Mapping[LineKind, tuple[str, ...]]:
    """Give what finds lines in the drawing of a back: only its outline must be there."""
    return {
        kind: kept
        for kind, selectors in spec.lines.items()
        if (kept := tuple(one for one in selectors if drawing.select(one)))
        or kind is LineKind.CUTTING
    }


def _over_middle(outline: Contour) -> Affine:
    """Turn over the upright middle line of a box."""
    x0, _, x1, _ = outline.bounds()
    return Affine(-1, 0, 0, 1, x0 + x1, 0)


def _onto(one: Contour, other: Contour) -> Affine:
    """Move the lower left corner of one box to that of another."""
    (x, y, _, _), (to_x, to_y, _, _) = one.bounds(), other.bounds()
    return translation(to_x - x, to_y - y)


def _all_there(own: FoundLines, turned: FoundLines) -> bool:
    """Whether every line of a drawing is one of the piece, and its outline that of it."""
    return near(own.outline, turned.outline) and all(
        any(near(a.contour, b.contour) for b in turned.lines) for a in own.lines
    )


def turned_lines(lines: FoundLines, by: Affine) -> FoundLines:
    """Give the lines of a piece from behind."""
    mapped = {id(one.contour): one.contour.transformed(by) for one in lines.lines}
    return replace(
        lines,
        outline=lines.outline.transformed(by),
        holes=tuple(hole.transformed(by) for hole in lines.holes),
        creases=tuple(crease.transformed(by) for crease in lines.creases),
        lines=tuple(DesignLine(one.kind, mapped[id(one.contour)]) for one in lines.lines),
        slits=tuple(mapped[id(slit)] for slit in lines.slits),
    )
