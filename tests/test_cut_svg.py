"""cut.svg, measured by another SVG reader: the design's lines at their places, in mm."""

import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
import svgelements

import personalize
from tests.conftest import SAMPLES

SVG = "{http://www.w3.org/2000/svg}"
PX_PER_MM = 96 / 25.4  # CSS Values 4, "Absolute lengths": svgelements counts in px


def sheets(name: str, folder: Path) -> tuple[dict[str, Any], Path]:
    table = personalize.read_table(SAMPLES / "picnic.csv")
    personalize.make(table, personalize.load_design(name), folder / "out")
    report = json.loads((folder / "out" / "report.json").read_text("utf-8"))
    return report, folder / "out" / "cut.svg"


def lines_by(path: Path, wanted: str) -> list[svgelements.Path]:
    """Lines in mm, y down, that have or whose group has the id or class `wanted`."""
    found: list[svgelements.Path] = []
    waiting = [(svgelements.SVG.parse(path, reify=True), False)]
    while waiting:
        element, inside = waiting.pop(0)
        own = element.values.get("attributes", {})
        names = f"{own.get('id', '')} {own.get('class', '')}".split()
        inside = inside or wanted in names
        if isinstance(element, svgelements.Group):
            waiting = [(child, inside) for child in element] + waiting
        elif isinstance(element, svgelements.Shape) and inside:
            shape = svgelements.Path(element)
            found.append(shape * svgelements.Matrix.scale(1 / PX_PER_MM))
    return found


def box(path: svgelements.Path) -> list[float]:
    return list(map(float, path.bbox()))


def length(path: svgelements.Path) -> float:
    return float(path.length(error=1e-4))


@pytest.mark.parametrize("name", ["plant-flag", "herb-tag", "table-tent", "jar-lid"])
def test_another_reader_measures_the_lines_of_the_drawing(
    name: str, tmp_path: Path
) -> None:
    # SVG 2, chapters 8 and 9, as svgelements has them: it reads both the maker's drawing
    # and our file; outline and crease must have the same size and length in both, and
    # lie where the report puts the piece.
    report, cut = sheets(name, tmp_path)
    on_sheet = [piece for piece in report["pieces"] if piece["sheet"] == 1]
    height = report["sheets"][0]["height_mm"]
    drawing = svgelements.SVG.parse(SAMPLES / f"{name}.svg", reify=True)
    page_height = float(drawing.height) / PX_PER_MM
    for kind, wanted in (("Cutting", "edge"), ("Creasing", "fold")):
        drawn = lines_by(SAMPLES / f"{name}.svg", wanted)
        placed = lines_by(cut, kind)
        assert len(placed) == len(drawn) * len(on_sheet)
        expected = sorted(length(line) for line in drawn for _ in on_sheet)
        found = sorted(length(line) for line in placed)
        assert found == pytest.approx(expected, abs=0.02)
        for piece in on_sheet:
            for line in drawn:
                corners = moved(box(line), piece["at"], page_height, height)
                assert any(
                    box(other) == pytest.approx(corners, abs=0.01) for other in placed
                )


def moved(b: list[float], at: list[float], page: float, sheet: float) -> list[float]:
    """Box of a line on the sheet (y down) from its box in the drawing (y down)."""
    points = []
    for x, y in ((b[0], b[1]), (b[2], b[3])):
        up = page - y
        points.append((at[0] * x + at[2] * up + at[4], at[1] * x + at[3] * up + at[5]))
    xs = [p[0] for p in points]
    ys = [sheet - p[1] for p in points]
    return [min(xs), min(ys), max(xs), max(ys)]


def test_nothing_but_die_lines_is_in_the_file(made: Path) -> None:
    root = ElementTree.fromstring((made / "cut.svg").read_bytes())
    tags = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert tags == {"svg", "g", "path"}
    assert [group.get("id") for group in root] == ["Creasing", "Cutting"]
    assert all((element.text or "").strip() == "" for element in root.iter())


def test_it_has_the_size_of_the_sheet_in_mm(made: Path) -> None:
    root = ElementTree.fromstring((made / "cut.svg").read_bytes())
    assert (root.get("width"), root.get("height")) == ("210mm", "297mm")
    assert root.get("viewBox") == "0 0 210 297"


def test_kinds_are_told_apart_by_pattern_and_word_not_by_colour(made: Path) -> None:
    root = ElementTree.fromstring((made / "cut.svg").read_bytes())
    assert len({group.get("stroke") for group in root}) == 1
    assert len({group.get("stroke-dasharray") for group in root}) == len(list(root))


def test_curves_stay_curves(tmp_path: Path) -> None:
    _, cut = sheets("jar-lid", tmp_path)
    root = ElementTree.fromstring(cut.read_bytes())
    for path in root.iter(f"{SVG}path"):
        data = path.get("d") or ""
        assert "A" in data or "C" in data
        assert "L" not in data


def test_one_file_serves_all_sheets_and_a_short_last_sheet_without_spares_has_its_own(
    made: Path, tmp_path: Path
) -> None:
    report = json.loads((made / "report.json").read_text("utf-8"))
    assert {sheet["cut_file"] for sheet in report["sheets"]} == {"cut.svg"}
    assert len(report["sheets"]) > 1
    table = personalize.read_table(SAMPLES / "picnic.csv")
    options = personalize.Options(rows="2-8")
    personalize.make(table, personalize.load_design("plant-flag"), tmp_path / "o", options)
    report = json.loads((tmp_path / "o" / "report.json").read_text("utf-8"))
    files = [sheet["cut_file"] for sheet in report["sheets"]]
    assert files == ["cut.svg", "cut-last.svg"]
    for sheet in report["sheets"]:
        drawn = lines_by(tmp_path / "o" / sheet["cut_file"], "Cutting")
        assert len(drawn) == sheet["pieces"]
        assert sheet["filled"] == 0
