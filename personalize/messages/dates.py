"""How a number looks as a date or a time: ECMA-376 part 1, sections 18.8.31, 18.17.4.1."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Context, Decimal
from enum import Enum

from personalize.messages.date_names import names_for, slash_for
from personalize.messages.format_code import SYSTEM_DATE, SYSTEM_TIME, Kind, Section, Token
from personalize.messages.number_format import Pieces, joined
from personalize.messages.seen import UnseenError


class DateSystem(Enum):
    """From which day on a workbook counts its days: section 18.17.4.1."""

    FROM_1900 = "1900"
    """Day 1 is 1 January 1900, and there is a day 60, 29 February 1900."""
    FROM_1904 = "1904"
    """Day 0 is 1 January 1904."""
    FROM_1899 = "1899"
    """Day 0 is 30 December 1899."""


_FIRST = {
    DateSystem.FROM_1904: date(1904, 1, 1),
    DateSystem.FROM_1899: date(1899, 12, 30),
}
_LEAP_DAY = 60
"""The day that never was: in the 1900 system, 1900 counts as a leap year."""
_LAST = date(9999, 12, 31)
_DAY = 86_400
_NOON = 12
_WIDE = Context(prec=60)
_NOISE = 4
"""Places of a second that a stored date is good for: it has 15 digits."""
_ISO = re.compile(
    r"(?:(\d{4})-(\d\d)-(\d\d))?(?:(?:^|T)(\d\d):(\d\d)(?::(\d\d(?:\.\d{1,9})?))?)?Z?"
)


@dataclass(frozen=True, slots=True)
class _Moment:
    """A day and a time on it, rounded as it is shown."""

    year: int
    month: int
    day: int
    weekday: int
    """From Sunday, 0."""
    whole: int
    """Seconds since day 0, cut off."""
    part: str
    """Figures of the second's fraction."""


def serial_of(text: str, system: DateSystem) -> Decimal:
    """Count the days of a date or a time as ISO 8601 writes it (section 18.18.11, ``d``).

    Raises
    ------
    UnseenError
        It is none.
    """
    match = _ISO.fullmatch(text.strip())
    if match is None or not (match[1] or match[4]):
        raise UnseenError("is no date")
    days = 0
    try:
        if match[1]:
            day = date(int(match[1]), int(match[2]), int(match[3]))
            days = (day - _FIRST.get(system, _FIRST[DateSystem.FROM_1899])).days
    except ValueError as error:
        raise UnseenError("is no date") from error
    seconds = 3600 * int(match[4] or 0) + 60 * int(match[5] or 0) + Decimal(match[6] or 0)
    if system is DateSystem.FROM_1900 and days <= _LEAP_DAY and match[1]:
        days -= 1
    return _WIDE.divide(days * _DAY + seconds, Decimal(_DAY))


def shown_date(section: Section, number: Decimal, system: DateSystem) -> tuple[str, bool]:
    """Write a number as a section shows it that makes a date or a time of it.

    A time is rounded to what is shown of it, at least to the whole second; smaller units
    carry over into greater ones. Minutes and hours are cut off.

    Returns
    -------
    str, bool
        What is seen, and whether names or signs in it come from the computer.

    Raises
    ------
    UnseenError
        There is no such day, or the names of its language are not known here.
    """
    if section.language == SYSTEM_DATE:
        day, time = ["yyyy", "-", "mm", "-", "dd"], [" ", "hh", ":", "mm"]
        timed = any(token.text[0] == "h" for token in section.tokens if token.text)
        tokens = _tokens(*day, *(time if timed else []))
        return _shown(tokens, number, system, None)[0], False
    if section.language == SYSTEM_TIME:
        return _shown(_tokens("hh", ":", "mm", ":", "ss"), number, system, None)[0], False
    return _shown(section.tokens, number, system, section.language)


def _tokens(*texts: str) -> list[Token]:
    return [Token(Kind.DATE if t.isalpha() else Kind.WORDS, t) for t in texts]


def _shown(
    tokens: Sequence[Token], number: Decimal, system: DateSystem, language: str | None
) -> tuple[str, bool]:
    units = _units(tokens)
    places = max((len(unit) - 1 for unit in units if unit.startswith(".")), default=0)
    moment = _moment(number, system, units, places)
    half = any(token.kind == Kind.HALF for token in tokens)
    names = [u for u in units if u in {"mmm", "mmmm", "mmmmm", "ddd", "dddd", "AM/PM"}]
    known = names_for(language) if names else None
    pieces: Pieces = []
    for unit, token in zip(units, tokens, strict=True):
        if token.kind == Kind.SLASH:
            pieces.append(slash_for(language))
        elif not unit:
            pieces.append(None if token.kind == Kind.GAP else token.text)
        elif unit in names:
            assert known is not None
            hour = moment.whole % _DAY // 3600
            pieces.append(known.name(unit, moment.month, moment.weekday, hour))
        else:
            pieces.append(_figures(unit, moment, half=half))
    told = bool(names) or any(token.kind == Kind.SLASH for token in tokens)
    return joined(pieces), told and language is None


def _units(tokens: Sequence[Token]) -> list[str]:
    """Tell what each token stands for, with an empty text for words.

    ``m`` and ``mm`` are minutes, ``n`` and ``nn`` here, right after hours and right before
    seconds, and months elsewhere.
    """
    units: list[str] = []
    for at, token in enumerate(tokens):
        if token.kind in {Kind.DATE, Kind.ELAPSED, Kind.HALF}:
            unit = token.text
            if token.kind == Kind.ELAPSED:
                unit = f"[{unit.replace('m', 'n')}]"
            elif unit in {"m", "mm"} and _is_minutes(tokens, at):
                unit = unit.replace("m", "n")
            units.append(unit)
        elif token.kind == Kind.FIGURE and token.text == "0" and _is_part(tokens, at):
            # All the places of the fraction are one unit, at the first of them.
            first = tokens[at - 1].kind == Kind.POINT
            units.append("." + "0" * _run(tokens, at) if first else "-")
        elif token.kind in {Kind.POINT, Kind.COMMA, Kind.SLASH, Kind.WORDS, Kind.GAP}:
            follows = at + 1 < len(tokens) and tokens[at + 1].kind == Kind.FIGURE
            units.append("-" if token.kind == Kind.POINT and follows else "")
        else:
            raise UnseenError(f"has {token.text!r} at a place where it cannot be applied")
    if odd := [unit for unit in units if unit not in _KNOWN and not unit.startswith(".")]:
        raise UnseenError(f"has the part {odd[0]!r}, which programs show in different ways")
    return units


_KNOWN = {
    "", "-", "yy", "yyyy", "m", "mm", "mmm", "mmmm", "mmmmm", "d", "dd", "ddd", "dddd",
    "h", "hh", "n", "nn", "s", "ss", "[h]", "[hh]", "[n]", "[nn]", "[s]", "[ss]", "AM/PM",
}  # fmt: skip


def _run(tokens: Sequence[Token], at: int) -> int:
    end = at
    while end < len(tokens) and tokens[end].text == "0":
        end += 1
    return end - at


def _is_part(tokens: Sequence[Token], at: int) -> bool:
    """Tell whether a ``0`` belongs to the fraction of a second."""
    while at and tokens[at].text == "0":
        at -= 1
    before = tokens[at - 1] if at else None
    return (
        tokens[at].kind == Kind.POINT
        and before is not None
        and before.kind in {Kind.DATE, Kind.ELAPSED}
        and before.text[0] == "s"
    )


def _is_minutes(tokens: Sequence[Token], at: int) -> bool:
    kinds = {Kind.DATE, Kind.ELAPSED}
    before = [t.text[0] for t in tokens[:at] if t.kind in kinds]
    after = [t.text[0] for t in tokens[at + 1 :] if t.kind in kinds]
    return before[-1:] == ["h"] or after[:1] == ["s"]


def _moment(
    number: Decimal, system: DateSystem, units: Sequence[str], places: int
) -> _Moment:
    if number < 0:
        raise UnseenError("shows no date before day 0")
    timed = any(unit.strip("[]")[:1] in {"h", "n", "s"} for unit in units if unit)
    dated = any(unit[:1] in {"y", "m", "d"} for unit in units)
    step = Decimal(1).scaleb(-places if timed else -_NOISE)
    seconds = _WIDE.multiply(number, Decimal(_DAY)).quantize(step, ROUND_HALF_UP, _WIDE)
    whole = int(seconds)
    year, month, day, weekday = _day(whole // _DAY, system) if dated else (0, 0, 0, 0)
    part = f"{seconds:f}".partition(".")[2]
    return _Moment(year, month, day, weekday, whole, part)


def _day(count: int, system: DateSystem) -> tuple[int, int, int, int]:
    """Find year, month, day and day of the week of a day of the workbook."""
    if system is DateSystem.FROM_1900:
        if count == 0:
            raise UnseenError("shows day 0, and programs disagree about its date")
        # Counted as if the leap day had been, so they are wrong before it (same section).
        weekday = (count - 1) % 7
        if count == _LEAP_DAY:
            return 1900, 2, 29, weekday
        shift = 0 if count > _LEAP_DAY else 1
        found = _after(_FIRST[DateSystem.FROM_1899], count + shift)
    else:
        found = _after(_FIRST[system], count)
        weekday = found.isoweekday() % 7
    return found.year, found.month, found.day, weekday


def _after(first: date, days: int) -> date:
    if days > (_LAST - first).days:
        raise UnseenError("shows no date after the year 9999")
    return first + timedelta(days)


def _figures(unit: str, moment: _Moment, *, half: bool) -> str:
    """Write one unit in figures."""
    kind, width = unit.strip("[]")[0], len(unit.strip("[]"))
    seconds = moment.whole % _DAY
    hour = seconds // 3600
    if half:
        hour = (hour + _NOON - 1) % _NOON + 1
    amounts = {
        "y": moment.year % 100 if width == 2 else moment.year,
        "m": moment.month,
        "d": moment.day,
        "h": moment.whole // 3600 if "[" in unit else hour,
        "n": moment.whole // 60 if "[" in unit else seconds // 60 % 60,
        "s": moment.whole if "[" in unit else seconds % 60,
    }
    if kind == ".":
        return "." + moment.part
    return "" if kind == "-" else f"{amounts[kind]}".zfill(width)
