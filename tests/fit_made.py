"""What the tests of fitting share: cases of real panels and crooked shapes."""

import functools
import itertools
import math
import random
from dataclasses import dataclass
from pathlib import Path

import numpy as np

import personalize
from personalize.design.design import Panel
from personalize.fonts.catalogue import Font, find_font
from personalize.geometry.zone import Region, region_of
from personalize.type.contain import Shape
from personalize.type.fit import Fitting, Rules, Setting
from personalize.type.itemise import BreakKind
from personalize.type.shape import Paragraph
from tests.reference_fit import MOST_BREAKS, Search, Text, Zone

PANELS = ("front@plant-flag", "back@plant-flag", "leaf@herb-tag",
          "front@table-tent", "back@table-tent", "lid / dish@jar-lid")  # fmt: skip
PER_PANEL = 50
LEAST, MOST = 0.998, 1.0011
"""Largest sizes against the reference, whose own step is 0.999."""
WORDS = (
    "Io", "Bo", "a", "&", "of", "de", "la", "III", "Ann", "Zoë", "Tamblyn", "O'Dwyer-Lacey",
    "Wilhelmina", "Featherstone-Castellanos", "Jiřík", "Þórhildur", "Æsudóttir", "Ñusta",
    "Grażyna", "gypsy", "Quillfeather", "Pemberwick", "Mr.", "Nguyễn", "Thuỳ",
    "rhu\u00adbarb", "butter\u00adscotch", "Anne\u00a0Marie", "Дарина", "Яблунівська",
    "Ελευθερία",
)  # fmt: skip
OTHER_WORDS = (
    "נועה", "גן־תות", "سلمى", "النعناعي", "मीनाक्षी", "फूलवती", "ดอกแก้วสวนสุข",
    "梅園さくら", "🌻",
)  # fmt: skip
NUNITO = find_font("Nunito Bold", Path(), "test")


def invented(rng: random.Random) -> str:
    """A message of 1 to 12 words, now and then with another script or a line end."""
    count = rng.choice((1, 1, 2, 2, 2, 3, 3, 4, 5, 6, 8, 12))
    words = [rng.choice(OTHER_WORDS if rng.random() < 0.1 else WORDS) for _ in range(count)]
    joints = ["\n" if rng.random() < 0.04 else " " for _ in words]
    return "".join(itertools.chain(*zip(words, joints, strict=True))).strip()


def text_of(paragraph: Paragraph) -> Text:
    kinds = [segment.kind for segment in paragraph.segments]
    return Text(
        paragraph.text,
        paragraph.ink_table(),
        frozenset(i for i, kind in enumerate(kinds) if kind is BreakKind.FORCED),
        frozenset(i for i, kind in enumerate(kinds) if kind is BreakKind.SOFT_HYPHEN),
    )


def zone_of(region: Region) -> Zone:
    return Zone(region.outer, region.holes)


@dataclass(frozen=True)
class Case:
    """One message in one zone, fitted and searched."""

    paragraph: Paragraph
    shape: Shape
    fitting: Fitting
    search: Search

    @functools.cached_property
    def reference(self) -> dict[int, float]:
        """Largest size by number of lines, capped as wanted."""
        cap = self.fitting.rules.cap_mm
        return {k: min(self.search.largest(k), cap) for k in self.fitting.line_counts}

    def boxes(self, setting: Setting) -> list[tuple[float, float, float, float]]:
        """Ink boxes of the placed lines, from the lines themselves."""
        out = []
        starts = (0, *(b + 1 for b in setting.breaks[:-1]))
        for first, last, (x, y) in zip(
            starts, setting.breaks, setting.origins, strict=True
        ):
            ink = self.paragraph.line(first, last).ink
            if ink is not None:
                x0, y0, x1, y1 = (v * setting.size_mm for v in ink)
                out.append((x + x0, y + y0, x + x1, y + y1))
        return out


def case_of(words: str, font: Font, region: Region, rules: Rules) -> Case:
    paragraph = Paragraph(words, font)
    shape = Shape(region)
    return Case(
        paragraph,
        shape,
        Fitting(paragraph, shape, rules),
        Search(text_of(paragraph), zone_of(region), rules.width_share),
    )


@functools.cache
def panel_of(place: str) -> Panel:
    name, design = place.split("@")
    return personalize.load_design(design).panel(name)


def reading_zone(panel: Panel) -> Region:
    return panel.zone.mapped(panel.to_reading)


@functools.cache
def cases(place: str) -> tuple[Case, ...]:
    """Invented messages in a sample's panel: every second one as large as it will go."""
    panel = panel_of(place)
    style = panel.style
    told = Rules(style.max_lines, style.width_share, cap_mm=style.max_pt / 72 * 25.4)
    rng = random.Random(place)
    out: list[Case] = []
    while len(out) < PER_PANEL:
        rules = (Rules(), told)[len(out) % 2]
        case = case_of(invented(rng), style.font, reading_zone(panel), rules)
        if len(case.paragraph.segments) <= MOST_BREAKS + 1:
            out.append(case)
    return tuple(out)


# The reference itself ------------------------------------------------------------------

CROOKED = {
    "notched": [(0, 0), (80, 0), (30, 20), (80, 40), (0, 40)],
    "bent": [(0, 0), (60, 0), (60, 20), (25, 20), (25, 60), (0, 60)],
    "crossed": [(20, 0), (40, 0), (40, 20), (60, 20), (60, 40), (40, 40),
                (40, 60), (20, 60), (20, 40), (0, 40), (0, 20), (20, 20)],
    "pinched": [(0, 0), (60, 0), (60, 15), (40, 20), (40, 30), (60, 35),
                (60, 50), (0, 50), (0, 35), (20, 30), (20, 20), (0, 15)],
    "starry": [((35, 15)[i % 2] * math.sin(math.pi * i / 5),
                (35, 15)[i % 2] * math.cos(math.pi * i / 5)) for i in range(10)],
}  # fmt: skip


def round_about(
    x: float, y: float, radius: float, chords: int = 24
) -> list[tuple[float, float]]:
    turns = [2 * math.pi * i / chords for i in range(chords)]
    return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns]


def region(outer: list[tuple[float, float]], *holes: list[tuple[float, float]]) -> Region:
    return region_of(np.array(outer, float), [np.array(hole, float) for hole in holes])


PIERCED = {
    "a card with a small hole": region(
        [(0, 0), (60, 0), (60, 30), (0, 30)], round_about(30, 15, 1.5)
    ),
    "a card with a hole": region(
        [(0, 0), (60, 0), (60, 30), (0, 30)], round_about(30, 15, 3)
    ),
    "a card with a hole near an end": region(
        [(0, 0), (60, 0), (60, 30), (0, 30)], round_about(8, 15, 3)
    ),
    "a ring": region(round_about(30, 30, 28, 90), round_about(30, 30, 3)),
    "a narrow ring": region(round_about(30, 30, 28, 90), round_about(30, 30, 15)),
}
SHAPES = {**{name: region(points) for name, points in CROOKED.items()}, **PIERCED}
