"""The other side of the ruler sheet: what a made-up printer does there is undone."""

from pathlib import Path

import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from personalize.errors import InputError
from personalize.geometry.affine import scaling, translation
from personalize.settings import find_machine
from personalize.sheet.paper import Paper
from personalize.sheet.ruler import measured, parse_measured, ruler_sheet
from tests.conftest import command

A4 = Paper("A4", 210, 297)
PT = 72 / 25.4
SHIFT = st.integers(-300, 300).map(lambda n: n / 100)
SCALE = st.integers(9850, 10150).map(lambda n: n / 10000)


@given(SCALE, SCALE, SHIFT, SHIFT)
def test_the_back_lies_where_it_is_meant_after_one_sheet(
    sx: float, sy: float, dx: float, dy: float
) -> None:
    prints = translation(dx, dy) @ scaling(sx, sy)
    sheet = ruler_sheet(A4)
    (o, p), level, upright = prints((30, 30)), sx * sheet.level_mm, sy * sheet.upright_mm
    figures = {"A": level, "B": upright, "O": o, "P": p}
    record = measured(sheet, figures, "a").machine
    for point in ((10.0, 10.0), (200.0, 280.0), (105.0, 150.0)):
        assert prints(record.correction.back(point)) == pytest.approx(point, abs=1e-6)
    # The front was not measured, and stays where it was.
    assert record.correction.print((0, 0)) == pytest.approx((0, 0))


def test_the_second_page_shows_its_lines_and_which_way_is_up(tmp_path: Path) -> None:
    done = command("ruler", "--both-sides", "--out", tmp_path / "ruler")
    assert done.exit_code == 0
    assert "letters A to P" in done.output
    document = pypdfium2.PdfDocument(tmp_path / "ruler" / "ruler.pdf")
    assert len(document) == 2
    boxes = [
        [v / PT for v in one.get_bounds()]
        for one in document[1].get_objects(filter=[2], max_depth=1)
    ]
    middles = {(round((b[0] + b[2]) / 2, 1), round((b[1] + b[3]) / 2, 1)) for b in boxes}
    assert {(70.0, 30.0), (30.0, 70.0)} <= middles
    for page, side in zip(document, ("front", "back"), strict=True):
        text = page.get_textpage().get_text_bounded()
        assert side in text.split()
    # The arrows of both sides are over each other when it is turned like a leaf of a book.
    arrows = [
        {
            tuple(round(v / PT, 2) for v in one.get_bounds())
            for one in page.get_objects(filter=[2], max_depth=1)
        }
        for page in document
    ]
    assert sum(abs(x0 + x1 - 210) < 0.02 for x0, _, x1, _ in arrows[0] & arrows[1]) == 2
    assert len(pypdfium2.PdfDocument(tmp_path / "ruler" / "ruler.pdf")) == 2


def test_figures_of_the_back_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PERSONALIZE_SETTINGS", str(tmp_path))
    done = command("ruler", "--measured", "O=29.5 P=30.4", "--save", "kitchen")
    assert done.exit_code == 0
    assert "The back lies -0.50 mm right, +0.40 mm up" in done.output
    assert find_machine("kitchen").back_shift_mm == pytest.approx((-0.5, 0.4))
    assert "back_shift_mm -0.5, 0.4" in command("machines").output
    with pytest.raises(InputError, match="90 mm is far from 30"):
        measured(ruler_sheet(A4), parse_measured("O=90"), "a")
