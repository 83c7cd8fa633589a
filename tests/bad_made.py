"""What the tests of bad input share."""

import json
import re
from dataclasses import dataclass, field
from pathlib import Path

from tests.conftest import EDGE, command, drawing, put, snapshot

GUESTS = "front\nMaple\nOttoline\n"
TAG = drawing(EDGE)
SPOILED = "Spoiled.ttf"
OWN_FONT = f'[type]\nfont = "{SPOILED}"\n'
SENTENCE = re.compile(r"[.?!](?=\s|$)")

Telling = tuple[str, str, str]
"""Where a problem is; words of what is wrong; words of what to do."""


@dataclass(frozen=True)
class Case:
    """Files that differ from a sound list and a sound tag, options, and what is told."""

    told: list[Telling]
    files: dict[str, str | bytes] = field(default_factory=dict)
    options: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    design: str = "tag.svg"


def refused(folder: Path, case: Case) -> None:
    put(folder, {"guests.csv": GUESTS, "tag.svg": TAG} | case.files)
    for name in case.without:
        (folder / name).unlink()
    words = ["make", folder / "guests.csv", "--design", folder / case.design]
    if "--out" not in case.options:
        words += ["--out", folder / "picnic"]
    words += [option.replace("FOLDER", str(folder)) for option in case.options]
    before = snapshot(folder)
    said, as_json = command(*words), command(*words, "--json")
    assert (said.exit_code, as_json.exit_code) == (2, 2), said.output
    assert said.stdout == ""
    assert as_json.stderr == said.stderr
    problems = json.loads(as_json.stdout)["problems"]
    lines = said.stderr.splitlines()
    assert len(lines) == len(problems) == len(case.told), said.stderr
    for shown, problem, (place, says, do) in zip(lines, problems, case.told, strict=True):
        whole = f"{problem['place']}: {problem['says']} {problem['do']}"
        assert shown == whole.replace("\n", " ")
        assert problem["place"] == place
        assert says in problem["says"]
        assert do in problem["do"]
        assert len(SENTENCE.findall(problem["says"])) == 1, shown
        assert len(SENTENCE.findall(problem["do"])) == 1, shown
        assert str(folder) not in shown
    assert snapshot(folder) == before
