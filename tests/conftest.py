"""What many tests share: one finished result, made once."""

from pathlib import Path

import pytest

import personalize

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = ROOT / "samples"


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of the flag sample with the whole guest list (not to be changed)."""
    out = tmp_path_factory.mktemp("made") / "picnic"
    table = personalize.read_table(SAMPLES / "picnic.csv")
    personalize.make(table, personalize.load_design("plant-flag"), out)
    return out
