"""Try many fonts through the whole of `make`, and compare the print with their outlines.

    python benchmarks/font_trial.py FOLDER [--most 50] [--keep OUT]

Every font file in FOLDER and below sets a line of its own letters on a card. What comes
out is asked of others: `qpdf --check` of the PDF, pdfium and poppler for a picture each.
Both are compared with the outlines that HarfBuzz draws of the same words from the font's
own file (a variable one at its place, not pinned first), drawn as paths in a PDF of our
own making: a pixel counts as different where neither picture has ink within 1 px of the
other's. Fonts that we refuse are listed with the reason.
"""

import argparse
import io
import json
import subprocess
import sys
import tempfile
import unicodedata
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pypdfium2
import uharfbuzz as hb
from fontTools.pens.basePen import BasePen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import personalize
from personalize.errors import InputError
from personalize.messages.table import Row, Source, Table

DPI = 200
PT_PER_MM = 72 / 25.4
SUFFIXES = (".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2")
# Words with kerning, ligatures and marks, by the script that a font has.
SAMPLES = (
    "AVATAR To office fjord Wally Žofie Ñusta",
    "AVATAR To office Wally",
    "ليلى الحداد سلام",
    "मीरा कुलश्रेष्ठ",
    "অনন্যা চট্টোপাধ্যায়",
    "கவிதா முருகன்",
    "นารี น้ำใส",
    "נועה שקדי",
    "ნინო მაისურაძე",
    "ሰላም አበበ",
    "山田 花子",
    "김민서",
)
CARD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="190mm" height="60mm"'
    ' viewBox="0 0 190 60"><rect id="outline" x="2" y="2" width="186" height="56"'
    ' fill="none" stroke="#000"/></svg>'
)


@dataclass
class Tried:
    """What came of one font."""

    name: str
    refused: str = ""
    qpdf_clean: bool = False
    missing_px: int = 0
    """Pixels that differ by more than 1 px, in the worse of the two pictures."""
    ink_px: int = 0


class _PathPen(BasePen):
    """Draws glyphs as paths of a PDF."""

    def __init__(self) -> None:
        super().__init__(None)
        self.out: list[str] = []

    def _moveTo(self, pt: Any) -> None:  # noqa: N802 - names of fontTools' pens
        self.out.append(f"{pt[0]:.3f} {pt[1]:.3f} m")

    def _lineTo(self, pt: Any) -> None:  # noqa: N802
        self.out.append(f"{pt[0]:.3f} {pt[1]:.3f} l")

    def _curveToOne(self, a: Any, b: Any, c: Any) -> None:  # noqa: N802
        self.out.append(" ".join(f"{v:.3f}" for p in (a, b, c) for v in p) + " c")

    def _closePath(self) -> None:  # noqa: N802
        self.out.append("h")


def open_face(path: Path) -> hb.Face:
    data = path.read_bytes()
    if data[:4] in (b"wOFF", b"wOF2"):
        font = TTFont(io.BytesIO(data))
        font.flavor = None
        out = io.BytesIO()
        font.save(out, reorderTables=None)
        data = out.getvalue()
    return hb.Face(hb.Blob(data), 0)


def sample_of(face: hb.Face) -> str:
    font, known = hb.Font(face), set(face.unicodes)
    for text in SAMPLES:
        if all(font.get_nominal_glyph(ord(c)) for c in text):
            return text
    letters = [chr(c) for c in sorted(known) if unicodedata.category(chr(c))[0] in "LNS"]
    kinds = Counter(unicodedata.name(c, "?").split()[0] for c in letters)
    if not kinds:
        return ""
    most = kinds.most_common(1)[0][0]
    return "".join([c for c in letters if unicodedata.name(c, "?").startswith(most)][:12])


def outlines(face: hb.Face, text: str) -> tuple[str, tuple[float, float, float, float]]:
    """Draw a shaped line as paths, in em; give its ink box."""
    font = hb.Font(face)
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.cluster_level = hb.BufferClusterLevel.MONOTONE_CHARACTERS
    hb.shape(font, buffer, {})
    x, out, boxes = 0.0, [], []
    for info, at in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        pen = _PathPen()
        font.draw_glyph_with_pen(info.codepoint, pen)
        dx, dy = x + at.x_offset, at.y_offset
        if pen.out:
            out.append(f"q 1 0 0 1 {dx:.3f} {dy:.3f} cm {' '.join(pen.out)} f Q")
            # Boxes that the font itself states are wrong in some.
            bounds = BoundsPen(None)
            font.draw_glyph_with_pen(info.codepoint, bounds)
            boxes.append(np.array(bounds.bounds) + np.array((dx, dy, dx, dy)))
        x += at.x_advance
    low, high = np.array(boxes)[:, :2].min(axis=0), np.array(boxes)[:, 2:].max(axis=0)
    return "\n".join(out), (*low.tolist(), *high.tolist())


def as_paths(
    face: hb.Face, text: dict[str, Any], page: tuple[float, float], to: Path
) -> None:
    """Draw one composed text of the report as paths on a page of the same size."""
    content, box = outlines(face, text["lines"][0])
    size = text["size_pt"] / face.upem
    x0, y0 = (v * PT_PER_MM for v in text["ink_mm"][:2])
    matrix = f"{size} 0 0 {size} {x0 - box[0] * size} {y0 - box[1] * size} cm"
    pdf = pikepdf.new()
    pdf.add_blank_page(page_size=page)
    pdf.pages[0].Contents = pdf.make_stream(f"q 0 g {matrix}\n{content}\nQ".encode())
    pdf.save(to)


def by_pdfium(pdf: Path) -> np.ndarray:
    page = pypdfium2.PdfDocument(pdf)[0]
    return np.asarray(page.render(scale=DPI / 72).to_pil().convert("L"))


def by_poppler(pdf: Path) -> np.ndarray:
    stem = pdf.with_suffix("")
    words = ["pdftoppm", "-r", str(DPI), "-f", "1", "-l", "1", "-png", "-singlefile"]
    subprocess.run([*words, str(pdf), str(stem)], check=True)
    return np.asarray(Image.open(stem.with_suffix(".png")).convert("L"))


def grown(ink: np.ndarray) -> np.ndarray:
    padded = np.pad(ink, 1)
    h, w = ink.shape
    return np.any(
        [padded[y : y + h, x : x + w] for y in range(3) for x in range(3)], axis=0
    )


def apart(ours: np.ndarray, theirs: np.ndarray, box_px: list[int]) -> int:
    x0, y0, x1, y1 = box_px
    a, b = ours[y0:y1, x0:x1], theirs[y0:y1, x0:x1]
    return int((a < 100)[~grown(b < 220)].sum() + (b < 100)[~grown(a < 220)].sum())


def try_font(path: Path, folder: Path) -> Tried:
    tried = Tried(path.name)
    file = f"font{path.suffix}"
    (folder / file).write_bytes(path.read_bytes())
    (folder / "card.svg").write_text(CARD, "utf-8")
    member = "font_member = 1\n" if path.suffix in (".ttc", ".otc") else ""
    (folder / "card.toml").write_text(
        f'[margins]\nbleed = 0\n[type]\nfont = "{file}"\nmax_lines = 1\n{member}', "utf-8"
    )
    try:
        design = personalize.load_design(folder / "card.toml")
        face = open_face(path)
        text = sample_of(face)
        if not text:
            tried.refused = "it has no letters (a font of pictures or spaces)"
            return tried
        table = Table(Source("trial.csv"), ("front",), (Row(2, (text,)),))
        options = personalize.Options(proof=False)
        result = personalize.make(table, design, folder / "out", options)
    except InputError as error:
        tried.refused = error.problems[0].says
        return tried
    if not result.made or any(f.rule == "other-font" for f in result.findings):
        tried.refused = "; ".join(f.says for f in result.findings)
        return tried
    pdf = folder / "out" / "print.pdf"
    check = subprocess.run(["qpdf", "--check", str(pdf)], capture_output=True, check=False)
    tried.qpdf_clean = check.returncode == 0
    report = json.loads((folder / "out" / "report.json").read_text("utf-8"))
    said = report["pieces"][0]["texts"][0]
    with pikepdf.open(pdf) as opened:
        page = tuple(float(v) for v in opened.pages[0].MediaBox)[2:]
    drawn = folder / "paths.pdf"
    as_paths(face, said, page, drawn)
    k = DPI / 25.4
    high = page[1] / PT_PER_MM
    x0, y0, x1, y1 = said["ink_mm"]
    box = [round(v * k) for v in (x0 - 1, high - y1 - 1, x1 + 1, high - y0 + 1)]
    for picture in (by_pdfium, by_poppler):
        ours, theirs = picture(pdf), picture(drawn)
        tried.missing_px = max(tried.missing_px, apart(ours, theirs, box))
        tried.ink_px = int((theirs < 128).sum())
    return tried


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--most", type=int, default=1000)
    given = parser.parse_args()
    paths = sorted(
        p
        for p in given.folder.rglob("*")
        if p.suffix.casefold() in SUFFIXES and p.is_file()
    )[: given.most]
    results = []
    for path in paths:
        with tempfile.TemporaryDirectory() as folder:
            tried = try_font(path, Path(folder))
        results.append(tried)
        state = tried.refused or (
            f"{'clean' if tried.qpdf_clean else 'QPDF FAULT'}, {tried.missing_px} px apart"
            f" of {tried.ink_px}"
        )
        print(f"{tried.name}: {state}", flush=True)
    set_ones = [t for t in results if not t.refused]
    print(
        f"{len(results)} fonts, {len(results) - len(set_ones)} refused,"
        f" {sum(t.qpdf_clean for t in set_ones)} of {len(set_ones)} clean for qpdf,"
        f" worst {max((t.missing_px for t in set_ones), default=0)} px apart,"
        f" {sum(t.missing_px > 0 for t in set_ones)} fonts with any"
    )


if __name__ == "__main__":
    main()
