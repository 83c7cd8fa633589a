"""Other programs that read our files, and pictures of them, for tests."""

import functools
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from PIL import Image

Pixels = NDArray[np.uint8]
PT_PER_MM = 72 / 25.4
_DIRECTION_MARKS = dict.fromkeys(map(ord, "\u200e\u200f\u202a\u202b\u202c\u202d\u202e"))


def run(*command: str | Path) -> str:
    """Run a program and give what it prints; an exit code other than 0 fails the test."""
    done = subprocess.run(list(map(str, command)), capture_output=True, check=False)
    assert done.returncode == 0, (command, done.stderr.decode("utf-8", "replace"))
    return done.stdout.decode("utf-8")


def without_marks(text: str) -> str:
    """Drop the marks of direction that a reader puts round right-to-left words."""
    return text.translate(_DIRECTION_MARKS)


def poppler_text(
    pdf: Path, page: int, box_mm: list[float], height_mm: float, *, raw: bool = True
) -> str:
    """Text that poppler finds in a box of a page (mm, y up).

    As it stands in the file if `raw`, else in the order that poppler finds it is read in:
    its own way to put the words of a right-to-left line in order.
    """
    x0, y0, x1, y1 = (round(v * 10) for v in box_mm)
    return run(
        *("pdftotext", "-f", str(page), "-l", str(page), "-r", "254", *["-raw"] * raw),
        *("-x", str(x0), "-y", str(round(height_mm * 10) - y1)),
        *("-W", str(x1 - x0), "-H", str(y1 - y0), pdf, "-"),
    ).strip("\n\f")


class Pdfium:
    """A document as pdfium sees it."""

    def __init__(self, pdf: Path) -> None:
        self._document = pypdfium2.PdfDocument(pdf)

    def text(self, page: int, box_mm: list[float]) -> str:
        """Text in a box of a page (mm, y up)."""
        left, bottom, right, top = (v * PT_PER_MM for v in box_mm)
        words = self._text_page(page).get_text_bounded(left, bottom, right, top)
        return str(words).replace("\r\n", "\n").strip()

    @functools.cache  # noqa: B019 - lives as long as one test
    def _text_page(self, page: int) -> Any:
        return self._document[page - 1].get_textpage()

    def picture(self, page: int, px_per_mm: float) -> Pixels:
        """Draw a page: (height, width, 3)."""
        scale = px_per_mm / PT_PER_MM
        image = self._document[page - 1].render(scale=scale).to_pil().convert("RGB")
        return np.asarray(image)

    def __len__(self) -> int:
        return len(self._document)


def poppler_picture(pdf: Path, page: int, dpi: int, folder: Path) -> Pixels:
    """Draw a page with poppler: (height, width, 3)."""
    stem = folder / f"page-{page}-{dpi}"
    run(
        "pdftoppm", "-r", str(dpi), "-f", str(page), "-l", str(page), "-png", "-singlefile",
        pdf, stem,
    )  # fmt: skip
    return np.asarray(Image.open(stem.with_suffix(".png")).convert("RGB"))


def longest_dark_run(line: NDArray[np.bool_]) -> int:
    """Length of the longest unbroken run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(np.int8), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))
