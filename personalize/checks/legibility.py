"""Whether words can be read: at their distance, in their strokes, on their artwork.

The floor itself (`does-not-fit`) is kept by the type stage; this is told of texts that
have their sizes. Many of one kind in one place are told as one.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from personalize.checks.contrast import (
    LEAST_LARGE_RATIO,
    Contrast,
    Ground,
    least_ratio,
)
from personalize.checks.strokes import thinnest_em, thinnest_of_em
from personalize.checks.torn_words import PartingLines
from personalize.design.chosen import Chosen
from personalize.design.design import Design, Panel
from personalize.finding import Figure, Finding, Severity
from personalize.fonts.catalogue import Font
from personalize.messages.grid import numbers_told, runs_of
from personalize.rules import Rule
from personalize.type.compose import ComposedText, Survey
from personalize.units import PT_PER_MM

DISTANCE_PARTS = 200.0
"""A letter is as high as the distance divided by this: 17 minutes of arc. Handbook figure,
https://www.taylorfrancis.com/books/e/9781315098128/chapters/10.1201/b22361-52"""
LEAST_STROKE_MM, LEAST_LIGHT_STROKE_MM = 0.2, 0.35
"""Thinnest strokes that print, dark and light. Common practice, no source."""
FAINT_SHARE = 0.05
"""So much of the ink may stand on too little contrast: a leaf's edge. Judgement."""
MET_MM = 0.35
"""Ink that comes so near to a line is told to lie over it: places under it are looked at
so far apart. Judgement."""
MOST_SINGLE = 20
"""Findings of one rule in one place that are told row by row. Judgement."""


@dataclass(frozen=True, slots=True)
class Read:
    """One text with its size, ready to be looked at."""

    row: int
    survey: Survey
    size_pt: float
    chosen: Chosen
    set_it: Callable[[], ComposedText]
    """Sets the text; only where its glyphs must be looked at."""


@dataclass(slots=True)
class _Kind:
    """Texts of one place that have the same fault."""

    rule: Rule
    panel: Panel
    do: str
    hits: list[tuple[int, str, dict[str, Figure]]] = field(default_factory=list)
    """Row, what is wrong, figures; the worst is told where they are many."""


def legibility_findings(design: Design, texts: Iterable[Read]) -> Iterator[Finding]:
    """Tell which texts of a batch are hard to read."""
    kinds: dict[tuple[Rule, str, str], _Kind] = {}
    contrast, torn = Contrast(design), PartingLines(design)
    told = set()
    for text in texts:
        panel = design.panel(text.survey.panel)
        faults = [*_faults(panel, text, contrast), *_torn(text, torn)]
        for rule, says, do, figures in faults:
            # The same words on the panel that faces this one are told once.
            key = (rule, text.row, says, panel.block)
            if key not in told:
                told.add(key)
                kind = kinds.setdefault((rule, panel.name, do), _Kind(rule, panel, do))
                kind.hits.append((text.row, says, figures))
    for kind in kinds.values():
        grave = kind.panel.style.allergen
        yield from _told(kind, Severity.ERROR if grave else Severity.WARNING)


_Fault = tuple[Rule, str, str, dict[str, Figure]]


def _faults(panel: Panel, text: Read, contrast: Contrast) -> Iterator[_Fault]:
    yield from _distance(panel, text)
    if panel.style.rim is None:
        yield from _stroke(panel, text)
        yield from _borrowed_strokes(panel, text)
    ground = contrast.ground(panel, text.chosen, text.survey.colour)
    if not ground.clear:
        yield from _faint(text, contrast, ground)


def _distance(panel: Panel, text: Read) -> Iterator[_Fault]:
    away = panel.style.read_from_m
    if away is None:
        return
    least = away * 1000 / DISTANCE_PARTS
    high = panel.style.font.face.cap_height * text.size_pt / PT_PER_MM
    if high >= least - 1e-9:
        return
    reach = high * DISTANCE_PARTS / 1000
    least_pt = text.size_pt * least / high
    yield (
        Rule.SMALL_FOR_DISTANCE,
        f"Capitals are {high:.1f} mm high at {text.size_pt:.1f} pt, good for {reach:.1f} m;"
        f" to be read from {away:g} m they need {least:.1f} mm ({least_pt:.1f} pt).",
        "Give the words more room, or say a smaller read_from_m."
        if panel.style.allergen
        else "Shorten the words, give them more room, or say a smaller read_from_m.",
        {"letter_mm": round(high, 3), "least_mm": round(least, 3)},
    )


def _stroke(panel: Panel, text: Read) -> Iterator[_Fault]:
    font = panel.style.font
    for needed_pt, says, figures in _thin(text, font, thinnest_em(font)):
        do = f"Take a bolder font, or let {font.name} be at least {needed_pt:.1f} pt."
        yield Rule.THIN_STROKE, says, do, figures


def _borrowed_strokes(panel: Panel, text: Read) -> Iterator[_Fault]:
    """Look at letters that the design's own font lacks: at each as it is drawn."""
    if not text.survey.borrowed:
        return
    used: dict[tuple[Font, float], set[int]] = {}
    for line in text.set_it().lines:
        for run in line.shaped.runs:
            if run.font != panel.style.font and run.font.role != "emoji":
                used.setdefault((run.font, run.scale), set()).update(run.ids)
    for (font, scale), gids in used.items():
        thin = thinnest_of_em(font, gids)
        for needed_pt, says, figures in _thin(text, font, thin and thin * scale):
            do = (
                f"Name a bolder font that has these letters, or let"
                f" {panel.style.font.name} be at least {needed_pt:.1f} pt."
            )
            yield Rule.THIN_STROKE, says, do, figures


def _thin(
    text: Read, font: Font, thin_em: float | None
) -> Iterator[tuple[float, str, dict[str, Figure]]]:
    """Give the size that strokes need, what is wrong, figures; nothing if all is well."""
    light = text.survey.colour.is_light
    least = LEAST_LIGHT_STROKE_MM if light else LEAST_STROKE_MM
    if thin_em is None:
        return
    width = thin_em * text.size_pt / PT_PER_MM
    # Two figures are what is told, and what a printer could keep apart.
    if round(width, 2) >= least:
        return
    kind = "Light words are filled in by ink" if light else "They may break up in print"
    says = (
        f"The thinnest strokes of {font.name} are {width:.2f} mm at {text.size_pt:.1f} pt,"
        f" under {least:g} mm. {kind}."
    )
    figures: dict[str, Figure] = {"stroke_mm": round(width, 3), "least_mm": least}
    yield least / thin_em * PT_PER_MM, says, figures


def _faint(text: Read, contrast: Contrast, ground: Ground) -> Iterator[_Fault]:
    share, ratio, what = ground.share, ground.ratio, "the panel"
    least = LEAST_LARGE_RATIO
    if not ground.faint:
        composed = text.set_it()
        share, ratio = contrast.faint(composed, text.chosen)
        least, what = least_ratio(composed), "their ink"
        if share <= FAINT_SHARE:
            return
    version = text.chosen.version_name
    where = f" of version {version}" if version else ""
    where += f" and the picture {ground.picture!r}" if ground.picture else ""
    yield (
        Rule.FAINT_WORDS,
        f"The words stand out too little from the artwork{where} on {share:.0%} of {what}:"
        f" a contrast of {ratio:.1f} to 1, and {least:g} is wanted (a rule for screens).",
        "Take another colour, or a rim round the letters, and look at a test print.",
        {"share": round(share, 3), "contrast": round(ratio, 2), "least": least},
    )


def _torn(text: Read, perforations: PartingLines) -> Iterator[_Fault]:
    gap = perforations.torn(text.set_it()) if perforations else None
    if gap is not None:
        where = "lie over" if gap < MET_MM else f"come within {gap:.1f} mm of"
        yield (
            Rule.TORN_WORDS,
            f"The words {where} a line that is perforated or cut half through: they"
            " would be parted.",
            "Move the line, or draw a text area that stays clear of it (area).",
            {"gap_mm": round(gap, 3)},
        )


def _told(kind: _Kind, severity: Severity) -> Iterator[Finding]:
    panel, block = kind.panel.of, kind.panel.block
    headings = kind.panel.pattern.headings
    column = headings[0] if headings else None
    if len(kind.hits) <= MOST_SINGLE or severity is Severity.ERROR:
        for row, says, figures in kind.hits:
            yield Finding(
                kind.rule, severity, says, kind.do, row, column, panel, figures, block
            )
        return
    _, says, figures = min(kind.hits, key=_worst)
    rows = numbers_told("row", _runs([row for row, _, _ in kind.hits]))
    says = f"In {rows}, at worst: {says[0].lower()}{says[1:]}"
    figures = {**figures, "rows": len({row for row, _, _ in kind.hits})}
    yield Finding(kind.rule, severity, says, kind.do, None, column, panel, figures, block)


def _runs(rows: Sequence[int]) -> list[tuple[str, str]]:
    return [(str(a), str(b)) for a, b in runs_of(sorted(set(rows)))]


def _worst(hit: tuple[int, str, dict[str, Figure]]) -> tuple[float, int]:
    row, _, figures = hit
    named = ("letter_mm", "stroke_mm", "contrast", "gap_mm")
    least = next((figures[name] for name in named if name in figures), 0)
    return (float(least or 0), row)
