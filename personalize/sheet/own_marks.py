"""Register marks of the maker's own, drawn as lines and circles on a sheet."""

import math
from collections.abc import Iterator, Sequence
from pathlib import Path

from personalize.design.files import bytes_of
from personalize.design.svg import Shape, SvgDocument, parse_svg
from personalize.design.svg_xml import line_of, local
from personalize.errors import InputError, Problem
from personalize.geometry.path import Arc, Contour, Line, arc_centre, signed_area
from personalize.sheet.ink import MarkKind, RegisterMark
from personalize.sheet.paper import Paper, Rect

SIZE_MM = 0.5
"""How far the drawing's page may be off the sheet's size."""
_TOGETHER_MM = 0.5
"""Lines nearer than this make up one mark."""
_ROUND_MM = 0.001
_HAIR_MM2 = 0.01
"""A fill of less is not seen: that of lines which do not enclose anything."""
_MOST_OF_SHEET = 0.5
_MOST_TOLD = 3
"""A picture turned into lines has hundreds of faults of one kind."""
_NO_UNIT = (
    " Its width and height are without a unit of length: write"
    ' width="{paper.width_mm:g}mm" height="{paper.height_mm:g}mm" in its first line.'
)
_FAULTS = {
    "curved": (
        "is made of other curves than circles",
        "Use straight lines and whole circles only.",
    ),
    "filled": (
        "is filled, and marks are printed as lines",
        "Take its fill away (fill none in SVG), or delete it if it is only the page's"
        " background.",
    ),
    "off": (
        "lies off the page, wholly or in part",
        "Draw it inside the page, or delete it.",
    ),
}


def read_marks(path: Path, paper: Paper) -> tuple[RegisterMark, ...]:
    """Read marks from a drawing of the whole sheet; they stand where they are drawn.

    Raises InputError where the drawing has another size, or holds anything but lines and
    circles: curves, filled shapes, words, pictures, and what lies off the sheet.
    """
    drawing = parse_svg(bytes_of(path), path.name)
    problems = [*_wrong_size(drawing, paper), *_words_and_pictures(drawing)]
    faults: dict[str, list[tuple[str, str]]] = {}
    for shape in drawing.shapes:
        for contour in shape.contours:
            fault = _fault(shape, contour, drawing)
            if fault is not None:
                faults.setdefault(fault, []).append(_place(shape, contour, drawing))
    for (says, do), places in ((_FAULTS[key], found) for key, found in faults.items()):
        more = len(places) - _MOST_TOLD
        for i, (where, at) in enumerate(places[:_MOST_TOLD]):
            others = f" ({more} more are so)" if more > 0 and not i else ""
            problems.append(Problem(where, f"a mark at {at} {says}{others}.", do))
    contours = [c for shape in drawing.shapes for c in shape.contours]
    if not contours and not problems:
        problems.append(
            Problem(path.name, "there are no marks in it.", "Draw lines or circles.")
        )
    marks = tuple(_mark(group) for group in _groups(contours)) if not problems else ()
    problems += _too_large(marks, paper, path.name)
    if problems:
        raise InputError(problems)
    return marks


def _wrong_size(drawing: SvgDocument, paper: Paper) -> Iterator[Problem]:
    width, height = drawing.width_mm, drawing.height_mm
    if max(abs(width - paper.width_mm), abs(height - paper.height_mm)) > SIZE_MM:
        yield Problem(
            drawing.name,
            f"the drawing of marks is {width:.1f} x {height:.1f} mm, and the sheet is"
            f" {paper.width_mm:.1f} x {paper.height_mm:.1f} mm.",
            "Draw the marks where they shall stand on a page of the sheet's size."
            + ("" if drawing.size_stated else _NO_UNIT.format(paper=paper)),
        )


def _words_and_pictures(drawing: SvgDocument) -> Iterator[Problem]:
    """Tell of what is drawn and has no lines: it would be left out unseen."""
    for leaf in drawing.leaves:
        if leaf.contours is not None:
            continue
        element = drawing.tree.elements[leaf.way.element]
        words, line = local(element) == "text", line_of(element)
        yield Problem(
            f"{drawing.name}, line {line}" if line else drawing.name,
            f"there are {'words' if words else 'pictures'} in the drawing of marks.",
            "Delete or hide them: marks are straight lines and whole circles only.",
        )


def _fault(shape: Shape, contour: Contour, drawing: SvgDocument) -> str | None:
    """Say why a line cannot be a mark, or part of one: a key of `_FAULTS`."""
    if not is_line_or_circle(contour):
        return "curved"
    if shape.fill is not None and abs(signed_area(contour.flattened(0.01))) > _HAIR_MM2:
        return "filled"
    x0, y0, x1, y1 = contour.bounds()
    over = max(-x0, -y0, x1 - drawing.width_mm, y1 - drawing.height_mm)
    return "off" if over > _ROUND_MM else None


def _place(shape: Shape, contour: Contour, drawing: SvgDocument) -> tuple[str, str]:
    """Say where in the file, and where on the page, a line begins."""
    x, y = contour.start
    where = f"{drawing.name}, line {shape.line}" if shape.line else drawing.name
    return where, f"{x:.1f} mm across, {drawing.height_mm - y:.1f} mm down"


def _too_large(marks: Sequence[RegisterMark], paper: Paper, file: str) -> Iterator[Problem]:
    """Tell of a mark in whose box most of the sheet lies, where no piece could be."""
    for mark in marks:
        x0, y0, x1, y1 = _all_of(mark.drawn)
        if (x1 - x0) * (y1 - y0) > _MOST_OF_SHEET * paper.width_mm * paper.height_mm:
            yield Problem(
                file,
                f"lines that touch make a mark of {x1 - x0:.0f} x {y1 - y0:.0f} mm, which"
                " is most of the sheet, and pieces keep out of the box round a mark.",
                "Draw marks that stand apart, near the corners; take a frame out.",
            )


def is_line_or_circle(contour: Contour) -> bool:
    """Whether a contour is made of straight lines, or is one whole circle."""
    if all(isinstance(segment, Line) for segment in contour.segments):
        return True
    return circle_of(contour) is not None


def circle_of(contour: Contour) -> tuple[float, float, float] | None:
    """Give centre and radius of a contour that is a whole circle."""
    at, turned, forms = contour.start, 0.0, []
    for segment in contour.segments:
        form = arc_centre(at, segment) if isinstance(segment, Arc) else None
        if form is None or abs(form[1] - form[2]) > _ROUND_MM:
            return None
        forms.append((*form[0], form[1]))
        turned += form[4]
        at = segment.end
    if not forms or abs(abs(turned) - 2 * math.pi) > 1e-3:
        return None
    same = all(math.dist(form, forms[0]) <= _ROUND_MM for form in forms)
    return forms[0] if same else None


def _groups(contours: Sequence[Contour]) -> list[list[Contour]]:
    """Gather lines that lie together."""
    groups: list[tuple[Rect, list[Contour]]] = []
    for contour in contours:
        box, own = contour.bounds(), [contour]
        apart = []
        for other, members in groups:
            if _near(box, other):
                box, own = _both(box, other), [*members, *own]
            else:
                apart.append((other, members))
        groups = [*apart, (box, own)]
    return [members for _, members in groups]


def _near(a: Rect, b: Rect) -> bool:
    by = _TOGETHER_MM
    return (
        a[0] <= b[2] + by and b[0] <= a[2] + by and a[1] <= b[3] + by and b[1] <= a[3] + by
    )


def _both(a: Rect, b: Rect) -> Rect:
    return (min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3]))


def _all_of(contours: Sequence[Contour]) -> Rect:
    box = contours[0].bounds()
    for contour in contours[1:]:
        box = _both(box, contour.bounds())
    return box


def _mark(contours: Sequence[Contour]) -> RegisterMark:
    box = _all_of(contours)
    centre = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    return RegisterMark(centre, MarkKind.OWN, drawn=tuple(contours))
