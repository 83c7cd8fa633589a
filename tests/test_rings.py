"""Words round a ring."""

import json
import math
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

import personalize
from personalize.checks.inside import InsideCheck, outline_points
from personalize.design.design import Panel, Ring
from personalize.errors import InsideError
from personalize.fonts.catalogue import catalogue, find_font
from personalize.geometry.affine import translation
from personalize.type.ring import RingFitting, parts_of
from personalize.type.shape import Paragraph
from tests.blocks_made import CARD, TWO, design_of, job_of, texts_in, zone
from tests.conftest import command, drawing, line, put
from tests.outside import Pdfium

LID = drawing(
    '<circle id="edge" cx="30" cy="30" r="28" fill="none" stroke="#000"/>', 60, 60
)
ARCH = drawing(line("M2 90V32A28 28 0 0 1 58 32V90Z"), 60, 92)
NUNITO = find_font("Nunito Bold", Path(), "test")


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
