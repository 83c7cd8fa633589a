"""Hyphenation: places within long words where a line may end with a hyphen.

The only module that uses pyphen, for the dictionaries of patterns that it carries. Only
designs that ask for it come here; names are never broken unless a maker wants that.
"""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import pyphen

from personalize.type.itemise import SOFT_HYPHEN, BreakKind, Segment

LEAST_BEFORE, LEAST_AFTER = 2, 3
"""Letters that stay on either side of a hyphen, where a dictionary asks for no more."""
_WORD = re.compile(r"[^\W\d_]+")
_UNWANTED = frozenset({"as", "kn", "mr", "or", "pa", "sa", "te", "th"})
"""Languages of India and Thai: their vowel signs are marks, and hyphens are not at home in
them. Latin, Greek and Cyrillic letters are what this serves."""


def has_dictionary(language: str) -> bool:
    """Whether words of a language (a BCP 47 tag) can be hyphenated.

    >>> has_dictionary("de-AT"), has_dictionary("zh"), has_dictionary("")
    (True, False, False)
    """
    return _known(language) is not None


def hyphenated(
    segments: tuple[Segment, ...], text: str, typed: str, language: str
) -> tuple[Segment, ...]:
    """Cut segments further, within their words.

    `typed` is the text as the cell has it, where `text` may be in capitals: patterns and
    the rule for capitals go by it, and where the two differ in length nothing is cut.
    Words with a soft hyphen are left as their writer wanted them.
    """
    if len(typed) != len(text) or not has_dictionary(language):
        return segments
    out: list[Segment] = []
    for segment, by_hand in zip(segments, _by_hand(segments), strict=True):
        start = segment.start
        if not by_hand:
            for point in _points(typed[segment.start : segment.end], language):
                out.append(Segment(start, segment.start + point, BreakKind.SYLLABLE))
                start = segment.start + point
        out.append(Segment(start, segment.end, segment.kind))
    return tuple(out)


def _by_hand(segments: tuple[Segment, ...]) -> list[bool]:
    """Whether each segment is part of a word with a soft hyphen."""
    soft = [segment.kind is BreakKind.SOFT_HYPHEN for segment in segments]
    return [one or before for one, before in zip(soft, [False, *soft], strict=False)]


def _points(part: str, language: str) -> list[int]:
    """Where the words of a segment may be cut; nowhere where accents stand apart."""
    if SOFT_HYPHEN in part or any(map(unicodedata.combining, part)):
        return []
    return [
        word.start() + point
        for word in _WORD.finditer(part)
        for point in _points_of(word[0], language)
    ]


@lru_cache(maxsize=4096)
def _points_of(word: str, language: str) -> tuple[int, ...]:
    """Where one word may be cut; nowhere in a word with capitals inside."""
    if any(c.isupper() for c in word[1:]):
        return ()
    name = _known(language)
    assert name is not None
    return tuple(_dictionary(name).points(word))


def _known(language: str) -> str | None:
    """Name of the dictionary of a language, or None."""
    if not language or language.split("-")[0].lower() in _UNWANTED:
        return None
    found = pyphen.language_fallback(language)
    return None if found is None else str(found)


# Dictionaries ---------------------------------------------------------------------------

Patterns = Mapping[str, tuple[int, ...]]
"""Letters with a value before each and after the last: odd ones allow a break. The
beginnings of patterns are there too, without values."""


@dataclass(frozen=True, slots=True)
class Dictionary:
    """Patterns of a language (F. M. Liang, "Word Hy-phen-a-tion by Com-put-er", 1983).

    Some have two levels: the first cuts compounds into their parts, and the second works
    on each part alone. pyphen's own reader takes both for one, so its files are read here.
    """

    compounds: Patterns
    """Empty where there is one level only."""
    syllables: Patterns
    before: int
    after: int
    """Letters that stay on either side of a break."""
    joint_before: int
    joint_after: int
    """Letters that stay between a break and the joint of a compound."""

    def points(self, word: str) -> list[int]:
        """Where a word may be cut."""
        low = word.lower()
        if len(low) != len(word):
            return []
        joints = _odd(low, self.compounds)
        points = {*joints}
        for start, end in pairwise([0, *joints, len(low)]):
            first = self.joint_before if start else 1
            last = end - start - (self.joint_after if end < len(low) else 1)
            inside = _odd(low[start:end], self.syllables)
            points |= {start + point for point in inside if first <= point <= last}
        return sorted(p for p in points if self.before <= p <= len(word) - self.after)


def _odd(word: str, patterns: Patterns) -> list[int]:
    """Where patterns allow a break in a word.

    The dictionaries are made for libhyphen, whose automaton knows, after each letter, only
    the longest beginning of a pattern that ends there; shorter patterns in it are not
    met. Taking all that occur, as Liang did, breaks some words wrongly ("Rha-ba-r-ber").
    """
    dotted = f".{word}."
    values = [0] * (len(dotted) + 1)
    reached = ""
    for end, letter in enumerate(dotted, 1):
        reached += letter
        while reached and reached not in patterns:
            reached = reached[1:]
        for at, value in enumerate(patterns.get(reached, ()), end - len(reached)):
            values[at] = max(values[at], value)
    return [at - 1 for at in range(2, len(dotted) - 1) if values[at] % 2]


@lru_cache(maxsize=8)
def _dictionary(name: str) -> Dictionary:
    """Read a dictionary file (hunspell's hyphen library describes the form)."""
    encoding, _, rest = Path(pyphen.LANGUAGES[name]).read_bytes().partition(b"\n")
    codec = encoding.decode("ascii").strip().lower().removeprefix("microsoft-")
    first, _, second = rest.decode(codec).replace("\r", "").partition("\nNEXTLEVEL")
    levels = [_patterns(part.split("\n")) for part in (first, second)]
    if not levels[1]:
        levels = [{}, levels[0]]
    return Dictionary(
        compounds=levels[0],
        syllables=levels[1],
        before=max(LEAST_BEFORE, _least("LEFT", first)),
        after=max(LEAST_AFTER, _least("RIGHT", first)),
        joint_before=_least("COMPOUNDLEFT", first),
        joint_after=_least("COMPOUNDRIGHT", first),
    )


def _least(side: str, orders: str) -> int:
    """Letters that a dictionary asks to be kept on a side, 1 where it does not say."""
    found = re.search(rf"^{side}HYPHENMIN (\d+)", orders, re.MULTILINE)
    return int(found[1]) if found else 1


_ORDER = re.compile(r"[%#]|[A-Z]+HYPHEN|NEXTLEVEL|NOHYPHEN")
_CODE = re.compile(r"\^\^([0-9a-f]{2})")


def _patterns(lines: list[str]) -> Patterns:
    """Read patterns such as "a1b2c"; a line may also hold an order or a remark.

    Where the spelling would change at a break ("/" and what would be written) an odd
    value is made even: the break is forbidden, for letters are never touched.
    """
    out: dict[str, tuple[int, ...]] = {}
    for line in map(str.strip, lines):
        if not line or _ORDER.match(line):
            continue
        told = _CODE.sub(lambda code: chr(int(code[1], 16)), line)
        pattern, _, change = told.partition("/")
        letters = re.sub(r"\d", "", pattern)
        values = [int(value or 0) for value in re.split(r"\D", pattern)]
        if change:
            values = [value + value % 2 for value in values]
        for end in range(1, len(letters)):
            out.setdefault(letters[:end], ())
        out[letters] = tuple(values)
    return out
