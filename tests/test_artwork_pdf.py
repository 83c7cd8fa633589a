"""A page of a PDF file as the artwork: as others draw it, and nothing else of the file."""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest
import shapely
from fontTools.ttLib import TTFont
from numpy.typing import NDArray
from pikepdf import Array, Dictionary, Name

import personalize
from personalize.checks.artwork_findings import artwork_findings
from personalize.errors import InputError
from tests.artwork_files import PX_PER_MM, Sheet, images, load, page, printed, saved
from tests.conftest import ROOT, command, put
from tests.outside import run

MM = 72 / 25.4
FONT = ROOT / "fonts_open" / "nunito" / "Nunito-SemiBold.ttf"
FILE = 'file = "art.pdf"\n'
PAGE = (60 * MM, 40 * MM)
# Four colours, so that every turn and flip looks different, within the tag that lies from
# 2 to 58 and 2 to 38 mm of its drawing, and away from the words in its middle.
SHAPES = (
    b"0.8 0.1 0.2 rg 20 12 50 16 re f\n"
    b"0.1 0.5 0.2 rg 110 84 m 150 84 l 125 104 l f\n"
    b"0.1 0.2 0.7 RG 3 w 15 90 m 40 84 70 104 90 88 c S\n"
    b"0.9 0.7 0.1 rg 130 12 20 12 re f\n"
)


def upside(content: bytes, turn: int, size: tuple[float, float]) -> tuple[bytes, tuple]:
    """Draw the same on a page that has to be turned clockwise to be seen."""
    width, height = size
    matrix, size = {
        0: (b"1 0 0 1 0 0", (width, height)),
        90: (b"0 1 -1 0 %f 0" % height, (height, width)),
        180: (b"-1 0 0 -1 %f %f" % (width, height), (width, height)),
        270: (b"0 -1 1 0 0 %f" % width, (height, width)),
    }[turn]
    return b"q " + matrix + b" cm\n" + content + b"Q", size


def drawn_by_pdfium(pdf: bytes) -> NDArray[np.uint8]:
    """The first page as it is seen, at the scale of a sheet's raster."""
    document = pypdfium2.PdfDocument(pdf)
    scale = PX_PER_MM * 25.4 / 72
    return np.asarray(document[0].render(scale=scale).to_pil().convert("RGB"))


def coloured(pixels: NDArray[np.uint8]) -> NDArray[np.int64]:
    """The picture with the black of the words left white."""
    wide = pixels.astype(np.int64)
    grey = (wide.max(axis=2) - wide.min(axis=2)) < 24
    return np.where(grey[:, :, None], 255, wide)


def difference(sheet: Sheet, page: NDArray[np.uint8]) -> float:
    """Mean difference of 255, where the shapes are."""
    rows, columns = min(800, page.shape[0]), min(1200, page.shape[1])
    a, b = (coloured(one[:rows, :columns]) for one in (sheet.drawing, page))
    return float(np.abs(a - b).mean())


# ISO 32000-1, table 30 (Rotate) and 7.7.3.3; pdfium draws the page as it is shown.
@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_a_page_is_printed_as_it_is_shown(turn: int, tmp_path: Path) -> None:
    content, size = upside(SHAPES, turn, PAGE)
    data = saved(page(content, size, Rotate=turn))
    shown = drawn_by_pdfium(data)
    assert (
        difference(Sheet(tmp_path, load(tmp_path, FILE, **{"art.pdf": data})), shown) < 0.3
    )
    # And it is not one of the other turns that is compared.
    assert np.abs(coloured(shown) - coloured(shown[::-1, ::-1])).mean() > 3


HERE = (-30, 15, 60 * MM - 30, 40 * MM + 15)
WIDER = (-50, -60, 300, 400)
BOXES: dict[str, dict[str, tuple[float, ...]]] = {
    "media box that does not begin at 0": {"MediaBox": HERE},
    "crop box": {"MediaBox": WIDER, "CropBox": HERE},
    "trim box": {"MediaBox": WIDER, "TrimBox": HERE},
    "upper right corner first": {"MediaBox": HERE[2:] + HERE[:2]},
}


@pytest.mark.parametrize("name", BOXES)
def test_its_box_lies_on_the_drawing(name: str, tmp_path: Path) -> None:
    keys = {key: Array([float(v) for v in box]) for key, box in BOXES[name].items()}
    data = saved(page(b"1 0 0 1 -30 15 cm\n" + SHAPES, (10, 10), **keys))
    want = drawn_by_pdfium(saved(page(SHAPES, PAGE)))
    assert (
        difference(Sheet(tmp_path, load(tmp_path, FILE, **{"art.pdf": data})), want) < 0.3
    )


def test_units_of_its_own_are_kept(tmp_path: Path) -> None:
    # ISO 32000-1, table 30: UserUnit, in 1/72 inch.
    half = (PAGE[0] / 2, PAGE[1] / 2)
    data = saved(page(b"0.5 0 0 0.5 0 0 cm\n" + SHAPES, half, UserUnit=2))
    want = drawn_by_pdfium(saved(page(SHAPES, PAGE)))
    assert (
        difference(Sheet(tmp_path, load(tmp_path, FILE, **{"art.pdf": data})), want) < 0.3
    )


@pytest.mark.parametrize("past_mm", [3.0, 0.0])
def test_past_the_trim_its_bleed_is_printed(past_mm: float, tmp_path: Path) -> None:
    # The tag's own size is the trim; 2 mm of bleed are asked for.
    trim = [10 * MM, 10 * MM, 66 * MM, 46 * MM]
    bleed = [v + past_mm * MM * sign for v, sign in zip(trim, (-1, -1, 1, 1), strict=True)]
    content = b"0.2 0.6 0.3 rg 0 0 500 500 re f"
    boxes = {"TrimBox": Array(trim), "BleedBox": Array(bleed)}
    data = saved(page(content, (76 * MM, 56 * MM), **boxes))
    keys = FILE + 'box = "trim"\nat = [2, 2]\n'
    design = load(tmp_path, keys, **{"art.pdf": data})
    missing = [f for f in artwork_findings(design) if f.rule == "bleed-missing"]
    assert bool(missing) is (past_mm == 0)
    sheet, green = Sheet(tmp_path, design), (51, 153, 77)
    for x, y in ((0.2, 20), (59.7, 20), (30, 0.2), (30, 39.7)):
        shown = green if past_mm else (255, 255, 255)
        assert np.abs(np.subtract(sheet.colour(x, y), shown)).max() <= 1


def test_the_page_that_is_asked_for_is_printed(tmp_path: Path) -> None:
    pdf = page(b"1 0 0 rg 0 0 500 500 re f", PAGE)
    second = page(SHAPES, PAGE)
    pdf.pages.append(second.pages[0])
    sheet = Sheet(tmp_path, load(tmp_path, FILE + "page = 2\n", **{"art.pdf": saved(pdf)}))
    assert difference(sheet, drawn_by_pdfium(saved(page(SHAPES, PAGE)))) < 0.3


def lettered(pdf: pikepdf.Pdf, text: bytes) -> None:
    """Write in a font that the file brings with it (ISO 32000-1, 9.6.3)."""
    font = TTFont(FONT)
    widths, names, per_em = font["hmtx"], font.getBestCmap(), font["head"].unitsPerEm
    wide = [round(1000 * widths[names[code]][0] / per_em) for code in range(32, 127)]
    pdf.pages[0].Resources = Dictionary(
        Font=Dictionary(
            F=pdf.make_indirect(
                Dictionary(
                    Type=Name.Font,
                    Subtype=Name.TrueType,
                    BaseFont=Name("/Nunito-SemiBold"),
                    FirstChar=32,
                    LastChar=126,
                    Widths=wide,
                    Encoding=Name.WinAnsiEncoding,
                    FontDescriptor=Dictionary(
                        Type=Name.FontDescriptor,
                        FontName=Name("/Nunito-SemiBold"),
                        Flags=32,
                        FontBBox=[-200, -300, 1200, 1000],
                        ItalicAngle=0,
                        Ascent=1000,
                        Descent=-300,
                        CapHeight=700,
                        StemV=90,
                        FontFile2=pdf.make_stream(FONT.read_bytes()),
                    ),
                )
            )
        )
    )
    pdf.pages[0].contents_add(b"BT /F 9 Tf 0.1 0.2 0.6 rg 30 20 Td (" + text + b") Tj ET")


def test_shapes_and_words_stay_what_they_are(tmp_path: Path) -> None:
    pdf = page(SHAPES, PAGE)
    lettered(pdf, b"Plum Lane")
    data = saved(pdf)
    design = load(tmp_path, FILE, **{"art.pdf": data})
    sheet = Sheet(tmp_path, design)
    assert difference(sheet, drawn_by_pdfium(data)) < 0.3
    with printed(tmp_path, design) as made:
        assert images(made) == []
    out = tmp_path / "out" / "print.pdf"
    assert "Plum Lane" in run("pdftotext", "-raw", out, "-")
    assert "Nunito-SemiBold" in run("pdffonts", out)
    assert "No syntax or stream encoding errors" in run("qpdf", "--check", out)


def everything() -> pikepdf.Pdf:
    """A page with all that is not a picture, and a layer that is switched off."""
    pdf = page(b"/OC /L BDC 1 0 0 rg 20 80 99 30 re f EMC\n" + SHAPES, PAGE)
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="Draft"))
    pdf.pages[0].Resources = Dictionary(Properties=Dictionary(L=layer))
    pdf.Root.OCProperties = Dictionary(OCGs=[layer], D=Dictionary(OFF=[layer]))
    script = Dictionary(S=Name.JavaScript, JS="app.alert(1)")
    pdf.Root.OpenAction = script
    pdf.pages[0].AA = Dictionary(O=script)
    box = [20, 12, 70, 40]
    square = pdf.make_stream(b"0 1 1 rg 0 0 50 28 re f")
    square.update(Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 50, 28]))
    looks = Dictionary(N=square)
    notes = Array()
    for kind in ("Stamp", "Widget", "Link"):
        note = Dictionary(Type=Name.Annot, Subtype=Name("/" + kind), Rect=box, AP=looks)
        note.update(Dictionary(A=script, F=4, FT=Name.Tx, T="age"))
        notes.append(pdf.make_indirect(note))
    pdf.pages[0].Annots = notes
    pdf.Root.AcroForm = Dictionary(Fields=[notes[1]])
    pdf.attachments["secret.txt"] = b"from the desk of nobody"
    return pdf


def test_nothing_but_the_picture_goes_along(tmp_path: Path) -> None:
    design = load(tmp_path, FILE, **{"art.pdf": saved(everything())})
    (told,) = (f for f in design.artwork.told if f.rule == "artwork-left-out")
    for what in (
        "scripts and actions",
        "attached files",
        "a note or stamp",
        "a form field",
        "a link",
        "the layer 'Draft', which is switched off",
    ):
        assert what in told.says
    sheet = Sheet(tmp_path, design)
    assert difference(sheet, drawn_by_pdfium(saved(page(SHAPES, PAGE)))) < 0.3
    with pikepdf.open(tmp_path / "out" / "print.pdf") as made:
        objects = b"".join(one.unparse(resolved=True) for one in made.objects)
        made_of = objects + b"".join(
            one.read_bytes() for one in made.objects if isinstance(one, pikepdf.Stream)
        )
    for never in (b"alert", b"JavaScript", b"nobody", b"Draft", b"/Annot", b"/Widget"):
        assert never not in made_of


# ISO 19593-1: layers of processing steps say so in their metadata.
def test_die_lines_on_layers_of_their_own_are_not_printed(tmp_path: Path) -> None:
    pdf = page(b"/OC /L BDC 1 0 0 RG 2 w 20 8 130 99 re S EMC\n" + SHAPES, PAGE)
    step = Dictionary(GTS_ProcStepsGroup=Name.Structural, GTS_ProcStepsType=Name.Cutting)
    group = Dictionary(Type=Name.OCG, Name="Cutting", GTS_Metadata=step)
    layer = pdf.make_indirect(group)
    pdf.pages[0].Resources = Dictionary(Properties=Dictionary(L=layer))
    pdf.Root.OCProperties = Dictionary(OCGs=[layer], D=Dictionary(ON=[layer]))
    design = load(tmp_path, FILE, **{"art.pdf": saved(pdf)})
    (told,) = (f for f in design.artwork.told if f.rule == "artwork-left-out")
    assert "the layer 'Cutting', which is a processing step" in told.says
    sheet = Sheet(tmp_path, design)
    assert difference(sheet, drawn_by_pdfium(saved(page(SHAPES, PAGE)))) < 0.3


# Marked content of its own must not be taken for the words of a piece.
def test_marks_of_the_page_stay_behind(tmp_path: Path) -> None:
    marks = b"/Span <</ActualText (Bob)>> BDC 0 1 0 rg 20 12 9 9 re f EMC /P /M DP\n"
    pdf = page(marks + SHAPES, PAGE)
    pdf.pages[0].Resources = Dictionary(
        Properties=Dictionary(M=Dictionary(ActualText="Eve"))
    )
    load(tmp_path, FILE, **{"art.pdf": saved(pdf)})
    put(tmp_path, {"list.csv": "name\nAda\n"})
    asked = ("--design", tmp_path / "tag.toml", "--out", tmp_path / "out")
    assert command("make", tmp_path / "list.csv", *asked).exit_code in (0, 1)
    text = run("pdftotext", "-raw", tmp_path / "out" / "print.pdf", "-")
    assert "Ada" in text
    assert "Bob" not in text
    assert "Eve" not in text


# A dictionary of resources may serve several streams (ISO 32000-1, 7.8.3).
def shared(pdf: pikepdf.Pdf, **more: object) -> bytes:
    """A page that draws a form, both with the same resources."""
    form = pdf.make_stream(SHAPES + b"BT /F 9 Tf 20 20 Td (Plum Lane) Tj ET /Off Do")
    form.update(Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 999, 999]))
    pdf.pages[0].Resources = Dictionary(
        XObject=pdf.make_indirect(Dictionary(X=form, **more)),
        Font=pdf.make_indirect(
            Dictionary(
                F=Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica)
            )
        ),
    )
    form.Resources = pdf.pages[0].Resources
    return saved(pdf)


def test_no_words_are_lost_with_a_font_that_streams_share(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="the font Helvetica is not in the file"):
        load(tmp_path, FILE, **{"art.pdf": shared(page(b"/X Do", PAGE))})


def test_nothing_names_what_is_left_out(tmp_path: Path) -> None:
    pdf = page(b"/X Do", PAGE)
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="Draft"))
    pdf.Root.OCProperties = Dictionary(OCGs=[layer], D=Dictionary(OFF=[layer]))
    hidden = pdf.make_stream(b"1 0 0 rg 0 0 999 999 re f")
    hidden.update(Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 999, 999]))
    hidden.OC = layer
    data = shared(pdf, Off=hidden)
    with pikepdf.open(io.BytesIO(data)) as worded:
        worded.pages[0].Resources.Font.F = worded.make_indirect(
            Dictionary(Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 1, 1])
        )
        data = saved(worded)
    design = load(tmp_path, FILE, **{"art.pdf": data})
    with printed(tmp_path, design) as made:
        forms = [one for one in made.objects if one.get("/Subtype") == Name.Form]
        drawn = [
            (str(one.operands[0]), form.Resources.get("/XObject", Dictionary()))
            for form in forms
            for one in pikepdf.parse_content_stream(form)
            if str(one.operator) == "Do"
        ]
    assert drawn
    assert all(name in held for name, held in drawn)


# ISO 32000-1, table 95: a form without resources (obsolescent) means those of its page.
# On our page they are others.
def test_a_form_without_resources_keeps_those_of_its_page(tmp_path: Path) -> None:
    pdf = page(b"/X Do", PAGE)
    form = pdf.make_stream(b"/Cutting cs 1 scn 20 12 50 16 re f")
    form.update(Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 999, 999]))
    green = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[1, 1, 1], C1=[0, 0.5, 0.2])
    ink = Array([Name.Separation, Name.Moss, Name.DeviceRGB, green])
    pdf.pages[0].Resources = Dictionary(
        XObject=Dictionary(X=form), ColorSpace=Dictionary(Cutting=ink)
    )
    data = saved(pdf)
    design = load(tmp_path, FILE, **{"art.pdf": data})
    sheet = Sheet(tmp_path, design)
    assert difference(sheet, drawn_by_pdfium(data)) < 0.3
    with pikepdf.open(tmp_path / "out" / "print.pdf") as made:
        forms = [one for one in made.objects if one.get("/Subtype") == Name.Form]
        assert forms
        assert all("/Resources" in form for form in forms)


def test_the_press_of_the_page_is_told_to_stay_behind(tmp_path: Path) -> None:
    pdf = page(SHAPES, PAGE)
    intent = Dictionary(Type=Name.OutputIntent, S=Name.GTS_PDFX, Info="Plum press")
    pdf.Root.OutputIntents = Array([intent])
    design = load(tmp_path, FILE, **{"art.pdf": saved(pdf)})
    (told,) = (f for f in design.artwork.told if f.rule == "artwork-left-out")
    assert "the press that its colours are meant for (its output intent)" in told.says


def test_a_page_gives_the_outline_by_its_edge(tmp_path: Path) -> None:
    k = 0.5522847498 * 15  # of a circle of four cubics
    circle = (
        f"0.4 0.1 0.5 rg 45 25 m 45 {25 + k} {30 + k} 40 30 40 c {30 - k} 40 15 {25 + k} 15"
        f" 25 c 15 {25 - k} {30 - k} 10 30 10 c {30 + k} 10 45 {25 - k} 45 25 c f"
    )
    data = saved(
        page(b"%f 0 0 %f 0 0 cm " % (MM, MM) + circle.encode(), (60 * MM, 50 * MM))
    )
    put(tmp_path, {"disc.pdf": data})
    design = personalize.load_design(tmp_path / "disc.pdf")
    cut = shapely.Polygon(design.outline.flattened(0.005))
    disc = shapely.Point(30, 25).buffer(15, quad_segs=200)
    assert shapely.hausdorff_distance(cut.exterior, disc.exterior) < 0.1
