"""Golden pictures: how the outputs look, kept small, compared with some give.

Make them anew with ``python -m tests.golden`` after looking at the new ones.
"""

import tempfile
from pathlib import Path

import numpy as np
from PIL import Image

import personalize
from tests.outside import Pdfium, Pixels

FOLDER = Path(__file__).resolve().parent / "golden"
SAMPLES = FOLDER.parents[1] / "samples"
PX_PER_MM = 2.0
BLOCK_PX = 8


def first_sheet(name: str, folder: Path) -> Pixels:
    """First sheet of a sample with the whole guest list, as pdfium draws it."""
    table = personalize.read_table(SAMPLES / "picnic.csv")
    personalize.make(table, personalize.load_design(name), folder / name)
    return Pdfium(folder / name / "print.pdf").picture(1, PX_PER_MM)


def worst_block(a: Pixels, b: Pixels) -> float:
    """Largest mean difference (0 to 255) of any block of 8 x 8 pixels (4 x 4 mm)."""
    assert a.shape == b.shape
    apart = np.abs(a.astype(int) - b.astype(int)).mean(axis=2)
    h, w = (side // BLOCK_PX * BLOCK_PX for side in apart.shape)
    blocks = apart[:h, :w].reshape(h // BLOCK_PX, BLOCK_PX, w // BLOCK_PX, BLOCK_PX)
    return float(blocks.mean(axis=(1, 3)).max())


def main() -> None:
    """Write the golden pictures anew."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        for name in personalize.sample_names():
            picture = Image.fromarray(first_sheet(name, Path(folder)))
            picture.quantize(128).save(FOLDER / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main()
