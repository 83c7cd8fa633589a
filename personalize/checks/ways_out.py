"""Ways out for words that do not fit: each is tried, and told with what it would give.

Only what was computed is said. The first `MOST_TRIED` overflows of a run get every way,
the rest are told by about how many letters they are too long.
"""

import math
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from personalize.design.design import Design, Panel
from personalize.design.keep_off import crease_margin_mm
from personalize.finding import Figure
from personalize.fonts.catalogue import Font, catalogue
from personalize.geometry.zone import grown, keep_away
from personalize.type.compose import Survey, Typesetter
from personalize.type.sizes import down, reaches
from personalize.units import FLATTEN_MM

MOST_TRIED = 20
"""Overflows of a run for which every way is tried."""
MORE_LINES = 2
"""So many lines more than the design has are tried."""
LEAST_MARGIN_MM = 1.5
"""Words nearer to the blade are in danger: twice what a cut may be off, and a little.
Common practice, no source."""
MARGIN_STEP_MM = 0.5
MOST_MARGINS = 4
LONG_WORD = 12
"""Letters from which a word is tried with a soft hyphen. Judgement."""
MOST_DEG = 340.0
"""Largest angle that a text on a ring may take."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way out, and what it gives."""

    how: str
    """What to do in the design, as a clause: "max_lines = 4"."""
    key: str
    """Name among the figures."""
    size_pt: float
    floor_pt: float

    @property
    def works(self) -> bool:
        """Whether the words reach a legible size by it."""
        return reaches(self.size_pt, self.floor_pt)


@dataclass(frozen=True, slots=True)
class Remedy:
    """What to do about one overflow."""

    do: str
    letters_over: int
    figures: Mapping[str, Figure]


class WaysOut:
    """Tries ways out for the overflows of one run, in the order that it is asked."""

    def __init__(self, design: Design) -> None:
        self._design = design
        self._known: dict[tuple[str, str, str], Remedy] = {}
        self._tried = 0
        self._setters: dict[tuple[str, str], Typesetter | None] = {}

    def of(self, survey: Survey) -> Remedy:
        """Give the remedy for a text that does not fit."""
        panel = self._design.panel(survey.panel)
        # Panels that face each other share zone and style: one search does for both.
        first = min(panel.name, panel.faces or panel.name)
        key = (first, survey.text, survey.colour.css)
        if key not in self._known:
            self._known[key] = self._remedy(survey, panel)
        return self._known[key]

    def _remedy(self, survey: Survey, panel: Panel) -> Remedy:
        letters = len(survey.text)
        over = max(1, math.ceil(letters * (1 - survey.largest_pt / survey.floor_pt)))
        shorten = f"Shorten it by about {over} of its {letters} letters"
        whole = panel.style.allergen
        self._tried += 1
        if self._tried > MOST_TRIED:
            do = "Give it more room in the design" if whole else shorten
            return Remedy(f"{do}; see the first rows for ways out in the design.", over, {})
        ways = list(self._ways(survey, panel))
        figures: dict[str, Figure] = {way.key: down(way.size_pt) for way in ways}
        says = []
        if whole:
            says.append("Words on allergens are never shortened: give them room.")
        else:
            fewer = self._fewer(survey, panel)
            if fewer is not None:
                over, size_pt = fewer
                figures["shorter_pt"] = down(size_pt)
                shorten = (
                    f"Shorten it by {over} of its {letters} letters, which gives"
                    f" {tenth(size_pt)} pt"
                )
            says.append(f"{shorten}.")
            ways += self._hyphened(survey, panel)
            figures |= {way.key: down(way.size_pt) for way in ways}
        return Remedy(" ".join([*says, *_told(ways)]), over, figures)

    def _ways(self, survey: Survey, panel: Panel) -> Iterator[Way]:
        """Try what a design can change, the least change first."""
        for how, key, changed in _changes(panel):
            way = self._try(survey, changed, how, key)
            if way is not None:
                yield way
        smaller = (
            self._try(survey, changed, how, "smaller_margin_pt")
            for how, changed in _margins(panel, self._design)
        )
        yield from _first_that_works(way for way in smaller if way is not None)
        yield from self._best_font(survey, panel)

    def _hyphened(self, survey: Survey, panel: Panel) -> Iterator[Way]:
        """Try a soft hyphen in the middle of the longest word."""
        word = max(survey.text.split(), key=len)
        middle = len(word) // 2
        if len(word) < LONG_WORD or word.lower() == word.upper() or panel.ring:
            return
        broken = f"{word[:middle]}\u00ad{word[middle:]}"
        one = replace(survey, text=survey.text.replace(word, broken, 1))
        way = self._try(one, panel, "", "")
        if way is not None:
            how = "a soft hyphen (U+00AD) within its longest word"
            yield replace(way, how=how, key="soft_hyphen_pt")

    def _best_font(self, survey: Survey, panel: Panel) -> Iterator[Way]:
        """Give the bundled font in which the words come nearest to their floor."""
        tried = []
        for font in _text_fonts():
            if font.name != panel.style.font.name:
                changed = replace(
                    panel, style=replace(panel.style, font=font, script_face=None)
                )
                how = f"the font {font.name}"
                way = self._try(survey, changed, how, "other_font_pt")
                if way is not None and way.size_pt > survey.largest_pt:
                    tried.append(way)
        if tried:
            yield max(tried, key=lambda way: way.size_pt / way.floor_pt)

    def _try(self, survey: Survey, changed: Panel, how: str, key: str) -> Way | None:
        setter = self._setter(changed, how)
        if setter is None:
            return None
        (found,) = setter.survey({changed.name: survey.text}, survey.colour)
        return Way(how, key, found.largest_pt, found.floor_pt)

    def _setter(self, panel: Panel, how: str) -> Typesetter | None:
        """Make a design of one changed panel ready, once for all overflows."""
        key = (panel.name, how)
        if key not in self._setters:
            alone = replace(self._design, panels=(replace(panel, faces=None),))
            self._setters[key] = Typesetter(alone)
        return self._setters[key]

    def _fewer(self, survey: Survey, panel: Panel) -> tuple[int, float] | None:
        """Find how many letters less would do, by taking them off the longest words."""
        low, high = 1, len(survey.text) - 1
        found = None
        while low <= high:
            middle = (low + high) // 2
            text = shortened(survey.text, middle)
            way = None
            if text.strip():
                one = replace(survey, text=text)
                way = self._try(one, panel, "", "")
            if way is not None and way.works:
                found, high = (middle, way.size_pt), middle - 1
            else:
                low = middle + 1
        return found


def shortened(text: str, letters: int) -> str:
    """Take letters off the ends of the longest words; marks go with their letter.

    >>> shortened("Wilhelmina Bo", 8)
    'Wi Bo'
    """
    words = text.split(" ")
    for _ in range(letters):
        at = max(range(len(words)), key=lambda i: len(words[i]))
        word = words[at]
        while word:
            last, word = word[-1], word[:-1]
            if not unicodedata.combining(last):
                break
        words[at] = word
    return " ".join(word for word in words if word)


def tenth(size_pt: float) -> str:
    """Show a size rounded down: 11.96 pt is not yet 12.

    >>> tenth(11.96)
    '11.9'
    """
    return f"{math.floor(size_pt * 10 + 1e-6) / 10:.1f}"


def _told(ways: list[Way]) -> Iterator[str]:
    enough = [way for way in ways if way.works]
    short = [way for way in ways if not way.works]
    if enough:
        yield f"Or: {_listed(enough)}."
    if short:
        yield f"Not enough: {_listed(short)}."


def _listed(ways: list[Way]) -> str:
    return ", ".join(f"{way.how} ({tenth(way.size_pt)} pt)" for way in ways)


def _first_that_works(ways: Iterator[Way]) -> Iterator[Way]:
    """Give the first way that works, else the last one tried."""
    last = None
    for last in ways:
        if last.works:
            break
    if last is not None:
        yield last


def _changes(panel: Panel) -> Iterator[tuple[str, str, Panel]]:
    """Keys of the type that a maker can change: how, name among the figures, panel."""
    style = panel.style
    if panel.ring is not None:
        if panel.ring.most_deg < MOST_DEG:
            wider = replace(panel.ring, most_deg=MOST_DEG)
            how = f"most_deg = {MOST_DEG:g}"
            yield how, "wider_ring_pt", replace(panel, ring=wider)
    else:
        for lines in range(style.max_lines + 1, style.max_lines + 1 + MORE_LINES):
            more = replace(style, max_lines=lines)
            yield f"max_lines = {lines}", f"lines_{lines}_pt", replace(panel, style=more)
    if style.letter_spacing_em > 0:
        closer = replace(style, letter_spacing_em=0.0)
        yield "letter_spacing_em = 0", "unspaced_pt", replace(panel, style=closer)
    if style.case == "upper":
        small = replace(style, case="as-typed")
        yield 'case = "as-typed"', "as_typed_pt", replace(panel, style=small)


def _margins(panel: Panel, design: Design) -> Iterator[tuple[str, Panel]]:
    """Zones with a smaller margin of the outline, down to `LEAST_MARGIN_MM`.

    What is tried lies within the zone that the design would have, so it gives no more.
    """
    now = design.margins.outline
    holed = bool(panel.region.holes) or bool(design.holes and panel.faces)
    if panel.block is not None or panel.ring is not None or holed or design.picture:
        return
    steps = math.floor((now - LEAST_MARGIN_MM) / MARGIN_STEP_MM + 1e-9)
    if steps < 1:
        return
    for nth in range(1, min(steps, MOST_MARGINS) + 1):
        margin = now - MARGIN_STEP_MM * math.ceil(steps * nth / min(steps, MOST_MARGINS))
        wider = grown(panel.zone, now - margin)
        lines = [(design.outline.flattened(FLATTEN_MM), True, margin)]
        away = crease_margin_mm(design.margins, design.stick)
        lines += [(c.flattened(FLATTEN_MM), c.closed, away) for c in design.creases]
        left = keep_away(wider, lines)
        if left:
            yield f"outline = {margin:g} under [margins]", replace(panel, zone=left[0])


@lru_cache(maxsize=1)
def _text_fonts() -> tuple[Font, ...]:
    return tuple(font for font in catalogue() if font.role == "text")
