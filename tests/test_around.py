"""A cut round all pieces: it keeps off marks, zones and what the cutter does not reach.

Its distances are measured by shapely.
"""

import dataclasses
import re
from pathlib import Path

import numpy as np
import pytest
import shapely

import personalize
from personalize.checks.wall import Expected, check_wall
from personalize.cut_files import expected_of
from personalize.design.design import Design, LineKind
from personalize.errors import InputError, WallError
from personalize.geometry.affine import translation
from personalize.geometry.path import polyline
from personalize.output.cut_dxf import cut_dxf
from personalize.output.cut_svg import cut_svg
from personalize.sheet.clear import parse_clear
from personalize.sheet.cut_layouts import CutLayout, cut_layouts
from personalize.sheet.ink import DieLine
from personalize.sheet.machine import Correction
from personalize.sheet.paper import PaperMargins, parse_paper
from personalize.sheet.plan import Plan
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from personalize.sheet.uncut import CutRules
from tests.conftest import command, drawing, put

ROUND = "M10 4H50A6 6 0 0 1 56 10V30A6 6 0 0 1 50 36H10A6 6 0 0 1 4 30V10A6 6 0 0 1 10 4Z"
TOML = '[lines]\nPartialCutting = "#edge"\n[margins]\nbleed = 2\n'
REACH = PaperMargins(10, 10, 25, 14)


@pytest.fixture(scope="module")
def sticker(tmp_path_factory: pytest.TempPathFactory) -> Design:
    folder = tmp_path_factory.mktemp("sticker")
    edge = f'<path id="edge" d="{ROUND}" fill="#fc9" stroke="#000"/>'
    put(folder, {"sticker.svg": drawing(edge), "sticker.toml": TOML})
    return personalize.load_design(folder / "sticker.toml")


def laid(
    design: Design, rules: SheetRules, mm: float, *, fully: bool = True
) -> tuple[Plan, CutLayout, Expected]:
    """Lay a full sheet out for a cut round its pieces."""
    plan = plan_sheets(design, dataclasses.replace(rules, around_mm=mm), fully=fully)
    cut = CutRules(around_mm=mm)
    (layout,) = cut_layouts(plan, plan.per_sheet, lambda one: cut)
    return plan, layout, expected_of(plan, plan.per_sheet, layout, lambda one: cut)


def proved(layout: CutLayout, expected: Expected) -> None:
    for file, text in (("cut.svg", cut_svg(layout)), ("cut.dxf", cut_dxf(layout))):
        check_wall(text.encode(), file, expected)


ZONES = {
    "marks": (),
    "the zones of the handbook": ("top left 14x14", "bottom right 0,0 30,0 0,30"),
    "two in one corner": ("top left 60x12", "top left 12x60"),
    "a held edge": ("top left 210x20",),
    "part of an edge": ("top left 0,100 24,100 24,150 0,150",),
    "nearly a corner": ("bottom left 8,0 30,0 30,30 8,30",),
    "across a corner": ("bottom right 50,0 70,0 0,70 0,50",),
    "in the middle": ("top left 90,100 120,100 120,130 90,130",),
}


@pytest.mark.parametrize(
    ("mm", "down"), [(0.5, False), (3, False), (8, True)], ids=["near", "usual", "down"]
)
@pytest.mark.parametrize("zones", ZONES.values(), ids=ZONES)
def test_it_keeps_off_every_zone_and_from_every_piece(
    zones: tuple[str, ...], mm: float, sticker: Design, *, down: bool
) -> None:
    paper = parse_paper("A4")
    clear = tuple(parse_clear(words) for words in zones)
    kitchen = Correction(cut=translation(0.6, -0.4))
    rules = SheetRules(
        paper, marks=not zones, clear=clear, face_down=down, correction=kitchen
    )
    # Shapes laid into each other take a second each: once for every zone.
    plan, layout, expected = laid(sticker, rules, mm, fully=mm == 3)
    proved(layout, expected)
    frame = shapely.LinearRing(layout.lines[-1].contour.flattened(0.01))
    for zone in clear:
        kept_free = shapely.Polygon([rules.cut_map(point) for point in zone.on(paper)])
        assert frame.intersection(kept_free.buffer(-1e-6)).is_empty
    for mark in plan.marks:
        corners = shapely.box(*mark.clear_zone).exterior.coords
        kept_free = shapely.Polygon([rules.cut_map(point) for point in corners])
        assert frame.intersection(kept_free.buffer(-1e-6)).is_empty
    whole = shapely.Polygon(frame)
    for at in plan.arrangement.places:
        outline = sticker.outline.transformed(rules.cut_map @ at).flattened(0.01)
        piece = shapely.Polygon(outline)
        assert whole.contains(piece)
        assert frame.distance(piece) > mm - 0.01
    # No straight of it is a hair: it would tear there.
    assert whole.buffer(-0.4).geom_type == "Polygon"


@pytest.mark.parametrize("down", [False, True], ids=["up", "down"])
def test_it_stays_where_the_cutter_reaches(sticker: Design, *, down: bool) -> None:
    margins = PaperMargins(3, 3, 12.7, 3)
    rules = SheetRules(parse_paper("A4"), margins, reach=REACH, face_down=down)
    _, layout, expected = laid(sticker, rules, 6)
    proved(layout, expected)
    x0, y0, x1, y1 = layout.lines[-1].contour.bounds()
    assert x0 >= REACH.left - 1e-6
    assert y0 >= REACH.bottom - 1e-6
    assert 210 - x1 >= REACH.right - 1e-6
    assert 297 - y1 >= REACH.top - 1e-6


def test_what_the_maker_asks_for_is_given_room(tmp_path: Path) -> None:
    edge = f'<path id="edge" d="{ROUND}" fill="#fc9" stroke="#000"/>'
    put(tmp_path, {"sticker.svg": drawing(edge), "sticker.toml": TOML})
    words = ("make", "--design", tmp_path / "sticker.toml", "--count", "30")
    for mm in ("8", "40"):
        done = command(*words, "--around", mm, "--out", tmp_path / "out")
        assert "cut.svg" in done.output
        assert (tmp_path / "out" / "cut.svg").exists()
    none = command(*words, "--around", "100", "--out", tmp_path / "no")
    assert none.exit_code == 2
    assert "a cut 100 mm round the pieces would leave the paper." in none.output


def test_rules_and_words_keep_off_it(sticker: Design) -> None:
    slanted = parse_clear("bottom right 0,0 80,0 0,80")
    for size, mm, clear in (
        *(("A4", mm, ()) for mm in (2, 3, 4)),
        *(("A5", mm, ()) for mm in (2, 3, 4)),
        ("A4 landscape", 3, ()),
        ("A4", 3, (slanted,)),
    ):
        rules = SheetRules(parse_paper(size), marks=not clear, clear=clear)
        plan, layout, _ = laid(sticker, rules, mm)
        frame = shapely.LinearRing(layout.lines[-1].contour.flattened(0.01))
        assert plan.slots is not None
        for box in plan.slots.boxes:
            assert frame.distance(shapely.box(*box)) > 0.5


@pytest.mark.parametrize("way", [(), ("--face-down",)], ids=["up", "down"])
def test_the_proof_shows_it_where_it_is_cut_on_the_printed_side(
    way: tuple[str, ...], tmp_path: Path
) -> None:
    edge = f'<path id="edge" d="{ROUND}" fill="#fc9" stroke="#000"/>'
    put(tmp_path, {"sticker.svg": drawing(edge), "sticker.toml": TOML})
    words = ("make", "--design", tmp_path / "sticker.toml", "--count", "30", *way)
    zone = ("--clear", "bottom right 0,0 80,0 0,80")
    done = command(*words, *zone, "--around", "3", "--out", tmp_path / "out")
    assert done.exit_code in (0, 1), done.output
    proof = (tmp_path / "out" / "proof.html").read_text("utf-8")
    shown = re.findall(r'class="round-all" d="([^"]+)"', proof)
    cut = (tmp_path / "out" / "cut.svg").read_text("utf-8")
    (cutting,) = re.findall(r'(?s)<g id="Cutting".*?</g>', cut)
    (frame,) = re.findall(r'path d="([^"]+)"', cutting)

    def corners(data: str) -> np.ndarray:
        return np.array(re.findall(r"[ML]([\d.]+) ([\d.]+)", data), dtype=float)

    asked = corners(frame)
    asked[:, 1] = 297 - asked[:, 1]
    if way:
        asked[:, 0] = 210 - asked[:, 0]
    assert np.allclose(corners(shown[0]), asked, atol=0.01)
    assert "A full line round all pieces is cut." in proof
    (clear,) = set(re.findall(r'class="clear" d="([^"]+)"', proof))
    assert corners(clear).tolist() == [[210, 0], [130, 0], [210, 80]]
    plain = command(*words, "--out", tmp_path / "out")
    assert plain.exit_code in (0, 1)
    proof = (tmp_path / "out" / "proof.html").read_text("utf-8")
    assert "round all pieces" not in proof
    assert 'class="round-all"' not in proof


def test_a_zone_right_through_the_pieces_is_told(sticker: Design) -> None:
    band = parse_clear("top left 95,0 110,0 110,297 95,297")
    rules = SheetRules(parse_paper("A4"), marks=False, clear=(band,))
    with pytest.raises(InputError, match="a register mark or a clear zone") as told:
        laid(sticker, rules, 3)
    (problem,) = told.value.problems
    assert problem.place == "--around"


def with_frame(layout: CutLayout, *points: tuple[float, float]) -> CutLayout:
    line = DieLine(LineKind.CUTTING, polyline(points, closed=True))
    return dataclasses.replace(layout, lines=(*layout.lines[:-1], line))


@pytest.mark.parametrize("down", [False, True], ids=["up", "down"])
@pytest.mark.parametrize("zones", [(), ("top left 30x30",)])
def test_one_through_a_mark_or_a_zone_is_a_breach(
    zones: tuple[str, ...], sticker: Design, *, down: bool
) -> None:
    clear = tuple(parse_clear(words) for words in zones)
    rules = SheetRules(parse_paper("A4"), marks=not zones, clear=clear, face_down=down)
    _, layout, expected = laid(sticker, rules, 3)
    x0, y0, x1, y1 = layout.lines[-1].contour.bounds()
    box = with_frame(layout, (x0, y0), (x1, y0), (x1, y1), (x0, y1))
    with pytest.raises(WallError, match="through a mark or a clear zone"):
        proved(box, expected)


def test_one_past_what_the_cutter_reaches_is_a_breach(sticker: Design) -> None:
    rules = SheetRules(parse_paper("A4"), reach=REACH)
    _, layout, expected = laid(sticker, rules, 3)
    nearer = dataclasses.replace(expected, reached=(40, 0, 210, 297))
    with pytest.raises(WallError, match="what the cutter reaches"):
        proved(layout, nearer)
