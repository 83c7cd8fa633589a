"""Marks and cut as the sheet lies before the cutter: mirrored, face down, both, neither.

print.pdf is drawn by pdfium, marks.svg and cut.svg by resvg, both as they come out on
machines with faults, and laid over each other.
"""

import io
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import resvg_py
from PIL import Image

from personalize.geometry.affine import Affine
from personalize.sheet.machine import Machine, written
from personalize.sheet.paper import parse_paper
from tests.conftest import command, drawing, put
from tests.test_overlay import FAULTY, SHAPE, Mask, printed, size_px

PAPER = parse_paper("Letter")
WAYS = {
    "plain": (),
    "mirror": ("--mirror",),
    "down": ("--face-down",),
    "both": ("--mirror", "--face-down"),
}
# Unlike their own mirror image, on a sheet of 215.9 x 279.4 mm.
OWN = '<circle cx="20" cy="22" r="4"/><path d="M185 240H205M185 240V260M40 18H52"/>'
TRUE = Machine("true")


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("lying")
    shape = f'<path id="edge" d="{SHAPE}" fill="#000" stroke="#000" stroke-width="0.01"/>'
    own = f'<g fill="none" stroke="#000">{OWN}</g>'
    put(
        folder,
        {
            "ell.svg": drawing(shape),
            "ell.toml": '[lines]\nCutting = "#edge"\n[margins]\nbleed = 0\n',
            "own.svg": drawing(own, 215.9, 279.4),
            "faulty.toml": written(FAULTY),
        },
    )
    return folder


def made(desk: Path, *more: str | Path) -> Path:
    out = desk / "out"
    done = command(
        *("make", "--design", desk / "ell.toml", "--count", "3", "--paper", "Letter"),
        *("--also", "marks", "--no-proof", "--out", out, *more),
    )
    assert done.exit_code == 0, done.output
    return out


def drawn(inside: str, right: float = 0.0, up: float = 0.0, channel: str = "A") -> Mask:
    """Give what is drawn of an SVG's inside, or dark, moved right and up on the sheet."""
    wide, high = size_px(PAPER)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}"'
        f' viewBox="{-right} {up} {PAPER.width_mm} {PAPER.height_mm}"'
        f' preserveAspectRatio="none">{inside}</svg>'
    )
    data = resvg_py.svg_to_bytes(svg_string=svg)
    picture = Image.open(io.BytesIO(bytes(data)))
    if channel == "A":
        return np.asarray(picture.getchannel("A")) >= 128
    return np.asarray(picture.convert("L")) < 128


def inside_of(file: Path) -> str:
    return re.sub(r"(?s)^.*?<svg[^>]*>|</svg>\s*$", "", file.read_text("utf-8"))


def at_the_cutter(out: Path, machine: Machine) -> tuple[Mask, Mask]:
    """Marks where they are looked for, and what is cut out, as the blade goes."""
    cut = inside_of(out / "cut.svg").replace('fill="none"', 'fill="#000"')
    return drawn(inside_of(out / "marks.svg")), drawn(cut, *machine.cut_shift_mm)


def on_ink(lines: Mask, ink: Mask) -> float:
    """Share of what is drawn that lies on ink, or within two pixels (0.17 mm) of it."""
    for axis in (0, 1):
        ink = np.logical_or.reduce([np.roll(ink, by, axis) for by in range(-2, 3)])
    return float((lines & ink).sum() / lines.sum())


@pytest.mark.parametrize(
    ("way", "marks"),
    [*((way, "own") for way in WAYS), ("both", "crosses"), ("down", "corners")],
)
def test_marks_and_cut_lie_as_the_print_does_before_the_cutter(
    way: str, marks: str, desk: Path
) -> None:
    looks = desk / "own.svg" if marks == "own" else marks
    record = ("--machine", desk / "faulty.toml")
    out = made(desk, "--marks", looks, *record, *WAYS[way])
    ink = printed(out / "print.pdf", PAPER, FAULTY)
    if "--face-down" in WAYS[way]:
        ink = ink[:, ::-1]
    seen, cut = at_the_cutter(out, FAULTY)
    assert on_ink(seen, ink) > 0.99
    assert on_ink(cut, ink) > 0.99
    # The pieces, and the maker's own marks, are unlike their mirror image.
    assert on_ink(cut[:, ::-1], ink) < 0.95
    if marks == "own":
        assert on_ink(seen[:, ::-1], ink) < 0.5


@pytest.mark.parametrize("way", WAYS)
def test_the_report_leads_from_the_paper_to_both_files(way: str, desk: Path) -> None:
    record = ("--machine", desk / "faulty.toml")
    out = made(desk, *record, "--marks", desk / "own.svg", *WAYS[way])
    report: dict[str, Any] = json.loads((out / "report.json").read_text("utf-8"))
    # Places are those of the printed side, whichever way the sheet is cut.
    assert report["marks"][0]["centre_mm"] == pytest.approx([20, 279.4 - 22])
    found = re.search(r'<circle cx="([\d.]+)" cy="([\d.]+)"', inside_of(out / "marks.svg"))
    assert found
    down = "--face-down" in WAYS[way]
    assert [float(v) for v in found.groups()] == pytest.approx(
        [215.9 - 20 if down else 20, 22]
    )
    right, up = FAULTY.cut_shift_mm
    flip = [-1, 0, 0, 1, 215.9 - right, -up] if down else [1, 0, 0, 1, -right, -up]
    assert report["correction"]["cut"] == pytest.approx(flip)
    to_cut = Affine(*report["correction"]["cut"])
    corners = [to_cut @ Affine(*piece["at"]) for piece in report["pieces"]]
    starts = re.findall(r"[ML]([\d.]+) ([\d.]+)", inside_of(out / "cut.svg"))
    points = np.array(starts, dtype=float)
    for at in corners:
        # The corner of the design at (55, 35) mm from its lower left.
        x, y = at((55, 35))
        assert np.hypot(*(points - [x, 279.4 - y]).T).min() < 0.01


@pytest.mark.parametrize("way", ["plain", "mirror"])
def test_the_picture_of_print_and_cut_together_has_the_marks_of_both(
    way: str, desk: Path
) -> None:
    out = made(desk, "--also", "together", "--marks", desk / "own.svg", *WAYS[way])
    # Without its lines, which would lie on themselves.
    picture = re.sub(r"(?s)<g .*?</g>", "", inside_of(out / "together-1.svg"))
    white = '<rect width="300" height="300" fill="#fff"/>'
    dark = drawn(white + picture, channel="L")
    marks, cut = at_the_cutter(out, TRUE)
    assert on_ink(marks, dark) > 0.99
    assert on_ink(cut, dark) > 0.99
    assert on_ink(marks[:, ::-1], dark) < 0.5
