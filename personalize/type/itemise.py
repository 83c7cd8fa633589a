"""Unicode's rules for a text: direction, scripts, clusters and places to break.

The only module that uses ICU, which follows UAX #9 (direction), UAX #14 (line breaks,
with dictionaries for Thai, Lao, Khmer and Burmese), UAX #24 (scripts) and UAX #29
(grapheme clusters). Indices are code points; ICU's own are UTF-16 units and are mapped.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property, lru_cache
from itertools import groupby

import icu

Span = tuple[int, int]

SOFT_HYPHEN = "\u00ad"
_FIRST_RTL = "\u0590"
"""Below this there is neither a right-to-left letter nor a directional control."""
_FIRST_NOT_LATIN = "\u02b0"
_LINE_ENDS = "\n\r\v\f\x85\u2028\u2029"
_PARAGRAPH_ENDS = _LINE_ENDS + "\x1c\x1d\x1e"
"""The last three are separators too for UAX #9 (Bidi_Class=B), though no line ends."""
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
    SYLLABLE = "syllable"
    """Within a word, by a dictionary (`hyphens`): a line that ends here shows a hyphen."""
    FORCED = "forced"
    """A line end in the cell itself."""
    END = "end"

    @property
    def shows_hyphen(self) -> bool:
        """Whether a line that ends here shows a hyphen."""
        return self in (BreakKind.SOFT_HYPHEN, BreakKind.SYLLABLE)


@dataclass(frozen=True, slots=True)
class Segment:
    """The text between two places where a line may break."""

    start: int
    end: int
    """End of what is seen when a line ends here (trailing spaces left out)."""
    kind: BreakKind


@dataclass(frozen=True, slots=True)
class VisualRun:
    """A part of a line at one level of UAX #9, as met from left to right."""

    start: int
    end: int
    level: int

    @property
    def rtl(self) -> bool:
        """Whether it runs right to left: odd levels do."""
        return self.level % 2 == 1


@dataclass(frozen=True)
class Itemised:
    """One text with what Unicode says of it."""

    text: str
    direction: str = "auto"
    """"ltr", "rtl", or "auto" for that of the first strong letter (UAX #9, P2 and P3)."""
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
        if self.direction != "rtl" and all(c < _FIRST_RTL for c in self.text):
            return None
        # ICU wants one paragraph; a forced line end is a break of the line, not of the
        # paragraph, for a cell of a few words (so one direction holds for all of it).
        joined = "".join("\u2028" if c in _PARAGRAPH_ENDS else c for c in self.text)
        bidi = icu.Bidi()
        level = {"ltr": 0, "rtl": 1}.get(self.direction, icu.Bidi.DEFAULT_LTR)
        bidi.setPara(icu.UnicodeString(joined), level)
        return bidi

    @cached_property
    def rtl(self) -> bool:
        """Whether the text as a whole runs right to left."""
        return self._bidi is not None and self._bidi.getParaLevel() % 2 == 1

    @cached_property
    def segments(self) -> tuple[Segment, ...]:
        """The text cut at every place where a line may break."""
        out, start = [], 0
        for end, hard in self.breaks:
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
    def breaks(self) -> tuple[tuple[int, bool], ...]:
        """Places where a line may end (the text's end is the last), and whether it must.

        UAX #14 breaks between a space and a mark that it carries; the two are one
        cluster and stay together here.
        """
        breaks = _line_breaks()
        breaks.setText(self.text)
        ends, forced = [], []
        for offset in breaks:
            ends.append(offset)
            forced.append(breaks.getRuleStatus() >= _HARD)
        ends, whole = self._points(ends), self._cluster_ends
        return tuple(
            (end, hard)
            for end, hard in zip(ends, forced, strict=True)
            if whole is None or end in whole
        )

    @cached_property
    def _cluster_ends(self) -> frozenset[int] | None:
        """Where clusters end, None where every character is a cluster."""
        if all(c < _FIRST_NOT_LATIN for c in self.text):
            return None
        return frozenset(end for _, end in self.clusters)

    @cached_property
    def clusters(self) -> tuple[Span, ...]:
        """Grapheme clusters: what a reader takes for one letter or picture."""
        if self.text.isascii() and "\r" not in self.text:
            return tuple((i, i + 1) for i in range(len(self.text)))
        breaks = _cluster_breaks()
        breaks.setText(self.text)
        ends = self._points(list(breaks))
        return tuple(zip([0, *ends], ends, strict=False))

    @cached_property
    def scripts(self) -> tuple[str, ...]:
        """ISO 15924 code of every character; common ones take their neighbour's.

        A cluster has the script of its base, whatever marks it carries; a closing
        bracket has that of its opening one (UAX #24, section 5.2).
        """
        if all(c < _FIRST_NOT_LATIN for c in self.text):
            return ("Latn",) * len(self.text)
        bases = [self._base_script(start, end) for start, end in self.clusters]
        resolved = _resolved(bases, [self.text[start] for start, _ in self.clusters])
        return tuple(
            code
            for code, (start, end) in zip(resolved, self.clusters, strict=True)
            for _ in range(start, end)
        )

    def _base_script(self, start: int, end: int) -> str:
        """Script of the first character of a cluster that has one of its own."""
        codes = [icu.Script.getScript(ord(c)).getShortName() for c in self.text[start:end]]
        return next((code for code in codes if code not in _NEUTRAL), str(codes[0]))

    @cached_property
    def is_plain(self) -> bool:
        """Whether one shaping run will do: Latin letters and signs, left to right."""
        return self._bidi is None and all(c < _FIRST_NOT_LATIN for c in self.text)

    def visual_runs(self, start: int, end: int) -> tuple[VisualRun, ...]:
        """Runs of one line, from left to right (UAX #9 rules L1 and L2).

        A cluster has one level, that of its first character: the algorithm gives spaces
        and invisible characters at a line's end another than the letters before them.
        """
        if start == end:
            return ()
        if self._bidi is None:
            return (VisualRun(start, end, 0),)
        known = self._cache.get((start, end))
        if known is None:
            levels = self._levels(start, end)
            cuts = [0, *(i for i in range(1, end - start) if levels[i] != levels[i - 1])]
            runs = [
                VisualRun(start + a, start + b, levels[a])
                for a, b in zip(cuts, [*cuts[1:], end - start], strict=True)
            ]
            known = self._cache[start, end] = tuple(_reordered(runs))
        return known

    def _levels(self, start: int, end: int) -> list[int]:
        """Level of every character of a line."""
        assert self._bidi is not None
        first, last = self._offset(start), self._offset(end)
        of_units = self._bidi.setLine(first, last).getLevels()
        units = self._units or range(last + 1)
        levels = [0] * (end - start)
        for at, level in enumerate(of_units, first):
            levels[units[at] - start] = level
        for i in range(start + 1, end):
            if self._cluster_ends is not None and i not in self._cluster_ends:
                levels[i - start] = levels[i - start - 1]
        return levels


def _reordered(runs: list[VisualRun]) -> list[VisualRun]:
    """Put runs in the order in which they are seen (UAX #9, rule L2)."""
    for level in range(max(run.level for run in runs), 0, -1):
        start = 0
        for reach, group in groupby(list(runs), key=lambda run: run.level >= level):
            end = start + len(list(group))
            if reach:
                runs[start:end] = reversed(runs[start:end])
            start = end
    return runs


@lru_cache(maxsize=1)
def _line_breaks() -> icu.BreakIterator:
    """Make the iterator once: that takes longer than most texts."""
    return icu.BreakIterator.createLineInstance(icu.Locale.getRoot())


@lru_cache(maxsize=1)
def _cluster_breaks() -> icu.BreakIterator:
    return icu.BreakIterator.createCharacterInstance(icu.Locale.getRoot())


_HARD = 100
"""ICU's UBRK_LINE_HARD: the break is one that the text itself asks for."""
_NEUTRAL = frozenset({"Zyyy", "Zinh", "Zzzz"})
_BRACKET_TYPE = icu.UProperty.BIDI_PAIRED_BRACKET_TYPE


_OPENS, _CLOSES = 1, 2
"""Values of Bidi_Paired_Bracket_Type, as ICU numbers them."""


def _resolved(codes: list[str], letters: list[str]) -> list[str]:
    """Give neutral clusters the script before them, or the first one that follows.

    `letters` are the first characters of the clusters: brackets are told by them.
    """
    last = next((c for c in codes if c not in _NEUTRAL), "Latn")
    waiting: list[tuple[str, str]] = []
    for i, (code, letter) in enumerate(zip(codes, letters, strict=True)):
        if code not in _NEUTRAL:
            last = code
            continue
        codes[i] = last
        kind = icu.Char.getIntPropertyValue(ord(letter), _BRACKET_TYPE)
        if kind == _OPENS:
            waiting.append((chr(icu.Char.getBidiPairedBracket(ord(letter))), last))
        elif kind == _CLOSES:
            places = (n for n, (closing, _) in enumerate(waiting) if closing == letter)
            at = max(places, default=None)
            if at is not None:
                codes[i] = last = waiting[at][1]
                del waiting[at:]
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


def scripts_of(text: str) -> frozenset[str]:
    """Give the scripts of a text's letters, by their names in Unicode.

    >>> sorted(scripts_of("Maria и 7"))
    ['Cyrillic', 'Latin']
    """
    names = {icu.Script.getScript(c).getName() for c in text if c.isalpha()}
    return frozenset(names - {"Common", "Inherited"})


def cased(text: str, case: str, language: str = "") -> str:
    """Write a text in capitals ("upper") or small letters ("lower"), as a language does.

    Unicode 16.0, section 3.13, with the rules for Turkish, Lithuanian and others in CLDR;
    any other `case` leaves it as it is.

    >>> cased("Straße", "upper"), cased("İpek", "lower", "tr"), cased("Zoë", "")
    ('STRASSE', 'ipek', 'Zoë')
    """
    if case not in ("upper", "lower"):
        return text
    told = icu.UnicodeString(text)
    locale = icu.Locale(language or "root")
    return str(told.toUpper(locale) if case == "upper" else told.toLower(locale))


_FIRST_STACKED = "\u01d5"
"""The first letter that has two marks: a u with diaeresis and macron."""
_BELOW, _ABOVE = 220, 230
"""Combining classes of marks that stand clear of their letter (UAX #44, table 15)."""


def has_stacked_accents(text: str) -> bool:
    """Whether some letter carries two marks on one side, as in Vietnamese.

    One mark above and one below reach no further than either alone.

    >>> [has_stacked_accents(name) for name in ("Nguyễn", "Zoë Ngô", "Việt")]
    [True, False, False]
    """
    if all(c < _FIRST_STACKED for c in text):
        return False
    last = 0
    for c in str(icu.Normalizer2.getNFDInstance().normalize(text)):
        mark = icu.Char.getCombiningClass(ord(c))
        if mark == last and mark in (_BELOW, _ABOVE):
            return True
        last = mark
    return False


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
