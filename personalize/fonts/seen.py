"""Which characters leave ink, and which of them are set over or under a letter."""

import unicodedata

_BLANK = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0") | frozenset(
    map(chr, (*range(0x180B, 0x1810), *range(0xFE00, 0xFE10), *range(0xE0100, 0xE01F0)))
)
"""Letters and marks that Unicode lets be blank: fillers, joiners, selectors of variants
(Default_Ignorable_Code_Point, UAX #44), and the empty Braille cell."""


def is_seen(character: str) -> bool:
    """Whether a character should leave ink: no space, no control, no invisible sign."""
    kind = unicodedata.category(character)
    return kind[0] not in "ZC" and character not in _BLANK and character.isprintable()


def is_mark(character: str) -> bool:
    """Whether a character is set over, under or through its letter.

    Canonical combining classes from 10 up (UAX #44, table 15); signs of Indic scripts
    have lower ones and may well stand beside their letter.
    """
    return unicodedata.combining(character) >= 10
