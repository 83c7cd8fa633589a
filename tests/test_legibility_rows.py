"""Words on a row's own picture, letters of borrowed fonts: each looked at as printed."""

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import personalize
from personalize.checks.contrast import luminance_under
from personalize.checks.strokes import thinnest_of_em
from personalize.design.chosen import chosen_by
from personalize.design.toml_values import parse_colour
from personalize.finding import Finding
from personalize.fonts.catalogue import find_font
from personalize.messages.message import messages_of
from personalize.rules import Rule
from tests.conftest import EDGE, drawing, put
from tests.outside import Pdfium

TOML = '[lines]\nCutting = "#edge"\n'
PICTURE = '[picture]\nbox = [4, 4, 52, 32]\nwords = "{}"\n'


def picture(path: Path, colour: str | tuple[int, ...]) -> None:
    Image.new("RGBA" if len(colour) == 4 else "RGB", (416, 256), colour).save(path)


def faint(folder: Path, toml: str, cells: str, svg: str = EDGE) -> list[Finding]:
    put(folder, {"tag.svg": drawing(svg), "tag.toml": toml, "guests.csv": cells})
    design = personalize.load_design(folder / "tag.toml")
    table = personalize.read_table(folder / "guests.csv")
    findings = personalize.check(table, design).findings
    return [f for f in findings if f.rule is Rule.FAINT_WORDS]


def test_words_over_a_dark_picture_are_told_with_its_name(tmp_path: Path) -> None:
    picture(tmp_path / "night.png", "#222222")
    picture(tmp_path / "day.png", "#eeeeee")
    cells = "front,picture\nAda,night.png\nBo,day.png\nIvo,\n"
    (told,) = faint(tmp_path, TOML + PICTURE.format("over"), cells)
    assert told.row == 2
    assert "the picture 'night.png'" in told.says
    grey = parse_colour("#222")
    assert grey is not None
    wanted = (grey.luminance + 0.05) / 0.05  # black words
    assert told.figures["contrast"] == pytest.approx(wanted, abs=0.01)


def test_a_picture_beside_the_words_does_not_count(tmp_path: Path) -> None:
    picture(tmp_path / "night.png", "#222222")
    box = PICTURE.format("beside").replace("[4, 4, 52, 32]", "[4, 4, 20, 32]")
    cells = "front,picture\nAda,night.png\n"
    assert faint(tmp_path, TOML + box, cells) == []


def test_a_clear_picture_shows_the_artwork_through_it(tmp_path: Path) -> None:
    picture(tmp_path / "veil.png", (0, 0, 0, 0))
    cells = "front,picture\nAda,veil.png\n"
    pale = '<rect width="60" height="40" fill="#fff"/>' + EDGE
    assert faint(tmp_path, TOML + PICTURE.format("over"), cells, pale) == []
    dark = pale.replace("#fff", "#222")
    assert faint(tmp_path, TOML + PICTURE.format("over"), cells, dark)


def test_what_lies_under_the_words_is_what_is_printed(tmp_path: Path) -> None:
    """Each place of a half-clear, turned picture against pdfium's print of the piece."""
    rng = np.random.default_rng(4)
    blocks = rng.integers(0, 256, (4, 6, 4), dtype=np.uint8)
    whole = np.kron(blocks, np.ones((64, 64, 1), np.uint8))
    Image.fromarray(whole, "RGBA").save(tmp_path / "own.png")
    toml = TOML + '[picture]\narea = "#photo"\nwords = "over"\nfit = "whole"\n'
    toml += '[[panel]]\nname = "front"\nturn_deg = 90\n[type]\ncolour = "#000"\n'
    shape = '<path id="photo" d="M6 6H50L54 34H6Z" fill="#cde"/>'
    half = '<rect width="30" height="40" fill="#8a5"/>' + shape + EDGE
    put(tmp_path, {"tag.svg": drawing(half), "tag.toml": toml})
    put(tmp_path, {"guests.csv": "front,picture\n.,own.png\n"})
    design = personalize.load_design(tmp_path / "tag.toml")
    table = personalize.read_table(tmp_path / "guests.csv")
    (message,) = messages_of(table)
    chosen = chosen_by(message, design, tmp_path)
    made = personalize.make(table, design, tmp_path / "out")
    assert made.made
    page = Pdfium(tmp_path / "out" / "print.pdf").picture(1, 8.0) / 255
    linear = np.where(page <= 0.04045, page / 12.92, ((page + 0.055) / 1.055) ** 2.4)
    printed = linear @ np.array([0.2126, 0.7152, 0.0722])
    told = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    (piece,) = [p for p in told["pieces"] if p["row"] is not None]
    a, b, c, d, e, f = piece["at"]
    high = told["sheets"][0]["height_mm"]
    x0, y0, x1, y1 = piece["texts"][0]["ink_mm"]
    points = rng.uniform((3, 3), (57, 37), (900, 2))
    seen = luminance_under(design.artwork, chosen.picture, design.picture, points)
    close = kept = 0
    for (x, y), mine in zip(points, seen, strict=True):
        at = (a * x + c * y + e, b * x + d * y + f)
        if x0 - 1 < at[0] < x1 + 1 and y0 - 1 < at[1] < y1 + 1:
            continue
        kept += 1
        row, column = int((high - at[1]) * 8), int(at[0] * 8)
        close += abs(printed[row, column] - mine) < 0.02
    # The rest lies on edges of the blocks, which each side draws with its own pixels.
    assert kept > 300
    assert close > 0.9 * kept


def test_borrowed_letters_are_looked_at_as_they_are_drawn(tmp_path: Path) -> None:
    own = '[type]\nfont = "Nunito ExtraBold"\nmax_pt = {}\n'
    cells = "front\n鬱憂\n"
    put(tmp_path, {"guests.csv": cells, "tag.svg": drawing(EDGE)})
    table = personalize.read_table(tmp_path / "guests.csv")

    def told(size: float) -> list[Finding]:
        put(tmp_path, {"tag.toml": TOML + own.format(size)})
        design = personalize.load_design(tmp_path / "tag.toml")
        findings = personalize.check(table, design).findings
        return [f for f in findings if f.rule is Rule.THIN_STROKE]

    (found,) = told(9)
    assert "Noto Sans CJK SC Bold" in found.says
    assert "bolder font that has these letters" in found.do
    needed = float(found.do.split("at least ")[1].removesuffix(" pt."))
    assert told(0.95 * needed)
    assert not told(needed + 0.1)


def test_only_the_letters_that_are_used_count() -> None:
    font = find_font("Noto Sans CJK SC Bold", Path(), "")
    one, dense = (font.face.nominal(letter) for letter in "一鬱")
    assert one
    assert dense
    alone, both = thinnest_of_em(font, [one]), thinnest_of_em(font, [one, dense])
    assert alone is not None
    assert both is not None
    assert both < 0.7 * alone
    box = font.face.ink(one)
    assert box is not None
    # A level bar: as thick as its box is high, which is what HarfBuzz says of it.
    assert alone == pytest.approx(box[3] - box[1], rel=0.25)
    assert thinnest_of_em(font, []) is None
