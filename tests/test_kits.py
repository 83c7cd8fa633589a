"""Several pieces in one drawing, several designs in one run: nothing lost or mixed up."""

import csv
import io
import json
import math
import re
from collections import Counter
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

import personalize
from personalize.batch import cut_stems
from personalize.checks.kept import Due, Wanted, check_kept, read_pieces
from personalize.checks.wall import Expected, check_wall
from personalize.design.artwork_render import render_artwork
from personalize.errors import KeptError, WallError
from personalize.messages.message import messages_of
from personalize.output.picklist import harmless
from personalize.sheet.cut_layouts import cut_layouts
from personalize.sheet.fill import CutLayout, Plan, SheetRules, plan_sheets
from tests.conftest import command, drawing, line, put, snapshot
from tests.outside import Pdfium

A4 = SheetRules(personalize.parse_paper("A4"))
BANDS = {(0, 66): "#f0a0a0", (66, 112): "#a0e0a0", (112, 160): "#a0a0f0"}
"""Artwork of the kit: bands of colour from left to right, by where they begin and end."""
KIT = drawing(
    "".join(
        f'<rect x="{a}" width="{b - a}" height="60" fill="{colour}"/>'
        for (a, b), colour in BANDS.items()
    )
    + line("M5 5H61V55H5Z", "flag-edge")
    + line("M33 5V55", "fold")
    + line("M89 8A22 22 0 0 1 89 52A22 22 0 0 1 89 8Z", "leaf-edge")
    + line("M89 12A2 2 0 0 1 89 16A2 2 0 0 1 89 12Z", "leaf-hole")
    + line("M120 10H150V44H120Z", "label-edge"),
    160,
    60,
)
TOLD = """
name = "Bean kit"
stock = "white card 220"

[lines]
Cutting = ["#flag-edge", "#leaf-edge", "#leaf-hole", "#label-edge"]
Creasing = "#fold"

[[piece]]
name = "flag"
at = [20, 30]

[[piece]]
name = "leaf"
at = [89, 40]
count = 2
stock = "green paper"

[[piece]]
name = "label"
at = [130, 30]

[[panel]]
name = "front"
at = [50, 30]
faces = "back"
text = "{name}"

[[panel]]
name = "back"
at = [20, 30]

[[panel]]
name = "dish"
at = [130, 30]
text = "{dish} for {name}"
"""
GUESTS = """name,back,dish,copies
Wilhelmina,Beans,Soup,2
Io,,Pie,1
Noor,Peas,Tart,0
Bo,,Stew,3
"""
COPIES = {2: 2, 3: 1, 4: 0, 5: 3}
COUNTS = {"Bean kit / flag": 1, "Bean kit / leaf": 2, "Bean kit / label": 1}


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


def report_of(folder: Path) -> dict[str, Any]:
    said = json.loads((folder / "report.json").read_text("utf-8"))
    assert isinstance(said, dict)
    return said


def designs_of(folder: Path, svg: str, toml: str = "") -> tuple[personalize.Design, ...]:
    put(folder, {"kit.svg": svg, **({"kit.toml": toml} if toml else {})})
    return personalize.load_designs(folder / "kit.svg")


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
        check_wall(data, "cut.svg", Expected(flag.design, places, flag.rules.paper))

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


# Several designs

TAG = drawing(line("M2 2H58V38H2Z", "edge"))


def two_tags(folder: Path, second: str = "sprig") -> tuple[str, ...]:
    """Put two designs and a list, and give the words that make both."""
    toml = '[[panel]]\nname = "front"\ntext = "{%s}"\n'
    put(
        folder,
        {
            "tag.svg": TAG,
            "tag.toml": 'name = "tag"\n' + toml % "name",
            "sprig.svg": TAG.replace("H58V38", "H40V30"),
            "sprig.toml": f'name = "{second}"\n' + toml % "dish",
            "guests.csv": "name,dish\nIo,Pie\nBo,Soup\n",
        },
    )
    paths = [str(folder / name) for name in ("guests.csv", "tag.toml", "sprig.toml")]
    return (paths[0], "--design", paths[1], "--design", paths[2])


def test_a_guest_gets_one_of_each_design(tmp_path: Path) -> None:
    done = command("make", *two_tags(tmp_path), "--out", tmp_path / "out")
    assert done.exit_code in (0, 1), done.output
    assert "4 pieces on 2 sheets" in done.stdout
    said = {
        (p["design"], p["row"]): [t["text"] for t in p["texts"]]
        for p in report_of(tmp_path / "out")["pieces"]
        if p["row"]
    }
    assert said == {
        ("tag", 2): ["Io"],
        ("tag", 3): ["Bo"],
        ("sprig", 2): ["Pie"],
        ("sprig", 3): ["Soup"],
    }
    proof = (tmp_path / "out" / "proof.html").read_text("utf-8")
    cards = re.findall(r"<h3>Row (\d).*?</h3><p>(\w+), 1 piece", proof)
    assert cards == [("2", "tag"), ("2", "sprig"), ("3", "tag"), ("3", "sprig")]
    ids = re.findall(r'id="([^"]+)"', proof)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'href="#([^"]+)"', proof)) <= set(ids)


def test_two_designs_of_one_name_are_refused(tmp_path: Path) -> None:
    done = command("check", *two_tags(tmp_path, "tag"))
    assert done.exit_code == 2
    assert done.stderr == (
        "--design: two designs are called 'tag' (tag.svg and sprig.svg). Give each its own"
        " name in its design file, and each design once.\n"
    )


def test_columns_that_any_design_needs_are_asked_for(tmp_path: Path) -> None:
    words = two_tags(tmp_path)
    put(tmp_path, {"guests.csv": "nom,plat\nIo,Pie\n"})
    done = command("check", *words)
    assert done.exit_code == 2
    assert done.stderr.count("there is no column headed") == 2
    sources = [word for word in words[1:] if word != "--design"]
    command("starter", *sources, "--out", tmp_path / "empty.csv")
    heading = (tmp_path / "empty.csv").read_text("utf-8-sig").splitlines()[0]
    assert heading == "name,dish,copies"


def test_an_error_in_one_design_keeps_the_whole_kit_of_a_guest_back(tmp_path: Path) -> None:
    words = two_tags(tmp_path)
    long = "Wilhelmina Achterberg-Featherstonehaugh " * 30
    put(tmp_path, {"guests.csv": f"name,dish\nIo,{long}\nBo,Soup\n"})
    done = command("make", *words, "--out", tmp_path / "out", "--leave-out-faulty")
    assert "2 pieces on 2 sheets, 2 left out" in done.stdout
    report = report_of(tmp_path / "out")
    assert [(p["design"], p["row"]) for p in report["pieces"] if p["row"]] == [
        *[("tag", 3), ("sprig", 3)]
    ]
    (error,) = [f for f in report["findings"] if f["severity"] == "error"]
    assert (error["row"], error["design"]) == (2, "sprig")


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


@given(st.lists(st.text("aB -/.é=2", max_size=8), min_size=2, max_size=5))
def test_cut_files_have_names_of_their_own(names: list[str]) -> None:
    stems = cut_stems(names)
    files = [f"{stem}{end}" for stem in stems for end in ("", "-last")]
    assert len({file.casefold() for file in files}) == len(files)
    assert all(re.fullmatch(r"cut-[\w-]+", stem) for stem in stems)


# Bad input

PIECES = {
    "no outline there": (
        '[[piece]]\nname = "leaf"\nat = [70, 2]',
        "line 3: the point [70, 2] of piece 'leaf' lies in no outline of kit.svg.",
    ),
    "one outline twice": (
        '[[piece]]\nname = "a"\nat = [89, 40]\n[[piece]]\nname = "b"\nat = [80, 40]',
        "pieces 'a' and 'b' are the same outline.",
    ),
    "no place": (
        '[[piece]]\nname = "a"',
        "the drawing has 3 pieces, and which of them is 'a' is not told.",
    ),
    "no name": ("[[piece]]\nat = [89, 40]", "a piece has no name."),
    "a name twice": (
        '[[piece]]\nname = "a"\nat = [89, 40]\n[[piece]]\nname = "A"\nat = [20, 30]',
        "two pieces are called 'A'.",
    ),
    "half a piece": (
        '[[piece]]\nname = "a"\nat = [89, 40]\ncount = 0.5',
        "count must be a whole number from 1 to 100, not 0.5.",
    ),
    "a key of none": (
        '[[piece]]\nname = "a"\nat = [89, 40]\ncuont = 2',
        "there is no key cuont in [piece]. Did you mean count?",
    ),
    "a stock of two lines": ('stock = "a\\u0007b"', "stock must be up to 60 letters"),
    "a panel in no piece": (
        '[[panel]]\nname = "front"\nat = [70, 2]',
        "the point [70, 2] of panel 'front' lies outside every piece.",
    ),
    "a panel anywhere": (
        '[[panel]]\nname = "front"',
        "there are 3 pieces, and in which of them panel 'front' lies is not told.",
    ),
    "panels of two pieces face each other": (
        '[[panel]]\nname = "a"\nat = [20, 30]\n[[panel]]\nname = "b"\nat = [89, 40]\n'
        'faces = "a"',
        "panels 'b' and 'a' lie in different pieces ('leaf', 'flag').",
    ),
}


@pytest.mark.parametrize("name", PIECES)
def test_a_wrong_piece_is_told_in_a_sentence(name: str, tmp_path: Path) -> None:
    toml, says = PIECES[name]
    with pytest.raises(personalize.InputError) as caught:
        designs_of(tmp_path, KIT, toml)
    assert says in str(caught.value)
    assert str(caught.value).startswith("kit.toml")


def test_a_crease_over_two_pieces_is_told(tmp_path: Path) -> None:
    svg = drawing(
        line("M2 2H28V38H2Z", "one")
        + line("M32 2H58V38H32Z", "two")
        + line("M2 20H58", "fold")
    )
    with pytest.raises(personalize.InputError, match="a Creasing line runs over 2 pieces"):
        designs_of(tmp_path, svg)


# Inspect


def test_inspect_lists_the_pieces(tmp_path: Path) -> None:
    put(tmp_path, {"kit.svg": KIT})
    said = json.loads(command("inspect", tmp_path / "kit.svg", "--json").stdout)
    assert [(p["name"], p["panels"]) for p in said["pieces"]] == [
        *[("flag", ["front", "back"]), ("leaf", ["front"]), ("label", ["front"])]
    ]
    areas = [piece["area_mm2"] for piece in said["pieces"]]
    assert areas == pytest.approx([2800, math.pi * 480, 1020], rel=2e-3)
    assert [panel["piece"] for panel in said["panels"]] == ["flag", "flag", "leaf", "label"]
    done = command("inspect", tmp_path / "kit.svg", "--picture", tmp_path / "seen.svg")
    assert "3 pieces:\npiece flag: 56.00 x 50.00 mm" in done.stdout
    picture = (tmp_path / "seen.svg").read_text("utf-8")
    assert [f"piece: {name}" in picture for name in ("flag", "leaf", "label")] == [True] * 3


def test_the_design_file_that_inspect_writes_makes_the_same_pieces(tmp_path: Path) -> None:
    strip = line("M153 10H157V50H153Z", "strip-edge")
    bare = designs_of(tmp_path, KIT.replace("</svg>", strip + "</svg>"))
    done = command("inspect", tmp_path / "kit.svg", "--write")
    assert (tmp_path / "kit.toml").is_file(), done.output
    told = personalize.load_designs(tmp_path / "kit.svg")
    assert [one.piece for one in told] == ["flag", "leaf", "label", "strip"]
    for mine, other in zip(told, bare, strict=True):
        assert mine.outline == other.outline
        assert mine.artwork == other.artwork
        assert [p.zone for p in mine.panels] == [p.zone for p in other.panels]
        assert [p.pattern for p in mine.panels] == [p.pattern for p in other.panels]


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


@given(st.text(max_size=30) | st.text("=+-@\t\r\n;,|\"' a＝＋", max_size=12))
def test_no_cell_of_the_pick_list_can_be_a_formula(words: str) -> None:
    """OWASP ASVS 5.0, requirement 1.2.10, for every sign that may end a cell."""
    out = io.StringIO(newline="")
    csv.writer(out, quoting=csv.QUOTE_ALL).writerow(["2", harmless(words), "1"])
    for delimiter in ",;\t|":
        for cell in next(csv.reader(io.StringIO(out.getvalue()), delimiter=delimiter)):
            assert not cell.lstrip(" ").startswith(tuple("=+-@\t\r＝＋－＠")), cell
    assert Counter(harmless(words).replace("'", "")) - Counter(words + " " * 30) == {}
