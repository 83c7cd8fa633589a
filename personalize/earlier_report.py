"""Read the report.json of an earlier run, for what this run is to be held against."""

import json
import os
from pathlib import Path
from typing import Any

from personalize.errors import refuse
from personalize.output.report import FORMAT, MARKER, REPORT_FILE


def read_report(path: Path, option: str) -> tuple[str, dict[str, Any]]:
    """Read a report, or the one in a folder; gives its bare name and what it tells.

    Raises InputError, for the option that names it, where it cannot be read or is no
    report of this version.
    """
    # Of os.path: a name that is too long for any file is no folder, and no crash.
    file = path / REPORT_FILE if os.path.isdir(path) else path
    do = "Give the report.json of an earlier `make`, or its folder."
    try:
        report = json.loads(file.read_text("utf-8"))
    except OSError as error:
        says = f"{file.name} cannot be read ({error.strerror})."
        raise refuse(option, says, do) from None
    except (ValueError, RecursionError):
        report = None
    if not isinstance(report, dict) or MARKER not in report:
        raise refuse(option, f"{file.name} is no report of ours.", do)
    if report[MARKER] != FORMAT:
        raise refuse(
            option,
            f"{file.name} was written by another version.",
            "Make the earlier run again with this version.",
        )
    return file.name, report
