"""Print and cut laid over each other, as they come out on paper: edges agree to a pixel.

print.pdf is drawn by pdfium; cut.svg and what ezdxf reads of cut.dxf by resvg. Machines
with faults are simulated, so that what is compared is the sheet in the maker's hands.
"""

import io
import re
from dataclasses import replace
from itertools import product
from pathlib import Path

import ezdxf
import ezdxf.path
import numpy as np
import pypdfium2
import pytest
import resvg_py
from numpy.typing import NDArray
from PIL import Image

import personalize
from personalize import sharing
from personalize.cut_only import counted_table, without_words
from personalize.design.design import Design
from personalize.geometry.affine import rotation, translation
from personalize.sheet.boxes import Arrangement
from personalize.sheet.machine import Machine
from personalize.sheet.paper import Paper, parse_paper
from personalize.sheet.plan import Plan
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from tests.conftest import drawing, put

PX_PER_MM = 300 / 25.4
FAULTY = Machine(
    "kitchen",
    print_scale=(1.008, 0.994),
    print_shift_mm=(0.9, -0.6),
    cut_shift_mm=(-0.5, 0.8),
)
TRUE = Machine("true")
FLIPS = ("plain", "mirror", "face down")
CASES = [
    *product(("Letter", "150x150mm"), FLIPS, (FAULTY,)),
    ("A4", "face down", TRUE),
    ("A4 landscape", "mirror", FAULTY),
    ("Letter", "mirror, face down", FAULTY),
]
# Unlike its own mirror image and all its turns, with a curve and a hole.
SHAPE = "M5 5H55V14H24C24 26 18 35 5 35Z"
AREA_MM2 = 776.4 - np.pi * 9
"""Of the shape, by quadrature of its curve, less the hole."""
HOLE = "M12 12a3 3 0 1 0 6 0a3 3 0 1 0 -6 0Z"
Mask = NDArray[np.bool_]


@pytest.fixture(scope="module")
def design(tmp_path_factory: pytest.TempPathFactory) -> Design:
    folder = tmp_path_factory.mktemp("overlay")
    drawn = f'<path d="{SHAPE}{HOLE}" fill="#000" fill-rule="evenodd"/>'
    for name, path in (("edge", SHAPE), ("hole", HOLE)):
        drawn += f'<path id="{name}" d="{path}" fill="none" stroke="#f0f"/>'
    toml = '[lines]\nCutting = "#edge, #hole"\n[margins]\nbleed = 2\n'
    put(folder, {"ell.svg": drawing(drawn), "ell.toml": toml})
    return without_words(personalize.load_design(folder / "ell.toml"))


def middles(sheet: Paper) -> list[tuple[float, float]]:
    shares = (0.29, 0.71)
    return [(sheet.width_mm * x, sheet.height_mm * y) for y in shares for x in shares]


def pieces(mask: Mask, sheet: Paper) -> Mask:
    """Cut out where the pieces are, and 0.8 mm round them: shape (4, side, side)."""
    half = round(25.8 * PX_PER_MM)
    out = []
    for x, y in middles(sheet):
        column, row = round(x * PX_PER_MM), round((sheet.height_mm - y) * PX_PER_MM)
        out.append(mask[row - half : row + half, column - half : column + half])
    return np.stack(out)


def every_turn(design: Design, rules: SheetRules, **how: bool) -> Plan:
    """Lay four pieces on the sheet, each in a turn of its own."""
    plan = plan_sheets(design, rules, **how)
    x0, y0, x1, y1 = design.box_mm
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    places, boxes = [], []
    for turn, at in zip((0, 90, 180, 270), middles(rules.paper), strict=True):
        place = translation(*at) @ rotation(turn) @ rules.piece_map
        places.append(place @ translation(-middle[0], -middle[1]))
        half = (25, 15) if turn % 180 == 0 else (15, 25)
        boxes.append((at[0] - half[0], at[1] - half[1], at[0] + half[0], at[1] + half[1]))
    laid = Arrangement(tuple(places), tuple(boxes))
    # No slug: room for it was sought beside other places.
    return replace(plan, arrangement=laid, roomier=None, slots=None)


@pytest.mark.parametrize(("paper", "flip", "machine"), CASES)
def test_print_and_cut_agree_to_a_pixel(
    paper: str,
    flip: str,
    machine: Machine,
    design: Design,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sharing, "plan_sheets", every_turn)
    sheet = parse_paper(paper)
    rules = SheetRules(
        sheet,
        spares=False,
        marks=False,
        mirror="mirror" in flip,
        face_down="face down" in flip,
        correction=machine.correction,
    )
    options = personalize.Options(rules, also=frozenset({"dxf"}), proof=False)
    made = personalize.make(counted_table(4), design, tmp_path / "out", options)
    assert (made.made, made.sheets) == (True, 1), made.findings
    ink = printed(tmp_path / "out" / "print.pdf", sheet, machine)
    svg = cut_svg((tmp_path / "out" / "cut.svg").read_text("utf-8"), sheet, machine)
    dxf = cut_dxf(tmp_path / "out" / "cut.dxf", sheet, machine)
    ink = pieces(ink, sheet)
    for lines in (svg, dxf):
        whole = lines[:, ::-1] if "face down" in flip else lines
        cut = pieces(whole, sheet)
        assert cut.sum() == whole.sum()
        assert cut.sum() == pytest.approx(4 * AREA_MM2 * PX_PER_MM**2, rel=0.002)
        assert agree(ink, cut)
        # Two pixels off, or turned over, they do not.
        assert not agree(ink, np.roll(cut, 2, axis=1))
        assert not agree(ink, cut[:, ::-1])


def size_px(sheet: Paper) -> tuple[int, int]:
    return round(sheet.width_mm * PX_PER_MM), round(sheet.height_mm * PX_PER_MM)


def printed(pdf: Path, sheet: Paper, machine: Machine) -> Mask:
    """Give the ink on paper, from the top left, as a printer with these faults lays it."""
    fine = 2.0
    document = pypdfium2.PdfDocument(pdf)
    drawn = document[0].render(scale=fine * 300 / 72, grayscale=True).to_numpy()
    wide, high = size_px(sheet)
    x = (np.arange(wide) + 0.5) / PX_PER_MM
    y = sheet.height_mm - (np.arange(high) + 0.5) / PX_PER_MM
    # paper = scale * file + shift, as the ruler sheet has it.
    file_x = (x - machine.print_shift_mm[0]) / machine.print_scale[0]
    file_y = (y - machine.print_shift_mm[1]) / machine.print_scale[1]
    columns = np.floor(file_x * PX_PER_MM * fine).astype(int)
    rows = np.floor((sheet.height_mm - file_y) * PX_PER_MM * fine).astype(int)
    drawn = drawn.reshape(drawn.shape[:2])
    inked = drawn[np.clip(rows, 0, drawn.shape[0] - 1)]
    return inked[:, np.clip(columns, 0, drawn.shape[1] - 1)] < 128


def cut_svg(svg: str, sheet: Paper, machine: Machine) -> Mask:
    """Give what lies inside the lines of the file, as a cutter with these faults cuts."""
    assert f'viewBox="0 0 {sheet.width_mm:g} {sheet.height_mm:g}"' in svg
    right, up = machine.cut_shift_mm
    box = f'viewBox="{-right} {up} {sheet.width_mm} {sheet.height_mm}"'
    return filled(re.findall(r'<path[^>]* d="([^"]*)"', svg), box, sheet)


def cut_dxf(path: Path, sheet: Paper, machine: Machine) -> Mask:
    """Give the same of the DXF."""
    right, up = machine.cut_shift_mm
    lines = []
    for entity in ezdxf.readfile(path).modelspace():
        steps = ezdxf.path.make_path(entity).flattening(0.005)
        ring = " ".join(f"{p.x:.5f},{sheet.height_mm - p.y:.5f}" for p in steps)
        lines.append(f"M{ring}Z")
    box = f'viewBox="{-right} {up} {sheet.width_mm} {sheet.height_mm}"'
    return filled(lines, box, sheet)


def filled(lines: list[str], box: str, sheet: Paper) -> Mask:
    assert len(lines) == 8  # four outlines, four holes
    wide, high = size_px(sheet)
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" {box}'
    svg += ' preserveAspectRatio="none"><path fill-rule="evenodd"'
    drawn = resvg_py.svg_to_bytes(svg_string=f'{svg} d="{"".join(lines)}"/></svg>')
    return np.asarray(Image.open(io.BytesIO(bytes(drawn))).getchannel("A")) >= 128


def grown(mask: Mask) -> Mask:
    """Grow by a pixel in all eight directions."""
    out = mask.copy()
    out[:, 1:] |= mask[:, :-1]
    out[:, :-1] |= mask[:, 1:]
    wide = out.copy()
    wide[:, :, 1:] |= out[:, :, :-1]
    wide[:, :, :-1] |= out[:, :, 1:]
    return wide


def agree(one: Mask, other: Mask) -> bool:
    """Whether no edge of the one is further than a pixel from the other's."""
    pairs = ((one, other), (other, one), (~one, ~other), (~other, ~one))
    return not any((inner & ~grown(outer)).any() for inner, outer in pairs)
