"""Pictures inside artwork that are too coarse where they are printed.

A picture that is the whole artwork is told when it is read (`design/file_artwork.py`), a
row's own picture with what the row chooses (`design/chosen.py`).
"""

from collections.abc import Iterator

from personalize.design.artwork_render import compile_artwork
from personalize.design.chosen import LEAST_PX_PER_INCH, WARN_PX_PER_INCH
from personalize.design.design import Artwork, Design
from personalize.design.pdf_seen import Image, holds_pictures, seen_on
from personalize.design.toml_file_artwork import PDF
from personalize.finding import Finding, Severity
from personalize.rules import Rule

LEAST_PX = 3
"""Pictures of fewer pixels a side are grounds of a colour or gradients, not pictures.
Judgement."""


def coarse_parts(design: Design, art: Artwork, whose: str) -> Iterator[Finding]:
    """Tell of the pictures in an artwork that have too few pixels to the inch.

    Raises InputError where the artwork cannot be printed.
    """
    images = [one for one in pictures_in(art) if one.px_per_inch < WARN_PX_PER_INCH]
    if not images:
        return
    coarsest = min(images, key=lambda one: one.px_per_inch)
    density, many = coarsest.px_per_inch, len(images) > 1
    x0, y0, _, _ = art.box_mm
    x, y = x0 + coarsest.middle_mm[0], y0 + coarsest.middle_mm[1]
    told = "; the coarsest" if many else ", which"
    look = "show its pixels" if density < LEAST_PX_PER_INCH else "look a little soft"
    wide, high = coarsest.size_px
    yield Finding(
        Rule.COARSE_PARTS,
        Severity.WARNING,
        f"{whose} holds {len(images)} picture{'s' if many else ''} with fewer than"
        f" {WARN_PX_PER_INCH:.0f} pixels to the inch{told}"
        f" has {density:.0f} ({wide} x {high} pixels on {coarsest.size_mm[0]:.1f} x"
        f" {coarsest.size_mm[1]:.1f} mm, {x:.0f} mm from the left and"
        f" {design.height_mm - y:.0f} mm from the top of the drawing): it will {look}.",
        f"Put a larger picture there ({WARN_PX_PER_INCH:.0f} to the inch look sharp), or"
        " print it smaller.",
        figures={
            "px_per_inch": round(density, 1),
            "pictures": len(images),
            "x_mm": round(x, 3),
            "y_mm": round(y, 3),
        },
    )


def pictures_in(art: Artwork, *, whole: bool = False) -> tuple[Image, ...]:
    """Give the pictures that a drawing or a PDF page holds, as they are printed.

    Of an artwork that is one picture it is that one, where the `whole` is wanted.
    """
    page = art.page
    one_picture = page is not None and not art.file.casefold().endswith(PDF)
    if page is None:
        if b"<image" not in art.svg:
            return ()
        x0, y0, x1, y1 = art.box_mm
        page = compile_artwork(art.svg, x1 - x0, y1 - y0, name=art.file, fonts=art.fonts)
    elif (one_picture and not whole) or not holds_pictures(page):
        return ()
    out = []
    try:
        for one in seen_on(page):
            if isinstance(one, Image) and min(one.size_px) >= LEAST_PX:
                out.append(one)
    except Exception:  # of whatever kind: the file is at fault
        pass  # what was seen till there is told
    if one_picture and out:  # what continues it past its edge is no picture of its own
        return (max(out, key=lambda one: one.size_px[0] * one.size_px[1]),)
    return tuple(out)
