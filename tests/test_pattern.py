"""Patterns: headings between braces, and nothing cleverer."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from personalize.messages.pattern import Slot, missing_headings, parse_pattern
from personalize.messages.table import Message

WORDS = {"name": "Ida {x}", "No.": "7", "a:b": "colon", "x[0]": "index", "y!r": "bang"}
MESSAGE = Message(5, WORDS, copies=3, version="blue")


def said(text: str, message: Message = MESSAGE) -> str:
    return parse_pattern(text).expand(message, 4, 12)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("For {name}", "For Ida {x}"),
        ("{No.}/{a:b}/{x[0]}/{y!r}", "7/colon/index/bang"),
        ("{{name}}", "{name}"),
        ("{{{name}}}", "{Ida {x}}"),
        ("{n} of {total}", "4 of 12"),
        ("{ name }", "Ida {x}"),
        ("{copies} x {version}", "3 x blue"),
        ("{Version}", "blue"),
        ("no heading\n%s $name", "no heading\n%s $name"),
        ("", ""),
        ("{lacking}", ""),
    ],
)
def test_expand(text: str, expected: str) -> None:
    assert said(text) == expected


def test_a_heading_called_n_wins() -> None:
    assert said("{n}{total}", Message(2, {"n": "En", "total": ""})) == "En"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a {name", "the { at character 3 has no partner."),
        ("name} b", "the } at character 5 has no partner."),
        ("{a{b}", "the { at character 1 has no partner."),
        ("{", "the { at character 1 has no partner."),
        ("x{}", "there is no heading between the braces at character 2."),
        ("{  }", "there is no heading between the braces at character 1."),
    ],
)
def test_braces_that_do_not_match(text: str, says: str) -> None:
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - the whole text is compared
        parse_pattern(text)
    assert str(caught.value) == says


def test_what_a_pattern_asks_for() -> None:
    pattern = parse_pattern("{b} {{x}} {a} {n} {b}")
    assert pattern.text == "{b} {{x}} {a} {n} {b}"
    assert pattern.parts == (Slot("b"), " {x} ", Slot("a"), " ", Slot("n"), " ", Slot("b"))
    assert pattern.headings == ("b", "a")
    assert pattern.counts
    assert not parse_pattern("{name} {{n}}").counts
    assert parse_pattern("{total}").counts
    assert missing_headings(pattern, ("a", "n")) == ("b",)
    assert missing_headings(pattern, ("b", "a")) == ()


@given(st.text())
def test_escaped_braces_give_the_text_back(text: str) -> None:
    pattern = parse_pattern(text.replace("{", "{{").replace("}", "}}"))
    assert pattern.expand(MESSAGE, 1, 1) == text
    assert pattern.headings == ()


names = st.text(st.characters(exclude_characters="{}"), min_size=1).map(str.strip)


@given(st.lists(st.tuples(st.text(max_size=8), names.filter(bool)), max_size=5))
def test_every_heading_is_found_and_filled(pieces: list[tuple[str, str]]) -> None:
    words = {name: f"<{nth}>" for nth, (_, name) in enumerate(pieces)}
    plain = "".join(text + words[name] for text, name in pieces)
    escaped = [text.replace("{", "{{").replace("}", "}}") for text, _ in pieces]
    pattern = parse_pattern(
        "".join(
            f"{text}{{{name}}}" for text, (_, name) in zip(escaped, pieces, strict=True)
        )
    )
    assert pattern.expand(Message(2, words), 1, 1) == plain
    assert missing_headings(pattern, words) == ()


WHOLE = re.compile(r"([^{}]|\{\{|\}\}|\{[^{}]*[^{}\s][^{}]*\})*")


@given(st.text("{}ab ", max_size=12))
def test_just_the_whole_patterns_are_read(text: str) -> None:
    if not WHOLE.fullmatch(text):
        with pytest.raises(ValueError, match=r"\.\Z"):
            parse_pattern(text)
        return
    written = [
        part.replace("{", "{{").replace("}", "}}")
        if isinstance(part, str)
        else f"{{{part.heading}}}"
        for part in parse_pattern(text).parts
    ]
    assert "".join(written).replace(" ", "") == text.replace(" ", "")
