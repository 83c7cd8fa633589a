"""The sheets of the samples look as they did when somebody last looked at them."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import personalize
from tests.golden import FOLDER, first_sheet, worst_block

# Measured: the palette of the small picture changes a block by up to 19; a line moved by
# half a millimetre changes one by 68 and more.
GIVE = 40.0


@pytest.mark.parametrize("name", personalize.sample_names())
@pytest.mark.usefixtures("whole_work")
def test_a_sheet_looks_as_it_did(name: str, tmp_path: Path) -> None:
    golden = np.asarray(Image.open(FOLDER / f"{name}.png").convert("RGB"))
    picture = first_sheet(name, tmp_path)
    worst = worst_block(picture, golden)
    if worst > GIVE:
        Image.fromarray(picture).save(tmp_path / "now.png")
    assert worst <= GIVE, f"look at {tmp_path / 'now.png'}"


def test_a_missing_word_would_be_seen() -> None:
    golden = np.asarray(Image.open(FOLDER / "plant-flag.png").convert("RGB"))
    spoilt = golden.copy()
    # The first guest's name on the right half of the first flag: 8 mm round its middle.
    x, y = round(141.3 * 2), round((297 - 261.6) * 2)
    spoilt[y - 8 : y + 8, x - 8 : x + 8] = golden[y - 14, x]
    assert worst_block(spoilt, golden) > GIVE
