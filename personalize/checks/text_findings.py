"""Findings about the words of single messages: letters, fit, lines, sizes of a set."""

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from personalize.checks.ways_out import WaysOut, tenth
from personalize.design.design import Design, Panel
from personalize.finding import Figure, Finding, Severity
from personalize.messages.table import Message
from personalize.rules import Rule
from personalize.type.compose import Survey
from personalize.type.sizes import Sizes, down, reaches


def message_findings(
    design: Design, message: Message, surveys: Sequence[Survey], ways: WaysOut
) -> Iterator[Finding]:
    """Tell what is wrong with one message, before sizes are given."""
    panels = [design.panel(survey.panel) for survey in surveys]
    asking = any(panel.pattern.headings for panel in design.panels)
    # Words that every piece has by the design itself are nobody's message.
    # A design without panels is made by number, without words.
    missing = not surveys and design.panels
    if missing or (asking and not any(panel.pattern.headings for panel in panels)):
        yield Finding(
            Rule.NO_WORDS,
            Severity.WARNING,
            "There are no words for this piece; it would show its picture only.",
            "Fill the row in, or set its copies to 0.",
            message.row,
        )
    for survey, panel in zip(surveys, panels, strict=True):
        column = panel.pattern.headings[0] if panel.pattern.headings else None
        place = {"row": message.row, "column": column, "panel": panel.of}
        place["block"] = panel.block
        yield from _letters(survey, panel, place)
        if survey.unspaced:
            yield _not_spaced(survey, place)
        if not reaches(survey.largest_pt, survey.floor_pt) and not survey.missing:
            yield _does_not_fit(survey, place, ways)
        forced = survey.text.strip().count("\n") + 1
        if forced > 1 and panel.ring is not None:
            yield _one_line(forced, place)
        elif forced > panel.style.max_lines:
            yield Finding(
                Rule.MORE_LINES,
                Severity.NOTE,
                f"The cell itself has {forced} lines, more than the"
                f" {panel.style.max_lines} that the design asks for. They are kept.",
                "Take line breaks out of the cell if you want fewer.",
                **place,  # type: ignore[arg-type]
                figures={"lines": forced, "max_lines": panel.style.max_lines},
            )


def _letters(
    survey: Survey, panel: Panel, place: Mapping[str, object]
) -> Iterator[Finding]:
    seen = set()
    for missing in survey.missing:
        if missing.cluster in seen:
            continue
        seen.add(missing.cluster)
        codes = " ".join(f"U+{ord(c):04X}" for c in missing.cluster)
        shown = f"{missing.cluster} " if missing.cluster.isprintable() else ""
        named = unicodedata.name(missing.cluster[0], "a letter without a name")
        yield Finding(
            Rule.MISSING_LETTER,
            Severity.ERROR,
            f"No font has {shown}{codes} ({named.lower()}).",
            "Write it another way, or give the design a font that has it.",
            **place,  # type: ignore[arg-type]
            figures={"letter": missing.cluster, "code_points": codes},
        )
    for font, letters in survey.borrowed.items():
        lacking = set(letters)
        words = (survey.shown or survey.text).split()
        shown = " ".join(w for w in words if lacking & set(w))
        yield Finding(
            Rule.OTHER_FONT,
            Severity.NOTE,
            f"{panel.style.font.name} lacks letters of {shown}: set in {font}.",
            "Nothing to do if it looks right in the proof.",
            **place,  # type: ignore[arg-type]
            figures={"font": font, "letters": "".join(dict.fromkeys(letters))},
        )


def _not_spaced(survey: Survey, place: Mapping[str, object]) -> Finding:
    joined = set(survey.unspaced)
    shown = " ".join(w for w in survey.shown.split() if joined & set(w))
    return Finding(
        Rule.NOT_SPACED,
        Severity.NOTE,
        f"The letters of {shown} are joined: they stand without letter spacing.",
        "Nothing to do; spaced, they would fall apart.",
        **place,  # type: ignore[arg-type]
        figures={"letters": "".join(dict.fromkeys(survey.unspaced))},
    )


def _one_line(lines: int, place: Mapping[str, object]) -> Finding:
    return Finding(
        Rule.ONE_LINE,
        Severity.ERROR,
        f"The cell has {lines} lines, and round a ring words stand on one.",
        "Take the line breaks out of the cell.",
        **place,  # type: ignore[arg-type]
        figures={"lines": lines},
    )


def _does_not_fit(survey: Survey, place: Mapping[str, object], ways: WaysOut) -> Finding:
    out = ways.of(survey)
    figures: dict[str, Figure] = {
        "largest_pt": down(survey.largest_pt),
        "floor_pt": round(survey.floor_pt, 3),
        "letters_over": out.letters_over,
    }
    return Finding(
        Rule.DOES_NOT_FIT,
        Severity.ERROR,
        f"{survey.text!r} fits at {tenth(survey.largest_pt)} pt, and under"
        f" {survey.floor_pt:.1f} pt it cannot be read.",
        out.do,
        **place,  # type: ignore[arg-type]
        figures={**figures, **out.figures},
    )


def size_findings(
    panels: Sequence[Panel], rows: Sequence[int], sizes: Sizes, rule: str
) -> Iterator[Finding]:
    """Tell which messages stand apart in a batch that shares sizes.

    `rows` and `sizes.sizes_pt` go together; rows that fit at no size are left out.
    """
    place: dict[str, Any] = {"panel": _listed([panel.of for panel in panels])}
    blocks = [panel.block for panel in panels if panel.block is not None]
    place["block"] = _listed(blocks) if blocks else None
    whole = any(panel.style.allergen for panel in panels)
    for row in sizes.held_by:
        yield _holds_back(row, sizes, rule, place, whole=whole)
    if not sizes.steps_pt:
        return
    for row, size in zip(rows, sizes.sizes_pt, strict=True):
        if size not in sizes.steps_pt:
            shared = ", ".join(f"{step:.1f}" for step in sizes.steps_pt)
            yield Finding(
                Rule.OWN_SIZE,
                Severity.NOTE,
                f"Too long for the sizes of the set ({shared} pt): set at {size:.1f} pt.",
                "Give it more room if you want it like the others."
                if whole
                else "Shorten it if you want it like the others.",
                row,
                **place,
                figures={"size_pt": size, "smallest_step_pt": sizes.steps_pt[-1]},
            )


def _listed(names: Sequence[str]) -> str:
    """Name each once."""
    return " and ".join(dict.fromkeys(names))


def _holds_back(
    row: int, sizes: Sizes, rule: str, place: Mapping[str, Any], *, whole: bool
) -> Finding:
    size, without = sizes.steps_pt[0], sizes.without_pt or sizes.steps_pt[0]
    others = [str(held) for held in sizes.held_by if held != row]
    who, it = "This one keeps", "it"
    if others:
        who, it = f"This one and row {' and '.join(others)} keep", "them"
    which = "all others" if rule == "same" else "the largest size of the set"
    return Finding(
        Rule.HOLDS_BACK,
        Severity.NOTE,
        f"{who} {which} at {size:.1f} pt; without {it}"
        f" {'they' if rule == 'same' else 'that'} would be {without:.1f} pt.",
        f"{'Give' if whole else 'Shorten'} {'them' if others else 'it'}"
        f"{' more room' * whole} if you want all larger.",
        row,
        **place,
        figures={"size_pt": size, "without_pt": without},
    )
