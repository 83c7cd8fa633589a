"""Nets of creases and how they are folded."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import personalize
from personalize.design.design import Design
from personalize.design.fold_findings import fold_findings
from personalize.finding import Finding

Xy = tuple[float, float]
PAGE = 240.0


@dataclass(frozen=True)
class Net:
    """A flat piece: outline and creases, and a point in every panel; mm, y up."""

    outline: Sequence[Xy]
    creases: Sequence[tuple[Xy, Xy]]
    panels: Sequence[Xy]
    margins: str = "outline = 2\ncrease = 2\nbleed = 0"

    def moved(self, turn_deg: float, *, mirror: bool = False) -> "Net":
        """Turn the whole drawing about its middle, or mirror it left to right."""
        angle = math.radians(turn_deg)
        cos, sin = math.cos(angle), math.sin(angle)

        def to(point: Xy) -> Xy:
            x, y = point[0] - PAGE / 2, point[1] - PAGE / 2
            x = -x if mirror else x
            return (cos * x - sin * y + PAGE / 2, sin * x + cos * y + PAGE / 2)

        return Net(
            [to(p) for p in self.outline],
            [(to(a), to(b)) for a, b in self.creases],
            [to(p) for p in self.panels],
            self.margins,
        )

    def load(self, folder: Path, folds: str = "", top: str = "", **more: str) -> Design:
        """Write the drawing and its TOML and load them; panels are p0, p1..."""
        ways = ["M" + "L".join(f"{x!r} {PAGE - y!r}" for x, y in self.outline) + "Z"]
        ways += [
            f"M{a[0]!r} {PAGE - a[1]!r}L{b[0]!r} {PAGE - b[1]!r}" for a, b in self.creases
        ]
        drawn = [f'<path id="edge" fill="none" stroke="#000" d="{ways[0]}"/>']
        drawn += [
            f'<path id="c{i}" class="fold" stroke="#00f" d="{way}"/>'
            for i, way in enumerate(ways[1:])
        ]
        size = f'width="{PAGE}mm" height="{PAGE}mm" viewBox="0 0 {PAGE} {PAGE}"'
        (folder / "piece.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{"".join(drawn)}</svg>'
        )
        toml = [top, '[lines]\nCutting = "#edge"\nCreasing = ".fold"', "[margins]"]
        toml += [self.margins, folds]
        for i, (x, y) in enumerate(self.panels):
            toml.append(f'[[panel]]\nname = "p{i}"\nat = [{x!r}, {PAGE - y!r}]')
            toml.append('text = "{name}"\n' + more.get(f"p{i}", ""))
        (folder / "piece.toml").write_text("\n".join(toml) + "\n")
        return personalize.load_design(folder / "piece.toml")


def box(x0: float, y0: float, x1: float, y1: float) -> list[Xy]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def row(count: int) -> Net:
    """Panels of 30 x 60 mm side by side, the creases upright; p0 at the left."""
    xs = [30.0 + 30 * i for i in range(count + 1)]
    creases = [((x, 90.0), (x, 150.0)) for x in xs[1:-1]]
    return Net(box(30, 90, xs[-1], 150), creases, [(x + 15, 120.0) for x in xs[:-1]])


def column(*heights: float) -> Net:
    """Panels of 60 mm width over each other, the creases level; p0 at the bottom."""
    ys = [20.0]
    for height in heights:
        ys.append(ys[-1] + height)
    creases = [((90.0, y), (150.0, y)) for y in ys[1:-1]]
    middles = [(a + b) / 2 for a, b in pairwise(ys)]
    return Net(box(90, 20, 150, ys[-1]), creases, [(120.0, y) for y in middles])


def cross() -> Net:
    """A face of 40 mm and flaps as large: p0, then the right one, top, left, foot."""
    a, b, c, d = 60.0, 100.0, 140.0, 180.0
    outline = [(b, a), (c, a), (c, b), (d, b), (d, c), (c, c), (c, d), (b, d), (b, c)]
    outline += [(a, c), (a, b), (b, b)]
    creases = [((c, b), (c, c)), ((b, c), (c, c)), ((b, b), (b, c)), ((b, b), (c, b))]
    m = 120.0
    return Net(outline, creases, [(m, m), (160, m), (m, 160), (80, m), (m, 80)])


def quarters() -> Net:
    """Two creases that cross: p0 is lower left, then lower right, upper left, right."""
    creases = [((120.0, 60.0), (120.0, 180.0)), ((60.0, 120.0), (180.0, 120.0))]
    return Net(box(60, 60, 180, 180), creases, [(90, 90), (150, 90), (90, 150), (150, 150)])


def folds(*each: str) -> str:
    """Write [[crease]] tables: "90 valley" for the crease of that place; "-" leaves out."""
    out = []
    for i, one in enumerate(each):
        if one != "-":
            angle, _, way = one.partition(" ")
            out.append(f'[[crease]]\nlines = "#c{i}"\nangle_deg = {angle}')
            out.append(f'way = "{way or "mountain"}"')
    return "\n".join(out)


def every(angle: float, way: str = "mountain") -> str:
    return f'[[crease]]\nangle_deg = {angle}\nway = "{way}"'


LIES = 'set_up = "lying"'
HALVES, THIRDS = (60.0, 60.0), (50.0, 50.0, 50.0)


def told(design: Design) -> list[Finding]:
    return list(fold_findings(design.folding))
