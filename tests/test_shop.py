"""Files for a print shop: boxes, layers, inks and words, read back by other programs."""

import json
import re
from pathlib import Path

import numpy as np
import pikepdf
import pypdf
import pypdfium2
import pytest

import personalize
from personalize.checks.kept import read_pieces
from personalize.design.design import LineKind
from personalize.messages.message import messages_of
from tests.conftest import command, drawing, line, put
from tests.outside import run

ROOT = Path(__file__).resolve().parent.parent
PT = 72 / 25.4
# Types that the PDF Association's Arlington model lists for the group Structural
# (tsv/latest/GTS_ProcStepsType.tsv), those of kits.
STRUCTURAL = {"/Cutting", "/PartialCutting", "/Creasing", "/Perforating", "/Gluing"}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("shop") / "party"
    table = personalize.read_table(ROOT / "samples" / "picnic.csv")
    options = personalize.Options(also=frozenset({"shop", "ganged"}))
    result = personalize.make(table, personalize.load_design("plant-flag"), out, options)
    assert result.made
    return out


def test_other_programs_find_no_fault(made: Path) -> None:
    for name in ("shop.pdf", "shop-job.pdf", "shop-sheets.pdf"):
        run("qpdf", "--check", made / name)
        fonts = run("pdffonts", made / name).splitlines()[2:]
        assert fonts
        assert all(one.split()[-5] == "yes" for one in fonts), fonts


def test_files_say_the_version_whose_features_they_use(made: Path) -> None:
    # ISO 32000-1 (PDF 1.7), tables 28 and 150: OCProperties came with 1.5, PrintScaling
    # with 1.6.
    for name in ("print.pdf", "shop.pdf", "shop-job.pdf", "shop-sheets.pdf"):
        told = re.search(r"PDF version:\s+(\S+)", run("pdfinfo", made / name))
        assert told is not None
        assert told[1] == "1.7"


def test_there_is_a_page_for_each_piece_in_the_order_of_the_rows(made: Path) -> None:
    table = personalize.read_table(ROOT / "samples" / "picnic.csv")
    wanted = [
        (message.row, copy)
        for message in messages_of(table)
        for copy in range(1, message.copies + 1)
    ]
    pieces = list(read_pieces(made / "shop.pdf"))
    assert [(piece.row, piece.copy) for piece in pieces] == wanted
    assert [piece.page for piece in pieces] == list(range(1, len(wanted) + 1))
    for piece, page in zip(pieces, pypdf.PdfReader(made / "shop.pdf").pages, strict=True):
        assert f"row {piece.row}, copy {piece.copy}" in page.extract_text()


@pytest.mark.parametrize(
    "more",
    [
        ("--order", "piles"),
        ("--by-guest",),
        ("--two-sided", "upright", "--by-guest", "--order", "piles"),
    ],
)
def test_pages_are_in_the_order_of_the_list_whatever_the_sheets_have(
    more: tuple[str, ...], tmp_path: Path
) -> None:
    names = (ROOT / "samples" / "herb-tag-both.toml", "jar-lid")
    done = command(
        *("make", ROOT / "samples" / "picnic.csv", "--also", "shop", "--no-proof", *more),
        *(word for name in names for word in ("--design", name)),
        *("--out", tmp_path / "out"),
    )
    assert done.exit_code in (0, 1), done.output
    messages = messages_of(personalize.read_table(ROOT / "samples" / "picnic.csv"))
    copies = [(m.row, n) for m in messages for n in range(1, m.copies + 1)]
    sides = 2 if "--two-sided" in more else 1
    wanted = [one for one in copies for _ in range(sides)] + copies
    pieces = list(read_pieces(tmp_path / "out" / "shop.pdf"))
    assert [(piece.row, piece.copy) for piece in pieces] == wanted
    assert [piece.page for piece in pieces] == list(range(1, len(wanted) + 1))
    job = " ".join(
        page.extract_text()
        for page in pypdf.PdfReader(tmp_path / "out" / "shop-job.pdf").pages
    )
    tags, lids = sides * len(copies), len(copies)
    assert f"Two-sided herb tag: {len(copies)} pieces, pages 1 to {tags}." in job
    assert f"Jar lid: {lids} pieces, pages {tags + 1} to {tags + lids}." in job
    numbers = [
        int(found[1])
        for page in pypdf.PdfReader(tmp_path / "out" / "shop.pdf").pages
        if (found := re.search(r"piece (\d+), row", page.extract_text()))
    ]
    each = [n for n in range(1, len(copies) + 1) for _ in range(sides)]
    assert numbers == each + list(range(1, lids + 1))


def test_sorted_pieces_are_sorted_for_the_shop_too(tmp_path: Path) -> None:
    guests = "front\nWilhelmina\nBo\nIo\nAda\n"
    put(tmp_path, {"guests.csv": guests, "tag.svg": drawing(line("M2 2H58V38H2Z"))})
    done = command(
        *("make", tmp_path / "guests.csv", "--design", tmp_path / "tag.svg"),
        *("--sort", "front", "--order", "piles", "--paper", "80x100mm"),
        *("--marks", "none", "--also", "shop", "--out", tmp_path / "out"),
    )
    assert done.exit_code in (0, 1), done.output
    assert [p.row for p in read_pieces(tmp_path / "out" / "shop.pdf")] == [5, 3, 4, 2]


def test_page_boxes_are_outline_bleed_and_room(made: Path) -> None:
    design = personalize.load_design("plant-flag")
    x0, y0, x1, y1 = design.box_mm
    reader = pypdf.PdfReader(made / "shop.pdf")
    for page in reader.pages[::10]:
        trim, bleed, media = page.trimbox, page.bleedbox, page.mediabox
        assert float(trim.width) / PT == pytest.approx(x1 - x0, abs=0.01)
        assert float(trim.height) / PT == pytest.approx(y1 - y0, abs=0.01)
        for side in ("left", "bottom", "right", "top"):
            sign = 1 if side in ("left", "bottom") else -1
            inner, outer = (float(getattr(box, side)) for box in (trim, bleed))
            assert sign * (inner - outer) / PT == pytest.approx(3, abs=0.01)
        # ISO 15930-7 as facts have it: TrimBox inside BleedBox inside MediaBox.
        assert media.left < bleed.left < trim.left
        assert media.top > bleed.top > trim.top
        assert "/ArtBox" not in page


@pytest.mark.parametrize("spacing", [None, "1", "0"])
def test_a_piece_has_all_its_bleed_however_near_they_lie_on_sheets(
    spacing: str | None, tmp_path: Path
) -> None:
    ground = '<rect width="60" height="40" fill="#d03060"/>'
    toml = '[lines]\nCutting = "#edge"\n[margins]\nbleed = 3\n'
    edge = line("M4 4H56V36H4Z")
    put(tmp_path, {"tag.svg": drawing(ground + edge), "tag.toml": toml})
    more = () if spacing is None else ("--spacing", spacing)
    done = command(
        *("make", "--design", tmp_path / "tag.toml", "--count", "1", "--no-proof", *more),
        *("--also", "shop", "--out", tmp_path / "out"),
    )
    assert done.exit_code in (0, 1), done.output
    page = pypdfium2.PdfDocument(tmp_path / "out" / "shop.pdf")[0]
    x0, y0, x1, y1 = (v / PT for v in page.get_bleedbox())
    shown = np.asarray(page.render(scale=10 / PT).to_pil().convert("RGB"))
    high = page.get_height() / PT
    for x, y in ((x0 + 0.3, 20), (x1 - 0.3, 20), (20, y0 + 0.3), (20, y1 - 0.3)):
        assert tuple(shown[round((high - y) * 10), round(x * 10)]) == (0xD0, 0x30, 0x60)


def test_die_lines_are_on_layers_that_say_what_they_are(made: Path) -> None:
    for name in ("shop.pdf", "shop-sheets.pdf"):
        root = pypdf.PdfReader(made / name).trailer["/Root"]
        layers = {
            str(g["/Name"]): g["/GTS_Metadata"] for g in root["/OCProperties"]["/OCGs"]
        }
        assert set(layers) == {"Cutting", "Creasing", "Legend"}
        for layer in ("Cutting", "Creasing"):
            assert layers[layer]["/GTS_ProcStepsGroup"] == "/Structural"
            assert layers[layer]["/GTS_ProcStepsType"] == f"/{layer}"
            assert layers[layer]["/GTS_ProcStepsType"] in STRUCTURAL
        assert layers["Legend"] == {"/GTS_ProcStepsGroup": "/Legend"}


def test_die_lines_are_separations_that_overprint(made: Path) -> None:
    page = pypdf.PdfReader(made / "shop.pdf").pages[0]
    resources = page["/Resources"].get_object()
    state = resources["/ExtGState"]["/Over"]
    assert (state["/OP"], state["/op"], state["/OPM"]) == (True, True, 1)
    for kind in ("Cutting", "Creasing"):
        space = resources["/ColorSpace"][f"/{kind}"].get_object()
        assert space[:3] == ["/Separation", f"/{kind}", "/DeviceCMYK"]
    content = page.get_contents().get_data().decode("latin-1")
    for kind in ("Cutting", "Creasing"):
        (block,) = content.split(f"/OC /{kind} BDC")[1:]
        block = block.split("EMC")[0]
        assert block.strip().startswith(f"q /Over gs /{kind} CS 1 SCN")
        assert "BT" not in block


def lines_of(page: pypdfium2.PdfPage, mm: float = 25.4 / 72) -> list[list[float]]:
    """Boxes of stroked paths, in mm."""
    found = page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH], max_depth=1)
    return [[v * mm for v in one.get_bounds()] for one in found]


def test_die_lines_lie_on_the_trimmed_edge(made: Path) -> None:
    document = pypdfium2.PdfDocument(made / "shop.pdf")
    for number in (0, 20, len(document) - 1):
        page = document[number]
        trim = np.array(page.get_trimbox()) * 25.4 / 72
        outline = max(lines_of(page), key=lambda box: box[2] - box[0])
        # pdfium's box of a stroke is wider by its width, and by more at a sharp corner.
        assert np.abs(np.array(outline) - trim).max() < 0.3
        middle, meant = (
            np.array(box).reshape(2, 2).mean(axis=0) for box in (outline, trim)
        )
        assert np.abs(middle - meant).max() < 0.01


def test_a_design_keeps_all_its_kinds_of_lines(tmp_path: Path) -> None:
    kinds = {
        "Cutting": "M10 10H70V50H10Z", "PartialCutting": "M14 14H20V20H14Z",
        "Creasing": "M40 10V50", "Perforating": "M60 10V50", "Gluing": "M62 20H68V40H62Z",
    }  # fmt: skip
    lines = "".join(line(path, kind.lower()) for kind, path in kinds.items())
    toml = "[lines]\n" + "".join(f'{kind} = "#{kind.lower()}"\n' for kind in kinds)
    toml += '[[panel]]\nname = "front"\nat = [25, 30]\ntext = "{name}"\n'
    put(tmp_path, {"kit.svg": drawing(lines, 80, 60), "kit.toml": toml})
    put(tmp_path, {"list.csv": "name\nAda\nBo\n"})
    done = command(
        "make", tmp_path / "list.csv", "--design", tmp_path / "kit.toml",
        "--also", "shop", "--out", tmp_path / "out",
    )  # fmt: skip
    assert done.exit_code == 1, done.output  # the bleed is under a shop's
    root = pypdf.PdfReader(tmp_path / "out" / "shop.pdf").trailer["/Root"]
    names = {str(g["/Name"]) for g in root["/OCProperties"]["/OCGs"]}
    assert names == {*kinds, "Legend"} == {*(kind.value for kind in LineKind), "Legend"}
    said = run("pdftotext", "-layout", tmp_path / "out" / "shop-job.pdf", "-")
    for kind in kinds:
        assert f"Layer {kind}: 1 line" in said
    assert "2 pieces, pages 1 to 2" in said
    assert "60.00 x 40.00 mm" in said


def test_of_pieces_without_words_nothing_is_said_of_text(tmp_path: Path) -> None:
    words = ("make", "--design", "jar-lid", "--count", "3", "--also", "shop", "--no-proof")
    done = command(*words, "--out", tmp_path / "out")
    assert done.exit_code in (0, 1), done.output
    said = run("pdftotext", tmp_path / "out" / "shop-job.pdf", "-")
    assert "3 pieces, pages 1 to 3" in said
    assert "text" not in said


def test_names_stay_off_the_job_sheet(made: Path) -> None:
    said = run("pdftotext", made / "shop-job.pdf", "-")
    report = json.loads((made / "report.json").read_text("utf-8"))
    words = {text["text"] for piece in report["pieces"] for text in piece["texts"]}
    assert not [one for one in words if len(one) > 3 and one in said]
    assert "52 pieces" in said


def test_black_words_are_in_one_ink(tmp_path: Path) -> None:
    put(tmp_path, {
        "kit.svg": drawing(line("M10 10H70V50H10Z"), 80, 60),
        "kit.toml": '[lines]\nCutting = "#edge"\n[type]\ncolour = "#000"\n'
        "[margins]\nbleed = 3\n",
        "list.csv": "front\nAda\n",
    })  # fmt: skip
    done = command(
        "make", tmp_path / "list.csv", "--design", tmp_path / "kit.toml",
        "--also", "shop", "--out", tmp_path / "out",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    with pikepdf.open(tmp_path / "out" / "shop.pdf") as pdf:
        page = pdf.pages[0].Contents.read_bytes().decode("latin-1")
    text = page.split("/PersonalizeText")[1].split("EMC")[0]
    assert "\n0 g\n" in text
    assert "rg" not in text


def test_the_same_job_gives_the_same_bytes(made: Path, tmp_path: Path) -> None:
    table = personalize.read_table(ROOT / "samples" / "picnic.csv")
    options = personalize.Options(also=frozenset({"shop", "ganged"}))
    again = tmp_path / "again"
    personalize.make(table, personalize.load_design("plant-flag"), again, options)
    for name in ("shop.pdf", "shop-job.pdf", "shop-sheets.pdf"):
        assert (again / name).read_bytes() == (made / name).read_bytes()
