"""Emoji in several colours: what three renderers paint, against the font by hand."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import resvg_py
from fontTools.ttLib.tables.otTables import CompositeMode, ExtendMode, PaintFormat
from PIL import Image

import personalize
from personalize.checks.inside import outline_points
from personalize.fonts.catalogue import Font, find_font
from personalize.messages.table import Row, Source, Table
from personalize.output.colour_glyphs import svg_layers
from personalize.type.shape import Paragraph
from tests.conftest import drawing
from tests.fonts_made import boxes_font
from tests.outside import Pdfium, poppler_picture, poppler_text, run, without_marks

SUN, CAKE, BEE, ANT = "🌻", "🎂", "🐝", "🐜"
PX_PER_MM = 10.0
RED, BLUE, GREEN = 0, 1, 2
"""Places in the palette: (204, 0, 0), (0, 0, 204), and (0, 153, 0) at half strength."""
TEXT = 0xFFFF  # OpenType 1.9.1, "CPAL": the colour of the text
EDGE = '<rect id="outline" x="2" y="2" width="186" height="36" fill="none" stroke="#000"/>'
CARD = drawing(EDGE, 190)


def glyph(letter: str) -> str:
    return f"u{ord(letter):04X}"


def solid(shape: str, colour: int, alpha: float = 1.0) -> dict[str, Any]:
    return {
        "Format": PaintFormat.PaintGlyph,
        "Glyph": glyph(shape),
        "Paint": {"Format": PaintFormat.PaintSolid, "PaletteIndex": colour, "Alpha": alpha},
    }


def line(*stops: tuple[float, int], extend: ExtendMode = ExtendMode.PAD) -> dict[str, Any]:
    return {
        "ColorStop": [
            {"StopOffset": at, "PaletteIndex": c, "Alpha": 1.0} for at, c in stops
        ],
        "Extend": extend,
    }


def across(**more: Any) -> dict[str, Any]:
    """The box of `a`, red at its left end and blue at its right."""
    return {
        "Format": PaintFormat.PaintGlyph,
        "Glyph": glyph("a"),
        "Paint": {
            "Format": PaintFormat.PaintLinearGradient,
            "ColorLine": line((0.0, RED), (1.0, BLUE), **more),
            "x0": 0,
            "y0": 0,
            "x1": 900,
            "y1": 0,
            "x2": 0,
            "y2": 900,
        },
    }


def ball() -> dict[str, Any]:
    """The box of `a`, red in its middle and blue 400 units from there."""
    return {
        "Format": PaintFormat.PaintGlyph,
        "Glyph": glyph("a"),
        "Paint": {
            "Format": PaintFormat.PaintRadialGradient,
            "ColorLine": line((0.0, RED), (1.0, BLUE)),
            "x0": 450,
            "y0": 450,
            "r0": 0,
            "x1": 450,
            "y1": 450,
            "r1": 400,
        },
    }


def stacked(*paints: dict[str, Any]) -> dict[str, Any]:
    return {"Format": PaintFormat.PaintColrLayers, "Layers": list(paints)}


def moved(paint: dict[str, Any], dx: int, dy: int) -> dict[str, Any]:
    return {"Format": PaintFormat.PaintTranslate, "dx": dx, "dy": dy, "Paint": paint}


def blended(mode: CompositeMode) -> dict[str, Any]:
    return {
        "Format": PaintFormat.PaintComposite,
        "SourcePaint": solid("a", RED),
        "CompositeMode": mode,
        "BackdropPaint": solid("b", BLUE),
    }


SHAPES = {"a": (0.0, 0.0, 900.0, 900.0), "b": (300.0, 300.0, 600.0, 600.0), " ": None}
VERSIONS: dict[str, dict[str, Any]] = {
    "COLR 0": {SUN: [(glyph("a"), RED), (glyph("b"), TEXT)]},
    "COLR 1": {
        SUN: stacked(solid("a", RED), solid("b", TEXT)),
        CAKE: across(),
        BEE: ball(),
        ANT: stacked(solid("a", RED), moved(solid("b", BLUE), 0, 250)),
    },
}


def emoji_font(folder: Path, colours: dict[str, Any], outline: Any = None) -> Font:
    """Write a font whose emoji have layers alone, and no space."""
    letters = {**SHAPES, **dict.fromkeys(colours, outline)}
    del letters[" "]
    font = boxes_font(
        letters,
        name="Plum Colour",
        advances=dict.fromkeys(letters, 1000),
        colours={glyph(letter): paint for letter, paint in colours.items()},
    )
    font.save(folder / "emoji.ttf")
    return find_font("emoji.ttf", folder, "test")


def make(folder: Path, words: str, more: str = "") -> dict[str, Any]:
    (folder / "card.svg").write_text(CARD, "utf-8")
    (folder / "card.toml").write_text(
        '[margins]\nbleed = 0\n[type]\nmax_lines = 1\ncolour = "#334477"\n'
        f'emoji_font = "emoji.ttf"\n{more}',
        "utf-8",
    )
    table = Table(Source("guests.csv"), ("front",), (Row(2, (words,)),))
    design = personalize.load_design(folder / "card.toml")
    assert personalize.make(table, design, folder / "out").made
    report = json.loads((folder / "out" / "report.json").read_text("utf-8"))
    text: dict[str, Any] = report["pieces"][0]["texts"][0]
    return text


class Seen:
    """One emoji alone on a card, as pdfium and poppler show it."""

    def __init__(self, folder: Path, letter: str) -> None:
        text = make(folder, letter)
        pdf = folder / "out" / "print.pdf"
        assert "No syntax or stream encoding errors" in run("qpdf", "--check", pdf)
        self.box = text["ink_mm"]
        dpi = round(PX_PER_MM * 25.4)
        self.pictures = [
            Pdfium(pdf).picture(1, PX_PER_MM),
            poppler_picture(pdf, 1, dpi, folder),
        ]

    def at(self, x: float, y: float) -> list[list[int]]:
        """Colour at a share of the ink's width and height, from the lower left."""
        x0, y0, x1, y1 = self.box
        across, up = x0 + x * (x1 - x0), y0 + y * (y1 - y0)
        return [
            p[int(p.shape[0] - up * PX_PER_MM), int(across * PX_PER_MM)].tolist()
            for p in self.pictures
        ]


def near(found: list[list[int]], wanted: tuple[int, int, int], within: int = 8) -> bool:
    return bool((np.abs(np.array(found) - np.array(wanted)) <= within).all())


@pytest.mark.parametrize("version", VERSIONS)
def test_layers_have_their_colours_and_that_of_the_text(
    version: str, tmp_path: Path
) -> None:
    emoji_font(tmp_path, VERSIONS[version])
    seen = Seen(tmp_path, SUN)
    for x, y in ((0.1, 0.1), (0.9, 0.9), (0.5, 0.2), (0.25, 0.5)):
        assert near(seen.at(x, y), (204, 0, 0))
    for x, y in ((0.5, 0.5), (0.4, 0.6)):
        assert near(seen.at(x, y), (0x33, 0x44, 0x77))


def test_a_linear_gradient_runs_from_end_to_end(tmp_path: Path) -> None:
    emoji_font(tmp_path, VERSIONS["COLR 1"])
    seen = Seen(tmp_path, CAKE)
    for x in (0.1, 0.3, 0.5, 0.9):
        for y in (0.1, 0.8):
            assert near(seen.at(x, y), (round(204 * (1 - x)), 0, round(204 * x)))


def test_a_radial_gradient_runs_outwards(tmp_path: Path) -> None:
    emoji_font(tmp_path, VERSIONS["COLR 1"])
    seen = Seen(tmp_path, BEE)
    for x, y in ((0.5, 0.5), (0.7, 0.5), (0.5, 0.3), (0.6, 0.6)):
        away = min(1.0, np.hypot(x - 0.5, y - 0.5) * 900 / 400)
        assert near(seen.at(x, y), (round(204 * (1 - away)), 0, round(204 * away)))
    assert near(seen.at(0.05, 0.05), (0, 0, 204)), "beyond it the last colour goes on"


def test_a_layer_is_moved_and_ink_reaches_as_far_as_the_layers(tmp_path: Path) -> None:
    colours = {ANT: stacked(solid("b", RED), moved(solid("b", BLUE), 0, 250))}
    font = emoji_font(tmp_path, colours)
    gid = font.face.nominal(ANT)
    assert gid
    # By hand: 300 to 600, and the same 250 higher.
    assert font.face.ink(gid) == pytest.approx((0.3, 0.3, 0.6, 0.85))
    points = outline_points(font, gid)  # fontTools takes the table apart by itself
    assert points.min(axis=0) == pytest.approx([0.3, 0.3])
    assert points.max(axis=0) == pytest.approx([0.6, 0.85])
    seen = Seen(tmp_path, ANT)
    assert near(seen.at(0.5, 0.2), (204, 0, 0))
    assert near(seen.at(0.5, 0.7), (0, 0, 204))


def test_half_strength_lets_what_is_under_it_through(tmp_path: Path) -> None:
    emoji_font(tmp_path, {SUN: stacked(solid("a", RED), solid("b", GREEN))})
    seen = Seen(tmp_path, SUN)
    # (0, 153, 0) at a half over (204, 0, 0): PDF 32000-1, 11.3.3.
    assert near(seen.at(0.5, 0.5), (102, 76, 0))


@pytest.mark.parametrize("version", VERSIONS)
def test_the_emoji_is_read_back_as_text(version: str, tmp_path: Path) -> None:
    emoji_font(tmp_path, VERSIONS[version])
    text = make(tmp_path, f"Bo {SUN} Io")
    pdf = tmp_path / "out" / "print.pdf"
    box = [v + d for v, d in zip(text["ink_mm"], (-1, -1, 1, 1), strict=True)]
    assert Pdfium(pdf).text(1, box) == f"Bo {SUN} Io"
    assert without_marks(poppler_text(pdf, 1, box, 297.0)) == f"Bo {SUN} Io"


@pytest.mark.parametrize("letter", [SUN, CAKE, BEE])
def test_the_proof_shows_the_same(letter: str, tmp_path: Path) -> None:
    font = emoji_font(tmp_path, VERSIONS["COLR 1"])
    gid = font.face.nominal(letter)
    assert gid
    drawn = svg_layers(font.face.layers(gid), "g1")
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="200" height="200"'
        ' viewBox="0 0 0.9 0.9"><g transform="matrix(1 0 0 -1 0 0.9)" fill="#334477">'
        f"{drawn}</g></svg>"
    )
    to = tmp_path / "glyph.png"
    to.write_bytes(bytes(resvg_py.svg_to_bytes(svg_string=svg)))
    picture = np.asarray(Image.open(to).convert("RGB"))
    seen = Seen(tmp_path, letter)
    for x, y in ((0.1, 0.1), (0.5, 0.5), (0.7, 0.4), (0.2, 0.9)):
        theirs = picture[int((1 - y) * 200), int(x * 200)].tolist()
        assert near(seen.at(x, y), tuple(theirs))
    page = (tmp_path / "out" / "proof.html").read_text("utf-8")
    assert page.count('<g transform="scale(1000)">') == 1


def test_a_rim_in_the_proof_goes_round_outlines_and_leaves_layers_alone(
    tmp_path: Path,
) -> None:
    emoji_font(tmp_path, VERSIONS["COLR 1"])
    make(tmp_path, f"Bo {SUN}", 'rim = "line"\nrim_mm = 1\n')
    page = (tmp_path / "out" / "proof.html").read_text("utf-8")
    # Layers are drawn in an em: a stroke in the font's units is a thousand times too wide.
    layered = set(re.findall(r'<g id="(\w+)"><g transform="scale\(1000\)">', page))
    rims = re.findall(r'<g fill="none" stroke="[^"]*"[^>]*>(.*?)</g></g>', page)
    assert len(layered) == 1
    assert rims
    for rim in rims:
        assert not layered & set(re.findall(r'href="#(\w+)"', rim))
    assert f'href="#{layered.pop()}"' in page


NOT_LAYERS = {
    "blending": blended(CompositeMode.SRC_IN),
    "a gradient that repeats": across(extend=ExtendMode.REPEAT),
    "a sweep": {
        "Format": PaintFormat.PaintGlyph,
        "Glyph": glyph("a"),
        "Paint": {
            "Format": PaintFormat.PaintSweepGradient,
            "ColorLine": line((0.0, RED), (1.0, BLUE)),
            "centerX": 450,
            "centerY": 450,
            "startAngle": 0,
            "endAngle": 180,
        },
    },
}


@pytest.mark.parametrize("what", NOT_LAYERS)
def test_what_is_no_layers_is_never_left_blank(what: str, tmp_path: Path) -> None:
    font = emoji_font(tmp_path, {SUN: NOT_LAYERS[what]})
    borrowed = Paragraph(f"Bo {SUN}", font).borrowed
    assert borrowed["Noto Emoji SemiBold"] == SUN
    # With an outline of its own it is printed in one colour.
    font = emoji_font(tmp_path / ".", {SUN: NOT_LAYERS[what]}, (0.0, 0.0, 700.0, 700.0))
    again = Font("again", font.path.rename(tmp_path / "again.ttf"), role="own")
    assert SUN not in Paragraph(f"Bo {SUN}", again).borrowed.get("Noto Emoji SemiBold", "")


def test_a_space_after_an_emoji_is_not_taken_from_a_font_without_one(
    tmp_path: Path,
) -> None:
    font = emoji_font(tmp_path, VERSIONS["COLR 0"])
    assert not font.face.covers(" ")
    paragraph = Paragraph(f"{SUN} Bo", font)
    for shaped in paragraph.line(0, len(paragraph.segments) - 1).runs:
        assert 0 not in shaped.ids
