"""What the tests of versions and pictures share."""

from pathlib import Path

import personalize
from personalize.sheet.paper import Paper
from personalize.sheet.rules import SheetRules
from tests.conftest import EDGE, drawing, put
from tests.outside import Pdfium

RED, GREEN, BLUE = "#c81e1e", "#1e8c3c", "#1e3cc8"
GROUND = '<rect id="{id}" width="60" height="40" fill="{fill}"/>'
LAYERS = drawing(
    GROUND.format(id="plum", fill=RED)
    + f'<g style="display:none">{GROUND.format(id="mint", fill=GREEN)}</g>'
    + GROUND.format(id="sky", fill=BLUE).replace("/>", ' style="display:none"/>')
    + EDGE
)
TOML = """
svg = "tag.svg"
[lines]
Cutting = "#edge"
[margins]
bleed = 2
[[panel]]
name = "name"
"""
BY_LAYER = TOML + (
    '[[version]]\nname = "plum"\nshow = "#plum"\n'
    '[[version]]\nname = "mint"\nshow = "#mint"\n'
    '[[version]]\nname = "sky"\nshow = "#sky"\ncolour = "#ffffff"\n'
)


def run(folder: Path, rows: str, toml: str = BY_LAYER, **files: str | bytes) -> Path:
    """Make the rows, one piece on a sheet of its own size; gives the folder."""
    put(folder, {"tag.toml": toml, "tag.svg": LAYERS, "list.csv": rows, **files})
    rules = SheetRules(Paper("own", 84.0, 64.0), marks=False, spares=False)
    result = personalize.make(
        personalize.read_table(folder / "list.csv"),
        personalize.load_design(folder / "tag.toml"),
        folder / "out",
        personalize.Options(sheets=rules),
    )
    assert result.made, result.findings
    return folder / "out"


def colour_at(pdf: Path, page: int, x: float, y: float) -> tuple[int, ...]:
    """Colour that pdfium paints at a place of a page, in mm from its top left."""
    picture = Pdfium(pdf).picture(page + 1, 4.0)
    return tuple(int(v) for v in picture[round(y * 4), round(x * 4)][:3])


def near(found: tuple[int, ...], css: str) -> bool:
    wanted = [int(css[at : at + 2], 16) for at in (1, 3, 5)]
    return max(abs(a - b) for a, b in zip(found, wanted, strict=True)) <= 2
