"""The ruler sheet on every paper: what is cut crosses nothing, and nothing is off it."""

from pathlib import Path

import pypdfium2
import pytest
import shapely
from click.testing import CliRunner

from personalize.cli import cli
from personalize.errors import InputError
from personalize.sheet.paper import parse_paper
from personalize.sheet.ruler import ruler_sheet

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
