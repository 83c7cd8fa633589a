"""Which fonts there are, in words and in a picture of each with a name set in it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby
from pathlib import Path

from fontTools.pens.svgPathPen import SVGPathPen

from personalize.design.artwork_render import render_artwork
from personalize.errors import InputError, refuse
from personalize.fonts.catalogue import Font, catalogue, installed_font
from personalize.fonts.files import Member
from personalize.fonts.installed import installed
from personalize.output.colour_glyphs import svg_layers
from personalize.type.shape import Paragraph
from personalize.units import number

SCRIPTS = {
    "Arab": "Arabic", "Armn": "Armenian", "Beng": "Bengali", "Bopo": "Bopomofo",
    "Cyrl": "Cyrillic", "Deva": "Devanagari", "Ethi": "Ethiopic", "Geor": "Georgian",
    "Grek": "Greek", "Gujr": "Gujarati", "Guru": "Gurmukhi", "Hang": "Hangul",
    "Hani": "Chinese characters", "Hans": "Chinese (simplified)",
    "Hant": "Chinese (traditional)", "Hebr": "Hebrew", "Hira": "Hiragana",
    "Jpan": "Japanese", "Kana": "Katakana", "Khmr": "Khmer", "Knda": "Kannada",
    "Kore": "Korean", "Laoo": "Lao", "Latn": "Latin", "Mlym": "Malayalam",
    "Mymr": "Burmese", "Orya": "Oriya", "Sinh": "Sinhala", "Taml": "Tamil",
    "Telu": "Telugu", "Thai": "Thai", "Zsye": "emoji", "Zsym": "symbols",
}  # fmt: skip
"""Plain names of scripts, by ISO 15924 code."""
_INSTALLED_SAMPLE = "Agnes Fjord & Zoë 27"
_MOST_IN_PNG = 400
"""Fonts in a picture of pixels: 400 make one of 1,520 by 51,000 pixels."""

_WIDE_MM, _EDGE_MM, _ROW_MM = 190.0, 8.0, 16.0
_SAMPLE_X_MM = 78.0
_SAMPLE_MM, _NAME_MM, _SCRIPTS_MM = 9.5, 4.0, 3.2
"""The em of a sample, of the font's name and of its scripts."""
_PX_PER_MM = 8.0
_DARK, _SOFT, _LINE, _PAPER = "#33202e", "#75636f", "#dccfd3", "#fffdf9"


@dataclass(frozen=True, slots=True)
class Entry:
    """One font to tell of."""

    font: Font
    scripts: tuple[str, ...]
    """Plain names."""
    sample: str
    is_text: bool
    """Whether it is meant to be named in a design (else it fills in)."""


def bundled_entries(words: str | None = None) -> tuple[Entry, ...]:
    """Tell of the fonts that ship with the package; `words` stand for their samples."""
    return tuple(
        Entry(
            font,
            tuple(SCRIPTS.get(code, code) for code in font.scripts),
            words or font.sample,
            font.role == "text",
        )
        for font in catalogue()
    )


@dataclass(frozen=True, slots=True)
class Found:
    """One installed font: usable, or why not."""

    member: Member
    font: Font | None
    why_not: str


def installed_fonts() -> tuple[Found, ...]:
    """Try every font that is installed, in the order of their families."""
    out = []
    for member in sorted(installed(), key=lambda m: (m.family.casefold(), m.full_name)):
        try:
            out.append(Found(member, installed_font(member), ""))
        except InputError as error:
            out.append(Found(member, None, error.problems[0].says))
    return tuple(out)


def families(found: Sequence[Found]) -> Iterator[tuple[str, list[Found]]]:
    """Give the usable fonts, family by family."""
    usable = [f for f in found if f.font is not None]
    for family, fonts in groupby(usable, key=lambda f: f.member.family):
        yield family, list(fonts)


def installed_entries(
    found: Sequence[Found], words: str | None = None
) -> tuple[Entry, ...]:
    """Tell of the usable installed fonts."""
    return tuple(
        Entry(f.font, (), words or _INSTALLED_SAMPLE, is_text=True)
        for f in found
        if f.font is not None
    )


def write_picture(entries: Sequence[Entry], to: Path) -> None:
    """Draw the fonts as .svg or .png.

    Raises InputError when the file exists, its name ends otherwise, it cannot be
    written, or there are too many fonts for a .png.
    """
    kind = to.suffix.casefold()
    if kind not in (".svg", ".png"):
        raise refuse(
            "--picture", f"{to.name!r} is no .svg or .png.", "Name it fonts.png, say."
        )
    if to.exists():
        raise refuse("--picture", f"{to.name} is there already.", "Give a new name.")
    if kind == ".png" and len(entries) > _MOST_IN_PNG:
        raise refuse(
            "--picture",
            f"{len(entries)} fonts are too many for a .png ({_MOST_IN_PNG} at most).",
            f"Name it {to.stem}.svg.",
        )
    data = specimen_svg(entries).encode("utf-8")
    if kind == ".png":
        data = render_artwork(data, _PX_PER_MM, name=to.name)
    try:
        with to.open("xb") as file:
            file.write(data)
    except OSError as error:
        raise refuse(
            "--picture",
            f"{to.name} cannot be written ({error.strerror}).",
            "Check the folder.",
        ) from None


def specimen_svg(entries: Sequence[Entry]) -> str:
    """Draw a sheet with a row for each font, in mm; letters are outlines."""
    label = catalogue()[0]
    rows = []
    y = _EDGE_MM
    ordered = sorted(entries, key=lambda e: not e.is_text)
    for is_text, part in groupby(ordered, key=lambda e: e.is_text):
        heading = "To name in a design" if is_text else "Filling in where letters lack"
        rows.append(_drawn(heading, label, 5.5, (_EDGE_MM, y + 7), _DARK))
        y += 11
        for entry in part:
            rows += _row(entry, label, y)
            y += _ROW_MM
        y += 4
    high = number(y + _EDGE_MM)
    wide = number(_WIDE_MM)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm"'
        f' viewBox="0 0 {wide} {high}">\n<title>Fonts</title>\n'
        f'<rect width="{wide}" height="{high}" fill="{_PAPER}"/>\n'
        f'<g stroke="{_LINE}" stroke-width="0.2">'
        + "\n".join(row for row in rows if row.startswith("<path"))
        + "</g>\n"
        + "\n".join(row for row in rows if not row.startswith("<path"))
        + "\n</svg>\n"
    )


def _row(entry: Entry, label: Font, y: float) -> Iterator[str]:
    """Draw the row of a font: a rule, its name, its scripts, its sample."""
    yield f'<path d="M{_EDGE_MM} {number(y)}H{_WIDE_MM - _EDGE_MM}"/>'
    base = y + _ROW_MM * 0.68
    up = 1.6 if entry.scripts else 0.0
    room = _SAMPLE_X_MM - _EDGE_MM - 4
    at = (_EDGE_MM, base - up)
    yield _drawn(entry.font.name, label, _NAME_MM, at, _DARK, room)
    if entry.scripts:
        at = (_EDGE_MM, base + 2.8)
        yield _drawn(", ".join(entry.scripts), label, _SCRIPTS_MM, at, _SOFT, room)
    yield _drawn(entry.sample, entry.font, _SAMPLE_MM, (_SAMPLE_X_MM, base), _DARK)


def _drawn(  # noqa: PLR0917 - what, how large, where
    text: str,
    font: Font,
    em_mm: float,
    at: tuple[float, float],
    colour: str,
    room_mm: float | None = None,
) -> str:
    """Draw a line of text as outlines, made smaller where it is too long."""
    paragraph = Paragraph(text, font)
    if not paragraph.segments:
        return ""
    line = paragraph.line(0, len(paragraph.segments) - 1)
    room = room_mm or _WIDE_MM - _EDGE_MM - at[0]
    if line.ink is not None:
        em_mm = min(em_mm, room / max(line.ink[2], 1e-6))
    out: list[str] = []
    for run in line.runs:
        k = run.scale / run.font.face.upem
        for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True):
            if layers := run.font.face.layers(gid):
                place = f"matrix({run.scale} 0 0 {run.scale} {number(x)} {number(y)})"
                key = f"c{round(at[1] * 1000)}-{len(out)}"
                out.append(f'<g transform="{place}">{svg_layers(layers, key)}</g>')
                continue
            pen = SVGPathPen(None, ntos=lambda v: f"{v:.0f}")
            run.font.face.draw(gid, pen)
            if drawn := pen.getCommands():
                place = f"matrix({number(k, 7)} 0 0 {number(k, 7)} {number(x)} {number(y)})"
                out.append(f'<path transform="{place}" d="{drawn}"/>')
    size = number(em_mm)
    return (
        f'<g role="img" aria-label="{escape(text)}" fill="{colour}"'
        f' transform="matrix({size} 0 0 -{size} {number(at[0])} {number(at[1])})">'
        f"{''.join(out)}</g>"
    )
