"""Slits, glue areas and drawn text areas: what stands inside a piece beside its creases."""

import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import personalize
from personalize.checks.findings import design_findings
from personalize.checks.inside import InsideCheck
from personalize.design.design import AREA_MM, Design
from personalize.design.inspect import inspect_svg
from personalize.design.load import load_design
from personalize.design.spec import DesignSpec
from personalize.errors import InputError, InsideError
from personalize.geometry.affine import translation
from personalize.geometry.zone import Region
from personalize.job import prepare
from personalize.type.compose import ComposedText
from tests.conftest import command, drawing
from tests.inspect_made import BOX, kinds
from tests.test_inside import moved

RED = 'fill="none" stroke="red"'
CREASE = '<path id="fold" d="M5 20H55" stroke="blue" stroke-dasharray="2 1"/>'


def red(path: str, name: str = "b") -> str:
    return f'<path id="{name}" d="{path}" {RED}/>'


def loaded(folder: Path, inside: str, toml: str | None = None) -> Design:
    (folder / "kit.svg").write_text(drawing(inside), "utf-8")
    if toml is not None:
        (folder / "kit.toml").write_text(toml, "utf-8")
    return load_design(folder / "kit.svg")


def refusal(folder: Path, inside: str, toml: str | None = None) -> str:
    with pytest.raises(InputError) as caught:
        loaded(folder, inside, toml)
    return " ".join(str(problem) for problem in caught.value.problems)


def polygon(region: Region) -> shapely.Polygon:
    return shapely.Polygon(region.outer, region.holes)


# What a person takes each for who sees it in a carton drawing. Common practice, no source.
SEEN: dict[str, tuple[str, dict[str, str]]] = {
    "a slit drawn like the outline": (BOX + red("M20 20h15"), {"b": "Cutting"}),
    "a pair of slits": (
        BOX + red("M20 20h15") + red("M20 22h15", "c"),
        {"b": "Cutting", "c": "Cutting"},
    ),
    "a notch cut": (BOX + red("M55 20h-9"), {"b": "Cutting"}),
    "a crease beside a slit, drawn alike": (
        BOX + red("M5 20H55") + red("M20 28h15", "c"),
        {"b": "Creasing", "c": "Cutting"},
    ),
    "two creases that meet, drawn alike": (
        BOX + red("M5 20H55") + red("M30 20V35", "c"),
        {"b": "Creasing", "c": "Creasing"},
    ),
    "a short line drawn unlike the outline": (
        BOX + '<path id="b" d="M20 20h15" fill="none" stroke="green"/>',
        {"b": "artwork"},
    ),
    "a line called slit": (
        BOX + '<path id="slit" d="M20 20h15" fill="none" stroke="green"/>',
        {"slit": "Cutting"},
    ),
    "many short lines drawn like the outline": (
        BOX
        + "".join(
            red(f"M{9 + i % 6 * 7} {9 + i // 6 * 6}l2 1", f"s{i}") for i in range(24)
        ),
        {f"s{i}": "artwork" for i in range(24)},
    ),
    "a hole beside an outline with a name": (
        BOX.replace('id="a"', 'id="edge"') + red("M20 20h5v5h-5z"),
        {"edge": "Cutting", "b": "Cutting"},
    ),
    "a filled glue area with a name": (
        BOX + '<rect id="glue" x="10" y="10" width="9" height="9" fill="#ddd"/>',
        {"glue": "Gluing"},
    ),
    "a text area with a name": (
        BOX + '<rect id="name-box" x="10" y="10" width="30" height="9" fill="#fff"/>',
        {"name-box": "text area"},
    ),
    "a class": (
        BOX + f'<rect id="b" class="textArea" x="10" y="10" width="30" height="9" {RED}/>',
        {"b": "text area"},
    ),
    "a shape that nobody sees": (
        BOX + '<rect id="b" x="10" y="10" width="30" height="9" fill="none"/>',
        {"b": "text area"},
    ),
    "a page that nobody sees": (
        BOX + '<rect id="b" width="60" height="40" fill="none"/>',
        {"b": "artwork"},
    ),
    "letters called name": (
        BOX + '<path id="name" d="M10 10h9v9h-9zM12 12v5h5v-5z" fill="#000"/>',
        {"name": "artwork"},
    ),
}


@pytest.mark.parametrize("name", SEEN)
def test_what_things_inside_are_taken_for(name: str) -> None:
    text, wanted = SEEN[name]
    found = kinds(drawing(text))
    assert {key: found[key] for key in wanted} == wanted


# Source of the distances: shapely, asked of the drawn numbers.
def test_words_keep_the_margin_of_a_hole_from_a_slit(tmp_path: Path) -> None:
    design = loaded(tmp_path, BOX + red("M20 28h15"))
    (panel,) = design.panels
    (slit,) = design.slits
    assert len(design.lines) == 2
    drawn = shapely.LineString([(20, 12), (35, 12)])
    assert polygon(panel.zone).distance(drawn) == pytest.approx(3, abs=0.01)
    assert polygon(panel.region).area == pytest.approx(1500)
    assert not slit.closed


def test_a_slit_divides_nothing_alone_and_bounds_flaps_with_a_crease(
    tmp_path: Path,
) -> None:
    notch = red("M30 35V27", "notch")
    areas = [r.area_mm2 for r in regions(BOX + CREASE + notch)]
    assert sorted(areas) == pytest.approx([750, 750])
    flaps = red("M30 35V20", "notch")
    found = regions(BOX + CREASE + flaps)
    assert sorted(r.area_mm2 for r in found) == pytest.approx([375, 375, 750], abs=0.1)
    design = loaded(
        tmp_path,
        BOX + CREASE + flaps,
        '[lines]\nCutting = ["#a", "#notch"]\nCreasing = "#fold"\n'
        '[[panel]]\nname = "top"\nat = [30, 10]\n[[panel]]\nname = "left"\nat = [12, 28]\n'
        '[[panel]]\nname = "right"\nat = [48, 28]\n',
    )
    # Each flap is folded over the crease, not over the slit: both are read alike.
    turns = {panel.name: panel.turn_deg for panel in design.panels}
    assert turns["left"] == turns["right"] == pytest.approx(180)


def regions(inside: str) -> list[Region]:
    seen = inspect_svg(drawing(inside).encode(), "kit.svg", DesignSpec(place="kit.svg"))
    assert not [one for one in seen.findings if one.rule == "loose-crease"]
    return [panel.region for panel in seen.panels]


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("M30 3V14", "runs out of the piece at 30.0 mm across, 4.0 mm down"),
        ("M5 20H55", "cuts a part off the piece"),
        ("M20 35V25H40V35", "cuts a part off the piece"),
    ],
)
def test_slits_that_cannot_be_cut(path: str, says: str, tmp_path: Path) -> None:
    toml = '[lines]\nCutting = ["#a", "#b"]\n'
    assert says in refusal(tmp_path, BOX + red(path), toml)


def test_a_slit_from_a_hole_to_the_edge_is_cut(tmp_path: Path) -> None:
    ring = '<circle id="ring" cx="30" cy="12" r="3" fill="none" stroke="red"/>'
    toml = '[lines]\nCutting = ["#a", "#b", "#ring"]\n'
    design = loaded(tmp_path, BOX + ring + red("M30 5V9"), toml)
    assert (len(design.slits), len(design.holes)) == (1, 1)


def test_slits_are_cut_before_the_outline_in_every_cut_file(tmp_path: Path) -> None:
    (tmp_path / "kit.svg").write_text(drawing(BOX + red("M20 28h15")), "utf-8")
    (tmp_path / "list.csv").write_text("front\nRosa\n", "utf-8")
    out = tmp_path / "out"
    words = ["--design", tmp_path / "kit.svg", "--out", out, "--also", "dxf"]
    assert command("make", tmp_path / "list.csv", *words).exit_code == 0
    paths = [
        one.get("d") or ""
        for group in ET.parse(out / "cut.svg").getroot()
        if group.get("id") == "Cutting"
        for one in group
    ]
    assert [path.endswith("Z") for path in paths] == [False, True] * (len(paths) // 2)
    assert (out / "cut.dxf").exists()


TENT = (
    '<path id="a" d="M5 2H55V34L51 39H9L5 34Z" fill="none" stroke="red"/>'
    '<path d="M5 18H55M5 34H55" stroke="blue" stroke-dasharray="2 1"/>'
)


def test_a_small_flap_that_slants_is_a_glue_tab(tmp_path: Path) -> None:
    design = loaded(tmp_path, TENT)
    assert [panel.name for panel in design.panels] == ["front", "back"]
    (tab,) = design.glue
    assert tab.closed
    assert tab.length_mm() == pytest.approx(50 + 42 + 2 * np.hypot(4, 5), abs=0.01)
    square = TENT.replace("M5 2H55V34L51 39H9L5 34Z", "M5 2H55V39H5Z")
    assert loaded(tmp_path, square).glue == ()


def test_inspect_writes_the_glue_tab_and_the_file_works(tmp_path: Path) -> None:
    (tmp_path / "kit.svg").write_text(drawing(TENT), "utf-8")
    done = command("inspect", tmp_path / "kit.svg", "--write", "--json")
    assert f'"{tmp_path / "kit.toml"}"' in done.output
    text = (tmp_path / "kit.toml").read_text("utf-8")
    assert 'name = "tab"' in text
    assert text.count("glue = true") == 1
    design = load_design(tmp_path / "kit.toml")
    assert [panel.name for panel in design.panels] == ["front", "back"]
    assert len(design.glue) == 1


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ('text = "{name}"', "a panel that takes glue has no words, and so no text"),
        ('faces = "front"', "no faces"),
        ("print_area = true", "no print_area"),
    ],
)
def test_a_glue_panel_has_no_words(more: str, says: str, tmp_path: Path) -> None:
    toml = f'[[panel]]\nname = "tab"\nglue = true\nat = [30, 37]\n{more}\n'
    assert says in refusal(tmp_path, TENT, toml)


def test_a_design_of_glue_alone_is_refused(tmp_path: Path) -> None:
    toml = '[[panel]]\nname = "tab"\nglue = true\n'
    assert "none is left for words" in refusal(tmp_path, BOX, toml)


def first_text(design: Design, folder: Path) -> ComposedText:
    (folder / "one.csv").write_text("front\nRosa\n", "utf-8")
    job = prepare(personalize.read_table(folder / "one.csv"), design)
    return job.composed(job.units[0])[0]


GLUE = '<path class="glue" d="M40 5H55V35H40Z" fill="none" stroke="#070"/>'


def test_words_keep_off_a_glue_area_and_the_check_knows(tmp_path: Path) -> None:
    design = loaded(tmp_path, BOX + GLUE)
    (panel,) = design.panels
    area = shapely.box(40, 5, 55, 35)
    assert polygon(panel.zone).distance(area) == pytest.approx(1, abs=0.01)
    check, text = InsideCheck(design), first_text(design, tmp_path)
    check.check(text, 2)
    box = text.ink_box(translation(0, 0))
    assert box is not None
    with pytest.raises(InsideError, match="from an edge"):
        check.check(moved(text, 39.5 - box[2], 0), 2)
    small = moved(text, 47.5 - (box[0] + box[2]) / 2, 0)
    with pytest.raises(InsideError):
        check.check(small, 2)


AREA = '<rect id="name-box" x="7" y="8" width="20" height="12" fill="#fff"/>'


def test_a_drawn_text_area_takes_the_place_of_the_margins(tmp_path: Path) -> None:
    design = loaded(tmp_path, BOX + AREA)
    (panel,) = design.panels
    assert polygon(panel.zone).symmetric_difference(
        shapely.box(7, 20, 27, 32)
    ).area == pytest.approx(0, abs=0.01)
    assert b"#fff" not in design.artwork.svg
    found = [f for f in design_findings(design, None) if f.rule == "area-near-edge"]
    assert [f.figures["gap_mm"] for f in found] == [pytest.approx(2)]
    check, text = InsideCheck(design), first_text(design, tmp_path)
    check.check(text, 2)
    with pytest.raises(InsideError, match="leaves its text area"):
        check.check(moved(text, 15, 0), 2)


def test_a_text_area_is_printed_when_asked_and_named_in_the_file(tmp_path: Path) -> None:
    toml = '[lines]\nCutting = "#a"\n[[panel]]\nname = "front"\narea = "#name-box"\n'
    assert b"#fff" not in loaded(tmp_path, BOX + AREA, toml).artwork.svg
    shown = loaded(tmp_path, BOX + AREA, toml + "print_area = true\n")
    assert b"#fff" in shown.artwork.svg
    assert shown.panels[0].area is not None
    alone = toml.replace('area = "#name-box"', "print_area = true")
    assert "there is none" in refusal(tmp_path, BOX + AREA, alone)
    none = toml.replace("#name-box", "#nothing")
    assert "names 0 lines in kit.svg" in refusal(tmp_path, BOX + AREA, none)


def test_words_in_an_area_keep_a_least_distance_from_lines(tmp_path: Path) -> None:
    wide = AREA.replace('width="20"', 'width="53"').replace('x="7"', 'x="1"')
    (panel,) = loaded(tmp_path, BOX + wide).panels
    away = polygon(panel.zone).distance(shapely.box(5, 5, 55, 35).exterior)
    assert away == pytest.approx(AREA_MM, abs=0.01)
    outside = AREA.replace('x="7"', 'x="80"')
    toml = '[[panel]]\nname = "front"\nat = [30, 20]\narea = "#name-box"\n'
    assert "leaves no room for text on panel" in refusal(tmp_path, BOX + outside, toml)


def test_inspect_writes_the_text_area(tmp_path: Path) -> None:
    (tmp_path / "kit.svg").write_text(drawing(BOX + AREA), "utf-8")
    assert command("inspect", tmp_path / "kit.svg", "--write").exit_code == 0
    assert 'area = "#name-box"' in (tmp_path / "kit.toml").read_text("utf-8")
    assert load_design(tmp_path / "kit.toml").panels[0].area is not None


COORD = st.integers(12, 48)
MARGINS = st.floats(0.3, 3.0).map(lambda v: round(v, 2))


# Source of the distances: shapely's, from the safe zone to the lines as they are written.
@settings(max_examples=25, deadline=None)
@given(
    st.tuples(COORD, COORD, COORD),
    st.tuples(MARGINS, MARGINS, MARGINS, MARGINS),
    st.booleans(),
)
def test_the_safe_zone_keeps_every_margin(
    tmp_path_factory: pytest.TempPathFactory,
    at: tuple[int, int, int],
    margins: tuple[float, float, float, float],
    upright: bool,
) -> None:
    x, slit, glue = at
    outline, crease, hole, sticky = margins
    fold = [(5, 20), (55, 20)]
    cut = [(slit, 24), (slit, 33)] if upright else [(slit, 30), (slit + 5, 30)]
    inside = (
        BOX
        + '<path id="fold" d="M5 20H55" fill="none" stroke="blue"/>'
        + red("M" + "L".join(f"{a} {b}" for a, b in cut))
        + f'<circle id="ring" cx="{x}" cy="10" r="2" {RED}/>'
        + f'<rect id="sticky" x="{glue}" y="31" width="5" height="3" {RED}/>'
    )
    toml = (
        '[lines]\nCutting = ["#a", "#b", "#ring"]\nCreasing = "#fold"\n'
        'Gluing = "#sticky"\n'
        f"[margins]\noutline = {outline}\ncrease = {crease}\nhole = {hole}\n"
        f"glue = {sticky}\n"
    )
    design = loaded(tmp_path_factory.mktemp("kit"), inside, toml)
    up = lambda shape: shapely.transform(shape, lambda p: p * [1, -1] + [0, 40])  # noqa: E731
    lines = {
        outline: [shapely.box(5, 5, 55, 35).exterior],
        crease: [shapely.LineString(fold)],
        hole: [shapely.LineString(cut), shapely.Point(x, 10).buffer(2, quad_segs=200)],
        sticky: [shapely.box(glue, 31, glue + 5, 34)],
    }
    for panel in design.panels:
        for margin, shapes in lines.items():
            for shape in shapes:
                away = polygon(panel.zone).distance(up(shape))
                assert away >= margin - 0.01, (panel.name, margin)
    parts = shapely.union_all(
        [
            up(shape).buffer(m, quad_segs=64)
            for m, shapes in lines.items()
            for shape in shapes
        ]
    )
    for panel in design.panels:  # and no more is taken than the margins ask for
        room = polygon(panel.region).difference(parts.buffer(0.05))
        largest = max((part.area for part in shapely.get_parts(room)), default=0)
        if panel.faces is None:
            assert polygon(panel.zone).area >= largest - 0.5
