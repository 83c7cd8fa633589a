"""Every finding of this version: what is wrong with messages and with designs.

Rules, by severity:
  error    does-not-fit, missing-letter, one-line
  warning  no-words, bleed-missing, loose-crease, size-not-stated, no-hyphenation,
           version-unused, picture-unused, thin-neck, tiny-hole
  (of drawn text areas: `personalize.checks.line_findings`)
  note     other-font, not-spaced, own-size, holds-back, more-lines, no-feature,
           narrow-bleed, sharp-tip, mended, left-out, care-*
What a row chooses beside its words is told by `personalize.design.chosen`.
"""

import math
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from personalize.checks.line_findings import area_findings
from personalize.design.artwork import bare_bleed, has_picture
from personalize.design.design import Artwork, Design, Panel
from personalize.design.trouble import weak_places
from personalize.finding import Finding, Severity
from personalize.messages.reserved import PICTURE, VERSION
from personalize.messages.table import Message
from personalize.type.compose import Survey
from personalize.type.hyphens import has_dictionary
from personalize.type.sizes import Sizes, down, reaches
from personalize.units import MM_PER_INCH

CUT_SHIFT_MM = 0.7
"""How far a home machine's cut may be off. Common practice, no source."""
BARE_SHARE = 0.002
"""Share of the bleed that may show paper: a tenth of a millimetre in a flag's ring is
float noise of the raster that it is looked for in."""
PLAIN_SHARE = 0.999
"""Where the bleed is as bare as this, the piece may have no picture at all."""

_CARE = {
    "food": (
        "Ink and paper near food: let print dry, keep it from touching what is eaten, and"
        " keep picks and sticks out of food for children. Allergen words must be complete"
        " and legible.",
        "Follow your local food rules; a licensed kitchen answers for its labels.",
    ),
    "children": (
        "Small parts, sticks and string can choke or hurt a small child.",
        "Keep pieces from children under three, and follow your local toy safety rules.",
    ),
    "flame": (
        "Paper burns.",
        "Keep pieces away from candles and heat, and never leave a flame alone.",
    ),
}


def message_findings(
    design: Design, message: Message, surveys: Sequence[Survey]
) -> Iterator[Finding]:
    """Tell what is wrong with one message, before sizes are given."""
    panels = [design.panel(survey.panel) for survey in surveys]
    asking = any(panel.pattern.headings for panel in design.panels)
    # Words that every piece has by the design itself are nobody's message.
    if not surveys or (asking and not any(panel.pattern.headings for panel in panels)):
        yield Finding(
            "no-words",
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
            yield _does_not_fit(survey, panel, place)
        forced = survey.text.strip().count("\n") + 1
        if forced > 1 and panel.ring is not None:
            yield _one_line(forced, place)
        elif forced > panel.style.max_lines:
            yield Finding(
                "more-lines",
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
            "missing-letter",
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
            "other-font",
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
        "not-spaced",
        Severity.NOTE,
        f"The letters of {shown} are joined: they stand without letter spacing.",
        "Nothing to do; spaced, they would fall apart.",
        **place,  # type: ignore[arg-type]
        figures={"letters": "".join(dict.fromkeys(survey.unspaced))},
    )


def _one_line(lines: int, place: Mapping[str, object]) -> Finding:
    return Finding(
        "one-line",
        Severity.ERROR,
        f"The cell has {lines} lines, and round a ring words stand on one.",
        "Take the line breaks out of the cell.",
        **place,  # type: ignore[arg-type]
        figures={"lines": lines},
    )


def _does_not_fit(survey: Survey, panel: Panel, place: Mapping[str, object]) -> Finding:
    letters = len(survey.text)
    over = max(1, math.ceil(letters * (1 - survey.largest_pt / survey.floor_pt)))
    more = "another line or smaller margins"
    if panel.ring is not None:
        more = "more degrees (most_deg) or a larger ring"
    return Finding(
        "does-not-fit",
        Severity.ERROR,
        f"{survey.text!r} fits at {_tenth(survey.largest_pt)} pt, and under"
        f" {survey.floor_pt:.1f} pt it cannot be read.",
        f"Shorten it by about {over} of its {letters} letters, allow {more} in the design,"
        " or choose a narrower font.",
        **place,  # type: ignore[arg-type]
        figures={
            "largest_pt": down(survey.largest_pt),
            "floor_pt": round(survey.floor_pt, 3),
            "letters_over": over,
        },
    )


def _tenth(size_pt: float) -> str:
    """Show a size rounded down: 11.96 pt is not yet 12."""
    return f"{math.floor(size_pt * 10 + 1e-6) / 10:.1f}"


def size_findings(
    panels: Sequence[Panel], rows: Sequence[int], sizes: Sizes, rule: str
) -> Iterator[Finding]:
    """Tell which messages stand apart in a batch that shares sizes.

    `rows` and `sizes.sizes_pt` go together; rows that fit at no size are left out.
    """
    place: dict[str, Any] = {"panel": _listed([panel.of for panel in panels])}
    blocks = [panel.block for panel in panels if panel.block is not None]
    place["block"] = _listed(blocks) if blocks else None
    for row in sizes.held_by:
        yield _holds_back(row, sizes, rule, place)
    if not sizes.steps_pt:
        return
    for row, size in zip(rows, sizes.sizes_pt, strict=True):
        if size not in sizes.steps_pt:
            shared = ", ".join(f"{step:.1f}" for step in sizes.steps_pt)
            yield Finding(
                "own-size",
                Severity.NOTE,
                f"Too long for the sizes of the set ({shared} pt): set at {size:.1f} pt.",
                "Shorten it if you want it like the others.",
                row,
                **place,
                figures={"size_pt": size, "smallest_step_pt": sizes.steps_pt[-1]},
            )


def _listed(names: Sequence[str]) -> str:
    """Name each once."""
    return " and ".join(dict.fromkeys(names))


def _holds_back(row: int, sizes: Sizes, rule: str, place: Mapping[str, Any]) -> Finding:
    size, without = sizes.steps_pt[0], sizes.without_pt or sizes.steps_pt[0]
    others = [str(held) for held in sizes.held_by if held != row]
    who, it = "This one keeps", "it"
    if others:
        who, it = f"This one and row {' and '.join(others)} keep", "them"
    which = "all others" if rule == "same" else "the largest size of the set"
    return Finding(
        "holds-back",
        Severity.NOTE,
        f"{who} {which} at {size:.1f} pt; without {it}"
        f" {'they' if rule == 'same' else 'that'} would be {without:.1f} pt.",
        "Shorten it if you want all larger."
        if not others
        else "Shorten them if you want all larger.",
        row,
        **place,
        figures={"size_pt": size, "without_pt": without},
    )


def design_findings(design: Design, bleed_on_sheet_mm: float | None) -> Iterator[Finding]:
    """Tell what is wrong with a design; `bleed_on_sheet_mm` is None before sheets."""
    yield from _bleed(design, bleed_on_sheet_mm)
    for panel in design.panels:
        yield from _type(panel)
    if design.loose_creases:
        count = design.loose_creases
        yield Finding(
            "loose-crease",
            Severity.WARNING,
            f"{count} crease{'s end' if count > 1 else ' ends'} inside a panel and"
            " divide nothing.",
            "Draw each crease from edge to edge.",
            figures={"creases": count},
        )
    if not design.size_stated:
        yield _size_not_stated(design)
    if design.mended:
        yield Finding(
            "mended",
            Severity.NOTE,
            f"The cut lines of {design.file} were mended, as asked:"
            f" {'; '.join(design.mended)}.",
            "Look at the cut file before you cut.",
            figures={"places": len(design.mended)},
        )
    yield from area_findings(design)
    yield from _weak(design)
    if design.left_out:
        yield _left_out(design)
    for use in design.use:
        says, do = _CARE[use]
        yield Finding(f"care-{use}", Severity.NOTE, says, do)


def _weak(design: Design) -> Iterator[Finding]:
    """Tell of places that may tear."""
    for weak in weak_places(design.outline, design.holes):
        says = weak.told(design.height_mm)
        yield Finding(
            weak.rule,
            weak.severity,
            f"{design.file}: {says}",
            weak.do,
            figures={"x_mm": round(weak.at[0], 3), "y_mm": round(weak.at[1], 3)},
        )


def unused_findings(
    designs: Sequence[Design], messages: Sequence[Message]
) -> Iterator[Finding]:
    """Tell of columns that are filled in and change nothing with any design."""
    versions = any(design.versions for design in designs)
    pictures = any(design.picture is not None for design in designs)
    for kind, word, used, remedy in (
        (VERSION, "versions", versions, "Describe them in the design"),
        (PICTURE, "place for pictures", pictures, "Give it one"),
    ):
        rows = [message.row for message in messages if message.own(kind)]
        if rows and not used:
            yield Finding(
                f"{kind}-unused",
                Severity.WARNING,
                f"{designs[0].name} has no {word}: the column {kind} is filled in"
                f" {len(rows)} rows and changes nothing.",
                f"{remedy}, or leave the column out.",
                column=kind,
                figures={"rows": len(rows)},
            )


def _type(panel: Panel) -> Iterator[Finding]:
    """Tell what a panel's type asks for and cannot have."""
    style = panel.style
    for tag, value in style.features:
        if value and tag not in style.font.face.features:
            yield Finding(
                "no-feature",
                Severity.NOTE,
                f"{style.font.name} has no feature {tag!r}: asking for it changes nothing.",
                "Take it out of features, or choose a font that has it.",
                panel=panel.of,
                block=panel.block,
                figures={"feature": tag, "font": style.font.name},
            )
    if style.hyphenate and not has_dictionary(style.language):
        yield Finding(
            "no-hyphenation",
            Severity.WARNING,
            f"There is no dictionary to hyphenate the language {style.language!r}: words"
            " stay whole.",
            "Take hyphenate out, or put soft hyphens (U+00AD) into long words.",
            panel=panel.of,
            block=panel.block,
            figures={"language": style.language},
        )


MOST_TOLD = 3
"""Things left out of a drawing that are named; more are counted."""


def _left_out(design: Design) -> Finding:
    more = len(design.left_out) - MOST_TOLD
    return Finding(
        "left-out",
        Severity.NOTE,
        f"Not everything in {design.file} is used: "
        + "; ".join(design.left_out[:MOST_TOLD])
        + (f"; and {more} more." if more > 0 else "."),
        "",
        figures={"things": len(design.left_out)},
    )


def _size_not_stated(design: Design) -> Finding:
    x0, y0, x1, y1 = design.box_mm
    wide, high = x1 - x0, y1 - y0
    others = " or ".join(
        f"{wide * 96 / px:.1f} x {high * 96 / px:.1f} mm at {px}" for px in (90, 72)
    )
    return Finding(
        "size-not-stated",
        Severity.WARNING,
        f"{design.file} states no size in mm or inches. Taken at 96 px to the inch,"
        f" the piece is {wide:.1f} x {high:.1f} mm ({wide / MM_PER_INCH:.2f} x"
        f" {high / MM_PER_INCH:.2f} in); it would be {others}.",
        "Write px_per_inch = 96, 90 or 72 in the design file, whichever is right.",
        figures={"width_mm": round(wide, 3), "height_mm": round(high, 3)},
    )


def _bleed(design: Design, on_sheet_mm: float | None) -> Iterator[Finding]:
    if design.margins.bleed <= 0:
        return
    for version, art in design.artworks.items():
        yield from _bare(design, version, art)
    if on_sheet_mm is not None and on_sheet_mm < CUT_SHIFT_MM:
        yield Finding(
            "narrow-bleed",
            Severity.NOTE,
            f"Pieces lie so close that only {on_sheet_mm:g} mm of bleed is printed; a cut"
            f" may be {CUT_SHIFT_MM:g} mm off.",
            f"Give a spacing of {2 * CUT_SHIFT_MM:g} mm or more.",
            figures={"bleed_mm": on_sheet_mm, "cut_shift_mm": CUT_SHIFT_MM},
        )


def _bare(design: Design, version: str, art: Artwork) -> Iterator[Finding]:
    bare = bare_bleed(art.svg, art.box_mm, design.outline, design.bleed)
    # Words on plain paper need no bleed.
    plain = bare.share > PLAIN_SHARE and not has_picture(art.svg)
    if bare.share <= BARE_SHARE or bare.middle is None or plain:
        return
    x, y = bare.middle
    x0, _, _, y1 = design.box_mm
    whose = f" of version {version!r}" if version else ""
    yield Finding(
        "bleed-missing",
        Severity.WARNING,
        f"The picture{whose} stops short of the bleed on {bare.share:.0%} of the edge, most"
        f" of it near {x - x0:.0f} mm from the left and {y1 - y:.0f} mm from the top"
        " of the piece. A shifted cut would show white there.",
        f"Draw it {design.margins.bleed:g} mm past the outline all round.",
        figures={"share": round(bare.share, 4)},
    )
