"""Artwork that is a file of its own: a PDF page or a picture, laid on the lines.

The lines come from the design's drawing, or from the edge where the artwork turns
transparent.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from personalize.design.chosen import LEAST_PX_PER_INCH, WARN_PX_PER_INCH
from personalize.design.design import Artwork
from personalize.design.files import beside, bytes_of
from personalize.design.pdf_page import (
    BOXES,
    PdfPage,
    drawn_page,
    page_artwork,
    read_page,
    whole_page,
)
from personalize.design.picture_file import UnusablePictureError
from personalize.design.picture_page import picture_artwork
from personalize.design.pictures import PictureHead, opacity, opacity_in, picture_head
from personalize.design.spec import ArtworkSpec
from personalize.design.svg import SvgDocument
from personalize.design.toml_file_artwork import PDF
from personalize.design.trace import Traced, traced
from personalize.errors import refuse
from personalize.finding import Finding, Severity
from personalize.geometry.affine import Affine, translation
from personalize.geometry.zone import Region
from personalize.rules import Rule
from personalize.units import MM_PER_INCH

SAME_MM = 0.2
"""How far the sizes of artwork and drawing may differ that belong together. Judgement."""
PAST_MM = 1.0
"""How much further than the bleed the colours of an edge are drawn out."""
MOST_REACH_MM = 50.0
MOST_MM = 5000.0
WHITE_MM = 1.0
"""A cut so far from the edge is on bare paper, or on print, however it is off: more than
the 0.7 mm that a home machine may be off. Common practice, no source."""
_WHITE = (
    "Past the edge there is white card where a cut is off: write offset_mm = -1 to cut"
    " inside of it, offset_mm = 2 for a white rim, or, for a picture,"
    " extend_edge = true."
)
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class FileArtwork:
    """A PDF page or a picture that has been read, with its size."""

    spec: ArtworkSpec
    path: Path
    size_mm: tuple[float, float]
    page: PdfPage | None
    """None for a picture."""
    box: str
    """Of the page: the one whose size that is."""
    px_per_inch: float | None
    """Of a picture, the coarser of both ways."""
    how: str
    """How its size came about, for people."""

    @property
    def has_white_edge(self) -> bool:
        """Whether the maker asked for a rim of bare paper round it."""
        trace = self.spec.trace
        return (
            trace is not None and trace.offset_mm >= WHITE_MM and not self.spec.extend_edge
        )

    @property
    def is_bare(self) -> bool:
        """Whether a cut that is off shows paper past its edge that was not asked for."""
        trace = self.spec.trace
        inside = trace is not None and trace.offset_mm <= -WHITE_MM
        return not (self.spec.extend_edge or self.has_white_edge or inside)

    def opacity(self) -> NDArray[np.uint8]:
        """Give how opaque it is: shape (height, width). Raises InputError."""
        if self.page is None:
            return _readable(self.spec.place, self.path, lambda: opacity(self.path))
        drawn = drawn_page(whole_page(self.page, self.box), self.size_mm, self.path.name)
        return opacity_in(drawn)

    def traced(self) -> Traced:
        """Give the lines that its edge makes. Raises InputError."""
        assert self.spec.trace is not None
        return traced(self.opacity(), self.size_mm, self.spec.trace, self.path.name)

    def laid(
        self, drawing: SvgDocument, bleed: Region, bleed_mm: float, lines: int
    ) -> Artwork:
        """Lay it on a drawing, as far as the bleed, with what is to be told of it.

        `bleed_mm` is how far that reaches past the outline; `lines` counts the shapes of
        the drawing that are lines, as nothing else of it is printed.
        Raises InputError where its place is not known.
        """
        placed = _as_traced(self, drawing) if self.spec.trace else _placed(self, drawing)
        left, top = self.spec.at or (0.0, 0.0)
        corner = translation(left, drawing.height_mm - top - placed.size_mm[1])
        if placed.page is not None:
            art = page_artwork(placed.page, placed.box, corner, bleed)
            left_out = placed.page.told
        else:
            art, left_out = placed._picture(corner, bleed, bleed_mm)
        told = [*placed._told((left, top), left_out), *self._beside(drawing, lines)]
        return replace(art, white_edge=self.has_white_edge, told=tuple(told))

    def _beside(self, drawing: SvgDocument, lines: int) -> Iterator[Finding]:
        others = len(drawing.leaves) - lines
        if others > 0:
            what = "1 shape or text is" if others == 1 else f"{others} shapes and texts are"
            yield Finding(
                Rule.DRAWING_NOT_PRINTED,
                Severity.NOTE,
                f"Of {drawing.name} only the lines are used: {what} not printed.",
                f"The artwork is {self.path.name}.",
                figures={"things": others},
            )

    def _picture(
        self, corner: Affine, bleed: Region, bleed_mm: float
    ) -> tuple[Artwork, tuple[str, ...]]:
        width, height = self.size_mm
        place = corner @ Affine(width, 0, 0, height, 0, 0)
        reach = 0.0
        if self.spec.extend_edge:
            x0, y0, x1, y1 = bleed.box
            past = (place.e - x0, place.f - y0, x1 - place.e - width, y1 - place.f - height)
            outward = self.spec.trace.offset_mm if self.spec.trace else 0.0
            reach = min(max(*past, outward + bleed_mm, 0.0) + PAST_MM, MOST_REACH_MM)
        return _readable(
            self.spec.place,
            self.path,
            lambda: picture_artwork(self.path, place, bleed, reach),
        )

    def _told(
        self, at: tuple[float, float], left_out: tuple[str, ...]
    ) -> Iterator[Finding]:
        width, height = self.size_mm
        where = f"its top left corner at [{at[0]:g}, {at[1]:g}]"
        page = (
            f"page {self.page.number}, its {self.box} box" if self.page else "the picture"
        )
        yield Finding(
            Rule.ARTWORK_PLACED,
            Severity.NOTE,
            f"{self.path.name}: {page} is {width:.2f} x {height:.2f} mm"
            f" ({width / MM_PER_INCH:.3f} x {height / MM_PER_INCH:.3f} in){self.how},"
            f" {where} of the drawing.",
            "Measure it in the proof.",
            figures={"width_mm": round(width, 3), "height_mm": round(height, 3)},
        )
        if left_out:
            yield Finding(
                Rule.ARTWORK_LEFT_OUT,
                Severity.NOTE,
                f"Of {self.path.name} not all is printed as it is: {'; '.join(left_out)}.",
                "",
                figures={"things": len(left_out)},
            )
        density = self.px_per_inch
        if density is not None and density < WARN_PX_PER_INCH:
            is_error = density < LEAST_PX_PER_INCH
            yield Finding(
                Rule.COARSE_ARTWORK,
                Severity.ERROR if is_error else Severity.WARNING,
                f"{self.path.name} has {density:.0f} pixels to the inch at this size: it"
                f" will {'show its pixels' if is_error else 'look a little soft'}.",
                f"Take a larger picture ({WARN_PX_PER_INCH:.0f} to the inch look sharp), or"
                " print it smaller.",
                figures={"px_per_inch": round(density, 1)},
            )


def read_artwork(spec: ArtworkSpec, folder: Path) -> FileArtwork:
    """Read the head of an artwork file beside the design.

    Raises InputError where it cannot be used, or its size is not known.
    """
    path = beside(folder, spec.file, spec.place)
    if path.suffix.casefold() in PDF:
        page = read_page(bytes_of(path), spec.page, path.name, spec.place)
        box = spec.box or "crop"
        return FileArtwork(spec, path, page.size_mm(box), page, box, None, "")
    head = _readable(spec.place, path, lambda: picture_head(path))
    size, how = _size(spec, head, path.name)
    if max(size) > MOST_MM:
        raise refuse(
            spec.place,
            f"{path.name} would be {size[0]:.0f} x {size[1]:.0f} mm, more than can be"
            " printed.",
            "Write its width_mm.",
        )
    density = min(head.width / size[0], head.height / size[1]) * MM_PER_INCH
    return FileArtwork(spec, path, size, None, "", density, how)


def _readable(place: str, path: Path, read: Callable[[], _T]) -> _T:
    try:
        return read()
    except (UnusablePictureError, OSError) as error:
        reason = error.strerror if isinstance(error, OSError) else error
        raise refuse(
            place, f"{path.name} cannot be printed: {reason}.", "Choose another picture."
        ) from None


def _size(
    spec: ArtworkSpec, head: PictureHead, file: str
) -> tuple[tuple[float, float], str]:
    """Give the size of a picture in mm, and how it is known."""
    if spec.size_mm is not None:
        return spec.size_mm, ""
    if spec.width_mm is not None:
        return (spec.width_mm, spec.width_mm * head.height / head.width), ""
    if spec.px_per_inch is not None:
        across = down = spec.px_per_inch
        how = ""
    elif head.px_per_inch is not None:
        across, down = head.px_per_inch
        how = f", as the file says ({head.told_by}: {across:.0f} px to the inch)"
    else:
        raise refuse(
            spec.place,
            f"{file} is {head.width} x {head.height} pixels and does not say how large it"
            " is.",
            "Write width_mm = 60, say, or px_per_inch = 300.",
        )
    return (head.width / across * MM_PER_INCH, head.height / down * MM_PER_INCH), how


def _as_traced(art: FileArtwork, drawing: SvgDocument) -> FileArtwork:
    """Refuse a picture that is not as large as the one whose edge gave the lines."""
    wide, high = art.size_mm[0] - drawing.width_mm, art.size_mm[1] - drawing.height_mm
    if max(abs(wide), abs(high)) <= SAME_MM:
        return art
    raise refuse(
        art.spec.place,
        f"{art.path.name} is {art.size_mm[0]:.1f} x {art.size_mm[1]:.1f} mm{art.how},"
        f" {drawing.name}, whose edge is the outline, {drawing.width_mm:.1f} x"
        f" {drawing.height_mm:.1f} mm.",
        "Save it at the same size.",
    )


def _placed(art: FileArtwork, drawing: SvgDocument) -> FileArtwork:
    """Find what of the artwork lies where, on a drawing of its own size or as told."""
    page, spec = art.page, art.spec
    names = ["" if page is None else spec.box or "crop"]
    if page is not None and spec.box is None and spec.at is None:
        names = list(BOXES)
    if spec.at is not None:
        return art
    for name in names:
        size = art.size_mm if page is None else page.size_mm(name)
        wide, high = size[0] - drawing.width_mm, size[1] - drawing.height_mm
        if max(abs(wide), abs(high)) <= SAME_MM:
            return replace(art, size_mm=size, box=name)
    raise refuse(
        spec.place,
        f"{art.path.name} is {art.size_mm[0]:.1f} x {art.size_mm[1]:.1f} mm{art.how}, the"
        f" drawing {drawing.width_mm:.1f} x {drawing.height_mm:.1f} mm, so its place is not"
        " known.",
        "Write at = [left, top]: where its top left corner lies in the drawing, in mm"
        + (
            " (negative to the left or above), or its true width_mm."
            if page is None
            else "."
        ),
    )


def traced_lines(art: FileArtwork) -> tuple[bytes, tuple[Finding, ...]]:
    """Give the lines of an artwork's own edge as an SVG, and what to tell of them."""
    found = art.traced()
    return found.svg, tuple(_of_trace(art, found))


def _of_trace(art: FileArtwork, found: Traced) -> Iterator[Finding]:
    trace = art.spec.trace
    assert trace is not None
    where = "on"
    if trace.offset_mm:
        side = "outside" if trace.offset_mm > 0 else "inside"
        where = f"{abs(trace.offset_mm):g} mm {side}"
    several = f" in {found.parts} parts, each a piece," if found.parts > 1 else ""
    drawn_out = ", and its colours are drawn out past it" if art.spec.extend_edge else ""
    holes = {0: "no holes", 1: "1 hole"}.get(found.holes, f"{found.holes} holes")
    yield Finding(
        Rule.OUTLINE_TRACED,
        Severity.NOTE,
        f"The outline is traced {where} the transparent edge of {art.path.name},{several}"
        f" within {trace.tolerance_mm:g} mm, with {holes}{drawn_out}.",
        _WHITE if art.is_bare else "Look at it in the proof.",
        figures={"holes": found.holes, "parts": found.parts, "specks": found.specks},
    )
    if found.specks:
        many = "1 speck" if found.specks == 1 else f"{found.specks} specks"
        yield Finding(
            Rule.SPECKS_DROPPED,
            Severity.NOTE,
            f"{many} of less than {trace.specks_mm2:g} mm2 in {art.path.name} got no"
            " outline.",
            "Write a smaller specks_mm2, if they should have one.",
            figures={"specks": found.specks},
        )
