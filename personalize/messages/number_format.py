"""How a number looks in a section of a format code: ECMA-376 part 1, section 18.8.31.

Where the standard leaves something open and programs differ, the look cannot be told.
"""

import re
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction

from personalize.messages.format_code import Kind, Section, Token
from personalize.messages.seen import UnseenError

DIGITS = 15
"""A spreadsheet program keeps and shows 15 digits of a number (common practice, no
source); what a binary number adds after them is noise: 0.1 + 0.2 is seen as 0.3."""
_GENERAL_WIDTH = 11
"""Figures, with the point, that fit in a General cell before a program rounds the number
or writes it with an exponent, each in its own way (common practice, no source)."""
_GENERAL_LEAST = Decimal("0.0001")
"""Smaller ones are written with an exponent by some programs (same)."""
_UNSURE = Decimal(10) ** DIGITS
_WIDE = Context(prec=400)
_MOST_PLACES = 30

Pieces = list[str | None]
"""What is seen, piece by piece; None is a gap, which is a space between words only."""


def general(number: Decimal) -> str:
    """Write a number in its shortest form.

    >>> general(Decimal("5.0")), general(Decimal("-12.50"))
    ('5', '-12.5')
    """
    text = f"{abs(number):f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    small = number and abs(number) < _GENERAL_LEAST
    if small or abs(number) >= _UNSURE or len(text) > _GENERAL_WIDTH:
        raise UnseenError("programs shorten it, each in its own way")
    return "-" + text if number < 0 else text


def joined(pieces: Pieces) -> str:
    """Join pieces; gaps at both ends cannot be seen and are dropped."""
    while pieces and not pieces[-1]:
        pieces = pieces[:-1]
    start = next((at for at, piece in enumerate(pieces) if piece), len(pieces))
    return "".join(" " if piece is None else piece for piece in pieces[start:])


def formatted(section: Section, number: Decimal, *, minus: bool) -> str:
    """Write a number as a section shows it.

    Parameters
    ----------
    section
        One that is for numbers, not for dates.
    number
        Its sign is not looked at.
    minus
        Whether a minus sign goes before all the rest, as `number_section` says. It is left
        out where nothing but zeros is left of the number.

    Raises
    ------
    UnseenError
        Programs differ, or what is seen depends on the width of the column.
    """
    number = abs(number)
    kinds = [token.kind for token in section.tokens]
    if Kind.GENERAL in kinds:
        told = general(number)
        pieces: Pieces = [
            told if t.kind == Kind.GENERAL else _words(t) for t in section.tokens
        ]
        return ("-" if minus else "") + joined(pieces)
    if Kind.FIGURE not in kinds:
        if minus and section.tokens:
            raise UnseenError("has words only, and programs disagree about the minus sign")
        return joined([_words(token) for token in section.tokens])
    if Kind.SLASH in kinds:
        pieces, zero = _fraction(section.tokens, number)
    elif Kind.POWER in kinds:
        pieces, zero = _scientific(section.tokens, number)
    else:
        pieces, zero = _plain(section.tokens, number)
    return ("-" if minus and not zero else "") + joined(pieces)


def _words(token: Token) -> str | None:
    if token.kind == Kind.GAP:
        return None
    if token.kind in {Kind.WORDS, Kind.PERCENT}:
        return token.text
    raise UnseenError(f"has {token.text!r} at a place where it cannot be applied")


def _plain(tokens: Sequence[Token], number: Decimal) -> tuple[Pieces, bool]:
    """Lay out a number with places for figures, a point, commas and percent signs."""
    figures = [at for at, token in enumerate(tokens) if token.kind == Kind.FIGURE]
    points = [at for at, token in enumerate(tokens) if token.kind == Kind.POINT]
    if len(points) > 1:
        raise UnseenError("has more than one decimal point")
    point = points[0] if points else len(tokens)
    grouped, thousands = _commas(tokens, figures, point)
    percents = sum(token.kind == Kind.PERCENT for token in tokens)
    whole = [at for at in figures if at < point]
    part = [at for at in figures if at > point]
    places = len(part)
    number = number.scaleb(2 * percents - 3 * thousands, _WIDE)
    if number >= _UNSURE or places > _MOST_PLACES:
        raise UnseenError("shows more figures than a program keeps")
    rounded = number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP, _WIDE)
    left, _, right = f"{rounded:f}".partition(".")
    shown = _whole(tokens, whole, left.lstrip("0"), grouped=grouped)
    shown |= _part(tokens, part, right)
    if points and not any(shown.get(at) for at in part):
        raise UnseenError("ends with a decimal point, which not all programs show")
    if points:
        # Without a place before the point the figures stand there all the same.
        shown[point] = [*([] if whole else left.lstrip("0")), "."]
    pieces: Pieces = []
    for at, token in enumerate(tokens):
        if at in shown:
            pieces += shown[at]
        elif token.kind != Kind.COMMA:
            pieces.append(_words(token))
    return pieces, not rounded


def _commas(
    tokens: Sequence[Token], figures: Sequence[int], point: int
) -> tuple[bool, int]:
    """Tell whether commas group the figures, and how often they divide by a thousand.

    A comma between figures groups; one right after the last figure, or after the last one
    before the point, divides.
    """
    grouped, thousands = False, 0
    whole = [at for at in figures if at < point]
    for at, token in enumerate(tokens):
        if token.kind != Kind.COMMA:
            continue
        before = at - 1
        while before >= 0 and tokens[before].kind == Kind.COMMA:
            before -= 1
        if whole and whole[0] < at < whole[-1]:
            grouped = True
        elif before in {figures[-1], whole[-1] if whole else figures[-1]}:
            thousands += 1
        else:
            raise UnseenError("has a comma at a place where it cannot be applied")
    return grouped, thousands


def _whole(
    tokens: Sequence[Token], places: Sequence[int], digits: str, *, grouped: bool
) -> dict[int, Pieces]:
    """Put the figures before the point in their places, from the right."""
    shown: dict[int, Pieces] = {}
    filled = False
    for count, at in enumerate(places):
        right = len(places) - 1 - count
        # The first place takes all the figures that have none of their own.
        mine = (
            digits[: max(len(digits) - right, 0)]
            if count == 0
            else digits[-right - 1 :][:1]
        )
        if count and right >= len(digits):
            mine = ""
        mark = tokens[at].text
        if not mine and (mark == "0" or filled):
            mine = "0"
        filled = filled or bool(mine)
        pieces: Pieces = []
        for nth, figure in enumerate(mine):
            behind = right + len(mine) - 1 - nth
            pieces.append(figure)
            if grouped and behind and behind % 3 == 0:
                pieces.append(",")
        shown[at] = pieces if mine or mark == "#" else [None]
    return shown


def _part(tokens: Sequence[Token], places: Sequence[int], digits: str) -> dict[int, Pieces]:
    """Put the figures after the point in their places; zeros at the end need a ``0``."""
    last = max(
        (n for n, at in enumerate(places) if digits[n] != "0" or tokens[at].text == "0"),
        default=-1,
    )
    return {
        at: [digits[n]] if n <= last else ([None] if tokens[at].text == "?" else [])
        for n, at in enumerate(places)
    }


def _scientific(tokens: Sequence[Token], number: Decimal) -> tuple[Pieces, bool]:
    """Lay out a number with an exponent; several places before the point make steps."""
    power = next(at for at, token in enumerate(tokens) if token.kind == Kind.POWER)
    mantissa, rest = tokens[:power], tokens[power + 1 :]
    width = 0
    while width < len(rest) and rest[width].text == "0":
        width += 1
    marks = "".join(t.text for t in mantissa if t.kind in {Kind.FIGURE, Kind.POINT})
    allowed = re.fullmatch(r"(0|#+0)(?:\.(0+))?", marks)
    after = [t.kind for t in rest[width:]]
    inside = {Kind.FIGURE, Kind.POINT, Kind.WORDS, Kind.GAP}
    if (
        allowed is None
        or not width
        or not {t.kind for t in mantissa} <= inside
        or not set(after) <= {Kind.WORDS, Kind.GAP}
    ):
        raise UnseenError("has an exponent in a way that cannot be applied")
    step, places = len(allowed[1]), len(allowed[2] or "")
    exponent = number.adjusted() // step * step if number else 0
    for _ in range(2):
        scaled = number.scaleb(-exponent, _WIDE)
        rounded = scaled.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP, _WIDE)
        if rounded < Decimal(10) ** step:
            break
        exponent += step
    pieces, zero = _plain(mantissa, rounded)
    sign = "-" if exponent < 0 else ("+" if tokens[power].text == "E+" else "")
    pieces += ["E" + sign + f"{abs(exponent)}".zfill(width)]
    return [*pieces, *(_words(token) for token in rest[width:])], zero


_FRACTION = re.compile(r"(?:([#0]) )?([?#]+)/(?:([?#]+)|([1-9][0-9]*))")


def _fraction(tokens: Sequence[Token], number: Decimal) -> tuple[Pieces, bool]:
    """Lay out a fraction, such as ``# ?/?`` or ``# ?/8``."""
    mine = {Kind.FIGURE, Kind.NUMBER, Kind.SLASH}
    ends = [at for at, token in enumerate(tokens) if token.kind in mine]
    first, last = ends[0], ends[-1] + 1
    match = _FRACTION.fullmatch("".join(token.text for token in tokens[first:last]))
    if match is None or number >= _UNSURE or len(match[3] or "") > 3:
        raise UnseenError("has a fraction in a way that cannot be applied")
    whole = int(number) if match[1] else 0
    rest = Fraction(number) - whole
    if match[4]:
        below = int(match[4])
        above = int(rest * below + Fraction(1, 2))
    else:
        nearest = rest.limit_denominator(10 ** len(match[3]) - 1)
        above, below = nearest.numerator, nearest.denominator
    if match[1] and above == below:
        whole, above = whole + 1, 0
    pieces: Pieces = []
    if match[1] and (whole or not above or match[1] == "0"):
        pieces.append(str(whole))
    if above or not match[1]:
        pieces += [None] if pieces else []
        pieces += [None] * (match[2].count("?") - len(str(above)))
        pieces.append(f"{above}/{below}")
        pieces += [None] * ((match[3] or "").count("?") - len(str(below)))
    elif len(tokens) > last:
        # The room of a fraction that is not shown stays open before what follows.
        pieces += [None] * (1 + len(match[2]) + 1 + len(match[3] or match[4]))
    lead: Pieces = [_words(token) for token in tokens[:first]]
    return [*lead, *pieces, *(_words(t) for t in tokens[last:])], not (whole or above)
