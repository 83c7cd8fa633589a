"""What a print shop would send a job back for, told before it is sent.

Rules: shop-bleed, small-text-in-several-inks, no-output-intent.
"""

from collections.abc import Iterable, Iterator

from personalize.design.design import Design
from personalize.design.style import Colour
from personalize.finding import Finding, Severity
from personalize.rules import Rule

SHOP_BLEED_MM = 3.0
SMALL_PT = 9.0
"""Letters under this want one ink: plates never meet to a hair. Common practice, no
source."""

SetText = tuple[str, float, Colour]
"""Panel, size in points and colour of a text."""


def shop_findings(
    design: Design, texts: Iterable[SetText], *, profile: bool
) -> Iterator[Finding]:
    """Tell what is wrong with a design and its texts for a print shop."""
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
    if not profile:
        yield Finding(
            Rule.NO_OUTPUT_INTENT,
            Severity.NOTE,
            "Colours in shop.pdf are as screens have them, and the file does not say for"
            " which press they are meant.",
            "Your shop converts them. An ICC profile of its press is named with --profile.",
        )


def _one_ink(colour: Colour) -> bool:
    """Whether a press prints a colour with black alone, or with none."""
    return colour.red == colour.green == colour.blue
