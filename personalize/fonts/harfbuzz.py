"""HarfBuzz behind one door: shaping, outlines and subsets of one font face.

The only module that uses uharfbuzz. Numbers leave it in em (font units over units per
em), unhinted, with y up; glyph ids are the face's own.
"""

import unicodedata
from collections.abc import Mapping
from enum import Enum
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import uharfbuzz as hb
from fontTools.pens.boundsPen import BoundsPen

from personalize.fonts.colour import Layer, LayerPainter, Rgb, box_of, reduced
from personalize.fonts.files import Axes, UnreadableFontError, check_whole, unpacked
from personalize.fonts.glyphs import Box, Glyphs, Subset
from personalize.fonts.seen import is_mark, is_seen

INSTALLABLE = 0
RESTRICTED = 0x0002
NO_SUBSETTING = 0x0100
BITMAPS_ONLY = 0x0200
"""Bits of OS/2 fsType: OpenType 1.9.1, "OS/2", fsType."""


_SCRIPTS, _HANDWRITTEN = 10, 3
"""The same: IBM Font Class "Scripts", PANOSE family "Latin Hand Written"."""
_OVER_EM = -0.06
"""A mark drawn without an anchor has its middle further left of the pen than this: half
the narrowest letter. Many are drawn round the pen itself, to be moved by anchors."""


class _Coverage(Enum):
    """How well a face sets a grapheme cluster."""

    NONE = "a glyph is missing"
    LOOSE = "a mark stands beside its letter"
    GOOD = "whole"


class Face:
    """One face of a font file; of a variable font, the one at a place on its axes."""

    def __init__(self, data: bytes, index: int = 0, axes: Axes = ()) -> None:
        check_whole(data, index)
        face = hb.Face(hb.Blob(data), index)
        if face.glyph_count == 0 or face.upem == 0:
            raise UnreadableFontError("it holds no glyphs that can be read")
        self.tables = frozenset(face.table_tags)
        if not self.tables & {"glyf", "CFF ", "CFF2"}:
            pictures = sorted(self.tables & _PICTURES)
            raise UnreadableFontError(
                f"it draws its letters as pictures ({', '.join(pictures)}) and has no"
                " outlines that a printer or a blade could follow"
                if pictures
                else "it has no outlines"
            )
        if self.tables & {"fvar", "CFF2"}:
            face = _pinned(face, axes)
            self.tables = frozenset(face.table_tags)
        self._face = face
        self._font = hb.Font(face)
        self.upem: int = self._face.upem
        self._covered: dict[str, _Coverage] = {}
        self._ink: dict[int, Box | None] = {}
        self._layers: dict[int, tuple[Layer, ...]] = {}

    def try_out(self) -> int:
        """Do what will be done with the face, and give its bits of embedding.

        Raises UnreadableFontError where something does not work, or where no character
        has an outline (a font of pictures may have blank ones).
        """
        try:
            characters = self._face.unicodes
            drawn = any(self.ink(self.nominal(chr(c)) or 0) for c in characters)
            self.subset(frozenset({0}))
            bits, _ = self.embedding_bits, self.postscript_name
        except UnreadableFontError:
            raise
        except Exception as error:  # as in `load_face`
            raise UnreadableFontError("it is damaged") from error
        if not drawn:
            raise UnreadableFontError("none of its letters has an outline")
        return bits

    def shape(
        self,
        text: str,
        *,
        rtl: bool,
        script: str,
        language: str,
        cuts: frozenset[int] = frozenset(),
        features: Mapping[str, int] | None = None,
    ) -> Glyphs:
        """Shape one run of one script and direction.

        `script` is an ISO 15924 code, `language` a BCP 47 tag ("" for none told), `cuts`
        the clusters of which it matters whether the run can be cut before them,
        `features` values of OpenType features by tag (0 is off).
        """
        buffer = hb.Buffer()
        buffer.add_str(text)
        buffer.direction = "rtl" if rtl else "ltr"
        buffer.script = script
        if language:
            buffer.language = language
        # A cluster per character, so that a text and its glyphs can be matched.
        buffer.cluster_level = hb.BufferClusterLevel.MONOTONE_CHARACTERS
        buffer.flags = hb.BufferFlags.REMOVE_DEFAULT_IGNORABLES
        hb.shape(self._font, buffer, dict(features or {}))
        infos, positions = buffer.glyph_infos, buffer.glyph_positions
        em = self.upem
        return Glyphs(
            tuple(g.codepoint for g in infos),
            tuple(g.cluster for g in infos),
            tuple(p.x_advance / em for p in positions),
            tuple(p.x_offset / em for p in positions),
            tuple(p.y_offset / em for p in positions),
            frozenset(g.cluster for g in infos if g.cluster in cuts and g.flags & _UNSAFE)
            if cuts
            else cuts,
        )

    def covers(self, cluster: str) -> bool:
        """Whether the face has every glyph of a grapheme cluster, tried by shaping.

        A glyph that draws nothing for a letter that is seen is none: makers leave blanks
        for accents that they never drew, and colour fonts keep outlines elsewhere.
        """
        return self._coverage(cluster) is not _Coverage.NONE

    def sets(self, cluster: str) -> bool:
        """Whether it also puts the marks of a cluster where they belong.

        A mark that the font has no place for is drawn at the pen, right of its letter.
        """
        return self._coverage(cluster) is _Coverage.GOOD

    def _coverage(self, cluster: str) -> "_Coverage":
        known = self._covered.get(cluster)
        if known is None:
            gid = self._font.get_nominal_glyph(ord(cluster)) if len(cluster) == 1 else 0
            if gid and (self.ink(gid) is not None or not is_seen(cluster)):
                known = _Coverage.GOOD
            else:
                known = self._tried(cluster)
            self._covered[cluster] = known
        return known

    def _tried(self, cluster: str) -> "_Coverage":
        buffer = hb.Buffer()
        buffer.add_str(cluster)
        buffer.guess_segment_properties()
        buffer.cluster_level = hb.BufferClusterLevel.MONOTONE_CHARACTERS
        buffer.flags = hb.BufferFlags.REMOVE_DEFAULT_IGNORABLES
        hb.shape(self._font, buffer, {})
        glyphs = list(zip(buffer.glyph_infos, buffer.glyph_positions, strict=True))
        if not glyphs or any(info.codepoint == 0 for info, _ in glyphs):
            return _Coverage.NONE
        blank = all(self.ink(info.codepoint) is None for info, _ in glyphs)
        if blank and any(map(is_seen, cluster)):
            return _Coverage.NONE
        rtl = buffer.direction == "rtl"
        letters = unicodedata.normalize("NFD", cluster)
        if not any(map(is_mark, letters)):
            return _Coverage.GOOD
        first = glyphs[-1 if rtl else 0][0].cluster
        for i, (info, at) in enumerate(glyphs):
            base = i == (len(glyphs) - 1 if rtl else 0)
            typed = is_mark(cluster[info.cluster]) or info.cluster == first
            if not base and typed and self._is_at_pen(info.codepoint, at, rtl=rtl):
                return _Coverage.LOOSE
        return _Coverage.GOOD

    def _is_at_pen(self, gid: int, at: hb.GlyphPosition, *, rtl: bool) -> bool:
        """Whether a mark stands where a next letter would, and not over its own.

        Marks are moved by an anchor, or drawn left of the pen, or (right to left, where
        the letter comes after) take no room.
        """
        if at.x_offset or at.y_offset:
            return False
        box = self.ink(gid)
        if box is None:
            return False
        return bool(at.x_advance) if rtl else (box[0] + box[2]) / 2 > _OVER_EM

    def nominal(self, character: str) -> int | None:
        """Glyph that the face's own table gives a character, or None."""
        gid: int | None = self._font.get_nominal_glyph(ord(character))
        return gid

    def ink(self, gid: int) -> Box | None:
        """Exact box of a glyph's outline in em, None for a blank glyph."""
        if gid not in self._ink:
            self._ink[gid] = box_of(self.layers(gid)) or self._outline_box(gid)
        return self._ink[gid]

    def _outline_box(self, gid: int) -> Box | None:
        pen = BoundsPen(None)
        self._font.draw_glyph_with_pen(gid, pen)
        box = pen.bounds
        return box and tuple(v / self.upem for v in box)

    def has_layers_alone(self, gid: int) -> bool:
        """Whether a glyph is drawn in layers and has no outline of its own."""
        return bool(self.layers(gid)) and self._outline_box(gid) is None

    def layers(self, gid: int) -> tuple[Layer, ...]:
        """Layers of a glyph in several colours; none where it is drawn in one."""
        if "COLR" not in self.tables:
            return ()
        if gid not in self._layers:
            painter = LayerPainter(self._font.draw_glyph_with_pen, self.upem)
            if self._face.glyph_has_color_paint(gid) or self._face.get_glyph_color_layers(
                gid
            ):
                self._font.paint_glyph(gid, _paint_funcs(), painter)
            self._layers[gid] = painter.finished()
        return self._layers[gid]

    def draw(self, gid: int, pen: Any) -> None:
        """Draw a glyph's outline, in font units, with a fontTools pen."""
        self._font.draw_glyph_with_pen(gid, pen)

    def advance(self, gid: int) -> float:
        """Advance of a glyph in em."""
        return float(self._font.get_glyph_h_advance(gid)) / self.upem

    @cached_property
    def x_height(self) -> float:
        """Height of the drawn x in em.

        Measured, since the OS/2 value is wrong by up to 0.03 em in fonts that we ship;
        0.5 em where there is no x (a face for one other script, or for pictures).
        """
        return self.top_of("x") or 0.5

    @cached_property
    def cap_height(self) -> float:
        """Height of the drawn H in em; 0.7 em where there is none."""
        return self.top_of("H") or 0.7

    def top_of(self, letter: str) -> float | None:
        """Height of a drawn letter in em, None where there is none above the baseline."""
        gid = self.nominal(letter)
        box = self.ink(gid) if gid else None
        return box[3] if box and box[3] > 0 else None

    @cached_property
    def features(self) -> frozenset[str]:
        """Tags of the OpenType features that the face has for any script or language.

        Read from the feature lists (OpenType 1.9.1, "Feature list table").
        """
        found: set[str] = set()
        for table in ("GSUB", "GPOS"):
            data = self._face.reference_table(table).data
            at = int.from_bytes(data[6:8], "big")
            count = int.from_bytes(data[at : at + 2], "big")
            records = data[at + 2 : at + 2 + 6 * count]
            tags = (records[i : i + 4] for i in range(0, len(records), 6))
            found.update(tag.decode("ascii", "replace").strip() for tag in tags)
        return frozenset(found)

    @cached_property
    def embedding_bits(self) -> int:
        """The OS/2 fsType field (0 when the table is missing)."""
        table = self._face.reference_table("OS/2").data
        return int.from_bytes(table[8:10], "big") if len(table) >= 10 else INSTALLABLE

    @cached_property
    def is_script(self) -> bool:
        """Whether the face calls itself a script: written by hand, or drawn as if.

        OpenType 1.9.1, "OS/2": class 10 of sFamilyClass, or family type 3 of PANOSE.
        """
        table = self._face.reference_table("OS/2").data
        return len(table) > 32 and (table[30] == _SCRIPTS or table[32] == _HANDWRITTEN)

    @cached_property
    def postscript_name(self) -> str:
        """PostScript name of the face, letters and digits only."""
        name = self._face.get_name(hb.OTNameIdPredefined.POSTSCRIPT_NAME) or "Font"
        return "".join(c for c in name if c.isascii() and (c.isalnum() or c == "-"))

    def subset(self, gids: frozenset[int]) -> Subset:
        """Make a font file of some glyphs, renumbered and without hints.

        Renumbering matters: a CJK face that keeps its numbers makes 88 kB of a name
        where 1.2 kB will do (measured). All glyphs are kept where the font's makers
        permit no subsets.
        """
        whole = bool(self.embedding_bits & NO_SUBSETTING)
        request = hb.SubsetInput()
        if whole:
            request.keep_everything()
            flags = request.flags
        else:
            request.glyph_set.update(gids)
            # Colours are drawn by us: their layers would go into the file unused.
            colours = (int.from_bytes(tag, "big") for tag in (b"COLR", b"CPAL"))
            request.drop_table_tag_set.update(set(colours))
            flags = (
                hb.SubsetFlags.NO_HINTING
                | hb.SubsetFlags.NO_LAYOUT_CLOSURE
                | hb.SubsetFlags.NOTDEF_OUTLINE
            )
        if "glyf" not in self.tables:
            flags |= hb.SubsetFlags.CFF_IDENTITY_CHARSET
        request.flags = flags
        try:
            plan = hb.SubsetPlan(self._face, request)
            face = plan.execute()
        except (hb.HarfBuzzError, RuntimeError, MemoryError) as error:
            raise UnreadableFontError("some of its letters are damaged") from error
        new_id = {int(k): int(v) for k, v in dict(plan.old_to_new_glyph_mapping).items()}
        if "glyf" in self.tables:
            return Subset(bytes(face.blob.data), False, new_id, whole)
        return Subset(bytes(face.reference_table("CFF ").data), True, new_id, whole)


@lru_cache(maxsize=1)
def _paint_funcs() -> hb.PaintFuncs:
    """Make the calls by which HarfBuzz tells a `LayerPainter` of a colour glyph."""

    def rgb(colour: hb.Color) -> tuple[Rgb, float]:
        levels = (colour.red / 255, colour.green / 255, colour.blue / 255)
        return levels, colour.alpha / 255

    def gradient(line: hb.ColorLine, ends: tuple[float, ...], to: LayerPainter) -> None:
        if line.extend != hb.PaintExtend.PAD or any(
            s.is_foreground for s in line.color_stops
        ):
            to.refuse()
        else:
            to.gradient(ends, [(s.offset, *rgb(s.color)) for s in line.color_stops])

    funcs = hb.PaintFuncs()
    funcs.set_push_transform_func(lambda *a: a[-1].push_transform(*a[:-1]))
    funcs.set_pop_transform_func(lambda to: to.pop_transform())
    funcs.set_push_clip_glyph_func(lambda gid, to: to.push_clip_glyph(gid))
    funcs.set_push_clip_rectangle_func(lambda *a: a[-1].push_clip_rectangle(*a[:-1]))
    funcs.set_pop_clip_func(lambda to: to.pop_clip())
    funcs.set_color_func(lambda c, own, to: to.solid(*rgb(c), is_text=bool(own)))
    funcs.set_linear_gradient_func(lambda *a: gradient(a[0], reduced(*a[1:-1]), a[-1]))
    funcs.set_radial_gradient_func(lambda *a: gradient(a[0], a[1:-1], a[-1]))
    funcs.set_sweep_gradient_func(lambda *a: a[-1].refuse())
    funcs.set_push_group_func(lambda to: to.refuse())
    funcs.set_image_func(lambda *a: bool(a[-1].refuse()))
    return funcs


def _pinned(face: hb.Face, axes: Axes) -> hb.Face:
    """Make the static font at a place on the axes, its glyphs keeping their numbers.

    All that follows sees this one alone: what is measured is what is embedded. CFF2
    becomes CFF, which a PDF can hold.
    """
    request = hb.SubsetInput()
    request.keep_everything()
    request.flags |= hb.SubsetFlags.RETAIN_GIDS | hb.SubsetFlags.DOWNGRADE_CFF2
    request.pin_all_axes_to_default(face)
    for tag, value in axes:
        request.pin_axis_location(face, tag, value)
    # The bytes are copied: the new face must not lean on the old one's memory.
    static = hb.Face(hb.Blob(bytes(hb.SubsetPlan(face, request).execute().blob.data)))
    if static.glyph_count != face.glyph_count or "fvar" in static.table_tags:
        raise UnreadableFontError("its variations are damaged")
    return static


_PICTURES = frozenset({"CBDT", "EBDT", "sbix", "SVG "})
"""Tables of letters drawn as pictures: OpenType 1.9.1, "Tables related to color fonts"."""
_UNSAFE = hb.GlyphFlags.UNSAFE_TO_BREAK


@lru_cache(maxsize=64)
def load_face(path: Path, index: int = 0, axes: Axes = ()) -> Face:
    """Open a face once per process. Raises OSError or UnreadableFontError."""
    data = unpacked(path)
    try:
        return Face(data, index, axes)
    except UnreadableFontError:
        raise
    except Exception as error:  # whatever a damaged file makes the reader stumble over
        raise UnreadableFontError("it is damaged") from error
