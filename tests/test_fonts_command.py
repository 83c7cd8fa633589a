"""The command `fonts`, and what the bundled set must hold."""

import io
import json
import unicodedata
from pathlib import Path

import numpy as np
import pytest
from fontTools.ttLib import TTFont
from lxml import etree
from PIL import Image

from personalize.errors import InputError
from personalize.fonts import installed
from personalize.fonts.catalogue import Font, catalogue
from personalize.specimen import SCRIPTS, bundled_entries, write_picture
from personalize.type.shape import Paragraph
from tests.conftest import ROOT, command
from tests.fonts_made import boxes_font, plain_letters, variable

SVG = "{http://www.w3.org/2000/svg}"


def test_every_bundled_font_is_told_with_its_scripts_and_a_name() -> None:
    result = command("fonts")
    assert result.exit_code == 0
    for font in catalogue():
        lines = result.output.splitlines()
        (line,) = (s for s in lines if s.startswith(f"  {font.name}  "))
        assert line.endswith(font.sample)
        assert all(SCRIPTS[code] in line for code in font.scripts)
    head, rest = result.output.split("Filling in")
    assert "Nunito Bold" in head
    assert "Noto Emoji" in rest


def test_it_is_told_to_programs_too() -> None:
    told = json.loads(command("fonts", "--json").output)
    assert [entry["name"] for entry in told] == [font.name for font in catalogue()]
    assert told[0] == {
        "name": "Nunito Bold",
        "role": "text",
        "scripts": ["Latin", "Cyrillic"],
        "sample": "Maja Łukowicz",
    }


def test_scripts_have_plain_names() -> None:
    # Unicode's names of letters begin with that of their script.
    for code, letter in {"Deva": "म", "Guru": "ਹ", "Ethi": "ሰ", "Knda": "ಸ"}.items():
        assert unicodedata.name(letter).startswith(SCRIPTS[code].upper())
    assert {code for font in catalogue() for code in font.scripts} <= SCRIPTS.keys()


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_the_picture_shows_every_font(kind: str, tmp_path: Path) -> None:
    to = tmp_path / f"fonts.{kind}"
    told = command("fonts", "--picture", to)
    assert told.exit_code == 0
    assert told.output.endswith(f"Wrote {to}.\n")
    if kind == "svg":
        root = etree.parse(to).getroot()
        labels = [g.get("aria-label") for g in root.iter(f"{SVG}g") if g.get("aria-label")]
        for font in catalogue():
            assert font.name in labels
            assert font.sample in labels
        assert not root.findall(f".//{SVG}text"), "letters are outlines: no font is needed"
        return
    picture = np.asarray(Image.open(to).convert("L"))
    # 8 px to the mm; every row of 16 mm has ink at the right, where the samples are.
    assert picture.shape[1] == 190 * 8
    ink = (picture[:, 78 * 8 :] < 100).any(axis=1)
    bands = np.flatnonzero(np.diff(np.concatenate([[0], ink.astype(int), [0]])))
    assert len(bands) // 2 >= len(catalogue())


def test_words_of_ones_own_can_be_drawn(tmp_path: Path) -> None:
    to = tmp_path / "fonts.svg"
    command("fonts", "--picture", to, "--words", 'Bo & <b>"Io"')
    root = etree.parse(to).getroot()
    labels = [g.get("aria-label") for g in root.iter(f"{SVG}g")]
    assert labels.count('Bo & <b>"Io"') == len(catalogue())


def test_an_existing_picture_is_kept(tmp_path: Path) -> None:
    to = tmp_path / "fonts.png"
    to.write_bytes(b"mine")
    result = command("fonts", "--picture", to)
    assert result.exit_code == 2
    assert "is there already" in result.stderr
    assert to.read_bytes() == b"mine"
    assert "is no .svg or .png" in command("fonts", "--picture", tmp_path / "x.pdf").stderr


@pytest.mark.parametrize("words", ["Bo\nAl", "Bo\x01", "Bo\udcff"])
@pytest.mark.parametrize("name", ["fonts.svg", "fonts.png"])
def test_words_that_no_line_can_hold_are_refused(
    words: str, name: str, tmp_path: Path
) -> None:
    result = command("fonts", "--picture", tmp_path / name, "--words", words)
    assert result.exit_code == 2
    assert "--words: the words hold a line end" in result.stderr
    assert not (tmp_path / name).exists()


def test_no_font_is_left_out_of_a_picture_unsaid(tmp_path: Path) -> None:
    entries = (bundled_entries() * 20)[:401]
    with pytest.raises(InputError, match=r"401 fonts are too many for a \.png"):
        write_picture(entries, tmp_path / "fonts.png")
    write_picture(entries, tmp_path / "fonts.svg")
    root = etree.parse(tmp_path / "fonts.svg").getroot()
    labels = [g.get("aria-label") for g in root.iter(f"{SVG}g")]
    names = [entry.font.name for entry in entries]
    assert sum(label in set(names) for label in labels) == 401


def test_installed_fonts_are_told_by_family(font_home: Path, tmp_path: Path) -> None:
    assert "No usable font" in command("fonts", "--installed").output
    installed.installed.cache_clear()
    boxes_font(plain_letters(), name="Plum Inst", style="Bold").save(font_home / "a.ttf")
    boxes_font(plain_letters(), name="Plum No", fs_type=2).save(font_home / "b.ttf")
    variable(font_home / "c.ttf")
    for left in font_home.glob("master*"):
        left.unlink()
    result = command("fonts", "--installed", "--picture", tmp_path / "p.svg")
    assert result.exit_code == 0
    assert "Plum Inst: Plum Inst Bold\n" in result.output
    assert "Plum Vary: Plum Vary Thin, Plum Vary Middle, Plum Vary Thick" in result.output
    assert "Not usable: the makers of the font 'b.ttf'" in result.output
    assert "2 families installed." in result.output
    told = json.loads(command("fonts", "--installed", "--json").output)
    usable = {entry["name"]: entry["usable"] for entry in told}
    assert usable == {"Plum Inst Bold": True, "Plum No": False, "Plum Vary": True}
    (vary,) = (entry for entry in told if entry["family"] == "Plum Vary")
    assert vary["axes"] == {"wght": [100, 100, 900]}


# The bundled set -----------------------------------------------------------------------

# Names and words of invented people, in every script that the set promises.
PROMISED = {
    "Latin": "Łucja Ðorđe Þóra Șerban Ğül Œuvre Ŵyn Ǫla ẞ Nguyễn Thuỳ",
    "Greek": "Ελευθερία Ανεμογιάννη",
    "old Greek": "Ἑλένη Ἀθηνᾶ",
    "Cyrillic": "Дарина Їжакевич Ђорђе Әсел",
    "Hebrew": "שָׁלוֹם נועה",
    "Arabic": "سلمى تبّولة مُحَمَّد",
    "Persian": "پرویز چنگیزی ژاله گلناز ۱۲۳",
    "Urdu": "فہیم ٹیپو ڈار گھڑے ںۃ",
    "Sindhi": "ڄام ڇتو ڊيپ ڳڻ",
    "Devanagari": "मीरा कुलश्रेष्ठ",
    "Bengali": "অনন্যা চট্টোপাধ্যায়",
    "Tamil": "கவிதா முருகன்",
    "Thai": "ดอกแก้ว น้ำ",
    "Ethiopic": "ሰላም ተስፋዬ",
    "Georgian": "ნინო ბერიძე",
    "Armenian": "Անի Սարգսյան",
    "Japanese": "髙橋さくら アイ",
    "Chinese": "李晓雨 林雅婷 𠮷",
    "Korean": "김하윤",
    "emoji": "🌻 👩🏽‍🌾 👨‍👩‍👧 🇪🇸 1️⃣ ❤️",
}


@pytest.mark.parametrize("what", PROMISED)
def test_the_set_has_every_letter_of(what: str) -> None:
    for font in catalogue():
        if font.role == "text":
            assert Paragraph(PROMISED[what], font).missing == ()


def test_a_word_in_arabic_letters_has_a_whole_glyph_for_each() -> None:
    # Dots that are glyphs of their own are sorted among the letters by readers of a PDF.
    words = " ".join(PROMISED[k] for k in ("Arabic", "Persian", "Urdu", "Sindhi")).split()
    for word in words:
        plain = "".join(c for c in word if not unicodedata.combining(c))
        (run,) = Paragraph(plain, catalogue()[0]).line(0, 0).runs
        assert len(run.ids) == len(set(run.clusters)) <= len(plain)


@pytest.mark.parametrize("font", catalogue(), ids=lambda f: f.name)
def test_a_bundled_font_is_whole_and_may_be_embedded(font: Font) -> None:
    data = io.BytesIO(font.path.read_bytes())
    file = TTFont(data, fontNumber=font.index, lazy=True)
    assert file["OS/2"].fsType == 0
    assert Paragraph(font.sample, font).borrowed.keys() <= {"Nunito Bold"}
    licence = font.path.with_name("OFL.txt").read_text("utf-8")
    assert "SIL Open Font License, Version 1.1" in licence


def test_the_set_stays_small() -> None:
    size = sum(p.stat().st_size for p in (ROOT / "fonts_open").rglob("*") if p.is_file())
    assert size < 30e6
