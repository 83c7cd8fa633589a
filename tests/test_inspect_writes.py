"""``inspect --write``: the design file means the lines that were seen, and runs."""

import json
import re
from pathlib import Path

import pytest

from personalize.design.inspect import inspect_svg
from personalize.design.lines import find_pieces
from personalize.design.load import load_design, load_designs
from personalize.design.spec import DesignSpec
from tests.conftest import SAMPLES, command, drawing, put
from tests.inspect_made import BOX, KITS, STRIP
from tests.svg_cases import CASES
from tests.svg_cases_clipped import CLIPPED

WRITTEN = {
    **{f"sample {path.stem}": path.read_text("utf-8") for path in SAMPLES.glob("*.svg")},
    **{f"kit: {name}": text for name, text in KITS.items()},
    **{f"case: {name}": text for name, text in (CASES | CLIPPED).items()},
}


# The promise of --write: the file runs as it is, and means the lines that were seen.
@pytest.mark.parametrize("name", WRITTEN)
def test_the_written_design_has_the_lines_that_were_seen(name: str, tmp_path: Path) -> None:
    svg = tmp_path / "kit.svg"
    svg.write_text(WRITTEN[name], "utf-8")
    seen = inspect_svg(svg.read_bytes(), "kit.svg", DesignSpec(place="kit.svg"))
    done = command("inspect", svg, "--write")
    toml = tmp_path / "kit.toml"
    worded = len(seen.pieces) > 1 or any(panel.takes_text for panel in seen.panels)
    if not seen.pieces or not worded:
        assert done.exit_code == 2
        assert not toml.exists()
        assert done.stderr.startswith("kit.svg")
        return
    assert toml.is_file(), done.stderr
    designs = load_designs(toml)
    every = find_pieces(seen.drawing, {}, "kit.svg")
    for design, bare, piece in zip(designs, every, seen.pieces, strict=True):
        assert sorted(design.lines, key=repr) == sorted(bare.lines, key=repr)
        named = [panel for panel in piece.panels if panel.takes_text]
        told = [f"{piece.name} {panel.name}".strip() for panel in named]
        assert [panel.name for panel in design.panels] == told
        assert [panel.region for panel in design.panels] == [one.region for one in named]


@pytest.mark.parametrize("name", [name for name in WRITTEN if name.startswith("sample")])
def test_the_written_design_has_the_panels_of_the_bare_drawing(
    name: str, tmp_path: Path
) -> None:
    svg = tmp_path / "kit.svg"
    svg.write_text(WRITTEN[name], "utf-8")
    bare = load_design(svg)
    assert command("inspect", svg, "--write").exit_code == 0
    told = load_design(svg)
    for panel in bare.panels:
        other = told.panel(panel.name)
        assert (other.zone, other.turn_deg) == (panel.zone, panel.turn_deg)


def test_nothing_is_written_over(tmp_path: Path) -> None:
    svg, toml = tmp_path / "kit.svg", tmp_path / "kit.toml"
    svg.write_text(drawing(BOX), "utf-8")
    toml.write_text('name = "Mine"\n', "utf-8")
    done = command("inspect", svg, "--write")
    assert (done.exit_code, toml.read_text("utf-8")) == (2, 'name = "Mine"\n')
    assert "kit.toml: this file is there already." in done.stderr
    done = command("inspect", svg, "--picture", toml)
    assert (done.exit_code, toml.read_text("utf-8")) == (2, 'name = "Mine"\n')


# Source: CSS Values 4, section 6.2: 96 px are an inch of 25.4 mm.
@pytest.mark.parametrize("px", [None, 90, 72])
def test_size_doubt(px: int | None, tmp_path: Path) -> None:
    wide_mm = 25.4 * 96 / (px or 96)
    svg = tmp_path / "kit.svg"
    svg.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 96 192"><path d="M2'
        ' 2h92v188H2z" fill="none" stroke="#000"/></svg>',
        "utf-8",
    )
    option = [] if px is None else ["--px-per-inch", str(px)]
    told = json.loads(command("inspect", svg, "--json", *option).stdout)
    assert told["size_mm"] == pytest.approx([wide_mm, 2 * wide_mm], abs=2e-4)
    done = command("inspect", svg, "--write", *option)
    assert f"{wide_mm:.2f} x {2 * wide_mm:.2f} mm" in done.stdout
    assert f"({wide_mm / 25.4:.3f} x {2 * wide_mm / 25.4:.3f} in)" in done.stdout
    doubt = "27.09 x 54.19 mm (1.067 x 2.133 in) at 90 and 33.87 x 67.73 mm" in done.stdout
    assert doubt == (px is None)
    assert done.exit_code == (1 if px is None else 0)
    design = load_design(tmp_path / "kit.toml")
    assert design.size_stated == (px is not None)
    assert design.box_mm[2] - design.box_mm[0] == pytest.approx(wide_mm * 92 / 96)
    assert design.artwork.box_mm == design.bleed.box


def test_a_line_that_only_a_copy_shares_is_not_named(tmp_path: Path) -> None:
    svg = tmp_path / "kit.svg"
    svg.write_text(
        drawing(
            '<rect id="a" x="5" y="5" width="50" height="30" fill="#fee" stroke="red"/>'
            '<use href="#a" transform="scale(.3)"/>'
        ),
        "utf-8",
    )
    done = command("inspect", svg, "--write")
    assert done.exit_code == 2
    assert "no name tells them apart" in done.stderr
    assert not (tmp_path / "kit.toml").exists()


def test_why_no_design_file_is_written_is_told(tmp_path: Path) -> None:
    gap = '<path d="M2 2H58V38H2V5" fill="none" stroke="#000"/>'
    (tmp_path / "kit.svg").write_text(drawing(gap), "utf-8")
    done = command("inspect", tmp_path / "kit.svg", "--write")
    assert done.exit_code == 2
    assert "3.00 mm apart" in done.output
    assert "no design file can be written" in done.output
    assert not (tmp_path / "kit.toml").exists()


def test_the_starter_asks_how_several_creases_are_folded(tmp_path: Path) -> None:
    put(tmp_path, {"strip.svg": drawing(STRIP)})
    command("inspect", tmp_path / "strip.svg", "--write")
    path = tmp_path / "strip.toml"
    asked = path.read_text()
    assert asked.count("# [[crease]]") == 2
    # With the marks taken away it says what was taken.
    head, _, tail = asked.partition("# How the creases")
    _, _, tail = tail.partition("\n")
    path.write_text(head + re.sub("(?m)^# ?", "", tail))
    design = load_design(path)
    assert [hinge.told for hinge in design.folding.hinges] == [True, True]
    assert {hinge.fold.angle_deg for hinge in design.folding.hinges} == {180}
