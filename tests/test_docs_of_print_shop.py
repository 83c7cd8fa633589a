"""docs/print-shop.md: every command line runs as shown, and makes the files it tells of."""

import re
import shlex
from pathlib import Path

import openpyxl
import pikepdf
import pytest

from tests.conftest import ROOT, command, drawing, line, put
from tests.workbooks import saved, sheet_of

PAGE = (ROOT / "docs" / "print-shop.md").read_text("utf-8")
COMMAND = re.compile(r"^ {4}(personalize .+)$", re.M)
NAMES = ["front", "Maple", "Ottoline", "Rowan"]


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with what the page takes for granted: a list and a design."""
    monkeypatch.chdir(tmp_path)
    workbook = openpyxl.Workbook()
    for name in NAMES:
        sheet_of(workbook).append([name])
    put(
        tmp_path,
        {
            "guests.xlsx": saved(workbook),
            "my-flag.svg": drawing(line("M2 2H58L50 20L58 38H2Z", "edge")),
        },
    )
    return tmp_path


def test_every_command_of_the_page_runs_as_it_is_written(desk: Path) -> None:
    lines = COMMAND.findall(PAGE)
    # None is passed over: a block that begins otherwise would not be found above.
    assert len(lines) == len(re.findall(r"^\s*(?:\$ )?personalize ", PAGE, re.M)) > 0
    for text in lines:
        done = command(*shlex.split(text)[1:])
        # 1: a warning stands, such as a bleed that a plain drawing does not have.
        assert done.exit_code in (0, 1), (text, done.output)
    with pikepdf.open(desk / "party" / "shop.pdf") as made:
        assert len(made.pages) == len(NAMES) - 1
    assert (desk / "party" / "shop-job.pdf").stat().st_size > 0


@pytest.mark.parametrize(
    "asked",
    [["--also", "shop,ganged"], ["--also", "shop", "--also", "ganged"]],
    ids=["once", "again"],
)
def test_files_asked_for_together_or_one_by_one_are_all_made(
    desk: Path, asked: list[str]
) -> None:
    (text,) = COMMAND.findall(PAGE)
    words = shlex.split(text.replace("--also shop", ""))[1:]
    done = command(*words, "--no-proof", *asked)
    assert done.exit_code in (0, 1), done.output
    made = {path.name for path in (desk / "party").iterdir()}
    assert {"shop.pdf", "shop-job.pdf", "shop-sheets.pdf"} <= made
