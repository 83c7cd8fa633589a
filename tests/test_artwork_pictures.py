"""A PNG or JPEG file as the artwork: its pixels, its size and its place in print.pdf."""

import io
import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageCms

import personalize
from personalize.design.design import Design
from personalize.design.pictures import preview
from personalize.errors import InputError
from personalize.finding import Severity
from tests.artwork_files import Sheet, images, jpeg, load, png, printed, samples
from tests.conftest import command, put
from tests.outside import run
from tests.press_made import press_profile

NOISE = np.random.default_rng(5)
WIDE, HIGH = 620, 420
"""Pixels of a picture that is about 300 to the inch over 52 mm."""
AT = 'file = "art.{}"\nwidth_mm = 52\nat = [4, 2]\n'


def noise(channels: int) -> NDArray[np.uint8]:
    """Samples of which no two pixels alike can be swapped unseen."""
    shape = (HIGH, WIDE) if channels == 1 else (HIGH, WIDE, channels)
    return NOISE.integers(0, 256, shape, dtype=np.uint8)


def corners() -> Image.Image:
    """A picture in four colours, so that every turn and flip of it looks different."""
    made = np.zeros((HIGH, WIDE, 3), np.uint8)
    made[: HIGH // 2, : WIDE // 2] = (200, 30, 40)
    made[: HIGH // 2, WIDE // 2 :] = (40, 150, 60)
    made[HIGH // 2 :, : WIDE // 2] = (30, 60, 190)
    made[HIGH // 2 :, WIDE // 2 :] = (240, 200, 40)
    return Image.fromarray(made)


@contextmanager
def the_image(folder: Path, design: Design) -> Iterator[pikepdf.Object]:
    """The only picture of its print.pdf, as long as that is open."""
    with printed(folder, design) as pdf:
        (image,) = images(pdf)
        yield image


PLAIN = {
    "RGB": Image.fromarray(noise(3)),
    "grey": Image.fromarray(noise(1)),
    "palette": Image.fromarray(noise(1) // 8).convert("RGB").quantize(32),
    "black and white": Image.fromarray(noise(1)).convert("1"),
}


# ISO 32000-1, 8.9.5: the samples of a picture are those of the file, none mixed.
@pytest.mark.parametrize("kind", PLAIN)
def test_every_pixel_of_a_png_is_printed_as_it_is(kind: str, tmp_path: Path) -> None:
    design = load(tmp_path, AT.format("png"), **{"art.png": png(PLAIN[kind])})
    grey = kind in ("grey", "black and white")
    want = np.asarray(PLAIN[kind].convert("L" if grey else "RGB"))
    with the_image(tmp_path, design) as image:
        assert np.array_equal(samples(image).squeeze(), want)


def test_half_clear_pixels_keep_colour_and_opacity(tmp_path: Path) -> None:
    pixels = noise(4)
    pixels[:, :, 3] |= 16  # fainter ones take the colour of the ink beside them
    picture = png(Image.fromarray(pixels))
    design = load(tmp_path, AT.format("png"), **{"art.png": picture})
    with the_image(tmp_path, design) as image:
        assert np.array_equal(samples(image), pixels[:, :, :3])
        assert np.array_equal(samples(image.SMask).squeeze(), pixels[:, :, 3])


@pytest.mark.parametrize("mode", ["RGB", "L", "CMYK"])
def test_a_jpeg_is_not_packed_again(mode: str, tmp_path: Path) -> None:
    made = Image.fromarray(noise(3)).convert(mode)
    note = b"where it was taken"
    data = jpeg(made, comment=note, exif=b"Exif\0\0" + note, quality=60)
    design = load(tmp_path, AT.format("jpg"), **{"art.jpg": data})
    with the_image(tmp_path, design) as image:
        raw = image.read_raw_bytes()
        assert str(image.Filter) == "/DCTDecode"
    kept, given = (np.asarray(Image.open(io.BytesIO(one))) for one in (raw, data))
    assert np.array_equal(kept, given)
    # ITU-T T.81, annex B: from the first table on it is the same file, byte by byte.
    assert raw[raw.index(b"\xff\xdb") :] == data[data.index(b"\xff\xdb") :]
    assert note in data
    assert note not in raw


def test_what_is_noted_beside_a_png_stays_behind(tmp_path: Path) -> None:
    from PIL.PngImagePlugin import PngInfo

    notes = PngInfo()
    notes.add_text("Author", "somebody at home")
    picture = png(corners(), pnginfo=notes)
    assert b"somebody" in picture
    load(tmp_path, AT.format("png"), **{"art.png": picture})
    printed(tmp_path, personalize.load_design(tmp_path / "tag.toml"))
    for file in (tmp_path / "out").iterdir():
        assert b"somebody" not in file.read_bytes()


def test_the_colour_profile_goes_along(tmp_path: Path) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for name, data in (
        ("art.png", png(corners(), icc_profile=profile)),
        ("art.jpg", jpeg(corners(), icc_profile=profile)),
    ):
        keys = AT.format(name.partition(".")[2])
        with the_image(tmp_path, load(tmp_path, keys, **{name: data})) as image:
            kind, stream = image.ColorSpace
            assert str(kind) == "/ICCBased"
            assert stream.read_bytes() == profile


def test_sixteen_bits_of_grey_with_opacity_stay_grey(tmp_path: Path) -> None:
    # PNG third edition, chapter 11.2.1: colour type 4 is grey with alpha, high byte first.
    wide = NOISE.integers(0x2000, 0x10000, (HIGH, WIDE, 2), dtype=np.uint16)
    rows = b"".join(b"\0" + row.astype(">u2").tobytes() for row in wide)
    head = struct.pack(">IIBBBBB", WIDE, HIGH, 16, 4, 0, 0, 0)
    data = b"\x89PNG\r\n\x1a\n"
    for kind, part in ((b"IHDR", head), (b"IDAT", zlib.compress(rows)), (b"IEND", b"")):
        data += struct.pack(">I", len(part)) + kind + part
        data += struct.pack(">I", zlib.crc32(kind + part))
    design = load(tmp_path, AT.format("png"), **{"art.png": data})
    (told,) = (f for f in design.artwork.told if f.rule == "artwork-left-out")
    assert "16 bits a channel are printed as 8" in told.says
    with the_image(tmp_path, design) as image:
        assert image.ColorSpace == pikepdf.Name.DeviceGray
        for stream, band in ((image, 0), (image.SMask, 1)):
            off = samples(stream).squeeze() - wide[:, :, band] / 257
            assert np.abs(off).max() <= 1


def without_marker(data: bytes) -> bytes:
    """Take Adobe's marker out of a JPEG file."""
    at = data.index(b"\xff\xee")
    assert data[at + 4 : at + 9] == b"Adobe"
    return data[:at] + data[at + 2 + int.from_bytes(data[at + 2 : at + 4], "big") :]


# ISO 32000-1, 8.9.5.2: a sample of a JPEG in four inks is as much ink as it says. Common
# practice, no source: files with the marker APP14 ("Adobe") hold them turned over.
@pytest.mark.parametrize("marked", [True, False])
def test_four_inks_look_on_a_screen_as_they_are_printed(
    marked: bool, tmp_path: Path
) -> None:
    data = jpeg(Image.new("CMYK", (WIDE, HIGH), (30, 20, 10, 0)))
    data = data if marked else without_marker(data)
    design = load(tmp_path, AT.format("jpg"), **{"art.jpg": data})
    printed = np.mean(Sheet(tmp_path, design).colour(30, 6))
    seen = np.asarray(Image.open(io.BytesIO(preview(tmp_path / "art.jpg", 50))))
    assert (printed > 200) == (seen.mean() > 200) == marked
    assert (printed < 50) == (seen.mean() < 50) == (not marked)


@pytest.mark.parametrize("marked", [True, False])
def test_colours_past_the_edge_are_in_the_inks_of_the_picture(
    marked: bool, tmp_path: Path
) -> None:
    data = jpeg(Image.new("CMYK", (WIDE, HIGH), (30, 20, 10, 0)))
    data = data if marked else without_marker(data)
    inks = np.array([30, 20, 10, 0] if marked else [225, 235, 245, 255])
    keys = AT.format("jpg") + "extend_edge = true\n"
    design = load(tmp_path, keys, **{"art.jpg": data})
    sheet = Sheet(tmp_path, design)
    assert sheet.colour(2.5, 12) == sheet.colour(30, 6)  # where there is no picture
    with printed(tmp_path, design) as made:
        pictures = images(made)
        assert [one.ColorSpace for one in pictures] == [pikepdf.Name.DeviceCMYK] * 2
        (edge,) = (one for one in pictures if "/SMask" in one)
        inked = samples(edge)[samples(edge.SMask).squeeze() > 0]
        assert np.abs(inked.astype(int) - inks).max() <= 3


def test_a_screen_is_given_no_profile_of_other_colours(tmp_path: Path) -> None:
    profile = press_profile()
    put(tmp_path, {"a.jpg": jpeg(Image.new("CMYK", (90, 90)), icc_profile=profile)})
    assert "icc_profile" not in Image.open(io.BytesIO(preview(tmp_path / "a.jpg", 50))).info


def quarters(sheet: Sheet) -> list[tuple[int, ...]]:
    """Colours in each quarter of a picture from [4, 2], 52 mm wide."""
    rows = (2 + 0.1 * 52 * HIGH / WIDE, 2 + 0.9 * 52 * HIGH / WIDE)
    return [sheet.colour(x, y) for y in rows for x in (17, 43)]


QUARTERS = [(200, 30, 40), (40, 150, 60), (30, 60, 190), (240, 200, 40)]


def test_the_picture_lies_where_it_is_said(tmp_path: Path) -> None:
    sheet = Sheet(tmp_path, load(tmp_path, AT.format("png"), **{"art.png": png(corners())}))
    assert quarters(sheet) == QUARTERS
    white, high = (255, 255, 255), 52 * HIGH / WIDE
    # A third of a millimetre either side of its edges and of its middle.
    assert sheet.colour(3.7, 12) == sheet.colour(56.3, 12) == white
    assert sheet.colour(17, 1.7) == sheet.colour(17, 2.3 + high) == white
    assert sheet.colour(4.3, 12) == sheet.colour(29.7, 6) == QUARTERS[0]
    assert sheet.colour(30.3, 6) == sheet.colour(55.7, 2.3) == QUARTERS[1]
    assert sheet.colour(17, 1.7 + high) == QUARTERS[2]


# Exif 2.32, tag 274: eight ways in which a camera may have been held.
TURNS = {
    1: None,
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


@pytest.mark.parametrize("way", TURNS)
@pytest.mark.parametrize("kind", ["jpg", "png"])
def test_a_photo_stands_upright(way: int, kind: str, tmp_path: Path) -> None:
    upright = corners()
    stored = upright if TURNS[way] is None else upright.transpose(TURNS[way])
    exif = Image.Exif()
    exif[274] = way
    data = jpeg(stored, exif=exif, quality=98) if kind == "jpg" else png(stored, exif=exif)
    design = load(tmp_path, AT.format(kind), **{f"art.{kind}": data})
    found = np.array(quarters(Sheet(tmp_path, design)))
    assert np.abs(found - QUARTERS).max() <= (3 if kind == "jpg" else 0)


def centimetres(image: Image.Image) -> bytes:
    exif = Image.Exif()
    exif[282] = exif[283] = 120.0
    exif[296] = 3  # to the centimetre
    return jpeg(image, exif=exif)


# PNG third edition, pHYs; JFIF 1.02, density; Exif 2.32, tags 282, 283, 296.
STATED = {
    "pHYs": ("png", png(corners(), 254.0), 254.0),
    "JFIF": ("jpg", jpeg(corners(), dpi=(300, 300)), 300.0),
    "Exif": ("jpg", centimetres(corners()), 304.8),
}


@pytest.mark.parametrize("by", STATED)
def test_the_size_is_what_the_file_states(by: str, tmp_path: Path) -> None:
    kind, data, per_inch = STATED[by]
    keys = f'file = "art.{kind}"\nat = [4, 2]\n'
    art = load(tmp_path, keys, **{f"art.{kind}": data}).artwork
    (told,) = (f for f in art.told if f.rule == "artwork-placed")
    assert told.figures["width_mm"] == pytest.approx(WIDE / per_inch * 25.4, abs=0.01)
    assert told.figures["height_mm"] == pytest.approx(HIGH / per_inch * 25.4, abs=0.01)
    assert f"({by}: {per_inch:.0f} px to the inch)" in told.says


@pytest.mark.parametrize(
    ("keys", "size"),
    [
        ("width_mm = 31\n", (31, 21)),
        ("px_per_inch = 508\n", (31, 21)),
        ("size_mm = [40, 21]\n", (40, 21)),
    ],
)
def test_the_maker_says_the_size(
    keys: str, size: tuple[float, float], tmp_path: Path
) -> None:
    keys = 'file = "art.png"\nat = [4, 2]\n' + keys
    art = load(tmp_path, keys, **{"art.png": png(corners(), 72)}).artwork
    (told,) = (f for f in art.told if f.rule == "artwork-placed")
    assert (told.figures["width_mm"], told.figures["height_mm"]) == pytest.approx(size)


def test_a_picture_of_the_drawings_own_size_needs_no_place(tmp_path: Path) -> None:
    picture = png(corners().resize((709, 472)))  # 60 x 40 mm within a pixel
    design = load(tmp_path, 'file = "art.png"\n', **{"art.png": picture})
    (told,) = (f for f in design.artwork.told if f.rule == "artwork-placed")
    assert "top left corner at [0, 0]" in told.says


@pytest.mark.parametrize(
    ("per_inch", "severity"),
    [(90, Severity.ERROR), (150, Severity.WARNING), (300, None)],
)
def test_coarse_artwork_is_told_before_paper_is_spent(
    per_inch: int, severity: Severity | None, tmp_path: Path
) -> None:
    keys = f'file = "art.png"\nat = [4, 2]\npx_per_inch = {per_inch}\n'
    picture = png(corners().resize((per_inch * 2, per_inch)))
    design = load(tmp_path, keys, **{"art.png": picture})
    found = [f.severity for f in design.artwork.told if f.rule == "coarse-artwork"]
    assert found == ([] if severity is None else [severity])
    put(tmp_path, {"list.csv": "name\nAda\n"})
    table = personalize.read_table(tmp_path / "list.csv")
    result = personalize.make(table, design, tmp_path / "out")
    assert result.made is (severity is not Severity.ERROR)
    assert (tmp_path / "out" / "print.pdf").exists() is result.made


# A picture alone, of its own shape: where the words go is the maker's to look at.
NOT_USABLE = {
    "no size": (
        'file = "art.png"\nat = [0, 0]\n',
        png(corners(), None),
        "does not say how large it is",
    ),
    "no place": ('file = "art.png"\n', png(corners()), "its place is not known"),
    "not there": ('file = "other.png"\n', png(corners()), "there is no file"),
    "outside": ('file = "../art.png"\n', png(corners()), "folder"),
    "damaged": (AT.format("png"), png(corners())[:400], "cannot be printed"),
    "text": (AT.format("png"), b"hello", "cannot be printed"),
    "empty": (AT.format("png"), b"", "cannot be printed"),
    "another kind": ('file = "art.gif"\n', b"GIF89a", "no PDF, PNG or JPEG file"),
    "page of a picture": (AT.format("png") + "page = 2\n", png(corners()), "page says"),
    "size said twice": (
        AT.format("png") + "px_per_inch = 300\n",
        png(corners()),
        "say the size twice",
    ),
    "far too large": (
        'file = "art.png"\nat = [0, 0]\n',
        png(corners(), 2.0),
        "more than can be printed",
    ),
}


@pytest.mark.parametrize("name", NOT_USABLE)
def test_what_cannot_be_used_is_refused_in_a_sentence(name: str, tmp_path: Path) -> None:
    keys, data, says = NOT_USABLE[name]
    with pytest.raises(InputError) as caught:
        load(tmp_path, keys, **{"art.png": data, "art.gif": data})
    (problem,) = caught.value.problems
    assert says in str(problem)
    assert problem.do
    assert "\n" not in str(problem)


def test_words_are_printed_over_the_picture_and_read_back(tmp_path: Path) -> None:
    load(tmp_path, AT.format("png"), **{"art.png": png(corners())})
    put(tmp_path, {"list.csv": "name\nZoë Tamblyn\nMei\n"})
    out = ["--design", tmp_path / "tag.toml", "--out", tmp_path / "out"]
    assert command("make", tmp_path / "list.csv", *out).exit_code in (0, 1)
    text = run("pdftotext", "-raw", tmp_path / "out" / "print.pdf", "-")
    assert {"Zoë", "Tamblyn", "Mei"} <= set(text.split())
