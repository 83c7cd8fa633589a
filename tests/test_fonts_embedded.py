"""Embedding, installed fonts and damaged ones."""

import io
import random
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from fontTools.ttLib import TTFont, newTable

import personalize
from personalize.errors import InputError
from personalize.fonts import installed
from personalize.fonts.catalogue import find_font
from personalize.fonts.choice import Part
from personalize.messages.table import Row, Source, Table
from tests.fonts_made import altered, boxes_font, collection, plain_letters, saved, variable
from tests.outside import Pdfium
from tests.own_fonts_made import KINDS, WORDS, as_woff, make, problem, set_up, width_em

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
