"""Rims round letters and shapes under them, and letters as curves."""

import json
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from numpy.typing import NDArray

import personalize
from personalize.checks.inside import InsideCheck
from personalize.checks.kept import read_pieces
from personalize.errors import InputError, InsideError
from personalize.job import prepare
from personalize.run import Options
from personalize.sheet.paper import Paper
from personalize.sheet.rules import SheetRules
from tests.conftest import EDGE, SAMPLES, drawing, put
from tests.outside import Pdfium

GROUND = '<rect width="60" height="40" fill="#1e8c3c"/>'
TOML = """
[lines]
Cutting = "#edge"
[margins]
bleed = 2
[type]
colour = "#000"
rim = "{rim}"
rim_colour = "#ffe900"
[[panel]]
name = "name"
"""
YELLOW = (255, 233, 0)
RIMS = {"line": 0.6, "soft": 1.5}


def made(folder: Path, rim: str, name: str = "Maeve", **options: bool) -> Path:
    put(
        folder,
        {
            "tag.toml": TOML.format(rim=rim),
            "tag.svg": drawing(GROUND + EDGE),
            "list.csv": f"name\n{name}\n",
        },
    )
    rules = SheetRules(Paper("own", 84.0, 64.0), marks=False, spares=False)
    result = personalize.make(
        personalize.read_table(folder / "list.csv"),
        personalize.load_design(folder / "tag.toml"),
        folder / "out",
        Options(sheets=rules, **options),  # type: ignore[arg-type]
    )
    assert result.made, result.findings
    return folder / "out"


def picture(out: Path, k: float = 20.0) -> NDArray[np.int16]:
    return Pdfium(out / "print.pdf").picture(1, k).astype(np.int16)


def box_of(pixels: NDArray[np.bool_], high_mm: float, k: float) -> list[float]:
    """Box of some pixels in sheet mm, y up."""
    rows, columns = np.where(pixels)
    return [
        columns.min() / k,
        high_mm - (rows.max() + 1) / k,
        (columns.max() + 1) / k,
        high_mm - rows.min() / k,
    ]


@pytest.mark.parametrize("rim", RIMS)
def test_a_rim_reaches_as_far_past_the_ink_as_told(rim: str, tmp_path: Path) -> None:
    out = made(tmp_path, rim)
    (piece,) = json.loads((out / "report.json").read_text("utf-8"))["pieces"]
    (text,) = piece["texts"]
    assert text["rim"] == rim
    yellow = np.abs(picture(out)[..., :3] - YELLOW).max(axis=2) < 30
    found = box_of(yellow, 64.0, 20.0)
    x0, y0, x1, y1 = text["ink_mm"]
    mm = RIMS[rim]
    assert found == pytest.approx([x0 - mm, y0 - mm, x1 + mm, y1 + mm], abs=0.12)
    # The rim counts as ink: it keeps the margin of 2.5 mm from the outline.
    left, bottom = piece["at"][4] + 2 + 2.5, piece["at"][5] + 2 + 2.5
    right, top = left + 56 - 5, bottom + 36 - 5
    assert found[0] >= left - 0.06
    assert found[1] >= bottom - 0.06
    assert found[2] <= right + 0.06
    assert found[3] <= top + 0.06


@pytest.mark.parametrize("rim", RIMS)
def test_words_stand_over_their_rim(rim: str, tmp_path: Path) -> None:
    shown = picture(made(tmp_path, rim))[..., :3]
    plain = picture(made(tmp_path / "plain", "none"))[..., :3]
    black = (shown < 40).all(axis=2).sum()
    assert black > 0
    # Smaller letters, since the rim takes room, and none of them painted over.
    assert 0.4 * (plain < 40).all(axis=2).sum() < black


@pytest.mark.parametrize("rim", RIMS)
def test_a_rim_outside_of_the_safe_zone_is_noticed(rim: str, tmp_path: Path) -> None:
    made(tmp_path, rim)
    design = personalize.load_design(tmp_path / "tag.toml")
    job = prepare(personalize.read_table(tmp_path / "list.csv"), design)
    (text,) = job.composed(job.units[0])
    check = InsideCheck(design)
    check.check(text, 2)
    bare = replace(text, rim=None, soft=())
    assert text.rim is not None
    wider = replace(text.rim, mm=text.rim.mm + 4.0)
    grown = replace(text, rim=wider, soft=())
    check.check(bare, 2)
    with pytest.raises(InsideError):
        check.check(grown, 2)


@pytest.mark.parametrize("name", personalize.sample_names())
@pytest.mark.parametrize("rim", RIMS)
def test_every_sample_keeps_its_margins_with_a_rim(
    rim: str, name: str, tmp_path: Path
) -> None:
    # Each run proves all ink to be inside; a breach would raise.
    toml = (SAMPLES / f"{name}.toml").read_text("utf-8")
    toml = toml.replace("[type]\n", f'[type]\nrim = "{rim}"\nrim_mm = 0.6\n')
    put(tmp_path, {f"{name}.toml": toml})
    (tmp_path / f"{name}.svg").write_bytes((SAMPLES / f"{name}.svg").read_bytes())
    design = personalize.load_design(tmp_path / f"{name}.toml")
    result = personalize.proof(
        personalize.read_table(SAMPLES / "picnic.csv"), design, tmp_path / "out"
    )
    assert result.pieces == 52


def test_light_words_get_a_dark_rim_unless_told(tmp_path: Path) -> None:
    toml = TOML.format(rim="line").replace('rim_colour = "#ffe900"\n', "")
    put(tmp_path, {"tag.toml": toml, "tag.svg": drawing(GROUND + EDGE)})
    rows = tuple(
        personalize.Row(at, ("Io", colour)) for at, colour in ((2, ""), (3, "white"))
    )
    table = personalize.Table(personalize.Source("list"), ("name", "text_colour"), rows)
    job = prepare(table, personalize.load_design(tmp_path / "tag.toml"))
    rims = [job.composed(unit)[0].rim_colour.css for unit in job.units]
    assert rims == ["#ffffff", "#000000"]


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ('rim = "glow"', "rim cannot be 'glow'"),
        ("rim_mm = 0", "rim_mm must be a number from 0.05"),
        ('rim_colour = "plumm"', "is not a solid colour"),
    ],
)
def test_a_wrong_rim_is_told(keys: str, says: str, tmp_path: Path) -> None:
    toml = TOML.format(rim="line").replace('rim = "line"\n', "")
    toml = toml.replace('rim_colour = "#ffe900"\n', f"{keys}\n")
    put(tmp_path, {"tag.toml": toml, "tag.svg": drawing(GROUND + EDGE)})
    with pytest.raises(InputError) as caught:
        personalize.load_design(tmp_path / "tag.toml")
    assert says in caught.value.problems[0].says


def test_a_rim_that_leaves_no_room_is_told(tmp_path: Path) -> None:
    toml = TOML.format(rim="line").replace("rim_colour", "rim_mm = 18\nrim_colour")
    put(tmp_path, {"tag.toml": toml, "tag.svg": drawing(GROUND + EDGE)})
    table = personalize.Table(
        personalize.Source("list"), ("name",), (personalize.Row(2, ("Io",)),)
    )
    with pytest.raises(InputError) as caught:
        personalize.check(table, personalize.load_design(tmp_path / "tag.toml"))
    assert "leaves no room for words" in caught.value.problems[0].says


# ---- Letters as curves ----


def test_curves_look_as_text_does_and_hold_no_font(tmp_path: Path) -> None:
    text = made(tmp_path / "text", "none", "Zoë שרה, 毛")
    drawn = made(tmp_path / "curves", "none", "Zoë שרה, 毛", curves=True)
    one, other = picture(text, 10.0)[..., :3], picture(drawn, 10.0)[..., :3]
    # One grid of pixels: nothing but the smoothing of edges differs.
    assert (np.abs(one - other).max(axis=2) > 110).sum() <= 4
    with pikepdf.open(drawn / "print.pdf") as pdf:
        assert not pdf.pages[0].Resources.Font
    said = subprocess.run(
        ["pdftotext", drawn / "print.pdf", "-"], capture_output=True, check=True
    )
    assert said.stdout.strip() == b""
    (piece,) = read_pieces(drawn / "print.pdf")
    assert piece.texts == (("name", "Zoë שרה, 毛"),)


def test_a_text_that_shows_nothing_is_noticed_among_curves_too(tmp_path: Path) -> None:
    drawn = made(tmp_path, "none", "Io", curves=True) / "print.pdf"
    with pikepdf.open(drawn, allow_overwriting_input=True) as pdf:
        page = pdf.pages[0]
        content = page.Contents.read_bytes()
        head, tag, rest = content.partition(b"/PersonalizeText")
        words, end, tail = rest.partition(b"EMC")
        words = b"\n".join(
            line for line in words.split(b"\n") if not line.endswith((b" f Q", b" Q"))
        )
        page.Contents = pdf.make_stream(head + tag + words + end + tail)
        pdf.save(drawn)
    with pytest.raises(personalize.errors.KeptError, match="shows no glyph"):
        list(read_pieces(drawn))
