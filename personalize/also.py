"""Further files of a run, written on request."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from personalize.finding import Finding
from personalize.job import Job
from personalize.output.findings_csv import FINDINGS_FILE, findings_csv
from personalize.output.proof import ProofPage
from personalize.output.proof_pdf import PROOF_PDF, ProofPdf
from personalize.sheet.paper import Paper

DXF, FINDINGS, FOR_SENDING = "dxf", "findings", "proof-pdf"
ALSO = (DXF, FINDINGS, FOR_SENDING)
"""Kinds of files that are written on request."""

Shown = ProofPage | ProofPdf
"""What pieces are shown on as they come by."""


def proofs(
    page: ProofPage | None,
    job: Job,
    findings: Sequence[Finding],
    also: frozenset[str],
    paper: Paper,
) -> tuple[Shown, ...]:
    """Give the proofs of a run: the page, and one for sending where that is asked for."""
    shown: list[Shown] = [] if page is None else [page]
    if FOR_SENDING in also:
        shown.append(ProofPdf(job.design, job.source, findings, paper))
    return tuple(shown)


def write_also(
    folder: Path,
    shown: Sequence[Shown],
    findings: Sequence[Finding],
    also: frozenset[str],
    pieces: int,
) -> Iterator[str]:
    """Write the proof for sending and the table of findings; give their names."""
    for one in shown:
        if isinstance(one, ProofPdf):
            one.save(folder / PROOF_PDF, pieces)
            yield PROOF_PDF
    if FINDINGS in also:
        text = findings_csv(findings)
        (folder / FINDINGS_FILE).write_text(text, "utf-8", newline="")
        yield FINDINGS_FILE
