"""``inspect``: what is seen in a drawing, and the design file that it writes."""

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from personalize.design.inspect import inspect_svg
from personalize.design.lines import find_pieces
from personalize.design.load import load_design, load_designs
from personalize.design.spec import DesignSpec
from personalize.errors import InputError
from personalize.geometry.zone import Region
from tests.conftest import SAMPLES, command, drawing, put
from tests.svg_cases import CASES
from tests.svg_cases_clipped import CLIPPED

BOX = '<rect id="a" x="5" y="5" width="50" height="30" fill="none" stroke="red"/>'


def kinds(text: str) -> dict[str, str]:
    """What each shape with an id is taken for."""
    seen = inspect_svg(text.encode(), "kit.svg", DesignSpec(place="kit.svg"))
    return {one: str(group.kind) for group in seen.groups for one in group.ids}


# What a person takes each for who sees it in a carton drawing. Common practice, no source.
GUESSES: dict[str, tuple[str, dict[str, str]]] = {
    "closed and outermost": (BOX, {"a": "Cutting"}),
    "a hole": (
        BOX + '<circle id="b" cx="15" cy="15" r="3" fill="none" stroke="red"/>',
        {"a": "Cutting", "b": "Cutting"},
    ),
    "a ring that is drawn unlike the outline": (
        BOX + '<circle id="b" cx="15" cy="15" r="3" fill="none" stroke="green"/>',
        {"a": "Cutting", "b": "artwork"},
    ),
    "a dashed ring": (
        BOX + '<circle id="b" cx="15" cy="15" r="3" fill="none" stroke="#000"'
        ' stroke-dasharray="1"/>',
        {"a": "Cutting", "b": "Perforating"},
    ),
    "open from edge to edge": (
        BOX + '<path id="b" d="M30 5V35" fill="none" stroke="blue"/>',
        {"a": "Cutting", "b": "Creasing"},
    ),
    "a line element, whose fill is black but shows nowhere": (
        BOX + '<line id="b" x1="30" y1="5" x2="30" y2="35" stroke="blue"/>',
        {"a": "Cutting", "b": "Creasing"},
    ),
    "dashed": (
        BOX + '<path id="b" d="M30 9V30" stroke="blue" stroke-dasharray="2 1"/>',
        {"a": "Cutting", "b": "Creasing"},
    ),
    "strokes in a row": (
        BOX
        + "".join(
            f'<path id="b{y}" d="M30 {y}v2" stroke="#00f"/>' for y in range(5, 34, 4)
        ),
        {"a": "Cutting"} | {f"b{y}": "Creasing" for y in range(5, 34, 4)},
    ),
    "a squiggle inside": (
        BOX + '<path id="b" d="M20 15q5 9 9 0" fill="none" stroke="blue"/>',
        {"a": "Cutting", "b": "artwork"},
    ),
    "a crop mark": (
        BOX + '<path id="b" d="M0 5h3" stroke="#000"/>',
        {"a": "Cutting", "b": "ignore"},
    ),
    "a filled shape": (
        BOX + '<rect id="b" x="10" y="10" width="9" height="9" fill="red"/>',
        {"a": "Cutting", "b": "artwork"},
    ),
    "a filled shape called edge": (
        BOX + '<rect id="edge" x="1" y="1" width="58" height="38" fill="red"/>',
        {"a": "Cutting", "edge": "artwork"},
    ),
    "an outline in four pieces": (
        '<g fill="none" stroke="red"><path id="a" d="M5 5H55"/><path id="b" d="M55 35V5"/>'
        '<path id="c" d="M55 35H5"/><path id="d" d="M5 5.004V35"/></g>',
        dict.fromkeys("abcd", "Cutting"),
    ),
    "a filled outline and nothing else": (
        '<rect id="a" x="5" y="5" width="50" height="30" fill="#fee" stroke="red"/>'
        '<rect id="b" x="9" y="9" width="5" height="5" fill="#fee" stroke="red"/>',
        {"a": "Cutting", "b": "artwork"},
    ),
    "names": (
        BOX.replace('id="a"', 'id="Cut_1"')
        + '<path id="perf" d="M30 5V35" stroke="red"/><path id="b" class="glue-area"'
        ' d="M40 10h9v9h-9z" fill="none" stroke="red"/><path id="kissCut" d="M10 10h9v9z"'
        ' fill="none" stroke="red"/><path id="c" d="M41 5V35" stroke="blue"/>',
        {
            "Cut_1": "Cutting",
            "perf": "Perforating",
            "b": "Gluing",
            "kissCut": "PartialCutting",
            "c": "Creasing",
        },
    ),
    "a layer of lines, one of them dashed": (
        '<g id="Cut_lines">' + BOX + '<path id="b" d="M30 5V35" stroke="red"'
        ' stroke-dasharray="2"/></g>',
        {"a": "Cutting", "b": "Creasing"},
    ),
    "a named outline among other closed lines": (
        BOX.replace('id="a"', 'id="a" class="edge"')
        + '<rect id="b" width="60" height="40" fill="none" stroke="red"/>',
        {"a": "Cutting", "b": "artwork"},
    ),
    "a T": (
        BOX
        + '<g stroke="blue"><path id="b" d="M30 5V35"/><path id="c" d="M30 20H55"/></g>',
        {"a": "Cutting", "b": "Creasing", "c": "Creasing"},
    ),
}


@pytest.mark.parametrize("name", GUESSES)
def test_what_lines_are_taken_for(name: str) -> None:
    inside, wanted = GUESSES[name]
    assert kinds(drawing(inside)) == wanted


KITS = {name: drawing(inside) for name, (inside, _) in GUESSES.items()}
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


def test_json_says_what_was_seen(tmp_path: Path) -> None:
    svg = tmp_path / "kit.svg"
    svg.write_text(
        drawing(BOX + '<path id="b" d="M30 5V35" stroke="blue" stroke-dasharray="2"/>'),
        "utf-8",
    )
    done = command("inspect", svg, "--json")
    assert done.exit_code == 0
    told = json.loads(done.stdout)
    assert told["size_mm"] == [60, 40]
    assert told["size_in"] == [2.3622, 1.5748]
    cut, fold = told["lines"]
    assert cut["kind"] == "Cutting"
    assert (cut["closed"], cut["count"], cut["length_mm"]) == (True, 1, 160)
    assert cut["box_mm"] == [5, 5, 55, 35]  # y up, from the lower left
    assert (fold["kind"], fold["closed"], fold["length_mm"]) == ("Creasing", False, 30)
    assert (fold["ids"], fold["stroke"], fold["dashes"]) == (["b"], "blue", "2")
    assert [(p["name"], p["area_mm2"], p["box_mm"]) for p in told["panels"]] == [
        ("front", 750, [30, 5, 55, 35]),
        ("back", 750, [5, 5, 30, 35]),
    ]
    assert told["findings"] == []


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


def test_px_per_inch_beside_a_stated_size_is_refused(tmp_path: Path) -> None:
    svg = tmp_path / "kit.svg"
    svg.write_text(drawing(BOX), "utf-8")
    done = command("inspect", svg, "--px-per-inch", "72")
    assert done.exit_code == 2
    assert "--px-per-inch: kit.svg states its own size, 60.0 x 40.0 mm" in done.stderr
    assert command("inspect", svg, "--px-per-inch", "0").exit_code == 2
    (tmp_path / "kit.toml").write_text('name = "A"\npx_per_inch = 90\n', "utf-8")
    with pytest.raises(
        InputError, match=r"kit\.toml, line 2: kit\.svg states its own size"
    ):
        load_design(svg)


def test_a_design_file_beside_the_drawing_has_the_word(tmp_path: Path) -> None:
    (tmp_path / "kit.svg").write_text(drawing(BOX + BOX.replace('"a"', '"b"')), "utf-8")
    (tmp_path / "kit.toml").write_text('[lines]\nCutting = "#b"\n', "utf-8")
    done = command("inspect", tmp_path / "kit.svg")
    assert "Lines as kit.toml has them:" in done.stdout
    assert "Cutting: 1 x #b," in done.stdout
    assert "artwork: 1 x #a," in done.stdout
    assert command("inspect", "plant-flag").exit_code == 0


def test_a_panel_of_several_texts_has_its_own_name() -> None:
    seen = json.loads(command("inspect", "jar-lid", "--json").stdout)
    assert [panel["name"] for panel in seen["panels"]] == ["lid"]


@pytest.mark.parametrize("name", KITS)
def test_the_picture_tells_kinds_apart_without_colour(name: str, tmp_path: Path) -> None:
    svg = tmp_path / "kit.svg"
    svg.write_text(KITS[name], "utf-8")
    command("inspect", svg, "--picture", tmp_path / "seen.svg")
    root = ET.parse(tmp_path / "seen.svg").getroot()  # our own file
    words = " ".join(root.itertext())
    for kind in set(kinds(KITS[name]).values()):
        assert kind in words
    inks = {e.get("stroke") for e in root.iter() if e.get("stroke") not in (None, "none")}
    assert inks <= {"#000", "#888", "#bbb", "#fff"}
    assert "60.00 x 40.00 mm (2.362 x 1.575 in)" in words


def test_hidden_and_outside_things_are_told(tmp_path: Path) -> None:
    svg = tmp_path / "kit.svg"
    svg.write_text(
        drawing(
            BOX + '<rect id="h" width="3" height="3" display="none"/>'
            '<image href="photo.png" width="3" height="3"/>'
        ),
        "utf-8",
    )
    done = command("inspect", svg)
    assert done.exit_code == 0
    assert 'note: <rect id="h"> is hidden (display: none) (line 1).' in done.stdout
    assert "note: <image> is a link to outside the file (line 1)." in done.stdout


def test_a_drawing_without_an_outline_is_shown_all_the_same(tmp_path: Path) -> None:
    svg = tmp_path / "kit.svg"
    svg.write_text(drawing('<circle cx="9" cy="9" r="5"/>'), "utf-8")
    done = command("inspect", svg)
    assert done.exit_code == 1
    assert "artwork: 1 x" in done.stdout
    assert "error: There is no outline for the knife to follow." in done.stdout


# Source: Selectors 4, section 6.4 (attributes in any namespace).
@pytest.mark.parametrize(
    "selector", ["[*|label='Cut lines']", "#layer_1", "[data-name='Cut lines 2'] > rect"]
)
def test_a_layer_is_named_by_id_or_label(selector: str, tmp_path: Path) -> None:
    (tmp_path / "kit.svg").write_text(
        drawing(
            '<g xmlns:k="urn:k" k:label="Cut lines" data-name="Cut lines 2" id="layer_1">'
            + BOX
            + "</g>"
        ),
        "utf-8",
    )
    (tmp_path / "kit.toml").write_text(f'[lines]\nCutting = "{selector}"\n', "utf-8")
    assert load_design(tmp_path / "kit.svg").outline.closed


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


def test_many_small_rings_are_not_all_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    # 400 rings make 80,000 pairs; only those whose boxes meet are looked at.
    asked = 0
    contains = Region.contains

    def counted(region: Region, point: tuple[float, float]) -> bool:
        nonlocal asked
        asked += 1
        return contains(region, point)

    monkeypatch.setattr(Region, "contains", counted)
    rings = "".join(
        f'<circle id="r{i}" cx="{8 + i % 20 * 2}" cy="{8 + i // 20}" r=".3" fill="none"'
        ' stroke="red"/>'
        for i in range(400)
    )
    found = kinds(drawing(BOX + rings))
    assert set(found.values()) == {"Cutting"}
    assert len(found) == 401
    assert asked < 2000


def test_why_no_design_file_is_written_is_told(tmp_path: Path) -> None:
    gap = '<path d="M2 2H58V38H2V5" fill="none" stroke="#000"/>'
    (tmp_path / "kit.svg").write_text(drawing(gap), "utf-8")
    done = command("inspect", tmp_path / "kit.svg", "--write")
    assert done.exit_code == 2
    assert "3.00 mm apart" in done.output
    assert "no design file can be written" in done.output
    assert not (tmp_path / "kit.toml").exists()


STRIP = (
    '<rect id="edge" x="2" y="2" width="56" height="36" fill="none" stroke="#000"/>'
    '<path id="a" class="fold" d="M20 2V38" stroke="#000" stroke-dasharray="3 2"/>'
    '<path id="b" class="fold" d="M40 2V38" stroke="#000" stroke-dasharray="3 2"/>'
)


def test_creases_are_told_with_how_they_are_folded(tmp_path: Path) -> None:
    put(tmp_path, {"strip.svg": drawing(STRIP)})
    said = command("inspect", tmp_path / "strip.svg").output
    assert "2 creases between panels:" in said
    assert "panel1 | panel2: 180 degrees, mountain (taken: nothing says so)" in said
    told = '[[crease]]\nlines = "#a"\nangle_deg = 90\nway = "valley"\n'
    told += '[[crease]]\nlines = "#b"\nangle_deg = 0\n'
    put(tmp_path, {"strip.toml": told})
    seen = json.loads(command("inspect", tmp_path / "strip.svg", "--json").output)
    first, second = seen["creases"]
    assert first == {
        "piece": "",
        "between": ["panel1", "panel2"],
        "at_mm": [20, 20],
        "length_mm": 36,
        "angle_deg": 90,
        "way": "valley",
        "told": True,
    }
    assert second["angle_deg"] == 0
    picture = tmp_path / "seen.svg"
    command("inspect", tmp_path / "strip.svg", "--picture", picture)
    assert "90 degrees, valley" in picture.read_text()
    assert "only marked" in picture.read_text()


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
