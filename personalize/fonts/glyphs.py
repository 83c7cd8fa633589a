"""What a font face gives: shaped glyphs, and subsets of itself."""

from dataclasses import dataclass

Box = tuple[float, float, float, float]


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
    """A font file for embedding: some glyphs only, renumbered, or the whole font."""

    data: bytes
    is_cff: bool
    """Whether `data` is a bare CFF table (else a TrueType file)."""
    new_id: dict[int, int]
    """Glyph id in the subset, by glyph id in the face."""
    is_whole: bool = False
