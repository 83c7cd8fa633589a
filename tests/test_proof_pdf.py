"""proof.pdf, as other programs read it."""

import re
from pathlib import Path

import pikepdf
import pytest

from tests.conftest import EDGE, command, drawing, put
from tests.outside import run

LONG = "Wilhelmina" * 12
ROWS = ["Ada", "Bo Fern", "मीना", "נועה", LONG, *(f"Guest {i}" for i in range(20))]
RIM = '[lines]\nCutting = "#edge"\nCreasing = ".fold"\n[type]\nrim = "line"\nrim_mm = 0.3\n'
BACK = '<rect width="60" height="40" fill="#fde"/>'
FOLD = '<path class="fold" d="M30 2 V38" fill="none" stroke="#000"/>'


@pytest.fixture(scope="module")
def sent(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sent")
    lines = [f"{name},{1 + (i == 1)}\n" for i, name in enumerate(ROWS)]
    put(folder, {"guests.csv": f"front,copies\n{''.join(lines)}"})
    put(folder, {"tag.svg": drawing(BACK + EDGE + FOLD), "tag.toml": RIM})
    words = [folder / "guests.csv", "--design", folder / "tag.toml", "--also", "proof-pdf"]
    for name in ("out", "again"):
        assert command("proof", *words, "--out", folder / name).exit_code == 1
    return folder


def test_another_program_finds_the_file_sound_with_its_fonts_inside(sent: Path) -> None:
    file = sent / "out" / "proof.pdf"
    assert "No syntax or stream encoding errors" in run("qpdf", "--check", file)
    fonts = run("pdffonts", file).splitlines()[2:]
    assert fonts
    for font in fonts:
        # The last columns of pdffonts: embedded, subset, Unicode, object and its number.
        assert font.split()[-5:-2] == ["yes", "yes", "yes"]


def test_every_piece_is_there_with_its_row_words_and_findings(sent: Path) -> None:
    text = " ".join(run("pdftotext", "-layout", sent / "out" / "proof.pdf", "-").split())
    for row in range(2, 2 + len(ROWS)):
        assert f"Row {row}" in text, row
    assert "Row 3, 2 copies" in text
    assert "Must be mended" in text
    assert "Shorten it" in text
    for name in ("Ada", "Fern", "Guest 19"):
        assert text.count(name.split()[-1]) >= 3, name  # on both faces, and under them
    assert re.search(r"page 1 of [2-9]", text)


def test_all_of_it_stands_on_the_pages(sent: Path) -> None:
    text = run("pdftotext", "-bbox", sent / "out" / "proof.pdf", "-")
    words = re.findall(
        r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)"', text
    )
    assert len(words) > 100
    for x0, y0, x1, y1 in (map(float, word) for word in words):
        assert x0 > 30
        assert x1 < 595.3 - 30
        assert y0 > 20
        assert y1 < 841.9 - 20


def test_the_same_input_gives_the_same_bytes(sent: Path) -> None:
    first, second = (sent / name / "proof.pdf" for name in ("out", "again"))
    assert first.read_bytes() == second.read_bytes()


def test_pictures_are_vectors_and_stored_once(sent: Path) -> None:
    with pikepdf.open(sent / "out" / "proof.pdf") as pdf:
        forms = pdf.pages[0].Resources.XObject
        assert [str(form.Subtype) for form in forms.values()] == ["/Form"]
