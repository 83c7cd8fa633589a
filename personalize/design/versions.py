"""Versions of a design: other pictures for the same lines.

A version is another drawing, or some layers of the one drawing, or both; or a PDF page or
a picture laid on the lines.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from personalize.design.artwork_make import Making, make_artwork
from personalize.design.design import Artwork, Version
from personalize.design.file_artwork import read_artwork
from personalize.design.files import beside, bytes_of
from personalize.design.layers import other_than, places_of, with_layers
from personalize.design.lines import FoundLines, find_pieces
from personalize.design.spec import ArtworkSpec, DesignSpec, VersionSpec
from personalize.design.svg import PX_PER_INCH, SvgDocument, parse_svg
from personalize.design.svg_xml import line_of
from personalize.design.text_area import unprinted
from personalize.errors import InputError, Problem, refuse
from personalize.geometry.affine import Points
from personalize.geometry.path import Contour, distances

SAME_MM = 0.02
"""How far the lines of two versions may differ: twice what print and cut may."""
CHORD_MM = SAME_MM / 4
"""How far the chords in which they are compared may be from their curves."""


@dataclass(frozen=True, slots=True)
class Versions:
    """The versions of a design, and what of their drawings is not used."""

    versions: tuple[Version, ...]
    left_out: tuple[str, ...]


def versions_of(
    spec: DesignSpec,
    drawing: SvgDocument,
    lines: FoundLines,
    how: Making,
) -> Versions:
    """Prepare the artwork of every version; none where the design has no versions.

    Raises InputError with everything that is wrong with them.
    """
    out: list[Version] = []
    left_out: dict[str, None] = {}
    problems: list[Problem] = []
    for version in spec.versions:
        try:
            if version.artwork is not None:
                art = _file(version, version.artwork, drawing, how, len(lines.keys))
                out.append(Version(version.name, art, version.colour))
                continue
            shown = version_drawing(version, spec, drawing, how.folder)
            place = spec.lines_place or spec.place
            pieces = find_pieces(shown, spec.lines, place, mend=spec.mend)
            same = (one for one in pieces if near(one.outline, lines.outline))
            own = next(same, pieces[0])
            _refuse_other_lines(version, own, lines)
            name = f"{shown.name} ({version.name})"
            own_how = replace(how, unprinted=unprinted(shown, spec))
            art = make_artwork(shown, own.keys, name, own_how, line_art=version.line_art)
        except InputError as error:
            problems += [p for p in error.problems if p not in problems]
            continue
        out.append(Version(version.name, art, version.colour))
        file = "" if shown.name == drawing.name else f"in {shown.name} "
        left_out |= dict.fromkeys(file + told for told in shown.told())
    if problems:
        raise InputError(problems)
    return Versions(tuple(out), tuple(left_out))


def _file(
    version: VersionSpec, spec: ArtworkSpec, drawing: SvgDocument, how: Making, lines: int
) -> Artwork:
    """Lay the file of a version on the lines."""
    file = read_artwork(spec, how.folder)
    art = file.laid(drawing, how.bleed, how.bleed_mm, lines)
    return replace(art, file=f"{art.file} ({version.name})")


def version_drawing(
    version: VersionSpec,
    spec: DesignSpec,
    main: SvgDocument,
    folder: Path,
) -> SvgDocument:
    """Read the drawing of a version, the layers of the others hidden in it.

    It tells what of it is left out, but nothing of the others' layers.
    """
    drawing = main
    px_per_inch = spec.px_per_inch or PX_PER_INCH
    if version.svg is not None:
        path = beside(folder, version.svg, version.place)
        drawing = parse_svg(bytes_of(path), path.name, px_per_inch)
    shown = places_of(drawing, version.show, version.place, needed=True)
    behind = spec.back.layers if spec.back is not None else ()
    if not behind and not any(other.show for other in spec.versions):
        return drawing
    hidden: set[int] = set()
    for other in spec.versions:
        # Another file need not have the layers of this one.
        needed = drawing is main
        hidden |= places_of(drawing, other.show, other.place, needed=needed)
    hidden |= places_of(drawing, behind, spec.place, needed=False)
    hidden -= shown
    _refuse_nested(version, drawing, shown, hidden)
    document = parse_svg(with_layers(drawing, shown, hidden), drawing.name, px_per_inch)
    # Layers of other versions are not left out.
    elsewhere = {i for at in hidden for i in drawing.tree.round(at)}
    return replace(document, ignored=other_than(elsewhere, drawing, document))


def _refuse_nested(
    version: VersionSpec, drawing: SvgDocument, shown: set[int], hidden: set[int]
) -> None:
    """Refuse a layer that stands in one of another version: it could not be seen."""
    for at in sorted(shown):
        around = drawing.tree.round(at) & hidden
        if around:
            outer, inner = (drawing.tree.elements[i] for i in (max(around), at))
            raise refuse(
                version.place,
                f"version {version.name!r} shows what stands in a layer of another version"
                f" (line {line_of(inner)} of {drawing.name}, in line {line_of(outer)}).",
                "Move it out of that layer, or show the layer in this version too.",
            )


def _refuse_other_lines(version: VersionSpec, own: FoundLines, main: FoundLines) -> None:
    """Refuse a picture drawn for other lines: print and cut would not match."""
    same = len(own.lines) == len(main.lines) and all(
        len([b for b in others.lines if a.kind == b.kind and near(a.contour, b.contour)])
        == len([b for b in lines.lines if a.kind == b.kind and near(a.contour, b.contour)])
        for lines, others in ((own, main), (main, own))
        for a in lines.lines
    )
    if not same:
        raise refuse(
            version.place,
            f"version {version.name!r} is drawn for other lines than the design's own.",
            "Give it the same outline and creases at the same place.",
        )


def near(a: Contour, b: Contour) -> bool:
    """Whether two lines run along each other everywhere."""
    gaps = (abs(u - v) for u, v in zip(a.bounds(), b.bounds(), strict=True))
    if a.closed != b.closed or max(gaps) > SAME_MM:
        return False
    first, second = a.flattened(CHORD_MM), b.flattened(CHORD_MM)
    return _on(first, second, closed=b.closed) and _on(second, first, closed=a.closed)


def _on(points: Points, line: Points, *, closed: bool) -> bool:
    parts = np.array_split(points, max(1, len(points) * len(line) // 1_000_000))
    return all(
        distances(part, line, closed=closed).max() <= SAME_MM + CHORD_MM for part in parts
    )
