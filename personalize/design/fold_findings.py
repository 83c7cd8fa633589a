"""What paper alone cannot tell of a folded piece, and what goes wrong with it.

Rules, by severity:
  warning  hidden-words, creases-at-odds, folds-assumed (where words would stand otherwise)
  note     hidden-words (where a valley fold shuts them, as the design says, or where
           nothing is said of folds), folds-assumed (where nothing would change),
           level-panel, faces-unsaid, panels-cross
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from personalize.design.folding import Folding
from personalize.design.pose import Fold, crease_lines
from personalize.design.sight import crossings, seen_share
from personalize.finding import Finding, Severity
from personalize.rules import Rule

HIDDEN_SHARE = 0.02
"""Less of a panel's area covered is a flap's edge. Judgement."""
SEEN_SHARE = 0.05
"""A print that fewer lines of sight reach is inside of something. Judgement."""
TURN_DEG = 0.01


def fold_findings(folding: Folding) -> Iterator[Finding]:
    """Tell what is assumed of a piece's folds, and what its panels do to each other."""
    carrying = [i for i, name in enumerate(folding.names) if name in folding.worded]
    open_ones = [i for i in carrying if folding.names[i] not in folding.sure]
    yield from _assumed(folding, open_ones)
    for panel in open_ones:
        yield from _level(folding, panel)
    for panel in carrying:
        yield from _hidden(folding, panel)
    yield from _unsaid(folding)
    yield from _at_odds(folding)
    for first, second in crossings(folding):
        names = f"{folding.names[first]!r} and {folding.names[second]!r}"
        yield Finding(
            Rule.PANELS_CROSS,
            Severity.NOTE,
            f"Panels {names} would meet through each other once folded.",
            "Check the angles under [[crease]], or fold a paper model.",
        )


def _assumed(folding: Folding, panels: Sequence[int]) -> Iterator[Finding]:
    """Ask how creases are folded where there are several and nothing is said."""
    untold = crease_lines([hinge for hinge in folding.hinges if not hinge.told])
    every = crease_lines(folding.hinges)
    if every < 2 or not untold:
        return
    turns = _turns(folding, panels)
    opened = [_refolded(folding, Fold(angle, False)) for angle in (0.0, 90.0)]
    matters = any(_differ(turns, _turns(other, panels)) for other in opened)
    which = f"the {untold} creases are"
    if untold < every:
        which = f"{untold} of the {every} creases {'are' if untold > 1 else 'is'}"
    turned = " Words would stand otherwise at other angles." if matters else ""
    yield Finding(
        Rule.FOLDS_ASSUMED,
        Severity.WARNING if matters else Severity.NOTE,
        f"Nothing says how {which} folded. Taken: by 180 degrees, the print outside"
        f" (mountain).{turned}",
        'Write [[crease]] with lines or at, angle_deg and way = "mountain" or "valley".',
        figures={"creases": untold},
    )


def _refolded(folding: Folding, fold: Fold) -> Folding:
    """Give the piece with all that is not told folded otherwise."""
    return folding.with_hinges(
        tuple(h if h.told else replace(h, fold=fold) for h in folding.hinges)
    )


def _turns(folding: Folding, panels: Sequence[int]) -> list[float]:
    return [folding.reading(panel).turn_deg for panel in panels]


def _differ(some: Sequence[float], others: Sequence[float]) -> bool:
    return any(
        abs((a - b + 180) % 360 - 180) > TURN_DEG for a, b in zip(some, others, strict=True)
    )


def _level(folding: Folding, panel: int) -> Iterator[Finding]:
    """Ask who reads a panel that lies level."""
    reading = folding.reading(panel)
    if panel == folding.root or not reading.level:
        return
    up = float(folding.poses[panel].normal @ folding.stance.up) > 0
    yield Finding(
        Rule.LEVEL_PANEL,
        Severity.NOTE,
        f"This panel lies level once folded, its print {'up' if up else 'down'}, and paper"
        " alone cannot tell from where it is read: its words are set for a reader before"
        f" the front (turned by {reading.turn_deg:g} degrees on the flat piece).",
        'Write viewer = "above" in the panel if that is right, else turn_deg.',
        panel=folding.names[panel],
        figures={"turn_deg": round(reading.turn_deg, 6)},
    )


def _hidden(folding: Folding, panel: int) -> Iterator[Finding]:
    """Tell of words that nobody sees on the folded piece."""
    share, seen = folding.hidden_share(panel), 1.0
    covered = share > HIDDEN_SHARE
    told = all(hinge.told for hinge in folding.hinges)
    if covered:
        others = sorted({lap.over for lap in folding.laps if lap.under == panel})
        names = " and ".join(repr(folding.names[other]) for other in others)
        part = "All" if share > 1 - HIDDEN_SHARE else "A part"
        shut = all(_shut_on(folding, panel, other) for other in others)
        says = (
            f"{part} of this panel ({share:.0%}) is covered by {names}"
            f" {'once folded' if told else 'if it is folded as taken'}"
        )
        says += "; its words stand as on the opened piece." if shut else "."
        do = "If it stands open, say so with angle_deg under [[crease]]"
        do += "." if shut else "; else let its words stand elsewhere."
    else:
        seen = seen_share(folding, panel)
        shut = False
        says = "The print of this panel looks inward once folded, where nobody sees it."
        do = 'Check way under [[crease]]: "mountain" leaves the print outside.'
    if covered or seen < SEEN_SHARE:
        yield Finding(
            Rule.HIDDEN_WORDS,
            Severity.NOTE if shut or not told else Severity.WARNING,
            says,
            do,
            panel=folding.names[panel],
            figures={"hidden_share": round(share if covered else 1 - seen, 4)},
        )


def _shut_on(folding: Folding, panel: int, other: int) -> bool:
    """Whether the design says that a valley fold shuts two prints on each other."""
    return any(
        {hinge.first, hinge.second} == {panel, other}
        and hinge.told
        and hinge.fold.valley
        and hinge.fold.shut
        for hinge in folding.hinges
    )


def _unsaid(folding: Folding) -> Iterator[Finding]:
    """Suggest `faces` for panels that lie back to back."""
    for one, other in folding.unsaid_backs.items():
        yield Finding(
            Rule.FACES_UNSAID,
            Severity.NOTE,
            f"Panels {one!r} and {other!r} lie back to back once folded.",
            f'Write faces = "{other}" in {one!r} to give them one zone and size.',
            panel=one,
        )


def _at_odds(folding: Folding) -> Iterator[Finding]:
    for hinge, gap in folding.at_odds:
        names = f"{folding.names[hinge.first]!r} and {folding.names[hinge.second]!r}"
        yield Finding(
            Rule.CREASES_AT_ODDS,
            Severity.WARNING,
            "The creases cannot all be folded as they are said to be: between panels"
            f" {names} the paper would have to tear (by up to {gap:.1f} mm).",
            "Check the angles under [[crease]]. Where a fold is shut first, a crease across"
            " it is a mountain on one half, a valley on the other: name each half by at.",
            figures={"gap_mm": round(gap, 3)},
        )
