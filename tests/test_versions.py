"""Versions of a design, colours by row, and each row's own picture."""

import json
from pathlib import Path

import pikepdf
import pytest

import personalize
from personalize.checks.kept import read_pieces
from personalize.design.toml_values import parse_colour
from personalize.errors import InputError
from tests.conftest import EDGE, command, drawing, put
from tests.versions_made import (
    BLUE,
    BY_LAYER,
    GREEN,
    GROUND,
    LAYERS,
    RED,
    TOML,
    colour_at,
    near,
    run,
)


def corner(folder: Path, page: int) -> tuple[float, float]:
    """A place on the piece of a page, near its lower left corner, from the top left."""
    report = json.loads((folder / "report.json").read_text("utf-8"))
    a, b, c, d, e, f = report["pieces"][page]["at"]
    x, y = 4.0, 4.0
    return (a * x + c * y + e, report["sheets"][0]["height_mm"] - (b * x + d * y + f))


def test_each_row_shows_its_version_and_an_empty_cell_the_first(tmp_path: Path) -> None:
    rows = "name,version\nIo,mint\nBo,\nZoë, MINT \nAda,sky\n"
    out = run(tmp_path, rows)
    for page, css in enumerate((GREEN, RED, GREEN, BLUE)):
        found = colour_at(out / "print.pdf", page, *corner(out, page))
        assert near(found, css), (page, found)
    told = [piece.version for piece in read_pieces(out / "print.pdf")]
    assert told == ["mint", "plum", "mint", "sky"]


def test_each_version_is_stored_once_and_only_where_it_is_used(tmp_path: Path) -> None:
    out = run(tmp_path, "name,version\nIo,mint\nBo,mint\nZoë,sky\n")
    with pikepdf.open(out / "print.pdf") as pdf:
        stored = pdf.pages[0].Resources.XObject
        assert len(list(stored.keys())) == 2


def test_words_take_the_colour_of_the_row_then_of_the_version(tmp_path: Path) -> None:
    rows = "name,version,text_colour\nIo,plum,\nBo,sky,\nAda,sky,gold\n"
    out = run(tmp_path, rows)
    report = json.loads((out / "report.json").read_text("utf-8"))
    colours = [piece["texts"][0]["colour"] for piece in report["pieces"]]
    # CSS Color 3, 4.3: gold is #ffd700.
    assert colours == ["#000000", "#ffffff", "#ffd700"]


def test_light_words_of_one_row_keep_the_floor_of_light_words(tmp_path: Path) -> None:
    # A cap under the floor: 9 pt is legible dark on light, and not light on dark.
    toml = BY_LAYER + "[type]\nmax_pt = 9\n"
    put(tmp_path, {"tag.toml": toml, "tag.svg": LAYERS})
    rows = tuple(
        personalize.Row(at, ("Io", colour)) for at, colour in ((2, "#000"), (3, "#fff"))
    )
    table = personalize.Table(personalize.Source("list"), ("name", "text_colour"), rows)
    result = personalize.check(table, personalize.load_design(tmp_path / "tag.toml"))
    assert {f.row for f in result.findings if f.rule == "does-not-fit"} == {3}


def test_a_version_may_be_a_drawing_of_its_own(tmp_path: Path) -> None:
    other = drawing(GROUND.format(id="x", fill=GREEN) + EDGE)
    toml = TOML + '[[version]]\nname = "a"\n[[version]]\nname = "b"\nsvg = "other.svg"\n'
    out = run(tmp_path, "name,version\nIo,a\nBo,b\n", toml, **{"other.svg": other})
    found = [colour_at(out / "print.pdf", page, *corner(out, page)) for page in (0, 1)]
    assert near(found[0], RED)
    assert near(found[1], GREEN)


@pytest.mark.parametrize(
    ("toml", "says"),
    [
        ('[[version]]\nname = "b"\nsvg = "other.svg"\n', "drawn for other lines"),
        ('[[version]]\nname = "b"\nsvg = "none.svg"\n', "there is no file 'none.svg'"),
        ('[[version]]\nname = "b"\nsvg = "../tag.svg"\n', "lies outside its folder"),
        ('[[version]]\nname = "b"\nshow = "#nothing"\n', "nothing in tag.svg matches"),
        ('[[version]]\nname = "b"\nshow = "##"\n', "is not a CSS selector"),
        ('[[version]]\nsvg = "tag.svg"\n', "a version has no name"),
        ('[[version]]\nname = "b"\n[[version]]\nname = "B"\n', "two versions are called"),
        ('[[version]]\nname = "b"\nshow = 3\n', "show must be a CSS selector"),
        ('[[version]]\nname = "b"\nlayer = "x"\n', "there is no key layer"),
        ("version = 3\n", "a version must be a table of its own"),
        ('[picture]\nfit = "cover"\n', "needs either an area or a box"),
        ('[picture]\narea = "#edge"\nbox = [1, 1, 2, 2]\n', "either an area or a box"),
        ("[picture]\nbox = [1, 1, 0, 2]\n", "box must be four numbers"),
        ('[picture]\narea = "#none"\n', "names 0 lines"),
        ('[picture]\narea = "##"\n', "is not a CSS selector"),
        ('[picture]\narea = "#edge"\nfit = "stretch"\n', "fit cannot be 'stretch'"),
        ("[picture]\nbox = [0, 0, 60, 40]\n", "has no room for text"),
        ("[picture]\nbox = [1, 1, 1e-300, 1e-300]\n", "box must be four numbers"),
        ("[picture]\nbox = [500, 1, 9, 9]\n", "outside the piece"),
        ('[picture]\narea = "#bow"\n', "crosses itself at 15.0 mm across, 15.0 mm down"),
        ('[picture]\narea = "#flat"\n', "a shape of less than 1 mm2"),
        ('[[version]]\nname = "b"\nsvg = "."\n', "there is no file '.'"),
        (f'[[version]]\nname = "b"\nsvg = "{"b" * 400}"\n', "there is no file 'bbb"),
    ],
)
def test_a_wrong_key_is_told_in_one_sentence(toml: str, says: str, tmp_path: Path) -> None:
    wider = drawing(EDGE.replace('width="56"', 'width="50"'))
    head = toml + TOML if toml.startswith("version") else TOML + toml
    lines = (
        '<path id="bow" d="M10 10L20 20L20 10L10 20Z"/><path id="flat" d="M10 10L20 20Z"/>'
    )
    own = LAYERS.replace("</svg>", lines + "</svg>")
    put(tmp_path, {"tag.toml": head, "tag.svg": own, "other.svg": wider})
    with pytest.raises(InputError) as caught:
        personalize.load_design(tmp_path / "tag.toml")
    assert [p for p in caught.value.problems if says in p.says], caught.value.problems


def test_what_a_row_cannot_choose_is_told_with_its_row(tmp_path: Path) -> None:
    put(tmp_path, {"tag.toml": BY_LAYER, "tag.svg": LAYERS})
    rows = "name,version,text_colour\nIo,mnt,\nBo,,shiny\nAda,,transparent\nZoë,sky,#123\n"
    (tmp_path / "list.csv").write_text(rows, "utf-8")
    done = command(
        "check", tmp_path / "list.csv", "--design", tmp_path / "tag.toml", "--json"
    )
    found = json.loads(done.stdout)["findings"]
    assert done.exit_code == 1
    assert [
        (f["rule"], f["row"], f["column"]) for f in found if f["severity"] == "error"
    ] == [
        ("unknown-version", 2, "version"),
        ("not-a-colour", 3, "text_colour"),
        ("not-a-colour", 4, "text_colour"),
    ]
    assert found[0]["do"] == "Did you mean 'mint'?"


def test_columns_that_change_nothing_are_told_once(tmp_path: Path) -> None:
    put(tmp_path, {"tag.toml": TOML, "tag.svg": LAYERS})
    rows = tuple(personalize.Row(at, ("Io", "plum", "io.png")) for at in (2, 3))
    table = personalize.Table(
        personalize.Source("list"), ("name", "version", "picture"), rows
    )
    result = personalize.check(table, personalize.load_design(tmp_path / "tag.toml"))
    told = [(f.rule, f.figures["rows"]) for f in result.findings if "unused" in f.rule]
    assert sorted(told) == [("picture-unused", 2), ("version-unused", 2)]


TWO = '[[version]]\nname = "a"\n[[version]]\nname = "b"\nsvg = "other.svg"\n'
LINE = '<{} class="cut" fill="none" stroke="#000"/>'


def test_a_mirrored_outline_is_another_one(tmp_path: Path) -> None:
    # Box and length are the same; only the notch is on the other side.
    right = drawing(LINE.format('path id="edge" d="M2 2H58L50 20L58 38H2Z"'))
    left = drawing(LINE.format('path id="edge" d="M58 2H2L10 20L2 38H58Z"'))
    put(tmp_path, {"tag.toml": TOML + TWO, "tag.svg": right, "other.svg": left})
    with pytest.raises(InputError, match="drawn for other lines"):
        personalize.load_design(tmp_path / "tag.toml")


def test_holes_may_be_drawn_in_another_order(tmp_path: Path) -> None:
    edge, one, other = (
        LINE.format(shape)
        for shape in (
            'rect x="2" y="2" width="56" height="36"',
            'circle cx="8" cy="20" r="3"',
            'circle cx="52" cy="20" r="3"',
        )
    )
    toml = (TOML + TWO).replace("#edge", ".cut")
    first, second = drawing(edge + one + other), drawing(other + one + edge)
    put(tmp_path, {"tag.toml": toml, "tag.svg": first, "other.svg": second})
    design = personalize.load_design(tmp_path / "tag.toml")
    assert [version.name for version in design.versions] == ["a", "b"]


def test_a_layer_inside_one_of_another_version_is_refused(tmp_path: Path) -> None:
    # It would be hidden with what stands round it, and nobody would be told.
    inside = f'<g id="plum">{GROUND.format(id="mint", fill=GREEN)}</g>{EDGE}'
    toml = TOML + "".join(
        f'[[version]]\nname = "{name}"\nshow = "#{name}"\n' for name in ("plum", "mint")
    )
    put(tmp_path, {"tag.toml": toml, "tag.svg": drawing(inside)})
    with pytest.raises(InputError, match="in a layer of another version"):
        personalize.load_design(tmp_path / "tag.toml")
    toml = toml.replace('"#mint"', '["#plum", "#mint"]')
    put(tmp_path, {"tag.toml": toml})
    assert len(personalize.load_design(tmp_path / "tag.toml").versions) == 2


def test_what_a_version_leaves_out_is_told_with_its_own_line(tmp_path: Path) -> None:
    link = '\n<image href="far.png" width="9" height="9"/>\n<g display="none" id="old"/>'
    layers = LAYERS.replace(EDGE, link + EDGE)
    other = drawing(f"\n\n{link}{EDGE}")
    by_file = '[[version]]\nname = "own"\nsvg = "other.svg"\n'
    put(
        tmp_path,
        {"tag.toml": BY_LAYER + by_file, "tag.svg": layers, "other.svg": other},
    )
    told = personalize.load_design(tmp_path / "tag.toml").left_out
    assert told == (
        "<image> is a link to outside the file (line 2)",
        '<g id="old"> is hidden (display: none) (line 3)',
        "in other.svg <image> is a link to outside the file (line 4)",
        'in other.svg <g id="old"> is hidden (display: none) (line 5)',
    )


def test_colours_past_the_range_of_ink_are_clipped() -> None:
    # CSS Color 3, 4.2.1: "values outside the device gamut should be clipped".
    clipped = [parse_colour(text) for text in ("rgb(300, -5, 0)", "hsl(0, 100%, 150%)")]
    assert [colour and colour.css for colour in clipped] == ["#ff0000", "#ffffff"]
