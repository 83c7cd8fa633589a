"""Each row's own picture."""

import io
import json
import struct
import zlib
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image, ImageCms

import personalize
from personalize.design.files import beside
from personalize.design.picture_file import UnusablePictureError
from personalize.design.pictures import picture_size, pixels_of
from personalize.errors import InputError
from tests.conftest import command, put
from tests.outside import Pdfium
from tests.versions_made import BY_LAYER, LAYERS, RED, TOML, colour_at, near, run

# ---- Pictures ----

PHOTO = TOML + "[picture]\nbox = [6, 8, 20, 20]\n"


def photo(kind: str = "PNG", size: tuple[int, int] = (200, 200), turned: int = 1) -> bytes:
    """A picture whose left half is red and whose right half is blue, top half dark."""
    pixels = np.zeros((size[1], size[0], 3), np.uint8)
    pixels[:, : size[0] // 2] = (220, 30, 30)
    pixels[:, size[0] // 2 :] = (30, 60, 220)
    pixels[: size[1] // 2] //= 2
    image = Image.fromarray(pixels)
    if turned == 6:  # Exif: the camera was held on its side, "rotate 90 clockwise"
        image = image.transpose(Image.Transpose.ROTATE_90)
    exif = Image.Exif()
    exif[0x0112] = turned
    out = io.BytesIO()
    image.save(out, kind, exif=exif, **({"quality": 95} if kind == "JPEG" else {}))
    return out.getvalue()


@pytest.mark.parametrize("turned", [1, 6])
@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_picture_is_printed_upright_in_its_box(
    kind: str, turned: int, tmp_path: Path
) -> None:
    name = f"io.{kind.lower()}"
    files = {name: photo(kind, turned=turned)}
    out = run(tmp_path, f"name,picture\nIo,{name}\n", PHOTO, **files)
    report = json.loads((out / "report.json").read_text("utf-8"))
    piece = report["pieces"][0]
    assert piece["picture"] == name
    a, b, c, d, e, f = piece["at"]

    def at(x: float, y: float) -> tuple[int, ...]:
        """Colour at a place of the drawing, from its top left."""
        x, y = x, 40 - y
        down = report["sheets"][0]["height_mm"] - (b * x + d * y + f)
        return colour_at(out / "print.pdf", 0, a * x + c * y + e, down)

    assert np.allclose(at(8, 24), (220, 30, 30), atol=8)
    assert np.allclose(at(24, 24), (30, 60, 220), atol=8)
    assert np.allclose(at(8, 12), (110, 15, 15), atol=8)
    assert near(at(4, 12), RED)
    assert near(at(28, 30), RED)


def test_words_keep_away_from_the_picture(tmp_path: Path) -> None:
    out = run(tmp_path, "name,picture\nWilhelmina,io.png\n", PHOTO, **{"io.png": photo()})
    piece = json.loads((out / "report.json").read_text("utf-8"))["pieces"][0]
    ink = np.array(piece["texts"][0]["ink_mm"]) - np.tile(piece["at"][4:], 2)
    # The box in piece mm, y up; the margin of a hole is 3 mm.
    beyond = (6 - ink[2], 12 - ink[3], ink[0] - 26, ink[1] - 32)
    assert max(beyond) >= 3 - 0.01


def test_a_picture_with_clear_parts_shows_the_artwork_through(tmp_path: Path) -> None:
    image = Image.new("RGBA", (200, 200), (0, 0, 0, 0))
    image.paste((250, 250, 20, 255), (100, 0, 200, 200))
    data = io.BytesIO()
    image.save(data, "PNG")
    toml = PHOTO.replace("[picture]", '[picture]\nfit = "whole"')
    out = run(tmp_path, "name,picture\nIo,io.png\n", toml, **{"io.png": data.getvalue()})
    with pikepdf.open(out / "print.pdf") as pdf:
        assert "/SMask" in pdf.pages[0].Resources.XObject["/Picture"]
    picture = Pdfium(out / "print.pdf").picture(1, 4.0)[..., :3].reshape(-1, 3)
    assert (np.abs(picture.astype(int) - (250, 250, 20)).max(axis=1) <= 2).sum() > 2000


def test_the_same_rows_give_the_same_bytes(tmp_path: Path) -> None:
    files = {"io.png": photo(), "bo.jpg": photo("JPEG")}
    rows = "name,picture\nIo,io.png\nBo,bo.jpg\nAda,io.png\n"
    first = run(tmp_path / "a", rows, PHOTO, **files)
    second = run(tmp_path / "b", rows, PHOTO, **files)
    for name in ("print.pdf", "proof.html", "report.json"):
        assert (first / name).read_bytes() == (second / name).read_bytes()
    with pikepdf.open(first / "print.pdf") as pdf:
        names = sorted(pdf.pages[0].Resources.XObject.keys())
        assert names == ["/Artwork", "/Picture", "/Picture2"]


FAULTS = {
    "none.png": ("missing-picture", "There is no file 'none.png'"),
    "io": ("missing-picture", "There is no file 'io'"),
    "../secret.png": ("missing-picture", "lies outside its folder"),
    "/etc/passwd": ("missing-picture", "lies outside its folder"),
    "text.png": ("unusable-picture", "no PNG or JPEG"),
    "cut.jpg": ("unusable-picture", "cut off or damaged"),
    "phone.jpg": ("unusable-picture", "save it as JPEG"),
    "small.png": ("coarse-picture", "show its pixels"),
    "soft.png": ("coarse-picture", "a little soft"),
}


def test_a_picture_that_cannot_be_printed_is_told_with_its_row(tmp_path: Path) -> None:
    folder = tmp_path / "kit"
    put(
        folder,
        {
            "tag.toml": PHOTO,
            "tag.svg": LAYERS,
            "io.png": photo(),
            "text.png": "not a picture",
            "cut.jpg": photo("JPEG")[:-900],
            "phone.jpg": b"\0\0\0\x18ftypheic" + bytes(40),
            "small.png": photo(size=(60, 60)),
            "soft.png": photo(size=(130, 130)),
            "list.csv": "name,picture\n" + "".join(f"Io,{name}\n" for name in FAULTS),
        },
    )
    put(tmp_path, {"secret.png": photo()})
    table = personalize.read_table(folder / "list.csv")
    result = personalize.check(table, personalize.load_design(folder / "tag.toml"))
    found = {f.row: f for f in result.findings if "picture" in f.rule}
    for row, (rule, says) in enumerate(FAULTS.values(), 2):
        assert found[row].rule == rule, found[row]
        assert says in found[row].says
    assert found[3].do == "Did you mean 'io.png'?"
    assert found[10].severity is personalize.Severity.WARNING


def test_a_name_typed_another_way_finds_its_picture(tmp_path: Path) -> None:
    # NFC and NFD (UAX #15), and another case: one file to a person.
    put(tmp_path, {"tag.toml": PHOTO, "tag.svg": LAYERS, "Zoë.PNG": photo()})
    rows = (personalize.Row(2, ("Zoë", "zoe\u0308.png")),)
    table = personalize.Table(
        personalize.Source("list"), ("name", "picture"), rows, folder=tmp_path
    )
    result = personalize.check(table, personalize.load_design(tmp_path / "tag.toml"))
    assert not [f for f in result.findings if "picture" in f.rule]


def png(size: tuple[int, int], depth: int, samples: bytes, *more: bytes) -> bytes:
    """A grey PNG written by its specification (PNG 3, chapters 5 and 11)."""
    head = b"IHDR" + struct.pack(">IIBBBBB", *size, depth, 0, 0, 0, 0)
    parts = (head, *more, b"IDAT" + zlib.compress(samples), b"IEND")
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(p) - 4) + p + struct.pack(">I", zlib.crc32(p)) for p in parts
    )


def test_grey_of_sixteen_bits_keeps_its_shades(tmp_path: Path) -> None:
    # PNG 3, 13.12: a sample is scaled by 255 / 65535, rounded.
    row = b"\0" + struct.pack(">4H", 0, 0x4000, 0x8000, 0xFFFF)
    clear = b"tRNS" + struct.pack(">H", 0x4000)
    put(tmp_path, {"a.png": png((4, 1), 16, row), "b.png": png((4, 1), 16, row, clear)})
    assert list(pixels_of(tmp_path / "a.png", 9.0).data) == [0, 64, 128, 255]
    assert list(pixels_of(tmp_path / "b.png", 9.0).alpha or b"") == [255, 0, 255, 255]


@pytest.mark.parametrize(
    ("kind", "count", "value"),
    [(2, 2, b"6\0\0\0"), (7, 1, b"\6\0\0\0"), (3, 1, b"\x09\0\0\0"), (9, 0, b"")],
)
def test_a_broken_orientation_counts_as_upright(
    kind: int, count: int, value: bytes, tmp_path: Path
) -> None:
    # TIFF 6.0, section 2: an entry is tag, type, count, value.
    exif = b"II*\0\x08\0\0\0\1\0" + struct.pack("<HHI", 0x112, kind, count) + value
    tagged = photo("JPEG", (40, 20))
    segment = b"Exif\0\0" + exif
    at = 2
    while tagged[at + 1] in (0xE0, 0xE1):  # without the segments that Pillow wrote
        at += 2 + int.from_bytes(tagged[at + 2 : at + 4], "big")
    size = struct.pack(">H", len(segment) + 2)
    (tmp_path / "a.jpg").write_bytes(b"\xff\xd8\xff\xe1" + size + segment + tagged[at:])
    assert picture_size(tmp_path / "a.jpg") == (40, 20)
    pixels = pixels_of(tmp_path / "a.jpg", 9.0)
    assert (pixels.width, pixels.height) == (40, 20)


@pytest.mark.parametrize("turned", range(1, 9))
def test_every_orientation_comes_upright(turned: int, tmp_path: Path) -> None:
    # Exif 2.3, tag 0x0112: on which side the first row and the first column are seen.
    upright = np.arange(6, dtype=np.uint8).reshape(2, 3) * 40
    stored = {
        1: upright,
        2: upright[:, ::-1],
        3: upright[::-1, ::-1],
        4: upright[::-1],
        5: upright.T,
        6: np.rot90(upright, 1),
        7: upright[::-1, ::-1].T,
        8: np.rot90(upright, -1),
    }[turned]
    exif = Image.Exif()
    exif[0x0112] = turned
    path = tmp_path / "a.png"
    Image.fromarray(np.ascontiguousarray(stored)).save(path, exif=exif)
    assert picture_size(path) == (3, 2)
    assert pixels_of(path, 9.0).data == upright.tobytes()


def test_tiny_huge_and_broken_pictures_are_told_apart(tmp_path: Path) -> None:
    put(
        tmp_path,
        {
            "tiny.jpg": photo("JPEG", (4, 3)),
            "huge.png": png((30_000, 30_000), 8, b"\0"),
            "exif.png": png((2, 1), 8, b"\0\1\2", b"eXIfgarbage"),
            "head.png": photo()[:20],
        },
    )
    assert picture_size(tmp_path / "tiny.jpg") == (4, 3)
    assert picture_size(tmp_path / "exif.png") == (2, 1)
    with pytest.raises(UnusablePictureError, match="more pixels than can be printed"):
        picture_size(tmp_path / "huge.png")
    with pytest.raises(UnusablePictureError, match="cut off or damaged"):
        picture_size(tmp_path / "head.png")


def test_a_picture_that_is_exchanged_is_read_again(tmp_path: Path) -> None:
    (tmp_path / "a.png").write_bytes(photo(size=(20, 20)))
    assert pixels_of(tmp_path / "a.png", 9.0).width == 20
    (tmp_path / "a.png").write_bytes(photo(size=(31, 20)))
    assert pixels_of(tmp_path / "a.png", 9.0).width == 31


def test_a_file_is_found_below_its_folder_and_nowhere_else(tmp_path: Path) -> None:
    put(tmp_path, {"kit/Photos/io.png": b"", "kit.png": b"", "KIT": b""})
    (tmp_path / "kit" / "Bo.png").symlink_to(tmp_path / "kit.png")
    kit = tmp_path / "kit"
    assert beside(kit, "Photos\\io.png", "x") == kit / "Photos" / "io.png"
    for name in (".", "..\\kit.png", "bo.png", "Bo.png"):
        with pytest.raises(InputError) as caught:
            beside(kit, name, "x")
        # Nor are the names of what lies round it told.
        assert "Did you mean" not in caught.value.problems[0].do


def test_a_starter_offers_the_versions_to_choose_from(tmp_path: Path) -> None:
    # ECMA-376 part 1, 18.3.1.33: a list of values in the rule itself.
    import openpyxl

    put(tmp_path, {"tag.toml": BY_LAYER, "tag.svg": LAYERS})
    done = command("starter", tmp_path / "tag.toml", "--out", tmp_path / "list.xlsx")
    assert done.exit_code == 0
    sheet = openpyxl.load_workbook(tmp_path / "list.xlsx").active
    assert sheet is not None
    rules = {rule.type: rule for rule in sheet.data_validations.dataValidation}
    assert rules["list"].formula1 == '"plum,mint,sky"'
    assert [cell.value for cell in sheet[1]] == ["name", "copies", "version"]


# ISO 32000-1, 7.4.8: a reader of PDF takes no notice of a profile within a JPEG.
@pytest.mark.parametrize("noted", [False, True])
@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_the_colour_profile_of_a_photo_goes_along(
    kind: str, noted: bool, tmp_path: Path
) -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    exif = Image.Exif()
    exif[0x010E] = "the Plum Lane gate"
    out = io.BytesIO()
    more = {"exif": exif} if noted else {}
    photo = Image.new("RGB", (300, 300), "#c81e1e")
    photo.save(out, kind, icc_profile=profile, **more)
    name = f"io.{kind.lower()}"
    done = run(tmp_path, f"name,picture\nIo,{name}\n", PHOTO, **{name: out.getvalue()})
    with pikepdf.open(done / "print.pdf") as pdf:
        space, stream = pdf.pages[0].Resources.XObject["/Picture"].ColorSpace
        assert (str(space), int(stream.N)) == ("/ICCBased", 3)
        assert stream.read_bytes() == profile


@pytest.mark.parametrize("noted", [False, True])
def test_a_photo_in_four_inks_is_printed_in_them(noted: bool, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    out = io.BytesIO()
    photo = Image.new("CMYK", (300, 300), (30, 200, 10, 0))
    photo.save(out, "JPEG", quality=98, **({"exif": exif} if noted else {}))
    put(tmp_path, {"io.jpg": out.getvalue()})
    done = run(tmp_path, "name,picture\nIo,io.jpg\n", PHOTO)
    with pikepdf.open(done / "print.pdf") as pdf:
        image = pdf.pages[0].Resources.XObject["/Picture"]
        assert image.ColorSpace == pikepdf.Name.DeviceCMYK
        data = image.read_bytes(pikepdf.StreamDecodeLevel.all)
        samples = np.frombuffer(data, np.uint8).reshape(-1, 4).astype(int)
        if "/Decode" in image:  # turned over, as Adobe's marker in the JPEG says
            samples = 255 - samples
        assert np.abs(samples - [30, 200, 10, 0]).max() <= 3


def test_where_a_photo_was_taken_is_not_in_the_print(tmp_path: Path) -> None:
    # Exif 2.3: what a camera notes; its place (tag 0x8825) stands beside (0x010E).
    exif = Image.Exif()
    exif[0x010E] = "the Plum Lane gate"
    out = io.BytesIO()
    Image.new("RGB", (300, 300), "#c81e1e").save(out, "JPEG", exif=exif)
    done = run(tmp_path, "name,picture\nIo,io.jpg\n", PHOTO, **{"io.jpg": out.getvalue()})
    with pikepdf.open(done / "print.pdf") as pdf:
        data = pdf.pages[0].Resources.XObject["/Picture"].read_raw_bytes()
    assert b"Plum Lane gate" in out.getvalue()
    assert b"Plum Lane gate" not in data
