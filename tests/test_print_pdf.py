"""print.pdf, asked of other programs: its words, its sizes, its fonts, its ink."""

import json
import re
import unicodedata
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest

import personalize
from personalize.messages.table import Row, Source, Table
from personalize.sheet.paper import PAPERS
from tests.outside import (
    Pdfium,
    longest_dark_run,
    poppler_picture,
    poppler_text,
    run,
    without_marks,
)

A4_HEIGHT_MM = 297.0  # ISO 216:2007, A4 is 210 x 297 mm
MARK_MM = 8.0
PX_PER_MM = 10.0


def texts(folder: Path) -> list[tuple[int, dict[str, Any]]]:
    report = json.loads((folder / "report.json").read_text("utf-8"))
    return [(piece["sheet"], text) for piece in report["pieces"] for text in piece["texts"]]


def has_pointed_arabic(text: str) -> bool:
    kinds = {unicodedata.bidirectional(c) for c in text}
    return {"AL", "NSM"} <= kinds


def around(box: list[float]) -> list[float]:
    return [box[0] - 0.6, box[1] - 0.6, box[2] + 0.6, box[3] + 0.6]


def runs_right_to_left(text: str) -> bool:
    return any(unicodedata.bidirectional(c) in ("R", "AL") for c in text)


def differences(
    folder: Path, read: Callable[[int, list[float], str], str]
) -> list[tuple[list[str], str]]:
    """Lines that another program does not read as they are.

    All must be exact but Arabic with vowel signs, which readers put elsewhere in the
    word, whoever wrote the file (measured): there all letters and signs must come.
    """
    wrong = []
    unlike = {(t["panel"], t["text"]): (page, t) for page, t in texts(folder)}
    for page, text in unlike.values():
        found = without_marks(read(page, around(text["ink_mm"]), text["text"]))
        wanted = "\n".join(text["lines"])
        same = found == wanted
        if has_pointed_arabic(wanted):
            same = sorted("".join(found.split())) == sorted("".join(wanted.split()))
        if not same:
            wrong.append((text["lines"], found))
    return wrong


def test_poppler_reads_every_line_of_every_piece(made: Path) -> None:
    # ISO 32000-1, 9.10: text is taken back by ToUnicode and ActualText.
    def read(page: int, box: list[float], text: str) -> str:
        raw = not runs_right_to_left(text)
        return poppler_text(made / "print.pdf", page, box, A4_HEIGHT_MM, raw=raw)

    assert differences(made, read) == []


def test_pdfium_reads_every_line_of_every_piece(made: Path) -> None:
    document = Pdfium(made / "print.pdf")

    def read(page: int, box: list[float], _: str) -> str:
        # A hyphen at the end of a line joins the next one, as U+0002 (pdfium's
        # fpdf_text.h, FPDFText_GetText).
        return document.text(page, box).replace("\x02", "-\n")

    assert differences(made, read) == []


PLAIN_ARABIC = (
    "ليلى الحداد", "سلمى النعناعي", "تبولة", "شقيقة خضراء", "آمنة أحمد إيمان رئيس مؤمن",
    "لاله سلام", "كمال الدين ١٢٣", "ڄام ڇتو ڊيپ",
    "پرویز چنگیزی", "ژاله گلناز", "فہیم ٹیپو", "ڈار گھڑے", "Leila ليلى",
)  # fmt: skip
"""Arabic, Persian, Urdu and Sindhi without vowel signs; lam-alef among them."""


def test_plain_arabic_comes_back_letter_for_letter(tmp_path: Path) -> None:
    rows = tuple(Row(i, (text, "")) for i, text in enumerate(PLAIN_ARABIC, 2))
    table = Table(Source("guests.csv"), ("name", "back"), rows)
    personalize.make(table, personalize.load_design("plant-flag"), tmp_path / "out")
    pdf = tmp_path / "out" / "print.pdf"
    document = Pdfium(pdf)
    seen = set()
    for page, text in texts(tmp_path / "out"):
        box, wanted = around(text["ink_mm"]), "\n".join(text["lines"])
        assert document.text(page, box) == wanted
        poppler = poppler_text(pdf, page, box, A4_HEIGHT_MM, raw=False)
        assert without_marks(poppler) == wanted
        seen.add(text["text"])
    assert seen == set(PLAIN_ARABIC)


def test_words_in_scripts_of_every_kind_were_among_them(made: Path) -> None:
    letters = "".join(text["text"] for _, text in texts(made))
    for script in (
        "HEBREW",
        "ARABIC",
        "DEVANAGARI",
        "THAI",
        "HIRAGANA",
        "CYRILLIC",
        "GREEK",
    ):
        assert any(unicodedata.name(c, "").startswith(script) for c in letters), script


def test_qpdf_finds_no_fault(made: Path) -> None:
    assert "No syntax or stream encoding errors" in run(
        "qpdf", "--check", made / "print.pdf"
    )


def test_every_font_is_embedded_as_a_subset(made: Path) -> None:
    table = run("pdffonts", made / "print.pdf").splitlines()[2:]
    assert len(table) > 5
    for line in table:
        name, rest = line[:36].strip(), line[36:]
        assert re.match(r"[A-Z]{6}\+", name), line
        assert re.search(r"CID (TrueType|Type 0C)\s+Identity-H\s+yes yes yes", rest), line


@pytest.mark.parametrize("dpi", [100, 254])
def test_pages_have_the_size_of_the_paper(made: Path, tmp_path: Path, dpi: int) -> None:
    picture = poppler_picture(made / "print.pdf", 1, dpi, tmp_path)
    wanted = [A4_HEIGHT_MM / 25.4 * dpi, 210.0 / 25.4 * dpi]
    assert np.abs(np.array(picture.shape[:2]) - wanted).max() <= 1


def test_the_boxes_are_the_paper_in_points(made: Path) -> None:
    with pikepdf.open(made / "print.pdf") as pdf:
        for page in pdf.pages:
            box = [float(v) for v in page.MediaBox]
            wanted = [0, 0, 210 * 72 / 25.4, A4_HEIGHT_MM * 72 / 25.4]
            assert np.abs(np.array(box) - wanted).max() < 1e-3


def test_rules_are_100_mm_on_both_axes_in_a_raster(made: Path) -> None:
    grey = Pdfium(made / "print.pdf").picture(1, PX_PER_MM).max(axis=2) < 160
    level = max(longest_dark_run(row) for row in grey)
    upright = max(longest_dark_run(column) for column in grey.T)
    # The rule's own line is 0.2 mm wide: its end ticks add half of that at each end.
    assert abs(level / PX_PER_MM - 100.2) <= 0.15
    assert abs(upright / PX_PER_MM - 100.2) <= 0.15


def test_register_marks_are_where_the_report_says_and_8_mm_wide(made: Path) -> None:
    marks = json.loads((made / "report.json").read_text("utf-8"))["marks"]
    dark = Pdfium(made / "print.pdf").picture(1, PX_PER_MM).max(axis=2) < 128
    assert len(marks) == 4
    for mark in marks:
        x, y = mark["centre_mm"]
        column, row = x * PX_PER_MM, (A4_HEIGHT_MM - y) * PX_PER_MM
        half = int((MARK_MM / 2 + 1.5) * PX_PER_MM)
        part = dark[
            int(row) - half : int(row) + half, int(column) - half : int(column) + half
        ]
        ys, xs = np.nonzero(part)
        assert abs((xs.max() - xs.min() + 1) / PX_PER_MM - MARK_MM) <= 0.1
        assert abs((ys.max() - ys.min() + 1) / PX_PER_MM - MARK_MM) <= 0.1
        assert abs((xs.max() + xs.min() + 1) / 2 - half - column % 1) <= 1
        assert abs((ys.max() + ys.min() + 1) / 2 - half - row % 1) <= 1


def test_the_artwork_is_stored_once_for_all_sheets(made: Path) -> None:
    with pikepdf.open(made / "print.pdf") as pdf:
        assert len(pdf.pages) > 2
        used = {page.Resources.XObject["/Artwork"].objgen for page in pdf.pages}
        forms = [
            item
            for item in pdf.objects
            if isinstance(item, pikepdf.Stream) and item.get("/Subtype") == "/Form"
        ]
        content = sum(len(page.Contents.read_bytes()) for page in pdf.pages)
    assert len(used) == 1
    assert any(form.objgen in used for form in forms)
    # The artwork's own paths are not in the pages: what a page holds is its words.
    assert content / len(texts(made)) < 1500


def test_viewers_are_told_not_to_scale(made: Path) -> None:
    # ISO 32000-1, table 150: PrintScaling.
    with pikepdf.open(made / "print.pdf") as pdf:
        assert pdf.Root.ViewerPreferences.PrintScaling == "/None"


PLAIN = """<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="40mm"
 viewBox="0 0 80 40"><rect id="edge" width="80" height="40" fill="none" stroke="#000"/>
</svg>"""


@pytest.fixture
def plain(tmp_path: Path) -> personalize.Design:
    (tmp_path / "plain.svg").write_text(PLAIN, "utf-8")
    return personalize.load_design(tmp_path / "plain.svg")


def test_ink_in_a_raster_is_where_the_report_says(
    plain: personalize.Design, tmp_path: Path
) -> None:
    names = [
        "Io",
        "Žofie Hřebíčková",
        "سلمى النعناعي",
        "मीनाक्षी फूलवती",
        "ดอกแก้ว สวนสุข",
        "梅園 さくら",
    ]
    rows = tuple(personalize.Row(i, (name,)) for i, name in enumerate(names, 2))
    table = personalize.Table(personalize.Source("guests"), ("front",), rows)
    personalize.make(table, plain, tmp_path / "out")
    document = Pdfium(tmp_path / "out" / "print.pdf")
    checked = 0
    for page, text in texts(tmp_path / "out"):
        dark = document.picture(page, 20.0).max(axis=2) < 128
        x0, y0, x1, y1 = text["ink_mm"]
        zone = text["zone_box_mm"]
        left, bottom = int(zone[0] * 20), int((A4_HEIGHT_MM - zone[1]) * 20)
        right, top = int(zone[2] * 20), int((A4_HEIGHT_MM - zone[3]) * 20)
        ys, xs = np.nonzero(dark[top:bottom, left:right])
        found = [
            (xs.min() + left) / 20,
            A4_HEIGHT_MM - (ys.max() + 1 + top) / 20,
            (xs.max() + 1 + left) / 20,
            A4_HEIGHT_MM - (ys.min() + top) / 20,
        ]
        # Within two pixels of 0.05 mm: half a pixel of grey is cut off on each side.
        assert np.abs(np.array(found) - [x0, y0, x1, y1]).max() <= 0.1, text["text"]
        checked += 1
    assert checked == len(names)


def test_black_words_are_black_ink_alone(plain: personalize.Design, tmp_path: Path) -> None:
    # ISO 32000-1, 8.6.4.2: DeviceGray 0 is black in one ink; RGB black becomes four.
    rows = (personalize.Row(2, ("Basil",)),)
    table = personalize.Table(personalize.Source("guests"), ("front",), rows)
    personalize.make(table, plain, tmp_path / "out")
    with pikepdf.open(tmp_path / "out" / "print.pdf") as pdf:
        content = pdf.pages[0].Contents.read_bytes().decode("ascii")
    part = content.split("/PersonalizeText")[1].split("EMC")[0]
    assert re.search(r"^0 g$", part, re.MULTILINE)
    assert not re.search(r"\b(rg|k)$", part, re.MULTILINE)


def test_every_copy_is_printed_once_with_its_row(made: Path) -> None:
    report = json.loads((made / "report.json").read_text("utf-8"))
    with pikepdf.open(made / "print.pdf") as pdf:
        content = b"\n".join(page.Contents.read_bytes() for page in pdf.pages)
    found = Counter(
        re.findall(
            rb"/PersonalizePiece <</Row (\d+) /Copy (\d+) /Design <\w+>>> BDC", content
        )
    )
    wanted = Counter(
        (b"%d" % piece["row"], b"%d" % piece["copy"])
        for piece in report["pieces"]
        if piece["row"] is not None
    )
    assert found == wanted
    assert max(found.values()) == 1


def test_paper_sizes_reach_the_page(plain: personalize.Design, tmp_path: Path) -> None:
    rows = (personalize.Row(2, ("Basil",)),)
    table = personalize.Table(personalize.Source("guests"), ("front",), rows)
    for name in ("A5", "Letter"):
        paper = personalize.parse_paper(name)
        options = personalize.Options(personalize.SheetRules(paper))
        personalize.make(table, plain, tmp_path / name, options)
        with pikepdf.open(tmp_path / name / "print.pdf") as pdf:
            size = [float(v) / 72 * 25.4 for v in pdf.pages[0].MediaBox[2:]]
        assert np.abs(np.array(size) - PAPERS[name]).max() < 1e-3
