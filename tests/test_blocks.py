"""Several texts in a panel, where they stand, and text round a ring."""

import json
import math
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import personalize
from personalize.checks.inside import InsideCheck, outline_points
from personalize.design.design import Design, Panel, Ring
from personalize.errors import InputError, InsideError
from personalize.fonts.catalogue import catalogue, find_font
from personalize.geometry.affine import IDENTITY, reflection, translation
from personalize.job import Job, prepare
from personalize.type.compose import ComposedText
from personalize.type.contain import Shape
from personalize.type.place import WAYS, at_side
from personalize.type.ring import RingFitting, parts_of
from personalize.type.shape import Paragraph
from tests.conftest import command, drawing, line, put
from tests.outside import Pdfium
from tests.test_fit import SHAPES, zone_of

CARD = drawing(line("M2 2H98V58H2Z"), 100, 60)
FLAG = drawing(line("M2 2H98V38H2Z") + line("M50 2V38", "fold"), 100, 40)
TENT = drawing(line("M2 2H58V98H2Z") + line("M2 50H58", "fold"), 60, 100)
LID = drawing(
    '<circle id="edge" cx="30" cy="30" r="28" fill="none" stroke="#000"/>', 60, 60
)
ARCH = drawing(line("M2 90V32A28 28 0 0 1 58 32V90Z"), 60, 92)
HEAD = '[margins]\nbleed = 0\n[lines]\nCutting = "#edge"\nCreasing = "#fold"\n'
NUNITO = find_font("Nunito Bold", Path(), "test")
Box = tuple[float, float, float, float]


def design_of(folder: Path, svg: str, toml: str) -> Design:
    head = HEAD if "fold" in svg else HEAD.replace('Creasing = "#fold"\n', "")
    put(folder, {"kit.svg": svg, "kit.toml": head + toml})
    return personalize.load_design(folder / "kit.toml")


def job_of(folder: Path, svg: str, toml: str, table: str) -> Job:
    put(folder, {"guests.csv": table})
    design = design_of(folder, svg, toml)
    return prepare(personalize.read_table(folder / "guests.csv"), design)


def texts_in(job: Job) -> list[dict[str, ComposedText]]:
    """Texts of every piece by their place, each proved to be inside."""
    check = InsideCheck(job.design)
    out = []
    for unit in job.units:
        texts = job.composed(unit)
        for text in texts:
            check.check(text, unit.message.row)
        out.append({text.panel: text for text in texts})
    return out


def ink(text: ComposedText) -> Box:
    box = text.ink_box(IDENTITY)
    assert box is not None
    return box


def zone(design: Design, name: str) -> Any:
    region = design.panel(name).zone
    return shapely.Polygon(region.outer, region.holes)


# Blocks --------------------------------------------------------------------------------

TWO = """
[[panel]]
name = "front"
at = [75, 20]
gap = 2
[[panel.block]]
name = "name"
text = "{name}"
share = 3
[[panel.block]]
name = "seat"
text = "{seat}"
font = "Lora Bold"
colour = "#225522"
max_pt = 9
"""


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


# Rings ---------------------------------------------------------------------------------


def ring_of(*, outward: bool, most: float = 300) -> Ring:
    return Ring((0.0, 0.0), 14, 20, outward, 0.0 if outward else 180.0, most)


def bent_boxes(fitting: RingFitting, size: float) -> np.ndarray:
    """Corners of every part's ink box, by the parts' own turns: shape (n, 4, 2)."""
    out = []
    for shaped, (x, y), turn in fitting.at(size):
        assert shaped.ink is not None
        x0, y0, x1, y1 = (v * size for v in shaped.ink)
        angle = math.radians(turn)
        by = np.array(
            [[math.cos(angle), math.sin(angle)], [-math.sin(angle), math.cos(angle)]]
        )
        out.append(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]) @ by + (x, y))
    return np.array(out)


def is_inside(boxes: np.ndarray, ring: Ring, give: float) -> bool:
    """Whether all boxes lie between the circles and within the angle; asked of shapely."""
    centre = shapely.Point(ring.centre)
    polygons = shapely.polygons(boxes)
    far = np.hypot(*(boxes.reshape(-1, 2) - ring.centre).T).max()
    near = shapely.distance(polygons, centre).min()
    way = np.degrees(np.arctan2(*(boxes.reshape(-1, 2) - ring.centre).T)) - ring.middle_deg
    way = (way + 180) % 360 - 180
    return bool(
        far <= ring.outer_mm + give
        and near >= ring.inner_mm - give
        and np.ptp(way) <= ring.most_deg + math.degrees(give / ring.inner_mm)
    )


WORDS = ("Io", "Plum cake", "Maeve O'Dwyer-Lacey", "gypsy Ćma", "Æsudóttir", "Дарина",
         "Ελευθερία", "Thuỳ Nguyễn", "मीनाक्षी फूलवती", "سلمى النعناعي", "נועה גן",
         "梅園さくら", "ดอกแก้ว", "Wilhelmina Featherstone-Castellanos")  # fmt: skip


@pytest.mark.parametrize("outward", [True, False])
@pytest.mark.parametrize("most", [60, 140, 300])
@pytest.mark.parametrize("words", WORDS)
def test_the_text_of_a_ring_is_as_large_as_the_ring_allows(
    words: str, most: float, outward: bool
) -> None:
    ring = ring_of(outward=outward, most=most)
    fitting = RingFitting(Paragraph(words, NUNITO), ring, "centre", math.inf)
    size = fitting.largest()
    assert is_inside(bent_boxes(fitting, size), ring, 1e-6)
    # A thousandth more, and no radius of the baseline will do.
    more = size * 1.001
    assert fitting._radius(more) is None
    for radius in np.linspace(5, 25, 400):
        boxes = np.array(fitting._corners(more, float(radius)))
        assert not is_inside(boxes, ring, -1e-9)


def test_the_corners_that_are_checked_are_those_that_are_drawn() -> None:
    for outward in (True, False):
        fitting = RingFitting(
            Paragraph("Maeve gypsy", NUNITO), ring_of(outward=outward), "start", math.inf
        )
        radius = fitting._radius(3.0)
        assert radius is not None
        drawn = np.sort(bent_boxes(fitting, 3.0), axis=1)
        asked = np.sort(fitting._corners(3.0, radius), axis=1)
        assert np.abs(drawn - asked).max() < 1e-9


def test_letters_stand_by_the_middle_of_their_advances() -> None:
    ring = ring_of(outward=True, most=340)
    fitting = RingFitting(Paragraph("nnnnnnnnnn", NUNITO), ring, "centre", math.inf)
    turns = [turn for _, _, turn in fitting.at(2.0)]
    steps = np.diff(turns)
    radius = math.dist(fitting.at(2.0)[0][1], (0, 0))
    advance = NUNITO.face.advance(NUNITO.face.nominal("n") or 0)
    # Equal letters stand at equal angles: an advance of arc along the baseline each.
    assert steps == pytest.approx(-math.degrees(2.0 * advance / radius))
    assert turns[0] == pytest.approx(-turns[-1], abs=1)


@pytest.mark.parametrize(
    ("words", "parts"),
    [
        ("Io Bo", ["I", "o", "B", "o"]),
        ("Zoë", ["Z", "o", "ë"]),
        ("Zoe\u0308", ["Z", "o", "e\u0308"]),
        ("سلمى نعناع", ["نعناع", "سلمى"]),
        ("मीना फूल", ["मीना", "फूल"]),
        ("נועה", ["ה", "ע", "ו", "נ"]),
        ("梅園さ", ["梅", "園", "さ"]),
    ],
)
def test_letters_are_parted_and_joined_words_are_not(words: str, parts: list[str]) -> None:
    paragraph = Paragraph(words, NUNITO)
    line_ = paragraph.line(0, len(paragraph.segments) - 1)
    assert [part.shaped.text for part in parts_of(line_)] == parts
    glyphs = sorted(g for run in line_.runs for g in run.ids)
    kept = sorted(g for p in parts_of(line_) for run in p.shaped.runs for g in run.ids)
    spaces = [g for g in glyphs if g not in kept]
    assert len(kept) + len(spaces) == len(glyphs)


def test_a_brush_script_keeps_its_words_whole() -> None:
    pacifico = find_font("Pacifico Regular", Path(), "test")
    paragraph = Paragraph("Plum cake", pacifico)
    parts = parts_of(paragraph.line(0, len(paragraph.segments) - 1))
    assert [part.shaped.text for part in parts] == ["Plum", "cake"]


RINGS = """
[type]
sizes = "largest"
max_pt = 30
[[panel]]
name = "lid"
[[panel.block]]
name = "dish"
[[panel.block]]
name = "grower"
ring = { depth = 6 }
[[panel.block]]
name = "year"
ring = { depth = 6, reading = "inward" }
"""
NAMES = ("Io", "Maeve O'Dwyer-Lacey", "Zoë", "Þórhildur Æsudóttir", "Gg Jj Ññ")


def test_rings_and_words_between_them_stay_inside_and_apart(tmp_path: Path) -> None:
    rows = "".join(f"Plum cake,{name},Harvest 26\n" for name in NAMES)
    job = job_of(tmp_path, LID, RINGS, "dish,grower,year\n" + rows)
    for texts in texts_in(job):
        clouds = {}
        for name, text in texts.items():
            points = [
                text.line_to_piece(one).many(hull + np.array((x, y)))
                for one in text.lines
                for run in one.shaped.runs
                for gid, x, y in zip(run.ids, run.xs, run.ys, strict=True)
                if len(hull := outline_points(run.font, gid))
            ]
            clouds[name] = np.concatenate(points)
            assert (
                zone(job.design, name).buffer(0.01).covers(shapely.MultiPoint(clouds[name]))
            )
        top, bottom = clouds["lid / grower"], clouds["lid / year"]
        assert top[:, 1].min() > bottom[:, 1].max()
        assert (top[:, 0].min() + top[:, 0].max()) / 2 == pytest.approx(30, abs=0.6)


def test_a_ring_that_the_zone_does_not_hold_whole_is_kept_to(tmp_path: Path) -> None:
    # An arched tag: the ring of its round top leaves the zone farther down.
    toml = (
        '[type]\nsizes = "largest"\n[[panel]]\nname = "tag"\nat = [30, 30]\n'
        "ring = { centre = [30, 32], radius = 26, depth = 8, most_deg = 250 }\n"
    )
    job = job_of(tmp_path, ARCH, toml, "tag\nIo\n" + "".join(f"{n}\n" for n in NAMES))
    panel = job.design.panel("tag")
    assert panel.ring is not None
    assert panel.ring.within is not None
    for texts in texts_in(job):  # proved inside by outlines
        assert texts["tag"].size_pt > 8


def test_ink_of_a_block_pushed_into_the_next_one_is_noticed(tmp_path: Path) -> None:
    job = job_of(tmp_path, CARD, TWO, "name,seat\nMaple,Table 4\n")
    seat = texts_in(job)[0]["front / seat"]
    up = replace(seat, to_piece=translation(0, 12) @ seat.to_piece)
    with pytest.raises(InsideError, match="leaves its block"):
        InsideCheck(job.design).check(up, 2)


def test_every_bundled_font_keeps_its_ink_in_a_ring_and_in_blocks(tmp_path: Path) -> None:
    rows = "".join(f"{w},{w},{w}\n" for w in ("ĂỆg Ñj", "Ågypsy", "शक्ति", "Qfy"))
    checked = 0
    for font in catalogue():
        if font.role != "text":
            continue
        toml = RINGS.replace("max_pt", f'min_pt = 1\nfont = "{font.name}"\nmax_pt')
        job = job_of(tmp_path, LID, toml, "dish,grower,year\n" + rows)
        for texts in texts_in(job):
            checked += len(texts)
    assert checked >= 3 * 4 * 5


def test_line_ends_in_a_cell_for_a_ring_are_an_error(tmp_path: Path) -> None:
    toml = '[[panel]]\nname = "lid"\nring = {}\n'
    job = job_of(tmp_path, LID, toml, 'lid\n"Io\nBo"\nMaple\n')
    (error,) = [f for f in job.findings if f.rule == "one-line"]
    assert (error.row, error.severity) == (2, "error")
    assert job.faulty == {2}


def test_words_round_a_ring_are_read_back_as_they_were(tmp_path: Path) -> None:
    toml = '[type]\nsizes = "largest"\n[[panel]]\nname = "lid"\nring = { most_deg = 330 }\n'
    put(tmp_path, {"guests.csv": "lid\n" + "".join(f"{name}\n" for name in NAMES)})
    design_of(tmp_path, LID, toml)
    done = command("make", tmp_path / "guests.csv", "--design", tmp_path / "kit.toml",
                   "--out", tmp_path / "out")  # fmt: skip
    assert done.exit_code in (0, 1), done.output
    pdf = tmp_path / "out" / "print.pdf"
    told = subprocess.run(
        ["pdftotext", "-enc", "UTF-8", pdf, "-"], capture_output=True, text=True, check=True
    ).stdout
    for name in NAMES:
        assert name in told
    assert all(name in Pdfium(pdf).text(1, [0, 0, 210, 297]) for name in NAMES)
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    assert [p["texts"][0]["lines"] for p in report["pieces"][: len(NAMES)]] == [
        [name] for name in NAMES
    ]


def panel_ring(panel: Panel) -> Ring:
    assert panel.ring is not None
    return panel.ring


@pytest.mark.parametrize("words", ["\u200eBo\u200f", "B\u200fo", "Bo\u200f Al"])
def test_a_direction_mark_round_a_ring_is_kept_and_not_drawn(
    words: str, tmp_path: Path
) -> None:
    lid = '[[panel]]\nname = "lid"\nat = [30, 30]\ntext = "{lid}"\nring = {}\n'
    job = job_of(tmp_path, LID, lid, f"lid\n{words}\n")
    (texts,) = texts_in(job)
    assert texts["lid"].said == (words,)
    letters = [c for c in words if c.isalpha()]
    assert len(texts["lid"].lines) == len(letters)
    made = personalize.make(
        personalize.read_table(tmp_path / "guests.csv"), job.design, tmp_path / "out"
    )
    assert made.made  # what was written was read back with exactly these words


def test_a_ring_takes_the_largest_circle_of_the_zone(tmp_path: Path) -> None:
    design = design_of(tmp_path, LID, '[[panel]]\nname = "lid"\nring = {}\n')
    ring = panel_ring(design.panel("lid"))
    assert ring.centre == pytest.approx((30, 30), abs=1e-6)
    # 28 mm less the margin of 2.5; three tenths of it deep, unless told.
    assert ring.outer_mm == pytest.approx(25.5, abs=0.02)
    assert ring.inner_mm == pytest.approx(0.7 * ring.outer_mm)


# Sizes ---------------------------------------------------------------------------------

GROUPED = """
[type]
sizes = "same"
max_pt = 60
[[panel]]
name = "front"
[[panel.block]]
name = "plant"
{}
[[panel.block]]
name = "grower"
{}
"""
LATE = "plant,grower\nMint,Io\nBasil,Wilhelmina Featherstone\nLeek,Bo\n"


def sizes_of(job: Job) -> dict[str, set[float]]:
    found: dict[str, set[float]] = {}
    for texts in texts_in(job):
        for name, text in texts.items():
            found.setdefault(name.split(" / ")[1], set()).add(text.size_pt)
    return found


def test_texts_of_one_size_group_share_their_sizes(tmp_path: Path) -> None:
    alone = sizes_of(job_of(tmp_path, CARD, GROUPED.format("", ""), LATE))
    group = 'size_group = "words"'
    shared = sizes_of(job_of(tmp_path, CARD, GROUPED.format(group, group), LATE))
    (plant,), (grower,) = alone["plant"], alone["grower"]
    assert plant > grower
    assert shared == {"plant": {grower}, "grower": {grower}}
    with pytest.raises(InputError, match="others of its size_group 'words' for 'same'"):
        design_of(tmp_path, CARD, GROUPED.format(group, f'{group}\nsizes = "steps"'))


def test_late_guests_take_the_sizes_of_an_earlier_run(tmp_path: Path) -> None:
    design_of(tmp_path, CARD, GROUPED.format("", ""))
    late = "plant,grower\nMint,Ann\nDill," + "Quillfeather" * 4 + "\n"
    put(tmp_path, {"guests.csv": LATE, "late.csv": late})
    kit = ("--design", tmp_path / "kit.toml", "--out")
    done = command("make", tmp_path / "guests.csv", *kit, tmp_path / "out")
    assert done.exit_code in (0, 1), done.output
    earlier = tmp_path / "out" / "report.json"

    def grower(folder: str) -> list[float]:
        report = json.loads((tmp_path / folder / "report.json").read_text("utf-8"))
        pieces = [p for p in report["pieces"] if p["row"] is not None]
        return [t["size_pt"] for p in pieces for t in p["texts"] if t["block"] == "grower"]

    command("make", tmp_path / "late.csv", *kit, tmp_path / "own", "--rows", "2")
    command("make", tmp_path / "late.csv", *kit, tmp_path / "like", "--rows", "2",
            "--sizes-from", earlier)  # fmt: skip
    assert grower("like")[0] == grower("out")[0]
    assert grower("own")[0] < grower("like")[0]
    told = command(
        "check", tmp_path / "late.csv", *kit[:2], "--sizes-from", earlier, "--json"
    )
    rules = [f["rule"] for f in json.loads(told.stdout)["findings"]]
    assert "own-size" in rules  # the long one of the late list, which fits in no other way


SIZES = '{"personalize_report": 1, "sizes": ['


@pytest.mark.parametrize(
    ("report", "says"),
    [
        (None, "report.json cannot be read (No such file or directory)."),
        ("{", "report.json is no report of ours."),
        ('{"a": 1}', "report.json is no report of ours."),
        ('{"personalize_report": 1}', "tells no sizes."),
        (f"{SIZES}{{}}]}}", "the sizes in report.json are damaged."),
        (f'{SIZES}{{"design": "Tent", "places": [], "rule": "same", "steps_pt": [9]}}]}}',
         "has no sizes for kit, only for: Tent."),
        (f'{SIZES}{{"design": "kit", "places": [{{"panel": "x", "block": null}}],'
         ' "rule": "same", "steps_pt": [9]}]}', "tells no sizes for front"),
        (f'{SIZES}{{"design": "kit", "places": [{{"panel": "front", "block": "plant"}}],'
         ' "rule": "steps", "steps_pt": [9]}]}', "follow the rule 'steps'"),
    ],
)  # fmt: skip
def test_a_wrong_report_is_told_in_one_sentence(
    report: str | None, says: str, tmp_path: Path
) -> None:
    design_of(tmp_path, CARD, GROUPED.format("", ""))
    put(tmp_path, {"guests.csv": LATE} | ({"report.json": report} if report else {}))
    done = command("check", tmp_path / "guests.csv", "--design", tmp_path / "kit.toml",
                   "--sizes-from", tmp_path / "report.json")  # fmt: skip
    assert done.exit_code == 2
    assert says in done.output
    assert "--sizes-from" in done.output


def test_what_a_blocks_type_lacks_names_its_panel_and_the_block(tmp_path: Path) -> None:
    toml = '[[panel]]\nname = "front"\nat = [50, 30]\n'
    for block, more in (("top", 'features = ["ss09"]\n'), ("foot", "")):
        toml += f'[[panel.block]]\nname = "{block}"\ntext = "{{{block}}}"\n{more}'
    design = design_of(tmp_path, CARD, toml)
    put(tmp_path, {"guests.csv": "top,foot\nBo,Io\n"})
    found = personalize.check(personalize.read_table(tmp_path / "guests.csv"), design)
    (one,) = (f for f in found.findings if f.rule == "no-feature")
    assert (one.panel, one.block) == ("front", "top")
