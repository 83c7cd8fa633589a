"""Shaped lines, and HarfBuzz's own program and fontTools to compare them with."""

import json
from functools import cache
from pathlib import Path

from fontTools.ttLib import TTFont

from personalize.fonts.catalogue import Font, catalogue, find_font
from personalize.type.shape import GlyphRun, Paragraph, ShapedLine
from tests.outside import run

FONTS = {font.name: font for font in catalogue()}
TEXT_FONTS = sorted(name for name, font in FONTS.items() if font.role == "text")
NUNITO, LORA, PACIFICO = (
    find_font(name, Path(), "test")
    for name in ("Nunito Bold", "Lora Bold", "Pacifico Regular")
)


def whole(paragraph: Paragraph) -> ShapedLine:
    return paragraph.line(0, len(paragraph.segments) - 1)


@cache
def file_of(font: Font) -> TTFont:
    """The font file as fontTools reads it."""
    return TTFont(font.path, fontNumber=font.index, lazy=True)


def by_hb_shape(shaped: GlyphRun) -> list[dict[str, int]]:
    """Shape a run's text with HarfBuzz's own program: hb-shape(1), in font units."""
    from_outside = run(
        *("hb-shape", "--no-glyph-names", "--output-format=json", "--font-size=upem"),
        *("--cluster-level=1", "--remove-default-ignorables", "--language=und"),
        *(f"--direction={'rtl' if shaped.rtl else 'ltr'}",),
        *(f"--face-index={shaped.font.index}", str(shaped.font.path)),
        *("-u", ",".join(f"{ord(c):x}" for c in shaped.text)),
    )
    glyphs: list[dict[str, int]] = json.loads(from_outside)
    return glyphs
