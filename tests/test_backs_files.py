"""Backs that are pages of a PDF or pictures."""

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import personalize
from personalize.design.design import Design
from personalize.errors import InputError
from personalize.geometry.affine import Affine
from personalize.sheet.backs import Flip
from personalize.sheet.rules import SheetRules
from tests.artwork_files import page, png, saved, shape
from tests.conftest import drawing, line, put
from tests.outside import Pdfium

MM = 72 / 25.4
PAPER = personalize.parse_paper("120x150mm")
EDGE_2 = line("M2 2H42V38H2Z")
LINES = drawing(EDGE_2)
"""A tag at the left of its page: its back is at the right of the page turned over."""
PANELS = """[margins]
bleed = 0
[[panel]]
name = "front"
at = [10, 20]
"""
NOTE = """[[back.panel]]
name = "note"
at = [50, 30]
"""
LIST = "front,note\nAda,May\n"


def made(folder: Path, toml: str, files: dict[str, str | bytes]) -> tuple[Design, Pdfium]:
    put(folder, {"tag.svg": LINES, "tag.toml": toml, "list.csv": LIST, **files})
    design = personalize.load_design(folder / "tag.toml")
    table = personalize.read_table(folder / "list.csv")
    rules = SheetRules(PAPER, flip=Flip.LEVEL, marks=False)
    options = personalize.Options(rules, proof=False)
    personalize.make(table, design, folder / "out", options)
    return design, Pdfium(folder / "out" / "print.pdf")


def colours(folder: Path, sheets: Pdfium, x: float, y: float) -> list[tuple[int, ...]]:
    """Colours of the first piece on its front at a place of the page, and behind that."""
    report = json.loads((folder / "out" / "report.json").read_text("utf-8"))
    sx, sy = Affine(*report["pieces"][0]["at"])((x, 40 - y))
    found = []
    for number, up in ((1, sy), (2, 150 - sy)):  # turned over top to bottom
        picture = sheets.picture(number, 4)
        found.append(tuple(int(v) for v in picture[round((150 - up) * 4), round(sx * 4)]))
    return found


def test_two_pages_of_a_pdf_are_front_and_back(tmp_path: Path) -> None:
    """On page 2 the right quarter is blue: behind the left edge of the front."""
    pdf = page(b"0 0.6 0 rg 0 0 500 500 re f", (60 * MM, 40 * MM))
    drawn = b"1 0.8 0 rg 0 0 500 500 re f 0 0 1 rg 127.6 0 50 500 re f"
    second = page(drawn, (60 * MM, 40 * MM))
    pdf.pages.append(second.pages[0])
    toml = 'svg = "tag.svg"\n[artwork]\nfile = "kit.pdf"\n' + PANELS
    toml += "[back]\npage = 2\n" + NOTE
    design, sheets = made(tmp_path, toml, {"kit.pdf": saved(pdf)})
    assert design.back is not None
    assert design.back.turned == Affine(-1, 0, 0, 1, 60, 0)
    assert design.back.box_mm == pytest.approx((18, 2, 58, 38))
    green, blue, yellow = (0, 153, 0), (0, 0, 255), (255, 204, 0)
    assert colours(tmp_path, sheets, 5, 8) == [green, blue]
    assert colours(tmp_path, sheets, 38, 8) == [green, yellow]


def test_a_picture_is_the_back_of_a_traced_one(tmp_path: Path) -> None:
    """A disc that stands left of the middle; its back has a dot right of its own."""
    disc = '<circle cx="20" cy="20" r="18" fill="#070"/>'
    dot = '<circle cx="40" cy="20" r="18" fill="#fc0"/><circle cx="46" cy="8" r="3"/>'
    toml = '[artwork]\nfile = "tag.png"\ntrace = true\n[margins]\nbleed = 0\n'
    toml += '[back]\nfile = "back.png"\n'
    files = {"tag.png": shape(disc, 60, 40), "back.png": shape(dot, 60, 40)}
    _, sheets = made(tmp_path, toml, dict(files))
    green, black, yellow = (0, 119, 0), (0, 0, 0), (255, 204, 0)
    # 46 from the left of the back is 60 - 46 = 14 from that of the front.
    assert colours(tmp_path, sheets, 14, 8) == [green, black]
    assert colours(tmp_path, sheets, 26, 8) == [green, yellow]


def test_a_picture_of_another_size_is_refused(tmp_path: Path) -> None:
    small = png(Image.fromarray(np.full((200, 200, 3), 90, np.uint8)))
    put(tmp_path, {"tag.svg": LINES, "small.png": small})
    toml = 'svg = "tag.svg"\n' + PANELS + '[back]\nfile = "small.png"\n'
    put(tmp_path, {"tag.toml": toml})
    with pytest.raises(InputError, match=r"small.png is 16.9 x 16.9 mm.*60.0 x 40.0 mm"):
        personalize.load_design(tmp_path / "tag.toml")


def test_versions_of_a_back_may_be_pictures(tmp_path: Path) -> None:
    plain = {
        name: png(Image.fromarray(np.full((472, 709, 3), value, np.uint8)))
        for name, value in (("a.png", 60), ("b.png", 160))
    }
    toml = 'svg = "tag.svg"\n' + PANELS + "[back]\n"
    for name in "ab":
        toml += f'[[back.version]]\nname = "{name}"\nfile = "{name}.png"\n'
    put(tmp_path, {"list.csv": "front,version\nAda,b\n"})
    put(tmp_path, {"tag.svg": LINES, "tag.toml": toml, **plain})
    design = personalize.load_design(tmp_path / "tag.toml")
    table = personalize.read_table(tmp_path / "list.csv")
    rules = SheetRules(PAPER, flip=Flip.LEVEL, marks=False)
    personalize.make(table, design, tmp_path / "out", personalize.Options(rules))
    sheets = Pdfium(tmp_path / "out" / "print.pdf")
    assert colours(tmp_path, sheets, 38, 8)[1] == (160, 160, 160)


def test_bleed_that_is_enough_in_front_may_be_short_behind(tmp_path: Path) -> None:
    """Drawn 2 mm past the outline: a cut may be 0.7 mm off, and the back 2 mm besides."""
    both = '<rect width="44" height="40" fill="#dd9"/>'
    put(tmp_path, {"tag.svg": drawing(both + f'<g id="b">{both}</g>' + EDGE_2)})
    toml = '[lines]\nCutting = "#edge"\n[[panel]]\nname = "front"\n[back]\nshow = "#b"\n'
    put(tmp_path, {"tag.toml": toml, "list.csv": LIST})
    table = personalize.read_table(tmp_path / "list.csv")
    options = personalize.Options(SheetRules(PAPER, flip=Flip.UPRIGHT))
    for shift_mm, told in ((1.0, []), (2.0, ["tag, back"])):
        design = personalize.load_design(tmp_path / "tag.toml", two_sided_shift_mm=shift_mm)
        found = personalize.check(table, design, options).findings
        assert [one.design for one in found if one.rule == "bleed-missing"] == told
