"""Backs of designs: what is drawn and said on the other side of a piece."""

import io
import json
from pathlib import Path
from typing import Any

import jsonschema
import pikepdf
import pytest
from PIL import Image

import personalize
from personalize.checks.kept import read_pieces
from personalize.design.artwork_render import render_artwork
from personalize.design.design import Artwork, Design
from personalize.errors import InputError
from personalize.sheet.backs import Flip
from personalize.sheet.rules import SheetRules
from tests.conftest import ROOT, command, drawing, line, put
from tests.two_sided import BACK, BEHIND, EDGE, FRONT, TOML, TURNED_EDGE, tag

A5 = personalize.parse_paper("A5")
OVER = SheetRules(A5, flip=Flip.UPRIGHT)


def loaded(folder: Path, toml: str = TOML + BACK, svg: str = FRONT + BEHIND) -> Design:
    return personalize.load_design(tag(folder, toml, svg))


def behind(folder: Path, toml: str = TOML + BACK, svg: str = FRONT + BEHIND) -> Design:
    back = loaded(folder, toml, svg).back
    assert back is not None
    return back


def refused(folder: Path, toml: str, svg: str = FRONT + BEHIND) -> str:
    with pytest.raises(InputError) as told:
        loaded(folder, toml, svg)
    return str(told.value)


def make(
    folder: Path, *more: str, name: str = "out", proof: bool = False
) -> tuple[Path, str]:
    more = more if proof else (*more, "--no-proof")
    words = ("make", folder / "list.csv", "--design", folder / "ell.toml", *more)
    sheets = ("--paper", "A5", "--two-sided", "upright")
    done = command(*words, *sheets, "--out", folder / name)
    assert done.exit_code in (0, 1), done.output
    return folder / name, done.output


def colour(artwork: Artwork, x_mm: float, y_mm: float) -> tuple[int, ...]:
    """Colour of a picture at a place in piece mm, on white."""
    drawn = render_artwork(artwork.svg, 4, name="a", fonts=artwork.fonts)
    picture = Image.open(io.BytesIO(drawn)).convert("RGBA")
    paper = Image.new("RGBA", picture.size, "white")
    shown = Image.alpha_composite(paper, picture).convert("RGB")
    x0, _, _, y1 = artwork.box_mm
    found = shown.getpixel((round((x_mm - x0) * 4), round((y1 - y_mm) * 4)))
    assert isinstance(found, tuple)
    return found


def report(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "report.json").read_text("utf-8"))
    schema = json.loads((ROOT / "docs" / "report.schema.json").read_text("utf-8"))
    jsonschema.validate(found, schema)
    return found


def test_each_side_shows_its_own_layers_and_none_of_the_other(tmp_path: Path) -> None:
    design = loaded(tmp_path)
    back = design.back
    assert back is not None
    assert (
        colour(design.artwork, 10, 10) == colour(design.artwork, 45, 10) == (34, 170, 102)
    )
    assert colour(back.artwork, 10, 10) == (204, 102, 34)
    assert colour(back.artwork, 45, 10) == (0, 0, 0)  # its blot
    assert not design.left_out
    assert not back.left_out


def test_a_back_is_the_front_with_left_and_right_changed_over(tmp_path: Path) -> None:
    design = loaded(tmp_path)
    back = design.back
    assert back is not None
    assert back.box_mm == pytest.approx(design.box_mm)
    assert design.silhouette.contains((10, 10))
    assert not design.silhouette.contains((50, 10))
    assert back.silhouette.contains((50, 10))
    assert not back.silhouette.contains((10, 10))
    assert back.silhouette.area_mm2 == pytest.approx(design.silhouette.area_mm2)
    assert [panel.name for panel in back.panels] == ["note"]


def test_what_one_side_may_be_off_is_kept_besides_every_margin(tmp_path: Path) -> None:
    """1.5 mm on a home printer: common practice, no source."""
    bled = TOML.replace("bleed = 0", "bleed = 2") + BACK
    design = loaded(tmp_path, bled)
    back = design.back
    assert back is not None
    assert (design.margins.outline, back.margins.outline) == (2.5, 4.0)
    assert (design.margins.hole, back.margins.hole) == (3.0, 4.5)
    assert (design.margins.bleed, back.margins.bleed) == (
        2.0,
        2.2,
    )  # 0.7 of the cut, and 1.5
    x0, y0, x1, y1 = back.panels[0].zone.box
    assert (x0, y0, x1, y1) == pytest.approx((9, 9, 51, 31), abs=0.03)
    near = personalize.load_design(tmp_path / "ell.toml", two_sided_shift_mm=0.5).back
    assert near is not None
    assert (near.margins.outline, near.margins.bleed) == (3.0, 2.0)
    table = personalize.read_table(tmp_path / "list.csv")
    close = SheetRules(A5, spacing_mm=3, flip=Flip.UPRIGHT)
    found = personalize.check(table, design, personalize.Options(close)).findings
    (narrow,) = [one for one in found if one.rule == "narrow-bleed"]
    assert narrow.design == "ell, back"
    assert narrow.figures["bleed_mm"] == 1.5
    assert "give a spacing of 4.4 mm" in narrow.do.lower()


def test_a_record_or_an_option_says_how_far_a_side_may_be_off(tmp_path: Path) -> None:
    tag(tmp_path)
    put(tmp_path, {"kitchen.toml": "two_sided_shift_mm = 3\n"})
    boxes = []
    for name, more in (
        ("usual", ()),
        ("kitchen", ("--machine", str(tmp_path / "kitchen.toml"))),
        ("told", ("--machine", str(tmp_path / "kitchen.toml"), "--two-sided-shift", "0")),
    ):
        out, _ = make(tmp_path, *more, name=name)
        piece = report(out)["pieces"][0]
        boxes.append(piece["back"]["texts"][0]["zone_mm2"])
        assert piece["texts"][0]["zone_mm2"] > piece["back"]["texts"][0]["zone_mm2"] - 0.1
    assert boxes[1] < boxes[0] < boxes[2]
    words = ("check", tmp_path / "list.csv", "--design", tmp_path / "ell.toml")
    done = command(*words, "--two-sided-shift", "far")
    assert done.exit_code == 2
    assert "'far' is no distance from 0 to 10 mm" in done.stderr


def test_a_drawing_of_its_own_is_found_wherever_the_piece_lies_in_it(
    tmp_path: Path,
) -> None:
    moved = drawing(
        f'<g transform="translate(7 9)">{BEHIND}{line(TURNED_EDGE)}</g>', 80, 70
    )
    put(tmp_path, {"other.svg": moved})
    toml = (
        TOML + '[back]\nsvg = "other.svg"\n[[back.panel]]\nname = "note"\nat = [52, 21]\n'
    )
    back = behind(tmp_path, toml, FRONT)
    assert back.file == "other.svg"
    # The front's left edge at x 5 is the right one of the back, at 55 + 7.
    assert back.turned((5.0, 35.0)) == pytest.approx((62, 70 - 9 - 5))
    made, _ = make(tmp_path)
    assert [p["back"]["texts"][0]["text"] for p in report(made)["pieces"][:2]] == [
        "Sown in May",
        "Water it",
    ]


@pytest.mark.parametrize(
    "edge",
    [line(EDGE), line("M55 5H5V16H35V35H55Z"), ""],
    ids=["not turned", "wider", "none"],
)
def test_a_drawing_of_another_piece_is_refused(tmp_path: Path, edge: str) -> None:
    put(tmp_path, {"other.svg": drawing(BEHIND + edge)})
    told = refused(tmp_path, TOML + '[back]\nsvg = "other.svg"\n', FRONT)
    assert "the lines in other.svg are not the front's as they are seen from behind" in told
    assert "ell.toml, line 10" in told


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("[back]\ncolour = 'red'\n", "there is no key colour in [back]"),
        ("[back]\nsvg = 'a.svg'\nshow = '#behind'\n", "Keep one of them"),
        ("[back]\nshow = '#behind'\npage = 2\n", "Keep one of them"),
        ("[back]\nfile = 'a.gif'\n", "the picture 'a.gif' is no PDF, PNG or JPEG file"),
        ("[back]\npage = 2\n", "a page of no file is asked for"),
        ("[back]\nshow = '#nothing'\n", "nothing in ell.svg matches show = '#nothing'"),
        ("[back]\nshow = 3\n", "show must be a CSS selector in quotes"),
        ("[back]\nsvg = 'none.svg'\n", "none.svg"),
        ("back = 3\n", "back must be a table"),
        ("[[back.panel]]\nname = 'a'\nfaces = 'b'\n[[back.panel]]\nname = 'b'\n", "cannot"),
        ("[[back.panel]]\nat = [3, 4]\n", "a panel has no name"),
        ("[back.type]\nmax_pt = 'large'\n", "max_pt must be a number"),
        ("[[back.panel]]\nname = 'note'\nat = [1, 1]\n", "lies outside the piece"),
    ],
)
def test_mistakes_under_back_are_told_with_their_line(
    tmp_path: Path, more: str, says: str
) -> None:
    toml = more + TOML if more.startswith("back") else TOML + more
    told = refused(tmp_path, toml)
    assert says in told
    assert "ell.toml, line" in told or "none.svg" in told


def test_one_of_several_pieces_has_no_back(tmp_path: Path) -> None:
    two = '<path id="edge" d="M2 2H20V20H2Z M30 2H50V20H30Z" fill="none" stroke="#000"/>'
    put(tmp_path, {"two.svg": drawing(two)})
    put(tmp_path, {"two.toml": '[lines]\nCutting = "#edge"\n[back]\n'})
    with pytest.raises(InputError, match="the drawing has 2 pieces, and only a drawing of"):
        personalize.load_designs(tmp_path / "two.toml")


def test_a_back_needs_no_picture(tmp_path: Path) -> None:
    bare = TOML + '[[back.panel]]\nname = "note"\nat = [45, 12]\n'
    back = behind(tmp_path, bare, FRONT)
    assert colour(back.artwork, 20, 10) == (255, 255, 255)
    made, _ = make(tmp_path)
    assert report(made)["pieces"][0]["back"]["texts"][0]["text"] == "Sown in May"


ONE = '[[version]]\nname = "Mint"\nshow = "#mint"\n'
VERSIONS = ONE + ONE.replace("Mint", "Dill").replace("mint", "dill")
LAYERS = '<rect id="mint" width="60" height="40" fill="#0a1"/>' + (
    '<rect id="dill" width="60" height="40" fill="#0a2"/>'
    '<rect id="b-mint" width="60" height="40" fill="#0b1"/>'
    '<rect id="b-dill" width="60" height="40" fill="#0b2"/>'
)


def test_versions_of_both_sides_go_together(tmp_path: Path) -> None:
    own = (
        '[back]\n[[back.version]]\nname = "dill"\nshow = "#b-dill"\n'
        '[[back.version]]\nname = "mint"\nshow = "#b-mint"\n'
    )
    design = loaded(tmp_path, TOML + VERSIONS + own, FRONT + LAYERS)
    back = design.back
    assert back is not None
    for side, green in ((design, 0xAA), (back, 0xBB)):
        for name, blue in (("Mint", 0x11), ("Dill", 0x22)):
            assert colour(side.artwork_of(name), 20, 10) == (0, green, blue)
    put(tmp_path, {"list.csv": "front,version\nAda,\nBo,dill\n"})
    made, _ = make(tmp_path)
    told = [(p["version"], p["back"]["version"]) for p in report(made)["pieces"][:2]]
    assert told == [("Mint", "Mint"), ("Dill", "Dill")]
    lacking = own[: own.index('[[back.version]]\nname = "mint"')]
    says = refused(tmp_path, TOML + VERSIONS + lacking, FRONT + LAYERS)
    assert "the back lacks version 'Mint'" in says
    shared = behind(
        tmp_path, TOML + VERSIONS + '[back]\nshow = "#b-mint"\n', FRONT + LAYERS
    )
    assert shared.versions == ()
    alone = behind(tmp_path, TOML + own, FRONT + LAYERS)
    assert [version.name for version in alone.versions] == ["dill", "mint"]


def test_numbered_backs_follow_their_fronts_and_the_other_way_round(tmp_path: Path) -> None:
    numbered = BACK + 'text = "{n} of {total}"\n'
    for name, toml in (
        ("back", TOML + numbered),
        ("front", TOML + 'text = "{front} {n}"\n' + BACK),
    ):
        tag(tmp_path, toml)
        put(tmp_path, {"list.csv": "front,note,copies\nAda,May,2\nBo,Water,1\n"})
        made, _ = make(tmp_path, name=name)
        pieces = [piece for piece in report(made)["pieces"] if piece["row"]]
        said = [(p["texts"][0]["text"], p["back"]["texts"][0]["text"]) for p in pieces]
        if name == "back":
            assert said == [("Ada", "1 of 3"), ("Ada", "2 of 3"), ("Bo", "3 of 3")]
        else:
            assert said == [("Ada 1", "May"), ("Ada 2", "May"), ("Bo 3", "Water")]


def test_words_too_long_for_the_back_keep_the_whole_piece_out(tmp_path: Path) -> None:
    design = loaded(tmp_path)
    put(tmp_path, {"list.csv": f"front,note\nAda,{'Wilhelmina' * 9}\nBo,Water\n"})
    table = personalize.read_table(tmp_path / "list.csv")
    options = personalize.Options(OVER, leave_out_faulty=True)
    result = personalize.make(table, design, tmp_path / "out", options)
    (error,) = [one for one in result.findings if one.severity == "error"]
    assert (error.rule, error.row, error.design) == ("does-not-fit", 2, "ell, back")
    assert result.left_out == 1
    rows = {piece.row for piece in read_pieces(tmp_path / "out" / "print.pdf")}
    assert rows == {3, None}


def test_a_design_without_a_back_leaves_its_page_blank(tmp_path: Path) -> None:
    """Pages of a kit stay fronts and backs in turn, whatever is on them."""
    tag(tmp_path)
    put(tmp_path, {"lid.svg": drawing(line("M5 5H55V35H5Z"))})
    put(tmp_path, {"lid.toml": '[lines]\nCutting = "#edge"\n[margins]\nbleed = 0\n'})
    out, _ = make(tmp_path, "--design", str(tmp_path / "lid.toml"))
    sides = [(one["number"], one["side"]) for one in report(out)["sheets"]]
    assert sides == [(1, "front"), (1, "back"), (2, "front"), (2, "back")]
    pages: dict[int, set[str]] = {}
    for piece in read_pieces(out / "print.pdf"):
        pages.setdefault(piece.page, set()).add(piece.design)
    assert pages == {1: {"ell"}, 2: {"ell, back"}, 3: {"lid"}}


def test_a_back_that_nobody_asks_for_is_told(tmp_path: Path) -> None:
    design = loaded(tmp_path)
    table = personalize.read_table(tmp_path / "list.csv")
    for flip, told in ((None, True), (Flip.NONE, False), (Flip.LEVEL, False)):
        options = personalize.Options(SheetRules(A5, flip=flip))
        rules = [one.rule for one in personalize.check(table, design, options).findings]
        assert ("back-not-printed" in rules) is told
        assert ("turned-over" in rules) is (flip is Flip.LEVEL)


def test_the_proof_and_later_runs_know_both_sides(tmp_path: Path) -> None:
    tag(tmp_path)
    first, _ = make(tmp_path, "--also", "proof-pdf,png,picklist,findings", proof=True)
    page = (first / "proof.html").read_text("utf-8")
    assert page.count('<article class="piece') == 8
    assert 'id="sheet-1-back"' in page
    assert 'href="#sheet-1-back"' in page
    assert (first / "sheet-1-back.png").stat().st_size > 1000
    assert "Ada / Sown in May" in (first / "picklist.csv").read_text("utf-8-sig")
    shown = [piece.design for piece in read_pieces(first / "proof.pdf")]
    assert sorted(set(shown)) == ["ell", "ell, back"]
    assert shown.count("ell, back") == 4
    same, told = make(tmp_path, "--sizes-from", str(first / "report.json"), name="same")
    assert "changed" not in told
    put(tmp_path, {"list.csv": "front,note\nAda,Sown in June\nBo,Water it\n"})
    later, _ = make(tmp_path, "--against", str(same), name="later")
    changed = [
        (one["rule"], one["row"], one["design"])
        for one in report(later)["findings"]
        if one["rule"] == "changed-words"
    ]
    assert changed == [("changed-words", 2, "ell, back")]


def test_pages_of_the_shop_are_pairs_with_the_same_boxes(tmp_path: Path) -> None:
    tag(tmp_path, TOML.replace("bleed = 0", "bleed = 3") + BACK)
    out, _ = make(tmp_path, "--also", "shop,ganged")
    with pikepdf.open(out / "shop.pdf") as pdf:
        assert len(pdf.pages) == 8
        boxes = [
            [
                [float(v) for v in page[name]]
                for name in ("/MediaBox", "/TrimBox", "/BleedBox")
            ]
            for page in pdf.pages
        ]
    assert all(one == boxes[0] for one in boxes)
    # Turned over in its own box, a page has its trim where it was.
    media, trim, bleed = boxes[0]
    for box in (trim, bleed):
        assert media[2] - box[2] == pytest.approx(box[0])
    with pikepdf.open(out / "shop-sheets.pdf") as pdf:
        assert len(pdf.pages) == 2


def test_pieces_without_words_have_backs_without_words(tmp_path: Path) -> None:
    tag(tmp_path)
    words = ("make", "--count", "3", "--design", tmp_path / "ell.toml")
    done = command(
        *words, "--two-sided", "level", "--paper", "A5", "--out", tmp_path / "out"
    )
    assert done.exit_code in (0, 1), done.output
    pieces = report(tmp_path / "out")["pieces"]
    assert [piece["back"]["texts"] for piece in pieces] == [[], [], []]


def test_a_copy_of_what_the_other_side_alone_has_is_refused(tmp_path: Path) -> None:
    """Hidden with its original it would be lost from the paper without a word."""
    seed = '<circle id="seed" cx="15" cy="25" r="3" fill="#00f"/>'
    copied = '<g id="behind"><use href="#seed" x="20"/></g>'
    told = refused(tmp_path, TOML + BACK, FRONT + seed + copied)
    assert "shows a copy of what is on the other side alone" in told
    back = behind(tmp_path, TOML + BACK, FRONT + f"<g>{seed}</g>{copied}")
    assert colour(back.artwork, 35, 15) == (0, 0, 255)
    assert colour(back.artwork, 15, 15) == (255, 255, 255)
