"""The print as a picture, and with its die lines: other readers find both in one place."""

import base64
import io
import json
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from PIL import Image

import personalize
from personalize.checks.wall import Expected, check_wall
from personalize.errors import WallError
from personalize.output.raster import page_png, png, resolution_for
from personalize.run import Options
from personalize.sheet.cutting import alike
from personalize.sheet.paper import PaperMargins, parse_paper
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from tests.outside import poppler_picture

SVG = "{http://www.w3.org/2000/svg}"
PAPER = parse_paper("150x150mm")
RULES = SheetRules(PAPER, PaperMargins(5, 5, 5, 5), spares=False)


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Herb tags on two small sheets."""
    folder = tmp_path_factory.mktemp("together") / "out"
    (folder.parent / "herbs.csv").write_text("plant\nBasil\nMint\nThyme\nSage\nDill\n")
    table = personalize.read_table(folder.parent / "herbs.csv")
    options = Options(RULES, also=frozenset({"together", "png"}), proof=False)
    personalize.make(table, personalize.load_design("herb-tag"), folder, options)
    return folder


def tree(path: Path) -> ElementTree.Element:
    return ElementTree.fromstring(path.read_bytes())


def picture_in(path: Path) -> Image.Image:
    (image,) = tree(path).iter(f"{SVG}image")
    head, data = (image.get("href") or "").split(",")
    assert head == "data:image/png;base64"
    return Image.open(io.BytesIO(base64.b64decode(data)))


def test_there_is_one_of_each_for_every_sheet(out: Path) -> None:
    report = json.loads((out / "report.json").read_text("utf-8"))
    sheets = len(report["sheets"])
    assert sheets == 2
    names = [
        f"{stem.format(i)}" for i in (1, 2) for stem in ("together-{}.svg", "sheet-{}.png")
    ]
    assert set(names) <= set(report["files"])
    assert all((out / name).is_file() for name in names)


def test_a_picture_has_the_sheets_size_and_three_hundred_pixels_to_the_inch(
    out: Path,
) -> None:
    picture = Image.open(io.BytesIO((out / "sheet-1.png").read_bytes()))
    assert picture.mode == "RGB"
    assert picture.info["dpi"] == pytest.approx((300, 300), abs=0.01)
    assert picture.size == (1772, 1772)  # 150 mm at 300 to the inch, to whole pixels
    inside = picture_in(out / "together-1.svg")
    assert inside.size == picture.size


@pytest.mark.parametrize(
    ("smallest_pt", "px_per_inch"), [(11.9, 600), (12, 300), (40, 300), (np.inf, 300)]
)
def test_small_text_makes_a_fine_picture(smallest_pt: float, px_per_inch: int) -> None:
    assert resolution_for(smallest_pt) == px_per_inch


def test_the_lines_are_those_of_the_cut_file_and_no_letter_is_a_path(out: Path) -> None:
    for number in (1, 2):
        both = tree(out / f"together-{number}.svg")
        report = json.loads((out / "report.json").read_text("utf-8"))
        cut = tree(out / report["sheets"][number - 1]["cut_file"])
        assert [e.tag for e in both] == [f"{SVG}image", *(e.tag for e in cut)]
        assert both.attrib == cut.attrib
        for group, other in zip(list(both)[1:], cut, strict=True):
            assert ElementTree.tostring(group) == ElementTree.tostring(other)


def test_print_and_cut_lie_within_a_hundredth_of_a_millimetre(out: Path) -> None:
    # The picture is laid on the whole sheet; in it the register marks' centres of mass are
    # where the report has them, as seen by another reader of PNG.
    report = json.loads((out / "report.json").read_text("utf-8"))
    (image,) = tree(out / "together-1.svg").iter(f"{SVG}image")
    box = [float(image.get(key) or "nan") for key in ("x", "y", "width", "height")]
    assert box == [0, 0, 150, 150]
    dark = 255.0 - np.asarray(picture_in(out / "together-1.svg").convert("L"), dtype=float)
    px = dark.shape[1] / 150
    assert len(report["marks"]) == 4
    for mark in report["marks"]:
        x, y = mark["centre_mm"][0] * px, (150 - mark["centre_mm"][1]) * px
        x0, y0, half = (
            round(x) - round(4.6 * px),
            round(y) - round(4.6 * px),
            round(9.2 * px),
        )
        part = dark[y0 : y0 + half, x0 : x0 + half]
        ys, xs = np.mgrid[y0 : y0 + half, x0 : x0 + half] + 0.5
        centre = [(part * xs).sum() / part.sum(), (part * ys).sum() / part.sum()]
        assert [c / px for c in centre] == pytest.approx([x / px, y / px], abs=0.01)


def test_another_program_draws_the_same_picture(out: Path, tmp_path: Path) -> None:
    png = io.BytesIO((out / "sheet-1.png").read_bytes())
    ours = np.asarray(Image.open(png).convert("L").reduce(4), dtype=float)
    drawn = Image.fromarray(poppler_picture(out / "print.pdf", 1, 75, tmp_path))
    theirs = np.asarray(drawn.convert("L"), dtype=float)
    assert ours.shape == theirs.shape
    assert np.abs(ours - theirs).mean() < 2


@settings(max_examples=20)
@given(arrays(np.uint8, st.tuples(st.integers(1, 600), st.integers(1, 5), st.just(3))))
def test_every_pixel_comes_back(pixels: np.ndarray) -> None:  # type: ignore[type-arg]
    read = Image.open(io.BytesIO(png(pixels, 300)))
    read.verify()
    again = np.asarray(Image.open(io.BytesIO(png(pixels, 300))))
    assert (again == pixels).all()


def test_the_same_input_gives_the_same_bytes(out: Path) -> None:
    pdf = out / "print.pdf"
    assert page_png(pdf, 1, 100) == page_png(pdf, 1, 100) != page_png(pdf, 2, 100)


PATH = '<path d="M1 1L9 1L9 9Z"/>'
BREACHES = {
    "no picture": (r"<image[^>]*/>", ""),
    "a second picture": (r"(<image[^>]*/>)", r"\1\1"),
    "a picture moved": (r'<image x="0"', '<image x="0.02"'),
    "a picture made smaller": (
        r'width="150" height="150" pres',
        'width="149" height="150" pres',
    ),
    "a picture kept in shape": (r'Ratio="none"', 'Ratio="xMidYMid"'),
    "a picture from elsewhere": (r'href="data[^"]*"', 'href="https://plum.example/a.png"'),
    "another kind of picture": (r"image/png", "image/svg+xml"),
    "a picture turned": (r"<image ", '<image transform="rotate(1)" '),
    "a letter as a path": (r"</g>\n</svg>", f"{PATH}</g></svg>"),
    "a letter beside the picture": (r"(<image[^>]*/>)", rf"\1{PATH}"),
    "torn data": (r"base64,", "base64,!!"),
    "a picture that ends where it begins": (r"base64,[^\"]*", "base64,iVBORw0KGgo="),
}


@pytest.mark.parametrize("change", BREACHES.values(), ids=BREACHES.keys())
def test_anything_else_in_the_file_is_a_breach(out: Path, change: tuple[str, str]) -> None:
    import re

    design = personalize.load_design("herb-tag")
    plan = plan_sheets(design, RULES)
    expected = Expected(alike(design, plan.arrangement.places), PAPER)
    good = (out / "together-1.svg").read_text("utf-8")
    check_wall(good.encode(), "together-1.svg", expected)
    bad, times = re.subn(*change, good, count=1)
    assert times == 1
    with pytest.raises(WallError):
        check_wall(bad.encode(), "together-1.svg", expected)
