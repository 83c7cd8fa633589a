"""What a print shop would send a job back for, told before it is sent.

Rules: shop-bleed, safe-distance, shop-pictures, shop-spacing, small-text-in-several-inks,
die-line-ink, no-output-intent.
"""

from collections.abc import Iterable, Iterator

from personalize.checks.coarse_parts import pictures_in
from personalize.checks.safe_distances import AT_A_SHOP, safe_distances
from personalize.design.chosen import Picture
from personalize.design.design import Design, LineKind
from personalize.design.painted import painted_with
from personalize.design.style import Colour
from personalize.finding import Finding, Severity
from personalize.rules import Rule

SHOP_BLEED_MM = 3.0
SHOP_PX_PER_INCH, REFUSED_PX_PER_INCH = 250.0, 150.0
"""Pictures under the first look soft in print, those under the second are mostly sent
back. Common practice, no source."""
SHOP_SPACING_MM = 6.0
"""Between pieces that are ganged on a sheet. Common practice, no source."""
SMALL_PT = 9.0
"""Letters under this want one ink: plates never meet to a hair. Common practice, no
source."""

SetText = tuple[str, float, Colour]
"""Panel, size in points and colour of a text."""


def shop_findings(
    design: Design, texts: Iterable[SetText], *, inks: int | None
) -> Iterator[Finding]:
    """Tell what is wrong with a design and its texts for a print shop.

    `inks` are those of the press by its profile; None where none is given.
    """
    bleed = design.margins.bleed
    if bleed < SHOP_BLEED_MM:
        yield Finding(
            Rule.SHOP_BLEED,
            Severity.WARNING,
            f"The bleed is {bleed:g} mm; print shops mostly ask for {SHOP_BLEED_MM:g}.",
            f"Draw the artwork {SHOP_BLEED_MM:g} mm past the outline and write"
            f" bleed = {SHOP_BLEED_MM:g} under [margins], or ask your shop.",
            figures={"bleed_mm": bleed, "wanted_mm": SHOP_BLEED_MM},
        )
    yield from safe_distances(design, AT_A_SHOP, "The cut of a press run")
    small = [t for t in texts if t[1] < SMALL_PT and not _one_ink(t[2])]
    for panel in dict.fromkeys(panel for panel, _, _ in small):
        sizes = [size for name, size, _ in small if name == panel]
        count = len(sizes)
        yield Finding(
            Rule.SMALL_TEXT_IN_SEVERAL_INKS,
            Severity.WARNING,
            f"{count} text{'s' if count > 1 else ''} under {SMALL_PT:g} pt"
            f" (down to {min(sizes):.1f}) {'are' if count > 1 else 'is'} in a colour that a"
            " press mixes from several inks; small letters may look blurred.",
            'Use black (colour = "#000") there, or let the words be larger.',
            panel=panel,
            figures={"texts": count, "least_pt": round(min(sizes), 3)},
        )
    yield from _die_line_inks(design)
    yield from _intent(inks)


def _die_line_inks(design: Design) -> Iterator[Finding]:
    """Tell of inks of the artwork that would be on the plate of die lines."""
    kinds = {kind.value.casefold() for kind in LineKind}
    for version, art in design.artworks.items():
        if art.page is None:  # a drawing has no inks of its own
            continue
        whose = f"The artwork of version {version!r}" if version else "The artwork"
        inks = [one for one in painted_with(art).spots if one.casefold() in kinds]
        for ink in sorted(inks):
            yield Finding(
                Rule.DIE_LINE_INK,
                Severity.WARNING,
                f"{whose} is painted with an ink named {ink!r}, as die lines in the files"
                " for the shop are: it leaves that plate off, or cuts along what is"
                " painted.",
                "Take die lines out of the artwork, or give the ink another name.",
            )


def _intent(inks: int | None) -> Iterator[Finding]:
    """Tell where the file does not say for which press its colours are meant."""
    if inks == 1:
        yield Finding(
            Rule.NO_OUTPUT_INTENT,
            Severity.NOTE,
            "The profile is for black alone: it says nothing of what becomes of colours in"
            " shop.pdf.",
            "Name a profile of the press's colours, or ask your shop for print in black.",
            figures={"inks": inks},
        )
    if inks is None:
        yield Finding(
            Rule.NO_OUTPUT_INTENT,
            Severity.NOTE,
            "Colours in shop.pdf are as screens have them, and the file does not say for"
            " which press they are meant.",
            "Your shop converts them. An ICC profile of its press is named with --profile.",
        )


def picture_findings(
    design: Design, pictures: Iterable[tuple[int, Picture]]
) -> Iterator[Finding]:
    """Tell of the artworks' pictures and of those of rows that are coarse for a press."""
    seen = [
        (
            one.px_per_inch,
            f"the artwork of version {version!r}" if version else "the artwork",
        )
        for version, art in design.artworks.items()
        for one in pictures_in(art, whole=True)
    ]
    seen += [(one.px_per_inch, f"{one.file!r} of row {row}") for row, one in pictures]
    coarse = sorted(one for one in seen if one[0] < SHOP_PX_PER_INCH)
    if not coarse:
        return
    least, whose = coarse[0]
    many = len(coarse) > 1
    says = f"{len(coarse)} pictures have" if many else "A picture has"
    which = f"the coarsest, {least:.0f}," if many else f"{least:.0f}"
    sent_back = "; under 150 a shop mostly sends them back" * (least < REFUSED_PX_PER_INCH)
    yield Finding(
        Rule.SHOP_PICTURES,
        Severity.WARNING,
        f"{says} under {SHOP_PX_PER_INCH:.0f} pixels to the inch, which print shops mostly"
        f" ask for: {which} in {whose}{sent_back}.",
        "Take larger pictures (300 to the inch look sharp), or ask your shop.",
        figures={"pictures": len(coarse), "px_per_inch": round(least, 1)},
    )


def ganged_findings(spacing_mm: float) -> Iterator[Finding]:
    """Tell where pieces lie nearer on a sheet than a shop's guillotine or die wants."""
    if spacing_mm < SHOP_SPACING_MM:
        yield Finding(
            Rule.SHOP_SPACING,
            Severity.NOTE,
            f"On shop-sheets.pdf pieces lie {spacing_mm:g} mm apart; print shops mostly ask"
            f" for {SHOP_SPACING_MM:g}.",
            f"Write --spacing {SHOP_SPACING_MM:g}, or let the shop arrange shop.pdf.",
            figures={"spacing_mm": spacing_mm, "wanted_mm": SHOP_SPACING_MM},
        )


def _one_ink(colour: Colour) -> bool:
    """Whether a press prints a colour with black alone, or with none."""
    return colour.red == colour.green == colour.blue
