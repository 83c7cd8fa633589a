"""Fonts in the PDF: the glyphs that are used, renumbered, with a way back to characters.

Each font becomes a Type0 font with Identity-H codes (ISO 32000-1, 9.7): codes are glyph
ids of the subset. Which glyphs there are is known when the last page is written, so
pages keep glyphs as numbers of the face until then.
"""

import hashlib
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

from personalize.errors import refuse
from personalize.fonts.catalogue import Font
from personalize.fonts.files import UnreadableFontError
from personalize.fonts.glyphs import Subset
from personalize.fonts.harfbuzz import Face
from personalize.output.colour_glyphs import pdf_form
from personalize.type.shape import GlyphRun

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
    slots: dict[tuple[int, str], int] = field(default_factory=dict)
    """A number for each glyph (by its id in the face) with a text that it stands for.

    The same glyph may stand for several: an Arabic font draws many letters with the same
    stroke and other dots.
    """

    @property
    def glyphs(self) -> frozenset[int]:
        """Ids of the glyphs in the face."""
        return frozenset(gid for gid, _ in self.slots)


class FontBook:
    """Collects the glyphs of a document, then embeds its fonts."""

    def __init__(self) -> None:
        self.uses: dict[Font, FontUse] = {}
        self.pictures: dict[tuple[Font, int], str] = {}
        """Names of the glyphs in several colours, which are drawn as forms."""

    def note(self, run: GlyphRun) -> tuple[str, tuple[int, ...], str]:
        """Take note of a run: its font's resource, a slot for each glyph, and its text.

        The text is what a reader of the document will get of the glyphs.
        """
        use = self.uses.get(run.font)
        if use is None:
            use = self.uses[run.font] = FontUse(f"F{len(self.uses) + 1}")
        slots, texts = use.slots, glyph_texts(run)
        numbers = tuple(
            slots.setdefault(key, len(slots)) for key in zip(run.ids, texts, strict=True)
        )
        return use.resource, numbers, "".join(texts)

    def picture(self, font: Font, gid: int) -> str | None:
        """Name of the form of a glyph in several colours, None for a plain glyph."""
        if not font.face.layers(gid):
            return None
        return self.pictures.setdefault((font, gid), f"C{len(self.pictures) + 1}")

    def forms(self, pdf: pikepdf.Pdf) -> dict[str, pikepdf.Object]:
        """Write the forms of those glyphs."""
        return {
            name: pdf_form(pdf, font.face.layers(gid))
            for (font, gid), name in self.pictures.items()
        }

    def embed(self, pdf: pikepdf.Pdf) -> tuple[Dictionary, Mapping[str, Sequence[int]]]:
        """Write every font; give the Font resources, and the code of each slot."""
        resources = Dictionary()
        codes = {}
        for font, use in self.uses.items():
            try:
                subset = font.face.subset(use.glyphs)
            except UnreadableFontError as error:
                raise refuse(
                    font.path.name,
                    f"the font cannot be put in a PDF: {error}.",
                    "Choose another font.",
                ) from None
            codes[use.resource] = _codes(use, subset)
            object_ = _type0(pdf, font.face, use, subset, codes[use.resource])
            resources[f"/{use.resource}"] = object_
        return resources, codes


def _codes(use: FontUse, subset: Subset) -> Sequence[int]:
    """Give the code of each slot.

    In a TrueType font a slot has a code of its own, mapped to its glyph by
    CIDToGIDMap. A bare CFF table has no such map: there the code is the glyph's number,
    and what it stands for is what it was first met with.
    """
    if subset.is_cff:
        return [subset.new_id[gid] for gid, _ in use.slots]
    return range(1, len(use.slots) + 1)


def readable(run: GlyphRun) -> GlyphRun:
    """Give a run as it is shown in the document, so that readers find its words."""
    face = run.font.face
    if any(map(face.has_layers_alone, run.ids)):
        # pdfium finds no text in a glyph without an outline; .notdef has one, and is
        # shown unseen under the layers.
        ids = tuple(0 if face.has_layers_alone(gid) else gid for gid in run.ids)
        run = replace(run, ids=ids)
    return letter_by_letter(run)


def letter_by_letter(run: GlyphRun) -> GlyphRun:
    """Give the letters of a right-to-left ligature a code each, where it can be done.

    Readers turn right-to-left words round code by code: one code for two letters comes
    out as alef-lam instead of lam-alef (measured with poppler and pdfium). So all
    letters but the first get a blank of their own, to the left of the ligature.
    """
    if not run.rtl or len(set(run.clusters)) == len(run.text):
        return run
    blank = run.font.face.nominal(" ")
    if not blank or "glyf" not in run.font.face.tables:  # see `_codes`
        return run
    ends = _ends(run)
    ids, clusters, xs, ys = [], [], [], []
    for i, (gid, start) in enumerate(zip(run.ids, run.clusters, strict=True)):
        letters = run.text[start : ends[start]]
        alone = run.clusters.count(start) == 1
        if alone and len(letters) > 1 and letters.isalpha():
            for extra in range(ends[start] - 1, start, -1):
                ids.append(blank)
                clusters.append(extra)
                xs.append(run.xs[i])
                ys.append(run.ys[i])
        ids.append(gid)
        clusters.append(start)
        xs.append(run.xs[i])
        ys.append(run.ys[i])
    return replace(
        run, ids=tuple(ids), clusters=tuple(clusters), xs=tuple(xs), ys=tuple(ys)
    )


def _ends(run: GlyphRun) -> dict[int, int]:
    """Give where each cluster of a run ends in its text, by where it starts.

    None for a run without glyphs: HarfBuzz leaves out what is never seen, as a mark of
    direction that has a run of its own.
    """
    starts = sorted(set(run.clusters))
    ends = [*starts[1:], len(run.text)] if starts else []
    return dict(zip(starts, ends, strict=True))


def glyph_texts(run: GlyphRun) -> list[str]:
    """Give the text that each glyph of a run stands for.

    The character that the font's own table has for the glyph, where its cluster holds
    that character; else the text of the cluster. A fixed rule, whatever stands around,
    for glyphs are shared: pointed Hebrew would spoil plain Hebrew otherwise (measured).
    """
    ends = _ends(run)
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


def _type0(
    pdf: pikepdf.Pdf, face: Face, use: FontUse, subset: Subset, codes: Sequence[int]
) -> pikepdf.Object:
    tag = "".join(chr(65 + b % 26) for b in hashlib.sha256(subset.data).digest()[:6])
    # A font as it is has no tag: ISO 32000-1, 9.6.4.
    name = Name(
        f"/{face.postscript_name}" if subset.is_whole else f"/{tag}+{face.postscript_name}"
    )
    glyphs = dict(zip(codes, (gid for gid, _ in use.slots), strict=True))
    widths = [
        written_width(face.advance(glyphs[code]) if code in glyphs else 0.0)
        for code in range(max(glyphs) + 1)
    ]
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
        numbers = (subset.new_id.get(glyphs.get(code, 0), 0) for code in range(len(widths)))
        to_glyph = b"".join(number.to_bytes(2, "big") for number in numbers)
        descendant.CIDToGIDMap = Stream(pdf, to_glyph)
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font,
            Subtype=Name.Type0,
            BaseFont=name,
            Encoding=Name("/Identity-H"),
            DescendantFonts=Array([pdf.make_indirect(descendant)]),
            ToUnicode=Stream(pdf, _to_unicode(use, codes)),
        )
    )


def written_width(em: float) -> int:
    """A width in 1/1000 em, rounded as in W: what a reader moves on by.

    Whole numbers, for pdfium drops what stands behind the point: words of a font with
    2,048 units to the em drifted by up to 5 px in a line at 200 dpi (measured). What
    rounding takes is given back where the glyphs are shown.
    """
    return round(em * 1000)


def _descriptor(
    pdf: pikepdf.Pdf, face: Face, use: FontUse, subset: Subset, name: Name
) -> Dictionary:
    boxes = [ink for gid in sorted(use.glyphs) if (ink := face.ink(gid)) is not None]
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


def _to_unicode(use: FontUse, codes: Sequence[int]) -> bytes:
    """Write the ToUnicode CMap (ISO 32000-1, 9.10.3)."""
    first: dict[int, str] = {}
    for code, (_, text) in zip(codes, use.slots, strict=True):
        first.setdefault(code, text)
    pairs = sorted(first.items())
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
