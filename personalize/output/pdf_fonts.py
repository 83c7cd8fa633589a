"""Fonts in the PDF: the glyphs that are used, renumbered, with a way back to characters.

Each font becomes a Type0 font with Identity-H codes (ISO 32000-1, 9.7): codes are glyph
ids of the subset. ToUnicode (9.10.3) gives each glyph the character that the font's own
table has for it, else the text of its cluster; further glyphs of a cluster get a
zero-width space, since readers make garbage of unmapped ones (measured).
"""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import pikepdf
from pikepdf import Array, Dictionary, Name

from personalize.fonts.catalogue import Font
from personalize.fonts.harfbuzz import Face
from personalize.type.shape import GlyphRun, ShapedLine
from personalize.units import number

ZERO_WIDTH_SPACE = "\u200b"


@dataclass
class _Usage:
    """Glyphs of one font, each with the text it stands for."""

    font: Font
    texts: dict[int, str] = field(default_factory=dict)


@dataclass(frozen=True)
class EmbeddedFont:
    """A font as the page's content needs it."""

    resource: str
    new_id: Mapping[int, int]
    widths: Mapping[int, float]
    """Advance of each glyph (by its id in the face) in 1/1000 em, as written in W."""
    texts: Mapping[int, str]


class FontBook:
    """Collects the glyphs of a document, then embeds its fonts."""

    def __init__(self) -> None:
        self._usage: dict[Font, _Usage] = {}

    def add(self, lines: Iterable[ShapedLine]) -> None:
        """Take note of the glyphs of some lines."""
        for line in lines:
            for run in line.runs:
                self._add_run(run)

    def _add_run(self, run: GlyphRun) -> None:
        usage = self._usage.setdefault(run.font, _Usage(run.font))
        for gid, text in glyph_texts(run):
            # A glyph that two texts share keeps what the font itself says of it, so
            # that pointed letters do not spoil plain ones.
            if gid not in usage.texts or usage.texts[gid] == ZERO_WIDTH_SPACE:
                usage.texts[gid] = text

    def embed(self, pdf: pikepdf.Pdf) -> dict[Font, EmbeddedFont]:
        """Write every font into a document; keys in the order of first use."""
        return {
            font: _embedded(pdf, usage, f"F{i}")
            for i, (font, usage) in enumerate(self._usage.items(), 1)
        }

    def dictionary(
        self, pdf: pikepdf.Pdf, fonts: Mapping[Font, EmbeddedFont]
    ) -> Dictionary:
        """Give the Font resources of a page."""
        out = Dictionary()
        for font, embedded in fonts.items():
            out[f"/{embedded.resource}"] = self._objects[font](pdf, embedded)
        return out


def glyph_texts(run: GlyphRun) -> Iterable[tuple[int, str]]:
    """Give each glyph of a run with the text that it stands for."""
    starts = sorted(set(run.clusters))
    ends = dict(zip(starts, [*starts[1:], len(run.text)], strict=True))
    face = run.font.face
    seen: set[int] = set()
    # Visual order: in a right-to-left run the last glyph of a cluster comes first.
    order = range(len(run.ids) - 1, -1, -1) if run.rtl else range(len(run.ids))
    texts = [""] * len(run.ids)
    for i in order:
        cluster = run.clusters[i]
        text = run.text[cluster : ends[cluster]]
        if cluster in seen:
            texts[i] = ZERO_WIDTH_SPACE
            continue
        seen.add(cluster)
        nominal = face.nominal(text[0]) == run.ids[i]
        texts[i] = text[0] if nominal and len(text) > 1 and _glyphs_of(run, cluster) > 1 else text
    return zip(run.ids, texts, strict=True)


def _glyphs_of(run: GlyphRun, cluster: int) -> int:
    return run.clusters.count(cluster)


def _embedded(pdf: pikepdf.Pdf, usage: _Usage, resource: str) -> EmbeddedFont:
    raise NotImplementedError


__all__ = ["EmbeddedFont", "Face", "FontBook", "number", "pikepdf", "Array", "Name"]
