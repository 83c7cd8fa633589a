"""Edge colours continued into the bleed: without a seam, as two other programs print it."""

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

import personalize
from tests.conftest import command, drawing, put
from tests.outside import Pdfium, poppler_picture

TOML = '[lines]\nCutting = "#edge"\n[margins]\nbleed = 3\n[artwork]\nextend_edge = true\n'
PLUM, HALF = (0x5F, 0x2C, 0x5E), (0xAF, 0x96, 0xAF)
STAR = "M30 2L36 14L58 15L40 22L46 38L30 28L14 38L20 22L2 15L24 14Z"
WAVE = "M3 20C10 2 20 2 30 10S50 2 57 20C50 38 40 38 30 30S10 38 3 20Z"
FILL = '<path d="{}" fill="#5f2c5e"/>'
CLIP = '<clipPath id="k"><path d="{}"/></clipPath><g clip-path="url(#k)">{}</g>'
BACK = '<rect x="-9" y="-9" width="80" height="60" fill="#fff"/>'
ART = {
    "a star": (STAR, FILL.format(STAR), PLUM),
    "curves": (WAVE, FILL.format(WAVE), PLUM),
    "a clip": (WAVE, CLIP.format(WAVE, BACK.replace("#fff", "#5f2c5e")), PLUM),
    "colour on a white shape": (STAR, FILL.format(STAR).replace("#5f2c5e", "#fff")
        + FILL.format(STAR), PLUM),
    "colour on a white page": (WAVE, BACK + FILL.format(WAVE), PLUM),
    "half clear": (WAVE, FILL.format(WAVE).replace("/>", ' opacity=".5"/>'), HALF),
}  # fmt: skip
DPI = 300
PX_PER_MM = DPI / 25.4


def make(folder: Path, outline: str, artwork: str) -> tuple[Path, dict[str, object]]:
    edge = f'<path id="edge" d="{outline}" fill="none" stroke="#000"/>'
    put(folder, {"tag.svg": drawing(artwork + edge), "tag.toml": TOML})
    done = command(
        "make", "--design", folder / "tag.toml", "--count", "1", "--out", folder / "out"
    )
    assert done.exit_code == 0, done.output
    report = json.loads((folder / "out" / "report.json").read_text("utf-8"))
    return folder / "out" / "print.pdf", report


class Printed:
    """A piece on its sheet, as another program draws it."""

    def __init__(self, picture: NDArray[np.uint8], report: dict[str, object]) -> None:
        self._picture = picture.astype(int)
        pieces, sheets = report["pieces"], report["sheets"]
        assert isinstance(pieces, list)
        assert isinstance(sheets, list)
        self._at, self._high = pieces[0]["at"], sheets[0]["height_mm"]

    def at(self, points: NDArray[np.float64]) -> NDArray[np.int_]:
        """Colours at places of the piece, shape (n, 3)."""
        a, b, c, d, e, f = self._at
        x, y = points.T
        column = ((a * x + c * y + e) * PX_PER_MM).astype(int)
        row = ((self._high - (b * x + d * y + f)) * PX_PER_MM).astype(int)
        return self._picture[row, column]


def printed(pdf: Path, report: dict[str, object]) -> Iterator[Printed]:
    yield Printed(Pdfium(pdf).picture(1, PX_PER_MM), report)
    yield Printed(poppler_picture(pdf, 1, DPI, pdf.parent), report)


@pytest.mark.parametrize("name", ART)
def test_no_seam_is_seen_along_the_outline(tmp_path: Path, name: str) -> None:
    outline, artwork, wanted = ART[name]
    pdf, report = make(tmp_path, outline, artwork)
    ring = personalize.load_design(tmp_path / "tag.toml").silhouette.outer
    piece = shapely.Polygon(ring)
    # Every pixel from 1.5 mm inside the outline to 2.7 mm past it.
    band = piece.buffer(2.7).difference(piece.buffer(-1.5))
    x0, y0, x1, y1 = band.bounds
    xs, ys = np.meshgrid(np.arange(x0, x1, 1 / 12), np.arange(y0, y1, 1 / 12))
    kept = shapely.contains_xy(band, xs, ys)
    points = np.stack([xs[kept], ys[kept]], axis=1)
    for one in printed(pdf, report):
        off = np.abs(one.at(points) - wanted).max(axis=1)
        assert off.max() <= 4, (off > 4).sum()


def test_what_is_drawn_in_the_bleed_stays(tmp_path: Path) -> None:
    box = "M2 2H58V38H2Z"
    # The left half runs on, with a white dot in its bleed; the right half ends at the edge.
    left = '<rect x="-3" y="-3" width="33" height="46" fill="#1e8c3c"/>'
    dot = '<circle cx="0.6" cy="20" r="0.5" fill="#fff"/>'
    right = '<rect x="30" y="2" width="28" height="36" fill="#5f2c5e"/>'
    pdf, report = make(tmp_path, box, left + dot + right)
    places = np.array([(0.6, 20), (0.6, 24), (-0.5, 10), (59.5, 20), (45, 39.5)])
    wanted = [(255, 255, 255), (30, 140, 60), (30, 140, 60), PLUM, PLUM]
    for one in printed(pdf, report):
        assert np.abs(one.at(places) - wanted).max() <= 4


def test_an_edge_that_is_paper_stays_paper(tmp_path: Path) -> None:
    art = '<rect x="2" y="2" width="20" height="36" fill="#5f2c5e"/>'
    pdf, report = make(tmp_path, "M2 2H58V38H2Z", art)
    places = np.array([(1, 20), (12, 39.5), (40, 39.5), (59, 20)])
    wanted = [PLUM, PLUM, (255, 255, 255), (255, 255, 255)]
    for one in printed(pdf, report):
        assert np.abs(one.at(places) - wanted).max() <= 4
