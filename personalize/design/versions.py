"""Versions of a design: other pictures for the same lines.

A version is another drawing, or some layers of the one drawing, or both.
"""

import copy
from pathlib import Path

from lxml import etree

from personalize.design.artwork import artwork_svg
from personalize.design.design import Artwork, Version
from personalize.design.files import beside, bytes_of
from personalize.design.lines import FoundLines, find_lines
from personalize.design.spec import DesignSpec, VersionSpec
from personalize.design.svg import PX_PER_INCH, SvgDocument, parse_svg
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
            shown = _drawing(version, spec, drawing, folder)
            place = spec.lines_place or spec.place
            own = find_lines(shown, spec.lines, place, mend=spec.mend)
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
    spec: DesignSpec,
    main: SvgDocument,
    folder: Path,
) -> SvgDocument:
    """Read the drawing of a version, the layers of the others hidden in it."""
    drawing = main
    px_per_inch = spec.px_per_inch or PX_PER_INCH
    if version.svg is not None:
        path = beside(folder, version.svg, version.place)
        drawing = parse_svg(bytes_of(path), path.name, px_per_inch)
    shown = _layers(drawing, version, needed=True)
    if not any(other.show for other in spec.versions):
        return drawing
    hidden: set[int] = set()
    for other in spec.versions:
        # Another file need not have the layers of this one.
        hidden |= _layers(drawing, other, needed=drawing is main)
    layered = _with_layers(drawing, shown, hidden - shown)
    return parse_svg(layered, drawing.name, px_per_inch)


def _with_layers(drawing: SvgDocument, shown: set[int], hidden: set[int]) -> bytes:
    """Write a drawing with some elements shown and others hidden.

    An element stays as it is where it is in neither. Whatever the drawing says of them,
    and whether or not a layer was switched off when it was saved, counts no more; a group
    that holds something shown is shown too.
    """
    root = copy.deepcopy(drawing.tree.elements[0])
    elements = [one for one in root.iter() if isinstance(one.tag, str)]
    place = {element: at for at, element in enumerate(elements)}
    around = {place[g] for at in shown for g in elements[at].iterancestors()} - hidden
    for places, value in ((hidden, "none"), (shown | around, "inline")):
        for at in places:
            style = elements[at].get("style")
            told = f"display:{value} !important"
            elements[at].set("style", f"{style};{told}" if style else told)
    return etree.tostring(root, encoding="utf-8")


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
