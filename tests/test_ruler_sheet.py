"""The ruler sheet on every paper: what is cut crosses nothing, and nothing is off it."""

import dataclasses
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import shapely
from click.testing import CliRunner

from personalize import cli_ruler
from personalize.cli import cli
from personalize.design.design import LineKind
from personalize.errors import InputError, WallError
from personalize.geometry.affine import translation
from personalize.output.cut_dxf import cut_dxf
from personalize.output.cut_svg import cut_svg
from personalize.sheet.cut_layouts import CutLayout
from personalize.sheet.ink import InkText
from personalize.sheet.paper import parse_paper
from personalize.sheet.ruler import ruler_sheet
from personalize.sheet.ruler_back import back_ink

PT = 72 / 25.4


@pytest.mark.parametrize("paper", ["A6", "6in square", "140x297mm"])
def test_small_paper_is_refused(paper: str) -> None:
    with pytest.raises(InputError, match="too small to measure on"):
        ruler_sheet(parse_paper(paper))


@pytest.mark.parametrize(
    "paper", ["A5", "A5 landscape", "148x200mm", "8in square", "A4", "A4 landscape", "A3"]
)
def test_the_squares_are_cut_through_nothing(paper: str, tmp_path: Path) -> None:
    sheet = ruler_sheet(parse_paper(paper))
    one, two = (shapely.Polygon(d.contour.flattened(0.01)) for d in sheet.die_lines())
    assert one.distance(two) > 1
    words = CliRunner().invoke(
        cli, ["ruler", "--out", str(tmp_path / "r"), "--paper", paper, "--both-sides"]
    )
    assert words.exit_code == 0, words.output
    page = pypdfium2.PdfDocument(tmp_path / "r" / "ruler.pdf")[0].get_textpage()
    letters = [page.get_charbox(i) for i in range(page.count_chars())]
    assert len(letters) > 200
    for box in letters:
        letter = shapely.box(*(v / PT for v in box))
        for square in (one, two):
            assert not square.exterior.intersects(letter)
        assert letter.area == 0 or shapely.box(
            0, 0, sheet.paper.width_mm, sheet.paper.height_mm
        ).contains(letter)


@pytest.mark.parametrize("paper", ["A5", "148x200mm", "A4", "8in square"])
def test_its_words_are_large_enough_to_read(paper: str) -> None:
    """2 mm from the line to the line above is 6 pt and a half."""
    sheet = ruler_sheet(parse_paper(paper))
    words = [
        one
        for one in (*sheet.ink(), *back_ink(sheet))
        if isinstance(one, InkText) and " " in one.line.text
    ]
    assert len(words) == 12
    for one in words:
        a, b, *_ = one.place.tuple
        assert np.hypot(a, b) > 2


Layout = Callable[[CutLayout], CutLayout]
LAYOUTS: dict[str, Layout] = {
    "a square missing": lambda one: dataclasses.replace(one, lines=one.lines[:1]),
    "a square twice": lambda one: dataclasses.replace(one, lines=one.lines + one.lines[:1]),
    "a square aside": lambda one: dataclasses.replace(
        one,
        lines=(
            dataclasses.replace(
                one.lines[0], contour=one.lines[0].contour.transformed(translation(0.02, 0))
            ),
            *one.lines[1:],
        ),
    ),
    "squares that are creased": lambda one: dataclasses.replace(
        one,
        lines=tuple(dataclasses.replace(o, kind=LineKind.CREASING) for o in one.lines),
    ),
}


@pytest.mark.parametrize("writer", ["cut_svg", "cut_dxf"])
@pytest.mark.parametrize("change", LAYOUTS.values(), ids=LAYOUTS)
def test_its_cut_files_are_read_back_before_they_count(
    change: Layout, writer: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write = {"cut_svg": cut_svg, "cut_dxf": cut_dxf}[writer]
    monkeypatch.setattr(cli_ruler, writer, lambda layout: write(change(layout)))
    done = CliRunner().invoke(cli, ["ruler", "--out", str(tmp_path / "r")])
    assert isinstance(done.exception, WallError)
    assert str(done.exception).startswith("ruler-cut.")
    assert not (tmp_path / "r").exists()


@pytest.mark.parametrize("margin", ["20", "50"])
def test_marks_that_would_stand_on_what_is_measured_are_refused(
    margin: str, tmp_path: Path
) -> None:
    out = tmp_path / "r"
    done = CliRunner().invoke(cli, ["ruler", "--out", str(out), "--margin", margin])
    assert done.exit_code == 2
    assert done.output.startswith("--margin: register marks so far in")
    assert not out.exists()


@pytest.mark.parametrize("margin", ["16", "6,6,25,6", "12,16,25,10"])
@pytest.mark.parametrize("paper", ["A4", "Letter landscape", "A5"])
def test_its_marks_keep_their_distance(paper: str, margin: str, tmp_path: Path) -> None:
    out = tmp_path / "r"
    words = ["ruler", "--out", str(out), "--paper", paper, "--margin", margin]
    assert CliRunner().invoke(cli, words).exit_code == 0
