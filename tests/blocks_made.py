"""What the tests of blocks and rings share."""

from pathlib import Path
from typing import Any

import shapely

import personalize
from personalize.checks.inside import InsideCheck
from personalize.design.design import Design
from personalize.job import Job, prepare
from personalize.type.compose import ComposedText
from tests.conftest import drawing, line, put

CARD = drawing(line("M2 2H98V58H2Z"), 100, 60)
HEAD = '[margins]\nbleed = 0\n[lines]\nCutting = "#edge"\nCreasing = "#fold"\n'


def design_of(folder: Path, svg: str, toml: str) -> Design:
    head = HEAD if "fold" in svg else HEAD.replace('Creasing = "#fold"\n', "")
    put(folder, {"kit.svg": svg, "kit.toml": head + toml})
    return personalize.load_design(folder / "kit.toml")


def job_of(folder: Path, svg: str, toml: str, table: str) -> Job:
    put(folder, {"guests.csv": table})
    design = design_of(folder, svg, toml)
    return prepare(personalize.read_table(folder / "guests.csv"), design)


def texts_in(job: Job) -> list[dict[str, ComposedText]]:
    """Texts of every piece by their place, each proved to be inside."""
    check = InsideCheck(job.design)
    out = []
    for unit in job.units:
        texts = job.composed(unit)
        for text in texts:
            check.check(text, unit.message.row)
        out.append({text.panel: text for text in texts})
    return out


def zone(design: Design, name: str) -> Any:
    region = design.panel(name).zone
    return shapely.Polygon(region.outer, region.holes)


# Blocks --------------------------------------------------------------------------------

TWO = """
[[panel]]
name = "front"
at = [75, 20]
gap = 2
[[panel.block]]
name = "name"
text = "{name}"
share = 3
[[panel.block]]
name = "seat"
text = "{seat}"
font = "Lora Bold"
colour = "#225522"
max_pt = 9
"""
