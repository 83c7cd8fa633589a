"""The command line again: same bytes, whole results, help."""

import json
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.cli_made import ALL_FILES, made_here, names
from tests.conftest import ROOT, SAMPLES, command, put, snapshot

# ---- Again ----


def run_apart(*told: str | Path, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "personalize", *map(str, told)],
        cwd=ROOT,
        env=os.environ | env,
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=120,
    )


def test_the_same_input_gives_the_same_bytes_in_another_process(
    made: Path, tmp_path: Path
) -> None:
    # PYTHONHASHSEED: another order of sets and of hashes (docs.python.org, "Command line
    # and environment"); TZ: another day.
    done = run_apart(
        *("make", SAMPLES / "picnic.csv", "--design", "plant-flag"),
        *("--out", tmp_path / "picnic"),
        PYTHONHASHSEED="1974",
        TZ="Pacific/Kiritimati",
    )
    assert done.returncode == 0, done.stderr
    assert names(tmp_path / "picnic") == ALL_FILES
    for name in ALL_FILES:
        assert (tmp_path / "picnic" / name).read_bytes() == (made / name).read_bytes(), name


def test_a_second_run_replaces_the_first_as_a_whole(desk: Path) -> None:
    made_here(desk, "--rows", "2")
    first = snapshot(desk / "picnic")
    made_here(desk, "--no-proof")
    assert names(desk / "picnic") == ["cut.svg", "print.pdf", "report.json"]
    made_here(desk, "--rows", "2")
    assert snapshot(desk / "picnic") == first
    assert names(desk) == ["guests.csv", "picnic", "tag.svg"]


def test_a_run_does_not_touch_what_it_reads(desk: Path) -> None:
    put(desk, {"tag.toml": 'name = "Bean tag"\n'})
    before = snapshot(desk)
    made_here(desk)
    after = snapshot(desk)
    assert {name: after[name] for name in before} == before


# ---- Help ----


def options_of(help_text: str) -> Sequence[str]:
    return re.findall(r"^\s+(?:-\w, )?(--[\w-]+)", help_text, re.MULTILINE)


def test_help_names_the_commands_and_the_samples() -> None:
    done = run_apart("--help")
    assert (done.returncode, done.stderr) == (0, "")
    for word in ("check", "proof", "make", "plant-flag", "herb-tag", "table-tent"):
        assert re.search(rf"\b{word}\b", done.stdout)


def test_help_of_make_explains_every_option() -> None:
    told = command("make", "-h").stdout
    assert set(options_of(told)) == {
        *("--design", "--worksheet", "--paper", "--margin", "--spacing", "--marks"),
        *(
            "--rows",
            "--json",
            "--out",
            "--also",
            "--curves",
            "--no-proof",
            "--leave-out-faulty",
        ),
        *("--encoding", "--delimiter", "--heading-row", "--clean", "--where", "--sort"),
        *(
            "--sizes-from",
            "--help",
            "--piece",
            "--clear",
            "--machine",
            "--by-hand",
            "--backing",
        ),
        *("--creases", "--perforations", "--nicks", "--around", "--dxf-curves", "--count"),
        "--against",
        *("--profile", "--mirror", "--face-down", "--labels", "--first-place", "--order"),
        "--by-guest",
        *("--spare-lines", "--most-ink"),
        *("--two-sided", "--two-sided-shift"),
    }
    assert "A4" in told


def test_version_is_that_of_the_project() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    done = run_apart("--version")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.strip() == f"personalize, version {project['version']}"


@pytest.mark.parametrize(
    "words",
    [
        ("check", "list.csv", "--json"),
        ("check", "--json", "--design", "jar-lid"),
        ("make", "list.csv", "--design", "jar-lid", "--json", "--colour"),
        ("starter", "--json"),
        ("--json", "check"),
        ("bake", "--json"),
    ],
)
def test_a_wrong_use_is_told_as_json_too(words: tuple[str, ...]) -> None:
    done = command(*words)
    assert done.exit_code == 2
    (problem,) = json.loads(done.stdout)["problems"]
    assert problem["place"].split()[-1] in (*words, "cli", "personalize")
    assert problem["says"].endswith((".", "?", ")"))
    assert "--help" in problem["do"]
