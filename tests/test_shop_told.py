"""What is told of a print shop's files, and the profile of its press."""

import base64
import struct
from pathlib import Path

import pypdf
import pytest
from PIL import Image

import personalize
from personalize.checks.safe_distances import AT_A_SHOP, BY_HAND, safe_distances
from personalize.checks.shop_findings import (
    ganged_findings,
    picture_findings,
    shop_findings,
)
from personalize.colour_profile import read_profile
from personalize.design.chosen import Picture
from personalize.design.design import Margins
from personalize.design.style import Colour
from personalize.errors import InputError
from personalize.geometry.affine import Affine
from tests.artwork_files import png
from tests.conftest import command, drawing, line, put

ROOT = Path(__file__).resolve().parent.parent
PT = 72 / 25.4


# Findings ------------------------------------------------------------------------------


def test_small_letters_in_several_inks_are_told_once_a_panel() -> None:
    design = personalize.load_design("jar-lid")
    plum, black, grey = Colour(0.2, 0.1, 0.2), Colour(0, 0, 0), Colour(0.4, 0.4, 0.4)
    texts = [("lid", 8.9, plum), ("lid", 7.2, plum), ("lid", 9.0, plum)]
    texts += [("lid", 7.0, black), ("rim", 7.0, grey)]
    found = [f for f in shop_findings(design, texts, inks=4) if f.panel]
    (one,) = found
    assert (one.rule, one.panel) == ("small-text-in-several-inks", "lid")
    assert one.figures == {"texts": 2, "least_pt": 7.2}


def test_a_thin_bleed_and_a_missing_profile_are_told() -> None:
    design = personalize.load_design("jar-lid")
    rules = {f.rule for f in shop_findings(design, [], inks=None)}
    assert "no-output-intent" in rules
    assert ("shop-bleed" in rules) == (design.margins.bleed < 3)
    assert "no-output-intent" not in {f.rule for f in shop_findings(design, [], inks=4)}
    (one,) = (f for f in shop_findings(design, [], inks=1) if "black alone" in f.says)
    assert one.rule == "no-output-intent"


# Profiles ------------------------------------------------------------------------------


def icc(space: bytes = b"CMYK", kind: bytes = b"prtr", signature: bytes = b"acsp") -> bytes:
    """A head of a profile (ICC.1:2022, table 15) and no tags."""
    head = bytearray(132)
    struct.pack_into(">I4sI4s4s4s", head, 0, 132, b"test", 0x04400000, kind, space, b"Lab ")
    head[36:40] = signature
    return bytes(head)


def test_a_profile_becomes_the_output_intent(tmp_path: Path) -> None:
    put(tmp_path, {"press.icc": icc(), "list.csv": "name,dish,plant\nAda,Pie,Dill\n"})
    done = command(
        "make", tmp_path / "list.csv", "--design", "jar-lid", "--also", "shop",
        "--profile", tmp_path / "press.icc", "--out", tmp_path / "out",
    )  # fmt: skip
    assert done.exit_code in (0, 1), done.output
    root = pypdf.PdfReader(tmp_path / "out" / "shop.pdf").trailer["/Root"]
    (intent,) = root["/OutputIntents"]
    intent = intent.get_object()
    assert (intent["/S"], intent["/Info"]) == ("/GTS_PDFX", "press")
    profile = intent["/DestOutputProfile"].get_object()
    assert (profile["/N"], profile.get_data()) == (4, icc())


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"not a profile",
        icc(b"Lab "),
        icc(kind=b"mntr"),
        icc(signature=b"what"),
        icc()[:-1],
    ],
)
def test_what_is_no_profile_of_a_press_is_refused(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "press.icc").write_bytes(data)
    with pytest.raises(InputError, match="no colour profile of a press"):
        read_profile(tmp_path / "press.icc")
    with pytest.raises(InputError, match="there is no such colour profile"):
        read_profile(tmp_path / "none.icc")
    with pytest.raises(InputError, match="--profile: there is no such colour profile"):
        read_profile(Path())


@pytest.mark.parametrize(
    ("px", "told"),
    [(100, None), (98, "250"), (60, "250"), (59, "sends them back")],
)
def test_pictures_that_a_press_shows_as_soft_are_told(
    px: int, told: str | None, tmp_path: Path
) -> None:
    # 10.16 mm are 0.4 in: 100 pixels are 250 to the inch, 60 are 150.
    data = base64.b64encode(png(Image.new("RGB", (px, px), "plum"))).decode()
    place = 'x="20" y="10" width="10.16" height="10.16"'
    drawn = f'<image {place} href="data:image/png;base64,{data}"/>'
    put(tmp_path, {"tag.svg": drawing(drawn + line("M2 2H58V38H2Z"))})
    design = personalize.load_design(tmp_path / "tag.svg")
    found = list(picture_findings(design, []))
    assert [told in one.says for one in found] == [True] * (told is not None)
    if found:
        assert "in the artwork" in found[0].says
        assert found[0].figures["px_per_inch"] == pytest.approx(px / 0.4, abs=0.1)


def test_the_pictures_of_rows_and_a_whole_picture_count_too(tmp_path: Path) -> None:
    leaf = Image.new("RGBA", (300, 200), (0, 0, 0, 0))
    leaf.paste((120, 40, 120, 255), (20, 20, 280, 180))
    put(tmp_path, {"leaf.png": png(leaf, 200)})
    design = personalize.load_design(tmp_path / "leaf.png")
    own = Picture("io.png", tmp_path / "leaf.png", Affine(10, 0, 0, 10, 0, 0), 10.0, 140.0)
    (one,) = picture_findings(design, [(2, own)])
    assert one.figures == {"pictures": 2, "px_per_inch": 140.0}
    assert "the coarsest, 140, in 'io.png' of row 2" in one.says
    (one,) = picture_findings(design, [])
    assert one.figures == {"pictures": 1, "px_per_inch": 200.0}


@pytest.mark.parametrize(
    ("toml", "wanted", "told"),
    [
        ("", BY_HAND, ["2.5 mm to the outline"]),
        ("outline = 3", AT_A_SHOP, []),
        ("outline = 2.9", AT_A_SHOP, ["2.9 mm to the outline"]),
        ("outline = 4\ncrease = 1", BY_HAND, []),
    ],
)
def test_distances_of_words_are_asked_for_lines_that_are_there(
    toml: str, wanted: Margins, told: list[str], tmp_path: Path
) -> None:
    svg = drawing(line("M2 2H58V38H2Z"))
    put(tmp_path, {"tag.svg": svg, "tag.toml": f"[margins]\n{toml}\n"})
    design = personalize.load_design(tmp_path / "tag.toml")
    found = list(safe_distances(design, wanted, "A cut"))
    assert [words in found[0].says for words in told] == [True] * len(found)
    assert len(found) == len(told)


def test_sheets_for_a_shop_want_room_between_pieces() -> None:
    assert [one.rule for one in ganged_findings(5.9)] == ["shop-spacing"]
    assert list(ganged_findings(6.0)) == []
