"""Sheets that designs share: the pieces of a guest side by side, print and cut agreeing."""

import csv
import io
import json
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely
from svgelements import SVG
from svgelements import Path as SvgPath

import personalize
from personalize.checks.kept import read_pieces
from personalize.errors import WallError
from personalize.sheet.cut_layouts import CutLayout, cut_layouts
from personalize.sheet.plan import Plan
from personalize.sheet.rules import SheetRules
from tests.conftest import SAMPLES, command, drawing, line, put, snapshot
from tests.kits_made import GUESTS, KIT, TOLD, report_of
from tests.outside import Pdfium

PAGE = [0, 0, 210, 297]
PICNIC = "name,dish\n" + "".join(
    f"{name},Soup {n}\n"
    for n, name in enumerate(["Io", "Bo", "Wilhelmina", "Noor", "Al"], 1)
)


def asked(folder: Path, *names: str) -> list[str | Path]:
    """Put a tag and a leaf with a crease, and give the words that make both by guest."""
    toml = '[[panel]]\nname = "front"\ntext = "{%s}"\n'
    tag = drawing(line("M2 2H58V38H2Z", "edge") + line("M30 2V38", "fold"))
    put(
        folder,
        {
            "tag.svg": tag,
            "tag.toml": 'name = "Tag"\n'
            + (toml % "name").replace("text", "at = [40, 20]\ntext"),
            "leaf.svg": drawing(line("M2 2H42L50 20L42 38H2Z", "edge")),
            "leaf.toml": 'name = "Leaf"\n' + toml % "dish",
            "guests.csv": PICNIC,
        },
    )
    words: list[str | Path] = [folder / "guests.csv", "--by-guest"]
    for name in names or ("tag", "leaf"):
        words += ["--design", folder / f"{name}.toml"]
    return words


def made(folder: Path, *words: str | Path) -> dict[str, Any]:
    done = command("make", *words, "--out", folder / "out")
    assert done.exit_code in (0, 1), done.output
    return report_of(folder / "out")


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A run of two designs by guest, with every file that follows pieces."""
    folder = tmp_path_factory.mktemp("by-guest")
    words = asked(folder)
    made(folder, *words, "--also", "picklist,dxf,together,shop")
    return folder / "out"


def together_on(report: dict[str, Any]) -> dict[int, set[int]]:
    """Give the sheets of each row."""
    sheets = defaultdict(set)
    for piece in report["pieces"]:
        if piece["row"]:
            sheets[piece["row"]].add(piece["sheet"])
    return sheets


def test_all_pieces_of_a_guest_lie_on_one_sheet(run: Path) -> None:
    report = report_of(run)
    assert all(len(own) == 1 for own in together_on(report).values())
    count = Counter((p["row"], p["design"]) for p in report["pieces"] if p["row"])
    assert count == {(row, name): 1 for row in range(2, 7) for name in ("Tag", "Leaf")}
    read = Counter((p.row, p.design) for p in read_pieces(run / "print.pdf") if p.row)
    assert read == count
    words = {
        (p["row"], p["design"]): [t["text"] for t in p["texts"]] for p in report["pieces"]
    }
    assert words[4, "Tag"] == ["Wilhelmina"]
    assert words[4, "Leaf"] == ["Soup 3"]


def test_the_sheet_says_whose_it_is_and_where_its_lines_are(run: Path) -> None:
    report = report_of(run)
    assert {tuple(sheet["designs"]) for sheet in report["sheets"]} == {("Tag", "Leaf")}
    assert {sheet["cut_file"] for sheet in report["sheets"]} == {"cut.svg"}
    pdf = Pdfium(run / "print.pdf")
    words = " ".join(pdf.text(1, PAGE).split())
    assert f"Tag and Leaf, sheet 1 of {len(report['sheets'])}" in words


def test_the_cut_file_has_every_line_where_the_pieces_are(run: Path) -> None:
    """Read by two other libraries; pieces as the report says that they lie."""
    first = [p for p in report_of(run)["pieces"] if p["sheet"] == 1]
    designs = {
        one.name: one
        for name in ("tag", "leaf")
        for one in personalize.load_designs(run.parent / f"{name}.toml")
    }
    wanted = []
    for piece in first:
        a, b, c, d, e, f = piece["at"]
        for drawn in designs[piece["design"]].lines:
            points = [
                (a * x + c * y + e, b * x + d * y + f)
                for x, y in drawn.contour.flattened(0.01)
            ]
            wanted.append(shapely.LineString(points).bounds)
    drawn = SVG.parse(str(run / "cut.svg"), ppi=25.4, reify=True)
    boxes = [one.bbox() for one in drawn.elements() if isinstance(one, SvgPath)]
    found = [(x0, 297 - y1, x1, 297 - y0) for x0, y0, x1, y1 in boxes]
    assert len(found) == len(wanted)
    for box in wanted:  # each once; sorted by numbers with noise they would not pair
        near = [one for one in found if one == pytest.approx(box, abs=0.01)]
        assert near, box
        found.remove(near[0])
    lines = ezdxf.readfile(run / "cut.dxf").modelspace().query("LWPOLYLINE")
    assert len(lines) == len(wanted)


def test_the_pick_list_names_neighbours_on_one_sheet(run: Path) -> None:
    text = (run / "picklist.csv").read_text("utf-8-sig")
    picks = list(csv.DictReader(io.StringIO(text)))
    for first, second in zip(picks[::2], picks[1::2], strict=True):
        assert (first["row"], first["sheet"]) == (second["row"], second["sheet"])
        assert (first["design"], second["design"]) == ("Tag", "Leaf")
        assert int(second["place"]) == int(first["place"]) + 1


def test_the_proof_shows_each_piece_once(run: Path) -> None:
    proof = (run / "proof.html").read_text("utf-8")
    for row in range(2, 7):
        assert proof.count(f"<h3>Row {row}") == 2


def test_the_wall_notices_two_designs_that_changed_places(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def swapped(plan: Plan, count: int, rules: Any) -> tuple[CutLayout, ...]:
        other = Plan(
            plan.members[::-1],
            plan.kit,
            plan.rules,
            plan.arrangement,
            plan.spacing_mm,
            plan.marks,
            plan.slots,
        )
        return cut_layouts(other, count, rules)

    monkeypatch.setattr("personalize.cut_files.cut_layouts", swapped)
    asked(tmp_path)
    designs = [
        one
        for name in ("tag", "leaf")
        for one in personalize.load_designs(tmp_path / f"{name}.toml")
    ]
    table = personalize.read_table(tmp_path / "guests.csv")
    sheets = personalize.SheetRules(personalize.parse_paper("A4"), by_guest=True)
    with pytest.raises(WallError):
        personalize.make(
            table, designs, tmp_path / "out", personalize.Options(sheets=sheets)
        )
    assert not (tmp_path / "out").exists()


def test_copies_and_pieces_of_a_guest_make_kits(tmp_path: Path) -> None:
    # The flag and the label are of one stock; of the leaf there are two to a guest.
    put(tmp_path, {"kit.svg": KIT, "kit.toml": TOLD, "guests.csv": GUESTS})
    words = (tmp_path / "guests.csv", "--design", tmp_path / "kit.toml", "--by-guest")
    report = made(tmp_path, *words)
    assert [(s["designs"], s["stock"]) for s in report["sheets"]] == [
        (["Bean kit / flag", "Bean kit / label"], "white card 220"),
        (["Bean kit / leaf"], "green paper"),
    ]
    cut = {s["cut_file"] for s in report["sheets"]}
    assert cut == {"cut-bean-kit.svg", "cut-bean-kit-leaf.svg"}
    one_stock = TOLD.replace('stock = "green paper"\n', "")
    put(tmp_path, {"kit.toml": one_stock})
    (tmp_path / "again").mkdir()
    report = made(tmp_path / "again", *words)
    kits = Counter((p["row"], p["copy"]) for p in report["pieces"] if p["row"])
    for row, copies in {2: 2, 3: 1, 5: 3}.items():
        numbers = {copy for own, copy in kits if own == row}
        assert numbers == set(range(1, 2 * copies + 1))
    on = [p["design"].removeprefix("Bean kit / ") for p in report["pieces"]]
    assert on == ["flag", "leaf", "leaf", "label"] * (len(on) // 4)
    for start in range(0, len(on), 4):
        rows = {p["row"] for p in report["pieces"][start : start + 4]}
        assert len(rows) == 1


def test_piles_deal_out_whole_kits(tmp_path: Path) -> None:
    words = asked(tmp_path)
    guests = "name,dish\n" + "".join(f"G{n},D{n}\n" for n in range(40))
    put(tmp_path, {"guests.csv": guests})
    report = made(tmp_path, *words, "--order", "piles")
    assert all(len(own) == 1 for own in together_on(report).values())
    sheets = len(report["sheets"])
    assert sheets > 1
    first = {s["number"]: None for s in report["sheets"]}
    for piece in report["pieces"]:
        if first[piece["sheet"]] is None:
            first[piece["sheet"]] = piece["row"]
    # The first pile has the first rows, from the top sheet down.
    assert list(first.values()) == list(range(2, sheets + 2))


def test_a_few_rows_share_sheets_by_themselves(tmp_path: Path) -> None:
    words = [word for word in asked(tmp_path) if word != "--by-guest"]
    report = made(tmp_path, *words, "--rows", "3,4")
    assert len(report["sheets"]) == 1
    assert len([p for p in report["pieces"] if p["row"]]) == 4
    (told,) = (f for f in report["findings"] if f["rule"] == "shared-sheets")
    assert told["says"] == "These rows share 1 sheet; with sheets for each design: 2."
    (tmp_path / "all").mkdir()
    every = made(tmp_path / "all", *words)
    assert len(every["sheets"]) == 2
    (told,) = (f for f in every["findings"] if f["rule"] == "shared-sheets")
    assert told["says"].endswith("it would take 1 sheet, not 2.")
    sizes = {
        (p["row"], t["text"]): t["size_pt"] for p in every["pieces"] for t in p["texts"]
    }
    for piece in report["pieces"]:
        for text in piece["texts"]:
            assert text["size_pt"] == sizes[piece["row"], text["text"]]


def test_what_costs_paper_is_told(tmp_path: Path) -> None:
    rows = (SAMPLES / "picnic.csv").read_text("utf-8").splitlines()[:21]
    put(tmp_path, {"guests.csv": "\n".join(rows)})
    names = ("plant-flag", "herb-tag", "jar-lid")
    words = [tmp_path / "guests.csv", "--no-proof"]
    words += [word for name in names for word in ("--design", name)]
    report = made(tmp_path, *words, "--by-guest")
    (tmp_path / "apart").mkdir()
    apart = made(tmp_path / "apart", *words)
    (told,) = (f for f in report["findings"] if f["rule"] == "shared-sheets")
    by_guest, own = len(report["sheets"]), len(apart["sheets"])
    assert own < by_guest
    assert f"it takes {by_guest} sheets, {own} without" in told["says"]
    assert not [f for f in apart["findings"] if f["rule"] == "shared-sheets"]


def test_kits_too_large_for_a_sheet_are_told(tmp_path: Path) -> None:
    done = command(
        *("make", *asked(tmp_path), "--paper", "75x60mm", "--marks", "none"),
        *("--out", tmp_path / "out"),
    )
    assert done.exit_code == 2
    assert done.stderr.startswith("--by-guest: ")
    assert len(done.stderr.splitlines()) == 1
    assert "Tag" in done.stderr
    assert "Leaf" in done.stderr
    assert not (tmp_path / "out").exists()


def test_labels_are_not_shared(tmp_path: Path) -> None:
    labels = "rows = 4\ncolumns = 2\nfirst_mm = [20, 20]\nsize_mm = [70, 50]\n"
    labels += "pitch_mm = [80, 60]\n"
    put(tmp_path, {"labels.toml": labels})
    done = command(
        *("make", *asked(tmp_path), "--labels", tmp_path / "labels.toml"),
        *("--out", tmp_path / "out"),
    )
    assert done.exit_code == 2
    assert "--by-guest" in done.stderr


def test_one_design_alone_is_laid_out_as_ever(tmp_path: Path) -> None:
    asked(tmp_path, "tag")
    table = personalize.read_table(tmp_path / "guests.csv")
    design = personalize.load_design(tmp_path / "tag.svg")
    for name, by_guest in (("out", True), ("plain", False)):
        rules = SheetRules(personalize.parse_paper("A4"), by_guest=by_guest)
        personalize.make(table, design, tmp_path / name, personalize.Options(rules))
    assert snapshot(tmp_path / "out") == snapshot(tmp_path / "plain")


def test_where_no_designs_can_share_sheets_the_option_is_refused(tmp_path: Path) -> None:
    words = asked(tmp_path, "tag")
    for stage in (("check",), ("make", "--out", tmp_path / "out")):
        done = command(stage[0], *words, *stage[1:])
        assert done.exit_code == 2
        assert done.stderr == (
            "--by-guest: there is one design, and no other to share its sheets. Leave it"
            " out, or name the other designs too.\n"
        )
    words = asked(tmp_path)
    for name, stock in (("tag", "card"), ("leaf", "kraft")):
        file = tmp_path / f"{name}.toml"
        text = file.read_text("utf-8")
        file.write_text(text.replace("[[panel]]", f'stock = "{stock}"\n[[panel]]', 1))
    done = command("make", *words, "--out", tmp_path / "out")
    assert done.exit_code == 2
    assert done.stderr.startswith(
        "--by-guest: no two designs have the same stock (Tag: card, Leaf: kraft),"
    )
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "more",
    [
        ("--by-hand", "scissors"),
        ("--backing", "2"),
        ("--mirror",),
        ("--around", "3"),
        ("--nicks", "3"),
    ],
)
def test_what_else_a_sheet_can_be_goes_with_it(
    more: tuple[str, ...], tmp_path: Path
) -> None:
    report = made(tmp_path, *asked(tmp_path), *more)
    assert all(len(own) == 1 for own in together_on(report).values())
    read = Counter((p.row, p.design) for p in read_pieces(tmp_path / "out" / "print.pdf"))
    assert all(read[row, name] for row in range(2, 7) for name in ("Tag", "Leaf"))


def test_backs_lie_behind_their_own_fronts(tmp_path: Path) -> None:
    words = ["--design", SAMPLES / "herb-tag-both.toml", "--design", "jar-lid"]
    report = made(
        tmp_path, SAMPLES / "picnic.csv", *words, "--by-guest", "--two-sided", "upright"
    )
    assert all(len(own) == 1 for own in together_on(report).values())
    tags = [p for p in report["pieces"] if p["design"] == "Two-sided herb tag" and p["row"]]
    assert tags
    for piece in report["pieces"]:
        assert (piece["back"] is not None) == (piece["design"] == "Two-sided herb tag")
    # Turned over an upright edge, what is left on the front is right on the back.
    for tag in tags:
        x0, _, x1, _ = shapely.MultiPoint(_ink(tag["texts"])).bounds
        back0, _, back1, _ = shapely.MultiPoint(_ink(tag["back"]["texts"])).bounds
        assert (x0 + x1) / 2 + (back0 + back1) / 2 == pytest.approx(210, abs=25)


def _ink(texts: list[dict[str, Any]]) -> list[tuple[float, float]]:
    boxes = [text["ink_mm"] for text in texts]
    return [point for x0, y0, x1, y1 in boxes for point in ((x0, y0), (x1, y1))]


def test_folded_first_both_are_cut_by_hand(tmp_path: Path) -> None:
    folded = drawing(line("M2 2H58V38H2Z", "edge") + line("M2 20H58", "fold"))
    words = asked(tmp_path)
    toml = 'name = "Leaf"\n[[panel]]\nname = "front"\nat = [20, 30]\ntext = "{dish}"\n'
    put(tmp_path, {"leaf.svg": folded, "leaf.toml": toml})
    report = made(tmp_path, *words, "--by-hand", "fold-first")
    assert all(len(own) == 1 for own in together_on(report).values())
    pdf = Pdfium(tmp_path / "out" / "print.pdf")
    told = " ".join(pdf.text(1, PAGE).split())
    assert "Tag and Leaf, sheet 1 of 1, rows 2-6." in told
    assert "Fold from tick to tick." in told


def test_two_runs_are_the_same_bytes(run: Path, tmp_path: Path) -> None:
    words = asked(tmp_path)
    made(tmp_path, *words, "--also", "picklist,dxf,together,shop")
    assert snapshot(tmp_path / "out") == snapshot(run)


def test_a_check_counts_the_sheets_that_are_made(run: Path, tmp_path: Path) -> None:
    done = command("check", *asked(tmp_path), "--json")
    said = json.loads(done.stdout)
    made_here = report_of(run)
    assert said["sheets"] <= len(made_here["sheets"])
    assert said["pieces"] == sum(p["row"] is not None for p in made_here["pieces"])
