"""Sheets for scissors: lines outside of the piece, ticks at creases, crosses in holes."""

import json
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import personalize
from personalize.errors import InputError
from personalize.geometry.affine import Affine
from personalize.geometry.zone import as_shapely
from personalize.sheet.hand import (
    CASING_MM,
    HAND_SPACING_MM,
    LINE_MM,
    TICK_MM,
    ByHand,
    guides,
    lanes,
    punch_mm,
    seen_half,
)
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from tests.conftest import SAMPLES, command, drawing, line, put
from tests.outside import Pdfium, run

SAMPLE_NAMES = personalize.sample_names()
FLAG = drawing(line("M5 5H95V45H5Z") + line("M50 5V45", "fold"), 100, 50)
TOML = '[lines]\nCutting = "#edge"\nCreasing = "#fold"\n[margins]\nbleed = 4\n'
HOLED = TOML.replace('"#edge"', '["#edge", ".hole"]')


def load(folder: Path, svg: str, toml: str = TOML) -> personalize.Design:
    put(folder, {"kit.svg": svg, "kit.toml": toml})
    return personalize.load_design(folder / "kit.toml")


def strokes(
    design: personalize.Design, by_hand: ByHand = ByHand.SCISSORS, spacing: float = 8
) -> list[shapely.Geometry]:
    """What is printed, with its width, the white band left out."""
    return [
        shapely.LineString(
            np.concatenate([p, p[:1]]) if stroke.contour.closed else p
        ).buffer(stroke.width_mm / 2, cap_style="flat")
        for stroke in guides(design, by_hand, spacing)
        if stroke.width_mm == LINE_MM
        for p in [stroke.contour.flattened(0.005)]
    ]


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_nothing_of_the_lines_is_left_on_the_piece(name: str) -> None:
    design = personalize.load_design(name)
    piece = as_shapely(design.silhouette)
    drawn = shapely.union_all(strokes(design))
    assert drawn.area > 1
    # And the white band under them neither: it touches the edge from outside.
    assert drawn.distance(piece) >= CASING_MM / 2 - LINE_MM / 2 - 0.03
    edge = min(strokes(design), key=lambda one: one.hausdorff_distance(piece.boundary))
    assert edge.hausdorff_distance(piece.exterior) < CASING_MM + 0.05


def beside(name: str, by_mm: float) -> np.ndarray:
    """Places along the edge of a sample, so far outside of it."""
    design = personalize.load_design(name)
    ring = as_shapely(design.silhouette).buffer(by_mm).exterior
    steps = np.arange(0, ring.length, 0.1)
    return shapely.get_coordinates(shapely.line_interpolate_point(ring, steps))


@pytest.mark.parametrize("name", SAMPLE_NAMES)
def test_the_print_beside_the_line_is_that_of_a_machine(name: str, tmp_path: Path) -> None:
    asked = [SAMPLES / "picnic.csv", "--design", name, "--rows", "2"]
    inside, on_it = [], []
    for extra in ([], ["--by-hand", "scissors"]):
        out = tmp_path / str(len(extra))
        assert command("make", *asked, *extra, "--out", out).exit_code in (0, 1)
        report = json.loads((out / "report.json").read_text("utf-8"))
        (piece,) = report["pieces"]
        pixels = Pdfium(out / "print.pdf").picture(1, 20).astype(int)
        for shown, by_mm in ((inside, -0.15), (on_it, 0.25)):
            at = Affine(*piece["at"]).many(beside(name, by_mm)) * 20
            shown.append(
                pixels[pixels.shape[0] - 1 - at[:, 1].astype(int), at[:, 0].astype(int)]
            )
    assert (np.abs(inside[0] - inside[1]).max(axis=1) > 100).mean() < 0.01
    assert (np.abs(on_it[0] - on_it[1]).max(axis=1) > 50).mean() > 0.5


CREASES = {
    "edge to edge": ("M50 5V45", [(50, 0), (50, 50)]),
    "short of the edge": ("M50 6V44", [(50, 0), (50, 50)]),
    "past the edge": ("M50 2V48", [(50, 0), (50, 50)]),
    "slanted": ("M30 45L70 5", [(73.5, 1.5), (26.5, 48.5)]),
}


@pytest.mark.parametrize("name", CREASES)
def test_ticks_stand_outside_in_line_with_the_crease(name: str, tmp_path: Path) -> None:
    path, near = CREASES[name]
    design = load(tmp_path, FLAG.replace("M50 5V45", path))
    piece = as_shapely(design.silhouette)
    crease = design.creases[0].flattened(0.01)
    ticks = [s for s in strokes(design, spacing=12) if s.area < 2 * TICK_MM * LINE_MM]
    assert len(ticks) == 2
    long = shapely.LineString(
        [
            crease[0] + 9 * (crease[0] - crease[-1]),
            crease[-1] + 9 * (crease[-1] - crease[0]),
        ]
    )
    for tick, (x, y) in zip(
        sorted(ticks, key=lambda t: (-t.centroid.y, t.centroid.x)),
        sorted(near, key=lambda p: (p[1], p[0])),
        strict=True,
    ):
        assert tick.distance(piece) > 0.5
        assert tick.centroid.distance(long) < 0.01
        assert tick.distance(shapely.Point(x, 50 - y)) < 3


def test_a_crease_that_ends_at_a_hole_or_inside_has_no_tick_there(tmp_path: Path) -> None:
    hole = '<circle class="hole" cx="50" cy="25" r="6" fill="none" stroke="#000"/>'
    design = load(
        tmp_path,
        FLAG.replace("</svg>", hole + "</svg>").replace("M50 5V45", "M50 5V13"),
        HOLED,
    )
    ticks = [s for s in strokes(design, spacing=12) if s.area < 2 * TICK_MM * LINE_MM]
    upper = [tick for tick in ticks if tick.centroid.y > 45]
    crosses = [tick for tick in ticks if 19 < tick.centroid.y < 31]
    assert len(upper) == 1
    assert len(crosses) == 2  # of the hole
    assert len(ticks) == 3


def test_a_round_hole_gets_a_cross_in_its_middle_and_its_size(tmp_path: Path) -> None:
    round_hole = '<circle class="hole" cx="20" cy="25" r="3" fill="none" stroke="#000"/>'
    slot = (
        '<rect class="hole" x="70" y="23" width="12" height="3" fill="none" stroke="#000"/>'
    )
    design = load(tmp_path, FLAG.replace("</svg>", round_hole + slot + "</svg>"), HOLED)
    sizes = sorted((punch_mm(hole) or 0.0) for hole in design.holes)
    assert sizes == pytest.approx([0.0, 6.0], abs=0.01)
    at = shapely.Point(20, 25)
    arms = [s for s in strokes(design) if s.centroid.distance(at) < 0.01 and s.area < 1]
    assert len(arms) == 2
    for arm in arms:
        assert as_shapely(design.silhouette).distance(arm) > 0.5
    rules = SheetRules(personalize.parse_paper("A4"), by_hand=ByHand.SCISSORS, marks=False)
    put(tmp_path, {"list.csv": "front,back\nAda,Bo\n"})
    table = personalize.read_table(tmp_path / "list.csv")
    personalize.make(table, design, tmp_path / "out", personalize.Options(rules))
    words = " ".join(run("pdftotext", tmp_path / "out" / "print.pdf", "-").split())
    assert "Punch 6 mm at the crosses" in words
    assert "Fold from tick to tick" in words


def test_what_is_folded_first_has_its_line_on_the_front_alone(tmp_path: Path) -> None:
    design = load(tmp_path, FLAG)
    half = seen_half(design)
    assert half is not None
    front = design.panel("front").zone.centroid
    assert half.contains(front)
    edge = max(strokes(design, ByHand.FOLD_FIRST), key=lambda one: one.length)
    side = 1 if front[0] > 50 else -1
    x0, _, x1, _ = edge.bounds
    assert (x0 if side > 0 else 100 - x1) > 49.9
    assert edge.length > 2 * (40 + 45 + 45)  # both sides of a line that is 0.2 mm wide


NOT_FOLDED = {
    "no crease": drawing(line("M5 5H95V45H5Z"), 100, 50),
    "halves of two sizes": FLAG.replace("M50 5V45", "M40 5V45"),
    "halves of two shapes": FLAG.replace("M5 5H95V45H5Z", "M5 5H95V45H25Z"),
    "two creases": FLAG.replace("M50 5V45", "M35 5V45M65 5V45"),
}


@pytest.mark.parametrize("name", NOT_FOLDED)
def test_a_piece_that_is_not_folded_in_two_alike_is_refused(
    name: str, tmp_path: Path
) -> None:
    toml = (
        TOML
        if "crease" not in name or "two" in name
        else TOML.replace('Creasing = "#fold"\n', "")
    )
    design = load(tmp_path, NOT_FOLDED[name], toml)
    rules = SheetRules(
        personalize.parse_paper("A4"), by_hand=ByHand.FOLD_FIRST, marks=False
    )
    with pytest.raises(InputError, match="cannot be cut folded"):
        plan_sheets(design, rules)


BOXES = st.builds(
    lambda x, y, w, h: (x, y, x + w, y + h),
    *[st.floats(20, 150)] * 2,
    *[st.floats(5, 60)] * 2,
)


@given(st.lists(BOXES, min_size=1, max_size=12))
def test_a_straight_cut_from_tick_to_tick_meets_no_piece(
    boxes: list[tuple[float, float, float, float]],
) -> None:
    ticks = lanes(boxes, (0, 0, 250, 250))
    assert len(ticks) % 2 == 0
    for one, other in zip(ticks[::2], ticks[1::2], strict=True):
        ends = np.concatenate([t.contour.flattened(1) for t in (one, other)])
        cut = shapely.LineString(ends)
        assert cut.length == pytest.approx(250)
        for x0, y0, x1, y1 in boxes:
            assert not cut.crosses(shapely.box(x0 + 0.03, y0 + 0.03, x1 - 0.03, y1 - 0.03))


def test_rows_can_be_cut_apart_and_keep_their_distance() -> None:
    rules = SheetRules(personalize.parse_paper("A4"), by_hand=ByHand.SCISSORS, marks=False)
    plan = plan_sheets(personalize.load_design("herb-tag"), rules)
    assert plan.spacing_mm == HAND_SPACING_MM
    assert plan.lanes
    area = rules.margins.within(rules.paper)
    for at in plan.arrangement.places:
        for guide in plan.member.guides:
            x0, y0, x1, y1 = guide.contour.transformed(at).bounds()
            assert x0 > area[0]
            assert y0 > area[1]
            assert x1 < area[2]
            assert y1 < area[3]


def test_pieces_edge_to_edge_for_a_trimmer_have_no_line_between_them() -> None:
    tent = personalize.load_design("table-tent")
    assert strokes(tent, spacing=0) == []
    rules = SheetRules(
        personalize.parse_paper("A3"), spacing_mm=0.0, by_hand=ByHand.SCISSORS, marks=False
    )
    plan = plan_sheets(tent, rules)
    boxes = plan.arrangement.boxes
    assert len(boxes) > 2
    # Every straight cut lies on the common edge of its neighbours.
    for tick in plan.lanes:
        x0, y0, x1, y1 = tick.contour.bounds()
        at, low, high = (y0, 1, 3) if x1 - x0 > y1 - y0 else (x0, 0, 2)
        assert any(abs(box[low] - at) < 0.02 for box in boxes)
        assert any(abs(box[high] - at) < 0.02 for box in boxes)


def _close(
    folder: Path, design: str, spacing: str, way: str = "scissors"
) -> tuple[str, str]:
    """Make pieces so far apart; give what is told, and what is printed."""
    put(folder, {"n.csv": "front,back\nAda,Bo\nCy,Di\n"})
    asked = ("make", folder / "n.csv", "--design", folder / design, "--by-hand", way)
    done = command(*asked, "--spacing", spacing, "--out", folder / "out")
    if done.exit_code > 1:
        return done.output, ""
    pages = pypdfium2.PdfDocument(folder / "out" / "print.pdf")
    words = [page.get_textpage().get_text_range() for page in pages]
    return done.output, " ".join(" ".join(words).split())


def _shapes(folder: Path) -> None:
    panels = '[[panel]]\nname = "front"\nat = [45, 20]\n'
    panels += '[[panel]]\nname = "back"\nat = [15, 20]\n'
    fold = line("M30 2V38", "fold")
    put(
        folder,
        {
            "plain.svg": drawing(line("M2 2H58V38H2Z")),
            "plain.toml": '[lines]\nCutting = "#edge"\n[[panel]]\nname = "front"\n',
            "card.svg": drawing(line("M2 2H58V38H2Z") + fold),
            "card.toml": '[lines]\nCutting = "#edge"\nCreasing = "#fold"\n' + panels,
            "star.svg": drawing(line("M2 2H58L50 20L58 38H2L10 20Z")),
            "star.toml": '[lines]\nCutting = "#edge"\n[[panel]]\nname = "front"\n',
        },
    )


def test_words_say_only_what_is_printed_where_pieces_lie_close(tmp_path: Path) -> None:
    """With a spacing of 0 there are no lines and no ticks for creases, up to 2 mm none."""
    _shapes(tmp_path)
    told, printed = _close(tmp_path, "plain.toml", "0")
    assert "Cut from tick to tick." in printed
    assert "grey line" not in printed + told
    assert "Nothing shows" not in told
    told, printed = _close(tmp_path, "card.toml", "0")
    assert "Fold from" not in printed
    assert "Nothing shows where they are folded." in told
    told, printed = _close(tmp_path, "star.toml", "0")
    assert "Nothing shows where their edge is not that of a rectangle." in told
    told, printed = _close(tmp_path, "card.toml", "1.5")
    assert "Cut inside the grey line." in printed
    assert "Fold from" not in printed
    assert "Nothing shows where they are folded." in told
    told, printed = _close(tmp_path, "card.toml", "4")
    assert "Cut inside the grey line. Fold from tick to tick." in printed
    assert "Nothing shows" not in told


def test_what_is_cut_folded_needs_room_for_its_line(tmp_path: Path) -> None:
    _shapes(tmp_path)
    told, _ = _close(tmp_path, "card.toml", "0", "fold-first")
    assert told.startswith("--spacing: there is no room for the line to cut along at 0 mm.")
    assert not (tmp_path / "out").exists()


@pytest.fixture
def herbs(tmp_path: Path) -> list[Path | str]:
    return [SAMPLES / "picnic.csv", "--design", "herb-tag", "--rows", "2-4"]


def test_no_cut_file_is_written_and_the_report_says_so(
    herbs: list[Path | str], tmp_path: Path
) -> None:
    asked = [*herbs, "--by-hand", "scissors", "--out", tmp_path / "out"]
    assert command("make", *asked).exit_code == 0
    files = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert files == ["print.pdf", "proof.html", "report.json"]
    report = json.loads((tmp_path / "out" / "report.json").read_text("utf-8"))
    assert {sheet["cut_file"] for sheet in report["sheets"]} == {""}
    assert report["marks"] == []
    proof = (tmp_path / "out" / "proof.html").read_text("utf-8")
    assert "no cut file" in proof
    assert "Let the cut drift 1.5 mm" in proof


@pytest.mark.parametrize(
    "more",
    [
        ("--marks", "crosses"),
        ("--face-down",),
        ("--also", "dxf"),
        ("--also", "shop,picklist"),
        ("--nicks", "4"),
        ("--creases", "dashes"),
    ],
)
def test_what_is_for_a_machine_is_refused(
    more: tuple[str, ...], herbs: list[Path | str], tmp_path: Path
) -> None:
    asked = [*herbs, "--by-hand", "scissors", *more, "--out", tmp_path / "out"]
    done = command("make", *asked)
    assert done.exit_code == 2
    assert "--by-hand" in done.output
    assert not (tmp_path / "out").exists()


def test_hands_get_more_bleed_and_are_told_where_the_artwork_lacks_it(
    tmp_path: Path,
) -> None:
    # Drawn 2.5 mm past the outline, with 2 mm asked for: enough for a machine alone.
    ground = '<rect x="2.5" y="2.5" width="95" height="45" fill="plum"/>'
    svg = FLAG.replace("<path", ground + "<path", 1)
    put(tmp_path, {"kit.svg": svg, "kit.toml": TOML.replace("bleed = 4", "bleed = 2")})
    put(tmp_path, {"list.csv": "front,back\nAda,Bo\n"})
    asked = [tmp_path / "list.csv", "--design", tmp_path / "kit.toml", "--json"]
    told = {}
    for way in ("machine", "scissors", "fold-first"):
        by_hand = [] if way == "machine" else ["--by-hand", way]
        found = json.loads(command("check", *asked, *by_hand).output)["findings"]
        told[way] = [one["figures"] for one in found if one["rule"] == "bleed-missing"]
        assert not [one for one in found if one["rule"] == "narrow-hidden-bleed"]
    assert told["machine"] == []
    assert told["scissors"]
    assert told["fold-first"]


def test_heavy_folded_pieces_are_not_turned_across_the_grain(tmp_path: Path) -> None:
    flag = drawing(line("M2 2H98V48H2Z") + line("M50 2V48", "fold"), 100, 50)
    rules = SheetRules(personalize.parse_paper("A4"), marks=False, by_hand=ByHand.SCISSORS)

    def turns(toml: str) -> tuple[set[int], int]:
        """Give which ways pieces lie, and how many."""
        folder = tmp_path / str(len(toml))
        folder.mkdir()
        plan = plan_sheets(load(folder, flag, TOML + toml), rules)
        return {abs(round(at.a)) for at in plan.arrangement.places}, plan.per_sheet

    free, free_count = turns("")
    heavy, heavy_count = turns("[sheet]\npaper_g_m2 = 220\n")
    assert free == {0, 1}
    assert len(heavy) == 1
    assert (free_count, heavy_count) == (7, 6)
