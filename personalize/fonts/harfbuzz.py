"""HarfBuzz behind one door: shaping, outlines and subsets of one font face.

The only module that uses uharfbuzz. Numbers leave it in em (font units over units per
em), unhinted, with y up; glyph ids are the face's own.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import uharfbuzz as hb
from fontTools.pens.boundsPen import BoundsPen

Box = tuple[float, float, float, float]

INSTALLABLE = 0
RESTRICTED = 0x0002
NO_SUBSETTING = 0x0100
"""Bits of OS/2 fsType: OpenType 1.9.1, "OS/2", fsType."""


@dataclass(frozen=True, slots=True)
class Glyphs:
    """What shaping gives for one run, in visual order from left to right."""

    ids: tuple[int, ...]
    clusters: tuple[int, ...]
    """Index into the run's text of the first character that each glyph stands for."""
    advances: tuple[float, ...]
    dx: tuple[float, ...]
    dy: tuple[float, ...]
    unsafe: frozenset[int]
    """Clusters, of those asked for, before which the run cannot be cut without shaping
    again."""


@dataclass(frozen=True, slots=True)
class Subset:
    """A font file holding some glyphs only, renumbered."""

    data: bytes
    is_cff: bool
    """Whether `data` is a bare CFF table (else a TrueType file)."""
    new_id: dict[int, int]
    """Glyph id in the subset, by glyph id in the face."""


class UnreadableFontError(ValueError):
    """The bytes are no font that can be drawn from; the text says why."""


class Face:
    """One face of a font file."""

    def __init__(self, path: Path, index: int = 0) -> None:
        data = path.read_bytes()
        if data[:4] not in _SIGNATURES:
            raise UnreadableFontError("it is not a TrueType or OpenType font file")
        if not _is_whole(data, index):
            raise UnreadableFontError("the file is cut off or damaged")
        self._face = hb.Face(hb.Blob(data), index)
        if self._face.glyph_count == 0 or self._face.upem == 0:
            raise UnreadableFontError("it holds no glyphs that can be read")
        self.tables = frozenset(self._face.table_tags)
        if not self.tables & {"glyf", "CFF ", "CFF2"}:
            raise UnreadableFontError("it has no outlines (pictures only)")
        self._font = hb.Font(self._face)
        self.upem: int = self._face.upem
        self._covered: dict[str, bool] = {}
        self._ink: dict[int, Box | None] = {}

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
        """Whether the face has every glyph of a grapheme cluster, tried by shaping."""
        known = self._covered.get(cluster)
        if known is None:
            if len(cluster) == 1:
                known = bool(self._font.get_nominal_glyph(ord(cluster)))
            else:
                known = self._shapes_whole(cluster)
            self._covered[cluster] = known
        return known

    def _shapes_whole(self, cluster: str) -> bool:
        buffer = hb.Buffer()
        buffer.add_str(cluster)
        buffer.guess_segment_properties()
        buffer.flags = hb.BufferFlags.REMOVE_DEFAULT_IGNORABLES
        hb.shape(self._font, buffer, {})
        ids = [g.codepoint for g in buffer.glyph_infos]
        return bool(ids) and 0 not in ids

    def nominal(self, character: str) -> int | None:
        """Glyph that the face's own table gives a character, or None."""
        gid: int | None = self._font.get_nominal_glyph(ord(character))
        return gid

    def ink(self, gid: int) -> Box | None:
        """Exact box of a glyph's outline in em, None for a blank glyph."""
        if gid not in self._ink:
            pen = BoundsPen(None)
            self._font.draw_glyph_with_pen(gid, pen)
            box = pen.bounds
            self._ink[gid] = box and tuple(v / self.upem for v in box)
        return self._ink[gid]

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
        return self._top_of("x", 0.5)

    @cached_property
    def cap_height(self) -> float:
        """Height of the drawn H in em; 0.7 em where there is none."""
        return self._top_of("H", 0.7)

    def _top_of(self, letter: str, otherwise: float) -> float:
        gid = self.nominal(letter)
        box = self.ink(gid) if gid else None
        return box[3] if box else otherwise

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
    def postscript_name(self) -> str:
        """PostScript name of the face, letters and digits only."""
        name = self._face.get_name(hb.OTNameIdPredefined.POSTSCRIPT_NAME) or "Font"
        return "".join(c for c in name if c.isascii() and (c.isalnum() or c == "-"))

    def subset(self, gids: frozenset[int]) -> Subset:
        """Make a font file of some glyphs, renumbered and without hints.

        Renumbering matters: a CJK face that keeps its numbers makes 88 kB of a name
        where 1.2 kB will do (measured).
        """
        request = hb.SubsetInput()
        request.glyph_set.update(gids)
        flags = (
            hb.SubsetFlags.NO_HINTING
            | hb.SubsetFlags.NO_LAYOUT_CLOSURE
            | hb.SubsetFlags.NOTDEF_OUTLINE
        )
        if "glyf" not in self.tables:
            flags |= hb.SubsetFlags.CFF_IDENTITY_CHARSET
        request.flags = flags
        plan = hb.SubsetPlan(self._face, request)
        face = plan.execute()
        new_id = {int(k): int(v) for k, v in dict(plan.old_to_new_glyph_mapping).items()}
        if "glyf" in self.tables:
            return Subset(bytes(face.blob.data), False, new_id)
        return Subset(bytes(face.reference_table("CFF ").data), True, new_id)


def _is_whole(data: bytes, index: int) -> bool:
    """Whether all tables of a face lie inside the file.

    OpenType 1.9.1, "Table directory" and "Font collections". HarfBuzz takes a table that
    is cut off for an empty one: its letters would be blank.
    """
    start = 0
    if data[:4] == b"ttcf":
        entry = 12 + 4 * index
        start = int.from_bytes(data[entry : entry + 4], "big")
    count = int.from_bytes(data[start + 4 : start + 6], "big")
    records = data[start + 12 : start + 12 + 16 * count]
    ends = (
        int.from_bytes(records[at + 8 : at + 12], "big")
        + int.from_bytes(records[at + 12 : at + 16], "big")
        for at in range(0, len(records), 16)
    )
    return count > 0 and len(records) == 16 * count and max(ends) <= len(data)


_SIGNATURES = frozenset({b"\0\1\0\0", b"OTTO", b"true", b"ttcf"})
_UNSAFE = hb.GlyphFlags.UNSAFE_TO_BREAK


@lru_cache(maxsize=64)
def load_face(path: Path, index: int = 0) -> Face:
    """Open a face once per process. Raises OSError or UnreadableFontError."""
    try:
        return Face(path, index)
    except hb.HarfBuzzError as error:
        raise UnreadableFontError(str(error)) from error
