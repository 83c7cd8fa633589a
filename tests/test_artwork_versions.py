"""Versions of a design that are PDF pages or pictures."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import personalize
from personalize.errors import InputError
from tests.artwork_files import LINES, MARGINS, images, page, png, printed, saved, shape
from tests.conftest import put

MM = 72 / 25.4
PLUM, MINT = (120, 50, 130), (150, 210, 180)


def plain(colour: tuple[int, int, int]) -> Image.Image:
    return Image.fromarray(np.full((472, 709, 3), colour, np.uint8))


def version(name: str, keys: str) -> str:
    return f'[[version]]\nname = "{name}"\n{keys}\n'


def test_each_version_is_its_own_picture_and_kept_once(tmp_path: Path) -> None:
    toml = 'svg = "tag.svg"\n[artwork]\nfile = "plum.png"\n'
    toml += version("plum", "") + version("mint", 'file = "mint.png"') + MARGINS
    files = {"tag.svg": LINES, "tag.toml": toml, "plum.png": png(plain(PLUM))}
    put(tmp_path, {**files, "mint.png": png(plain(MINT))})
    design = personalize.load_design(tmp_path / "tag.toml")
    rows = "name,version\nAda,mint\nTom,plum\nMei,mint\nZoe,\n"
    with printed(tmp_path, design, rows) as made:
        found = {image.read_bytes()[:3] for image in images(made)}
        assert len(images(made)) == 2
        assert found == {bytes(PLUM), bytes(MINT)}


def test_pages_of_one_file_are_versions_beside_a_drawn_one(tmp_path: Path) -> None:
    pdf = page(b"0 0 0.5 rg 0 0 500 500 re f", (60 * MM, 40 * MM))
    second = page(b"0 0.5 0 rg 0 0 500 500 re f", (60 * MM, 40 * MM))
    pdf.pages.append(second.pages[0])
    toml = 'svg = "tag.svg"\n' + version("blue", 'file = "kit.pdf"')
    toml += version("green", 'file = "kit.pdf"\npage = 2')
    toml += version("to colour in", "line_art = true") + MARGINS
    put(tmp_path, {"tag.svg": LINES, "tag.toml": toml, "kit.pdf": saved(pdf)})
    artworks = personalize.load_design(tmp_path / "tag.toml").artworks
    assert list(artworks) == ["blue", "green", "to colour in"]
    blue, green, drawn = artworks.values()
    assert blue.page != green.page
    assert drawn.page is None
    assert green.file == "kit.pdf (green)"


DISC = '<circle cx="25" cy="25" r="20" fill="{}"/>'


def test_pictures_of_one_shape_share_its_traced_edge(tmp_path: Path) -> None:
    toml = '[artwork]\nfile = "plum.png"\ntrace = true\nextend_edge = true\n'
    toml += version("plum", "") + version("mint", 'file = "mint.png"') + MARGINS
    pictures = {f"{name}.png": shape(DISC.format(name)) for name in ("plum", "green")}
    pictures["mint.png"] = pictures.pop("green.png")
    put(tmp_path, {"disc.toml": toml, **pictures})
    design = personalize.load_design(tmp_path / "disc.toml")
    assert set(design.artworks) == {"plum", "mint"}
    assert all(art.page for art in design.artworks.values())
    assert [finding.rule for finding in design.told] == ["outline-traced"]
    put(tmp_path, {"mint.png": shape(DISC.format("green"), width=60)})
    with pytest.raises(InputError, match="whose edge is the outline"):
        personalize.load_design(tmp_path / "disc.toml")


REFUSED = {
    'file = "plum.png"\nsvg = "b.svg"': "two pictures for one version",
    "page = 2": "a page of no file",
    'file = "plum.gif"': "is no PDF, PNG or JPEG",
    'file = "plum.png"\npage = 2': "has no pages",
    'file = "kit.pdf"\npage = 0': "whole number",
    "file = 3": "file must be",
    'file = "other.png"': "there is no file",
}


@pytest.mark.parametrize("keys", REFUSED)
def test_what_cannot_be_is_told_with_its_line(keys: str, tmp_path: Path) -> None:
    put(tmp_path, {"plum.png": png(plain(PLUM)), "tag.svg": LINES})
    put(tmp_path, {"tag.toml": 'svg = "tag.svg"\n' + version("plum", keys)})
    with pytest.raises(InputError) as caught:
        personalize.load_design(tmp_path / "tag.toml")
    told = " ".join(map(str, caught.value.problems))
    assert REFUSED[keys] in told
    assert "tag.toml, line " in told


def test_a_back_that_is_too_coarse_stops_the_sheets_too(tmp_path: Path) -> None:
    toml = 'svg = "tag.svg"\n[back]\nfile = "mint.png"\n' + MARGINS
    coarse = plain(MINT).resize((120, 80))  # 60 x 40 mm at 2 pixels to the mm
    put(tmp_path, {"tag.svg": LINES, "tag.toml": toml, "mint.png": png(coarse, 50.8)})
    put(tmp_path, {"list.csv": "name\nAda\n"})
    table = personalize.read_table(tmp_path / "list.csv")
    design = personalize.load_design(tmp_path / "tag.toml")
    result = personalize.make(table, design, tmp_path / "out")
    assert not result.made
    assert not (tmp_path / "out").exists()
