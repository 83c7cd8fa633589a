"""Whether words keep the distances that scissors or a print shop ask for.

Rule: safe-distance. The safe zones of a design are made for a home machine, or as its
maker says; other ways to cut are off by more.
"""

from collections.abc import Iterator

from personalize.design.design import Design, LineKind, Margins
from personalize.finding import Finding, Severity
from personalize.rules import Rule

BY_HAND = Margins(outline=4.0, crease=3.0, hole=4.0, glue=2.0, bleed=3.0)
"""For scissors. Common practice, no source."""
AT_A_SHOP = Margins(outline=3.0, crease=3.0, hole=3.0, glue=1.0, bleed=3.0)
"""For a print shop. Common practice, no source."""


def safe_distances(design: Design, wanted: Margins, how: str) -> Iterator[Finding]:
    """Tell which distances of words are shorter than wanted; `how` names the way."""
    if not design.panels:
        return
    kinds = {line.kind for line in design.lines}
    has = {
        "outline": True,
        "crease": LineKind.CREASING in kinds,
        "hole": bool(design.holes),
        "glue": LineKind.GLUING in kinds,
    }
    short = {
        name: (getattr(design.margins, name), getattr(wanted, name))
        for name, is_there in has.items()
        if is_there and getattr(design.margins, name) < getattr(wanted, name)
    }
    if not short:
        return
    told = ", ".join(f"{own:g} mm to the {name}" for name, (own, _) in short.items())
    keys = ", ".join(f"{name} = {most:g}" for name, (_, most) in short.items())
    yield Finding(
        Rule.SAFE_DISTANCE,
        Severity.NOTE,
        f"Words may come near to where it is cut or folded: {told}. {how} is off by more"
        " than a home machine.",
        f"Write {keys} under [margins], and look at the sizes.",
        figures={f"{name}_mm": own for name, (own, _) in short.items()},
    )
