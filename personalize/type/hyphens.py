"""Hyphenation: places within long words where a line may end with a hyphen.

The only module that uses pyphen, with the dictionaries of patterns that it carries. Only
designs that ask for it come here; names are never broken unless a maker wants that.
"""

import re
import unicodedata
from functools import lru_cache
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
    """Where one word may be cut; nowhere in a word with capitals inside.

    Places where the spelling would change with the break (as in some Hungarian words)
    are left out: letters are never touched.
    """
    if any(c.isupper() for c in word[1:]):
        return ()
    name = _known(language)
    assert name is not None
    before, after = _least(name)
    return tuple(
        int(point)
        for point in _dictionary(name).positions(word)
        if before <= point <= len(word) - after and getattr(point, "data", None) is None
    )


def _known(language: str) -> str | None:
    """Name of the dictionary of a language, or None."""
    if not language or language.split("-")[0].lower() in _UNWANTED:
        return None
    found = pyphen.language_fallback(language)
    return None if found is None else str(found)


@lru_cache(maxsize=8)
def _dictionary(name: str) -> pyphen.Pyphen:
    return pyphen.Pyphen(lang=name, left=1, right=1)


@lru_cache(maxsize=8)
def _least(name: str) -> tuple[int, int]:
    """Letters that a dictionary keeps before and after a hyphen, and ours at least."""
    head = Path(pyphen.LANGUAGES[name]).read_bytes()[:4000].decode("ascii", "ignore")
    found = re.search(r"^LEFTHYPHENMIN (\d+)", head, re.MULTILINE)
    before = int(found[1]) if found else 0
    found = re.search(r"^RIGHTHYPHENMIN (\d+)", head, re.MULTILINE)
    after = int(found[1]) if found else 0
    return max(before, LEAST_BEFORE), max(after, LEAST_AFTER)
