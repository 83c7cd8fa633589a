"""Several designs in one run, wrong pieces, inspect and the pick list."""

import csv
import io
import json
import math
import re
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import personalize
from personalize.batch import cut_stems
from personalize.output.picklist import harmless
from tests.conftest import command, drawing, line, put
from tests.kits_made import KIT, designs_of, report_of

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


@given(st.lists(st.text("aB -/.é=2", max_size=8), min_size=2, max_size=5))
def test_cut_files_have_names_of_their_own(names: list[str]) -> None:
    stems = cut_stems(names)
    files = [f"{stem}{end}" for stem in stems for end in ("", "-last")]
    assert len({file.casefold() for file in files}) == len(files)
    assert all(re.fullmatch(r"cut-[\w-]+", stem) for stem in stems)


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("İstanbul", "cut-i\u0307stanbul"),  # its small i has a dot as a mark of its own
        ("हिन्दी", "cut-हिन्दी"),
        ("Plant / flag", "cut-plant-flag"),
        ("\u0301", "cut-design"),
    ],
)
def test_letters_keep_their_marks_in_the_name_of_a_file(name: str, stem: str) -> None:
    assert cut_stems([name, "other"])[0] == stem


def test_the_name_of_a_file_is_no_longer_than_disks_take() -> None:
    # 255 bytes (NAME_MAX of most disks). These letters take four bytes each.
    stems = cut_stems(["\U00020000" * 80 + str(n) for n in range(12)])
    assert max(len(f"{stem}-last.svg".encode()) for stem in stems) <= 255
    assert len(set(stems)) == 12


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


@given(st.text(max_size=30) | st.text("=+-@\t\r\n;,|\"' a＝＋", max_size=12))
def test_no_cell_of_the_pick_list_can_be_a_formula(words: str) -> None:
    """OWASP ASVS 5.0, requirement 1.2.10, for every sign that may end a cell."""
    out = io.StringIO(newline="")
    csv.writer(out, quoting=csv.QUOTE_ALL).writerow(["2", harmless(words), "1"])
    for delimiter in ",;\t|":
        for cell in next(csv.reader(io.StringIO(out.getvalue()), delimiter=delimiter)):
            assert not cell.lstrip(" ").startswith(tuple("=+-@\t\r＝＋－＠")), cell
    assert Counter(harmless(words).replace("'", "")) - Counter(words + " " * 30) == {}
