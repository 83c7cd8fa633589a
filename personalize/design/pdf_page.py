"""A page of a PDF file as the artwork of a piece: shapes and words stay what they are."""

import io
import json
import re
from dataclasses import dataclass, replace
from functools import lru_cache

import pikepdf
from pikepdf import Array

from personalize.design import artwork_worker, pdf_worker
from personalize.design.design import Artwork
from personalize.design.picture_page import screen_svg
from personalize.design.process import LIMIT_S, work
from personalize.errors import InputError, OwnFaultError, refuse
from personalize.geometry.affine import Affine, rotation, scaling, translation
from personalize.geometry.zone import Region
from personalize.units import MM_PER_INCH, PT_PER_MM, number

Box = tuple[float, float, float, float]
BOXES = ("trim", "crop", "media", "bleed")
"""Boxes of a page (ISO 32000-1, 14.11.2), in the order in which they are tried."""
_SHOWS = {"trim": "bleed", "crop": "crop", "media": "media", "bleed": "bleed"}
"""What is seen of a page that is laid by one of its boxes: past the trim its bleed."""
MOST_BYTES = 60 * 1024**2
LEAST_MM = 0.1
MOST_MM = 5000.0
"""The largest page that ISO 32000-1 had readers open (annex C: 14,400 units)."""
MOST_PIXELS = 40_000_000
_SAVE_ANEW = "Save it anew as PDF."
_IN_MEMORY = re.compile(r"stream <[^>]*>:? ?")
"""What the library calls a file that it reads from memory."""


@dataclass(frozen=True, slots=True)
class PdfPage:
    """One page that can be laid on a drawing."""

    file: str
    number: int
    count: int
    """Pages of the file."""
    boxes: dict[str, Box]
    """In the page's own units, before it is turned."""
    rotate: int
    """Clockwise turn for showing: 0, 90, 180 or 270."""
    unit_mm: float
    """Size of a unit of it."""
    form: bytes
    """PDF whose only page has the form /Page in its resources."""
    told: tuple[str, ...]
    """What of the page and the file is left out."""

    def size_mm(self, box: str) -> tuple[float, float]:
        """Width and height of one of its boxes, as the page is shown."""
        x0, y0, x1, y1 = self.boxes[box]
        across, up = (x1 - x0) * self.unit_mm, (y1 - y0) * self.unit_mm
        return (up, across) if self.rotate % 180 else (across, up)

    def upright(self, box: str) -> Affine:
        """Map the page's units to mm, the lower left of a box as it is shown at 0, 0."""
        turned = scaling(self.unit_mm) @ rotation(-self.rotate)
        x0, y0, x1, y1 = self.boxes[box]
        corners = [turned((x, y)) for x in (x0, x1) for y in (y0, y1)]
        low = (min(x for x, _ in corners), min(y for _, y in corners))
        return translation(-low[0], -low[1]) @ turned


def read_page(data: bytes, number: int, file: str, place: str) -> PdfPage:
    """Take a page (from 1) out of a PDF file.

    `place` is where it is asked for. Raises InputError with what makes it unusable.
    """
    if len(data) > MOST_BYTES:
        says = f"it is larger than {MOST_BYTES // 1024**2} MB."
        raise _unusable(place, file, says, "Save it smaller.")
    page = replace(_read_page(data, number, place, file), file=file)
    for name in BOXES:
        width, height = page.size_mm(name)
        if not (0 < page.unit_mm < 1e6 and min(width, height) >= LEAST_MM):
            raise _unusable(place, file, f"a box of page {number} is empty.", _SAVE_ANEW)
    if max(page.size_mm("media")) > MOST_MM:
        width, height = page.size_mm("media")
        says = f"page {number} is {width:.0f} x {height:.0f} mm, more than can be printed."
        raise _unusable(place, file, says, "Save it at its true size.")
    return page


def _unusable(place: str, file: str, says: str, do: str) -> InputError:
    """Say why a file cannot be used, naming it where the place does not."""
    whose = "" if place.startswith(file) else f"{file} cannot be used: "
    return refuse(place, whose + says, do)


@lru_cache(maxsize=8)
def _read_page(data: bytes, number: int, place: str, file: str) -> PdfPage:
    done = work(pdf_worker.__file__, {"page": number}, data)
    if done.code == pdf_worker.REFUSED:
        # The library may have said things of its own before.
        says, do = json.loads(done.told.splitlines()[-1])
        raise _unusable(place, file, _IN_MEMORY.sub("", says), do)
    if done.code is None:
        says = f"it takes longer than {LIMIT_S:.0f} s to read."
        raise _unusable(place, file, says, "Save it more simply.")
    if done.code == 1:
        last = done.told.splitlines()[-1] if done.told else "no reason given"
        raise OwnFaultError(f"The reader of PDF pages could not be started: {last}.")
    if done.code != 0:
        raise _unusable(place, file, "the reader breaks down over it.", _SAVE_ANEW)
    line, _, form = done.made.partition(b"\n")
    facts = json.loads(line)
    unit_mm = facts["user_unit"] * MM_PER_INCH / 72
    boxes = {name: tuple(box) for name, box in facts["boxes"].items()}
    told = tuple(facts["told"])
    turn = round(facts["rotate"] / 90) * 90 % 360
    return PdfPage("", number, facts["count"], boxes, turn, unit_mm, form, told)


def page_artwork(page: PdfPage, box: str, corner: Affine, bleed: Region) -> Artwork:
    """Lay a page on a piece.

    Parameters
    ----------
    page
        The page.
    box
        Which of its boxes lies at the place.
    corner
        Where the lower left of that box lies, in the drawing's page mm.
    bleed
        Where it may be seen, in page mm: the page of the result is its box.

    Raises
    ------
    InputError
        It cannot be drawn for the screen.
    """
    made = _laid(page, _SHOWS[box], corner @ page.upright(box), bleed.box)
    x0, y0, x1, y1 = bleed.box
    drawn = drawn_page(made, (x1 - x0, y1 - y0), page.file)
    place = Affine(x1 - x0, 0, 0, y1 - y0, x0, y0)
    return Artwork(screen_svg([(drawn, place)], bleed), bleed.box, page.file, page=made)


def drawn_page(page: bytes, size_mm: tuple[float, float], file: str) -> bytes:
    """Draw a PDF of one page of that size as a PNG with alpha. Raises InputError."""
    width, height = size_mm
    fine = min(12.0, (MOST_PIXELS / (width * height)) ** 0.5)
    task = {"to": "page", "width": width, "height": height, "px_per_mm": fine}
    done = work(artwork_worker.__file__, task, page)
    if done.code == 0:
        return done.made
    if done.code == 1:
        last = done.told.splitlines()[-1] if done.told else "no reason given"
        raise OwnFaultError(f"The renderer could not be started: {last}.")
    why = f" ({done.told.rstrip('.')})" if done.code == artwork_worker.REFUSED else ""
    raise refuse(file, f"the page cannot be drawn{why}.", "Save it more simply, or as PNG.")


def whole_page(page: PdfPage, box: str) -> bytes:
    """Give a PDF of one page of just one of its boxes."""
    width, height = page.size_mm(box)
    return _laid(page, box, page.upright(box), (0, 0, width, height))


def _laid(page: PdfPage, shows: str, place: Affine, box_mm: Box) -> bytes:
    """Draw the form on a page of exactly a box."""
    x0, y0, x1, y1 = box_mm
    onto = scaling(PT_PER_MM) @ translation(-x0, -y0) @ place
    with pikepdf.open(io.BytesIO(page.form)) as pdf:
        holder = pdf.pages[0]
        form = holder.Resources.XObject.Page
        form.BBox = _numbers(page.boxes[shows])
        matrix = " ".join(number(v, 8) for v in onto.tuple)
        holder.Contents = pdf.make_stream(f"q {matrix} cm /Page Do Q".encode("ascii"))
        holder.mediabox = _numbers((0, 0, (x1 - x0) * PT_PER_MM, (y1 - y0) * PT_PER_MM))
        out = io.BytesIO()
        pdf.save(out, static_id=True)
    return out.getvalue()


def _numbers(values: Box) -> Array:
    return Array([pikepdf.Object.parse(number(v).encode()) for v in values])
