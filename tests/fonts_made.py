"""Fonts made on the spot with fontTools, for tests that need an odd one."""

import io
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from fontTools.designspaceLib import (
    AxisDescriptor,
    DesignSpaceDocument,
    InstanceDescriptor,
    SourceDescriptor,
)
from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTCollection, TTFont
from fontTools.varLib import build as build_variable

from tests.conftest import ROOT

EM = 1000
NUNITO = ROOT / "fonts_open" / "nunito" / "Nunito-Bold.ttf"
LETTERS = "AaxH ő\u030b\u0301o"


def box(pen: Any, x0: float, y0: float, x1: float, y1: float) -> None:
    pen.moveTo((x0, y0))
    pen.lineTo((x1, y0))
    pen.lineTo((x1, y1))
    pen.lineTo((x0, y1))
    pen.closePath()


def boxes_font(
    letters: Mapping[str, tuple[float, float, float, float] | None],
    *,
    name: str = "Plum Boxes",
    style: str = "Regular",
    advances: Mapping[str, int] | None = None,
    cff: bool = False,
    features: str = "",
    colours: Mapping[str, Any] | None = None,
    fs_type: int = 0,
) -> TTFont:
    """Make a font whose letters are boxes (font units, x0 y0 x1 y1), or blank."""
    names = {c: f"u{ord(c):04X}" for c in letters}
    widths = {names[c]: (advances or {}).get(c, 600) for c in letters}
    builder = FontBuilder(EM, isTTF=not cff)
    builder.setupGlyphOrder([".notdef", *names.values()])
    builder.setupCharacterMap({ord(c): n for c, n in names.items()})
    drawn: dict[str, Any] = {}
    for glyph, shape in {
        ".notdef": (50, 0, 450, 700),
        **{names[c]: b for c, b in letters.items()},
    }.items():
        pen = T2CharStringPen(widths.get(glyph, 500), None) if cff else TTGlyphPen(None)
        if shape is not None:
            box(pen, *shape)
        drawn[glyph] = pen.getCharString() if cff else pen.glyph()
    if cff:
        builder.setupCFF(name.replace(" ", ""), {"FullName": name}, drawn, {})
    else:
        builder.setupGlyf(drawn)
    lefts = {names[c]: int(b[0]) for c, b in letters.items() if b}
    builder.setupHorizontalMetrics(
        {
            g: (widths.get(g, 500), lefts.get(g, 50 if g == ".notdef" else 0))
            for g in [".notdef", *names.values()]
        }
    )
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable(
        {
            "familyName": name,
            "styleName": style,
            "fullName": f"{name} {style}",
            "psName": f"{name}-{style}".replace(" ", ""),
        }
    )
    builder.setupOS2(sTypoAscender=800, usWinAscent=800, usWinDescent=200, fsType=fs_type)
    builder.setupPost()
    if colours is not None:
        builder.setupCPAL([[(0.8, 0, 0, 1), (0, 0, 0.8, 1), (0, 0.6, 0, 0.5)]])
        builder.setupCOLR(dict(colours))
    if features:
        addOpenTypeFeaturesFromString(builder.font, features)
    font: TTFont = builder.font
    return font


def plain_letters() -> dict[str, tuple[float, float, float, float] | None]:
    """Give capitals, small letters and a space, each a box of its own width."""
    out: dict[str, tuple[float, float, float, float] | None] = {" ": None}
    for i in range(26):
        out[chr(65 + i)] = (40, 0, 300 + 10 * i, 700)
        out[chr(97 + i)] = (40, 0, 250 + 10 * i, 480)
    return out


def saved(font: TTFont) -> bytes:
    out = io.BytesIO()
    font.save(out, reorderTables=None)
    return out.getvalue()


def altered(change: Callable[[TTFont], None], path: Path = NUNITO) -> bytes:
    """Give a copy of a font file, changed."""
    font = TTFont(path, recalcTimestamp=False)
    change(font)
    return saved(font)


def variable(path: Path, *, cff: bool = False) -> None:
    """Write a variable font: weight from 100 to 900, its boxes 200 to 500 wide.

    Its outlines are CFF2 if `cff`, else TrueType.
    """
    document = DesignSpaceDocument()
    document.addAxis(
        AxisDescriptor(name="Weight", tag="wght", minimum=100, default=100, maximum=900)
    )
    for weight, wide in ((100, 200), (900, 500)):
        letters = {
            c: b and (b[0], b[1], b[0] + wide, b[3]) for c, b in plain_letters().items()
        }
        master = path.with_name(f"master{weight}.{'otf' if cff else 'ttf'}")
        boxes_font(
            letters, name="Plum Vary", advances=dict.fromkeys(letters, wide + 100), cff=cff
        ).save(master)
        source = SourceDescriptor(path=str(master), location={"Weight": weight})
        source.familyName, source.styleName = "Plum Vary", "Thin"
        document.addSource(source)
    for name, weight in (("Thin", 100), ("Middle", 500), ("Thick", 900)):
        document.addInstance(
            InstanceDescriptor(
                familyName="Plum Vary", styleName=name, location={"Weight": weight}
            )
        )
    font, _, _ = build_variable(document)
    font.save(path)


def collection(path: Path) -> None:
    """Write a collection of two fonts: Plum One (narrow) and Plum Two (wide)."""
    out = TTCollection()
    for name, wide in (("Plum One", 200), ("Plum Two", 480)):
        letters = {
            c: b and (b[0], b[1], b[0] + wide, b[3]) for c, b in plain_letters().items()
        }
        out.fonts.append(TTFont(io.BytesIO(saved(boxes_font(letters, name=name)))))
    out.save(path)
