"""The SVG reader against two readers that are not ours: a browser and svgelements."""

import random
import re

import numpy as np
import pytest
import shapely
import svgelements

from personalize.design.svg import Shape, SvgDocument, parse_svg
from personalize.design.svg_lengths import Viewport
from personalize.design.svg_shapes import path
from personalize.design.svg_values import transform
from personalize.geometry.affine import Affine
from personalize.geometry.path import Contour, Line
from personalize.units import MM_PER_PX
from tests.browser import Page, browse
from tests.conftest import SAMPLES
from tests.svg_cases import CASES
from tests.svg_cases_clipped import CLIPPED
from tests.svg_compare import CLOSE_MM, miss_mm, outlines
from tests.svg_made import MM40, drawing


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Page]:
    return browse(CASES | CLIPPED, tmp_path_factory.mktemp("browser"))


def read(text: str) -> SvgDocument:
    return parse_svg(text.encode(), "case.svg")


def named(document: SvgDocument, key: str) -> list[Shape]:
    """All that an element draws, itself or by what is in it."""
    keys = document.select("#" + key)
    return [shape for shape in document.shapes if shape.key in keys]


def lines_of(shapes: list[Shape]) -> list[Contour]:
    return [contour for shape in shapes for contour in shape.contours]


# Source of every check: SVG 2 and the CSS modules named beside each drawing in
# svg_cases.py, as a browser has them.
@pytest.mark.parametrize("name", CASES)
def test_geometry_is_where_a_browser_has_it(name: str, seen: dict[str, Page]) -> None:
    document, page = read(CASES[name]), seen[name]
    assert document.width_mm == pytest.approx(page.width_px * MM_PER_PX, abs=CLOSE_MM)
    assert document.height_mm == pytest.approx(page.height_px * MM_PER_PX, abs=CLOSE_MM)
    assert any(key.startswith("p") for key in page.found)
    for key in re.findall(r'id="(z\d)"', CASES[name]):
        assert named(document, key) == []
    for key, one in page.found.items():
        shapes = named(document, key)
        assert bool(shapes) == one.drawn, f"{key} is drawn: {one.drawn}"
        if one.drawn:
            assert miss_mm(lines_of(shapes), one, document.height_mm) < CLOSE_MM, key


# Source: CSS Masking 1, section 5, and SVG 2 section 14.3, as a browser has them.
@pytest.mark.parametrize("name", CLIPPED)
def test_of_a_line_what_is_seen_is_kept(name: str, seen: dict[str, Page]) -> None:
    document, page = read(CLIPPED[name].replace("<path", '<path fill="none"')), seen[name]
    assert {key[0] for key in page.found} == {"c"}
    for key, one in page.found.items():
        assert one.points is not None
        assert one.hit is not None
        theirs = shapely.points(one.to_px.many(one.points) * MM_PER_PX)
        ours = shapely.MultiLineString(
            outlines(lines_of(named(document, key)), document.height_mm)
        )
        far = shapely.distance(ours, theirs)
        hit = np.array(one.hit)
        assert not any(hit) or far[hit].max() < CLOSE_MM, key
        # Where a clip path ends a line, a browser's answer may be either.
        ends = shapely.MultiPoint(
            [end for line in ours.geoms for end in (line.coords[0], line.coords[-1])]
        )
        unseen = ~hit & (shapely.distance(ends, theirs) > CLOSE_MM)
        assert far[unseen].min(initial=1) > CLOSE_MM, key


# Source: SVG 2 section 6.6 and CSS Cascade 4 (which declaration wins), SVG 2 chapter 13
# (fill and stroke), as a browser has them.
@pytest.mark.parametrize("name", CASES)
def test_paint_is_what_a_browser_says(name: str, seen: dict[str, Page]) -> None:
    document = read(CASES[name])
    for key, one in seen[name].found.items():
        for shape in named(document, key) if one.points is not None else ():
            stroked = one.stroke != "none" and one.stroke_width not in ("0", "0px")
            assert (shape.fill is None) == (one.fill == "none"), key
            assert (shape.stroke is not None) == stroked, key
            gaps = any(float(word) > 0 for word in re.findall(r"[\d.]+", one.dashes))
            assert shape.dashed == gaps, key


def some_path(rng: random.Random) -> str:
    """Write path data of every command.

    T follows a quadratic and S a cubic: elsewhere svgelements reflects what it must not
    (SVG 2 section 9.5.2); the browser is asked about that.
    """
    words = [f"M{rng.uniform(0, 40):.3f} {rng.uniform(0, 40):.3f}"]
    takes = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "A": 7}
    last = "M"
    for _ in range(rng.randint(2, 9)):
        letter = rng.choice("LHVQAZ" + ("CSS" if last in "CS" else "CC"))
        last = letter
        if letter == "Z":
            if len(words) == 1:
                continue
            words.append(f"z m{rng.uniform(-5, 5):.2f},{rng.uniform(-5, 5):.2f} l1 2")
            continue
        numbers = [f"{rng.uniform(-15, 25):.3f}" for _ in range(takes[letter])]
        if letter == "A":
            numbers[:2] = [f"{rng.uniform(1, 20):.2f}" for _ in range(2)]
            numbers[3:5] = [rng.choice("01"), rng.choice("01")]
        words.append(rng.choice((letter, letter.lower())) + " ".join(numbers))
        if letter == "Q":
            words.append(f"T{rng.uniform(0, 40):.3f} {rng.uniform(0, 40):.3f}")
    return "".join(words)


# Source: SVG 2 chapter 9 and appendix B.2, as svgelements reads them.
@pytest.mark.parametrize("seed", range(60))
def test_path_data_agree_with_another_parser(seed: int) -> None:
    data = some_path(random.Random(seed))
    ours = [c.flattened(1e-4) for c in path(data)]
    closed = [c.closed for c in path(data)]
    lines = shapely.MultiLineString(
        [
            np.vstack([points, points[:1]]) if shut else points
            for points, shut in zip(ours, closed, strict=True)
        ]
    )
    theirs = []
    for segment in svgelements.Path(data):
        if not isinstance(segment, svgelements.Move):
            theirs += [segment.point(t) for t in np.linspace(0, 1, 33)]
    points = shapely.points([(p.x, p.y) for p in theirs])
    assert shapely.distance(lines, points).max() < 1e-3
    cloud = shapely.MultiPoint([(p.x, p.y) for p in theirs])
    corners = shapely.points([c.start for c in path(data)])
    assert shapely.distance(cloud, corners).max() < 1e-6


# Source: CSS Transforms 1, "The transform functions", as svgelements reads them.
@pytest.mark.parametrize(
    "text",
    [
        "translate(3 4) scale(2)",
        "rotate(30) skewX(12) translate(-1.5)",
        "matrix(1,2,3,-4,5,6)rotate(-20,3,4)",
        "scale(2,-3),skewY(1e1)  rotate(.5)",
    ],
)
def test_transforms_agree_with_another_parser(text: str) -> None:
    m = svgelements.Matrix(text)
    ours = transform(text, Viewport(100, 100))
    assert ours is not None
    assert ours.tuple == pytest.approx((m.a, m.b, m.c, m.d, m.e, m.f), abs=1e-12)


# Source: CSS Transforms 1, "The transform attribute": a list with a fault counts as none.
@pytest.mark.parametrize(
    "text", ["rotate(1", "turn(3)", "scale()", "translate(1 2 3)", "rotate(10mm)", "3"]
)
def test_a_faulty_transform_is_none(text: str) -> None:
    assert transform(text, Viewport(100, 100)) is None


# Source: SVG 2 section 9.3.9 (a comma stands between coordinates only) and 9.5.4 (what
# stands before the error is drawn).
@pytest.mark.parametrize(
    ("data", "ends"),
    [
        ("M1 1L9 1 , L 3 3", [(9, 1)]),
        ("M0 0h4a4 4 0 2 0 5 5", [(4, 0)]),
        ("M0 0h4 1e999", [(4, 0)]),
        ("L3 3M0 0h4", []),
        ("", []),
    ],
)
def test_path_data_up_to_the_fault(data: str, ends: list[tuple[float, float]]) -> None:
    assert [s.end for c in path(data) for s in c.segments] == ends


# Source: SVG 2 section 9.5.2: after a curve that is no quadratic the control point of T
# is the current point, so the curve runs straight.
def test_t_after_c_is_straight() -> None:
    (contour,) = path("M0 0C0 5 5 5 5 0T15 0")
    after = Contour((5.0, 0.0), contour.segments[1:])
    assert np.abs(after.flattened(1e-4)[:, 1]).max() == 0


# Source: SVG 2 section 9.3.4: a drawing that goes on after closing starts at the corner.
def test_lines_after_closing_start_at_the_first_point() -> None:
    first, second = path("M1 1H10V10ZL5 5")
    assert first.closed
    assert not second.closed
    assert (second.start, second.segments) == ((1.0, 1.0), (Line((5.0, 5.0)),))


# Source: SVG 2 chapter 5, the switch element: what is not known is passed over.
def test_switch_passes_over_foreign_content() -> None:
    text = drawing(
        MM40,
        "<switch><foreignObject/><rect id='a' width='2' height='2'/>"
        "<rect id='b' width='3' height='3'/></switch>",
    )
    assert [shape.id for shape in read(text).shapes] == ["a"]


# Source: SVG 2 section 8.2: no fixed size, so a viewBox unit is a CSS pixel.
@pytest.mark.parametrize(
    ("attributes", "size_px", "stated"),
    [
        ('viewBox="0 0 192 96"', (192, 96), False),
        ('width="100%" height="100%" viewBox="0 0 192 96"', (192, 96), False),
        ('width="192" viewBox="0 0 4 2"', (192, 96), False),
        ('width="2in" viewBox="0 0 4 2"', (192, 96), True),
        ('style="width:2in;height:1in"', (192, 96), True),
        ('width="72pt" height="96px"', (96, 96), False),
    ],
)
def test_size_of_the_page(
    *, attributes: str, size_px: tuple[float, float], stated: bool
) -> None:
    document = read(drawing(attributes, ""))
    size_mm = (document.width_mm, document.height_mm)
    assert size_mm == pytest.approx([side * MM_PER_PX for side in size_px])
    assert document.size_stated is stated


def test_select_counts_groups_and_uses() -> None:
    text = drawing(
        MM40,
        '<g id="lines"><path class="cut a" d="M0 0h9v9z"/><path id="h" d="M1 1h1v1z"/></g>'
        '<use id="u" href="#h" x="5"/><path d="M0 0h1"/>',
    )
    document = read(text)
    assert document.select("#lines") == {0, 1}
    assert document.select(".cut, #u") == {0, 2}
    assert document.select("#h") == {1, 2}  # the element and its copy
    assert document.select("#lines > path:nth-child(2)") == {1, 2}
    assert document.select("#nothing") == frozenset()
    with pytest.raises(ValueError, match="not a CSS selector"):
        document.select("#")
    elements = [shape.element for shape in document.shapes]
    assert elements[1] == elements[2]
    assert len({shape.key for shape in document.shapes}) == 4


# Common practice, no source: drawing programs put the name of a layer in "label".
def test_labels_of_layers() -> None:
    text = drawing(
        MM40 + ' xmlns:p="urn:x"',
        '<g id="g1" p:label="Cut lines"><rect p:label="Edge" width="3" height="3"/></g>',
    )
    assert read(text).shapes[0].labels == ("Edge", "Cut lines", "g1")


def test_what_is_left_out_is_told() -> None:
    text = drawing(
        MM40,
        '<rect id="h" width="3" height="3" display="none"/>\n<script>1</script>\n'
        '<image href="photo.png" width="3" height="3"/>\n'
        '<image id="gif" href="data:image/gif;base64,R0lGODlhAQABAA==" width="3"/>',
    )
    told = [(one.line, one.says) for one in read(text).ignored]
    assert told == [
        (1, '<rect id="h"> is hidden (display: none)'),
        (2, "<script> is never used"),
        (3, "<image> is a link to outside the file"),
        (
            4,
            '<image id="gif"> holds a picture inside the file that is neither PNG nor JPEG',
        ),
    ]


def test_page_coordinates_are_mm_with_y_up() -> None:
    text = drawing('width="20mm" height="10mm" viewBox="0 0 40 20"', "<path d='M4 2h2'/>")
    document = read(text)
    (contour,) = document.shapes[0].contours
    assert contour.start == pytest.approx((2.0, 9.0))
    assert contour.segments[0].end == pytest.approx((3.0, 9.0))
    expected = Affine(0.5, 0, 0, -0.5, 0, 10).tuple
    assert document.page_from_root.tuple == pytest.approx(expected)


@pytest.mark.parametrize("name", ["herb-tag", "jar-lid", "plant-flag", "table-tent"])
def test_samples_say_their_size(name: str) -> None:
    document = parse_svg((SAMPLES / f"{name}.svg").read_bytes(), f"{name}.svg")
    assert document.size_stated
    assert document.ignored == ()
    (edge,) = document.select("#edge")
    assert document.shapes[edge].contours[0].closed
