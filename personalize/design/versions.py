"""Versions of a design: other pictures for the same lines.

A version is another drawing, or some layers of the one drawing, or both.
"""

from collections.abc import Sequence
from pathlib import Path

from personalize.design.artwork import artwork_svg
from personalize.design.design import Artwork, Version
from personalize.design.files import beside, bytes_of
from personalize.design.lines import FoundLines, find_lines
from personalize.design.spec import DesignSpec, VersionSpec
from personalize.design.svg import SvgDocument, parse_svg
from personalize.errors import InputError, Problem, refuse
from personalize.geometry.path import Contour
from personalize.geometry.zone import Region

SAME_MM = 0.02
"""How far the lines of two versions may differ: twice what print and cut may."""


def versions_of(
    spec: DesignSpec,
    drawing: SvgDocument,
    lines: FoundLines,
    bleed: Region,
    folder: Path,
) -> tuple[Version, ...]:
    """Prepare the artwork of every version; none where the design has no versions.

    Raises InputError with everything that is wrong with them.
    """
    out: list[Version] = []
    problems: list[Problem] = []
    for version in spec.versions:
        try:
            shown = _drawing(version, spec.versions, drawing, folder)
            own = find_lines(shown, spec.lines, spec.lines_place or spec.place)
            _refuse_other_lines(version, own, lines)
            svg = artwork_svg(shown, own.keys, bleed.box)
        except InputError as error:
            problems += [p for p in error.problems if p not in problems]
            continue
        art = Artwork(svg, bleed.box, f"{shown.name} ({version.name})")
        out.append(Version(version.name, art, version.colour))
    if problems:
        raise InputError(problems)
    return tuple(out)


def _drawing(
    version: VersionSpec,
    versions: Sequence[VersionSpec],
    main: SvgDocument,
    folder: Path,
) -> SvgDocument:
    """Read the drawing of a version, the layers of the others hidden in it."""
    drawing = main
    if version.svg is not None:
        path = beside(folder, version.svg, version.place)
        drawing = parse_svg(bytes_of(path), path.name)
    shown = _layers(drawing, version, needed=True)
    if not any(other.show for other in versions):
        return drawing
    hidden: set[int] = set()
    for other in versions:
        # Another file need not have the layers of this one.
        hidden |= _layers(drawing, other, needed=drawing is main)
    return parse_svg(drawing.with_layers(shown, hidden - shown), drawing.name)


def _layers(drawing: SvgDocument, version: VersionSpec, *, needed: bool) -> set[int]:
    """Find the elements that a version shows. Raises InputError where there are none."""
    found: set[int] = set()
    for selector in version.show:
        try:
            matched = drawing.matched(selector)
        except ValueError:
            raise refuse(
                version.place,
                f"{selector!r} is not a CSS selector.",
                'Write "#name" for an id or ".name" for a class.',
            ) from None
        if needed and not matched:
            raise refuse(
                version.place,
                f"nothing in {drawing.name} matches show = {selector!r}.",
                "Check the id or class of the layer in the drawing.",
            )
        found |= matched
    return found


def _refuse_other_lines(version: VersionSpec, own: FoundLines, main: FoundLines) -> None:
    """Refuse a picture drawn for other lines: print and cut would not match."""
    same = len(own.lines) == len(main.lines) and all(
        a.kind == b.kind and _near(a.contour, b.contour)
        for a, b in zip(own.lines, main.lines, strict=True)
    )
    if not same:
        raise refuse(
            version.place,
            f"version {version.name!r} is drawn for other lines than the design's own.",
            "Give it the same outline and creases at the same place.",
        )


def _near(a: Contour, b: Contour) -> bool:
    gaps = (abs(u - v) for u, v in zip(a.bounds(), b.bounds(), strict=True))
    return max(gaps) <= SAME_MM and abs(a.length_mm() - b.length_mm()) <= 4 * SAME_MM
