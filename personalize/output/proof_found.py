"""The head of the proof: what it is of, and what was found, worst first."""

from collections.abc import Sequence
from html import escape

from personalize.finding import Finding, Severity
from personalize.messages.table import Source

WORDS = {
    Severity.ERROR: "Must be mended",
    Severity.WARNING: "Look at this",
    Severity.NOTE: "Good to know",
}
_SHOWN_ROWS = 12
"""Findings of one severity that are listed one by one before the rest is folded away."""


def summary(
    source: Source,
    rows: int,
    findings: Sequence[Finding],
    amounts: Sequence[tuple[str, str]],
) -> str:
    """Tell in figures what is made of which list; `amounts` are numbers with words."""
    listed = [f for f in findings if not f.rule.startswith("care-")]
    count = {s: sum(f.severity is s for f in listed) for s in Severity}
    facts = [
        *amounts,
        (f"{count[Severity.ERROR]}", "to mend"),
        (f"{count[Severity.WARNING]}", "to look at"),
        (f"{count[Severity.NOTE]}", "good to know"),
    ]
    tiles = "".join(f"<li><b>{n}</b> {escape(words)}</li>" for n, words in facts)
    read = [f"{rows} row{'s' * (rows != 1)}"]
    read += [source.encoding] if source.encoding else []
    read += [f"worksheet {source.worksheet}"] if source.worksheet else []
    read += [f"headings in row {source.heading_row}"] if source.heading_row else []
    return (
        f'<ul class="facts">{tiles}</ul>'
        f'<div class="source"><p>from <bdi>{escape(source.file)}</bdi>'
        f" ({escape(', '.join(read))})</p>{_decided(source)}</div>"
    )


def _decided(source: Source) -> str:
    """Tell how the list was read, folded away."""
    if not source.decisions:
        return ""
    items = "".join(f"<li><bdi>{escape(said)}</bdi></li>" for said in source.decisions)
    return f"<details><summary>How the list was read</summary><ul>{items}</ul></details>"


def problems(findings: Sequence[Finding]) -> str:
    """List the findings, worst first; what concerns no row by itself comes first."""
    care = [f for f in findings if f.rule.startswith("care-")]
    parts = [f'<aside class="care">{_care_text(care)}</aside>'] if care else []
    for severity in Severity:
        found = [f for f in findings if f.severity is severity and f not in care]
        if not found:
            continue
        items = [finding_item(finding, with_row=True) for finding in found]
        # Notes are folded away as a whole: not twice.
        most = len(items) if severity is Severity.NOTE else _SHOWN_ROWS
        shown, rest = items[:most], items[most:]
        body = f"<ul>{''.join(shown)}</ul>"
        if rest:
            body += (
                f"<details><summary>{len(rest)} more</summary>"
                f"<ul>{''.join(rest)}</ul></details>"
            )
        heading = f"{WORDS[severity]} ({len(found)})"
        if severity is Severity.NOTE:
            body = f"<details><summary>{heading}</summary>{body}</details>"
        else:
            body = f"<h3>{heading}</h3>{body}"
        parts.append(f'<div class="{severity}">{body}</div>')
    heading = "Before you print" if parts else "Nothing to mend"
    return f'<section class="found"><h2>{heading}</h2>{"".join(parts)}</section>'


def _care_text(care: Sequence[Finding]) -> str:
    """Cautions stand open: nobody unfolds a list to be warned."""
    return "".join(
        f"<p><b>Take care.</b> {escape(f.says)} {escape(f.do)}</p>" for f in care
    )


def finding_item(finding: Finding, *, with_row: bool) -> str:
    """Give a finding as an item of a list, with its row where that is not plain."""
    place = ""
    if with_row and finding.row is not None:
        place = f'<a href="#row-{finding.row}">Row {finding.row}</a> '
    place_of = " / ".join(p for p in (finding.design, finding.panel, finding.block) if p)
    panel = f"<i>{escape(place_of)}</i> " if place_of else ""
    return (
        f'<li class="{finding.severity}">{place}{panel}<bdi>{escape(finding.says)}</bdi>'
        f" <em>{escape(finding.do)}</em></li>"
    )
