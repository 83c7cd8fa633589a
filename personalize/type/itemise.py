"""Unicode's rules for a text: direction, scripts, clusters and places to break.

The only module that uses ICU, which follows UAX #9 (direction), UAX #14 (line breaks,
with dictionaries for Thai, Lao, Khmer and Burmese), UAX #24 (scripts) and UAX #29
(grapheme clusters). Indices are code points; ICU's own are UTF-16 units and are mapped.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property, lru_cache

import icu

Span = tuple[int, int]

SOFT_HYPHEN = "\u00ad"
_FIRST_RTL = "\u0590"
"""Below this there is neither a right-to-left letter nor a directional control."""
_FIRST_NOT_LATIN = "\u02b0"
_LINE_ENDS = "\n\r\v\f\x85\u2028\u2029"
_BREAKING_SPACES = (
    _LINE_ENDS + " \t\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006"
    "\u2008\u2009\u200a\u205f\u3000\u200b"
)
"""Spaces that may end a line and are then not seen; no-break spaces are not among them."""


class BreakKind(Enum):
    """What stands at the end of a segment."""

    PLAIN = "plain"
    """Between words, after a visible hyphen, between ideographs."""
    SOFT_HYPHEN = "soft hyphen"
    """Invisible, unless the line is broken here: then a hyphen is shown."""
    FORCED = "forced"
    """A line end in the cell itself."""
    END = "end"


@dataclass(frozen=True, slots=True)
class Segment:
    """The text between two places where a line may break."""

    start: int
    end: int
    """End of what is seen when a line ends here (trailing spaces left out)."""
    kind: BreakKind


@dataclass(frozen=True, slots=True)
class VisualRun:
    """A part of a line in one direction, as met from left to right."""

    start: int
    end: int
    rtl: bool


@dataclass(frozen=True)
class Itemised:
    """One text with what Unicode says of it."""

    text: str
    _cache: dict[Span, tuple[VisualRun, ...]] = field(default_factory=dict, repr=False)

    @cached_property
    def _units(self) -> list[int] | None:
        """Code point index at each UTF-16 offset, None where they are the same."""
        if all(c < "\U00010000" for c in self.text):
            return None
        units: list[int] = []
        for i, c in enumerate(self.text):
            units += [i] * (2 if c > "\uffff" else 1)
        return [*units, len(self.text)]

    def _points(self, offsets: list[int]) -> list[int]:
        units = self._units
        return offsets if units is None else [units[o] for o in offsets]

    def _span(self, start: int, end: int) -> Span:
        first, last = self._points([start, end])
        return first, last

    def _offset(self, index: int) -> int:
        return index if self._units is None else self._units.index(index)

    @cached_property
    def _bidi(self) -> icu.Bidi | None:
        if all(c < _FIRST_RTL for c in self.text):
            return None
        # ICU wants one paragraph; a forced line end is a break of the line, not of the
        # paragraph, for a cell of a few words (so one direction holds for all of it).
        joined = "".join("\u2028" if c in _LINE_ENDS else c for c in self.text)
        bidi = icu.Bidi()
        bidi.setPara(icu.UnicodeString(joined), icu.Bidi.DEFAULT_LTR)
        return bidi

    @cached_property
    def rtl(self) -> bool:
        """Whether the text as a whole runs right to left (its first strong letter)."""
        return self._bidi is not None and self._bidi.getParaLevel() % 2 == 1

    @cached_property
    def segments(self) -> tuple[Segment, ...]:
        """The text cut at every place where a line may break."""
        breaks = _line_breaks()
        breaks.setText(self.text)
        ends, forced = [], []
        for offset in breaks:
            ends.append(offset)
            forced.append(breaks.getRuleStatus() >= _HARD)
        ends = self._points(ends)
        out, start = [], 0
        for end, hard in zip(ends, forced, strict=True):
            seen = self.text[start:end].rstrip(_BREAKING_SPACES)
            kind = BreakKind.PLAIN
            if hard and self.text[end - 1] in _LINE_ENDS:
                kind = BreakKind.FORCED
            elif seen.endswith(SOFT_HYPHEN):
                kind = BreakKind.SOFT_HYPHEN
            if seen or kind is BreakKind.FORCED:
                out.append(Segment(start, start + len(seen), kind))
            start = end
        while out and out[-1].end == out[-1].start:
            out.pop()
        if out:
            out[-1] = Segment(out[-1].start, out[-1].end, BreakKind.END)
        return tuple(out)

    @cached_property
    def clusters(self) -> tuple[Span, ...]:
        """Grapheme clusters: what a reader takes for one letter or picture."""
        if self.text.isascii():
            return tuple((i, i + 1) for i in range(len(self.text)))
        breaks = icu.BreakIterator.createCharacterInstance(icu.Locale.getRoot())
        breaks.setText(self.text)
        ends = self._points(list(breaks))
        return tuple(zip([0, *ends], ends, strict=False))

    @cached_property
    def scripts(self) -> tuple[str, ...]:
        """ISO 15924 code of every character; common ones take their neighbour's."""
        if all(c < _FIRST_NOT_LATIN for c in self.text):
            return ("Latn",) * len(self.text)
        codes = [icu.Script.getScript(ord(c)).getShortName() for c in self.text]
        return tuple(_resolved(codes))

    @cached_property
    def is_plain(self) -> bool:
        """Whether one shaping run will do: Latin letters and signs, left to right."""
        return self._bidi is None and all(c < _FIRST_NOT_LATIN for c in self.text)

    def visual_runs(self, start: int, end: int) -> tuple[VisualRun, ...]:
        """Runs of one line, from left to right (UAX #9 rules L1 and L2)."""
        if self._bidi is None or start == end:
            return (VisualRun(start, end, False),)
        known = self._cache.get((start, end))
        if known is None:
            first, last = self._offset(start), self._offset(end)
            line = self._bidi.setLine(first, last)
            runs = [line.getVisualRun(i) for i in range(line.countRuns())]
            known = tuple(
                VisualRun(*self._span(first + at, first + at + n), rtl=bool(direction))
                for at, n, direction in runs
            )
            self._cache[start, end] = known
        return known


@lru_cache(maxsize=1)
def _line_breaks() -> icu.BreakIterator:
    """Make the iterator once: that takes longer than most texts."""
    return icu.BreakIterator.createLineInstance(icu.Locale.getRoot())


_HARD = 100
"""ICU's UBRK_LINE_HARD: the break is one that the text itself asks for."""
_NEUTRAL = frozenset({"Zyyy", "Zinh", "Zzzz"})


def _resolved(codes: list[str]) -> list[str]:
    """Give neutral characters the script before them, or the first one that follows."""
    last = next((c for c in codes if c not in _NEUTRAL), "Latn")
    for i, code in enumerate(codes):
        if code in _NEUTRAL:
            codes[i] = last
        else:
            last = code
    return codes


def is_invisible(cluster: str) -> bool:
    """Whether a cluster is one character that is never drawn (a direction mark, say)."""
    return len(cluster) == 1 and bool(
        icu.Char.hasBinaryProperty(ord(cluster), icu.UProperty.DEFAULT_IGNORABLE_CODE_POINT)
    )


def is_blank(text: str) -> bool:
    """Whether a text has nothing to be seen: spaces, line ends, invisible characters."""
    return all(c.isspace() or is_invisible(c) for c in text)


def is_picture(cluster: str) -> bool:
    """Whether a cluster asks to be shown as an emoji (UTS #51, section 4.3)."""
    if cluster.isascii():
        return False
    if "\ufe0e" in cluster:
        return False
    if "\ufe0f" in cluster or "\u20e3" in cluster:
        return True
    return bool(
        icu.Char.hasBinaryProperty(ord(cluster[0]), icu.UProperty.EMOJI_PRESENTATION)
    )


def collation_key(language: str = "") -> Callable[[str], bytes]:
    """Give what to order texts by, as a dictionary of a language does (UTS #10, CLDR)."""
    collator = icu.Collator.createInstance(icu.Locale(language or "root"))

    def key(text: str) -> bytes:
        return bytes(collator.getSortKey(text))

    return key


def folded(text: str) -> str:
    """A form for comparing only: composed (NFC, UAX #15), whatever way it was typed."""
    normalizer = icu.Normalizer2.getNFCInstance()
    return str(normalizer.normalize(text))
