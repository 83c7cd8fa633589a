"""Unicode's own conformance tests, at the version of our ICU, through our functions.

Sources: the Unicode Character Database 16.0.0 (tests/files/unicode). Every difference is
of a kind that is named here with its reason and its count; any other fails.
"""

import lzma
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import icu
import pytest

from personalize.type.itemise import Itemised

FILES = Path(__file__).parent / "files" / "unicode"


def lines(name: str) -> Iterator[str]:
    with lzma.open(FILES / f"{name}.txt.xz", "rt", encoding="utf-8") as file:
        for line in file:
            yield line.rstrip("\n")


def cut(line: str) -> tuple[str, list[int]]:
    """Read a line such as "÷ 0061 × 0308 ÷": the text, and where it may be cut."""
    words = line.split()
    text = "".join(chr(int(code, 16)) for code in words[1::2])
    return text, [i for i, sign in enumerate(words[::2]) if i and sign == "÷"]


def test_the_files_are_of_the_version_of_our_icu() -> None:
    assert icu.UNICODE_VERSION == "16.0"


def test_grapheme_clusters_are_those_of_uax_29() -> None:
    count = 0
    for line in lines("GraphemeBreakTest"):
        text, ends = cut(line)
        assert [end for _, end in Itemised(text).clusters] == ends, line
        count += 1
    assert count == 1093


def test_lines_break_as_uax_14_says_but_never_inside_a_cluster() -> None:
    # The one difference: UAX #14 cuts a mark, a joiner or a skin tone off the space or
    # the emoji-less sign before it; UAX #29 has the two as one cluster, and we keep that.
    differ = count = 0
    for line in lines("LineBreakTest"):
        text, ends = cut(line)
        items = Itemised(text)
        whole = {end for _, end in items.clusters}
        assert [end for end, _ in items.breaks] == [e for e in ends if e in whole], line
        differ += not whole.issuperset(ends)
        count += 1
    assert (count, differ) == (16672, 1154)


def test_segments_begin_at_those_places() -> None:
    for line in lines("LineBreakTest"):
        text, _ = cut(line)
        items = Itemised(text)
        places = {0, *(end for end, _ in items.breaks)}
        assert {segment.start for segment in items.segments} <= places, line


# Direction -----------------------------------------------------------------------------

LETTERS = {
    "L": "a", "R": "\u05d0", "AL": "\u0627", "EN": "1", "ES": "+", "ET": "#",
    "AN": "\u0661", "CS": ",", "NSM": "\u0300", "BN": "\u00ad", "B": "\u2029", "S": "\t",
    "WS": " ", "ON": "!",
    "LRE": "\u202a", "RLE": "\u202b", "PDF": "\u202c", "LRO": "\u202d", "RLO": "\u202e",
    "LRI": "\u2066", "RLI": "\u2067", "FSI": "\u2068", "PDI": "\u2069",
}  # fmt: skip
"""A character of each class: Bidi_Class in UnicodeData.txt 16.0."""
DIRECTIONS = {"auto": 1, "ltr": 2, "rtl": 4}
"""Bits of BidiTest.txt."""


def seen(items: Itemised) -> tuple[list[int], list[int]]:
    """Level of every character of a line, and their order from left to right."""
    levels = [0] * len(items.text)
    order: list[int] = []
    for run in items.visual_runs(0, len(items.text)):
        span = range(run.start, run.end)
        levels[run.start : run.end] = [run.level] * len(span)
        order += reversed(span) if run.rtl else span
    return levels, order


def agrees(items: Itemised, levels: list[str], order: list[int]) -> bool:
    """Whether levels and order are as wanted; those of removed characters are "x".

    ICU gives all of a text that runs one way the level of its paragraph: the order, which
    is all that is used of levels, is the same (ubidi.h, ubidi_getLevels).
    """
    ours, places = seen(items)
    kept = [i for i, level in enumerate(levels) if level != "x"]
    if [i for i in places if levels[i] != "x"] != order:
        return False
    one_way = len({ours[i] % 2 for i in kept}) < 2
    return one_way or all(levels[i] == str(ours[i]) for i in kept)


@cache
def by_class() -> tuple[tuple[str, int, tuple[str, ...], tuple[int, ...]], ...]:
    out = []
    levels: tuple[str, ...] = ()
    order: tuple[int, ...] = ()
    for line in lines("BidiTest"):
        head, _, rest = line.partition("\t")
        if head == "@Levels:":
            levels = tuple(rest.split())
        elif head == "@Reorder:":
            order = tuple(map(int, rest.split()))
        else:
            classes, bits = line.split(";")
            out.append((classes, int(bits), levels, order))
    return tuple(out)


@pytest.mark.parametrize(("direction", "differ"), [("auto", 8), ("ltr", 24), ("rtl", 8)])
def test_order_is_that_of_uax_9_by_class(direction: str, differ: int) -> None:
    # The difference: we set a cell as one paragraph whatever line ends are in it, so that
    # one direction holds for all of it. Where an embedding is left open right before the
    # line end, a sign before it takes another direction.
    count, others = 0, []
    for classes, bits, levels, order in by_class():
        if bits & DIRECTIONS[direction]:
            text = "".join(LETTERS[name] for name in classes.split())
            count += 1
            if not agrees(Itemised(text, direction), list(levels), list(order)):
                others.append(classes.split())
    assert count == 256747
    assert len(others) == differ
    for names in others:
        assert names[-1] == "B"
        assert names[-2] in ("LRE", "RLE", "LRO", "RLO")


def why(text: str) -> str:
    """Name the kind of a difference that ICU has from UAX #9."""
    if text.count("(") > 63:
        return "more than 63 brackets open at once"
    if "\u202d" in text or "\u202e" in text:
        return "brackets and isolates where a direction is overridden"
    if "]\u200d\u200b\u20d6" in text or "]\u200b\u200d\u20d6" in text:
        return "a mark on a bracket, with invisible characters between them"
    return "other"


def test_order_is_that_of_uax_9_by_character() -> None:
    # The differences are ICU's: rules X6a (isolates under an override), BD16 (its stack of
    # 63 brackets) and N0 (marks on brackets). See ICU-23513. None is met in words without
    # override controls, 64 brackets or joiners on brackets.
    count = 0
    differences: Counter[str] = Counter()
    for line in lines("BidiCharacterTest"):
        codes, way, paragraph, levels, order = line.split(";")
        text = "".join(chr(int(code, 16)) for code in codes.split())
        items = Itemised(text, ("ltr", "rtl", "auto")[int(way)])
        count += 1
        assert items.rtl == (paragraph == "1"), line
        if not agrees(items, levels.split(), list(map(int, order.split()))):
            differences[why(text)] += 1
    assert count == 91707
    assert differences == {
        "brackets and isolates where a direction is overridden": 20,
        "a mark on a bracket, with invisible characters between them": 1,
        "more than 63 brackets open at once": 1,
    }
