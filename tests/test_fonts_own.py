"""Fonts of the maker's own: every kind of file, collections, variable and installed ones.

The made fonts draw each letter as a box of known width, so that sizes can be worked out
by hand; real fonts are compared with what fontTools reads from the file as it is.
"""

import io
from pathlib import Path

import numpy as np
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont, newTable

import personalize
from personalize.errors import InputError
from personalize.fonts.catalogue import find_font
from personalize.fonts.choice import Part
from personalize.fonts.files import unpacked
from tests.conftest import command
from tests.fonts_made import NUNITO, altered, boxes_font, collection, variable
from tests.outside import Pdfium, poppler_text, run
from tests.own_fonts_made import KINDS, WORDS, as_woff, make, problem, set_up, width_em


@pytest.mark.parametrize("name", KINDS)
def test_a_font_file_of_every_kind_goes_to_print(name: str, tmp_path: Path) -> None:
    KINDS[name](tmp_path / name)
    text = make(tmp_path, f'font = "{name}"')
    pdf = tmp_path / "out" / "print.pdf"
    assert "No syntax or stream encoding errors" in run("qpdf", "--check", pdf)
    fonts = run("pdffonts", pdf).splitlines()[2:]
    assert fonts
    assert all(line.split()[-5:-2] == ["yes", "yes", "yes"] for line in fonts)
    box = [v + d for v, d in zip(text["ink_mm"], (-1, -1, 1, 1), strict=True)]
    assert Pdfium(pdf).text(1, box) == WORDS
    assert poppler_text(pdf, 1, box, 297.0) == WORDS


def test_a_font_may_lie_in_a_folder_below_the_design(tmp_path: Path) -> None:
    (tmp_path / "fonts" / "round").mkdir(parents=True)
    (tmp_path / "fonts" / "round" / "own.ttf").write_bytes(NUNITO.read_bytes())
    assert make(tmp_path, 'font = "fonts/round/own.ttf"')["font"] == "own"


def test_a_packed_font_gives_the_same_glyphs_as_it_did_unpacked(tmp_path: Path) -> None:
    for flavor in ("woff", "woff2"):
        path = tmp_path / f"own.{flavor}"
        path.write_bytes(as_woff(NUNITO.read_bytes(), flavor))
        ours, theirs = TTFont(io.BytesIO(unpacked(path))), TTFont(NUNITO)
        assert ours["hmtx"].metrics == theirs["hmtx"].metrics
        assert ours["head"].modified == theirs["head"].modified  # not the time of today
        theirs.close()


# The made font: boxes 200 wide at weight 100 and 500 at weight 900, advances 100 more.
PLACES = {
    "": 200,
    'font_instance = "Middle"': 350,
    "font_axes = { wght = 900 }": 500,
    "font_axes = { wght = 300 }": 275,
    'font_instance = "Thin"\nfont_axes = { wght = 700.0 }': 425,
}


@pytest.mark.parametrize("cff", [False, True], ids=["TrueType", "CFF2"])
@pytest.mark.parametrize("keys", PLACES)
def test_a_variable_font_is_printed_at_its_place(
    keys: str, cff: bool, tmp_path: Path
) -> None:
    variable(tmp_path / "vary.ttf", cff=cff)
    text = make(tmp_path, f'font = "vary.ttf"\n{keys}', "HHH")
    wide = PLACES[keys] * 3 + 2 * 100
    x0, _, x1, _ = text["ink_mm"]
    em_mm = text["size_pt"] / 72 * 25.4
    assert (x1 - x0) / em_mm == pytest.approx(wide / 1000, abs=0.002)
    # And so it is in a picture: three boxes, in both widths and gaps.
    k = 20.0
    page = Pdfium(tmp_path / "out" / "print.pdf").picture(1, k)
    middle = (text["ink_mm"][1] + text["ink_mm"][3]) / 2
    row = page[round(page.shape[0] - middle * k), round((x0 - 1) * k) : round((x1 + 1) * k)]
    edges = np.flatnonzero(np.diff((row[:, 0] < 128).astype(int)))
    assert len(edges) == 6
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        assert (end - start) / k == pytest.approx(PLACES[keys] / 1000 * em_mm, abs=2.5 / k)


def test_the_pinned_font_is_the_one_that_fonttools_draws(tmp_path: Path) -> None:
    variable(tmp_path / "vary.ttf")
    font = find_font("vary.ttf", tmp_path, "test", Part(axes=(("wght", 640.0),)))
    file = TTFont(tmp_path / "vary.ttf")
    glyphs, order = file.getGlyphSet(location={"wght": 640}), file.getGlyphOrder()
    for letter in "AHaxz":
        gid = font.face.nominal(letter)
        assert gid
        pen = BoundsPen(glyphs)
        glyphs[order[gid]].draw(pen)
        ink = font.face.ink(gid)
        assert ink is not None
        assert pen.bounds is not None
        assert ink == pytest.approx([v / 1000 for v in pen.bounds], abs=0.001)
        wide = glyphs[order[gid]].width / 1000
        assert font.face.advance(gid) == pytest.approx(wide, abs=0.001)
    file.close()


def test_a_panel_overrules_the_font_of_the_design_key_by_key(tmp_path: Path) -> None:
    variable(tmp_path / "vary.ttf")
    toml = set_up(tmp_path, 'font = "vary.ttf"\nfont_instance = "Thick"')
    with toml.open("a", encoding="utf-8") as file:
        file.write('\n[[panel]]\nname = "front"\nfont_instance = "Middle"\n')
    font = personalize.load_design(toml).panels[0].style.font
    assert font.axes == (("wght", 500.0),)
    said = toml.read_text("utf-8")
    said = said.replace('font_instance = "Middle"', 'font = "Lora Bold"')
    toml.write_text(said, "utf-8")
    assert personalize.load_design(toml).panels[0].style.font.name == "Lora Bold"


# Collections ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("keys", "wide"),
    [
        ('font_member = "Plum One Regular"', 0.2),
        ('font_member = "plum two"', 0.48),
        ("font_member = 1", 0.2),
        ("font_member = 2", 0.48),
    ],
)
def test_a_member_of_a_collection_is_chosen_by_name_or_number(
    keys: str, wide: float, tmp_path: Path
) -> None:
    collection(tmp_path / "two.ttc")
    text = make(tmp_path, f'font = "two.ttc"\n{keys}', "H")
    design = personalize.load_design(tmp_path / "card.toml")
    assert width_em(design.panels[0].style.font, "H") == pytest.approx(wide)
    assert text["font"].startswith("Plum")


# One sentence --------------------------------------------------------------------------

FAULTS = {
    'font = "two.ttc"': "holds 2 fonts: Plum One",
    'font = "two.ttc"\nfont_member = "Plum Tow"': "Did you mean 'Plum Two",
    'font = "two.ttc"\nfont_member = 3': "Give a number from 1 to 2",
    'font = "two.ttc"\nfont_member = 0': "Give a number from 1 to 2",
    'font = "two.ttc"\nfont_member = true': "font_member must be words",
    'font = "vary.ttf"\nfont_instance = "Thik"': "Did you mean 'Thick'?",
    'font = "vary.ttf"\nfont_instance = "zzz"': "Use one of Thin, Middle, Thick.",
    'font = "vary.ttf"\nfont_axes = { wght = 1000 }': "goes from 100 to 900, not to 1000",
    'font = "vary.ttf"\nfont_axes = { wdth = 90 }': "Its axis is wght (100 to 900).",
    'font = "vary.ttf"\nfont_axes = { wght = "bold" }': "must give a number for each axis",
    'font = "vary.ttf"\nfont_axes = { wght = nan }': "must give a number for each axis",
    'font = "vary.ttf"\nfont_axes = 650': "must give a number for each axis",
    'font = "own.ttf"\nfont_instance = "Bold"': "is not variable",
    'font = "own.ttf"\nfont_axes = { wght = 650 }': "is not variable",
    'font = "Nunito Bold"\nfont_instance = "Bold"': "has no members, instances or axes",
    'font = "../own.ttf"': "lies outside the design's folder",
    'font = "nothing.woff2"': "cannot be opened",
    'font = "words.ttf"': "it is not a font file",
    'font = "blank.ttf"': "none of its letters has an outline",
    'font = "pictures.ttf"': "draws its letters as pictures (CBDT)",
    'font = "Nunito"': "Of this family there is Nunito Bold, Nunito SemiBold",
    'font = "Lora Black"': "Of this family there is Lora Bold, Lora Regular: use one.",
    'font = "Nunto Bold"': "Did you mean 'Nunito Bold'?",
}  # fmt: skip


def no_outlines(font: TTFont) -> None:
    for tag in ("glyf", "loca", "gasp", "prep", "cvt ", "fpgm"):
        if tag in font:
            del font[tag]
    font["CBDT"] = newTable("CBDT")
    font["CBDT"] = data = newTable("CBDT")
    data.__class__ = newTable("ZZZZ").__class__
    data.data = b"\0\3\0\0"


@pytest.fixture(scope="module")
def faulty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder with fonts that the faults above are about."""
    folder = tmp_path_factory.mktemp("fonts") / "design"
    folder.mkdir()
    collection(folder / "two.ttc")
    variable(folder / "vary.ttf")
    for at in (folder, folder.parent):
        (at / "own.ttf").write_bytes(NUNITO.read_bytes())
    (folder / "words.ttf").write_text("no font", "utf-8")
    boxes_font(dict.fromkeys("abc ")).save(folder / "blank.ttf")
    (folder / "pictures.ttf").write_bytes(altered(no_outlines))
    return folder


@pytest.mark.parametrize("keys", FAULTS)
def test_what_is_wrong_with_a_font_is_one_sentence(
    keys: str, faulty: Path, nothing_installed: None
) -> None:
    assert FAULTS[keys] in problem(faulty, keys)


def test_several_faults_are_told_at_once(tmp_path: Path) -> None:
    variable(tmp_path / "vary.ttf")
    keys = 'font = "vary.ttf"\nfont_instance = "zz"\nfont_axes = { opsz = 3, wght = 5 }'
    with pytest.raises(InputError) as told:
        personalize.load_design(set_up(tmp_path, keys))
    assert len(told.value.problems) == 3


def test_the_command_line_tells_it_with_exit_code_2(faulty: Path) -> None:
    toml = set_up(faulty, 'font = "two.ttc"')
    (faulty / "g.csv").write_text("front\nBo\n", "utf-8")
    result = command("check", faulty / "g.csv", "--design", toml)
    assert result.exit_code == 2
    assert "Traceback" not in result.output


@pytest.fixture
def nothing_installed(font_home: Path) -> None:
    """No font is installed."""
