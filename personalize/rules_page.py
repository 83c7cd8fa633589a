"""Write docs/findings.md: ``python -m personalize.rules_page > docs/findings.md``."""

import sys
from collections.abc import Iterator

from personalize.rules import SUBJECTS, catalogue


def page() -> str:
    """Write docs/findings.md."""
    return "\n".join(_lines()) + "\n"


_HEAD = """
An **error** keeps its piece off the sheets, a **warning** asks you to look, a **note** is
good to know. Each finding has its row, panel, figures and what to do, on the command line,
on the proof and in [report.json](report.md) alike; `--also findings` writes them as a table
for a spreadsheet program.

Words are never dropped, clipped, shortened or set smaller than can be read to get rid of
one. A figure that comes from a published text names it.
"""


def _lines() -> Iterator[str]:
    yield "# Findings"
    yield ""
    yield "Made from the code by `python -m personalize.rules_page`; a test keeps it true."
    yield from _HEAD.splitlines()
    for subject, heading in SUBJECTS.items():
        yield ""
        yield f"## {heading}"
        yield ""
        yield "| rule | severity | when | what to do | figure from |"
        yield "|---|---|---|---|---|"
        for rule, known in catalogue().items():
            if known.subject == subject:
                weight = " or ".join(known.severities)
                yield (
                    f"| `{rule}` | {weight} | {known.means} | {known.do} | {known.source} |"
                )


if __name__ == "__main__":
    sys.stdout.write(page())
