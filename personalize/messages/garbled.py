"""Words whose letters of several bytes were each read as several letters.

UTF-8 read with an older table makes two or three letters of each letter beyond ASCII.
Going the way back is a guess, and is only made where all of it succeeds and makes words.
"""

import re
import unicodedata
from functools import cache

# With which tables programs read UTF-8 by mistake, the commonest first (common practice,
# no source).
_TABLES = ("cp1252", "mac_roman", "cp1250", "cp1251", "cp1254", "cp437", "cp850")
_DEPTH = 3
"""How often a text may have been read wrongly, one time after the other. Judgement."""

_LONGEST = 3000
"""Letters of a text without spaces that is looked at. Judgement: a page of Chinese."""

# RFC 3629, section 4: the first bytes of letters of two to four bytes, and the next ones.
# Left out are rare signs (0xC7-0xCD and 0xD2-0xD5, from Latin Extended-B to Armenian),
# whose bytes look like quote marks before a letter: l’été.
_RARE = (*range(0xC7, 0xCE), *range(0xD2, 0xD6))
_FIRST = bytes(code for code in range(0xC2, 0xF1) if code not in _RARE)
_NEXT = bytes(range(0x80, 0xC0))
_TOKEN = re.compile(r"[^ \t\n]*[^\x00-\x7f][^ \t\n]*")

# Capitals before these, at the end of a quotation, are no letter of two bytes.
_CAPITAL_TAILS = "’‘“”…–—»›"
_SIGNS = "’‘“”„‚–—…«»€£§©®°·•™¿¡ªº\u00a0"
_SCRIPTS = frozenset(
    {"LATIN", "CYRILLIC", "GREEK", "HEBREW", "ARABIC", "GEORGIAN", "THAI", "DEVANAGARI",
     "BENGALI", "TAMIL", "CJK", "HIRAGANA", "KATAKANA", "HANGUL"}
)  # fmt: skip
_JAPANESE = frozenset({"CJK", "HIRAGANA", "KATAKANA"})
_MARKED = frozenset({"HEBREW", "ARABIC", "THAI", "DEVANAGARI", "BENGALI", "TAMIL"})


def may_be_garbled(text: str) -> bool:
    """Tell quickly whether `guess_of` has anything to look at in a text."""
    return _PAIR.search(text) is not None


def guess_of(text: str) -> str | None:
    """Guess what a text was before it was read with a wrong table; None for no guess.

    >>> guess_of("Zo\u00c3\u00ab and Zo\u00eb"), guess_of("Zo\u00eb")
    ('Zoë and Zoë', None)
    """
    if text.isascii() or not may_be_garbled(text):
        return None
    made = _TOKEN.sub(lambda found: _word(found[0]), text)
    return made if made != text else None


def _word(word: str) -> str:
    if len(word) > _LONGEST:
        return word
    for _ in range(_DEPTH):
        back = next(filter(None, (_back(word, table) for table in _TABLES)), None)
        if back is None:
            break
        word = back
    return word


def _back(word: str, table: str) -> str | None:
    """Write a word with a table and read it as UTF-8, if that makes a word."""
    try:
        made = word.translate(_as_bytes(table)).encode("latin-1").decode("utf-8")
    except UnicodeError:
        return None
    return made if made != word and _is_word(word, made) else None


@cache
def _as_bytes(table: str) -> dict[int, int]:
    """Give the byte of each letter of a table.

    A byte without a letter passes as its control code, as in the WHATWG Encoding Standard
    (cp1252 has five), and so do those of Latin-1; any other letter has no byte.
    """
    found = {code: code for code in range(0x80, 0xA0)}
    # Letters of Latin-1 that the table has elsewhere, or not at all, must not pass.
    found |= dict.fromkeys(range(0xA0, 0x100), 0x100)
    for byte in range(0x80, 0x100):
        letter = bytes([byte]).decode(table, "ignore")
        if letter:
            found[ord(letter)] = byte
    return found


def _is_word(word: str, made: str) -> bool:
    """Tell whether what was made is a word, and so the word before is none."""
    if word.isupper() and any(sign in _CAPITAL_TAILS for sign in word):
        return False
    scripts = {_script(c) for c in made if c.isalpha()}
    one = len(scripts) <= 1 or scripts <= _JAPANESE
    return one and all(
        c <= "\x7f"
        or c in _SIGNS
        or (c.isalpha() and _script(c) in _SCRIPTS)
        or (unicodedata.category(c)[0] == "M" and scripts <= _MARKED)
        # Emoji.
        or (c > "\u2000" and unicodedata.category(c) in {"So", "Sk"})
        or c in "\ufe0f\u200d"
        for c in made
    )


@cache
def _script(letter: str) -> str:
    return unicodedata.name(letter, "?").partition(" ")[0]


def _class(codes: bytes) -> str:
    """Write a regular expression for what some bytes look like in any table."""
    made = {chr(code) for code in codes if code < 0xA0}
    for table in _TABLES:
        made |= set(codes.decode(table, "ignore"))
    return "[" + "".join(re.escape(letter) for letter in sorted(made)) + "]"


_PAIR = re.compile(_class(_FIRST) + _class(_NEXT))
