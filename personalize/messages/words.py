"""Look for what an eye does not see in the words: stray spaces, invisible characters.

The words are printed exactly as they are, whatever is found. Classes of characters are
those of the Unicode Character Database; which joiners do their work follows RFC 5892,
appendices A.1 and A.2, and UTS #51 for emoji.
"""

import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from personalize.finding import Finding, Severity
from personalize.messages.garbled import guess_of, may_be_garbled
from personalize.messages.grid import numbers_told, runs_of
from personalize.messages.table import Row, Table
from personalize.rules import Rule

INVISIBLE = Rule.INVISIBLE_CHARACTERS
CONTROL = Rule.CONTROL_CHARACTERS
SPACES = Rule.SPACES
GARBLED = Rule.WRONG_DECODING

CLEAN = "--clean"
_MOST_SINGLE = 20
"""Findings of one rule in one column told cell by cell; more are told as one. Judgement."""
_MOST_CODES = 4

_LOST = "\ufffd"
# Letters by their class, which are seen as nothing at all.
_BLANK_LETTERS = "\u115f\u1160\u3164\uffa0\u2800"
_NO_BREAK = "\u00a0\u202f\u2007"
_DIRECTION = "\u061c\u200e\u200f\u202a\u202b\u202c\u2066\u2067\u2068\u2069"
_OVERRIDES = "\u202d\u202e"
_SOFT_HYPHEN = "\u00ad"
_ZERO_WIDTH_SPACE = "\u200b"
_JOINERS = "\u200c\u200d"
# Scripts whose letters join or stack, by their blocks: Arabic, Syriac and N'Ko up to the
# Indic ones; Tibetan, Burmese, Khmer, Mongolian; Javanese and others; Arabic forms.
_JOINING = (
    (0x0600, 0x08FF),
    (0x0900, 0x0DFF),
    (0x0F00, 0x109F),
    (0x1780, 0x18AF),
    (0x1B00, 0x1BFF),
    (0xA840, 0xA8FF),
    (0xA980, 0xA9FF),
    (0xFB50, 0xFDFF),
    (0x10A00, 0x11FFF),
    (0x1E900, 0x1E95F),
)
# Scripts written without spaces, where a zero-width space is a place to break the line.
_UNSPACED = ((0x0E00, 0x0EFF), (0x1000, 0x109F), (0x1780, 0x17FF), (0x2E80, 0xD7FF))
_EMOJI_PARTS = "\ufe0f\u20e3"
_FRENCH_AFTER, _FRENCH_BEFORE = ";:!?»›%€$£", "«‹–"
_TAG_BASE, _TAGS = "\U0001f3f4", (0xE0020, 0xE007F)

# Stands between cells that are looked at together; hardly any word has it.
_BETWEEN = "`"
_SPACE_AFTER, _SPACE_BEFORE = f"{_BETWEEN} ", f" {_BETWEEN}"
_EDGE = re.compile(r"(?:^[^\S\n]|[^\S\n]$|[^\S\n]{2})", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class _Seen:
    """What is wrong in one cell, by one rule."""

    rule: Rule
    codes: tuple[str, ...]
    """The characters, each as often as it stands there."""
    guess: str = ""


def word_findings(table: Table) -> tuple[Finding, ...]:
    """Tell which headings and cells hold characters that are not seen, and why.

    Rules: ``spaces`` (a note; leading, trailing, doubled, tabs, no-break spaces between
    words), ``invisible-characters``, ``control-characters`` and ``wrong-decoding``
    (warnings; the last with a guess, where there is one). Joiners inside scripts that need
    them and inside emoji, direction marks beside right-to-left letters, and line breaks
    are left in peace; a soft hyphen is a note. Where a column has many of one kind, one
    finding tells them all.
    """
    found: dict[tuple[Rule, int], list[tuple[int, _Seen]]] = {}
    for number, column, cell in _suspects(table):
        for seen in _look(cell):
            found.setdefault((seen.rule, column), []).append((number, seen))
    return tuple(
        finding
        for (rule, column), cells in sorted(found.items())
        for finding in _findings(rule, table.headings[column], cells)
    )


def cleaned(table: Table) -> tuple[Table, tuple[str, ...]]:
    """Take the stray spaces, invisible and control characters out; letters stay.

    Exactly what `word_findings` tells under the rules ``spaces``, ``invisible-characters``
    and ``control-characters`` goes: spaces become one plain space between words and none
    at the ends of a line. A cell that seems wrongly decoded is left alone, since parts of
    its letters look like such characters. Gives the table, with the sentences also among
    its source's decisions, and one sentence for each column and kind of change.
    """
    told: dict[tuple[int, Rule], list[int]] = {}
    headings = list(table.headings)
    rows = {row.number: list(row.cells) for row in table.rows}
    for number, column, cell in _suspects(table):
        plain = _clean(cell)
        if plain != cell:
            for rule in dict.fromkeys(seen.rule for seen in _look(cell)):
                told.setdefault((column, rule), []).append(number)
            (headings if number == _heading_row(table) else rows[number])[column] = plain
    if not told:
        return table, ()
    if len(set(headings)) < len(headings):
        # Two headings that only differ in what is not seen: let the maker mend them.
        headings = list(table.headings)
    sentences = tuple(
        _cleaned_told(rule, headings[column], sorted(set(numbers)))
        for (column, rule), numbers in sorted(told.items())
    )
    source = replace(table.source, decisions=(*table.source.decisions, *sentences))
    made = tuple(Row(number, tuple(cells)) for number, cells in rows.items())
    return replace(table, source=source, headings=tuple(headings), rows=made), sentences


def _suspects(table: Table) -> Iterator[tuple[int, int, str]]:
    """Give the cells that may have something wrong: row, column and text."""
    heads = _BETWEEN.join(table.headings)
    if not _is_plain(heads):
        yield from _of_row(_heading_row(table), table.headings)
    lines = [_BETWEEN.join(row.cells) for row in table.rows]
    # One look at all of the text together: most tables have nothing to look for.
    if not _is_plain(_BETWEEN.join(lines)):
        for row, line in zip(table.rows, lines, strict=True):
            if not _is_plain(line):
                yield from _of_row(row.number, row.cells)


def _of_row(number: int, cells: tuple[str, ...]) -> Iterator[tuple[int, int, str]]:
    for column, cell in enumerate(cells):
        if not _is_plain(cell):
            yield number, column, cell


def _heading_row(table: Table) -> int:
    return table.source.heading_row or 1


def _is_plain(text: str) -> bool:
    """Tell quickly that nothing can be wrong in cells joined by a mark.

    Python's printable characters are all but the Unicode classes of controls, formats,
    separators other than the space, and what is not assigned.
    """
    if "\n" in text:
        text = text.replace("\n", _BETWEEN)
    if (
        not text.isprintable()
        or "  " in text
        or _SPACE_AFTER in text
        or _SPACE_BEFORE in text
    ):
        return False
    if text[:1] == " " or text[-1:] == " ":
        return False
    return text.isascii() or not (
        _LOST in text or may_be_garbled(text) or any(c in text for c in _BLANK_LETTERS)
    )


def _look(cell: str) -> Iterator[_Seen]:
    """Find what is wrong in one cell."""
    if _LOST in cell:
        yield _Seen(GARBLED, (_LOST,) * cell.count(_LOST))
    if (guess := guess_of(cell)) is not None:
        # Its odd characters are parts of letters, and nothing else is to be said of them.
        yield _Seen(GARBLED, tuple(c for c in cell if c > "\x7f" and c not in guess), guess)
        return
    for rule, found in (
        (INVISIBLE, [c for i, c in enumerate(cell) if _is_invisible(cell, i)]),
        (CONTROL, [c for c in cell if _is_control(c)]),
        (SPACES, _stray_spaces(cell)),
    ):
        if found:
            yield _Seen(rule, tuple(found))


def _is_control(sign: str) -> bool:
    return sign not in "\n\t" and unicodedata.category(sign) == "Cc"


def _is_invisible(cell: str, at: int) -> bool:
    """Tell whether the character at `at` is not seen and does no work there."""
    sign = cell[at]
    if sign in _BLANK_LETTERS or sign in "\u2028\u2029" or sign in _OVERRIDES:
        return True
    if unicodedata.category(sign) != "Cf" or _is_seen_format(sign):
        return False
    before = _base_before(cell, at)
    after = cell[at + 1 : at + 2]
    if sign in _JOINERS:
        return not (_within(before, _JOINING) or _joins_emoji(before, after, sign))
    if sign in _DIRECTION:
        letters = (c for c in cell if c not in _DIRECTION)
        return not any(unicodedata.bidirectional(c) in {"R", "AL"} for c in letters)
    if sign == _ZERO_WIDTH_SPACE:
        return not (_within(before, _UNSPACED) or _within(after, _UNSPACED))
    if _TAGS[0] <= ord(sign) <= _TAGS[1]:
        return before != _TAG_BASE
    return True


def _is_seen_format(sign: str) -> bool:
    """Tell whether a format character has a shape: Arabic signs over numbers and the like.

    They are the ones with the property Prepended_Concatenation_Mark, and the Mongolian
    vowel separator, which shapes the letters beside it.
    """
    return sign in (
        "\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u0890\u0891\u08e2\u180e"
        "\U000110bd\U000110cd"
    )


def _base_before(cell: str, at: int) -> str:
    """Give the letter before, past marks on it, emoji parts, joiners and tags."""
    for i in range(at - 1, -1, -1):
        sign = cell[i]
        if not (
            unicodedata.category(sign)[0] == "M"
            or sign in _JOINERS
            or sign in _EMOJI_PARTS
            or _TAGS[0] <= ord(sign) <= _TAGS[1]
        ):
            return sign
    return ""


def _joins_emoji(before: str, after: str, sign: str) -> bool:
    # Emoji and their skin tones are symbols (So, Sk) to Unicode.
    return (
        sign == "\u200d"
        and unicodedata.category(before or " ") in {"So", "Sk"}
        and unicodedata.category(after or " ") in {"So", "Sk"}
    )


def _within(sign: str, blocks: tuple[tuple[int, int], ...]) -> bool:
    return bool(sign) and any(first <= ord(sign) <= last for first, last in blocks)


def _stray_spaces(cell: str) -> list[str]:
    """Give the spaces that a typist did not mean, tabs and odd ones among them."""
    found = [c for part in _EDGE.findall(cell) for c in part]
    return found + [c for i, c in enumerate(cell) if _is_odd_space(cell, i)]


def _is_odd_space(cell: str, at: int) -> bool:
    sign = cell[at]
    if sign == "\t":
        return True
    if sign == " " or unicodedata.category(sign) != "Zs":
        return False
    before, after = cell[at - 1 : at] if at else "", cell[at + 1 : at + 2]
    if sign in _NO_BREAK:
        figures = before.isdigit() or after.isdigit()
        return not (figures or after in _FRENCH_AFTER or before in _FRENCH_BEFORE)
    # The wide space of Chinese and Japanese stands between their own letters.
    return not (sign == "\u3000" and _within(before, _UNSPACED))


def _clean(cell: str) -> str:
    if guess_of(cell) is not None:
        return cell
    kept = "".join(
        " " if _is_odd_space(cell, i) or c in "\u2028\u2029" else c
        for i, c in enumerate(cell)
        if not (_is_control(c) or (_is_invisible(cell, i) and c not in "\u2028\u2029"))
    )
    lines = kept.split("\n")
    return "\n".join(re.sub(r"[^\S\n]{2,}", " ", line).strip() for line in lines)


def _findings(
    rule: Rule, heading: str, cells: list[tuple[int, _Seen]]
) -> Iterator[Finding]:
    if len(cells) > _MOST_SINGLE:
        numbers = sorted({number for number, _ in cells})
        runs = [(str(a), str(b)) for a, b in runs_of(numbers)]
        everywhere = f"In {numbers_told('row', runs)}: "
        yield _finding(rule, heading, *cells[0], (len(cells), everywhere))
        return
    for number, seen in cells:
        yield _finding(rule, heading, number, seen, (1, ""))


def _finding(
    rule: Rule, heading: str, number: int, seen: _Seen, many: tuple[int, str]
) -> Finding:
    says, do = _SENTENCES[rule](seen)
    soft = rule == INVISIBLE and set(seen.codes) == {_SOFT_HYPHEN}
    note = rule == SPACES or soft
    figures: dict[str, int | str] = {
        "code points": " ".join(f"U+{ord(c):04X}" for c in dict.fromkeys(seen.codes)),
        "count": len(seen.codes),
    }
    if many[0] > 1:
        figures["cells"] = many[0]
    return Finding(
        rule,
        Severity.NOTE if note else Severity.WARNING,
        f"{many[1]}{says[0].lower() if many[1] else says[0]}{says[1:]}",
        do,
        row=number,
        column=heading,
        figures=figures,
    )


def _named(codes: tuple[str, ...]) -> str:
    """Name characters by code point, and in words where Unicode has some."""
    distinct = list(dict.fromkeys(codes))
    names = [
        f"U+{ord(c):04X} {unicodedata.name(c, '').lower()}".rstrip()
        for c in distinct[:_MOST_CODES]
    ]
    more = f" and {len(distinct) - _MOST_CODES} more" if len(distinct) > _MOST_CODES else ""
    return ", ".join(names) + more


def _invisible_told(seen: _Seen) -> tuple[str, str]:
    if set(seen.codes) == {_SOFT_HYPHEN}:
        return (
            "The cell has a soft hyphen (U+00AD), where a line may be broken.",
            f"Nothing is to be done if that is meant; {CLEAN} takes it out.",
        )
    return (
        f"The cell has characters that cannot be seen: {_named(seen.codes)}.",
        f"Type the words again, or give {CLEAN}.",
    )


def _control_told(seen: _Seen) -> tuple[str, str]:
    return (
        f"The cell has control codes, which are no letters: {_named(seen.codes)}.",
        f"Type the words again, or give {CLEAN}.",
    )


def _spaces_told(seen: _Seen) -> tuple[str, str]:
    return (
        f"The cell has spaces at an end, doubled ones or odd ones: {_named(seen.codes)}.",
        f"They are printed as they are; {CLEAN} takes them out.",
    )


def _garbled_told(seen: _Seen) -> tuple[str, str]:
    if seen.guess:
        return (
            f"The words seem to have been read with a wrong encoding; they may be "
            f"{seen.guess!r}.",
            "Save the list again as CSV UTF-8 from where it came from, or type the words.",
        )
    return (
        "A letter was lost before the file was written: U+FFFD stands for it.",
        "Type the words again.",
    )


_SENTENCES: dict[Rule, Callable[[_Seen], tuple[str, str]]] = {
    INVISIBLE: _invisible_told,
    CONTROL: _control_told,
    SPACES: _spaces_told,
    GARBLED: _garbled_told,
}
_KINDS = {
    INVISIBLE: "characters that cannot be seen",
    CONTROL: "control codes",
    SPACES: "stray spaces",
}


def _cleaned_told(rule: Rule, heading: str, numbers: list[int]) -> str:
    runs = [(str(a), str(b)) for a, b in runs_of(numbers)]
    return f"Taken out of column {heading!r}, {numbers_told('row', runs)}: {_KINDS[rule]}."
