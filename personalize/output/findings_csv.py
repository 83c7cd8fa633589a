"""Write findings.csv: every finding as a row, for a spreadsheet program.

It begins with the mark of UTF-8, by which such programs tell the encoding. A cell that
would begin with a sign of a formula gets an apostrophe before it, and keeps all its words:
OWASP, "CSV Injection", names the signs and this guard.
"""

import csv
import io
from collections.abc import Iterable

from personalize.finding import Finding

FINDINGS_FILE = "findings.csv"
HEADINGS = ("severity", "row", "column", "panel", "block", "says", "do", "rule", "design")
_SIGNS = "=+-@\t\r\n\uff1d\uff0b\uff0d\uff20"
"""Signs that start a formula, the wide ones of East Asian keyboards among them."""
_BLANKS = " \u00a0\ufeff"
"""Some programs look for the sign behind these."""
MARK = "\ufeff"


def findings_csv(findings: Iterable[Finding]) -> str:
    """Give the text of findings.csv, with the mark of UTF-8 at its start."""
    out = io.StringIO()
    # Quoting everything keeps a row number a cell of its own whatever stands beside it.
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(HEADINGS)
    for one in findings:
        row = "" if one.row is None else str(one.row)
        words = (one.column, one.panel, one.block, one.says, one.do, one.rule, one.design)
        writer.writerow([one.severity, row, *(guarded(word or "") for word in words)])
    return MARK + out.getvalue()


def guarded(cell: str) -> str:
    """Put an apostrophe before what a spreadsheet program could run as a formula.

    >>> guarded("=1+1"), guarded("Bo"), guarded(" @x")
    ("'=1+1", 'Bo', "' @x")
    """
    return f"'{cell}" if cell.lstrip(_BLANKS)[:1] in tuple(_SIGNS) else cell
