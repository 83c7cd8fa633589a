"""PDF files whose page cannot be the artwork, each told in a sentence."""

import re
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from personalize.errors import InputError
from tests.artwork_files import load, page, saved
from tests.conftest import command, put
from tests.test_artwork_pdf import FILE, PAGE, SHAPES


def locked() -> bytes:
    return saved(page(SHAPES, PAGE), encryption=pikepdf.Encryption(owner="a", user="b"))


def unembedded() -> bytes:
    pdf = page(b"BT /F 9 Tf 20 20 Td (Plum Lane) Tj ET", PAGE)
    font = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica)
    pdf.pages[0].Resources = Dictionary(Font=Dictionary(F=pdf.make_indirect(font)))
    return saved(pdf)


def elsewhere() -> bytes:
    pdf = page(b"/I Do", PAGE)
    image = pdf.make_stream(b"\0")
    image.update(
        Dictionary(
            Type=Name.XObject,
            Subtype=Name.Image,
            Width=1,
            Height=1,
            ColorSpace=Name.DeviceGray,
            BitsPerComponent=8,
            F="/etc/hostname",
        )
    )
    pdf.pages[0].Resources = Dictionary(XObject=Dictionary(I=image))
    return saved(pdf)


def no_page() -> bytes:
    """A file whose only page is none; the library warns of it by the way."""
    data = saved(page(SHAPES, PAGE), qdf=True)
    return re.sub(rb"/Kids \[\s+\d+ 0 R", b"/Kids [ 7 ", data)


REFUSED: dict[str, tuple[str, bytes, str]] = {
    "locked": (FILE, locked(), "locked by a password"),
    "font of the reader's": (FILE, unembedded(), "the font Helvetica is not in the file"),
    "picture in another file": (FILE, elsewhere(), "lies in another file"),
    "no such page": (FILE + "page = 3\n", saved(page(SHAPES, PAGE)), "no page 3"),
    "a name for a number": (
        FILE,
        saved(page(SHAPES, PAGE, UserUnit=Name.Plum)),
        "cannot be used: it is damaged. Save it anew as PDF.",
    ),
    "no page at all": (FILE, no_page(), "it is damaged"),
    "of no pages": (FILE, saved(pikepdf.new()), "no page 1. Save it anew as PDF."),
    "cut off": (FILE, saved(page(SHAPES, PAGE))[:60], "damaged"),
    "text": (FILE, b"hello", "damaged"),
    "nothing": (FILE, b"", "damaged"),
    "empty box": (FILE, saved(page(b"", PAGE, MediaBox=Array([0, 0, 0.01, 50]))), "empty"),
    "giant": (FILE, saved(page(b"", (14_400, 90), UserUnit=9)), "more than can be printed"),
    "no place": (FILE, saved(page(SHAPES, (200, 200))), "its place is not known"),
    "edge": (
        FILE + "extend_edge = true\n",
        saved(page(SHAPES, PAGE)),
        "extend_edge",
    ),
    "width": (FILE + "width_mm = 60\n", saved(page(SHAPES, PAGE)), "says nothing"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_used_is_refused_in_a_sentence(name: str, tmp_path: Path) -> None:
    keys, data, says = REFUSED[name]
    with pytest.raises(InputError) as caught:
        load(tmp_path, keys, **{"art.pdf": data})
    (problem,) = caught.value.problems
    assert says in str(problem)
    assert "art.pdf" in str(problem) or name in ("edge", "width")  # a key is at fault
    assert problem.do
    assert "\n" not in str(problem)
    assert "Error" not in str(problem)
    assert "BytesIO" not in str(problem)


def ring() -> bytes:
    """Forms that draw each other without an end."""
    pdf = page(b"/A Do", PAGE)
    one, two = (pdf.make_stream(b"/" + name + b" Do") for name in (b"B", b"A"))
    for form, drawn, name in ((one, two, "B"), (two, one, "A")):
        form.update(Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 99, 99]))
        form.Resources = Dictionary(XObject=Dictionary({"/" + name: drawn}))
    pdf.pages[0].Resources = Dictionary(XObject=Dictionary(A=one))
    return saved(pdf)


def test_forms_that_draw_each_other_end(tmp_path: Path) -> None:
    load(tmp_path, FILE, **{"art.pdf": ring()})
    put(tmp_path, {"list.csv": "name\nAda\n"})
    asked = (tmp_path / "list.csv", "--design", tmp_path / "tag.toml")
    assert command("check", *asked).exit_code in (0, 1)
