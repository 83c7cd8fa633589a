"""Several pieces in one drawing, several designs in one run: nothing lost or mixed up."""

import csv
import io
import json
import math
import re
from collections import Counter
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import Image

import personalize
from personalize.checks.kept import Due, Wanted, check_kept, read_pieces
from personalize.checks.wall import Expected, check_wall
from personalize.design.artwork_render import render_artwork
from personalize.errors import KeptError, WallError
from personalize.messages.message import messages_of
from personalize.sheet.cut_layouts import CutLayout, cut_layouts
from personalize.sheet.cutting import alike
from personalize.sheet.plan import Plan
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from tests.conftest import command, drawing, line, put, snapshot
from tests.kits_made import BANDS, COPIES, COUNTS, GUESTS, KIT, TOLD, designs_of, report_of
from tests.outside import Pdfium


@pytest.fixture(scope="module")
def kit(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a kit of three pieces with its guests, made once."""
    folder = tmp_path_factory.mktemp("kit")
    put(folder, {"kit.svg": KIT, "kit.toml": TOLD, "guests.csv": GUESTS})
    done = command(
        *("make", folder / "guests.csv", "--design", folder / "kit.toml"),
        *("--also", "picklist,dxf", "--out", folder / "out"),
    )
    assert done.exit_code == 0, done.output
    # How much paper each design takes, and nothing else.
    assert all(" m2 of paper, " in line for line in done.stderr.splitlines())
    assert len(done.stderr.splitlines()) == 3
    return folder


A4 = SheetRules(personalize.parse_paper("A4"))


# What a drawing holds


def test_every_outermost_outline_is_a_piece_with_its_own_lines(tmp_path: Path) -> None:
    flag, leaf, label = designs_of(tmp_path, KIT)
    assert [one.name for one in (flag, leaf, label)] == [
        *("kit / flag", "kit / leaf", "kit / label")
    ]
    assert flag.silhouette.area_mm2 == pytest.approx(56 * 50)
    assert leaf.silhouette.area_mm2 == pytest.approx(math.pi * (22**2 - 2**2), rel=2e-3)
    assert label.silhouette.area_mm2 == pytest.approx(30 * 34)
    assert [len(one.creases) for one in (flag, leaf, label)] == [1, 0, 0]
    assert [len(one.holes) for one in (flag, leaf, label)] == [0, 1, 0]
    assert [len(one.lines) for one in (flag, leaf, label)] == [2, 2, 1]
    assert [p.name for p in flag.panels] == ["front", "back"]
    assert [p.name for one in (leaf, label) for p in one.panels] == ["front", "front"]


@pytest.mark.parametrize(
    ("names", "wanted"),
    [
        (("edge", "edge2"), ["piece1", "piece2"]),
        (("path12", "rect-3"), ["piece1", "piece2"]),
        (("bean_leaf-cut", "cut.label"), ["bean leaf", "label"]),
        (("star-edge", "star2-edge"), ["star", "star2"]),
    ],
)
def test_pieces_take_the_names_that_a_person_gave(
    names: tuple[str, str], wanted: list[str], tmp_path: Path
) -> None:
    svg = drawing(line("M2 2H50V38H2Z", names[0]) + line("M60 6H99V30H60Z", names[1]), 110)
    assert [one.piece for one in designs_of(tmp_path, svg)] == wanted


def test_pieces_are_numbered_in_rows_from_the_top_left(tmp_path: Path) -> None:
    boxes = [(60, 50), (5, 52), (58, 4), (4, 6)]
    svg = drawing("".join(line(f"M{x} {y}h40v30h-40Z", "e") for x, y in boxes), 110, 90)
    found = [one.silhouette.box for one in designs_of(tmp_path, svg)]
    corners = [(box[0], 90 - box[3]) for box in found]
    assert corners == [(4, 6), (58, 4), (5, 52), (60, 50)]


def test_panels_belong_to_the_piece_that_their_point_lies_in(kit: Path) -> None:
    flag, leaf, label = personalize.load_designs(kit / "kit.svg")
    assert [p.name for p in flag.panels] == ["front", "back"]
    assert (leaf.panels, leaf.per_message, leaf.stock) == ((), 2, "green paper")
    assert [p.name for p in label.panels] == ["dish"]
    assert label.stock == "white card 220"
    assert [f.rule for f in leaf.told] == ["wordless-piece"]


def test_pieces_that_are_not_named_are_left_out_and_told(tmp_path: Path) -> None:
    toml = '[[piece]]\nname = "leaf"\nat = [89, 40]\n'
    (leaf,) = designs_of(tmp_path, KIT, toml)
    assert leaf.name == "kit / leaf"
    (note,) = leaf.told
    assert note.rule == "piece-left-out"
    assert note.says == "2 outlines of kit.svg are named by no [[piece]] and left out."


def test_a_piece_too_small_for_words_is_made_without(tmp_path: Path) -> None:
    svg = drawing(line("M2 2H50V38H2Z", "tag") + line("M60 6H66V30H60Z", "strip"), 80)
    tag, strip = designs_of(tmp_path, svg)
    assert [panel.name for panel in tag.panels] == ["front"]
    assert strip.panels == ()
    assert [note.rule for note in strip.told] == ["wordless-piece"]


def test_a_near_neighbour_is_told(tmp_path: Path) -> None:
    svg = drawing(line("M2 2H30V38H2Z", "one") + line("M31.5 2H58V38H31.5Z", "two"))
    one, two = designs_of(tmp_path, svg)
    assert [f.rule for f in (*one.told, *two.told)] == ["piece-in-bleed"] * 2
    svg = drawing(line("M2 2H28V38H2Z", "one") + line("M32 2H58V38H32Z", "two"))
    assert [f for design in designs_of(tmp_path, svg) for f in design.told] == []


# Its picture


def colour_at(x: float) -> tuple[int, ...]:
    """What the drawing shows at a place."""
    css = next(colour for (a, b), colour in BANDS.items() if a <= x < b)
    return tuple(bytes.fromhex(css[1:]))


def test_a_piece_shows_the_drawing_within_its_bleed_and_nothing_else(
    tmp_path: Path,
) -> None:
    # Two hooks lie in each other: the box of each holds most of the other.
    hooks = line("M8 8H72V20H20V52H8Z", "hook") + line("M26 26H72V52H60V38H26Z", "claw")
    bands = "".join(
        f'<rect x="{x}" width="10" height="60" fill="{c}"/>'
        for x, c in zip(range(0, 80, 10), ["#c81e1e", "#1e8c1e"] * 4, strict=True)
    )
    for design in designs_of(tmp_path, drawing(bands + hooks, 80, 60)):
        x0, _, _, y1 = design.artwork.box_mm
        png = render_artwork(design.artwork.svg, 8.0)
        pixels = np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))
        bleed = shapely.Polygon(design.outline.flattened(0.01)).buffer(2.0, join_style=1)
        inside = outside = 0
        for row, column in np.ndindex(*pixels.shape[:2]):
            if row % 5 or column % 5:
                continue
            x, y = x0 + (column + 0.5) / 8, y1 - (row + 0.5) / 8
            away = bleed.boundary.distance(shapely.Point(x, y))
            if away < 0.2 or abs(x % 10 - 5) > 4.8:
                continue
            if bleed.contains(shapely.Point(x, y)):
                css = ["#c81e1e", "#1e8c1e"][int(x // 10) % 2]
                assert tuple(pixels[row, column]) == (*bytes.fromhex(css[1:]), 255)
                inside += 1
            else:
                assert pixels[row, column, 3] == 0
                outside += 1
        assert min(inside, outside) > 500


def test_on_its_sheet_a_piece_shows_its_own_part_of_the_drawing(kit: Path) -> None:
    """A picture of the page, drawn by another program, against the drawing's bands."""
    designs = {one.name: one for one in personalize.load_designs(kit / "kit.svg")}
    pdf, report = Pdfium(kit / "out" / "print.pdf"), report_of(kit / "out")
    pages = {n: pdf.picture(n, 4.0) for n in range(1, len(report["sheets"]) + 1)}
    seen: Counter[str] = Counter()
    for piece in report["pieces"]:
        design, pixels = designs[piece["design"]], pages[piece["sheet"]]
        a, b, c, d, e, f = piece["at"]
        ink = [shapely.box(*t["ink_mm"]).buffer(0.5) for t in piece["texts"]]
        paper = shapely.Polygon(design.silhouette.outer, design.silhouette.holes)
        for x, y in np.random.default_rng(1).uniform(0, (160, 60), (600, 2)):
            near_band = min(abs(x - edge) for edge in (66, 112)) < 0.5
            if near_band or not paper.buffer(-0.5).contains(shapely.Point(x, y)):
                continue
            at = (a * x + c * y + e, b * x + d * y + f)
            if any(box.contains(shapely.Point(at)) for box in ink):
                continue
            row, column = int((297 - at[1]) * 4), int(at[0] * 4)
            shown = pixels[row, column].astype(int)
            assert np.abs(shown - colour_at(float(x))).max() <= 3, (piece, x, y)
            seen[piece["design"]] += 1
    assert set(seen) == set(designs)
    assert min(seen.values()) > 200


# Conservation


def test_messages_copies_and_designs_are_conserved(kit: Path) -> None:
    report = report_of(kit / "out")
    made = Counter((p["design"], p["row"]) for p in report["pieces"] if p["row"])
    assert made == {
        (design, row): copies * count
        for design, count in COUNTS.items()
        for row, copies in COPIES.items()
        if copies
    }
    read = Counter((p.design, p.row) for p in read_pieces(kit / "out" / "print.pdf"))
    assert {key: n for key, n in read.items() if key[1]} == made
    for design, row in made:
        copies = [
            p["copy"] for p in report["pieces"] if (p["design"], p["row"]) == (design, row)
        ]
        assert copies == list(range(1, made[design, row] + 1))


def test_sheets_are_numbered_through_and_never_mix_stocks(kit: Path) -> None:
    report = report_of(kit / "out")
    sheets = report["sheets"]
    assert [sheet["number"] for sheet in sheets] == list(range(1, len(sheets) + 1))
    # The stock of the first piece comes first, with the other piece on it.
    assert [(s["designs"], s["stock"]) for s in sheets] == [
        (["Bean kit / flag"], "white card 220"),
        (["Bean kit / label"], "white card 220"),
        (["Bean kit / leaf"], "green paper"),
    ]
    pages = Pdfium(kit / "out" / "print.pdf")
    words = " ".join(pages.text(n + 1, [0, 0, 210, 297]) for n in range(len(pages)))
    for sheet in sheets:
        said = f"{sheet['designs'][0]}, sheet {sheet['number']} of {len(sheets)}"
        assert said in " ".join(words.split())
        assert f"On {sheet['stock']}." in " ".join(words.split())


def test_each_cut_file_holds_the_lines_of_its_own_pieces(kit: Path) -> None:
    report = report_of(kit / "out")
    cuts = {sheet["designs"][0]: sheet["cut_file"] for sheet in report["sheets"]}
    assert cuts == {
        "Bean kit / flag": "cut-bean-kit-flag.svg",
        "Bean kit / leaf": "cut-bean-kit-leaf.svg",
        "Bean kit / label": "cut-bean-kit-label.svg",
    }
    assert {*cuts.values()} < {*report["files"]} == {*snapshot(kit / "out")}
    for design in personalize.load_designs(kit / "kit.svg"):
        places = sum(p["design"] == design.name for p in report["pieces"])
        text = (kit / "out" / cuts[design.name]).read_text("utf-8")
        assert text.count("<path") == places * len(design.lines)
        dxf = (kit / "out" / cuts[design.name].replace(".svg", ".dxf")).read_text("utf-8")
        assert len(re.findall(r"^LWPOLYLINE$", dxf, re.MULTILINE)) == text.count("<path")


def plans(kit: Path) -> tuple[Plan, Plan]:
    flag, _, label = personalize.load_designs(kit / "kit.svg")
    return plan_sheets(flag, A4, fully=False), plan_sheets(label, A4, fully=False)


def test_the_wall_notices_a_swap_between_designs(
    kit: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    flag, label = plans(kit)
    data = (kit / "out" / "cut-bean-kit-label.svg").read_bytes()
    places = flag.arrangement.places
    with pytest.raises(WallError, match="line of the design"):
        check_wall(data, "cut.svg", Expected(alike(flag.design, places), flag.rules.paper))

    def swapped(plan: Plan, count: int, rules: object) -> tuple[CutLayout, ...]:
        other = label if plan.design.piece == "flag" else flag
        (layout,) = cut_layouts(other, other.per_sheet)
        return (CutLayout(f"{plan.cut_stem}.svg", layout.paper, layout.lines),)

    monkeypatch.setattr("personalize.cut_files.cut_layouts", swapped)
    table = personalize.read_table(kit / "guests.csv")
    with pytest.raises(WallError):
        personalize.make(table, (flag.design, label.design), tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_piece_told_as_one_of_another_design_stops_the_run(
    kit: Path, tmp_path: Path
) -> None:
    flag, leaf, label = personalize.load_designs(kit / "kit.svg")
    messages = messages_of(personalize.read_table(kit / "guests.csv"))
    report = report_of(kit / "out")

    def due(design: personalize.Design) -> Due:
        wanted = []
        for message in messages:
            for copy in range(1, message.copies * design.per_message + 1):
                wanted.append(Wanted(message, copy, len(wanted) + 1))
        places = sum(p["design"] == design.name for p in report["pieces"])
        return Due(design, wanted, len(wanted), places - len(wanted))

    every = [due(flag), due(leaf), due(label)]
    check_kept(kit / "out" / "print.pdf", every)
    for wrong in (every[:2], [every[0], every[0], every[2]], every[1:]):
        with pytest.raises(KeptError):
            check_kept(kit / "out" / "print.pdf", wrong)


def test_the_same_input_gives_the_same_bytes(kit: Path, tmp_path: Path) -> None:
    table = personalize.read_table(kit / "guests.csv")
    flag, _, label = personalize.load_designs(kit / "kit.svg")
    for name in ("one", "two"):
        personalize.make(table, (label, flag), tmp_path / name)
    assert snapshot(tmp_path / "one") == snapshot(tmp_path / "two")


def test_texts_are_sized_within_their_own_design(kit: Path, tmp_path: Path) -> None:
    table = personalize.read_table(kit / "guests.csv")
    flag, _, label = personalize.load_designs(kit / "kit.svg")
    both = report_of(kit / "out")["sizes"]
    for design in (flag, label):
        personalize.make(table, design, tmp_path / design.piece)
        alone = report_of(tmp_path / design.piece)["sizes"]
        assert alone == [one for one in both if one["design"] == design.name]


def test_late_guests_take_the_sizes_of_each_design(kit: Path, tmp_path: Path) -> None:
    put(tmp_path, {"late.csv": "name,back,dish\nAl,,Jam\n"})
    done = command(
        *("make", tmp_path / "late.csv", "--design", kit / "kit.toml"),
        *("--sizes-from", kit / "out" / "report.json", "--out", tmp_path / "out"),
    )
    assert done.exit_code == 0, done.output
    earlier = {
        (one["design"], place["panel"]): one["steps_pt"]
        for one in report_of(kit / "out")["sizes"]
        for place in one["places"]
    }
    texts = [
        (piece["design"], text)
        for piece in report_of(tmp_path / "out")["pieces"]
        for text in piece["texts"]
    ]
    assert len(texts) == 3
    for design, text in texts:
        assert text["size_pt"] in earlier[design, text["panel"]]


def test_one_piece_of_a_drawing_can_be_asked_for(kit: Path) -> None:
    words = ("check", kit / "guests.csv", "--design", kit / "kit.toml", "--json")
    for names, pieces in ((["LEAF"], 12), (["flag", "label"], 12), ([], 24)):
        done = command(*words, *(w for name in names for w in ("--piece", name)))
        assert json.loads(done.stdout)["pieces"] == pieces, done.stderr
    done = command(*words[:-1], "--piece", "leav")
    assert done.exit_code == 2
    assert done.stderr == "--piece: no drawing has a piece 'leav'. Did you mean 'leaf'?\n"


def test_one_design_is_asked_for_and_there_are_three(kit: Path) -> None:
    with pytest.raises(personalize.InputError, match="has 3 pieces: flag, leaf, label"):
        personalize.load_design(kit / "kit.svg")


# The pick list


def test_the_pick_list_says_where_each_piece_of_a_guest_lies(kit: Path) -> None:
    text = (kit / "out" / "picklist.csv").read_text("utf-8-sig")
    picks = list(csv.DictReader(io.StringIO(text)))
    report = report_of(kit / "out")
    assert len(picks) == sum(COPIES.values()) * sum(COUNTS.values())
    rows = [int(pick["row"]) for pick in picks]
    assert all(a <= b for a, b in pairwise(rows))
    on_sheet = {
        number: [p for p in report["pieces"] if p["sheet"] == number]
        for number in {p["sheet"] for p in report["pieces"]}
    }
    for pick in picks:
        piece = on_sheet[int(pick["sheet"])][int(pick["place"]) - 1]
        told = (pick["design"], pick["row"], pick["copy"])
        assert told == (piece["design"], str(piece["row"]), str(piece["copy"]))
        own = [t["text"] for t in piece["texts"]]
        assert pick["words"] == " / ".join(dict.fromkeys(own)) or not own
        assert pick["words"]
