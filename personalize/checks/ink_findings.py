"""Whether artwork, pictures and words lay down more ink than a press takes.

Rules, by severity:
  warning  total-ink
  note     ink-not-known
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from personalize.checks.total_ink import InkLook, ink_of_artwork, ink_of_picture
from personalize.colour_profile import Profile
from personalize.design.chosen import Picture
from personalize.design.design import Design
from personalize.design.press_colours import Press, UnusableProfileError
from personalize.design.style import Colour
from personalize.finding import Finding, Severity
from personalize.rules import Rule

MOST_INK = 300.0
"""Percent of all inks together in one place. Common practice, no source; shops and papers
differ, which is why it can be set."""
_FOUR = 4
_PICTURES = "the pictures of the rows"


@dataclass(frozen=True, slots=True)
class InkLimit:
    """What a press takes, and how colours of a screen come to it."""

    most_percent: float
    press: Press | None
    """None where they cannot be converted."""
    why: str
    """Why not, or by what they are, for a sentence."""


def ink_limit(most_percent: float, profile: Profile | None) -> InkLimit:
    """Make ready to measure ink for the press of a profile."""
    if profile is None:
        return InkLimit(most_percent, None, "no profile of the press is given")
    if profile.inks != _FOUR:
        why = f"the profile {profile.name} is not for four inks"
        return InkLimit(most_percent, None, why)
    try:
        press = Press(profile.data)
    except UnusableProfileError as error:
        return InkLimit(most_percent, None, f"of the profile {profile.name}: {error}")
    return InkLimit(most_percent, press, f"converted by {profile.name}")


def ink_findings(
    design: Design,
    pictures: Iterable[tuple[int, Picture]],
    words: Iterable[tuple[str, Colour]],
    limit: InkLimit,
) -> Iterator[Finding]:
    """Tell of too much ink in a design, in pictures (with their rows), in words.

    `words` are panels with the colours of their words.
    """
    unknown = []
    for version, art in design.artworks.items():
        whose = f"the artwork of version {version!r}" if version else "the artwork"
        look = ink_of_artwork(art, limit.press)
        yield from _too_much(look, whose, limit)
        if look.screen or look.odd:
            unknown.append((whose, look))
    seen = set()
    for row, picture in pictures:
        if picture.path in seen:
            continue
        seen.add(picture.path)
        wide, high = picture.width_mm, float(np.hypot(picture.place.c, picture.place.d))
        look = ink_of_picture(picture.path, (wide, high), limit.press)
        yield from _too_much(look, f"the picture {picture.file!r}", limit, row=row)
        if look.screen and all(whose != _PICTURES for whose, _ in unknown):
            unknown.append((_PICTURES, look))
    yield from _words(words, limit)
    for whose, look in unknown:
        yield _not_known(whose, look, limit)


def _words(words: Iterable[tuple[str, Colour]], limit: InkLimit) -> Iterator[Finding]:
    if limit.press is None:
        return
    for panel, colour in dict.fromkeys(words):
        if colour.red == colour.green == colour.blue:
            continue  # printed with black alone
        levels = np.array([[colour.red, colour.green, colour.blue]])
        inks = limit.press.inks(np.round(levels * 255).astype(np.uint8))
        look = InkLook(float(inks.sum()), converted=True)
        yield from _too_much(look, f"the colour {colour.css} of words", limit, panel=panel)


def _too_much(
    look: InkLook,
    whose: str,
    limit: InkLimit,
    row: int | None = None,
    panel: str | None = None,
) -> Iterator[Finding]:
    percent = look.most * 100
    if percent <= limit.most_percent + 0.5:
        return
    whose = whose[:1].upper() + whose[1:]
    how = limit.why if look.converted else "summed as it stands"
    yield Finding(
        Rule.TOTAL_INK,
        Severity.WARNING,
        f"{whose} lays down up to {percent:.0f} % of ink ({how}), more than"
        f" {limit.most_percent:g} %: it may dry badly and set off on the next sheet.",
        "Lighten its darkest parts; or say --most-ink, if your shop's press takes more.",
        row,
        panel=panel,
        figures={
            "percent": round(percent, 1),
            "limit_percent": limit.most_percent,
            "converted": look.converted,
        },
    )


def _not_known(whose: str, look: InkLook, limit: InkLimit) -> Finding:
    why = []
    if look.screen:
        why.append(f"colours of a screen ({limit.why})")
    if look.odd:
        why.append("painting of a kind that is not measured")
    return Finding(
        Rule.INK_NOT_KNOWN,
        Severity.NOTE,
        f"How much ink the press lays down is not known for {' and '.join(why)} in"
        f" {whose}.",
        "Name the ICC profile of the shop's press with --profile, or ask the shop to look."
        if look.screen
        else "Ask the shop to look.",
        figures={"measured_percent": round(look.most * 100, 1)},
    )
