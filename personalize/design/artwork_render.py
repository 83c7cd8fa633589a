"""Artwork drawn: as a PDF of one page, or as a PNG.

Renderers get only what `artwork.artwork_svg` has written, and run in a process of their
own (`artwork_worker`). What they made is kept (`personalize.cache`).
"""

import json
import math
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path

from lxml import etree

from personalize import cache
from personalize.design import artwork_worker
from personalize.design.artwork_parts import with_pictures
from personalize.design.png import png_pixels
from personalize.design.process import LIMIT_S, work
from personalize.design.svg_xml import local
from personalize.errors import OwnFaultError, refuse
from personalize.fonts.cut_down import PartOfFont

_DRAWN = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}) | {
    *("text", "image", "use")
}


def compile_artwork(
    svg: bytes,
    width_mm: float,
    height_mm: float,
    *,
    name: str = "the artwork",
    fonts: Sequence[PartOfFont] = (),
) -> bytes:
    """Turn an SVG of `artwork_svg` into a PDF of one page of exactly that size.

    Shapes and gradients stay vectors, text stays text; what no PDF has (filters, say)
    becomes a picture of just that part, see `artwork_parts`. Equal input gives equal bytes.

    Parameters
    ----------
    svg
        The artwork.
    width_mm, height_mm
        Size of the page, which the SVG fills.
    name
        The design's name, for the sentence.
    fonts
        What its text may use; no other font of the machine is looked at.

    Raises
    ------
    InputError
        When the renderer refuses the drawing, dies of it or takes over `LIMIT_S`.
    """

    def draw(part: bytes, px_per_mm: float) -> bytes:
        return render_artwork(part, px_per_mm, name=name, fonts=fonts)

    task: dict[str, object] = {"to": "pdf", "width": width_mm, "height": height_mm}
    return _worked(task, with_pictures(svg, draw), name, fonts)


def render_artwork(
    svg: bytes,
    px_per_mm: float,
    *,
    name: str = "the artwork",
    fonts: Sequence[PartOfFont] = (),
) -> bytes:
    """Draw an SVG of `artwork_svg` as a PNG with alpha.

    Its sides are those of the page times `px_per_mm`, rounded up to whole pixels; the
    page fills it. `fonts` and what is raised are as for `compile_artwork`.
    """
    root = etree.fromstring(svg)
    width, height = (math.ceil(side * px_per_mm - 1e-6) for side in size_mm(root))
    # Renderers round the size of the page to whole px before they scale it: measured.
    root.set("width", str(width))
    root.set("height", str(height))
    root.set("preserveAspectRatio", "none")
    task: dict[str, object] = {"to": "png", "width": width, "height": height}
    return _worked(task, etree.tostring(root, encoding="utf-8"), name, fonts)


def has_picture(svg: bytes) -> bool:
    """Whether an SVG of `artwork_svg` puts any ink on the page."""
    root = etree.fromstring(svg)
    if not any(local(element) in _DRAWN for element in root.iter()):
        return False
    if b"<text" in svg:
        return True  # whatever font it is set in
    longest = max(size_mm(root))
    pixels = png_pixels(render_artwork(svg, min(8.0, 400.0 / longest)))
    return bool(pixels[:, :, 3].any())


def size_mm(root: etree._Element) -> tuple[float, float]:
    """Width and height of an artwork's page."""
    words = str(root.get("viewBox")).split()
    return (float(words[2]), float(words[3]))


def _worked(
    task: dict[str, object], svg: bytes, name: str, fonts: Sequence[PartOfFont] = ()
) -> bytes:
    """Give what the worker made of a task, now or before.

    Raises InputError with what went wrong.
    """
    files = [font.data() for font in fonts]
    made_by = [version(one) for one in ("typst", "resvg_py")]
    ours = Path(artwork_worker.__file__).read_bytes()
    key = cache.key_of(json.dumps([task, made_by]).encode(), ours, svg, *files)
    kept = cache.get(key)
    if kept is None:
        kept = _asked(task, svg, name, files)
        cache.put(key, kept)
    return kept


def _asked(task: dict[str, object], svg: bytes, name: str, fonts: Sequence[bytes]) -> bytes:
    """Let the worker do a task. Raises InputError with what went wrong."""
    do = "Save the drawing as plain SVG, with effects turned into pictures."
    files = {f"{nth:03}.ttf": font for nth, font in enumerate(fonts)}
    done = work(artwork_worker.__file__, task, svg, files)
    if done.code is None:
        raise refuse(name, f"its picture takes longer than {LIMIT_S:.0f} s to draw.", do)
    if done.code == 0:
        return done.made
    if done.code == artwork_worker.REFUSED:
        says = f"its picture cannot be drawn ({done.told.rstrip('.')})."
        raise refuse(name, says, do)
    if done.code == 1:
        last = done.told.splitlines()[-1] if done.told else "no reason given"
        raise OwnFaultError(f"The renderer could not be started: {last}.")
    raise refuse(name, "the renderer breaks down over its picture.", do)
