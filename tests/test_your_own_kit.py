"""docs/your-own-kit.md: its files and its commands, in their order."""

import re
import shlex
import shutil
from pathlib import Path

import pytest

from personalize.design.load import load_design
from tests.conftest import ROOT, command

GUIDE = (ROOT / "docs" / "your-own-kit.md").read_text("utf-8")
STEP = re.compile(r"<!-- file: (\S+) -->\n```\w+\n(.*?)```|```sh\n(.*?)```", re.S)


def test_every_command_of_the_guide_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copy(ROOT / "samples" / "plum.png", tmp_path)
    ran = []
    for name, content, commands in STEP.findall(GUIDE):
        if name:
            (tmp_path / name).write_text(content, "utf-8")
        for line in commands.splitlines():
            program, *words = shlex.split(line)
            assert program == "personalize"
            done = command(*words)
            assert done.exit_code == 0, (line, done.output)
            ran.append(words[0])
    assert ran == [
        "inspect",
        "inspect",
        "starter",
        "check",
        *["make"] * 3,
        "inspect",
        "make",
    ]
    made = ("seen.svg", "bean-tag.toml", "gardeners-empty.csv", "plum.toml")
    for name in (*made, "picnic/print.pdf", "plums/cut.svg"):
        assert (tmp_path / name).stat().st_size > 0
    assert "front" in (tmp_path / "gardeners-empty.csv").read_text("utf-8-sig")
    design = load_design(tmp_path / "bean-tag.toml")
    assert [panel.name for panel in design.panels] == ["front", "back"]
    assert len(design.holes) == 1


def test_every_option_and_key_that_the_guide_names_is_there() -> None:
    said = command("inspect", "--help").output
    for option in ("--px-per-inch", "--picture", "--write", "--json"):
        assert option in said
    keys = (ROOT / "docs" / "design-file.md").read_text("utf-8")
    for key in ("px_per_inch", "mend", "extend_edge", "line_art"):
        assert f"`{key}" in GUIDE
        assert key in keys
