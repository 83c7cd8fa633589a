"""Backing pieces: larger all round, holes in place, cut from unprinted stock."""

import json
from pathlib import Path

import pytest
import shapely
from svgelements import SVG
from svgelements import Path as SvgPath

import personalize
from personalize.backing import backing_of
from personalize.geometry.zone import as_shapely
from tests.conftest import SAMPLES, command

ASKED = [SAMPLES / "picnic.csv", "--design", "herb-tag", "--rows", "2-20"]


@pytest.mark.parametrize("name", personalize.sample_names())
def test_it_is_larger_by_as_much_everywhere(name: str) -> None:
    design = personalize.load_design(name)
    backing = backing_of(design, 3.0)
    piece, larger = (as_shapely(one.silhouette) for one in (design, backing))
    wanted = shapely.Polygon(piece.exterior).buffer(3, quad_segs=200)
    assert larger.exterior.hausdorff_distance(wanted.exterior) < 0.02
    assert len(larger.interiors) == len(piece.interiors)
    for own, front in zip(larger.interiors, piece.interiors, strict=True):
        assert own.hausdorff_distance(front) < 1e-9


def lines_in(file: Path) -> list[tuple[float, float, float, float]]:
    drawn = SVG.parse(str(file), ppi=25.4, reify=True)
    return [one.bbox() for one in drawn.elements() if isinstance(one, SvgPath)]


def test_its_cut_file_has_the_pieces_of_a_whole_sheet(tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert command("make", *ASKED, "--backing", "3", "--out", out).exit_code == 0
    boxes = lines_in(out / "backing.svg")
    edges = [box for box in boxes if box[2] - box[0] > 20]
    sizes = {tuple(sorted((round(b[2] - b[0], 1), round(b[3] - b[1], 1)))) for b in edges}
    assert sizes == {(54.0, 94.0)}  # the tag is 48 x 88 mm
    report = json.loads((out / "report.json").read_text("utf-8"))
    (told,) = (f for f in report["findings"] if f["rule"] == "backing")
    assert told["figures"]["per_sheet"] == len(edges) == len(boxes) / 2
    pieces = sum(piece["row"] is not None for piece in report["pieces"])
    assert told["figures"]["sheets"] == -(-pieces // len(edges))
    assert "backing.svg" in report["files"]
    plain = command("make", *ASKED, "--out", tmp_path / "plain")
    assert plain.exit_code == 0
    same = [(folder / "cut.svg").read_bytes() for folder in (out, tmp_path / "plain")]
    assert same[0] == same[1]


@pytest.mark.parametrize(
    "more", [("0.x",), ("99",), ("3", "--by-hand", "scissors"), ("-1",)]
)
def test_what_cannot_be_is_told(more: tuple[str, ...], tmp_path: Path) -> None:
    done = command("make", *ASKED, "--backing", *more, "--out", tmp_path / "out")
    assert done.exit_code == 2
    assert "--backing" in done.output
