"""Sizes that texts share, and those of an earlier run."""

import json
from pathlib import Path

import pytest

import personalize
from personalize.errors import InputError
from personalize.job import Job
from tests.blocks_made import CARD, design_of, job_of, texts_in
from tests.conftest import command, put

# Sizes ---------------------------------------------------------------------------------

GROUPED = """
[type]
sizes = "same"
max_pt = 60
[[panel]]
name = "front"
[[panel.block]]
name = "plant"
{}
[[panel.block]]
name = "grower"
{}
"""
LATE = "plant,grower\nMint,Io\nBasil,Wilhelmina Featherstone\nLeek,Bo\n"


def sizes_of(job: Job) -> dict[str, set[float]]:
    found: dict[str, set[float]] = {}
    for texts in texts_in(job):
        for name, text in texts.items():
            found.setdefault(name.split(" / ")[1], set()).add(text.size_pt)
    return found


def test_texts_of_one_size_group_share_their_sizes(tmp_path: Path) -> None:
    alone = sizes_of(job_of(tmp_path, CARD, GROUPED.format("", ""), LATE))
    group = 'size_group = "words"'
    shared = sizes_of(job_of(tmp_path, CARD, GROUPED.format(group, group), LATE))
    (plant,), (grower,) = alone["plant"], alone["grower"]
    assert plant > grower
    assert shared == {"plant": {grower}, "grower": {grower}}
    with pytest.raises(InputError, match="others of its size_group 'words' for 'same'"):
        design_of(tmp_path, CARD, GROUPED.format(group, f'{group}\nsizes = "steps"'))


def test_late_guests_take_the_sizes_of_an_earlier_run(tmp_path: Path) -> None:
    design_of(tmp_path, CARD, GROUPED.format("", ""))
    late = "plant,grower\nMint,Ann\nDill," + "Quillfeather" * 4 + "\n"
    put(tmp_path, {"guests.csv": LATE, "late.csv": late})
    kit = ("--design", tmp_path / "kit.toml", "--out")
    done = command("make", tmp_path / "guests.csv", *kit, tmp_path / "out")
    assert done.exit_code in (0, 1), done.output
    earlier = tmp_path / "out" / "report.json"

    def grower(folder: str) -> list[float]:
        report = json.loads((tmp_path / folder / "report.json").read_text("utf-8"))
        pieces = [p for p in report["pieces"] if p["row"] is not None]
        return [t["size_pt"] for p in pieces for t in p["texts"] if t["block"] == "grower"]

    command("make", tmp_path / "late.csv", *kit, tmp_path / "own", "--rows", "2")
    command("make", tmp_path / "late.csv", *kit, tmp_path / "like", "--rows", "2",
            "--sizes-from", earlier)  # fmt: skip
    assert grower("like")[0] == grower("out")[0]
    assert grower("own")[0] < grower("like")[0]
    told = command(
        "check", tmp_path / "late.csv", *kit[:2], "--sizes-from", earlier, "--json"
    )
    rules = [f["rule"] for f in json.loads(told.stdout)["findings"]]
    assert "own-size" in rules  # the long one of the late list, which fits in no other way


SIZES = '{"personalize_report": 1, "sizes": ['


@pytest.mark.parametrize(
    ("report", "says"),
    [
        (None, "report.json cannot be read (No such file or directory)."),
        ("{", "report.json is no report of ours."),
        ('{"a": 1}', "report.json is no report of ours."),
        ('{"personalize_report": 1}', "tells no sizes."),
        (f"{SIZES}{{}}]}}", "the sizes in report.json are damaged."),
        (f'{SIZES}{{"design": "Tent", "places": [], "rule": "same", "steps_pt": [9]}}]}}',
         "has no sizes for kit, only for: Tent."),
        (f'{SIZES}{{"design": "kit", "places": [{{"panel": "x", "block": null}}],'
         ' "rule": "same", "steps_pt": [9]}]}', "tells no sizes for front"),
        (f'{SIZES}{{"design": "kit", "places": [{{"panel": "front", "block": "plant"}}],'
         ' "rule": "steps", "steps_pt": [9]}]}', "follow the rule 'steps'"),
    ],
)  # fmt: skip
def test_a_wrong_report_is_told_in_one_sentence(
    report: str | None, says: str, tmp_path: Path
) -> None:
    design_of(tmp_path, CARD, GROUPED.format("", ""))
    put(tmp_path, {"guests.csv": LATE} | ({"report.json": report} if report else {}))
    done = command("check", tmp_path / "guests.csv", "--design", tmp_path / "kit.toml",
                   "--sizes-from", tmp_path / "report.json")  # fmt: skip
    assert done.exit_code == 2
    assert says in done.output
    assert "--sizes-from" in done.output


def test_what_a_blocks_type_lacks_names_its_panel_and_the_block(tmp_path: Path) -> None:
    toml = '[[panel]]\nname = "front"\nat = [50, 30]\n'
    for block, more in (("top", 'features = ["ss09"]\n'), ("foot", "")):
        toml += f'[[panel.block]]\nname = "{block}"\ntext = "{{{block}}}"\n{more}'
    design = design_of(tmp_path, CARD, toml)
    put(tmp_path, {"guests.csv": "top,foot\nBo,Io\n"})
    found = personalize.check(personalize.read_table(tmp_path / "guests.csv"), design)
    (one,) = (f for f in found.findings if f.rule == "no-feature")
    assert (one.panel, one.block) == ("front", "top")
