"""What the tests of the command line share."""

import json
from pathlib import Path
from typing import Any

from tests.conftest import EDGE, command, drawing

TAG = drawing(EDGE)
ALL_FILES = ["cut.svg", "print.pdf", "proof.html", "report.json"]


def words(desk: Path, *options: str | Path, name: str = "make") -> list[str | Path]:
    out = [] if name == "check" else ["--out", desk / "picnic"]
    return [name, desk / "guests.csv", "--design", desk / "tag.svg", *out, *options]


def report_of(folder: Path) -> dict[str, Any]:
    value: dict[str, Any] = json.loads((folder / "report.json").read_text("utf-8"))
    return value


def made_here(desk: Path, *options: str) -> dict[str, Any]:
    """Make the tags, and give the report."""
    done = command(*words(desk, *options))
    assert done.exit_code == 0, done.output
    return report_of(desk / "picnic")


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())
