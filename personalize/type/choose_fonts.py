"""A font for every character of a text: whole clusters, whole words where possible."""

from collections.abc import Iterator
from dataclasses import dataclass

from personalize.fonts.catalogue import Font, chain_for
from personalize.type.itemise import Itemised, Span, is_invisible, is_picture


@dataclass(frozen=True, slots=True)
class Missing:
    """A cluster that no font has."""

    cluster: str
    start: int


def choose_fonts(
    items: Itemised, font: Font
) -> tuple[tuple[Font, ...], tuple[Missing, ...]]:
    """Give a font for every character, and the clusters that no font has.

    A word is set in one font if any has all of it: the design's own, else the first of
    its fallbacks; else each cluster by itself.
    """
    if items.is_plain and all(map(font.face.covers, items.text)):
        return (font,) * len(items.text), ()
    fonts: list[Font] = []
    missing: list[Missing] = []
    last = font
    for kind, word in _words(items):
        clusters = [items.text[start:end] for start, end in word]
        chosen = _word_fonts(clusters, kind, chain_for(font, items.text), font, last)
        for (start, end), own in zip(word, chosen, strict=True):
            if own is None:
                missing.append(Missing(items.text[start:end], start))
            last = own or font
            fonts += [last] * (end - start)
    return tuple(fonts), tuple(missing)


def _words(items: Itemised) -> Iterator[tuple[str, list[Span]]]:
    """Give runs of clusters to be set in one font if any has them all, with their kind.

    Spaces, pictures and a change of script part them.
    """
    kinds = [_kind(items, start, end) for start, end in items.clusters]
    start = 0
    for i in range(1, len(kinds) + 1):
        if i == len(kinds) or kinds[i] != kinds[start] or kinds[i] == "picture":
            yield kinds[start], list(items.clusters[start:i])
            start = i


def _kind(items: Itemised, start: int, end: int) -> str:
    cluster = items.text[start:end]
    if cluster.isspace() or is_invisible(cluster):
        return "space"
    return "picture" if is_picture(cluster) else items.scripts[start]


def _word_fonts(
    clusters: list[str], kind: str, chain: tuple[Font, ...], own: Font, last: Font
) -> list[Font | None]:
    """Choose a font for each cluster of a word, the same one wherever possible."""
    if kind == "space":
        # Fonts of emoji may have no space; those that have one have all (HarfBuzz).
        if not last.face.covers(" "):
            last = next(font for font in chain if font.face.covers(" "))
        return [last] * len(clusters)
    if kind == "picture":
        chain = tuple(sorted(chain, key=lambda font: _picture_rank(font, own)))
    for font in chain:
        if all(map(font.face.sets, clusters)):
            return [font] * len(clusters)
    return [_font_of(cluster, chain) for cluster in clusters]


def _picture_rank(font: Font, own: Font) -> int:
    """Rank of a font for emoji: the one that the design names, its own, ours."""
    if font == own.emoji:
        return 0
    return {"own": 1, "emoji": 2}.get(font.role, 3)


def _font_of(cluster: str, chain: tuple[Font, ...]) -> Font | None:
    """Take the first font that sets a cluster well, else the first that has it at all."""
    return next(
        (font for font in chain if font.face.sets(cluster)),
        next((font for font in chain if font.face.covers(cluster)), None),
    )
