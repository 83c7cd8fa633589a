"""README, docs/print-shop.md and docs/labels.md: commands and options run as shown."""

import re
import shlex
from pathlib import Path

import openpyxl
import pytest

from tests.conftest import GUESTS, command, drawing, line, put
from tests.docs_read import OPTION, block_commands, page
from tests.press_made import press_profile

EDGE = line("M2 2H58V38H2Z")
BACK = '[back]\n[[back.panel]]\nname = "front"\nat = [9, 9]\n'


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with what the pages take for granted."""
    monkeypatch.chdir(tmp_path)
    labels = re.search(r"```toml\n(.*?)```", page("labels"), re.S)
    assert labels is not None
    put(
        tmp_path,
        {
            "guests.csv": GUESTS.replace("front", "dish"),
            "my-flag.svg": drawing(EDGE),
            "flag.svg": drawing(EDGE),
            "tag.svg": drawing(line("M2 2H42L50 20L42 38H2Z")),
            "both.svg": drawing(EDGE),
            "both.toml": 'svg = "both.svg"\n' + BACK,
            "lids.toml": labels[1],
            "press.icc": press_profile(),
        },
    )
    book = openpyxl.Workbook()
    book.active.append(["name", "front", "table"])
    for number in range(1, 11):
        book.active.append([f"Guest {number}", f"Bo {number}", 4])
    book.save(tmp_path / "guests.xlsx")
    return tmp_path


@pytest.mark.parametrize(
    ("name", "count"), [("README", 2), ("print-shop", 1), ("labels", 1)]
)
def test_every_command_of_the_page_runs(name: str, count: int, desk: Path) -> None:
    ran = block_commands(page(name))
    assert len(ran) == count
    for text in ran:
        program, *words = shlex.split(text)
        assert program == "personalize"
        done = command(*words)
        # 1: a warning stands, such as a bleed that a plain drawing does not have.
        assert done.exit_code in (0, 1), (text, done.output)
        assert (desk / words[words.index("--out") + 1] / "print.pdf").is_file()


def test_every_option_of_the_page_runs_as_it_is_written(desk: Path) -> None:
    written = sorted(set(OPTION.findall(page("print-shop"))))
    assert len(written) == 7
    needs = {"--two-sided": "upright", "--sort": "front", "--profile": "press.icc"}
    for one in written:
        name, *given = one.split(" ", 1)
        value = given or ([needs[name]] if name in needs else [])
        design = "both.toml" if name == "--two-sided" else "my-flag.svg"
        also = [] if name == "--also" else ["--also", "shop"]
        words = [name, *value, *also, "--no-proof", "--out", "out"]
        done = command("make", "guests.xlsx", "--design", design, *words)
        assert done.exit_code in (0, 1), (one, done.output)


@pytest.mark.parametrize(
    "asked",
    [["--also", "shop,ganged"], ["--also", "shop", "--also", "ganged"]],
    ids=["once", "again"],
)
def test_files_asked_for_together_or_one_by_one_are_all_made(
    desk: Path, asked: list[str]
) -> None:
    words = ("make", "guests.xlsx", "--design", "my-flag.svg", "--no-proof", *asked)
    done = command(*words, "--out", "out")
    assert done.exit_code in (0, 1), done.output
    made = {path.name for path in (desk / "out").iterdir()}
    assert {"shop.pdf", "shop-job.pdf", "shop-sheets.pdf"} <= made


def test_the_rows_of_the_options_table_run_as_they_are_written(desk: Path) -> None:
    """README: each option of the table that needs nothing but itself."""
    table = page("README").split("## Commands")[1].split("While an error stands")[0]
    written = set(OPTION.findall(table)) - {
        *(
            "--picture",
            "--picture fonts.png",
            "--write",
            "--px-per-inch",
            "--measured",
            "--save",
        ),  # of others
        *("--machine kitchen", "--sizes-from report.json", "--against OLD", "--json"),
        *("--piece NAME", "--labels lids.toml", "--first-place 2,1", "--out"),
    }
    assert len(written) > 20
    needs = {"--margin": "7", "--spacing": "4", "--profile": "press.icc"}
    for one in sorted(written):
        name, *given = one.split(" ", 1)
        value = given or ([needs[name]] if name in needs else [])
        design = "both.toml" if name == "--two-sided" else "my-flag.svg"
        also = ["--also", "shop"] if name == "--profile" else []
        also += ["--design", "both.toml"] if name == "--by-guest" else []
        words = [name, *value, *also, "--no-proof", "--out", "out"]
        done = command("make", "guests.xlsx", "--design", design, *words)
        assert done.exit_code in (0, 1), (one, done.output)
