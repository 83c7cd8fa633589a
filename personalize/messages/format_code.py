"""Take a number format code apart: ECMA-376 part 1, section 18.8.31.

A code has up to four sections, for positive numbers, negative ones, zero and text. Each is
cut into tokens here; what they make of a value is told in `number_format` and `dates`.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache

from personalize.messages.seen import UnseenError


class Kind(StrEnum):
    """What a token of a section is."""

    WORDS = "words"
    """Shown as it stands."""
    GAP = "gap"
    """Room as wide as some sign, shown as a space."""
    GENERAL = "general"
    FIGURE = "figure"
    """``0``, ``#`` or ``?``: a place for a figure."""
    NUMBER = "number"
    """1 to 9, which only the lower part of a fraction may hold."""
    POINT = "point"
    COMMA = "comma"
    PERCENT = "percent"
    SLASH = "slash"
    POWER = "power"
    """``E+`` or ``E-``."""
    DATE = "date"
    """A run of one of the letters y, m, d, h, s, in lower case."""
    ELAPSED = "elapsed"
    """The same of h, m, s in brackets: hours, minutes, seconds beyond a day."""
    HALF = "half"
    """AM/PM."""
    TEXT = "text"
    """``@``: the text of the cell."""


@dataclass(frozen=True, slots=True)
class Token:
    """One token of a section."""

    kind: Kind
    text: str


@dataclass(frozen=True, slots=True)
class Condition:
    """Which numbers a section is for, such as ``[<100]``."""

    sign: str
    limit: Decimal

    def holds(self, number: Decimal) -> bool:
        """Say whether the section is for this number."""
        below, same = number < self.limit, number == self.limit
        return (below and "<" in self.sign) or (
            (not below and not same and ">" in self.sign) or (same and "=" in self.sign)
        )


@dataclass(frozen=True, slots=True)
class Section:
    """One section of a code."""

    tokens: tuple[Token, ...]
    condition: Condition | None = None
    language: str | None = None
    """Name (``de-DE``) or number (``407``, hexadecimal) of the language, in lower case."""
    odd: str = ""
    """What in it cannot be applied."""

    def has(self, *kinds: Kind) -> bool:
        """Say whether there is a token of one of these kinds."""
        return any(token.kind in kinds for token in self.tokens)

    def tokens_are(self, *kinds: Kind) -> bool:
        """Say whether all tokens are of these kinds."""
        return all(token.kind in kinds for token in self.tokens)

    @property
    def is_date(self) -> bool:
        """Say whether it makes a date or a time of a number."""
        return self.has(Kind.DATE, Kind.ELAPSED, Kind.HALF)


SYSTEM_DATE, SYSTEM_TIME = "x-sysdate", "x-systime"
"""Languages that stand for whatever format the computer has for dates, times."""

_TOKEN = re.compile(
    r"""
    "(?P<words>[^"]*)" | \\(?P<escaped>.)
    | _(?P<gap>.) | \*(?P<fill>.) | \[(?P<bracket>[^\[\]]*)\]
    | (?P<general>General) | (?P<half>AM/PM) | (?P<power>E[+-])
    | (?P<date>(?i:y+|m+|d+|h+|s+))
    | (?P<figure>[0\#?]) | (?P<number>[1-9])
    | (?P<point>\.) | (?P<comma>,) | (?P<percent>%) | (?P<slash>/) | (?P<text>@)
    | (?P<end>;) | (?P<blank>\ ) | (?P<plain>[-$+():!^&'~{}<>=]|[^\x00-\x7f])
    """,
    re.VERBOSE | re.DOTALL,
)
"""The signs that are shown without quotes are those of the section named above; signs
beyond ASCII, such as that of the euro, are shown too (common practice, no source)."""

_COLOUR = re.compile(r"black|blue|cyan|green|magenta|red|white|yellow|color ?\d{1,2}", re.I)
_CONDITION = re.compile(r"(<=|>=|<>|<|>|=)\s*(-?\d+(?:\.\d+)?)")
_ELAPSED = re.compile(r"h+|m+|s+", re.I)
_NUMBERED = re.compile(r"[0-9A-F]{1,8}", re.I)
_SYSTEM = {"f800": SYSTEM_DATE, "f400": SYSTEM_TIME}
_MOST_SECTIONS = 4


@lru_cache(maxsize=1024)
def sections_of(code: str) -> tuple[Section, ...]:
    """Cut a code into its sections.

    >>> [len(section.tokens) for section in sections_of("0.00;[Red]-0.00;;@")]
    [4, 5, 0, 1]
    """
    parts: list[list[str | re.Match[str]]] = [[]]
    at = 0
    while at < len(code):
        match = _TOKEN.match(code, at)
        if match is not None and match["end"]:
            parts.append([])
        else:
            parts[-1].append(code[at] if match is None else match)
        at = at + 1 if match is None else match.end()
    return tuple(_section(part) for part in parts)


def _section(matches: Sequence[str | re.Match[str]]) -> Section:
    """Make a section of its tokens, and of letters that are none."""
    tokens: list[Token] = []
    condition, language, odd = None, None, ""
    for match in matches:
        token: Token | Condition | str | None = None
        if not isinstance(match, str):
            token = (
                _token(match) if match["bracket"] is None else _bracket(match["bracket"])
            )
        if isinstance(token, Token):
            tokens.append(token)
        elif isinstance(token, Condition):
            condition = token
        elif token is None:
            odd = odd or match[0]
        else:
            symbol, _, told = token.partition("-")
            tokens += [Token(Kind.WORDS, symbol)] if symbol else []
            language = (_language(told) if told else None) or language
            odd = odd or (match[0] if told and not _language(told) else "")
    return Section(tuple(tokens), condition, language, odd)


def _bracket(text: str) -> Token | Condition | str | None:
    """Read what is in brackets: words and a language come as they are, colours as none."""
    if found := _CONDITION.fullmatch(text):
        return Condition(found[1], Decimal(found[2]))
    if text.startswith("$"):
        return text[1:]
    if _ELAPSED.fullmatch(text):
        return Token(Kind.ELAPSED, text.lower())
    return "" if _COLOUR.fullmatch(text) else None


def number_section(code: str, number: Decimal) -> tuple[Section, bool]:
    """Find the section for a number, and whether a minus sign is put before it.

    Raises
    ------
    UnseenError
        Programs disagree about which it is, or something in it cannot be applied.
    """
    sections = sections_of(code)
    numeric = sections[:3] if len(sections) > 3 else _without_text(sections)
    if len(sections) > _MOST_SECTIONS:
        raise UnseenError("has more than four parts")
    if any(section.condition for section in numeric):
        section, minus = _by_condition(numeric, number), False
    elif number < 0 and len(numeric) > 1:
        section, minus = numeric[1], False
        if not section.tokens and len(sections) == len(numeric) == 2:
            raise UnseenError("shows negative numbers in a way that programs disagree on")
    else:
        section = numeric[2] if len(numeric) > 2 and not number else numeric[0]
        minus = number < 0
    if section.odd:
        raise UnseenError(f"has the part {section.odd!r}, which cannot be applied")
    return section, minus


@lru_cache(maxsize=1024)
def text_section(code: str) -> Section | None:
    """Find the section for a text; None where a text is shown as it is.

    It is the fourth one, or else the last one if it has an ``@``.
    """
    sections = sections_of(code)
    if len(sections) >= _MOST_SECTIONS:
        return sections[3]
    return sections[-1] if sections[-1].has(Kind.TEXT) else None


def _without_text(sections: Sequence[Section]) -> Sequence[Section]:
    """Leave out the last of fewer than four sections, if it is for text.

    Numbers look as in General where nothing else is left (common practice, no source).
    """
    if not sections[-1].has(Kind.TEXT):
        return sections
    return sections[:-1] or (Section((Token(Kind.GENERAL, ""),)),)


def _by_condition(sections: Sequence[Section], number: Decimal) -> Section:
    if number < 0:
        raise UnseenError("has conditions, and programs disagree about the minus sign")
    for at, section in enumerate(sections):
        if section.condition is not None:
            if section.condition.holds(number):
                return section
        elif at == len(sections) - 1:
            return section
        else:
            break
    raise UnseenError("has conditions that programs understand in different ways")


def _token(match: re.Match[str]) -> Token | None:
    """Make a token of a match; None where it cannot be applied."""
    kind, text = match.lastgroup or "", match[match.lastgroup or 0]
    if kind == "fill":
        # How often the sign is repeated depends on the width of the column. Spaces that
        # push a currency sign to the edge are no part of the words.
        return Token(Kind.WORDS, "") if text == " " else None
    if kind in {"words", "escaped", "plain"}:
        return Token(Kind.WORDS, text)
    if kind in {"gap", "blank"}:
        return Token(Kind.GAP, " ")
    return Token(Kind(kind), text.lower() if kind == "date" else text)


def _language(told: str) -> str | None:
    """Read a language, ``407`` or ``de-DE``; None where it asks for other figures too.

    Numbers are those of [MS-LCID]. Their higher bytes choose a calendar and the shape of
    figures (common practice, no source).
    """
    lower = told.lower()
    if _NUMBERED.fullmatch(told):
        number = int(told, 16)
        name = f"{number:x}"
        return _SYSTEM.get(name, name) if number < 0x10000 else None
    return (
        lower if re.fullmatch(r"[a-z]{2,3}(-[a-z]{2,4})*|x-sys(date|time)", lower) else None
    )
