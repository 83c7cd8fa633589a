"""proof.html: self-contained, safe, honest, and the same picture as the print."""

import base64
import hashlib
import io
import json
import re
import subprocess
import tempfile
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import personalize
from personalize.design.artwork_render import render_artwork
from personalize.geometry.zone import grown as grown_region
from personalize.options import DEFAULT_PAPER
from personalize.sheet.rules import SheetRules
from tests.browser import FLAGS, program
from tests.conftest import SAMPLES
from tests.outside import Pdfium

PX_PER_MM = 8.0


class Page(HTMLParser):
    """Text, tags and addresses of a page, by Python's own parser."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.text, self.tags, self.links = "", [], []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.links += [v or "" for k, v in attrs if k in ("src", "href", "action", "data")]

    def handle_data(self, data: str) -> None:
        self.text += data


def html_of(folder: Path) -> str:
    return (folder / "proof.html").read_text("utf-8")


def test_it_needs_nothing_from_outside(made: Path) -> None:
    page = Page(html_of(made))
    assert page.links
    assert all(link.startswith(("#", "data:image/png;base64,")) for link in page.links)
    assert not {"iframe", "object", "embed", "link"} & set(page.tags)
    assert page.tags.count("script") == 2  # its own, and numbers for it


def test_its_policy_allows_its_own_style_and_script_and_nothing_else(made: Path) -> None:
    # Content Security Policy Level 3, section 6.1 (hash sources).
    html = html_of(made)
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', html)
    assert policy is not None
    wanted = "default-src 'none'; img-src data:"
    for name in ("style", "script"):
        inside = re.search(rf"<{name}>(.*?)</{name}>", html, re.DOTALL)
        assert inside is not None
        digest = base64.b64encode(hashlib.sha256(inside[1].encode()).digest()).decode()
        wanted += f"; {name}-src 'sha256-{digest}'"
    assert policy[1] == f"{wanted}; base-uri 'none'; form-action 'none'"
    assert " style=" not in html
    assert not re.search(r" on[a-z]+=", re.sub(r"<script.*?</script>", "", html))


def test_each_artwork_is_on_it_once(made: Path) -> None:
    images = re.findall(r'href="data:image/png;base64,([^"]*)"', html_of(made))
    assert len(images) == len(set(images)) == 1


def test_it_tells_of_no_crease_where_there_is_none(troubled: Path, made: Path) -> None:
    assert "crease, where it folds" in html_of(made)
    assert "crease, where it folds" not in html_of(troubled)
    assert "Creasing" not in html_of(troubled).split("</style>")[1]


def test_a_browser_shows_it_without_a_complaint(made: Path, tmp_path: Path) -> None:
    shot = tmp_path / "proof.png"
    with tempfile.TemporaryDirectory() as profile:
        done = subprocess.run(
            [program(), *FLAGS, f"--user-data-dir={profile}", "--enable-logging=stderr",
             "--hide-scrollbars", "--window-size=1300,900", f"--screenshot={shot}",
             (made / "proof.html").as_uri()],
            capture_output=True, check=True, timeout=120,
        )  # fmt: skip
    said = done.stderr.decode("utf-8", "replace").splitlines()
    assert [line for line in said if "CONSOLE" in line] == []
    with Image.open(shot) as picture:
        colours = np.asarray(picture.convert("RGB")).reshape(-1, 3)
    # Artwork is on it: a page without its pictures has a handful of colours.
    assert len(np.unique(colours // 16, axis=0)) > 100


def test_every_message_is_on_it_word_for_word(made: Path) -> None:
    text = Page(html_of(made)).text
    table = personalize.read_table(SAMPLES / "picnic.csv")
    for row in table.rows:
        assert f"Row {row.number} " in text
        assert row.cells[0] in text


def test_every_finding_is_on_it(made: Path) -> None:
    text = Page(html_of(made)).text
    findings = json.loads((made / "report.json").read_text("utf-8"))["findings"]
    assert len(findings) > 5
    for finding in findings:
        assert finding["says"] in text
        assert finding["do"] in text


@pytest.fixture(scope="module")
def troubled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A proof of a batch with errors and with words that look like markup."""
    folder = tmp_path_factory.mktemp("troubled")
    words = ("Basil", "<script>alert(1)</script>", '&amp; "Dill"', "Fern" * 40, "Mint")
    rows = tuple(personalize.Row(i, (word,)) for i, word in enumerate(words, 2))
    source = personalize.Source("<b>guests</b>.csv")
    table = personalize.Table(source, ("dish",), rows)
    result = personalize.make(table, personalize.load_design("jar-lid"), folder / "out")
    assert result.folder == folder / "out-problems"
    return folder / "out-problems"


def test_words_that_look_like_markup_are_only_words(troubled: Path) -> None:
    page = Page(html_of(troubled))
    assert page.tags.count("script") == 2
    for words in ("<script>alert(1)</script>", '&amp; "Dill"', "<b>guests</b>.csv"):
        assert words in page.text


def test_pieces_with_errors_come_first_then_by_row(troubled: Path) -> None:
    rows = [
        int(row)
        for row in re.findall(
            r'<article class="piece[^"]*" id="row-(\d+)"', html_of(troubled)
        )
    ]
    findings = json.loads((troubled / "report.json").read_text("utf-8"))["findings"]
    faulty = sorted({f["row"] for f in findings if f["severity"] == "error"})
    assert 5 in faulty
    assert rows == faulty + [row for row in range(2, 7) if row not in faulty]


def standalone(html: str, row: int) -> bytes:
    """Cut the flat picture of a piece out of the page, with what it refers to."""
    definitions = re.search(
        r'<svg class="defs"[^>]*>(<defs>.*?</defs>)</svg>', html, re.DOTALL
    )
    assert definitions is not None
    card = html.split(f'id="row-{row}" data-')[1]
    flat = re.search(r"<svg viewBox=\"([^\"]*)\"[^>]*>(.*?)</svg>", card, re.DOTALL)
    assert flat is not None
    lines = re.sub(r'<path class="(line|zone)[^>]*/>', "", definitions[1])
    width, height = flat[1].split()[2:]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        f' viewBox="{flat[1]}">{lines}{flat[2]}</svg>'
    ).encode()


@pytest.mark.parametrize("row", [2, 4, 5, 19, 22, 24, 26, 28, 29])
def test_the_picture_of_a_piece_is_what_is_printed(made: Path, row: int) -> None:
    # Two ways of drawing (glyph outlines by resvg, PDF text by pdfium) of one piece: dark
    # ink of the words must cover the same spots, but for a pixel of 0.125 mm round them.
    report = json.loads((made / "report.json").read_text("utf-8"))
    piece = next(p for p in report["pieces"] if p["row"] == row)
    a, b, c, d, e, f = piece["at"]
    assert (a, b, c, d) == (1, 0, 0, 1)
    design = personalize.load_design("plant-flag")
    x0, _, _, y1 = grown_region(design.silhouette, design.margins.bleed).box
    png = render_artwork(standalone(html_of(made), row), PX_PER_MM)
    shown = np.asarray(Image.open(io.BytesIO(png)).convert("RGB")).max(axis=2) < 110
    page = Pdfium(made / "print.pdf").picture(piece["sheet"], PX_PER_MM).max(axis=2) < 110
    top = 297.0 - (y1 + f) - 2.0
    left = x0 + e - 2.0
    for text in piece["texts"]:
        ix0, iy0, ix1, iy1 = text["ink_mm"]
        box = [ix0 - 1, 297.0 - iy1 - 1, ix1 + 1, 297.0 - iy0 + 1]
        printed = cut(page, box)
        proofed = cut(shown, [box[0] - left, box[1] - top, box[2] - left, box[3] - top])
        h, w = (min(p, q) for p, q in zip(printed.shape, proofed.shape, strict=True))
        printed, proofed = printed[:h, :w], proofed[:h, :w]
        assert printed.any()
        stray = (printed & ~grown(proofed)) | (proofed & ~grown(printed))
        assert stray.sum() <= 0.01 * printed.sum(), text["text"]


def cut(picture: np.ndarray, box: list[float]) -> np.ndarray:
    x0, y0, x1, y1 = (round(v * PX_PER_MM) for v in box)
    return picture[max(y0, 0) : y1, max(x0, 0) : x1]


def grown(mask: np.ndarray, by: int = 2) -> np.ndarray:
    out = mask.copy()
    for _ in range(by):
        wide = out.copy()
        for axis in (0, 1):
            wide |= np.roll(out, 1, axis) | np.roll(out, -1, axis)
        out = wide
    return out


def test_faces_are_shown_upright_and_never_mirrored() -> None:
    from personalize.fold.across import faces_of

    for name in personalize.sample_names():
        for face in faces_of(personalize.load_design(name)):
            assert face.to_view.determinant == pytest.approx(1)


def test_care_notes_stand_open_on_the_page(made: Path) -> None:
    html = html_of(made)
    care = html.index("Take care.")
    assert html.rfind("<details", 0, care) <= html.rfind("</details>", 0, care)


@pytest.mark.parametrize(("spacing_mm", "shows"), [(0.6, 8), (6.0, 0)])
def test_white_paper_is_told_where_the_print_does_not_reach(
    tmp_path: Path, spacing_mm: float, shows: int
) -> None:
    # Print reaches half the spacing past the outline; a cut may be 0.7 mm off.
    rows = (personalize.Row(2, ("Basil",)),)
    table = personalize.Table(personalize.Source("guests.csv"), ("dish",), rows)
    rules = SheetRules(DEFAULT_PAPER, spacing_mm=spacing_mm)
    personalize.make(
        table,
        personalize.load_design("jar-lid"),
        tmp_path / "out",
        personalize.Options(sheets=rules),
    )
    assert html_of(tmp_path / "out").count(", white paper shows") == shows
