"""Write proof.html: the page where a maker decides before a sheet is spent.

One self-contained page without network. Letters are drawn from the same glyphs, places
and sizes that go to print. Lines are told apart by pattern and word. All that it tells
is there without its script, which finds, filters and folds.
"""

import base64
import hashlib
from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files

from personalize.design.chosen import NOTHING_CHOSEN, Chosen
from personalize.design.design import CUT_SHIFT_MM, Design
from personalize.finding import Finding, Severity, places_of
from personalize.fold.piece import Piece
from personalize.geometry.zone import Region
from personalize.messages.same import compared
from personalize.messages.table import Source
from personalize.output import proof_drift, proof_sheets, proof_sizes
from personalize.output.proof_design import LINE_WORDS, DesignShown
from personalize.output.proof_draw import Letters
from personalize.output.proof_found import WORDS, problems, summary
from personalize.output.proof_piece import Card, said_by, size_words
from personalize.rules import Rule
from personalize.sheet.fill import Sheet
from personalize.sheet.paper import Paper
from personalize.type.compose import ComposedText
from personalize.type.spread import Spread


class ProofPage:
    """A proof under way: designs first, then pieces and sheets one by one."""

    def __init__(
        self,
        name: str,
        source: Source,
        rows: int,
        findings: Sequence[Finding],
        cut_shift_mm: float = CUT_SHIFT_MM,
    ) -> None:
        """Begin the proof of a list with so many rows, under the name of the run.

        A cut may be `cut_shift_mm` off.
        """
        self._name, self._source, self._rows = name, source, rows
        self._cut_shift_mm = cut_shift_mm
        self._findings = findings
        self._letters = Letters()
        self._designs: dict[str, tuple[DesignShown, proof_drift.Nearest]] = {}
        self._cards: list[Card] = []
        self._anchors: dict[int, int] = {}
        self._of_piece: dict[tuple[str, int, int], Card] = {}
        self._sheets: list[str] = []
        self._backs = 0
        self._by_row: dict[int, list[Finding]] = {}
        for finding in findings:
            if finding.row is not None:
                self._by_row.setdefault(finding.row, []).append(finding)

    def show(self, design: Design, printed: Region, spreads: Sequence[Spread] = ()) -> None:
        """Make a design known; its artwork is printed as far as `printed`."""
        key = f"d{len(self._designs)}"
        bare = [
            place
            for finding in self._findings
            if finding.rule is Rule.BLEED_MISSING and finding.design in (None, design.name)
            for place in places_of(finding)
        ]
        shown = DesignShown(
            key, design, printed, spreads, cut_shift_mm=self._cut_shift_mm, bare=bare
        )
        self._designs[design.name] = (shown, proof_drift.Nearest())

    def add(
        self,
        design: Design,
        row: int,
        copies: Sequence[int],
        texts: Sequence[ComposedText],
        chosen: Chosen = NOTHING_CHOSEN,
    ) -> None:
        """Show a piece of a known design, for all its copies."""
        shown, nearest = self._designs[design.name]
        name = f"p{len(self._cards)}"
        words = "".join(self._letters.text(text) for text in texts)
        nth = self._anchors[row] = self._anchors.get(row, 0) + 1
        card = Card(
            shown,
            name,
            f"row-{row}" if nth == 1 else f"row-{row}-{nth}",
            row,
            len(copies),
            chosen.version_name,
            said_by(texts),
            shown.views(name, shown.under(chosen) + words, chosen),
            [size_words(text) for text in texts],
            [f for f in self._by_row.get(row, ()) if f.design in (None, design.name)],
            shown.edges.gap_mm(texts),
            shown.short(chosen),
        )
        self._cards.append(card)
        nearest.add(card, texts)
        for copy in copies:
            self._of_piece[design.name, row, copy] = card

    def add_sheet(self, sheet: Sheet, ground: proof_sheets.Ground) -> None:
        """Show a sheet whose pieces are known, on what else is known of it."""

        def drawn(piece: Piece) -> tuple[str, str, Card | None]:
            shown, _ = self._designs[piece.design.name]
            brim = f"{shown.key}-brim"
            if piece.row is None:
                return shown.under(NOTHING_CHOSEN), brim, None
            card = self._of_piece[piece.design.name, piece.row, piece.copy]
            if sheet.number not in card.sheets:
                card.sheets.append(sheet.number)
            return f'<use href="#{card.name}"/>', brim, card

        page = proof_sheets.draw_sheet(sheet, ground, self._letters, drawn)
        self._sheets.append(page)
        self._backs += sheet.side == "back"

    def html(self, pieces: int, paper: Paper, steps: Sequence[str] = ()) -> str:
        """Give the whole page; `steps` are what to look at on the evening."""
        title = escape(self._name)
        style = _asset("proof.css") + "".join(s.style() for s in self._shown)
        style += proof_drift.style(self._cut_shift_mm)
        script = _asset("proof.js")
        policy = (
            f"default-src 'none'; img-src data:; style-src '{_digest(style)}';"
            f" script-src '{_digest(script)}'; base-uri 'none'; form-action 'none'"
        )
        amounts = self._amounts(pieces, paper)
        head = summary(self._source, self._rows, self._findings, amounts)
        sections = [
            self._pieces(),
            proof_drift.section(list(self._designs.values()), self._cut_shift_mm),
            proof_sheets.section(self._sheets, steps),
            proof_sizes.section(self._shown),
        ]
        return (
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
            f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
            f"<title>Proof: {title}</title>\n<style>{style}</style>\n"
            f"<script>{script}</script>\n</head>\n<body>\n"
            f"{self._definitions()}\n"
            f"<header><h1>{title}</h1>{head}</header>\n{_contents(sections)}"
            f"<main>\n{''.join(sections)}</main>\n{self._stages()}</body>\n</html>\n"
        )

    @property
    def _shown(self) -> list[DesignShown]:
        return [shown for shown, _ in self._designs.values()]

    def _amounts(self, pieces: int, paper: Paper) -> list[tuple[str, str]]:
        sheets = len(self._sheets) - self._backs
        return [
            (f"{pieces}", "piece" if pieces == 1 else "pieces"),
            (f"{sheets}", f"sheet{'s' * (sheets != 1)} of {paper.name}")
            if sheets
            else ("no", "sheets written yet"),
        ]

    def _pieces(self) -> str:
        gravest: dict[int, int] = {}
        for card in self._cards:
            gravest[card.row] = min(card.weight, gravest.get(card.row, card.weight))
        # Pieces of one message stand together, in the order of their designs.
        cards = sorted(self._cards, key=lambda card: (gravest[card.row], card.row))
        several = len(self._designs) > 1
        return (
            '<section id="pieces" tabindex="-1">\n'
            f"{problems(self._findings)}\n"
            '<div class="bench"><details class="tools" open><summary>Find, lines, drift'
            f"</summary>{self._search()}{self._switches()}"
            f"{proof_drift.picker(self._cut_shift_mm)}</details>\n"
            '<div class="cards"><h2>Every piece</h2>\n'
            f"{''.join(card.html(name_design=several) for card in cards)}"
            "</div></div></section>\n"
        )

    def _switches(self) -> str:
        """Tell the patterns of lines, only of those there are; each can be hidden."""
        kinds = dict.fromkeys(kind for shown in self._shown for kind in shown.kinds)
        rows = [(kind.value, LINE_WORDS[kind]) for kind in LINE_WORDS if kind in kinds]
        rows.append(("zone", "safe zone, where the words stay"))
        if any(shown.bare for shown in self._shown):
            rows.append(("gap", "ring: bleed is missing"))
        items = "".join(
            f'<label><input type="checkbox" id="see-{name}" checked>'
            f'<svg class="sample" viewBox="0 0 14 2" aria-hidden="true">'
            f"{_sample(name)}</svg>"
            f"<span>{words}</span></label>"
            for name, words in rows
        )
        return f'<fieldset class="see"><legend>Lines</legend>{items}</fieldset>'

    def _search(self) -> str:
        """Offer words, rows and filters; the script shows this form."""
        count: dict[str, int] = {}
        for card in self._cards:
            for rule in dict.fromkeys(f.rule for f in card.found):
                count[rule] = count.get(rule, 0) + 1
        rules = [(r, f"{r.replace('-', ' ')} ({n})") for r, n in sorted(count.items())]
        there = {card.found[0].severity for card in self._cards if card.found}
        worst = [(s.value, WORDS[s]) for s in Severity if s in there]
        versions = self._versions()
        designs = [(shown.key, shown.design.name) for shown in self._shown]
        return (
            '<form id="find" role="search" aria-label="Find pieces"><label>Words, or'
            ' rows such as 3, 5-9<input type="search" name="words" autocomplete="off">'
            "</label>"
            f"{_select('worst', 'Severity', worst, 1)}"
            f"{_select('rule', 'Finding', rules, 1)}"
            f"{_select('version', 'Version', versions, 2)}"
            f"{_select('design', 'Design', designs, 2)}"
            '<p><output name="told" aria-live="polite"></output>'
            '<button type="reset">Show all</button></p></form>'
        )

    def _versions(self) -> list[tuple[str, str, str]]:
        """Give the versions that are shown, those of one name in all designs as one.

        A version that not every design with versions shows tells whose it is.
        """
        shown: dict[str, tuple[str, dict[str, str]]] = {}
        for card in self._cards:
            if card.version:
                _, whose = shown.setdefault(compared(card.version), (card.version, {}))
                whose[card.shown.key] = card.shown.design.name
        every = {key for _, whose in shown.values() for key in whose}
        return [
            (
                value,
                name if set(whose) == every else f"{name} ({', '.join(whose.values())})",
                " ".join(whose),
            )
            for value, (name, whose) in shown.items()
        ]

    def _definitions(self) -> str:
        """What all pieces share: artwork, lines, faces and glyph outlines."""
        parts = [part for shown in self._shown for part in shown.definitions()]
        parts += self._letters.definitions()
        return (
            '<svg class="defs" width="0" height="0" aria-hidden="true"><defs>'
            + "\n".join(parts)
            + "</defs></svg>"
        )

    def _stages(self) -> str:
        """What the script needs to show a piece large, and folded step by step."""
        data = ((shown.key, shown.folding_data()) for shown in self._shown)
        steps = ",".join(f'"{key}":{steps}' for key, steps in data if steps)
        return (
            f"{''.join(shown.stage() for shown in self._shown)}\n"
            f'<script type="application/json" id="folding">{{{steps}}}</script>\n'
            '<dialog id="closer" aria-labelledby="closer-name"><header>'
            '<h2 id="closer-name"></h2><button type="button" data-do="close">Close</button>'
            "</header>"
            '<div class="stage"><div class="seen"></div><p><button type="button"'
            ' data-do="play">Fold it</button><label><span>flat</span>'
            '<input type="range" min="0" step="any" aria-label="Flat, folded, the back">'
            '<span>folded</span><span>the back</span></label></p></div><div class="large">'
            "</div></dialog>\n"
        )


def _sample(name: str) -> str:
    if name == "gap":
        return '<circle class="gap" cx="7" cy="1" r=".8"/>'
    kind = name if name == "zone" else f"line {name}"
    return f'<path class="{kind}" d="M0 1H14"/>'


def _select(name: str, label: str, options: Sequence[tuple[str, ...]], least: int) -> str:
    """Offer a choice where there is one to make: value, words, perhaps whose it is."""
    if len(options) < least:
        return ""
    items = "".join(
        f'<option value="{escape(value)}"'
        + "".join(f' data-of="{escape(keys)}"' for keys in whose)
        + f">{escape(words)}</option>"
        for value, words, *whose in options
    )
    return (
        f'<label>{label}<select name="{name}"><option value="">all</option>{items}'
        "</select></label>"
    )


def _contents(sections: Iterable[str]) -> str:
    """Lead to the views that there are."""
    names = {"pieces": "Pieces", "drift": "Cut drift", "sheets": "Sheets", "sizes": "Sizes"}
    links = "".join(
        f'<a href="#{key}">{name}</a>'
        for (key, name), section in zip(names.items(), sections, strict=True)
        if section
    )
    return f'<nav aria-label="Views">{links}</nav>\n'


def _asset(name: str) -> str:
    return files("personalize.output").joinpath(name).read_text("utf-8")


def _digest(text: str) -> str:
    """Give the hash by which a content policy knows an inline style or script."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
