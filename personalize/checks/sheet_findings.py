"""What is said of sheets that are printed or cut another way round."""

from collections.abc import Iterator

from personalize.finding import Finding, Severity
from personalize.rules import Rule
from personalize.sheet.fill import SheetRules


def sheet_findings(rules: SheetRules) -> Iterator[Finding]:
    """Tell once what the maker asked for, lest it surprise her on the paper."""
    if rules.mirror:
        yield Finding(
            Rule.MIRRORED,
            Severity.NOTE,
            "Pieces are printed in mirror image and cut so, for film that goes face down"
            " onto something. Register marks, rules and the slug are not mirrored.",
            "Mirroring must be off in the printer's own settings. White is not printed: on"
            " clear film what is white lets through what lies beneath.",
        )
    if rules.face_down:
        yield Finding(
            Rule.CUT_FACE_DOWN,
            Severity.NOTE,
            "The cut file is for sheets that lie with their print down.",
            "Turn each sheet over like a page, top edge still first. A machine cannot read"
            " register marks through paper: place the sheet by its edges.",
        )
