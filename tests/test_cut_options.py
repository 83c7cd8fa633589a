"""What is asked for of a cut, on the command line and in a design file."""

import json
from pathlib import Path

import pytest

import personalize
from personalize.errors import InputError
from tests.conftest import command, drawing, line, put


@pytest.mark.parametrize(
    ("toml", "says"),
    [
        ("around_mm = 90", "around_mm under [cut] of Tag: a cut 90 mm round the pieces"),
        ("nicks = 99\nnick_mm = 5", "Give nicks under [cut] of Tag a smaller number"),
    ],
)
def test_what_a_design_asks_for_and_cannot_be_names_its_key(
    toml: str, says: str, tmp_path: Path
) -> None:
    put(
        tmp_path,
        {
            "tag.svg": drawing(line("M5 20A15 15 0 0 1 35 20A15 15 0 0 1 5 20Z")),
            "tag.toml": f'name = "Tag"\n[cut]\n{toml}\n',
            "guests.csv": "front\nBo\n",
        },
    )
    design = personalize.load_design(tmp_path / "tag.toml")
    table = personalize.read_table(tmp_path / "guests.csv")
    with pytest.raises(InputError) as told:
        personalize.make(table, design, tmp_path / "out")
    assert says in str(told.value)
    assert "--" not in str(told.value).replace("--marks none", "")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--nicks", "plum"], "'plum' is no number of nicks"),
        (["--nicks", "3,40"], "from 0.1 to 5 mm"),
        (["--around", "0"], "'0' is no distance from 0.5 to 100 mm"),
        (["--also", "dxf,plums"], "'plums' names no kind of file"),
    ],
)
def test_options_that_cannot_be_used_are_told_in_a_sentence(
    options: list[str],
    says: str,
    tmp_path: Path,
) -> None:
    put(tmp_path, {"herbs.csv": "plant\nBasil\n"})
    given = ("make", tmp_path / "herbs.csv", "--design", "herb-tag", *options)
    done = command(*given, "--out", tmp_path / "out")
    assert done.exit_code == 2
    assert says in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_run_with_every_option_writes_what_it_says(
    tmp_path: Path,
) -> None:
    put(tmp_path, {"herbs.csv": "name\nBasil\n"})
    out = tmp_path / "out"
    done = command(
        *("make", tmp_path / "herbs.csv", "--design", "table-tent", "--no-proof"),
        *("--also", "dxf", "--creases", "dashes", "--nicks", "2,0.6", "--around", "1"),
        *("--dxf-curves", "splines", "--out", out),
    )
    assert "cut.dxf" in done.stdout
    text = (out / "cut.svg").read_text("utf-8")
    creases = text.split('id="Creasing"')[1].split("</g>")[0]
    report = json.loads((out / "report.json").read_text("utf-8"))
    # 105 mm across a tent, from 2 mm inside on: a dash in each 4 mm.
    assert creases.count("<path") > 20 * len(report["pieces"]) > 20
    assert "SPLINE" in (out / "cut.dxf").read_text("utf-8")
