"""Folded pieces that the tests draw."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray

import personalize
from personalize.design.design import Design
from personalize.geometry.zone import Region

Xy = tuple[float, float]
SIDE = 120.0
"""Side of the page of every drawing here, mm."""
MIDDLE = (60.0, 60.0)


@dataclass(frozen=True)
class Drawn:
    """A piece to be drawn: everything in mm with y up, from the page's lower left."""

    outline: str
    creases: Sequence[tuple[Xy, Xy]] = ()
    holes: Sequence[tuple[Xy, float]] = ()
    margins: str = "outline = 2\ncrease = 3\nhole = 2\nbleed = 0"
    panels: Sequence[tuple[str, Xy, str]] = ()
    """Name, a point inside, and more lines of TOML."""
    stick: str = ""
    more: str = field(default="")

    def load(self, folder: Path) -> Design:
        """Write the drawing and its TOML, and load them."""
        parts = [f'<path id="edge" fill="none" stroke="#000" d="{self.outline}"/>']
        for a, b in self.creases:
            (x0, y0), (x1, y1) = down(a), down(b)
            parts.append(f'<path class="fold" stroke="#00f" d="M{x0} {y0}L{x1} {y1}"/>')
        for (x, y), radius in self.holes:
            cx, cy = down((x, y))
            parts.append(
                f'<circle class="hole" fill="none" cx="{cx}" cy="{cy}" r="{radius}"/>'
            )
        size = f'width="{SIDE}mm" height="{SIDE}mm" viewBox="0 0 {SIDE} {SIDE}"'
        (folder / "piece.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{"".join(parts)}</svg>'
        )
        toml = ["[lines]", 'Cutting = ["#edge"' + (', ".hole"]' if self.holes else "]")]
        if self.creases:
            toml.append('Creasing = ".fold"')
        toml += ["[margins]", self.margins]
        if self.stick:
            toml += ["[stick]", self.stick]
        for name, at, lines in self.panels:
            x, y = down(at)
            toml += ["[[panel]]", f'name = "{name}"', f"at = [{x}, {y}]", 'text = "{name}"']
            toml += [lines]
        (folder / "piece.toml").write_text("\n".join(toml) + "\n")
        return personalize.load_design(folder / "piece.toml")


def down(point: Xy) -> Xy:
    """From y up to the y down of SVG."""
    return (point[0], SIDE - point[1])


def polygon(*points: Xy) -> str:
    return "M" + "L".join(f"{x!r} {y!r}" for x, y in map(down, points)) + "Z"


def disc(radius: float) -> str:
    x, y = MIDDLE
    left, right, arc = x - radius, x + radius, f"A{radius} {radius} 0 1 0"
    return f"M{right} {SIDE - y}{arc} {left} {SIDE - y}{arc} {right} {SIDE - y}Z"


def away(angle_deg: float, distance: float, start: Xy = MIDDLE) -> Xy:
    """Give the point at a distance in a direction (counter-clockwise, y up)."""
    turn = math.radians(angle_deg)
    return (start[0] + distance * math.cos(turn), start[1] + distance * math.sin(turn))


def mirrored(points: Sequence[Xy], a: Xy, b: Xy) -> NDArray[np.float64]:
    """Reflect points in the line a-b: p' = 2 (a + ((p - a).u) u) - p."""
    p, start = np.array(points), np.array(a)
    u = np.array(b) - start
    u /= np.hypot(*u)
    foot = start + ((p - start) @ u)[:, None] * u
    return 2 * foot - p  # type: ignore[no-any-return]


def shape(region: Region) -> shapely.Polygon:
    return shapely.Polygon(region.outer, region.holes)


def differ_mm2(a: shapely.Polygon, b: shapely.Polygon) -> float:
    return float(a.symmetric_difference(b).area)


def folded_disc(p: float, a: float, side: int = 1, *, hole: bool = False) -> Drawn:
    """A disc with one crease through its middle at angle p, its front's text at angle a."""
    front, back = (away(p + 90 * side * way, 20) for way in (1, -1))
    return Drawn(
        disc(50),
        [(away(p, 50), away(p + 180, 50))],
        [(away(p - 90 * side, 22), 4)] if hole else [],
        panels=[
            ("front", front, f'turn_deg = {a}\nfaces = "back"'),
            ("back", away(p - 90 * side, 40) if hole else back, ""),
        ],
    )
