"""A kit of three pieces, and a run of it."""

import json
from pathlib import Path
from typing import Any

import personalize
from tests.conftest import drawing, line, put

BANDS = {(0, 66): "#f0a0a0", (66, 112): "#a0e0a0", (112, 160): "#a0a0f0"}
"""Artwork of the kit: bands of colour from left to right, by where they begin and end."""
KIT = drawing(
    "".join(
        f'<rect x="{a}" width="{b - a}" height="60" fill="{colour}"/>'
        for (a, b), colour in BANDS.items()
    )
    + line("M5 5H61V55H5Z", "flag-edge")
    + line("M33 5V55", "fold")
    + line("M89 8A22 22 0 0 1 89 52A22 22 0 0 1 89 8Z", "leaf-edge")
    + line("M89 12A2 2 0 0 1 89 16A2 2 0 0 1 89 12Z", "leaf-hole")
    + line("M120 10H150V44H120Z", "label-edge"),
    160,
    60,
)
TOLD = """
name = "Bean kit"
stock = "white card 220"

[lines]
Cutting = ["#flag-edge", "#leaf-edge", "#leaf-hole", "#label-edge"]
Creasing = "#fold"

[[piece]]
name = "flag"
at = [20, 30]

[[piece]]
name = "leaf"
at = [89, 40]
count = 2
stock = "green paper"

[[piece]]
name = "label"
at = [130, 30]

[[panel]]
name = "front"
at = [50, 30]
faces = "back"
text = "{name}"

[[panel]]
name = "back"
at = [20, 30]

[[panel]]
name = "dish"
at = [130, 30]
text = "{dish} for {name}"
"""
GUESTS = """name,back,dish,copies
Wilhelmina,Beans,Soup,2
Io,,Pie,1
Noor,Peas,Tart,0
Bo,,Stew,3
"""
COPIES = {2: 2, 3: 1, 4: 0, 5: 3}
COUNTS = {"Bean kit / flag": 1, "Bean kit / leaf": 2, "Bean kit / label": 1}


def report_of(folder: Path) -> dict[str, Any]:
    said = json.loads((folder / "report.json").read_text("utf-8"))
    assert isinstance(said, dict)
    return said


def designs_of(folder: Path, svg: str, toml: str = "") -> tuple[personalize.Design, ...]:
    put(folder, {"kit.svg": svg, **({"kit.toml": toml} if toml else {})})
    return personalize.load_designs(folder / "kit.svg")
