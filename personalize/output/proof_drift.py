"""The proof's view of a cut that goes astray: the worst pieces, cut in all eight ways."""

import math
from collections.abc import Iterator, Mapping, Sequence
from html import escape

from personalize.fold.drift import bare, drifts, shown_short
from personalize.geometry.affine import Point
from personalize.geometry.zone import Region
from personalize.output.proof_design import DesignShown
from personalize.output.proof_draw import Box, picture, roomy
from personalize.output.proof_piece import Card
from personalize.type.compose import ComposedText
from personalize.units import number

WORST = 3
"""Pieces of each design that are shown in all eight ways."""
LOUPE_MM = (30.0, 20.0)
"""Width and height of what is seen enlarged."""
_ORDER = ("nw", "n", "ne", "w", "", "e", "sw", "s", "se")
"""From the top left as on a map; the cut as planned in the middle."""


class Nearest:
    """The pieces of a design whose letters come nearest to the blade."""

    def __init__(self) -> None:
        self._kept: list[tuple[float, Card, Sequence[ComposedText]]] = []

    def add(self, card: Card, texts: Sequence[ComposedText]) -> None:
        """Keep a piece if it is among the worst so far."""
        if math.isfinite(card.gap_mm) or not self._kept:
            self._kept.append((card.gap_mm, card, texts))
            self._kept.sort(key=lambda one: (one[0], one[1].row))
            del self._kept[WORST:]

    def html(self, shown: DesignShown, *, several: bool) -> Iterator[str]:
        """Show each in all eight ways."""
        ways = drifts(shown.cut_shift_mm)
        missed = {way.key: bare(shown.design, shown.printed, way) for way in ways}
        yield f"<h3>{escape(shown.design.name)}</h3>" if several else ""
        short = any(card.short for _, card, _ in self._kept)
        if any(missed.values()):
            yield (
                '<p class="astray">White paper shows where the cut leaves the print: it is'
                " marked. Give the design more bleed, or its sheets more spacing.</p>"
            )
        if short:
            yield (
                '<p class="astray">White paper shows where the artwork falls short of its'
                " bleed: it is marked. Draw it further past the outline, or write"
                " extend_edge = true under [artwork].</p>"
            )
        if not short and not any(missed.values()):
            yield (
                '<p class="well">The print reaches past the outline in all eight ways: no'
                " white shows.</p>"
            )
        for _, card, texts in self._kept:
            yield '<article class="astray-piece"><h3>'
            yield f'<a href="#{card.anchor}">Row {card.row}</a>'
            yield f" <bdi>{escape(card.said)}</bdi></h3>"
            yield from _ways(shown, card, texts, missed)
            yield "</article>\n"


def _ways(
    shown: DesignShown,
    card: Card,
    texts: Sequence[ComposedText],
    missed: Mapping[str, Sequence[Region]],
) -> Iterator[str]:
    """Show where letters and blade come nearest, the piece as a whole beside."""
    box = _about(shown.edges.narrowest(texts), roomy(shown.printed.box))
    frame = (
        f'<rect class="loupe" x="{number(box[0])}" y="{number(box[1])}"'
        f' width="{number(box[2] - box[0])}" height="{number(box[3] - box[1])}"/>'
    )
    whole = picture(roomy(shown.printed.box), f'<use href="#{card.name}"/>{frame}')
    yield f'<div class="astray-views"><figure class="whole">{whole}</figure>'
    yield '<div class="ways">'
    ways = {drift.key: drift for drift in drifts(shown.cut_shift_mm)}
    for key in _ORDER:
        way, bared = ways.get(key), tuple(missed.get(key, ()))
        if way is not None:
            bared += shown_short(shown.design, card.short, way)
        gap = shown.edges.gap_mm(texts, way)
        words = f"<b>{way.name if way else 'as planned'}</b>"
        words += f" {gap:.1f} mm" if math.isfinite(gap) else ""
        words += ", white paper shows" if bared else ""
        cuts = shown.cut_out(card.name, way, bared, box)
        cuts += shown.cut_out(card.name, way, bared) if bared else ""
        yield f"<figure>{cuts}<figcaption>{words}</figcaption></figure>"
    yield "</div></div>"


def _about(point: Point, within: Box) -> Box:
    """Give the box that is seen enlarged, moved so that it lies within another."""
    x0, y0, x1, y1 = within
    wide, high = min(LOUPE_MM[0], x1 - x0), min(LOUPE_MM[1], y1 - y0)
    x = min(max(point[0] - wide / 2, x0), x1 - wide)
    y = min(max(point[1] - high / 2, y0), y1 - high)
    return (x, y, x + wide, y + high)


def section(nearest: Sequence[tuple[DesignShown, Nearest]], cut_shift_mm: float) -> str:
    """Give the whole view; a cut may be `cut_shift_mm` off."""
    several = len(nearest) > 1
    body = "".join("".join(kept.html(shown, several=several)) for shown, kept in nearest)
    return (
        '<section id="drift" tabindex="-1"><h2>If the cut drifts</h2>'
        f'<p class="lead">A cut may be {cut_shift_mm:g} mm beside the line. Here'
        " are the pieces whose letters come nearest to the blade, enlarged at that place:"
        " as planned in the middle, and astray in eight ways. The figure is the distance"
        " from the letters to the cut; dots show where it was planned.</p>"
        f"{body}</section>\n"
    )


def picker(cut_shift_mm: float) -> str:
    """Give the choice of a way for all pieces: a small map of the eight ways."""
    ways = {drift.key: drift for drift in drifts(cut_shift_mm)}
    cells = []
    for key in _ORDER:
        name = ways[key].name if key else "as planned"
        chosen = "" if key else " checked"
        cells.append(
            f'<label><input type="radio" name="way" id="way-{key or "o"}"{chosen}>'
            f'<span class="unseen">{name}</span></label>'
        )
    return (
        '<fieldset class="way"><legend>Let the cut drift '
        f"{cut_shift_mm:g} mm</legend><div>{''.join(cells)}</div></fieldset>"
    )


def style(cut_shift_mm: float) -> str:
    """Give the shift of each way, for what is drawn moved."""
    return "".join(
        f":root:has(#way-{drift.key}:checked){{--dx:{number(drift.dx_mm)}px;"
        f"--dy:{number(drift.dy_mm)}px;--ndx:{number(-drift.dx_mm)}px;"
        f"--ndy:{number(-drift.dy_mm)}px}}\n"
        for drift in drifts(cut_shift_mm)
    )
