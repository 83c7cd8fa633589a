"""The drawing that a design file names: found beside it, or told in one sentence."""

from pathlib import Path

import pytest

from personalize.design.load import load_design
from personalize.errors import InputError
from tests.conftest import EDGE, drawing, put


@pytest.mark.parametrize("name", ["KIT.svg", "./kit.svg", "Kit.SVG"])
def test_a_drawing_is_found_as_a_person_reads_its_name(name: str, tmp_path: Path) -> None:
    put(tmp_path, {"kit.svg": drawing(EDGE), "flag.toml": f'svg = "{name}"\n'})
    assert load_design(tmp_path / "flag.toml").file == "kit.svg"


@pytest.mark.parametrize(
    ("name", "says", "do"),
    [
        ("a\\u0000b.svg", "lies outside its folder", "Put it in the folder"),
        ("x" * 5000, "there is no file", "Put it there, or correct its name"),
        ("kat.svg", "there is no file 'kat.svg' in the folder", "Did you mean 'kit.svg'?"),
        ("../kit.svg", "lies outside its folder", "Put it in the folder"),
        ("Lines/flag.svg", "folders are written 'lines'", "Write 'lines/flag.svg'"),
        ("LINES/Old/one.svg", "are written 'lines/old'", "Write 'lines/old/one.svg'"),
        ("other/flag.svg", "there is no file 'other/flag.svg'", "correct its name"),
    ],
)
def test_a_name_that_finds_nothing_is_told(
    name: str, says: str, do: str, tmp_path: Path
) -> None:
    files: dict[str, str | bytes] = {
        "kit.svg": drawing(EDGE),
        "lines/flag.svg": drawing(EDGE),
        "lines/old/one.svg": drawing(EDGE),
        "flag.toml": f'svg = "{name}"\n',
    }
    put(tmp_path, files)
    with pytest.raises(InputError) as caught:
        load_design(tmp_path / "flag.toml")
    (problem,) = caught.value.problems
    assert (problem.place, says in problem.says, do in problem.do) == (
        "flag.toml",
        True,
        True,
    ), str(problem)


def test_a_drawing_in_a_folder_is_used(tmp_path: Path) -> None:
    put(tmp_path, {"in/kit.svg": drawing(EDGE), "flag.toml": 'svg = "in/kit.svg"\n'})
    assert load_design(tmp_path / "flag.toml").file == "kit.svg"
