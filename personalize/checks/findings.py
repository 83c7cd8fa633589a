"""Findings about a design: its artwork, bleed, lines and type; columns it leaves unused.

What is wrong with single messages is told by `text_findings`, what a row chooses beside
its words by `personalize.design.chosen`.
"""

from collections.abc import Iterator, Sequence

from personalize.checks.artwork_findings import artwork_findings
from personalize.checks.line_findings import area_findings
from personalize.checks.paper_findings import paper_findings
from personalize.design.design import CUT_SHIFT_MM, Design, Panel
from personalize.design.trouble import weak_places
from personalize.finding import Finding, Severity
from personalize.messages.reserved import PICTURE, VERSION
from personalize.messages.table import Message
from personalize.rules import Rule
from personalize.type.hyphens import has_dictionary
from personalize.units import MM_PER_INCH

HAIR_MM = 1e-9
_CARE = {
    "food": (
        "Ink and paper are not made to touch food: let print dry, and keep it off what is"
        " eaten.",
        "Follow your local food rules (in Europe Regulation (EC) 1935/2004, in the United"
        " States 21 CFR 176); a licensed kitchen answers for its labels.",
    ),
    "children": (
        "Small parts, sticks and string can choke or hurt a small child, and blades and"
        " picks are for grown-ups.",
        "Keep pieces from children under three, and follow your local toy safety rules (in"
        " the United States 16 CFR 1501).",
    ),
    "flame": (
        "Paper burns.",
        "Keep pieces away from candles and heat, and never leave a flame alone.",
    ),
    "allergen": (
        "Words on allergens must be complete, right and legible: nothing of them is ever"
        " shortened here, and what is hard to read counts as an error.",
        "Compare every word with the recipe, and follow your local rules (in Europe"
        " Regulation (EU) 1169/2011, in the United States 21 USC 343(w)).",
    ),
    "stick": (
        "A stick or pick can hurt an eye or a mouth.",
        "Take it out before the food is eaten by children, and use clean ones in food.",
    ),
}


def design_findings(design: Design, bleed_on_sheet_mm: float | None) -> Iterator[Finding]:
    """Tell what is wrong with a design; `bleed_on_sheet_mm` is None before sheets."""
    yield from artwork_findings(design)
    yield from _bleed(design, bleed_on_sheet_mm)
    yield from paper_findings(design)
    for panel in design.panels:
        yield from _type(panel)
    yield from _drawing(design)
    wording = any(panel.style.allergen for panel in design.panels)
    uses = [*design.use, *["allergen"] * wording, *["stick"] * bool(design.stick)]
    for use in dict.fromkeys(uses):
        says, do = _CARE[use]
        yield Finding(Rule(f"care-{use}"), Severity.NOTE, says, do)


def back_findings(back: Design, bleed_on_sheet_mm: float | None) -> Iterator[Finding]:
    """Tell what is wrong with a back, beside what is wrong with the lines of its front."""
    yield from artwork_findings(back)
    yield from _bleed(back, bleed_on_sheet_mm)
    for panel in back.panels:
        yield from _type(panel)
    yield from area_findings(back)
    if back.left_out:
        yield _left_out(back)
    yield from back.told


def _drawing(design: Design) -> Iterator[Finding]:
    """Tell what is wrong with the lines and the size of its drawing."""
    if design.loose_creases:
        count = design.loose_creases
        yield Finding(
            Rule.LOOSE_CREASE,
            Severity.WARNING,
            f"{count} crease{'s end' if count > 1 else ' ends'} inside a panel and"
            f" divide{'s' * (count == 1)} nothing.",
            "Draw each crease from edge to edge.",
            figures={"creases": count},
        )
    if not design.size_stated:
        yield _size_not_stated(design)
    if design.mended:
        yield Finding(
            Rule.MENDED,
            Severity.NOTE,
            f"The cut lines of {design.file} were mended, as asked:"
            f" {'; '.join(design.mended)}.",
            "Look at the cut file before you cut.",
            figures={"places": len(design.mended)},
        )
    yield from area_findings(design)
    yield from _weak(design)


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
    if design.left_out:
        yield _left_out(design)


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
                Rule(f"{kind}-unused"),
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
                Rule.NO_FEATURE,
                Severity.NOTE,
                f"{style.font.name} has no feature {tag!r}: asking for it changes nothing.",
                "Take it out of features, or choose a font that has it.",
                panel=panel.of,
                block=panel.block,
                figures={"feature": tag, "font": style.font.name},
            )
    if style.hyphenate and not has_dictionary(style.language):
        yield Finding(
            Rule.NO_HYPHENATION,
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
        Rule.LEFT_OUT,
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
        Rule.SIZE_NOT_STATED,
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
    if design.margins.bleed < CUT_SHIFT_MM:
        yield Finding(
            Rule.NARROW_BLEED,
            Severity.WARNING,
            f"The design asks for {design.margins.bleed:g} mm of bleed; a cut may be"
            f" {CUT_SHIFT_MM:g} mm off, and would show paper.",
            "Write bleed = 2 under [margins], and draw the picture that far.",
            figures={"bleed_mm": design.margins.bleed, "cut_shift_mm": CUT_SHIFT_MM},
        )
        return
    off = CUT_SHIFT_MM + design.shift_mm
    if on_sheet_mm is None or on_sheet_mm >= off - HAIR_MM:
        return
    why = f"a cut may be {CUT_SHIFT_MM:g} mm off"
    if design.shift_mm > 0:
        why += f", and the print of the back {design.shift_mm:g} mm beside the front's"
    yield Finding(
        Rule.NARROW_BLEED,
        Severity.NOTE,
        f"Pieces lie so close that only {on_sheet_mm:g} mm of bleed is printed; {why}.",
        f"Give a spacing of {2 * off:g} mm or more.",
        figures={
            "bleed_mm": on_sheet_mm,
            "cut_shift_mm": CUT_SHIFT_MM,
            "two_sided_shift_mm": design.shift_mm,
        },
    )
