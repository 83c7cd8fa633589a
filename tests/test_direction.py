"""Direction: parts of a line in the order of the Unicode bidirectional algorithm."""

import pytest

from personalize.type.itemise import Itemised
from personalize.type.shape import Paragraph
from tests.shaped import NUNITO, whole

# Direction: UAX #9, levels worked out by hand ------------------------------------------

# Each text with its runs from left to right: (part of the text, runs right to left).
DIRECTIONS = {
    # A number after Hebrew is at level 2, the space between them at level 1 (N1).
    "Sara שרה 7": [("Sara ", False), ("7", False), ("שרה ", True)],
    # The first strong letter is Hebrew (P2): all of "Bo 12" is at level 2 (W7).
    "שרה Bo 12": [("Bo 12", False), ("שרה ", True)],
    # A number after Arabic letters is an Arabic number (W2).
    "سلمى 12": [("12", False), ("سلمى ", True)],
    # Brackets round Latin in a Hebrew text take its direction (N0, case c2).
    "שרה (Bo)": [(")", True), ("Bo", False), ("שרה (", True)],
    # Brackets round Hebrew in a Latin text stay Latin (N0, case c1).
    "Bo (שרה) Io": [("Bo (", False), ("שרה", True), (") Io", False)],
    # A hyphen between the two directions takes that of the text (N2).
    "Bo-שרה": [("Bo-", False), ("שרה", True)],
    # A neutral between two Hebrew words goes with them (N1).
    "Bo שרה & לאה Io": [("Bo ", False), ("שרה & לאה", True), (" Io", False)],
    # A text of numbers alone runs left to right (P3).
    "7 & 12": [("7 & 12", False)],
    # Separators inside a number belong to it (W4); a plus sign before it does not.
    "שרה 3,5": [("3,5", False), ("שרה ", True)],
}


@pytest.mark.parametrize("text", DIRECTIONS)
def test_runs_stand_in_the_order_of_the_bidirectional_algorithm(text: str) -> None:
    runs = Itemised(text).visual_runs(0, len(text))
    assert [(text[r.start : r.end], r.rtl) for r in runs] == DIRECTIONS[text]


@pytest.mark.parametrize("text", DIRECTIONS)
def test_glyphs_stand_in_that_order_too(text: str) -> None:
    paragraph = Paragraph(text, NUNITO)
    line = whole(paragraph)
    joined = "".join(shaped.text for shaped in line.runs if not shaped.rtl)
    assert joined == "".join(part for part, rtl in DIRECTIONS[text] if not rtl)
    xs = [x for shaped in line.runs for x in shaped.xs]
    assert xs == sorted(xs)
    for shaped in line.runs:
        order = list(shaped.clusters)
        assert order == sorted(order, reverse=shaped.rtl)


def test_lines_are_broken_first_and_put_in_order_after() -> None:
    # UAX #9, section 3.4: reordering (L1 to L4) works on lines, after breaking.
    text = "Bo שרה לאה Io"
    paragraph = Paragraph(text, NUNITO)
    assert [text[s.start : s.end] for s in paragraph.segments] == ["Bo", "שרה", "לאה", "Io"]
    one = [(shaped.text, shaped.rtl) for shaped in whole(paragraph).runs]
    first = [(shaped.text, shaped.rtl) for shaped in paragraph.line(0, 1).runs]
    second = [(shaped.text, shaped.rtl) for shaped in paragraph.line(2, 3).runs]
    assert merged(one) == ["Bo ", "<שרה לאה", " Io"]
    assert merged(first) == ["Bo ", "<שרה"]
    assert merged(second) == ["<לאה", " Io"]


def test_spaces_at_the_end_of_a_line_go_to_its_end_side() -> None:
    # UAX #9, rule L1; our lines leave such spaces out altogether.
    paragraph = Paragraph("שרה לאה", NUNITO)
    assert [shaped.text for shaped in paragraph.line(0, 0).runs] == ["שרה"]


def test_one_direction_holds_for_all_lines_of_a_cell() -> None:
    items = Itemised("שרה\nBo 7!")
    assert items.rtl
    runs = items.visual_runs(4, 9)
    # In a text that runs right to left the closing sign of "Bo 7!" is at the left.
    assert [(items.text[r.start : r.end], r.rtl) for r in runs] == [
        ("!", True), ("Bo 7", False)
    ]  # fmt: skip


def merged(runs: list[tuple[str, bool]]) -> list[str]:
    """Runs of one direction that follow each other as one, right-to-left ones marked."""
    out: list[str] = []
    last: bool | None = None
    for text, rtl in runs:
        if rtl == last:
            out[-1] = f"<{text}{out[-1][1:]}" if rtl else out[-1] + text
        else:
            out.append(("<" if rtl else "") + text)
        last = rtl
    return out


def test_lines_of_a_right_to_left_text_stand_top_down() -> None:
    words = ["שרה", "לאה", "נועה", "דנה", "יעל", "רות"]
    paragraph = Paragraph(" ".join(words), NUNITO)
    for first, last in ((0, 2), (3, 5)):
        line = paragraph.line(first, last)
        seen = [run.text[c] for run in line.runs for c in run.clusters]
        from_the_right = "".join(reversed(seen))
        assert from_the_right.split() == words[first : last + 1]
