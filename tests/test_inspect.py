"""``inspect``: what is seen in a drawing, told in words, JSON and a picture."""

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from personalize.design.load import load_design
from personalize.errors import InputError
from personalize.geometry.zone import Region
from tests.conftest import command, drawing, put
from tests.inspect_made import BOX, GUESSES, KITS, STRIP, kinds


@pytest.mark.parametrize("name", GUESSES)
def test_what_lines_are_taken_for(name: str) -> None:
    inside, wanted = GUESSES[name]
    assert kinds(drawing(inside)) == wanted


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
