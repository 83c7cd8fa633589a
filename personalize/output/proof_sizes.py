"""The proof's view of the sizes: how they are spread, and what each rule would give."""

import math
from collections.abc import Sequence
from html import escape

from personalize.output.proof_design import DesignShown
from personalize.type.spread import Outcome, Spread
from personalize.units import number

WIDE, HIGH = 640.0, 160.0
"""Of the plot, in its own units, without the words below it."""
BINS = 64
_PAD = 16.0
_RULES = {
    "largest": ("largest", "each text as large as it can be"),
    "same": ("same", "one size for all"),
    "steps": ("steps", "three sizes at most for nearly all"),
}


def section(designs: Sequence[DesignShown]) -> str:
    """Give the whole view; nothing where no text has a size."""
    parts = [
        _spread(spread, shown.design.name if len(designs) > 1 else "")
        for shown in designs
        for spread in shown.spreads
    ]
    if not parts:
        return ""
    return (
        '<section id="sizes" tabindex="-1"><h2>Sizes</h2>'
        '<p class="lead">Each block is a text at the largest size that it could have by'
        " itself; the upright lines are the sizes that are given.</p>"
        f"{''.join(parts)}</section>\n"
    )


def _spread(spread: Spread, design: str) -> str:
    places = " and ".join(dict.fromkeys(spread.places))
    heading = f"{design}: {places}" if design else places
    rows = "".join(_outcome(one, chosen=one.rule == spread.rule) for one in spread.outcomes)
    return (
        f'<article class="spread"><h3>{escape(heading)}</h3>{_plot(spread)}'
        '<div class="wide" role="region" tabindex="0" aria-label="What each rule gives">'
        "<table><caption>What each rule gives</caption>"
        '<thead><tr><th scope="col">sizes</th><th scope="col">shared by</th>'
        '<th scope="col">their own</th><th scope="col">from</th><th scope="col">to</th>'
        f"</tr></thead><tbody>{rows}</tbody></table></div>{_standing_out(spread)}</article>\n"
    )


def _outcome(one: Outcome, *, chosen: bool) -> str:
    name, meaning = _RULES[one.rule]
    shared = "<br>".join(f"{n} at {size:.1f} pt" for size, n in one.counts if n)
    mark = ' class="chosen"' if chosen else ""
    said = " <b>chosen</b>" if chosen else ""
    return (
        f'<tr{mark}><th scope="row">{name}{said}<small>{meaning}</small></th>'
        f"<td>{shared or 'none'}</td><td>{one.others or 'none'}</td>"
        f"<td>{one.least_pt:.1f} pt</td><td>{one.most_pt:.1f} pt</td></tr>"
    )


def _standing_out(spread: Spread) -> str:
    if not spread.standing_out:
        return "<p>No text is much smaller than most.</p>"
    rows = ", ".join(
        f'<a href="#row-{row}">row {row}</a> ({size:.1f} pt)'
        for row, size in spread.standing_out
    )
    return f"<p>Much smaller than most: {rows}.</p>"


def _plot(spread: Spread) -> str:
    """Draw how many texts could have which size, and the sizes that are given."""
    low = math.floor(min(*spread.largest_pt, *spread.given_pt, 1e9))
    high = max(math.ceil(max(spread.largest_pt)), low + 4)
    counts = [0] * BINS
    for size in spread.largest_pt:
        counts[min(BINS - 1, int((size - low) / (high - low) * BINS))] += 1
    tall = min(14.0, (HIGH - 36) / max(counts))
    step = WIDE / BINS

    def at(size: float) -> float:
        return _PAD + (size - low) / (high - low) * WIDE

    dots = []
    for i, count in enumerate(counts):
        x = number(_PAD + i * step + 1.5, 1)
        for n in range(count):
            y = number(HIGH - (n + 1) * tall + tall * 0.2, 2)
            dots.append(f"M{x} {y}h{number(step - 3, 1)}v{number(tall * 0.7, 2)}H{x}z")
    lines, words = [], []
    for size in spread.steps_pt:
        x = number(at(size), 1)
        lines.append(f"M{x} 22V{number(HIGH)}")
        words.append(f'<text class="given" x="{x}" y="16">{size:.1f}</text>')
    for tick in _ticks(low, high):
        x = number(at(tick), 1)
        words.append(f'<text x="{x}" y="{number(HIGH + 18)}">{tick}</text>')
        lines.append(f"M{x} {number(HIGH)}v4")
    ends = f"M{_PAD} {number(HIGH)}H{number(_PAD + WIDE)}"
    wide, high_all = number(WIDE + 2 * _PAD), number(HIGH + 24)
    return (
        f'<svg class="plot" viewBox="0 0 {wide} {high_all}" role="img" aria-label="Sizes'
        f' from {min(spread.largest_pt):.1f} to {max(spread.largest_pt):.1f} pt">'
        f'<path class="dots" d="{"".join(dots)}"/>'
        f'<path class="scale" d="{ends}{"".join(lines)}"/>{"".join(words)}</svg>'
    )


def _ticks(low: int, high: int) -> range:
    step = next(s for s in (1, 2, 5, 10, 20, 50, 1000) if (high - low) / s <= 12)
    return range(-(-low // step) * step, high + 1, step)
