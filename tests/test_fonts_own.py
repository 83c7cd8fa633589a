"""Fonts of the maker's own: every kind of file, collections, variable and installed ones.

The made fonts draw each letter as a box of known width, so that sizes can be worked out
by hand; real fonts are compared with what fontTools reads from the file as it is.
"""

import io
import json
import random
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont, newTable

import personalize
from personalize.errors import InputError
from personalize.fonts import installed
from personalize.fonts.catalogue import Font, find_font
from personalize.fonts.choice import Part
from personalize.fonts.files import unpacked
from personalize.messages.table import Row, Source, Table
from tests.conftest import command, drawing
from tests.fonts_made import (
    NUNITO,
    altered,
    boxes_font,
    collection,
    plain_letters,
    saved,
    variable,
)
from tests.outside import Pdfium, poppler_text, run

EDGE = '<rect id="outline" x="2" y="2" width="186" height="36" fill="none" stroke="#000"/>'
CARD = drawing(EDGE, 190)
"""Too long to be laid on the sheet but upright."""
WORDS = "AVATAR Wally"


def as_woff(data: bytes, flavor: str) -> bytes:
    font = TTFont(io.BytesIO(data), recalcTimestamp=False)
    font.flavor = flavor
    return saved(font)


def set_up(folder: Path, type_keys: str) -> Path:
    """Write a card with some keys under [type]; give its TOML file."""
    (folder / "card.svg").write_text(CARD, "utf-8")
    toml = folder / "card.toml"
    head = "[margins]\nbleed = 0\n\n[type]\nmax_lines = 1\n"
    toml.write_text(f"{head}{type_keys}\n", "utf-8")
    return toml


def make(folder: Path, type_keys: str, words: str = WORDS) -> dict[str, Any]:
    """Make one card and give its text as the report has it."""
    table = Table(Source("guests.csv"), ("front",), (Row(2, (words,)),))
    design = personalize.load_design(set_up(folder, type_keys))
    result = personalize.make(table, design, folder / "out")
    assert result.made, result.findings
    assert not any(f.rule == "other-font" for f in result.findings)
    report = json.loads((folder / "out" / "report.json").read_text("utf-8"))
    text: dict[str, Any] = report["pieces"][0]["texts"][0]
    return text


def problem(folder: Path, type_keys: str) -> str:
    """Give what is said of a design that cannot be used."""
    with pytest.raises(InputError) as told:
        personalize.load_design(set_up(folder, type_keys))
    assert len(told.value.problems) == 1
    assert str(told.value).startswith("card.toml, line ")
    return str(told.value)


# Every kind of file --------------------------------------------------------------------

KINDS: dict[str, Callable[[Path], object]] = {
    "own.ttf": lambda p: p.write_bytes(NUNITO.read_bytes()),
    "own.otf": lambda p: boxes_font(plain_letters(), cff=True).save(p),
    "own.woff": lambda p: p.write_bytes(as_woff(NUNITO.read_bytes(), "woff")),
    "own.woff2": lambda p: p.write_bytes(as_woff(NUNITO.read_bytes(), "woff2")),
    "cff.woff2": lambda p: p.write_bytes(
        as_woff(saved(boxes_font(plain_letters(), cff=True)), "woff2")
    ),
    "vary.ttf": variable,
    "vary.otf": lambda p: variable(p, cff=True),
}


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


# Variable fonts ------------------------------------------------------------------------


def width_em(font: Font, letter: str) -> float:
    gid = font.face.nominal(letter)
    assert gid
    box = font.face.ink(gid)
    assert box is not None
    return box[2] - box[0]


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


# Embedding: OpenType 1.9.1, "OS/2", fsType -----------------------------------------------


def with_bits(bits: int) -> bytes:
    def change(font: TTFont) -> None:
        font["OS/2"].fsType = bits

    return altered(change)


@pytest.mark.parametrize(
    ("bits", "says"),
    [
        (0x0002, "do not permit embedding"),
        (0x0102, "do not permit embedding"),
        (0x0200, "pictures of its letters only"),
        (0x0204, "pictures of its letters only"),
    ],
)
def test_what_may_not_be_embedded_is_refused(bits: int, says: str, tmp_path: Path) -> None:
    (tmp_path / "own.ttf").write_bytes(with_bits(bits))
    assert says in problem(tmp_path, 'font = "own.ttf"')


@pytest.mark.parametrize("bits", [0, 0x0004, 0x0008])
def test_a_font_that_may_be_embedded_is_a_subset(bits: int, tmp_path: Path) -> None:
    font = boxes_font(plain_letters(), fs_type=bits, name="Plum Part")
    font.save(tmp_path / "own.ttf")
    make(tmp_path, 'font = "own.ttf"')
    (embedded,) = embedded_fonts(tmp_path / "out" / "print.pdf", "PlumPart")
    assert embedded[0].count("+") == 1
    assert embedded[1]["maxp"].numGlyphs == len(set(WORDS)) + 1


@pytest.mark.parametrize("cff", [False, True], ids=["TrueType", "CFF"])
def test_a_font_that_must_stay_whole_is_embedded_whole(cff: bool, tmp_path: Path) -> None:
    font = boxes_font(plain_letters(), fs_type=0x0100, cff=cff, name="Plum Whole")
    font.save(tmp_path / "own.ttf")
    text = make(tmp_path, 'font = "own.ttf"')
    pdf = tmp_path / "out" / "print.pdf"
    (embedded,) = embedded_fonts(pdf, "PlumWhole")
    assert "+" not in embedded[0], "the tag of a subset"
    glyphs = len(plain_letters()) + 1
    if cff:
        assert len(embedded[1]["CFF "].cff.topDictIndex[0].CharStrings) == glyphs
    else:
        assert embedded[1]["maxp"].numGlyphs == glyphs
    box = [v + d for v, d in zip(text["ink_mm"], (-1, -1, 1, 1), strict=True)]
    assert Pdfium(pdf).text(1, box) == WORDS


def embedded_fonts(pdf: Path, name: str) -> list[tuple[str, Any]]:
    """Give the names and the files of the fonts in a PDF that are called so."""
    out: list[tuple[str, Any]] = []
    with pikepdf.open(pdf) as opened:
        for item in opened.objects:
            if not isinstance(item, pikepdf.Dictionary):
                continue
            if item.get("/Type") == "/FontDescriptor" and name in str(item.FontName):
                if "/FontFile2" in item:
                    data = TTFont(io.BytesIO(item.FontFile2.read_bytes()))
                else:
                    table = newTable("CFF ")
                    table.decompile(item.FontFile3.read_bytes(), TTFont(sfntVersion="OTTO"))
                    data = {"CFF ": table}
                out.append((str(item.FontName), data))
    return out


# Installed fonts -----------------------------------------------------------------------


@pytest.fixture
def font_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """An empty folder that is the only one with installed fonts."""
    folder = tmp_path / "installed"
    folder.mkdir()
    monkeypatch.setattr(installed, "font_folders", lambda *_: (folder,))
    installed.installed.cache_clear()
    yield folder
    installed.installed.cache_clear()


@pytest.fixture
def nothing_installed(font_home: Path) -> None:
    """No font is installed."""


def install(folder: Path, name: str, style: str, wide: int) -> None:
    letters = {c: b and (b[0], b[1], b[0] + wide, b[3]) for c, b in plain_letters().items()}
    path = folder / f"x{len(list(folder.iterdir()))}.ttf"
    boxes_font(letters, name=name, style=style).save(path)


def test_an_installed_font_is_found_by_its_own_names(
    font_home: Path, tmp_path: Path
) -> None:
    install(font_home, "Plum Inst", "Regular", 200)
    install(font_home, "Plum Inst", "Bold", 300)
    install(font_home, "Plum Alone", "Regular", 400)
    (font_home / "broken.ttf").write_bytes(b"\0\1\0\0 and no more")
    for name, part, wide in (
        ("Plum Inst Bold", Part(), 0.3),
        ("plum  inst REGULAR", Part(), 0.2),
        ("PlumInst-Bold", Part(), 0.3),
        ("Plum Inst", Part(instance="bold"), 0.3),
        ("Plum Alone", Part(), 0.4),
    ):
        font = find_font(name, tmp_path, "test", part)
        assert width_em(font, "H") == pytest.approx(wide), name
    text = make(tmp_path, 'font = "Plum Inst Bold"')
    assert text["font"] == "Plum Inst Bold"


def test_an_instance_of_an_installed_variable_font_has_a_name_too(
    font_home: Path, tmp_path: Path
) -> None:
    variable(font_home / "vary.ttf")
    for left in font_home.glob("master*"):
        left.unlink()
    font = find_font("Plum Vary Thick", tmp_path, "test")
    assert width_em(font, "H") == pytest.approx(0.5)
    font = find_font("Plum Vary", tmp_path, "test", Part(instance="Middle"))
    assert width_em(font, "H") == pytest.approx(0.35)


def test_several_installed_fonts_of_a_name_are_one_sentence(
    font_home: Path, tmp_path: Path
) -> None:
    install(font_home, "Plum Inst", "Light", 200)
    install(font_home, "Plum Inst", "Bold", 300)
    says = problem(tmp_path, 'font = "Plum Inst"')
    assert "2 installed fonts go by the name 'Plum Inst'" in says
    assert "Plum Inst Bold, Plum Inst Light" in says
    assert "Did you mean 'Plum Inst Bold'?" in problem(tmp_path, 'font = "Plum Inst Bald"')
    assert "font_member is for a file" in problem(
        tmp_path, 'font = "Plum Inst Bold"\nfont_member = 1'
    )
    # The same name twice: a copy does no harm, another font does.
    first = next(p for p in sorted(font_home.iterdir()) if "x0" in p.name)
    (font_home / "copy.ttf").write_bytes(first.read_bytes())
    installed.installed.cache_clear()
    assert find_font("Plum Inst Light", tmp_path, "test").name == "Plum Inst Light"
    install(font_home, "Plum Inst", "Light", 250)
    installed.installed.cache_clear()
    assert "different installed fonts" in problem(tmp_path, 'font = "Plum Inst Light"')


def test_fonts_are_looked_for_where_each_system_keeps_them() -> None:
    home = Path("/h")
    linux = installed.font_folders("linux", {"XDG_DATA_DIRS": "/a:/b"}, home)
    assert linux == tuple(
        map(Path, ("/h/.local/share/fonts", "/a/fonts", "/b/fonts", "/h/.fonts"))
    )
    usual = installed.font_folders("linux", {"XDG_DATA_HOME": "/x"}, home)
    assert Path("/usr/share/fonts") in usual
    assert usual[0] == Path("/x/fonts")
    mac = installed.font_folders("darwin", {}, home)
    assert Path("/System/Library/Fonts") in mac
    assert mac[0] == Path("/h/Library/Fonts")
    windows = installed.font_folders(
        "win32", {"WINDIR": "C:/Windows", "LOCALAPPDATA": "C:/L"}, home
    )
    assert windows == (Path("C:/L/Microsoft/Windows/Fonts"), Path("C:/Windows/Fonts"))


# Hostile files -------------------------------------------------------------------------


def damaged(data: bytes, chance: random.Random) -> bytes:
    """Cut a file off, or change some of its bytes, half of the time in its first part."""
    if chance.random() < 0.25:
        return data[: chance.randrange(len(data))]
    out = bytearray(data)
    end = len(out) if chance.random() < 0.4 else min(len(out), 600)
    for _ in range(chance.choice([1, 1, 2, 8, 40])):
        out[chance.randrange(end)] = chance.randrange(256)
    return bytes(out)


@pytest.mark.parametrize("name", ["own.ttf", "own.otf", "own.woff", "vary.ttf", "two.ttc"])
def test_a_damaged_font_works_or_is_told_in_a_sentence(name: str, tmp_path: Path) -> None:
    (KINDS | {"two.ttc": collection})[name](tmp_path / name)
    good = (tmp_path / name).read_bytes()
    chance = random.Random(7)
    told: list[InputError] = []
    member = "font_member = 1" if name == "two.ttc" else ""
    for i in range(60):
        file = f"bad{i}{Path(name).suffix}"
        (tmp_path / file).write_bytes(damaged(good, chance))
        table = Table(Source("guests.csv"), ("front",), (Row(2, (WORDS,)),))
        try:
            design = personalize.load_design(set_up(tmp_path, f'font = "{file}"\n{member}'))
            options = personalize.Options(proof=False)
            personalize.make(table, design, tmp_path / "out", options)
        except InputError as error:
            told.append(error)
    assert len(told) > 20
    assert all(len(str(error).splitlines()) == 1 for error in told)


def test_a_packed_font_that_unpacks_to_too_much_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for flavor in ("woff", "woff2"):
        data = as_woff(saved(boxes_font(plain_letters())), flavor)
        (tmp_path / f"own.{flavor}").write_bytes(data)
        monkeypatch.setattr("personalize.fonts.files.MOST_BYTES", len(data) + 50)
        assert "unpacks to more" in problem(tmp_path, f'font = "own.{flavor}"')


def test_a_name_that_no_file_can_have_is_told_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be opened"):
        find_font("a\0b.ttf", tmp_path, "[type]")
