"""Register marks: what each kind looks like, where it stands, what keeps clear of it."""

import json
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely

import personalize
from personalize.cli import main
from personalize.errors import InputError
from personalize.sheet.furniture import arrow, register_marks
from personalize.sheet.ink import MARK_CLEAR_MM, InkStroke, MarkKind
from personalize.sheet.own_marks import read_marks
from personalize.sheet.paper import Paper, PaperMargins
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from personalize.sheet.slots import Slot
from tests.conftest import command
from tests.outside import Pdfium

A4 = Paper("A4", 210.0, 297.0)
SVG = "{http://www.w3.org/2000/svg}"
DOT = (
    "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAA"
    "AgABSK+kcQAAAABJRU5ErkJggg=="
)
OWN = (
    '<circle cx="15" cy="15" r="3"/><path d="M12 15H18M15 12V18"/>'
    '<rect x="190" y="270" width="5" height="5"/>'
)


def drawn(folder: Path, body: str, size: str = "210 297") -> Path:
    w, h = size.split()
    path = folder / "own-marks.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm"'
        f' viewBox="0 0 {w} {h}"><g fill="none" stroke="#000">{body}</g></svg>'
    )
    return path


def made(folder: Path, monkeypatch: pytest.MonkeyPatch, *options: str) -> Path:
    (folder / "herbs.csv").write_text("plant\nBasil\n")
    command = ["personalize", "make", str(folder / "herbs.csv"), "--design", "herb-tag"]
    command += ["--out", str(folder / "out"), "--no-proof", "--also", "marks", *options]
    monkeypatch.setattr("sys.argv", command)
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 0
    return folder / "out"


@pytest.mark.parametrize(
    ("name", "kind"), [("crosses", "cross-hair"), ("corners", "corner")]
)
def test_marks_are_printed_and_written_where_the_report_has_them(
    name: str, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = made(tmp_path, monkeypatch, "--marks", name)
    report = json.loads((out / "report.json").read_text("utf-8"))
    assert [mark["kind"] for mark in report["marks"]] == [kind] * 4
    root = ElementTree.fromstring((out / "marks.svg").read_bytes())
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= {"svg", "g", "line", "circle"}
    assert (root.get("width"), root.get("height")) == ("210mm", "297mm")
    dark = Pdfium(out / "print.pdf").picture(1, 10).min(axis=2) < 100
    groups = root.findall(f"{SVG}g")
    assert len(groups) == 4
    for group, mark in zip(groups, report["marks"], strict=True):
        x, y = mark["centre_mm"]
        lines = [
            [float(v) for v in line.attrib.values()] for line in group.iter(f"{SVG}line")
        ]
        assert any(x in (a, c) or a < x < c for a, _, c, _ in lines)
        for x0, y0, x1, y1 in lines:
            # Along each line of marks.svg the print is dark.
            for share in np.linspace(0.02, 0.98, 20):
                px, py = x0 + (x1 - x0) * share, y0 + (y1 - y0) * share
                assert dark[int(py * 10), int(px * 10)]
        assert abs(297 - y - float(np.mean([[a[1], a[3]] for a in lines]))) < 6


def test_a_corner_tick_runs_inward_ten_millimetres_from_its_corner() -> None:
    marks = register_marks(A4, PaperMargins(5, 5, 5, 5), MarkKind.CORNER)
    centre = shapely.Point(105, 148.5)
    for mark in marks:
        (line,) = mark.contours()
        points = line.flattened(0.01)
        assert tuple(points[1]) == mark.centre
        assert np.hypot(*np.diff(points, axis=0).T) == pytest.approx([10, 10])
        corner = shapely.Point(mark.centre)
        assert all(
            shapely.Point(p).distance(centre) < corner.distance(centre) for p in points[::2]
        )
        x, y = mark.centre
        assert min(x, 210 - x) == pytest.approx(10.25)
        assert min(y, 297 - y) == pytest.approx(10.25)


@pytest.mark.parametrize("kind", [MarkKind.CROSS_HAIR, MarkKind.CORNER, MarkKind.OWN])
def test_no_piece_and_no_rule_comes_into_the_clear_distance(
    kind: MarkKind, tmp_path: Path
) -> None:
    own = read_marks(drawn(tmp_path, OWN), A4) if kind is MarkKind.OWN else ()
    rules = SheetRules(A4, mark_kind=kind, own_marks=own)
    design = personalize.load_design("herb-tag")
    plan = plan_sheets(design, rules, fully=False)
    ink = shapely.unary_union(
        [shapely.LineString(c.flattened(0.01)) for m in plan.marks for c in m.contours()]
    ).buffer(0.25)
    assert plan.arrangement.places
    for at in plan.arrangement.places:
        piece = shapely.Polygon(design.outline.transformed(at).flattened(0.01))
        assert piece.distance(ink) >= MARK_CLEAR_MM
    if plan.slots:
        for box in plan.slots.boxes:
            assert shapely.box(*box).distance(ink) >= MARK_CLEAR_MM


def test_own_marks_stand_where_they_are_drawn(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = made(tmp_path, monkeypatch, "--marks", str(drawn(tmp_path, OWN)))
    report = json.loads((out / "report.json").read_text("utf-8"))
    assert report["marks"] == [
        {"kind": "own", "centre_mm": [15, 282]},
        {"kind": "own", "centre_mm": [192.5, 24.5]},
    ]
    text = (out / "marks.svg").read_text("utf-8")
    assert '<circle cx="15" cy="15" r="3"/>' in text
    assert text.count("<line") == 6


@pytest.mark.parametrize(
    ("body", "size", "says"),
    [
        ('<path d="M9 9C9 19 29 9 29 29"/>', "210 297", "at 9.0 mm across, 9.0 mm down"),
        (
            '<ellipse cx="20" cy="20" rx="5" ry="3"/>',
            "210 297",
            "other curves than circles",
        ),
        ('<path d="M9 9A5 5 0 0 1 19 9"/>', "210 297", "other curves than circles"),
        ("", "210 297", "there are no marks in it"),
        (OWN, "200 297", "200.0 x 297.0 mm, and the sheet is 210.0 x 297.0 mm"),
        (f'{OWN}<text x="9" y="40">Mark</text>', "210 297", "there are words in"),
        (
            f'{OWN}<image x="9" y="40" width="5" height="5" href="{DOT}"/>',
            "210 297",
            "there are pictures in",
        ),
        (
            '<g transform="scale(2 1)"><circle cx="20" cy="50" r="3"/></g>',
            "210 297",
            "at 46.0 mm across, 50.0 mm down is made of other curves",
        ),
        (
            '<g transform="skewX(20)"><circle cx="50" cy="50" r="3"/></g>',
            "210 297",
            "other curves than circles",
        ),
        ('<circle cx="-10" cy="10" r="3"/>', "210 297", "lies off the page"),
        ('<circle cx="1" cy="10" r="3"/>', "210 297", "lies off the page"),
        ('<path d="M9 290V300"/>', "210 297", "at 9.0 mm across, 290.0 mm down lies off"),
        ('<circle cx="20" cy="20" r="3" fill="#000"/>', "210 297", "is filled"),
        (
            '<rect width="210" height="297" fill="#fff" stroke="none"/>',
            "210 297",
            "if it is only the page's background",
        ),
        ('<rect width="210" height="297"/>', "210 297", "most of the sheet"),
        (
            '<g display="none"><circle cx="20" cy="20" r="3"/></g>',
            "210 297",
            "there are no marks in it",
        ),
    ],
)
def test_other_drawings_of_marks_are_refused_in_a_sentence(
    body: str, size: str, says: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=says) as told:
        read_marks(drawn(tmp_path, body, size), A4)
    (problem,) = told.value.problems
    assert problem.place.startswith("own-marks.svg")


def test_every_kind_of_fault_is_told_and_none_a_hundred_times(tmp_path: Path) -> None:
    curves = "".join(f'<path d="M9 {y}C9 99 29 9 29 29"/>' for y in range(9, 109))
    body = f'{curves}<text x="9" y="9">I</text><circle cx="0" cy="9" r="3"/>'
    with pytest.raises(InputError) as told:
        read_marks(drawn(tmp_path, body, "211 297"), A4)
    said = [problem.says for problem in told.value.problems]
    assert len(said) == 6
    assert "211.0 x 297.0 mm" in said[0]
    assert "there are words" in said[1]
    assert "other curves than circles (97 more are so)." in said[2]
    assert "lies off the page" in said[5]


def test_a_drawing_without_a_unit_is_told_what_to_write(tmp_path: Path) -> None:
    path = drawn(tmp_path, OWN)
    path.write_text(path.read_text().replace('mm"', '"'))
    with pytest.raises(InputError, match='write width="210mm" height="297mm"'):
        read_marks(path, A4)


def test_a_drawing_in_inches_or_with_transforms_is_taken_as_it_looks(
    tmp_path: Path,
) -> None:
    body = (
        '<g transform="translate(50 50) rotate(30)"><circle r="3"/><path d="M-9 0H9"/></g>'
    )
    (mark,) = read_marks(drawn(tmp_path, body), A4)
    assert mark.centre == pytest.approx((50, 247))
    box = np.array(mark.drawn[1].bounds())
    # 9 mm either way at 30 degrees: the cosine is 0.8660, the sine 0.5.
    assert box == pytest.approx([50 - 7.794, 242.5, 50 + 7.794, 251.5], abs=1e-3)
    path = tmp_path / "inches.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="8.2677in" height="11.6929in"'
        ' viewBox="0 0 8.2677 11.6929"><circle cx="1" cy="1" r=".1" fill="none"/></svg>'
    )
    (mark,) = read_marks(path, A4)
    assert mark.centre == pytest.approx((25.4, 271.6), abs=0.01)


def test_marks_that_are_no_kind_and_no_file_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "herbs.csv").write_text("plant\nBasil\n")
    command = ["personalize", "check", str(tmp_path / "herbs.csv"), "--design", "herb-tag"]
    monkeypatch.setattr("sys.argv", [*command, "--marks", "plums"])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 2
    assert "'plums' is no kind of register marks" in capsys.readouterr().err


@pytest.mark.parametrize("more", [("--marks", "none"), ("--clear", "top left 14x14")])
def test_a_file_of_marks_is_refused_where_there_are_none(
    more: tuple[str, ...], tmp_path: Path
) -> None:
    words = ("make", "--design", "herb-tag", "--count", "2", "--out", tmp_path / "out")
    done = command(*words, "--also", "marks", *more)
    assert done.exit_code == 2
    assert done.output.startswith("--also: marks is for register marks, and these sheets")
    assert not (tmp_path / "out").exists()
    both = command(*words, "--also", "marks", *more, "--marks", "crosses")
    assert both.exit_code in (0, 1), both.output


@pytest.mark.parametrize("upright", [True, False])
def test_the_arrow_points_to_the_top_of_the_sheet(*, upright: bool) -> None:
    box = (10.0, 20.0, 13.5, 130.0) if upright else (10.0, 20.0, 120.0, 23.5)
    shaft, head = arrow(Slot(box, upright))
    assert isinstance(shaft, InkStroke)
    (x0, y0), (x1, y1) = shaft.contour.flattened(0.1)
    assert x0 == x1
    assert y1 - y0 > 2
    tip = max(map(tuple, head.contour.flattened(0.1)), key=lambda p: p[1])
    assert tip == (x1, y1)
    for stroke in (shaft, head):
        bx0, by0, bx1, by1 = stroke.contour.bounds()
        assert box[0] <= bx0 <= bx1 <= box[2]
        assert box[1] <= by0 <= by1 <= box[3]
