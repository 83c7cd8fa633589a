"""Several texts in a panel, where they stand, and text round a ring."""

import json
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from personalize.errors import InputError
from personalize.geometry.affine import IDENTITY, reflection
from personalize.job import Job
from personalize.type.compose import ComposedText
from personalize.type.contain import Shape
from personalize.type.place import WAYS, at_side
from tests.blocks_made import CARD, TWO, design_of, job_of, texts_in, zone
from tests.conftest import command, drawing, line, put
from tests.fit_made import SHAPES, zone_of

FLAG = drawing(line("M2 2H98V38H2Z") + line("M50 2V38", "fold"), 100, 40)
TENT = drawing(line("M2 2H58V98H2Z") + line("M2 50H58", "fold"), 60, 100)
Box = tuple[float, float, float, float]


def ink(text: ComposedText) -> Box:
    box = text.ink_box(IDENTITY)
    assert box is not None
    return box


def test_blocks_stand_in_bands_from_top_to_bottom(tmp_path: Path) -> None:
    design = design_of(tmp_path, CARD, TWO)
    name, seat = (design.panel(f"front / {block}") for block in ("name", "seat"))
    assert (name.of, name.block, seat.of, seat.block) == ("front", "name", "front", "seat")
    # The zone is 51 mm high (56 less 2.5 on each side): 49 without the gap, as 3 to 1.
    (_, low, _, high), (_, low2, _, high2) = name.zone.box, seat.zone.box
    assert high - low == pytest.approx(36.75)
    assert high2 - low2 == pytest.approx(12.25)
    assert low - high2 == pytest.approx(2)
    assert (seat.style.font.name, seat.style.max_pt) == ("Lora Bold", 9)
    assert name.style.font.name == "Nunito Bold"


def test_an_empty_block_leaves_its_band_empty(tmp_path: Path) -> None:
    job = job_of(tmp_path, CARD, TWO, "name,seat\nMaple,Table 4\nMaple,\n")
    both, alone = texts_in(job)
    assert set(both) == {"front / name", "front / seat"}
    assert set(alone) == {"front / name"}
    assert ink(both["front / name"]) == ink(alone["front / name"])
    assert ink(both["front / seat"])[3] < ink(both["front / name"])[1] - 2


@pytest.mark.parametrize("svg", [FLAG, TENT], ids=["flag", "tent"])
def test_blocks_of_facing_panels_lie_back_to_back_in_one_size(
    svg: str, tmp_path: Path
) -> None:
    at, back = ("[75, 20]", "[25, 20]") if svg is FLAG else ("[30, 75]", "[30, 25]")
    toml = TWO.replace("[75, 20]", at).replace("gap", 'faces = "back"\ngap')
    toml += f'[[panel]]\nname = "back"\nat = {back}\n'
    job = job_of(tmp_path, svg, toml, "name,seat\nMaple,Table 4\nWilhelmina Lacey,A\n")
    design = job.design
    assert [panel.name for panel in design.panels] == [
        "front / name", "front / seat", "back / name", "back / seat"
    ]  # fmt: skip
    crease = reflection(*((50, 2), (50, 38)) if svg is FLAG else ((2, 50), (58, 50)))
    for texts in texts_in(job):
        for block in ("name", "seat"):
            front, other = texts[f"front / {block}"], texts[f"back / {block}"]
            assert front.size_pt == other.size_pt
            mirrored = design.panel(front.panel).zone.mapped(crease)
            faced = zone(design, other.panel)
            shape = shapely.Polygon(mirrored.outer)
            assert shape.symmetric_difference(faced).area < 1e-6
            x0, y0, x1, y1 = ink(front)
            corners = crease.many(np.array([(x0, y0), (x1, y1)]))
            got = np.array(ink(other)).reshape(2, 2)
            # Centred ink lies behind centred ink.
            assert np.abs(np.sort(corners, axis=0) - got).max() < 2e-3


def test_the_report_names_panel_and_block(tmp_path: Path) -> None:
    table = "name,seat\nMaple,Table 4\n" + "Wilhelmina" * 12 + ",B\n"
    put(tmp_path, {"guests.csv": table})
    design_of(tmp_path, CARD, TWO)
    done = command("make", tmp_path / "guests.csv", "--design", tmp_path / "kit.toml",
                   "--out", tmp_path / "out", "--leave-out-faulty")  # fmt: skip
    assert done.exit_code == 1
    assert "row 3, panel front, block name: 'Wilhelmina" in done.output
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    texts = report["pieces"][0]["texts"]
    assert [(t["panel"], t["block"]) for t in texts] == [
        ("front", "name"),
        ("front", "seat"),
    ]
    (error,) = [f for f in report["findings"] if f["severity"] == "error"]
    assert (error["panel"], error["block"], error["column"]) == ("front", "name", "name")
    places = [place for one in report["sizes"] for place in one["places"]]
    assert {"panel": "front", "block": "seat"} in places


def test_a_starter_asks_for_the_columns_of_all_blocks(tmp_path: Path) -> None:
    design_of(tmp_path, CARD, TWO)
    to = tmp_path / "guests.xlsx"
    done = command("starter", tmp_path / "kit.toml", "--out", to)
    assert done.exit_code == 0
    assert "name" in done.output
    assert "seat" in done.output
    assert "front / seat" in done.output


@pytest.mark.parametrize(
    ("toml", "says"),
    [
        ('text = "x"\n[[panel.block]]\nname = "b"\n',
         "kit.toml, line 7: a panel with blocks has no text of its own."),
        ('[[panel.block]]\nname = "b"\n[[panel.block]]\nname = "b"\n',
         "kit.toml, line 10: two blocks of a panel are called 'b'."),
        ("[[panel.block]]\nshare = 2\n", "a block has no name."),
        ("gap = 2\n", "gap is the distance between blocks"),
        ('[[panel.block]]\nname = "b"\nshare = 0\n', "share must be"),
        ('gap = 90\n[[panel.block]]\nname = "b"\n[[panel.block]]\nname = "c"\n',
         "block 'b' has no room for text."),
        ("ring = 3\n", "ring must be a table."),
        ("ring = { radios = 3 }\n", "there is no key radios in a ring."),
        ('ring = { reading = "up" }\n', "reading cannot be 'up'."),
        ("ring = { centre = [200, 9] }\n", "lies outside the safe zone"),
        ('[[panel.block]]\nname = "b"\nring = {}\n[[panel.block]]\nname = "c"\nring = {}\n',
         "the rings of blocks 'b' and 'c' overlap."),
        ('align = "toward-crease"\n', "panel 'a' has no crease"),
        ('[[panel.block]]\nname = "a / b"\n', "holds a stroke between spaces."),
    ],
)  # fmt: skip
def test_a_wrong_block_or_ring_is_told_in_one_sentence(
    toml: str, says: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError) as error:
        design_of(tmp_path, CARD, f'[[panel]]\nname = "a"\n{toml}')
    assert says in str(error.value)


# Alignment -----------------------------------------------------------------------------


def aligned(folder: Path, svg: str, align: str, sizes: str = "same") -> Job:
    at, back = ("[75, 20]", "[25, 20]") if svg is FLAG else ("[30, 75]", "[30, 25]")
    toml = (
        f'[type]\nalign = "{align}"\nmax_pt = 14\nmax_lines = 2\nsizes = "{sizes}"\n'
        f'[[panel]]\nname = "front"\nat = {at}\nfaces = "back"\n'
        f'[[panel]]\nname = "back"\nat = {back}\n'
    )
    return job_of(folder, svg, toml, "front,back\nMaple,\nIo,\nפלום,\nOna gypsy,\n")


@pytest.mark.parametrize(("align", "near"), [("toward-crease", True),
                                             ("away-from-crease", False)])  # fmt: skip
def test_text_toward_the_crease_of_a_flag_is_mirrored_by_itself(
    align: str, near: bool, tmp_path: Path
) -> None:
    for texts in texts_in(aligned(tmp_path, FLAG, align)):
        front, back = ink(texts["front"]), ink(texts["back"])
        # Safe zones: 52 to 95.5 and 4.5 to 48.
        assert (front[0] if near else front[2]) == pytest.approx(52 if near else 95.5)
        assert (back[2] if near else back[0]) == pytest.approx(48 if near else 4.5)
        assert front[1] == pytest.approx(back[1])


@pytest.mark.parametrize("align", ["toward-crease", "away-from-crease"])
def test_text_toward_a_level_crease_stands_up_or_down(align: str, tmp_path: Path) -> None:
    tops, bottoms = set(), set()
    design = aligned(tmp_path, TENT, align).design
    for texts in texts_in(aligned(tmp_path, TENT, align)):
        front = texts["front"]
        x0, low, x1, high = ink(front)
        assert (x0 + x1) / 2 == pytest.approx(30, abs=1e-3)
        _, floor, _, ceiling = design.panel("front").zone.box
        # A capital's height or a tail's depth from the edge of the zone, and no more.
        room = 0.3 * front.size_mm
        assert (ceiling - high < room) if align == "toward-crease" else (low - floor < room)
        if front.text.isascii():
            tops.add(round(front.lines[0].origin[1], 6))
            bottoms.add(round(front.lines[-1].origin[1], 6))
        a, b, c, d = ink(texts["back"])
        assert (b, d) == pytest.approx((100 - high, 100 - low), abs=1e-3)
        assert (a + c) / 2 == pytest.approx(30, abs=1e-3)
    # Latin names of a set stand on one line, whether they have tails or capitals.
    assert len(tops if align == "toward-crease" else bottoms) == 1


@pytest.mark.parametrize("align", ["start", "end"])
def test_start_and_end_stand_at_the_edge_where_the_words_start_or_end(
    align: str, tmp_path: Path
) -> None:
    pieces = texts_in(aligned(tmp_path, FLAG, align))
    for row, texts in enumerate(pieces):
        left = (align == "start") != (row == 2)  # row 2 is Hebrew
        for name, low, high in (("front", 52, 95.5), ("back", 4.5, 48)):
            box = ink(texts[name])
            assert (box[0] if left else box[2]) == pytest.approx(low if left else high)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), side=st.sampled_from(["left", "right", "top", "bottom"]))
def test_at_a_side_nothing_larger_than_the_ink_could_stand_farther_out(
    seed: int, side: str
) -> None:
    rng = np.random.default_rng(seed)
    name = list(SHAPES)[seed % len(SHAPES)]
    region = SHAPES[name]
    polygon = zone_of(region).polygon
    corners = rng.uniform(-6, 6, (2, 2))
    block = np.hstack([corners, corners + rng.uniform(0.5, 8, (2, 2))])
    x0, y0, x1, y1 = polygon.bounds
    at = rng.uniform((x0, y0), (x1, y1))
    found = at_side(Shape(region), block, 1.0, tuple(at.tolist()), side)
    way = np.array(WAYS[side])
    fits = []
    for step in np.arange(-90, 90, 0.25):
        place = at + step * way
        boxes = [shapely.box(*(box + np.tile(place, 2))) for box in block]
        fits.append(all(map(polygon.covers, boxes)))
    steps = np.arange(-90, 90, 0.25)[fits]
    if found is None:
        assert len(steps) == 0
        return
    reach = float((np.array(found) - at) @ way)
    for box in block:
        moved = shapely.box(*(box + np.tile(found, 2)))
        assert polygon.buffer(1e-6).covers(moved)
    assert not len(steps) or steps.max() <= reach + 1e-6
