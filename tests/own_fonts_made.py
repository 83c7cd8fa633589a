"""What the tests of own fonts share."""

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from fontTools.ttLib import TTFont

import personalize
from personalize.errors import InputError
from personalize.fonts.catalogue import Font
from personalize.messages.table import Row, Source, Table
from tests.conftest import drawing
from tests.fonts_made import (
    NUNITO,
    boxes_font,
    plain_letters,
    saved,
    variable,
)

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


# Variable fonts ------------------------------------------------------------------------


def width_em(font: Font, letter: str) -> float:
    gid = font.face.nominal(letter)
    assert gid
    box = font.face.ink(gid)
    assert box is not None
    return box[2] - box[0]
