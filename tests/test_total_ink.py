"""Total ink of artwork for a print shop: four inks as they stand, others by a profile."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream
from PIL import Image

import personalize
from personalize.checks.total_ink import ink_of_artwork
from personalize.colour_profile import Profile
from personalize.design.design import Artwork
from personalize.design.press_colours import Press, UnusableProfileError
from personalize.options import Options
from tests.artwork_files import jpeg, load, page, png, saved
from tests.conftest import EDGE, command, drawing, put
from tests.press_made import press_profile

MM = 72 / 25.4
PAGE = (60 * MM, 40 * MM)
FILE = 'file = "art.pdf"\n'
HERE = b" 20 20 60 40 re f "
PROFILE = Profile("press", press_profile(), 4)


def told(design: personalize.Design, rows: str = "name\nAda\n", **options: object):
    table = personalize.read_table(put_list(rows))
    given = Options(also=frozenset({"shop"}), **options)
    found = personalize.check(table, design, given).findings
    return [one for one in found if one.rule in ("total-ink", "ink-not-known")]


LIST: list[Path] = []


def put_list(rows: str) -> Path:
    put(LIST[-1], {"list.csv": rows})
    return LIST[-1] / "list.csv"


@pytest.fixture(autouse=True)
def _folder(tmp_path: Path) -> None:
    LIST[:] = [tmp_path]


def most(data: bytes) -> float:
    """Give the most ink of a PDF page as artwork, in percent."""
    look = ink_of_artwork(Artwork(b"", (0, 0, 60, 40), "art.pdf", page=data), None)
    assert not look.odd
    return look.most * 100


# What each way of painting comes to, as ISO 32000-1, 8.6 has its colours --------------


def tint(pdf: pikepdf.Pdf) -> pikepdf.Object:
    """A function of the spaces below; a press that has the ink never asks it."""
    return pdf.make_indirect(
        Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[1, 0, 0, 0])
    )


def ramp(space: Name, start: list[float], end: list[float]) -> Dictionary:
    function = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=start, C1=end)
    return Dictionary(
        ShadingType=2, ColorSpace=space, Coords=[0, 0, 90, 0], Function=function
    )


def named(pdf: pikepdf.Pdf, space: Array, content: bytes) -> None:
    pdf.pages[0].obj.Resources = Dictionary(ColorSpace=Dictionary(Own=space))
    pdf.pages[0].Contents = pdf.make_stream(content)


def as_spot(pdf: pikepdf.Pdf) -> None:
    space = Array([Name.Separation, Name("/Plum"), Name.DeviceCMYK, tint(pdf)])
    named(pdf, space, b"/Own cs 0.8 scn" + HERE)


def as_all(pdf: pikepdf.Pdf) -> None:
    space = Array([Name.Separation, Name.All, Name.DeviceCMYK, tint(pdf)])
    named(pdf, space, b"/Own cs 0.9 scn" + HERE)


def as_several(pdf: pikepdf.Pdf) -> None:
    inks = Array([Name("/Plum"), Name("/None"), Name("/Leaf")])
    space = Array([Name.DeviceN, inks, Name.DeviceCMYK, tint(pdf)])
    named(pdf, space, b"/Own cs 1 1 0.6 scn" + HERE)


def as_palette(pdf: pikepdf.Pdf) -> None:
    table = bytes([0, 0, 0, 0, 204, 204, 204, 255])
    space = Array([Name.Indexed, Name.DeviceCMYK, 1, pikepdf.String(table)])
    picture(pdf, bytes([1] * 400), space)


def as_number_of_a_palette(pdf: pikepdf.Pdf) -> None:
    table = bytes(4) + bytes([204, 204, 204, 255]) + bytes(4)
    space = Array([Name.Indexed, Name.DeviceCMYK, 2, pikepdf.String(table)])
    named(pdf, space, b"/Own cs 1 scn" + HERE)


def as_first_colour(pdf: pikepdf.Pdf) -> None:
    # ISO 32000-1, 8.6.6.5: full ink till another tint is set.
    inks = Array([Name("/Plum"), Name("/Leaf"), Name("/Sky"), Name("/Sand")])
    space = Array([Name.DeviceN, inks, Name.DeviceCMYK, tint(pdf)])
    named(pdf, space, b"/Own cs" + HERE)


def as_gradient(pdf: pikepdf.Pdf) -> None:
    shading = ramp(Name.DeviceCMYK, [0, 0, 0, 0], [0.9, 0.9, 0.9, 0.6])
    pdf.pages[0].obj.Resources = Dictionary(Shading=Dictionary(Own=shading))
    pdf.pages[0].Contents = pdf.make_stream(b"/Own sh")


def as_pattern(pdf: pikepdf.Pdf) -> None:
    tile = Stream(pdf, b"0.7 0.7 0.7 1 k 0 0 9 9 re f")
    for key, value in {
        "PatternType": 1, "PaintType": 1, "TilingType": 1, "BBox": Array([0, 0, 9, 9]),
        "XStep": 9, "YStep": 9, "Resources": Dictionary(),
    }.items():  # fmt: skip
        tile[f"/{key}"] = value
    patterns = Dictionary(Own=pdf.make_indirect(tile))
    pdf.pages[0].obj.Resources = Dictionary(Pattern=patterns)
    pdf.pages[0].Contents = pdf.make_stream(b"/Pattern cs /Own scn" + HERE)


def picture(pdf: pikepdf.Pdf, data: bytes, space: object, **keys: object) -> None:
    image = Stream(pdf, data)
    parts = {"Type": Name.XObject, "Subtype": Name.Image, "Width": 20, "Height": 20}
    parts |= {"ColorSpace": space, "BitsPerComponent": 8, **keys}
    for key, value in parts.items():
        image[f"/{key}"] = value
    pdf.pages[0].obj.Resources = Dictionary(
        XObject=Dictionary(Own=pdf.make_indirect(image))
    )
    pdf.pages[0].Contents = pdf.make_stream(b"q 90 0 0 60 30 20 cm /Own Do Q")


def as_picture(pdf: pikepdf.Pdf) -> None:
    picture(pdf, bytes([255, 255, 255, 51] * 400), Name.DeviceCMYK)


def as_negative(pdf: pikepdf.Pdf) -> None:
    upside = Array([1, 0] * 4)
    picture(pdf, bytes([0, 0, 0, 204] * 400), Name.DeviceCMYK, Decode=upside)


def as_form(pdf: pikepdf.Pdf) -> None:
    form = Stream(pdf, b"0.9 0.9 0.9 0.9 K 5 w 0 0 m 50 50 l S")
    form.Subtype, form.BBox = Name.Form, Array([0, 0, 60, 60])
    pdf.pages[0].obj.Resources = Dictionary(XObject=Dictionary(Own=pdf.make_indirect(form)))
    pdf.pages[0].Contents = pdf.make_stream(b"q 1 0 0 1 20 20 cm /Own Do Q")


WAYS: dict[Callable[[pikepdf.Pdf], None], float] = {
    as_spot: 80, as_all: 360, as_several: 160, as_palette: 340, as_gradient: 330,
    as_number_of_a_palette: 340, as_first_colour: 400,
    as_pattern: 310, as_picture: 320, as_negative: 320, as_form: 360,
}  # fmt: skip


@pytest.mark.parametrize("way", WAYS)
def test_inks_are_summed_however_they_are_painted(
    way: Callable[[pikepdf.Pdf], None],
) -> None:
    pdf = page(b"", PAGE)
    way(pdf)
    assert most(saved(pdf)) == pytest.approx(WAYS[way], abs=0.5)


CONTENT = {
    b"0.6 0.5 0.4 0.7 k" + HERE: 220,
    b"0.6 0.5 0.4 0.7 k 20 20 m 90 90 l S" + HERE: 220,
    b"0.6 g 0 0 0 1 K" + HERE: 40,  # a stroke that is not made
    b"0.2 g 1 1 1 1 k 300 10 50 50 re f 0.5 g" + HERE: 50,  # off the page
    b"q 0 0 9 9 re W n 1 1 1 1 k 30 30 50 50 re f Q": 0,  # clipped away
    b"q 1 1 1 1 k Q" + HERE: 100,  # black is what a page begins with
    b"q 0.5 0 0 0.5 0 0 cm 1 0.5 0 0 k 250 150 40 40 re f Q": 150,
}


@pytest.mark.parametrize("content", CONTENT)
def test_only_what_is_painted_on_the_page_counts(content: bytes) -> None:
    got = most(saved(page(content, PAGE)))
    assert got == pytest.approx(CONTENT[content], abs=0.5)


def test_a_photo_in_four_inks_is_measured_as_it_is(tmp_path: Path) -> None:
    # Pillow writes such files upside down, as their marker says.
    photo = Image.new("CMYK", (600, 400), (200, 100, 50, 20))
    photo.paste((240, 240, 200, 230), (100, 100, 300, 300))
    keys = 'file = "a.jpg"\nwidth_mm = 60\n'
    design = load(tmp_path, keys, **{"a.jpg": jpeg(photo, quality=100)})
    (one,) = told(design)
    want = (240 + 240 + 200 + 230) / 2.55
    assert one.figures["percent"] == pytest.approx(want, abs=2)
    assert (one.rule, one.severity, one.figures["converted"]) == (
        "total-ink",
        "warning",
        False,
    )
    assert told(design, most_ink=360.0) == []


def test_a_few_dark_pixels_do_not_count_and_clear_ones_never(tmp_path: Path) -> None:
    # 24 pixels in the mm: a dot of 10 x 10 is less than the 1 mm2 that is looked for.
    photo = Image.new("CMYK", (1440, 960), (100, 0, 0, 0))
    photo.paste((255, 255, 255, 255), (400, 400, 410, 410))
    keys = 'file = "a.jpg"\nwidth_mm = 60\n'
    assert told(load(tmp_path, keys, **{"a.jpg": jpeg(photo, quality=100)})) == []
    pdf = page(b"", PAGE)
    mask = Stream(pdf, bytes(400))
    mask.Subtype, mask.ColorSpace = Name.Image, Name.DeviceGray
    mask.Width = mask.Height = 20
    mask.BitsPerComponent = 8
    picture(pdf, bytes([255] * 1600), Name.DeviceCMYK, SMask=pdf.make_indirect(mask))
    assert most(saved(pdf)) == 0


# Colours of a screen --------------------------------------------------------------------


def test_a_profile_says_what_inks_the_colours_of_a_screen_come_to() -> None:
    # CIE L* of sRGB 119 is 50: half the inks of this press.
    colours = np.array([[0, 0, 0], [255, 255, 255], [119, 119, 119]], np.uint8)
    inks = Press(press_profile()).inks(colours)
    assert inks.sum(axis=1) == pytest.approx([3.502, 0, 1.751], abs=0.03)
    many = Press(press_profile()).inks(np.zeros((70_001, 3), np.uint8))
    assert many.shape == (70_001, 4)
    assert (many == inks[0]).all()


def test_what_cannot_convert_is_no_press() -> None:
    for data in (press_profile(tables=False), press_profile(space=b"RGB "), b"no profile"):
        with pytest.raises(UnusableProfileError):
            Press(data)


BLACK = '<rect width="60" height="40" fill="#000"/>'


def black_tag(folder: Path) -> personalize.Design:
    toml = '[lines]\nCutting = "#edge"\n[margins]\nbleed = 3\n'
    put(folder, {"tag.svg": drawing(BLACK + EDGE), "tag.toml": toml})
    return personalize.load_design(folder / "tag.toml")


def test_a_drawing_is_measured_by_the_profile_or_not_known(tmp_path: Path) -> None:
    design = black_tag(tmp_path)
    (one,) = told(design, "front\nAda\n", profile=PROFILE)
    assert one.figures["percent"] == pytest.approx(350.2, abs=1)
    assert one.figures["converted"]
    assert "converted by press" in one.says
    (note,) = told(design, "front\nAda\n")
    assert (note.rule, note.severity) == ("ink-not-known", "note")
    assert "no profile of the press is given" in note.says
    grey = Profile("grey", press_profile(), 1)
    (note,) = told(design, "front\nAda\n", profile=grey)
    assert "not for four inks" in note.says
    bare = Profile("bare", press_profile(tables=False), 4)
    (note,) = told(design, "front\nAda\n", profile=bare)
    assert "cannot convert" in note.says


def test_plain_paper_has_no_ink_to_tell_of(tmp_path: Path) -> None:
    put(tmp_path, {"tag.svg": drawing(EDGE)})
    assert told(personalize.load_design(tmp_path / "tag.svg"), "front\nAda\n") == []


def test_pictures_and_words_of_rows_are_measured_too(tmp_path: Path) -> None:
    toml = '[lines]\nCutting = "#edge"\n[margins]\nbleed = 3\n'
    toml += "[picture]\nbox = [4, 4, 20, 20]\n"
    dark = png(Image.new("RGB", (200, 200), (0, 0, 1)))
    put(tmp_path, {"tag.svg": drawing(EDGE), "tag.toml": toml, "dark.png": dark})
    put(tmp_path, {"light.png": png(Image.new("RGB", (200, 200), "white"))})
    design = personalize.load_design(tmp_path / "tag.toml")
    rows = "front,picture,text_colour\nAda,light.png,\nBo,dark.png,#000001\nCy,dark.png,\n"
    found = told(design, rows, profile=PROFILE)
    assert [(one.row, one.panel) for one in found] == [(None, "front"), (3, None)]
    assert all(one.figures["percent"] > 340 for one in found)
    (note,) = told(design, rows)
    assert note.says.endswith("the pictures of the rows.")


def test_pictures_of_rows_are_measured_in_the_inks_they_are_printed_in(
    tmp_path: Path,
) -> None:
    toml = '[lines]\nCutting = "#edge"\n[picture]\nbox = [4, 4, 20, 20]\n'
    put(tmp_path, {"tag.svg": drawing(EDGE), "tag.toml": toml})
    put(tmp_path, {"grey.png": png(Image.new("L", (200, 200), 0))})
    four = Image.new("CMYK", (200, 200), (255, 255, 255, 51))
    put(tmp_path, {"four.jpg": jpeg(four, quality=98)})
    design = personalize.load_design(tmp_path / "tag.toml")
    rows = "front,picture\nAda,grey.png\nBo,four.jpg\n"
    for profile in (PROFILE, None):
        (one,) = told(design, rows, profile=profile)
        assert (one.rule, one.row) == ("total-ink", 3)
        assert one.figures["percent"] == pytest.approx(320, abs=4)
        assert not one.figures["converted"]


def test_what_is_painted_in_odd_ways_is_told(tmp_path: Path) -> None:
    mesh = Dictionary(ShadingType=1, ColorSpace=Name.DeviceCMYK, Function=Dictionary())
    pdf = page(b"/Own sh 0.4 0.4 0.4 1 k" + HERE, PAGE)
    pdf.pages[0].obj.Resources = Dictionary(Shading=Dictionary(Own=mesh))
    (note,) = told(load(tmp_path, FILE, **{"art.pdf": saved(pdf)}))
    assert "not measured" in note.says
    assert note.figures == {"measured_percent": 220.0}


def with_image(space: object, **keys: object) -> pikepdf.Pdf:
    pdf = page(b"", PAGE)
    picture(pdf, bytes(400), space, **keys)
    return pdf


def with_form(**keys: object) -> pikepdf.Pdf:
    pdf = page(b"/X Do", PAGE)
    form = pdf.make_stream(b"0 0 0 1 k" + HERE)
    form.update(Dictionary(Type=Name.XObject, Subtype=Name.Form, **keys))
    pdf.pages[0].obj.Resources = Dictionary(XObject=Dictionary(X=form))
    return pdf


def inline_in_a_spot_ink() -> pikepdf.Pdf:
    pdf = page(b"q 90 0 0 90 9 9 cm BI /W 4 /H 4 /BPC 8 /CS /Own ID ", PAGE)
    pdf.pages[0].contents_add(b"abcdefghijklmnop EI Q")
    space = Array([Name.Separation, Name("/Plum"), Name.DeviceCMYK, tint(pdf)])
    pdf.pages[0].obj.Resources = Dictionary(ColorSpace=Dictionary(Own=space))
    return pdf


ODD: dict[str, Callable[[], pikepdf.Pdf]] = {
    "an inline picture in a spot ink": inline_in_a_spot_ink,
    "a profile that does not say for how many": lambda: with_image(
        Array([Name.ICCBased, Dictionary()])
    ),
    "a separation without a name": lambda: with_image(Array([Name.Separation])),
    "a palette of less than nothing": lambda: with_image(
        Array([Name.Indexed, Name.DeviceCMYK, -1, pikepdf.String(b"")])
    ),
    "a picture without width": lambda: with_image(Name.DeviceCMYK, Width=0),
    "a mask that is none": lambda: with_image(Name.DeviceCMYK, SMask=Dictionary()),
    "a form without a box": with_form,
    "an operator without operands": lambda: page(b"/Own scn sh", PAGE),
}


@pytest.mark.parametrize("name", ODD)
def test_what_is_broken_is_told_and_stops_nothing(name: str, tmp_path: Path) -> None:
    data = saved(ODD[name]())
    (note,) = told(load(tmp_path, FILE, **{"art.pdf": data}))
    assert "not measured" in note.says


# The command line -----------------------------------------------------------------------


def shop_run(folder: Path, *more: str) -> str:
    put(folder, {"list.csv": "front\nAda\n", "press.icc": press_profile()})
    black_tag(folder)
    return command(
        "make", folder / "list.csv", "--design", folder / "tag.toml", "--also", "shop",
        "--profile", folder / "press.icc", "--out", folder / "out", *more,
    ).output  # fmt: skip


def test_a_shop_that_takes_more_is_told_so(tmp_path: Path) -> None:
    assert "up to 350 % of ink" in shop_run(tmp_path)
    assert "% of ink" not in shop_run(tmp_path, "--most-ink", "360 %")


@pytest.mark.parametrize("text", ["much", "99", "401", "nan", ""])
def test_a_limit_that_is_none_is_refused(text: str, tmp_path: Path) -> None:
    said = shop_run(tmp_path, "--most-ink", text)
    assert f"--most-ink: {text!r} is no number from 100 to 400." in said
    assert not (tmp_path / "out").exists()
