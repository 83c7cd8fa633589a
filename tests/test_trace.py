"""Outlines traced from the transparent edge of a picture, against the shapes drawn."""

import io
from pathlib import Path

import numpy as np
import pytest
import shapely
from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont
from svgelements import Move
from svgelements import Path as Path_

import personalize
from personalize.design.design import Design
from personalize.design.spec import TraceSpec
from personalize.design.svg import parse_svg
from personalize.design.trace import traced
from personalize.errors import InputError
from personalize.geometry.fitting import fitted
from personalize.geometry.levels import level_rings
from personalize.geometry.path import signed_area
from tests.artwork_files import MARGINS, PX, load, png, printed, raster, shape
from tests.conftest import ROOT, command, put

FONT = ROOT / "fonts_open" / "nunito" / "Nunito-SemiBold.ttf"
TRACE = 'file = "cut.png"\ntrace = true\n'


def design(folder: Path, picture: bytes, keys: str = "") -> Design:
    put(folder, {"cut.png": picture, "cut.toml": f"[artwork]\n{TRACE}{keys}{MARGINS}"})
    return personalize.load_design(folder / "cut.toml")


def cut(found: Design) -> shapely.Polygon:
    """The piece within its cut lines, y down from the top left of the picture."""
    rings = [c.flattened(0.002) for c in (found.outline, *found.holes)]
    outer, *holes = (np.column_stack([r[:, 0], found.height_mm - r[:, 1]]) for r in rings)
    return shapely.Polygon(outer, holes)


def off(a: shapely.Polygon, b: shapely.Polygon) -> float:
    """How far the edges of two shapes are apart anywhere."""
    a, b = (shapely.segmentize(one.boundary, 0.05) for one in (a, b))
    return float(shapely.hausdorff_distance(a, b))


def disc(x: float, y: float, radius: float) -> shapely.Polygon:
    return shapely.Point(x, y).buffer(radius, quad_segs=400)


STAR = [
    (
        25 + (21 if i % 2 == 0 else 9) * np.sin(i * np.pi / 5 + 0.1),
        26 - (21 if i % 2 == 0 else 9) * np.cos(i * np.pi / 5 + 0.1),
    )
    for i in range(10)
]
RING = (
    "M6.3 25.1a18 18 0 1 0 36 0a18 18 0 1 0-36 0zM16.3 25.1a8 8 0 1 0 16 0a8 8 0 1 0-16 0z"
)
SHAPES = {
    "circle": ('<circle cx="24.3" cy="25.1" r="18"/>', disc(24.3, 25.1, 18)),
    "ring": (
        f'<path fill-rule="evenodd" d="{RING}"/>',
        disc(24.3, 25.1, 18) - disc(24.3, 25.1, 8),
    ),
    "star": (
        f'<polygon points="{" ".join(f"{x},{y}" for x, y in STAR)}"/>',
        shapely.Polygon(STAR),
    ),
    "rectangle": (
        '<rect x="5.03" y="7.02" width="35.08" height="22.98"/>',
        shapely.box(5.03, 7.02, 40.11, 30),
    ),
    "rounded": (
        '<rect x="5" y="7" width="35.1" height="30.2" rx="4"/>',
        shapely.box(9, 11, 36.1, 33.2).buffer(4, quad_segs=200),
    ),
}


@pytest.mark.parametrize("name", SHAPES)
def test_the_outline_is_the_shape_that_was_drawn(name: str, tmp_path: Path) -> None:
    svg, truth = SHAPES[name]
    found = cut(design(tmp_path, shape(svg)))
    assert off(found, truth) < 0.1
    assert abs(found.area / truth.area - 1) < 0.005
    assert len(found.interiors) == len(truth.interiors)


def letter(size: float) -> tuple[bytes, shapely.Polygon]:
    """Give a letter D drawn by Pillow, and the outline that fontTools reads."""
    image = Image.new("RGBA", (round(size / PX), round(size / PX)))
    font = ImageFont.truetype(str(FONT), 500)
    ImageDraw.Draw(image).text((60, 520), "D", font=font, fill="#3d1c4f", anchor="ls")
    face = TTFont(FONT)
    glyphs = face.getGlyphSet()
    pen = SVGPathPen(glyphs)
    glyphs["D"].draw(pen)
    scale = 500 / face["head"].unitsPerEm
    rings = []
    for part in Path_(pen.getCommands()).as_subpaths():
        curve = [piece for piece in Path_(part) if not isinstance(piece, Move)]
        points = [piece.point(t) for piece in curve for t in np.linspace(0, 1, 60)]
        at = np.array([(point.x, -point.y) for point in points])
        rings.append((np.array([60, 520]) + at * scale) * PX)
    rings.sort(key=lambda ring: -abs(signed_area(ring)))
    return png(image), shapely.Polygon(rings[0], rings[1:])


def test_a_letter_is_cut_as_its_font_has_it() -> None:
    # Rendered by FreeType (in Pillow), compared with the font's own curves.
    picture, truth = letter(60)
    alpha = np.asarray(Image.open(io.BytesIO(picture)).getchannel("A"))
    high = alpha.shape[0] * PX
    svg = traced(alpha, (alpha.shape[1] * PX, high), TraceSpec(), "d.png").svg
    rings = [one.contours[0].flattened(0.002) for one in parse_svg(svg, "d").shapes]
    outer, *holes = (np.column_stack([ring[:, 0], high - ring[:, 1]]) for ring in rings)
    found = shapely.Polygon(outer, holes)
    assert len(found.interiors) == 1
    assert off(found, truth) < 0.1
    assert abs(found.area / truth.area - 1) < 0.005


def test_a_hard_edge_without_grey_pixels_is_smoothed(tmp_path: Path) -> None:
    alpha = Image.new("L", (590, 590))
    ImageDraw.Draw(alpha).ellipse((80, 90, 480, 490), fill=255)
    image = Image.new("RGBA", alpha.size, "plum")
    image.putalpha(alpha)
    found = cut(design(tmp_path, png(image)))
    truth = disc(280.5 * PX, 290.5 * PX, 200.5 * PX)
    assert off(found, truth) < 0.1
    lines = design(tmp_path, png(image)).outline.segments
    assert len(lines) < 20


@pytest.mark.parametrize("by", [-1.5, 0.5, 3.0])
def test_an_offset_moves_the_edge_by_that_much_everywhere(
    by: float, tmp_path: Path
) -> None:
    svg, truth = SHAPES["ring"]
    found = cut(design(tmp_path, shape(svg), f"offset_mm = {by}\n"))
    assert off(found, truth.buffer(by, quad_segs=400)) < 0.1


def test_a_finer_tolerance_follows_more_closely(tmp_path: Path) -> None:
    svg, truth = SHAPES["circle"]
    picture = shape(svg)
    fine = design(tmp_path / "a", picture, "tolerance_mm = 0.02\n")
    rough = design(tmp_path / "b", picture, "tolerance_mm = 0.5\n")
    assert len(fine.outline.segments) > len(rough.outline.segments)
    assert off(cut(fine), truth) < 0.03
    assert off(cut(rough), truth) < 0.3


def test_specks_are_told(tmp_path: Path) -> None:
    found = design(tmp_path, shape(SHAPES["circle"][0] + '<circle cx="44" cy="5" r=".7"/>'))
    told = {one.rule: one for one in found.told}
    assert told["specks-dropped"].figures["specks"] == 1
    assert off(cut(found), SHAPES["circle"][1]) < 0.1


def test_each_part_is_a_piece(tmp_path: Path) -> None:
    two = '<circle cx="12" cy="25" r="9"/><circle cx="36" cy="25" r="12"/>'
    put(tmp_path, {"cut.png": shape(two), "l.csv": "front\nAda\n"})
    found = personalize.load_designs(tmp_path / "cut.png")
    truth = [disc(36, 25, 12), disc(12, 25, 9)]
    assert len(found) == 2
    for one in found:
        assert min(off(cut(one), other) for other in truth) < 0.1
    seen = command("inspect", tmp_path / "cut.png", "--write")
    assert "in 2 parts, each a piece" in seen.output
    again = personalize.load_designs(tmp_path / "cut.toml")
    assert [one.outline for one in again] == [one.outline for one in found]


def test_a_wide_offset_joins_parts(tmp_path: Path) -> None:
    two = '<circle cx="15" cy="25" r="9"/><circle cx="35.5" cy="25" r="9"/>'
    found = design(tmp_path, shape(two), "offset_mm = 2\n")
    truth = (disc(15, 25, 9) | disc(35.5, 25, 9)).buffer(2, quad_segs=400)
    # The two notches between them are rounded by less than a blade shows.
    assert off(cut(found), truth) < 0.3


def test_a_white_rim_is_wanted_but_a_bare_edge_is_told(tmp_path: Path) -> None:
    picture = shape(SHAPES["star"][0])
    for keys, bare in (
        ("", True),
        ("offset_mm = 2\n", False),
        ("offset_mm = -2.5\n", False),
    ):
        put(tmp_path, {"list.csv": "name\nAda\n"})
        found = design(tmp_path, picture, keys)
        result = personalize.check(personalize.read_table(tmp_path / "list.csv"), found)
        rules = {one.rule for one in result.findings}
        assert ("bleed-missing" in rules) == bare


def test_edge_colours_are_drawn_out_into_the_bleed(tmp_path: Path) -> None:
    halves = (
        '<clipPath id="c"><circle cx="25" cy="25" r="18"/></clipPath>'
        '<g clip-path="url(#c)">'
        '<rect width="25" height="50" fill="#c00"/>'
        '<rect x="25" width="25" height="50" fill="#00c"/></g>'
    )
    found = design(tmp_path, shape(halves), "extend_edge = true\n")
    (tmp_path / "list.csv").write_text("name\nAda\n")
    result = personalize.check(personalize.read_table(tmp_path / "list.csv"), found)
    assert "bleed-missing" not in {one.rule for one in result.findings}
    printed(tmp_path, found).close()
    seen = raster((tmp_path / "out" / "print.pdf").read_bytes(), 4)
    red = (seen[:, :, 0] > 180) & (seen[:, :, 1:] < 30).all(axis=2)
    blue = (seen[:, :, 2] > 180) & (seen[:, :, :2] < 30).all(axis=2)
    # A circle of 18 mm with 2 mm of bleed, at 4 px to the mm; 1 % for its edge.
    # What is neither is the word; the slug, further off, is not counted.
    inked = (seen < 250).any(axis=2)
    rows, columns = np.nonzero(red | blue)
    row, column = np.ogrid[: seen.shape[0], : seen.shape[1]]
    inked &= np.hypot(row - rows.mean(), column - columns.mean()) / 4 < 20.5
    assert inked.sum() == pytest.approx(np.pi * 20**2 * 16, rel=0.02)
    rows, columns = np.nonzero(inked)
    away = np.hypot(rows - rows.mean(), columns - columns.mean()) / 4
    beside = (away > 18.2) & (away < 19.5)
    assert (red | blue)[rows[beside], columns[beside]].mean() > 0.95
    assert red.sum() == pytest.approx(blue.sum(), rel=0.05)  # but for the word


@pytest.mark.parametrize(
    ("picture", "says"),
    [
        (Image.new("RGB", (300, 300), "plum"), "no part of it is transparent"),
        (Image.new("RGBA", (300, 300)), "no opaque part of 3 mm2"),
    ],
)
def test_a_picture_without_an_edge_is_refused(
    picture: Image.Image, says: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=says):
        design(tmp_path, png(picture))


def test_noise_is_refused_and_told() -> None:
    noise = np.random.default_rng(3).integers(0, 2, (400, 400), np.uint8) * 255
    with pytest.raises(InputError, match="too ragged"):
        traced(noise, (30, 30), TraceSpec(specks_mm2=0), "noise.png")


def test_nothing_left_inside_of_an_edge_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="nothing is left"):
        design(tmp_path, shape('<circle cx="25" cy="25" r="5"/>'), "offset_mm = -6\n")


@pytest.mark.parametrize(
    ("toml", "says"),
    [
        ('[artwork]\nfile = "cut.png"\noffset_mm = 1\n', "offset_mm is for an outline"),
        (f'svg = "a.svg"\n[artwork]\n{TRACE}', "both a.svg and the traced edge"),
        (f"[artwork]\n{TRACE}at = [1, 2]\n", "at says nothing where"),
        (f"[artwork]\n{TRACE}specks_mm2 = -1\n", "specks_mm2 must be a number"),
        (f"px_per_inch = 72\n[artwork]\n{TRACE}", "states its own size"),
    ],
)
def test_keys_that_contradict_are_told(toml: str, says: str, tmp_path: Path) -> None:
    put(tmp_path, {"cut.png": shape(SHAPES["circle"][0]), "cut.toml": toml})
    with pytest.raises(InputError, match=says):
        personalize.load_design(tmp_path / "cut.toml")


def test_inspect_writes_a_design_that_runs(tmp_path: Path) -> None:
    pale = f'<g fill="#fbe3f0">{SHAPES["ring"][0]}</g>'
    put(tmp_path, {"cut.png": shape(pale), "l.csv": "front\nAda\n"})
    seen = command("inspect", tmp_path / "cut.png", "--write")
    assert "50.04 x 50.04 mm" in seen.output.replace("50.03", "50.04")
    assert "300 px to the inch" in seen.output
    assert "1 hole" in seen.output
    assert (tmp_path / "cut.toml").is_file()
    made = command(
        "make",
        tmp_path / "l.csv",
        "--design",
        tmp_path / "cut.toml",
        "--out",
        tmp_path / "o",
    )
    assert made.exit_code == 0, made.output  # not even a warning


def test_a_picture_alone_is_a_design(tmp_path: Path) -> None:
    put(tmp_path, {"cut.png": shape(SHAPES["star"][0]), "l.csv": "front\nAda\n"})
    found = personalize.load_design(tmp_path / "cut.png")
    assert [panel.name for panel in found.panels] == ["front"]
    assert off(cut(found), SHAPES["star"][1]) < 0.1


def test_a_picture_beside_another_design_file_is_told(tmp_path: Path) -> None:
    load(tmp_path, 'file = "a.png"\nat = [0, 0]\n', **{"a.png": shape(SHAPES["star"][0])})
    (tmp_path / "tag.png").write_bytes(shape(SHAPES["star"][0]))
    with pytest.raises(InputError, match=r"tag\.toml beside it is for other artwork"):
        personalize.load_design(tmp_path / "tag.png")


fields = st.integers(2, 9).flatmap(
    lambda wide: st.lists(
        st.lists(st.integers(0, 255), min_size=wide, max_size=wide), min_size=2, max_size=9
    )
)


@settings(deadline=None, max_examples=150)
@given(fields)
def test_every_sample_lies_on_its_side_of_the_line(rows: list[list[int]]) -> None:
    field = np.array(rows, np.uint8)
    rings = level_rings(field, 127.5)
    high = field.shape[0]
    for row, column in np.ndindex(field.shape):
        at = shapely.Point(column + 0.5, high - row - 0.5)
        round_it = sum(shapely.Polygon(ring).contains(at) for ring in rings)
        turned = sum(
            np.sign(signed_area(ring))
            for ring in rings
            if shapely.Polygon(ring).contains(at)
        )
        inside = field[row, column] > 127.5
        assert round_it % 2 == inside
        assert turned == inside  # outlines run counter-clockwise, holes clockwise


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.floats(4, 20), min_size=3, max_size=12),
    st.floats(0, 6.28),
    st.sampled_from([0.02, 0.05, 0.2]),
)
def test_a_fitted_curve_stays_by_its_points(
    radii: list[float], turn: float, within: float
) -> None:
    angles = turn + np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    corners = np.column_stack([np.cos(angles), np.sin(angles)]) * np.array(radii)[:, None]
    ring = shapely.segmentize(shapely.Polygon(corners).buffer(1.0), 0.08)
    points = shapely.get_coordinates(ring.exterior)[::-1][:-1]
    curve = fitted(points, within, 0.085)
    drawn = shapely.Polygon(curve.flattened(0.002))
    # At corners the raster's rounding is undone: as far as 3 steps.
    assert shapely.hausdorff_distance(drawn.boundary, ring.boundary) < within + 0.26


def test_equal_pictures_give_equal_lines() -> None:
    alpha = np.asarray(Image.open(io.BytesIO(shape(SHAPES["ring"][0]))).getchannel("A"))
    first, second = (traced(alpha, (50, 50), TraceSpec(), "a").svg for _ in range(2))
    assert first == second
