"""What a browser, an independent reader of SVG, makes of the drawings in `svg_cases`."""

import base64
import json
import re
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from personalize.geometry.affine import Affine

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

# Each drawing is parsed as XML and stands in a shadow tree, so that its style sheet holds
# for itself alone. Lengths are asked for with getPointAtLength, maps with getScreenCTM.
_PAGE = """<!DOCTYPE html><meta charset="utf-8"><body style="margin:0"><script>
const cases = JSON.parse(atob("@CASES@")), out = {}, EVERY = @EVERY@;
function probe(svg, element, corner, many) {
  const m = element.getScreenCTM(), box = element.getBBox(), one = {};
  one.seen = m !== null && getComputedStyle(element).visibility === "visible" &&
    element.getClientRects().length > 0;
  one.map = m && [m.a, m.b, m.c, m.d, m.e - corner.left, m.f - corner.top];
  one.box = [box.x, box.y, box.x + box.width, box.y + box.height];
  const css = getComputedStyle(element);
  one.paint = [css.fill, css.stroke, css.strokeWidth, css.strokeDasharray];
  one.points = null;
  if (one.seen && element.getTotalLength && element.getTotalLength() > 0) {
    const total = element.getTotalLength();
    one.points = [];
    for (let i = 0; i <= many; i++) {
      const p = element.getPointAtLength(total * i / many);
      one.points.push([p.x, p.y]);
    }
  }
  return one;
}
const NAMED = "[id^=p],[id^=q],path[id^=c],rect[id^=c],circle[id^=c]";
const SHAPES = "path,rect,circle,ellipse,line,polyline,polygon,use";
for (const [name, text] of Object.entries(cases)) {
  const host = document.createElement("div");
  host.style = "position:fixed;left:0;top:0";
  document.body.append(host);
  const parsed = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
  const svg = document.importNode(parsed, true);
  svg.style.display = "block";
  const box = svg.viewBox.baseVal;
  if (box && !svg.hasAttribute("width") && !svg.hasAttribute("height")) {
    svg.setAttribute("width", box.width);  // else it takes the size of its host
    svg.setAttribute("height", box.height);
  }
  const root = host.attachShadow({mode: "open"});
  root.append(svg);
  const corner = svg.getBoundingClientRect();
  const found = {}, all = [svg, ...svg.querySelectorAll("*")];
  if (EVERY) all.forEach((element, i) => {
    if (element.matches(SHAPES)) found[i] = probe(svg, element, corner, 24);
  });
  else for (const element of svg.querySelectorAll(NAMED))
    found[element.id] = probe(svg, element, corner, 64);
  for (const element of all) element.style.pointerEvents = "none";
  for (const [id, one] of Object.entries(found)) if (id[0] === "c" && one.points) {
    const element = root.getElementById(id);
    element.style.cssText +=
      ";fill:none;stroke:red;stroke-width:.1px;pointer-events:stroke";
    one.hit = one.points.map(([x, y]) => {
      const p = new DOMPoint(x, y).matrixTransform(element.getScreenCTM());
      return root.elementFromPoint(p.x, p.y) === element;
    });
    element.style.pointerEvents = "none";
  }
  out[name] = {width: corner.width, height: corner.height, found};
  host.remove();
}
const pre = document.createElement("pre");
pre.id = "answer";
pre.textContent = JSON.stringify(out);
document.body.replaceChildren(pre);
</script>"""


@dataclass(frozen=True)
class Seen:
    """One element: where its own units lie on the page (px, y down), and its geometry."""

    to_px: Affine
    points: NDArray[np.float64] | None
    """Points along a shape, in its own units; None for a group or use."""
    box: tuple[float, float, float, float]
    """Of its geometry, in its own units."""
    drawn: bool
    fill: str
    stroke: str
    stroke_width: str
    dashes: str
    hit: list[bool] | None = None
    """For ids that begin with c: whether the stroke is seen at each of the points."""


@dataclass(frozen=True)
class Page:
    """One drawing."""

    width_px: float
    height_px: float
    found: dict[str, Seen]


def browse(cases: dict[str, str], folder: Path, *, every: bool = False) -> dict[str, Page]:
    """Show every drawing in a browser without a window, and ask it what it sees.

    Asked about are the elements whose id begins with p, q or c, by id; with `every` all
    shapes and uses, by their place among the elements of the drawing.
    """
    packed = base64.b64encode(json.dumps(cases).encode()).decode()
    page = folder / "cases.html"
    text = _PAGE.replace("@EVERY@", str(every).lower()).replace("@CASES@", packed)
    page.write_text(text, "utf-8")
    shown = _run(folder, "--dump-dom", page.as_uri()).decode("utf-8")
    match = re.search(r'<pre id="answer">(.*?)</pre>', shown, re.S)
    assert match, shown[:500]
    answer = json.loads(
        match[1].replace("&gt;", ">").replace("&lt;", "<").replace("&amp;", "&")
    )
    return {
        name: Page(
            one["width"],
            one["height"],
            {
                key: Seen(
                    Affine(*(e["map"] or ())),
                    None if e["points"] is None else np.array(e["points"]),
                    tuple(e["box"]),
                    e["seen"],
                    *e["paint"],
                    e.get("hit"),
                )
                for key, e in one["found"].items()
            },
        )
        for name, one in answer.items()
    }


TILE_PX = 160


def photograph(
    drawings: dict[str, str], folder: Path, scale: int = 2
) -> dict[str, NDArray[np.uint8]]:
    """Show drawings of `TILE_PX` square as pictures; give what a browser paints, as RGB."""
    columns = 8
    tiles = []
    for i, text in enumerate(drawings.values()):
        packed = base64.b64encode(text.encode()).decode()
        x, y = i % columns * TILE_PX, i // columns * TILE_PX
        tiles.append(
            f'<img style="position:absolute;left:{x}px;top:{y}px"'
            f' src="data:image/svg+xml;base64,{packed}">'
        )
    page, shot = folder / "pictures.html", folder / "pictures.png"
    page.write_text(f"<!DOCTYPE html><body>{''.join(tiles)}", "utf-8")
    rows = -(-len(tiles) // columns)
    _run(
        folder,
        f"--window-size={columns * TILE_PX},{rows * TILE_PX}",
        f"--force-device-scale-factor={scale}",
        f"--screenshot={shot}",
        page.as_uri(),
    )
    with Image.open(shot) as opened:
        whole = np.asarray(opened.convert("RGB"))
    side = TILE_PX * scale
    return {
        name: whole[row : row + side, column : column + side]
        for i, name in enumerate(drawings)
        for row, column in [(i // columns * side, i % columns * side)]
    }


def program() -> str:
    """Find a browser."""
    found = next(filter(None, map(shutil.which, NAMES)), None)
    assert found, f"these tests compare with a browser: install one of {NAMES}"
    return found


def _run(folder: Path, *arguments: str) -> bytes:
    """Run the browser without a window, without a profile and without the network."""
    profile = tempfile.mkdtemp(dir=folder)
    done = subprocess.run(
        [program(), *FLAGS, f"--user-data-dir={profile}", *arguments],
        capture_output=True,
        timeout=120,
        check=True,
    )
    return done.stdout
