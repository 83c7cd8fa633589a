"""What the tests of artwork files share: files made by others' libraries, and a run."""

import io
import json
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import resvg_py
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name
from PIL import Image

import personalize
from personalize.design.design import Design
from personalize.sheet.paper import Paper
from personalize.sheet.rules import SheetRules
from tests.conftest import EDGE, drawing, put

LINES = drawing(EDGE)
"""A tag of 56 x 36 mm in a drawing of 60 x 40 mm."""
MARGINS = '\n[margins]\nbleed = 2\n[[panel]]\nname = "name"\n'
TOML = 'svg = "tag.svg"\n[artwork]\n{keys}' + MARGINS
PX = 25.4 / 300
"""mm of a pixel at 300 to the inch."""


def png(image: Image.Image, per_inch: float | None = 300, **more: object) -> bytes:
    out = io.BytesIO()
    dpi = {} if per_inch is None else {"dpi": (per_inch, per_inch)}
    image.save(out, "PNG", **dpi, **more)
    return out.getvalue()


def jpeg(image: Image.Image, **more: object) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", **{"quality": 90, **more})
    return out.getvalue()


def shape(svg: str, width: float = 50, height: float = 50, per_inch: float = 300) -> bytes:
    """Draw shapes in mm by a renderer of SVG, as a PNG that states its density."""
    wide, high = (round(side / 25.4 * per_inch) for side in (width, height))
    box = f"0 0 {wide * 25.4 / per_inch} {high * 25.4 / per_inch}"
    made = resvg_py.svg_to_bytes(
        svg_string=f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}"'
        f' height="{high}" viewBox="{box}">{svg}</svg>'
    )
    return png(Image.open(io.BytesIO(bytes(made))), per_inch)


def page(content: bytes, size: tuple[float, float], **keys: object) -> pikepdf.Pdf:
    """Make a PDF of one page whose size is in points."""
    pdf = pikepdf.new()
    one = pdf.add_blank_page(page_size=size)
    one.Contents = pdf.make_stream(content)
    for key, value in keys.items():
        one.obj[f"/{key}"] = value
    return pdf


def spot(*names: str) -> Array:
    """A space of inks; what they look like is asked of it by screens alone."""
    tint = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0] * 4, C1=[0, 1, 0, 0])
    inks = [Name(f"/{name}") for name in names]
    if len(inks) == 1:
        return Array([Name.Separation, inks[0], Name.DeviceCMYK, tint])
    return Array([Name.DeviceN, Array(inks), Name.DeviceCMYK, tint])


def saved(pdf: pikepdf.Pdf, **how: object) -> bytes:
    out = io.BytesIO()
    pdf.save(out, **how)
    return out.getvalue()


def load(folder: Path, keys: str, **files: str | bytes) -> Design:
    put(folder, {"tag.svg": LINES, "tag.toml": TOML.format(keys=keys), **files})
    return personalize.load_design(folder / "tag.toml")


def printed(folder: Path, design: Design, rows: str = "name\nAda\n") -> pikepdf.Pdf:
    """Make one piece on a sheet of its own, turned by nothing; gives its print.pdf."""
    put(folder, {"list.csv": rows})
    x0, y0, x1, y1 = design.bleed.box
    rules = SheetRules(Paper("own", x1 - x0 + 20, y1 - y0 + 20), marks=False, spares=False)
    table = personalize.read_table(folder / "list.csv")
    result = personalize.make(
        table, design, folder / "out", personalize.Options(sheets=rules, curves=True)
    )
    assert result.made, result.findings
    return pikepdf.open(folder / "out" / "print.pdf")


def raster(pdf: bytes, px_per_mm: float, box: tuple[float, ...] | None = None) -> NDArray:
    """Draw the first page of a PDF by pdfium, or a box of it in mm from its lower left."""
    document = pypdfium2.PdfDocument(pdf)
    scale = px_per_mm * 25.4 / 72
    crop = (0.0, 0.0, 0.0, 0.0)
    if box is not None:
        width, height = document[0].get_size()
        mm = 72 / 25.4
        crop = (box[0] * mm, box[1] * mm, width - box[2] * mm, height - box[3] * mm)
    image = document[0].render(scale=scale, crop=crop).to_pil().convert("RGB")
    return np.asarray(image)


def images(pdf: pikepdf.Pdf) -> list[pikepdf.Object]:
    """Every picture of a PDF but masks, wherever it hangs."""
    masks = {
        one.SMask.objgen
        for one in pdf.objects
        if isinstance(one, pikepdf.Stream) and "/SMask" in one
    }
    return [
        one
        for one in pdf.objects
        if isinstance(one, pikepdf.Stream)
        and one.get("/Subtype") == "/Image"
        and one.objgen not in masks
    ]


def samples(image: pikepdf.Object) -> NDArray:
    """Pixels of a picture in a PDF: shape (height, width, channels)."""
    raw = image.read_bytes()
    size = (int(image.Height), int(image.Width), -1)
    return np.frombuffer(raw, np.uint8).reshape(size)


PX_PER_MM = 20.0
"""So that a piece at a twentieth of a mm lies on whole pixels."""


class Sheet:
    """A sheet with one tag, whose drawing is 60 x 40 mm, drawn by pdfium."""

    def __init__(self, folder: Path, design: Design) -> None:
        printed(folder, design, "name\n.\n").close()
        shown = raster((folder / "out" / "print.pdf").read_bytes(), PX_PER_MM)
        report = json.loads((folder / "out" / "report.json").read_text("utf-8"))
        (piece,) = report["pieces"]
        left, top = piece["at"][4], shown.shape[0] / PX_PER_MM - piece["at"][5] - 40
        row, column = round(top * PX_PER_MM), round(left * PX_PER_MM)
        self.drawing = shown[row : row + 800, column : column + 1200]
        """What is printed where the drawing lies: shape (800, 1200, 3)."""

    def colour(self, x: float, y: float) -> tuple[int, ...]:
        """Colour at a place of the drawing in mm, y down."""
        return tuple(int(v) for v in self.drawing[int(y * PX_PER_MM), int(x * PX_PER_MM)])
