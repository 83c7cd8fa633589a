"""Further files of a run, written on request."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from personalize.batch import Batch
from personalize.finding import Finding
from personalize.options import Options
from personalize.output.findings_csv import FINDINGS_FILE, findings_csv
from personalize.output.proof import ProofPage
from personalize.output.proof_pdf import PROOF_PDF, ProofPdf

Shown = ProofPage | ProofPdf
"""What pieces are shown on as they come by."""


def proofs(
    page: ProofPage | None, batch: Batch, findings: Sequence[Finding], options: Options
) -> tuple[Shown, ...]:
    """Give the proofs of a run: the page, and one for sending where that is asked for."""
    shown: list[Shown] = [] if page is None else [page]
    if "proof-pdf" in options.also:
        paper = options.sheets.paper
        shown.append(ProofPdf(batch.name, batch.sides, batch.source, findings, paper))
    return tuple(shown)


def write_also(
    folder: Path,
    shown: Sequence[Shown],
    findings: Sequence[Finding],
    options: Options,
    pieces: int,
) -> Iterator[str]:
    """Write the proof for sending and the table of findings; give their names."""
    for one in shown:
        if isinstance(one, ProofPdf):
            one.save(folder / PROOF_PDF, pieces)
            yield PROOF_PDF
    if "findings" in options.also:
        text = findings_csv(findings)
        (folder / FINDINGS_FILE).write_text(text, "utf-8", newline="")
        yield FINDINGS_FILE
