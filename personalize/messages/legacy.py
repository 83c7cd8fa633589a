"""Guess which older encoding a text has, by the words that come out.

Nothing in such a file tells its encoding, so this is evidence, not knowledge: each table
of letters that gives no control codes is tried, and the words it makes are weighed by the
letters of some forty languages, by common given names, by capitals and small letters, by
vowels and consonants, and by where quote marks and other signs may stand. The signs of
Chinese, Japanese and Korean are weighed by how common they are.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from personalize.messages.alphabets import (
    WEIGHTS,
    WIDE,
    Logs,
    away_logs,
    letter_logs,
    script_of,
    turn_log,
    wide_log,
)
from personalize.messages.known_names import KNOWN

# How often a list that is not UTF-8 has each encoding. Judgement.
_TABLES = {
    "cp1252": 0.5,
    "cp1250": 0.12,
    "cp1251": 0.12,
    "cp1254": 0.05,
    "mac_roman": 0.05,
    "cp1253": 0.04,
    "cp1255": 0.03,
    "cp1256": 0.03,
    "cp1257": 0.03,
    "iso8859-2": 0.03,
    "cp850": 0.03,
    "iso8859-15": 0.02,
    "cp852": 0.02,
    "koi8-r": 0.02,
    "koi8-u": 0.01,
    "cp866": 0.02,
    "cp437": 0.015,
    "mac_cyrillic": 0.01,
    "mac_latin2": 0.003,
    "iso8859-7": 0.01,
    "iso8859-9": 0.01,
    "cp857": 0.003,
    "cp874": 0.01,
    "iso8859-5": 0.005,
    "iso8859-8": 0.005,
    "iso8859-6": 0.005,
    "mac_turkish": 0.002,
    "mac_greek": 0.005,
    **dict.fromkeys(WIDE, 0.02),
}
_HOME = {
    "cp1250": "central",
    "iso8859-2": "central",
    "cp852": "central",
    "mac_latin2": "central",
    "cp1257": "baltic",
    "cp1254": "turkish",
    "iso8859-9": "turkish",
    "cp857": "turkish",
    "mac_turkish": "turkish",
}
"""Whom a table was made for, if not for the west of Europe."""
_MAC_LINE_ENDS = 30
"""How much likelier a Mac table is where lines end in CR alone. Judgement."""

# Words, cut where no table has a part of a letter, with the sign before and after them.
# The start is looked for backwards: a search for it would be slow in a long word.
_TAIL = re.compile(rb"[\x80-\xff][\x40-\xff]*[\x20-\x3f]?")
_START = re.compile(rb"[\x20-\x3f]?[\x40-\x7f]*\Z")
_WORD = re.compile(r"[^\W\d_]+")
_MOST_TOKENS = 500
_WINDOWS, _WINDOW = 20, 20_000
"""Of a file past 400 kB, twenty parts are looked at: words enough by far."""
_LONGEST = 90
"""Bytes of a word that are looked at: thirty signs of a Chinese sentence. Judgement."""
_ROUNDS = 3
CLEAR = 4.0
"""The best table is clear where it is e**4 = 55 times likelier than the next. Judgement."""
_LEAST = -11.0
"""Least log of the likelihood of a byte: under it no table makes words. Judgement, from
Chinese, Japanese and Korean texts and random bytes, which lie under it."""

_NAME = float(np.log(20))
"""How much likelier a table is that makes a common given name of a word. Judgement."""
_NO_TEXT = ("Cc", "Cn", "Co")
_CASE = float(np.log(1e-3))
_MIXED = float(np.log(1e-3))
_OPENING, _CLOSING = "“„‘‚«‹¿¡", "”’»›"
_LIKELY, _RARE, _UNLIKELY, _ABSURD = (float(np.log(p)) for p in (5e-3, 5e-4, 1e-5, 1e-8))


@dataclass(frozen=True, slots=True)
class Guess:
    """An encoding, with words that it makes of the bytes beyond ASCII."""

    encoding: str
    words: tuple[str, ...]


def guesses(data: bytes) -> tuple[Guess, ...]:
    """Give the likeliest encoding, then others that are not clearly unlikelier.

    The words of each are those in which it differs from the first one. Empty where no
    table makes words.
    """
    tokens = _tokens(data)
    high = bytes(byte for byte in set(data) if byte >= 0x80)
    size = sum(byte >= 0x80 for token in tokens for byte in token)
    mac = b"\r" in data and b"\n" not in data
    scores: dict[str, float] = {}
    texts: dict[str, list[str]] = {}
    for name, weight in _TABLES.items():
        made = _texts(high, tokens, name)
        if made is None or made in texts.values():
            continue
        texts[name] = made
        weight *= _MAC_LINE_ENDS if mac and name.startswith("mac_") else 1
        score = _wide_score(made, name) if name in WIDE else _score(made, name)
        scores[name] = float(np.log(weight)) + score
    ranked = sorted(scores, key=lambda name: -scores[name])
    ranked = [name for name in ranked if name not in WIDE or _decodes(data, name)]
    if not ranked or scores[ranked[0]] < _LEAST * (size + 1):
        return ()
    best = ranked[0]
    found = [Guess(best, tuple(_words(texts[best])))]
    for name in ranked[1:]:
        if scores[name] > scores[best] - CLEAR:
            pairs = zip(texts[name], texts[best], strict=True)
            found.append(Guess(name, tuple(_words([a for a, b in pairs if a != b]))))
    return tuple(found)


def _decodes(data: bytes, name: str) -> bool:
    try:
        data.decode(name)
    except UnicodeDecodeError:
        return False
    return True


def _tokens(data: bytes) -> list[bytes]:
    """Pick words with bytes beyond ASCII, each with the sign before and after it."""
    parts = [data]
    if len(data) > _WINDOWS * _WINDOW:
        starts = range(0, len(data), len(data) // _WINDOWS)
        parts = [data[at : at + _WINDOW] for at in starts]
        if all(part.isascii() for part in parts):
            parts = [data]
    found = [token for part in parts for token in _tokens_of(part)]
    tokens = list(dict.fromkeys(found))
    step = max(1, len(tokens) // _MOST_TOKENS)
    return tokens[::step]


def _tokens_of(data: bytes) -> Iterator[bytes]:
    for tail in _TAIL.finditer(data):
        start = _START.search(data[max(0, tail.start() - _LONGEST) : tail.start()])
        yield ((start[0] if start else b"") + tail[0])[:_LONGEST]


def _texts(high: bytes, tokens: list[bytes], name: str) -> list[str] | None:
    """Read the tokens with a table; None where it has no letter for a byte of the file."""
    # Bytes that a table has no letter for bar it; one of several bytes has no such table.
    try:
        signs = high.decode(name) if name not in WIDE else b"".join(tokens).decode(name)
    except UnicodeDecodeError:
        return None
    if any(unicodedata.category(s) in _NO_TEXT for s in set(signs) if s > "\x7f"):
        return None
    # A word may be cut inside a letter of several bytes, which is then not common.
    return [token.decode(name, "replace") for token in tokens]


def _words(texts: list[str]) -> list[str]:
    """Choose two words to show: those with letters beyond ASCII, the longest first seen."""
    bare = [re.sub(r"^[^\w“„‘«]+|[^\w”“’»]+$", "", text) for text in texts]
    good = [word for word in bare if any(c.isalpha() and c > "\x7f" for c in word)]
    long = [word for word in good if len(word) > 3]
    return list(dict.fromkeys([*long, *good] or [text.strip() for text in texts]))[:2]


def _score(texts: list[str], name: str) -> float:
    """Weigh the words of one table: logs of likelihoods over a mixture of languages."""
    # Where words open with a low mark, they close with what opens them elsewhere.
    low = any("„" in text or "‚" in text for text in texts)
    closing = _CLOSING + "“‘" * low
    logs = np.array([_token_logs(text, closing) for text in texts])
    now = WEIGHTS
    prior = np.exp(WEIGHTS)
    for _ in range(_ROUNDS):
        # The words of a list speak for each other's language.
        joint = logs + now
        best = joint.max(axis=1, keepdims=True)
        shares = np.exp(joint - best)
        shares /= shares.sum(axis=1, keepdims=True)
        now = np.log((shares.sum(axis=0) + 2 * prior) / (len(texts) + 2 * prior.sum()))
    joint = logs + now
    best = joint.max(axis=1)
    total = (best + np.log(np.exp(joint - best[:, None]).sum(axis=1))).sum()
    named = sum(any(w in KNOWN for w in _WORD.findall(t.casefold())) for t in texts)
    # Once for the file: its languages are at home in this table, or are not.
    return float(total + named * _NAME + np.exp(now) @ away_logs(_HOME.get(name, "west")))


def _wide_score(texts: list[str], name: str) -> float:
    total = 0.0
    for text in texts:
        for before, sign in zip(" " + text, text, strict=False):
            total += wide_log(sign, name) if sign != "\ufffd" else _ABSURD
            # Latin letters touch such signs when half of a letter was taken for one.
            if (before.isalpha() and sign.isalpha()) and (before < "\x80") != (
                sign < "\x80"
            ):
                total += _MIXED
    return total


def _token_logs(text: str, closing: str) -> Logs:
    total = np.zeros_like(WEIGHTS)
    for i, sign in enumerate(text):
        if sign > "\x7f":
            before, after = text[i - 1 : i], text[i + 1 : i + 2]
            if unicodedata.category(sign)[0] in "LM" and sign not in "ªº":
                # The lower case of the dotted capital is two characters.
                small = "ı" if sign == "İ" else sign.lower()
                total += letter_logs(small)
                total += turn_log(before.lower()[:1], small, after.lower()[:1])
                total += _case_log(text, i) + _script_log(sign, before, after)
            else:
                total += _sign_log(sign, before, after, closing)
    return total


def _case_log(text: str, at: int) -> float:
    """Weigh capitals: one inside a word of small letters, or the reverse, is unlikely."""
    sign = text[at]
    rest = [
        c for i, c in enumerate(text) if i != at and c.isalpha() and c.lower() != c.upper()
    ]
    if sign.lower() == sign.upper() or not rest:
        return 0.0
    first = not text[at - 1 : at].isalpha() if at else True
    if sign.isupper():
        odd = not first and not all(c.isupper() for c in rest)
        lone = first and text[at + 1 : at + 2].isupper() and any(c.islower() for c in rest)
        return _CASE if odd or lone else 0.0
    return _CASE if len(rest) > 1 and all(c.isupper() for c in rest) else 0.0


def _script_log(sign: str, before: str, after: str) -> float:
    script = script_of(sign)
    return sum(_MIXED for c in (before, after) if c.isalpha() and script_of(c) != script)


def _sign_log(sign: str, before: str, after: str, closing: str) -> float:
    """Weigh a sign that is no letter by what stands beside it."""
    inside = before.isalpha() and after.isalpha()
    if sign == "’" and before.isalpha():
        return _LIKELY
    if sign in _OPENING and not before.isalnum() and after.isalnum():
        return _LIKELY
    if sign in closing:
        return _LIKELY if not after.isalnum() and before.strip() else _UNLIKELY
    if sign in _OPENING or inside:
        return _RARE if sign in "–·\u00ad\u00a0" else _ABSURD
    if sign in "–—…\u00a0":
        return _LIKELY
    if sign in "ªº°²³½¼¾" and (before.isdigit() or not before.isalpha()):
        return _RARE
    if sign in "€£§©®™•·×µ" and not after.isalpha():
        return _RARE if not before.isalpha() or sign in "®™" else _UNLIKELY
    if sign in "€£§©•·×¢¥±÷¶†" and not before.isalpha():
        return _RARE
    return _ABSURD
