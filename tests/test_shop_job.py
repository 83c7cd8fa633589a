"""The job sheet for a print shop: colours, spot inks, folds and names as they are."""

from collections.abc import Callable
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from pikepdf import Array, Dictionary, Name, Stream

import personalize
from personalize.design.design import Artwork
from personalize.design.painted import Painted, painted_with
from tests.artwork_files import page, saved, spot
from tests.conftest import EDGE, command, drawing, line, put
from tests.outside import run
from tests.press_made import press_profile

MM = 72 / 25.4
PAGE = (60 * MM, 40 * MM)
HERE = b" 20 20 60 40 re f "
ART = 'svg = "tag.svg"\n[artwork]\nfile = "art.pdf"\n[margins]\nbleed = 3\n'


def job_sheet(folder: Path, *words: str | Path) -> str:
    """Make the files for a shop; give the words of the job sheet in one line."""
    out = folder / "out"
    done = command("make", *words, "--also", "shop", "--no-proof", "--out", out)
    assert done.exit_code in (0, 1), done.output
    run("qpdf", "--check", out / "shop-job.pdf")
    return " ".join(run("pdftotext", out / "shop-job.pdf", "-").split())


# What it is painted with, by the colour spaces of ISO 32000-1, 8.6 ------------------------


def painting(content: bytes, space: object = None) -> pikepdf.Pdf:
    pdf = page(content, PAGE)
    if space is not None:
        pdf.pages[0].obj.Resources = Dictionary(ColorSpace=Dictionary(Own=space))
    return pdf


def in_profile() -> pikepdf.Pdf:
    pdf = page(b"/Own cs 0 0 0 1 scn" + HERE, PAGE)
    profile = Stream(pdf, press_profile(), N=4)
    space = Array([Name.ICCBased, pdf.make_indirect(profile)])
    pdf.pages[0].obj.Resources = Dictionary(ColorSpace=Dictionary(Own=space))
    return pdf


def in_palette() -> pikepdf.Pdf:
    pdf = page(b"q 90 0 0 60 30 20 cm /X Do Q", PAGE)
    space = Array([Name.Indexed, spot("Plum"), 1, pikepdf.String(b"\x00\xff")])
    image = Stream(pdf, bytes(400), Subtype=Name.Image, Width=20, Height=20)
    image.update(Dictionary(Type=Name.XObject, ColorSpace=space, BitsPerComponent=8))
    pdf.pages[0].obj.Resources = Dictionary(XObject=Dictionary(X=pdf.make_indirect(image)))
    return pdf


def told(*kinds: str, spots: tuple[str, ...] = (), **more: bool) -> Painted:
    return Painted(frozenset(kinds), frozenset(spots), **more)


SCN = b"/Own cs 1 1 1 1 scn" + HERE
CASES: dict[str, tuple[Callable[[], pikepdf.Pdf], Painted]] = {
    "grey and red": (
        lambda: painting(b"0 g" + HERE + b"1 0 0 rg" + HERE),
        told("grey", "RGB"),
    ),
    "four inks": (lambda: painting(b"0 0 0 1 k" + HERE), told("CMYK")),
    "a profile for four inks": (in_profile, told("CMYK")),
    "a spot ink": (lambda: painting(SCN, spot("Plum ink")), told(spots=("Plum ink",))),
    "a spot ink till a tint is set": (
        lambda: painting(b"/Own cs" + HERE, spot("Plum")),
        told(spots=("Plum",)),
    ),
    "several": (
        lambda: painting(SCN, spot("Cyan", "Plum", "None", "Leaf")),
        told("CMYK", spots=("Leaf", "Plum")),
    ),
    "all inks": (lambda: painting(SCN, spot("All")), told(every_ink=True)),
    "a palette of a spot ink": (in_palette, told(spots=("Plum",))),
    "Lab": (
        lambda: painting(SCN, Array([Name.Lab, Dictionary(WhitePoint=[1, 1, 1])])),
        told("Lab"),
    ),
    "nothing": (lambda: painting(b""), told()),
    "a space without a name": (lambda: painting(SCN, Array([])), told(known=False)),
}


@pytest.mark.parametrize("name", CASES)
def test_colours_and_spot_inks_are_found(name: str) -> None:
    made, wanted = CASES[name]
    art = Artwork(b"", (0, 0, 60, 40), "art.pdf", page=saved(made()))
    assert painted_with(art) == wanted


def spotted(folder: Path, words: str = "") -> Path:
    """A tag whose artwork is in four inks and two spot inks."""
    inks = b"/Own cs 1 0.5 scn" + HERE
    pdf = painting(b"1 0 0 0 k" + HERE + inks, spot("Plum", "Leaf"))
    toml = ART + '[[panel]]\nname = "name"\n' + words
    put(folder, {"tag.svg": drawing(EDGE), "tag.toml": toml, "art.pdf": saved(pdf)})
    put(folder, {"list.csv": "name\nAda\n", "press.icc": press_profile()})
    return folder / "list.csv"


def test_the_job_sheet_says_which_colours_and_inks_there_are(tmp_path: Path) -> None:
    words = (spotted(tmp_path), "--design", tmp_path / "tag.toml")
    said = job_sheet(tmp_path, *words)
    assert "Colours are CMYK, grey and spot inks, without an output intent" in said
    assert "Spot inks of its artwork, as they are in it: Leaf, Plum." in said
    assert "RGB" not in said
    said = job_sheet(tmp_path, *words, "--profile", tmp_path / "press.icc")
    assert "spot inks, none converted; the output condition is press." in said


# Both would be on one plate.
@pytest.mark.parametrize(("ink", "is_told"), [("Cutting", 1), ("creasing", 1), ("Cut", 0)])
def test_an_ink_with_the_name_of_die_lines_is_told(
    ink: str, is_told: int, tmp_path: Path
) -> None:
    rows = spotted(tmp_path)
    (tmp_path / "art.pdf").write_bytes(saved(painting(SCN, spot(ink))))
    design = personalize.load_design(tmp_path / "tag.toml")
    options = personalize.Options(also=frozenset({"ganged"}))
    found = personalize.check(personalize.read_table(rows), design, options).findings
    told = [one for one in found if one.rule == "die-line-ink"]
    assert len(told) == is_told
    assert all(f"an ink named {ink!r}" in one.says for one in told)


def test_the_colour_of_words_counts(tmp_path: Path) -> None:
    rows = spotted(tmp_path, '[type]\ncolour = "#7a1020"\n')
    said = job_sheet(tmp_path, rows, "--design", tmp_path / "tag.toml")
    assert "Colours are RGB, CMYK and spot inks" in said


def test_spot_inks_are_the_same_in_the_file_for_the_shop(tmp_path: Path) -> None:
    job_sheet(tmp_path, spotted(tmp_path), "--design", tmp_path / "tag.toml")
    with pikepdf.open(tmp_path / "out" / "shop.pdf") as shop:
        spaces = [
            space
            for one in shop.objects
            if isinstance(one, Dictionary | Stream)
            for space in one.get("/Resources", Dictionary()).get("/ColorSpace", {}).values()
        ]
        (own,) = (one for one in spaces if one[0] == Name.DeviceN)
        assert [str(ink) for ink in own[1]] == ["/Plum", "/Leaf"]
        assert own[2:] == spot("Plum", "Leaf")[2:]


# Folds ------------------------------------------------------------------------------------

FOLDS = {
    "as is taken": ("", "the printed side is the outside of a fold"),
    "valley": ('[[crease]]\nway = "valley"\n', "the printed side is the inside of a fold"),
    "only marked": ("[[crease]]\nangle_deg = 0\n", "only marked, not folded: deliver flat"),
    "both ways": (
        '[[crease]]\nat = [20, 20]\nway = "valley"\nangle_deg = 90\n'
        "[[crease]]\nat = [40, 20]\nangle_deg = 90\n",
        "1 fold with the printed side outside, 1 with it inside",
    ),
}


@pytest.mark.parametrize("name", FOLDS)
def test_it_says_on_which_side_a_fold_is_printed(name: str, tmp_path: Path) -> None:
    creases, says = FOLDS[name]
    lines = line("M20 2V38", "one") + (line("M40 2V38", "two") if "both" in name else "")
    toml = '[lines]\nCutting = "#edge"\nCreasing = ["#one", "#two"]\n'
    if "both" not in name:
        toml = toml.replace(', "#two"', "")
    put(tmp_path, {"tag.svg": drawing(EDGE + lines), "tag.toml": toml + creases})
    said = job_sheet(tmp_path, "--design", tmp_path / "tag.toml", "--count", "1")
    assert says in said
    assert "printed side" not in said.replace(says, "")


def test_a_perforation_is_no_fold(tmp_path: Path) -> None:
    toml = '[lines]\nCutting = "#edge"\nPerforating = "#tear"\n'
    lines = EDGE + line("M20 2V38", "tear")
    put(tmp_path, {"tag.svg": drawing(lines), "tag.toml": toml})
    said = job_sheet(tmp_path, "--design", tmp_path / "tag.toml", "--count", "1")
    assert "perforate" in said
    assert "fold" not in said


# Names ------------------------------------------------------------------------------------


def named(folder: Path, name: str, edge: str = EDGE) -> Path:
    toml = f'name = "{name}"\n[lines]\nCutting = "#edge"\n'
    put(folder, {"tag.svg": drawing(edge), "tag.toml": toml})
    return folder / "tag.toml"


# UAX #9: a name that runs right to left must not turn the sentence that it stands in; one
# that forces a direction, and does not end that, must not either.
@pytest.mark.parametrize("name", ["\u05e2\u05dc\u05d5\u05df", "Leaf \\u202e\u05e2\u05dc"])
def test_a_name_of_any_direction_leaves_the_sentence_as_it_is(
    name: str, tmp_path: Path
) -> None:
    said = job_sheet(tmp_path, "--design", named(tmp_path, name), "--count", "3")
    assert "3 pieces, pages 1 to 3." in said
    for file, words in (("shop-job.pdf", "pages 1 to 3."), ("shop.pdf", "copy 3")):
        sheet = pypdfium2.PdfDocument(tmp_path / "out" / file)
        text = sheet[len(sheet) - 1].get_textpage()
        at = text.search(words).get_next()
        assert at is not None
        every = [
            box
            for i in range(text.count_chars())
            if (box := text.get_charbox(i))[1] < text.get_charbox(at[0])[3]
            and box[3] > text.get_charbox(at[0])[1]
        ]
        ends = text.get_charbox(at[0] + at[1] - 1)
        assert ends[2] > max(box[2] for box in every) - 1


def test_a_long_name_takes_several_lines(tmp_path: Path) -> None:
    name = "Runner beans along the southern wall " * 9
    job_sheet(tmp_path, "--design", named(tmp_path, name), "--count", "1")
    lines = run("pdftotext", "-layout", tmp_path / "out" / "shop-job.pdf", "-").splitlines()
    assert max(len(one.strip()) for one in lines) < 100
    assert sum("beans" in one for one in lines) >= 8


def test_what_stands_under_a_small_piece_can_be_read(tmp_path: Path) -> None:
    edge = line("M2 2H14V14H2Z")
    job_sheet(tmp_path, "--design", named(tmp_path, "Runner beans", edge), "--count", "1")
    text = pypdfium2.PdfDocument(tmp_path / "out" / "shop.pdf")[0].get_textpage()
    for words in ("Runner beans", "piece 1, row 1, copy 1"):
        at = text.search(words).get_next()
        assert at is not None
        x0, y0, _, y1 = text.get_charbox(at[0])
        assert (y1 - y0) / MM > 1.0, words
        assert min(x0, y0) > 0


def test_a_name_is_one_line(tmp_path: Path) -> None:
    design = personalize.load_design(named(tmp_path, "Bean\\n tag "))
    assert design.name == "Bean tag"
    assert personalize.load_design(named(tmp_path, " ")).name == "tag"
