"""A piece on the proof: its words, its pictures, what was found, where it lies."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape

from personalize.finding import Finding, Severity
from personalize.geometry.zone import Region
from personalize.messages.same import compared
from personalize.output.proof_design import DesignShown
from personalize.output.proof_found import finding_item
from personalize.type.compose import ComposedText


@dataclass
class Card:
    """One piece (all copies that say the same) on the page."""

    shown: DesignShown
    name: str
    """Of its drawing, which other pictures use."""
    anchor: str
    """Of the card itself."""
    row: int
    copies: int
    version: str
    said: str
    views: str
    texts: Sequence[str]
    """What is told of each text: panel, size, lines."""
    found: Sequence[Finding]
    gap_mm: float
    """From its letters to the nearest cut."""
    short: Sequence[Region] = ()
    """Areas past the cut lines where its artwork lacks ink."""
    sheets: list[int] = field(default_factory=list)

    @property
    def weight(self) -> int:
        """Rank among the pieces: errors first, then warnings."""
        grave = [f.severity for f in self.found if f.severity is not Severity.NOTE]
        return min(map(list(Severity).index, grave)) if grave else len(Severity)

    def html(self, *, name_design: bool) -> str:
        """Give the whole card."""
        worst = self.found[0].severity.value if self.found else "none"
        rules = " ".join(dict.fromkeys(f.rule for f in self.found))
        data = {
            "row": str(self.row),
            "worst": worst,
            "rules": rules,
            "version": compared(self.version),
            "design": self.shown.key,
        }
        kept = "".join(f' data-{k}="{escape(v)}"' for k, v in data.items() if v)
        notes = "".join(finding_item(finding, with_row=False) for finding in self.found)
        return (
            f'<article class="piece {worst}" id="{self.anchor}"{kept}>'
            f"<header><h3>Row {self.row} <bdi>{escape(self.said)}</bdi></h3>"
            f"<p>{self._about(name_design=name_design)}</p></header>"
            f'<div class="views">{self.views}</div>'
            f'<p class="sizes">{escape("; ".join(self.texts))}</p>'
            + (f"<ul>{notes}</ul>" if notes else "")
            + '<p class="acts"><button type="button" data-do="look">Look closer'
            f'<span class="unseen"> at row {self.row}</span></button>'
            '<button type="button" data-do="copy">Copy row number'
            f'<span class="unseen"> {self.row}</span></button></p></article>\n'
        )

    def _about(self, *, name_design: bool) -> str:
        """Tell design, version, copies and sheets."""
        parts = [escape(self.shown.design.name)] if name_design else []
        parts += [f"<bdi>{escape(self.version)}</bdi>"] if self.version else []
        parts.append(f"{self.copies} copies" if self.copies > 1 else "1 piece")
        side = "-back" if self.shown.design.is_back else ""
        links = [f'<a href="#sheet-{n}{side}">sheet {n}</a>' for n in self.sheets]
        return ", ".join([*parts, *links])


def size_words(text: ComposedText) -> str:
    """Tell the size of a text and its lines."""
    lines = f"{len(text.said)} lines" if len(text.said) > 1 else "1 line"
    lines = lines if text.bent is None else "round a ring"
    return f"{text.panel}: {text.size_pt:.1f} pt, {lines}"


def said_by(texts: Sequence[ComposedText]) -> str:
    """Give the words of a piece, those that it says twice once."""
    return " / ".join(dict.fromkeys(text.text for text in texts)) or "no words"
