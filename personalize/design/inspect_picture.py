"""A picture of what was seen in a drawing: lines told apart by pattern and by words."""

from collections.abc import Iterator, Sequence
from html import escape
from pathlib import Path

from personalize.design.artwork_fonts import set_text
from personalize.design.artwork_render import render_artwork
from personalize.design.design import LineKind
from personalize.design.inspect import Inspection, LineGroup, size_text
from personalize.design.line_names import Kind, Other
from personalize.finding import Finding, Severity, places_of
from personalize.geometry.path import Contour
from personalize.units import number

_PATTERNS: dict[Kind, tuple[str, float, str]] = {
    LineKind.CUTTING: ("", 0.55, "#000"),
    LineKind.PARTIAL_CUTTING: ("5 1.2 0.9 1.2", 0.5, "#000"),
    LineKind.CREASING: ("3 1.6", 0.5, "#000"),
    LineKind.PERFORATING: ("0.5 1.1", 0.6, "#000"),
    LineKind.GLUING: ("4 1 0.6 1 0.6 1", 0.5, "#000"),
    Other.TEXT_AREA: ("1.6 0.8", 0.3, "#000"),
    Other.ARTWORK: ("", 0.15, "#888"),
    Other.IGNORE: ("0.3 1.2", 0.25, "#888"),
}
"""Dashes in units of the picture, width and ink of each kind. Solid, dashed and dotted as
in carton drawings; common practice, no source."""
PNG_PX_PER_MM = 10.0
"""Of a picture in pixels: 250 to the inch, for words of 3 mm."""
WIDE = 180.0
"""The drawing's width in the picture."""
_ROW = 5.4
_TEXT = 3.4
_CHORD = 0.05
MOST_ROWS = 16
"""Most kinds of artwork listed below the picture; more are counted."""


def picture(seen: Inspection) -> bytes:
    """Draw what was seen as an SVG, the legend and the findings below."""
    drawing = seen.drawing
    scale = WIDE / max(drawing.width_mm, 0.6 * drawing.height_mm)
    body = [
        *_drawn(seen, scale),
        *_panels(seen, scale),
        *_folds(seen, scale),
        *_pieces(seen, scale),
        *_marks(seen.findings, seen, scale),
    ]
    high = drawing.height_mm * scale
    rows = [*_legend(seen, high + 12)]
    deep = high + 16 + _ROW * len(rows)
    notes = list(_notes(seen.findings, deep))
    deep += _ROW * len(notes) + 6
    size = size_text(drawing.width_mm, drawing.height_mm)
    title = f"{drawing.name}: {size}"
    box = f"-10 -14 {WIDE + 20} {number(deep + 16, 2)}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" width="{WIDE + 20}mm"'
        f' height="{number(deep + 16, 2)}mm" font-family="sans-serif" font-size="{_TEXT}">'
        f'<rect x="-10" y="-14" width="100%" height="100%" fill="#fff"/>'
        f'<text y="-6" font-size="4.4">{escape(title)}</text>'
        + "".join([*body, *rows, *notes])
        + "</svg>\n"
    ).encode()


def picture_png(seen: Inspection) -> bytes:
    """Give the same as a PNG, its words in fonts that are bundled or installed.

    Raises InputError where it cannot be drawn.
    """
    text = set_text(picture(seen), Path(), seen.drawing.name)
    return render_artwork(text.svg, PNG_PX_PER_MM, name=seen.drawing.name, fonts=text.fonts)


def _drawn(seen: Inspection, scale: float) -> Iterator[str]:
    wide, high = seen.drawing.width_mm * scale, seen.drawing.height_mm * scale
    yield (
        f'<rect width="{number(wide, 3)}" height="{number(high, 3)}" fill="none"'
        ' stroke="#bbb" stroke-width="0.2"/>'
    )
    for group in reversed(seen.groups):
        dashes, width, ink = _PATTERNS[group.kind]
        paths = [_path(contour, seen, scale) for contour in group.contours]
        if group.kind is Other.ARTWORK and group.stroke is None:
            # One by one: in a single path what lies on another may uncover it.
            yield '<g fill-opacity="0.05">'
            yield from (f'<path d="{data}"/>' for data in paths)
            yield "</g>"
            continue
        yield (
            f'<path d="{"".join(paths)}" fill="none" stroke="{ink}"'
            f' stroke-width="{width}" stroke-dasharray="{dashes or "none"}"/>'
        )
    for group in seen.groups:
        if isinstance(group.kind, LineKind):
            yield from _word_on(group, seen, scale)


def _path(contour: Contour, seen: Inspection, scale: float) -> str:
    points = contour.flattened(_CHORD / scale)
    steps = " ".join(
        f"{number(x * scale, 3)} {number((seen.drawing.height_mm - y) * scale, 3)}"
        for x, y in points
    )
    return f"M{steps}" + ("Z" if contour.closed else "")


def _word_on(group: LineGroup, seen: Inspection, scale: float) -> Iterator[str]:
    """Write the kind beside its longest line."""
    longest = max(group.contours, key=lambda contour: contour.length_mm())
    points = longest.flattened(_CHORD / scale)
    # Not in the middle, where panels have their names.
    x, y = (
        points[len(points) // 4] * 0.75
        + points[min(len(points) // 4 + 1, len(points) - 1)] * 0.25
    )
    yield _text(x * scale + 1, (seen.drawing.height_mm - y) * scale - 1.2, str(group.kind))


def _text(x: float, y: float, words: str, *, anchor: str = "start") -> str:
    """Write words that stay readable over lines."""
    return (
        f'<text x="{number(x, 2)}" y="{number(y, 2)}" text-anchor="{anchor}"'
        ' paint-order="stroke" stroke="#fff" stroke-width="1"'
        f' stroke-linejoin="round">{escape(words)}</text>'
    )


def _pieces(seen: Inspection, scale: float) -> Iterator[str]:
    """Write the name of each piece of several above it."""
    for piece in seen.pieces:
        if piece.name:
            x0, _, _, y1 = piece.lines.solid.box
            high = (seen.drawing.height_mm - y1) * scale
            yield _text(x0 * scale + 1, high - 1.2, f"piece: {piece.name}")


def _panels(seen: Inspection, scale: float) -> Iterator[str]:
    for panel in seen.panels:
        x, y = (v * scale for v in panel.at_mm)
        area = f"{panel.region.area_mm2:,.0f} mm²"
        yield _text(x, y, panel.name, anchor="middle")
        bare = "takes glue" if panel.glue else "no room for text"
        more = area if panel.takes_text else f"{area}, {bare}"
        yield _text(x, y + 4.4, more, anchor="middle")


def _folds(seen: Inspection, scale: float) -> Iterator[str]:
    """Say beside each crease how it is folded, where there is more than one way."""
    for piece in seen.pieces:
        several = len(piece.creases) > 1
        for crease in piece.creases:
            x, y = (v * scale for v in crease.at_mm)
            words = crease.words if crease.told else f"{crease.words}?"
            # Under the middle, where it meets neither the kind of line nor a panel's name.
            if several or crease.told:
                yield _text(x, y + 10, words, anchor="middle")


def _marks(findings: Sequence[Finding], seen: Inspection, scale: float) -> Iterator[str]:
    """Ring all places of findings and number them."""
    for nth, finding in enumerate(findings, 1):
        for x, y in places_of(finding):
            across, down = x * scale, (seen.drawing.height_mm - y) * scale
            yield (
                f'<circle cx="{number(across, 2)}" cy="{number(down, 2)}" r="2.6"'
                ' fill="none" stroke="#000" stroke-width="0.4"/>'
            )
            yield _text(across + 3, down + 1.2, str(nth))


def _legend(seen: Inspection, top: float) -> Iterator[str]:
    """List every kind of line with its pattern, how many, and why it is taken for that."""
    shown = 0
    for group in seen.groups:
        if not isinstance(group.kind, LineKind):
            shown += 1
            if shown > MOST_ROWS:
                continue
        dashes, width, ink = _PATTERNS[group.kind]
        y = top + _ROW * (seen.groups.index(group))
        sample = (
            f'<path d="M0 {number(y - 1.2, 2)}h18" stroke="{ink}" stroke-width="{width}"'
            f' stroke-dasharray="{dashes or "none"}"/>'
            if group.stroke is not None or group.kind is not Other.ARTWORK
            else f'<rect y="{number(y - 2.6, 2)}" width="18" height="3" opacity="0.1"/>'
        )
        words = f"{group.kind}: {len(group.contours)} x, {group.why}"
        yield sample + f'<text x="21" y="{number(y, 2)}">{escape(words)}</text>'
    if shown > MOST_ROWS:
        y = top + _ROW * (len(seen.groups) - shown + MOST_ROWS)
        yield f'<text x="21" y="{number(y, 2)}">and {shown - MOST_ROWS} more kinds</text>'


def _notes(findings: Sequence[Finding], top: float) -> Iterator[str]:
    for nth, finding in enumerate(findings, 1):
        heavy = "" if finding.severity is Severity.NOTE else ' font-weight="bold"'
        words = f"{nth}. {finding.severity}: {finding.says}"
        short = words if len(words) < 118 else words[:115] + "..."
        y = number(top + _ROW * nth, 2)
        yield f'<text y="{y}"{heavy} font-size="3">{escape(short)}</text>'
