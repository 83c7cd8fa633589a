"""What stands in the content of a PDF page: numbers, paths, text and marked content.

Operators are those of ISO 32000-1, annex A. Content is a list of parts: strings, and
runs of glyphs whose codes are filled in once the fonts are known.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from personalize.design.style import Colour
from personalize.geometry.affine import Affine, Point, scaling
from personalize.geometry.path import Contour, Cubic, Line, arc_cubics
from personalize.geometry.zone import Region
from personalize.output.pdf_fonts import FontBook, readable, utf16, written_width
from personalize.type.shape import GlyphRun, ShapedLine
from personalize.units import PT_PER_MM, number

_UNSEEN = 3
"""Text rendering mode: neither fill nor stroke (ISO 32000-1, table 106)."""
TO_PT = scaling(PT_PER_MM)


@dataclass(frozen=True, slots=True)
class Shown:
    """Glyphs of one font in a row; `moves` are 1/1000 em before each, to the left."""

    resource: str
    slots: tuple[int, ...]
    moves: tuple[float, ...]


Part = str | Shown


def encoded(parts: Iterable[Part], codes: Mapping[str, Sequence[int]]) -> bytes:
    """Write the content of a page, with the codes of each font's slots."""
    return "\n".join(
        part if isinstance(part, str) else _shown(part, codes[part.resource])
        for part in parts
    ).encode("ascii")


def _shown(shown: Shown, codes: Sequence[int]) -> str:
    out, hexes = [], ""
    for slot, move in zip(shown.slots, shown.moves, strict=True):
        if move:
            out += ([f"<{hexes}>"] if hexes else []) + [number(move)]
            hexes = ""
        hexes += f"{codes[slot]:04X}"
    return f"[{' '.join([*out, f'<{hexes}>'])}] TJ"


def matrix(by: Affine) -> str:
    """Six numbers of a map, as cm and Tm take them."""
    linear = " ".join(number(v, 6) for v in by.tuple[:4])
    return f"{linear} {number(by.e)} {number(by.f)}"


def colour(ink: Colour, *, stroke: bool = False) -> str:
    """Set the colour of fills or strokes; greys in DeviceGray: black stays black."""
    levels = (ink.red, ink.green, ink.blue)
    if ink.red == ink.green == ink.blue:
        return f"{number(ink.red)} {'G' if stroke else 'g'}"
    return f"{' '.join(number(v) for v in levels)} {'RG' if stroke else 'rg'}"


def path(contour: Contour, to_pt: Affine) -> str:
    """Draw a contour's path; arcs as cubics within 1e-4 of their radius."""
    out = [f"{_point(to_pt(contour.start))} m"]
    at = contour.start
    for segment in contour.segments:
        pieces = (
            (segment,) if isinstance(segment, Line | Cubic) else arc_cubics(at, segment)
        )
        for piece in pieces:
            if isinstance(piece, Line):
                out.append(f"{_point(to_pt(piece.end))} l")
            else:
                points = (piece.c1, piece.c2, piece.end)
                out.append(f"{' '.join(_point(to_pt(p)) for p in points)} c")
        at = segment.end
    if contour.closed:
        out.append("h")
    return "\n".join(out)


def polygon(region: Region, to_pt: Affine) -> str:
    """Draw the rings of a region as closed paths."""
    out = []
    for ring in region.rings():
        first, *rest = (_point((x, y)) for x, y in to_pt.many(ring).tolist())
        out.append(f"{first} m")
        out += [f"{point} l" for point in rest]
        out.append("h")
    return "\n".join(out)


def _point(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"


def marked(tag: str, properties: str, parts: Sequence[Part]) -> list[Part]:
    """Wrap parts in marked content (ISO 32000-1, 14.6)."""
    return [f"/{tag} <<{properties}>> BDC", *parts, "EMC"]


def text_string(text: str) -> str:
    """A text string object in UTF-16 (ISO 32000-1, 7.9.2.2)."""
    return f"<FEFF{utf16(text)}>"


def line_of_text(book: FontBook, line: ShapedLine, em_to_pt: Affine) -> list[Part]:
    """Show a line of glyphs.

    ActualText is added to a left-to-right line that ToUnicode cannot give back, or that
    has marks, wide gaps or spaces that readers miss, if it has no character above U+FFFF:
    pdfium drops those. Right-to-left lines come out reversed with ActualText and right
    without, so they get none (measured). It says what is seen: soft hyphens are not.
    """
    out, given = _glyphs(book, line, em_to_pt)
    seen = line.text.replace("\u00ad", "")
    exact = given == seen and not (
        _has_odd_spaces(seen) or any(_has_marks(r) or _has_gaps(r) for r in line.runs)
    )
    if not exact and not _is_rtl(line) and max(seen, default="") <= "\uffff":
        return marked("Span", f"/ActualText {text_string(seen)}", out)
    return out


def ring_of_text(
    book: FontBook, whole: ShapedLine, parts: Iterable[tuple[ShapedLine, Affine]]
) -> list[Part]:
    """Show the parts of a line that is bent round a ring.

    Readers order turned letters by their places: ActualText on all of them keeps the words
    (poppler and pdfium, measured), with the same exceptions as in a straight line.
    """
    out: list[Part] = []
    for line, em_to_pt in parts:
        out += _glyphs(book, line, em_to_pt)[0]
    seen = whole.text.replace("\u00ad", "")
    if _is_rtl(whole) or max(seen, default="") > "\uffff":
        return out
    return marked("Span", f"/ActualText {text_string(seen)}", out)


def _is_rtl(line: ShapedLine) -> bool:
    """Whether letters run from the right: not so for a mark of direction alone."""
    return any(run.rtl for run in line.runs if run.ids)


def _glyphs(book: FontBook, line: ShapedLine, em_to_pt: Affine) -> tuple[list[Part], str]:
    """Give the text object of a line, and the words that its fonts give back."""
    out: list[Part] = ["BT"]
    given = ""
    size = math.hypot(em_to_pt.a, em_to_pt.b)
    for run in map(readable, line.runs):
        resource, slots, text = book.note(run)
        given += text
        if run.ids:
            out += _run(resource, slots, run, em_to_pt, size)
    out.append("ET")
    for run in line.runs:
        out += colour_glyphs(book, run, em_to_pt)
    return out, given


_FIRST_WIDE = "\u2e80"
"""From here on come ideographs and kana, as wide as they are high."""


def _has_odd_spaces(text: str) -> bool:
    """Whether a line has spaces that poppler drops: two in a row, one by ideographs."""
    return "  " in text or (" " in text and max(text) >= _FIRST_WIDE)


_GAP_EM = 0.08
"""Readers take gaps wider than 0.1 em for spaces (measured with poppler)."""


def _has_gaps(run: GlyphRun) -> bool:
    """Whether letters of a run stand apart, as spaced ones do."""
    face = run.font.face
    return any(
        after - x - face.advance(gid) * run.scale > _GAP_EM
        for gid, x, after in zip(run.ids, run.xs, run.xs[1:], strict=False)
    )


def _has_marks(run: GlyphRun) -> bool:
    """Whether a run has marks set over or under others: readers put spaces there."""
    face = run.font.face
    return any(run.ys) or any(not face.advance(gid) for gid in run.ids)


def _run(
    resource: str, slots: tuple[int, ...], run: GlyphRun, em_to_pt: Affine, size: float
) -> list[Part]:
    """Place a run by its first glyph, then move by what kerning adds to the widths."""
    start = run.xs[0]
    at = em_to_pt @ Affine(1 / size, 0, 0, 1 / size, start, 0)
    own = size * run.scale
    out: list[Part] = [f"/{resource} {number(own)} Tf", f"{matrix(at)} Tm"]
    pen, rise, hidden = start, 0.0, False
    face = run.font.face
    first = 0
    moves: list[float] = []
    for i, (gid, x, y) in enumerate(zip(run.ids, run.xs, run.ys, strict=True)):
        unseen = gid == 0 or bool(face.layers(gid))
        if y != rise or unseen != hidden:
            if moves:
                out.append(Shown(resource, slots[first:i], tuple(moves)))
            first, moves, rise = i, [], y
            out.append(f"{number(y * size)} Ts")
        if unseen != hidden:
            hidden = unseen
            out.append(f"{_UNSEEN if hidden else 0} Tr")
        move = round((pen - x) / run.scale * 1000, 4)
        moves.append(move)
        pen += (written_width(face.advance(gid)) - move) / 1000 * run.scale
    out.append(Shown(resource, slots[first:], tuple(moves)))
    if rise:
        out.append("0 Ts")
    if hidden:
        out.append("0 Tr")
    return out


def colour_glyphs(book: FontBook, run: GlyphRun, em_to_pt: Affine) -> list[Part]:
    """Draw the glyphs of a run that have several colours; text beside them is unseen."""
    out: list[Part] = []
    for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True):
        name = book.picture(run.font, gid)
        if name is not None:
            place = em_to_pt @ Affine(run.scale, 0, 0, run.scale, x, y)
            out.append(f"q {matrix(place)} cm /{name} Do Q")
    return out
