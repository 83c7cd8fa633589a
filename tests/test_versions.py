"""Versions of a design, colours by row, and each row's own picture."""

import io
import json
import struct
import zlib
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image

import personalize
from personalize.checks.kept import read_pieces
from personalize.design.files import beside
from personalize.design.pictures import UnusablePictureError, picture_size, pixels_of
from personalize.design.toml_values import parse_colour
from personalize.errors import InputError
from personalize.sheet.fill import SheetRules
from personalize.sheet.paper import Paper
from tests.conftest import EDGE, command, drawing, put
from tests.outside import Pdfium

RED, GREEN, BLUE = "#c81e1e", "#1e8c3c", "#1e3cc8"
GROUND = '<rect id="{id}" width="60" height="40" fill="{fill}"/>'
LAYERS = drawing(
    GROUND.format(id="plum", fill=RED)
    + f'<g style="display:none">{GROUND.format(id="mint", fill=GREEN)}</g>'
    + GROUND.format(id="sky", fill=BLUE).replace("/>", ' style="display:none"/>')
    + EDGE
)
TOML = """
svg = "tag.svg"
[lines]
Cutting = "#edge"
[margins]
bleed = 2
[[panel]]
name = "name"
"""
BY_LAYER = TOML + (
    '[[version]]\nname = "plum"\nshow = "#plum"\n'
    '[[version]]\nname = "mint"\nshow = "#mint"\n'
    '[[version]]\nname = "sky"\nshow = "#sky"\ncolour = "#ffffff"\n'
)


def run(folder: Path, rows: str, toml: str = BY_LAYER, **files: str | bytes) -> Path:
    """Make the rows, one piece on a sheet of its own size; gives the folder."""
    put(folder, {"tag.toml": toml, "tag.svg": LAYERS, "list.csv": rows, **files})
    rules = SheetRules(Paper("own", 84.0, 64.0), marks=False, spares=False)
    result = personalize.make(
        personalize.read_table(folder / "list.csv"),
        personalize.load_design(folder / "tag.toml"),
        folder / "out",
        personalize.Options(sheets=rules),
    )
    assert result.made, result.findings
    return folder / "out"


def colour_at(pdf: Path, page: int, x: float, y: float) -> tuple[int, ...]:
    """Colour that pdfium paints at a place of a page, in mm from its top left."""
    picture = Pdfium(pdf).picture(page + 1, 4.0)
    return tuple(int(v) for v in picture[round(y * 4), round(x * 4)][:3])


def near(found: tuple[int, ...], css: str) -> bool:
    wanted = [int(css[at : at + 2], 16) for at in (1, 3, 5)]
    return max(abs(a - b) for a, b in zip(found, wanted, strict=True)) <= 2


def corner(folder: Path, page: int) -> tuple[float, float]:
    """A place on the piece of a page, near its lower left corner, from the top left."""
    report = json.loads((folder / "report.json").read_text("utf-8"))
    a, b, c, d, e, f = report["pieces"][page]["at"]
    x, y = 4.0, 4.0
    return (a * x + c * y + e, report["sheets"][0]["height_mm"] - (b * x + d * y + f))


def test_each_row_shows_its_version_and_an_empty_cell_the_first(tmp_path: Path) -> None:
    rows = "name,version\nIo,mint\nBo,\nZoë, MINT \nAda,sky\n"
    out = run(tmp_path, rows)
    for page, css in enumerate((GREEN, RED, GREEN, BLUE)):
        found = colour_at(out / "print.pdf", page, *corner(out, page))
        assert near(found, css), (page, found)
    told = [piece.version for piece in read_pieces(out / "print.pdf")]
    assert told == ["mint", "plum", "mint", "sky"]


def test_each_version_is_stored_once_and_only_where_it_is_used(tmp_path: Path) -> None:
    out = run(tmp_path, "name,version\nIo,mint\nBo,mint\nZoë,sky\n")
    with pikepdf.open(out / "print.pdf") as pdf:
        stored = pdf.pages[0].Resources.XObject
        assert len(list(stored.keys())) == 2


def test_words_take_the_colour_of_the_row_then_of_the_version(tmp_path: Path) -> None:
    rows = "name,version,text_colour\nIo,plum,\nBo,sky,\nAda,sky,gold\n"
    out = run(tmp_path, rows)
    report = json.loads((out / "report.json").read_text("utf-8"))
    colours = [piece["texts"][0]["colour"] for piece in report["pieces"]]
    # CSS Color 3, 4.3: gold is #ffd700.
    assert colours == ["#000000", "#ffffff", "#ffd700"]


def test_light_words_of_one_row_keep_the_floor_of_light_words(tmp_path: Path) -> None:
    # A cap under the floor: 9 pt is legible dark on light, and not light on dark.
    toml = BY_LAYER + "[type]\nmax_pt = 9\n"
    put(tmp_path, {"tag.toml": toml, "tag.svg": LAYERS})
    rows = tuple(
        personalize.Row(at, ("Io", colour)) for at, colour in ((2, "#000"), (3, "#fff"))
    )
    table = personalize.Table(personalize.Source("list"), ("name", "text_colour"), rows)
    result = personalize.check(table, personalize.load_design(tmp_path / "tag.toml"))
    assert {f.row for f in result.findings if f.rule == "does-not-fit"} == {3}


def test_a_version_may_be_a_drawing_of_its_own(tmp_path: Path) -> None:
    other = drawing(GROUND.format(id="x", fill=GREEN) + EDGE)
    toml = TOML + '[[version]]\nname = "a"\n[[version]]\nname = "b"\nsvg = "other.svg"\n'
    out = run(tmp_path, "name,version\nIo,a\nBo,b\n", toml, **{"other.svg": other})
    found = [colour_at(out / "print.pdf", page, *corner(out, page)) for page in (0, 1)]
    assert near(found[0], RED)
    assert near(found[1], GREEN)


@pytest.mark.parametrize(
    ("toml", "says"),
    [
        ('[[version]]\nname = "b"\nsvg = "other.svg"\n', "drawn for other lines"),
        ('[[version]]\nname = "b"\nsvg = "none.svg"\n', "there is no file 'none.svg'"),
        ('[[version]]\nname = "b"\nsvg = "../tag.svg"\n', "lies outside its folder"),
        ('[[version]]\nname = "b"\nshow = "#nothing"\n', "nothing in tag.svg matches"),
        ('[[version]]\nname = "b"\nshow = "##"\n', "is not a CSS selector"),
        ('[[version]]\nsvg = "tag.svg"\n', "a version has no name"),
        ('[[version]]\nname = "b"\n[[version]]\nname = "B"\n', "two versions are called"),
        ('[[version]]\nname = "b"\nshow = 3\n', "show must be a CSS selector"),
        ('[[version]]\nname = "b"\nlayer = "x"\n', "there is no key layer"),
        ("version = 3\n", "a version must be a table of its own"),
        ('[picture]\nfit = "cover"\n', "needs either an area or a box"),
        ('[picture]\narea = "#edge"\nbox = [1, 1, 2, 2]\n', "either an area or a box"),
        ("[picture]\nbox = [1, 1, 0, 2]\n", "box must be four numbers"),
        ('[picture]\narea = "#none"\n', "names 0 lines"),
        ('[picture]\narea = "##"\n', "is not a CSS selector"),
        ('[picture]\narea = "#edge"\nfit = "stretch"\n', "fit cannot be 'stretch'"),
        ("[picture]\nbox = [0, 0, 60, 40]\n", "has no room for text"),
        ("[picture]\nbox = [1, 1, 1e-300, 1e-300]\n", "box must be four numbers"),
        ("[picture]\nbox = [500, 1, 9, 9]\n", "outside the piece"),
        ('[picture]\narea = "#bow"\n', "crosses itself at 15.0 mm across, 15.0 mm down"),
        ('[picture]\narea = "#flat"\n', "a shape of less than 1 mm2"),
        ('[[version]]\nname = "b"\nsvg = "."\n', "there is no file '.'"),
        (f'[[version]]\nname = "b"\nsvg = "{"b" * 400}"\n', "there is no file 'bbb"),
    ],
)
def test_a_wrong_key_is_told_in_one_sentence(toml: str, says: str, tmp_path: Path) -> None:
    wider = drawing(EDGE.replace('width="56"', 'width="50"'))
    head = toml + TOML if toml.startswith("version") else TOML + toml
    lines = (
        '<path id="bow" d="M10 10L20 20L20 10L10 20Z"/><path id="flat" d="M10 10L20 20Z"/>'
    )
    own = LAYERS.replace("</svg>", lines + "</svg>")
    put(tmp_path, {"tag.toml": head, "tag.svg": own, "other.svg": wider})
    with pytest.raises(InputError) as caught:
        personalize.load_design(tmp_path / "tag.toml")
    assert [p for p in caught.value.problems if says in p.says], caught.value.problems


def test_what_a_row_cannot_choose_is_told_with_its_row(tmp_path: Path) -> None:
    put(tmp_path, {"tag.toml": BY_LAYER, "tag.svg": LAYERS})
    rows = "name,version,text_colour\nIo,mnt,\nBo,,shiny\nAda,,transparent\nZoë,sky,#123\n"
    (tmp_path / "list.csv").write_text(rows, "utf-8")
    done = command(
        "check", tmp_path / "list.csv", "--design", tmp_path / "tag.toml", "--json"
    )
    found = json.loads(done.stdout)["findings"]
    assert done.exit_code == 1
    assert [
        (f["rule"], f["row"], f["column"]) for f in found if f["severity"] == "error"
    ] == [
        ("unknown-version", 2, "version"),
        ("not-a-colour", 3, "text_colour"),
        ("not-a-colour", 4, "text_colour"),
    ]
    assert found[0]["do"] == "Did you mean 'mint'?"


def test_columns_that_change_nothing_are_told_once(tmp_path: Path) -> None:
    put(tmp_path, {"tag.toml": TOML, "tag.svg": LAYERS})
    rows = tuple(personalize.Row(at, ("Io", "plum", "io.png")) for at in (2, 3))
    table = personalize.Table(
        personalize.Source("list"), ("name", "version", "picture"), rows
    )
    result = personalize.check(table, personalize.load_design(tmp_path / "tag.toml"))
    told = [(f.rule, f.figures["rows"]) for f in result.findings if "unused" in f.rule]
    assert sorted(told) == [("picture-unused", 2), ("version-unused", 2)]


TWO = '[[version]]\nname = "a"\n[[version]]\nname = "b"\nsvg = "other.svg"\n'
LINE = '<{} class="cut" fill="none" stroke="#000"/>'


def test_a_mirrored_outline_is_another_one(tmp_path: Path) -> None:
    # Box and length are the same; only the notch is on the other side.
    right = drawing(LINE.format('path id="edge" d="M2 2H58L50 20L58 38H2Z"'))
    left = drawing(LINE.format('path id="edge" d="M58 2H2L10 20L2 38H58Z"'))
    put(tmp_path, {"tag.toml": TOML + TWO, "tag.svg": right, "other.svg": left})
    with pytest.raises(InputError, match="drawn for other lines"):
        personalize.load_design(tmp_path / "tag.toml")


def test_holes_may_be_drawn_in_another_order(tmp_path: Path) -> None:
    edge, one, other = (
        LINE.format(shape)
        for shape in (
            'rect x="2" y="2" width="56" height="36"',
            'circle cx="8" cy="20" r="3"',
            'circle cx="52" cy="20" r="3"',
        )
    )
    toml = (TOML + TWO).replace("#edge", ".cut")
    first, second = drawing(edge + one + other), drawing(other + one + edge)
    put(tmp_path, {"tag.toml": toml, "tag.svg": first, "other.svg": second})
    design = personalize.load_design(tmp_path / "tag.toml")
    assert [version.name for version in design.versions] == ["a", "b"]


def test_a_layer_inside_one_of_another_version_is_refused(tmp_path: Path) -> None:
    # It would be hidden with what stands round it, and nobody would be told.
    inside = f'<g id="plum">{GROUND.format(id="mint", fill=GREEN)}</g>{EDGE}'
    toml = TOML + "".join(
        f'[[version]]\nname = "{name}"\nshow = "#{name}"\n' for name in ("plum", "mint")
    )
    put(tmp_path, {"tag.toml": toml, "tag.svg": drawing(inside)})
    with pytest.raises(InputError, match="in a layer of another version"):
        personalize.load_design(tmp_path / "tag.toml")
    toml = toml.replace('"#mint"', '["#plum", "#mint"]')
    put(tmp_path, {"tag.toml": toml})
    assert len(personalize.load_design(tmp_path / "tag.toml").versions) == 2


def test_what_a_version_leaves_out_is_told_with_its_own_line(tmp_path: Path) -> None:
    link = '\n<image href="far.png" width="9" height="9"/>\n<g display="none" id="old"/>'
    layers = LAYERS.replace(EDGE, link + EDGE)
    other = drawing(f"\n\n{link}{EDGE}")
    by_file = '[[version]]\nname = "own"\nsvg = "other.svg"\n'
    put(
        tmp_path,
        {"tag.toml": BY_LAYER + by_file, "tag.svg": layers, "other.svg": other},
    )
    told = personalize.load_design(tmp_path / "tag.toml").left_out
    assert told == (
        "<image> is a link to outside the file (line 2)",
        '<g id="old"> is hidden (display: none) (line 3)',
        "in other.svg <image> is a link to outside the file (line 4)",
        'in other.svg <g id="old"> is hidden (display: none) (line 5)',
    )


def test_colours_past_the_range_of_ink_are_clipped() -> None:
    # CSS Color 3, 4.2.1: "values outside the device gamut should be clipped".
    clipped = [parse_colour(text) for text in ("rgb(300, -5, 0)", "hsl(0, 100%, 150%)")]
    assert [colour and colour.css for colour in clipped] == ["#ff0000", "#ffffff"]


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
