"""Fonts in the PDF: the glyphs that are used, renumbered, with a way back to characters.

Each font becomes a Type0 font with Identity-H codes (ISO 32000-1, 9.7): codes are glyph
ids of the subset. Which glyphs there are is known when the last page is written, so
pages keep glyphs as numbers of the face until then.
"""

import hashlib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

from personalize.fonts.catalogue import Font
from personalize.fonts.harfbuzz import Face, Subset
from personalize.type.shape import GlyphRun
from personalize.units import number

UNMAPPED = "\u200b"
"""Stands for further glyphs of a cluster (zero-width space): readers make garbage of
glyphs without any text (measured)."""
_PER_BLOCK = 100
"""Entries in a block of a CMap, at most (Adobe Technical Note 5014, section 7.3)."""
_SYMBOLIC = 4
"""Font flag: glyphs are not those of the standard Latin set (ISO 32000-1, table 123)."""


@dataclass(slots=True)
class FontUse:
    """What a document uses of one font."""

    resource: str
    texts: dict[int, str] = field(default_factory=dict)
    """Text that each glyph (by its id in the face) stands for."""


class FontBook:
    """Collects the glyphs of a document, then embeds its fonts."""

    def __init__(self) -> None:
        self.uses: dict[Font, FontUse] = {}

    def note(self, run: GlyphRun) -> tuple[str, str]:
        """Take note of a run; give its font's resource and what a reader will get of it.

        What a glyph stands for is fixed when it is first met, so that what was said of
        an earlier line stays true.
        """
        use = self.uses.get(run.font)
        if use is None:
            use = self.uses[run.font] = FontUse(f"F{len(self.uses) + 1}")
        texts = use.texts
        for gid, text in zip(run.ids, glyph_texts(run), strict=True):
            texts.setdefault(gid, text)
        return use.resource, "".join(texts[gid] for gid in run.ids)

    def embed(self, pdf: pikepdf.Pdf) -> tuple[Dictionary, Mapping[str, Mapping[int, int]]]:
        """Write every font; give the Font resources, and the codes of each by glyph id."""
        resources = Dictionary()
        codes = {}
        for font, use in self.uses.items():
            subset = font.face.subset(frozenset(use.texts))
            resources[f"/{use.resource}"] = _type0(pdf, font.face, use, subset)
            codes[use.resource] = subset.new_id
        return resources, codes


def glyph_texts(run: GlyphRun) -> list[str]:
    """Give the text that each glyph of a run stands for.

    The character that the font's own table has for the glyph, where its cluster holds
    that character; else the text of the cluster. A fixed rule, whatever stands around,
    for glyphs are shared: pointed Hebrew would spoil plain Hebrew otherwise (measured).
    """
    starts = sorted(set(run.clusters))
    ends = dict(zip(starts, [*starts[1:], len(run.text)], strict=True))
    first: set[int] = set()
    texts = [UNMAPPED] * len(run.ids)
    order = range(len(run.ids))
    for i in reversed(order) if run.rtl else order:
        start = run.clusters[i]
        cluster = run.text[start : ends[start]]
        own = _own_character(run.font.face, run.ids[i], cluster)
        if own is not None:
            texts[i] = own
        elif start not in first:
            texts[i] = cluster
        first.add(start)
    return texts


def _own_character(face: Face, gid: int, cluster: str) -> str | None:
    composed = unicodedata.normalize("NFC", cluster)
    candidates = composed if len(composed) == 1 else cluster
    return next((c for c in candidates if face.nominal(c) == gid), None)


def _type0(pdf: pikepdf.Pdf, face: Face, use: FontUse, subset: Subset) -> pikepdf.Object:
    tag = "".join(chr(65 + b % 26) for b in hashlib.sha256(subset.data).digest()[:6])
    name = Name(f"/{tag}+{face.postscript_name}")
    to_face = {new: old for old, new in subset.new_id.items()}
    last = max(to_face)
    widths = [_thousandths(face.advance(to_face.get(i, 0))) for i in range(last + 1)]
    descendant = Dictionary(
        Type=Name.Font,
        Subtype=Name.CIDFontType0 if subset.is_cff else Name.CIDFontType2,
        BaseFont=name,
        CIDSystemInfo=Dictionary(
            Registry=pikepdf.String("Adobe"),
            Ordering=pikepdf.String("Identity"),
            Supplement=0,
        ),
        FontDescriptor=pdf.make_indirect(_descriptor(pdf, face, use, subset, name)),
        DW=0,
        W=Array([0, Array(widths)]),
    )
    if not subset.is_cff:
        descendant.CIDToGIDMap = Name.Identity
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font,
            Subtype=Name.Type0,
            BaseFont=name,
            Encoding=Name("/Identity-H"),
            DescendantFonts=Array([pdf.make_indirect(descendant)]),
            ToUnicode=Stream(pdf, _to_unicode(use, subset)),
        )
    )


def _thousandths(em: float) -> pikepdf.Object | int:
    """Give a width in 1/1000 em as the PDF writes it."""
    value = written_width(em)
    return (
        int(value) if value == int(value) else pikepdf.Object.parse(number(value).encode())
    )


def written_width(em: float) -> float:
    """A width in 1/1000 em, rounded as in W: what a reader moves on by."""
    return round(em * 1000, 4)


def _descriptor(
    pdf: pikepdf.Pdf, face: Face, use: FontUse, subset: Subset, name: Name
) -> Dictionary:
    boxes = [ink for gid in use.texts if (ink := face.ink(gid)) is not None]
    box = [0, 0, 1000, 1000]
    if boxes:
        box = [
            round(1000 * pick(b[i] for b in boxes))
            for i, pick in enumerate((min, min, max, max))
        ]
    out = Dictionary(
        Type=Name.FontDescriptor,
        FontName=name,
        Flags=_SYMBOLIC,
        FontBBox=Array(box),
        ItalicAngle=0,
        Ascent=box[3],
        Descent=box[1],
        CapHeight=round(1000 * face.cap_height),
        StemV=80,
    )
    if subset.is_cff:
        out.FontFile3 = Stream(pdf, subset.data, Subtype=Name.CIDFontType0C)
    else:
        out.FontFile2 = Stream(pdf, subset.data, Length1=len(subset.data))
    return out


def _to_unicode(use: FontUse, subset: Subset) -> bytes:
    """Write the ToUnicode CMap (ISO 32000-1, 9.10.3)."""
    pairs = sorted((subset.new_id[gid], text) for gid, text in use.texts.items())
    lines = [
        "/CIDInit /ProcSet findresource begin",
        "12 dict begin",
        "begincmap",
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
        "/CMapName /Adobe-Identity-UCS def",
        "/CMapType 2 def",
        "1 begincodespacerange",
        "<0000> <FFFF>",
        "endcodespacerange",
    ]
    for at in range(0, len(pairs), _PER_BLOCK):
        block = pairs[at : at + _PER_BLOCK]
        lines.append(f"{len(block)} beginbfchar")
        lines += [f"<{code:04X}> <{utf16(text)}>" for code, text in block]
        lines.append("endbfchar")
    lines += ["endcmap", "CMapName currentdict /CMap defineresource pop", "end", "end"]
    return "\n".join(lines).encode("ascii")


def utf16(text: str) -> str:
    """Text as hex digits of UTF-16, big end first, without a mark."""
    return text.encode("utf-16-be").hex().upper()
