"""docs/cutting.md and docs/machines.md: every command, option and record runs as shown."""

import re
import shlex
from pathlib import Path

import ezdxf
import pytest

from personalize.settings import find_machine, keep_machine
from personalize.sheet.machine import read_machine
from personalize.sheet.paper import parse_paper
from personalize.sheet.ruler import measured, parse_measured, ruler_sheet
from tests.conftest import GUESTS, command, drawing, line, put
from tests.docs_read import OPTION, commands, page

DOCS = {name: page(name) for name in ("cutting", "machines")}
TAG = line("M2 2H58V38H2Z", "edge") + line("M30 2V38", "fold")


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with what the pages take for granted: a list and a few designs."""
    monkeypatch.setenv("PERSONALIZE_SETTINGS", str(tmp_path / "settings"))
    monkeypatch.chdir(tmp_path)
    back = (
        '[lines]\nCutting = "#edge"\n[back]\n[[back.panel]]\nname = "front"\nat = [9, 9]\n'
    )
    put(
        tmp_path,
        {
            "guests.csv": GUESTS,
            "my-flag.svg": drawing(line("M2 2H58V38H2Z", "edge")),
            "flag.svg": drawing(line("M2 2H58L50 20L58 38H2Z", "edge")),
            "tag.svg": drawing(line("M2 2H42L50 20L42 38H2Z", "edge")),
            "folded.svg": drawing(TAG),
            "folded.toml": 'svg = "folded.svg"\n[lines]\nCutting = "#edge"\n'
            'Creasing = "#fold"\n[[panel]]\nname = "front"\nat = [40, 20]\n',
            "both.svg": drawing(line("M2 2H58V38H2Z", "edge")),
            "both.toml": back.replace("[lines]", 'svg = "both.svg"\n[lines]'),
        },
    )
    return tmp_path


@pytest.mark.parametrize("name", DOCS)
def test_every_command_of_the_page_runs(name: str, desk: Path) -> None:
    ran = []
    for text in commands(DOCS[name]):
        program, *words = shlex.split(text)
        assert program == "personalize"
        if words == ["ruler"] or words == ["ruler", "--both-sides"]:
            words += ["--out", f"sheet-{len(ran)}"]  # named in passing, without its folder
        done = command(*words)
        # 1: a warning stands, such as a bleed that a plain drawing does not have.
        assert done.exit_code in (0, 1), (text, done.output)
        ran.append(words[0])
    assert (
        ran
        == {
            "cutting": ["make", "make"],
            "machines": ["make", "ruler", "ruler", "ruler", "machines"],
        }[name]
    )
    made = {
        "cutting": ("party/cut.svg", "lids/cut.svg", "lids/print.pdf"),
        "machines": ("party/print.pdf", "ruler/ruler.pdf", "ruler/ruler-cut.svg",
                     "ruler/ruler-cut.dxf", "settings/machines/kitchen.toml"),
    }[name]  # fmt: skip
    for file in made:
        assert (desk / file).stat().st_size > 0, file


def test_every_option_of_the_pages_runs_as_it_is_written(desk: Path) -> None:
    keep_machine(read_machine(record(), "kitchen.toml", "kitchen"))
    written = {one for text in DOCS.values() for one in OPTION.findall(text)}
    put(desk, {"kitchen.toml": record()})
    needs = {
        "--backing": "3", "--clear": "top left 14x14", "--machine": "kitchen.toml",
        "--margin": "7", "--paper": "Letter", "--rows": "2", "--where": "front=Rowan",
        "--sort": "front", "--marks": "corners", "--dxf-curves": "splines",
        "--also": "dxf", "--count": "2", "--around": "3",
    }  # fmt: skip
    on_its_own = {"--both-sides", "--measured", "--save", "--out", "--design"}
    assert len(written) > 20
    for one in sorted(written):
        name, *given = one.split(" ", 1)
        if name in on_its_own:
            helped = command("make" if name == "--design" else "ruler", "--help")
            assert name in helped.output
            continue
        value = given or ([needs[name]] if name in needs else [])
        words: list[str] = [name, *value]
        if name == "--two-sided":
            words += [] if value else ["upright"]
            design = "both.toml"
        else:
            design = "folded.toml" if "fold-first" in value else "my-flag.svg"
        words += ["--also", "dxf"] if name == "--dxf-curves" else []
        words += ["--design", "folded.toml"] if name == "--by-guest" else []
        source = [] if name == "--count" else ["guests.csv"]
        done = command(
            "make", *source, "--design", design, "--no-proof", "--out", "out", *words
        )
        assert done.exit_code in (0, 1), (one, done.output)


def record() -> str:
    (found,) = re.findall(r"```toml\n(.*?)```", DOCS["machines"], re.S)
    return str(found)


def test_the_record_of_the_page_is_read_and_comes_of_the_figures_of_the_page(
    desk: Path,
) -> None:
    put(desk, {"kitchen.toml": record()})
    shown = find_machine("kitchen.toml")
    (text,) = [one for one in commands(DOCS["machines"]) if "--measured" in one]
    figures = shlex.split(text)[shlex.split(text).index("--measured") + 1]
    made = measured(
        ruler_sheet(parse_paper("A4")), parse_measured(figures), "kitchen"
    ).machine
    assert shown.print_scale == pytest.approx(made.print_scale, abs=1e-5)
    assert shown.print_shift_mm == pytest.approx(made.print_shift_mm, abs=1e-3)
    assert shown.cut_shift_mm == pytest.approx(made.cut_shift_mm, abs=1e-3)
    assert shown.askew == made.askew


def test_files_that_the_page_names_are_written(desk: Path) -> None:
    files = re.findall(r"^\| `(\w+)` \| `([\w.-]+)`", DOCS["cutting"], re.M)
    assert [also for also, _ in files] == ["dxf", "together", "png", "marks"]
    also = ",".join(one for one, _ in files)
    words = ("guests.csv", "--design", "my-flag.svg", "--no-proof", "--out", "out")
    assert command("make", *words, "--also", also).exit_code in (0, 1)
    for _, file in files:
        assert (desk / "out" / file).is_file(), file
    layers = {one.dxf.name for one in ezdxf.readfile(desk / "out" / "cut.dxf").layers}
    assert "Cutting" in layers
