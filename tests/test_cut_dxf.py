"""cut.dxf: die lines alone, in mm, as another library reads them; the wall holds."""

import io
import math
import os
import re
import subprocess
import sys
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing
from numpy.typing import NDArray

import personalize
from personalize.checks.wall import Expected, check_wall
from personalize.checks.wall_dxf import read_dxf
from personalize.design.design import LineKind
from personalize.errors import WallError
from personalize.geometry.path import Arc, Contour, Cubic, Line, circle, polyline
from personalize.output.cut_dxf import CURVES, cut_dxf
from personalize.run import Options
from personalize.sheet.cut_layouts import CutLayout, cut_layouts
from personalize.sheet.cutting import alike
from personalize.sheet.ink import DieLine
from personalize.sheet.paper import Paper
from personalize.sheet.plan import Plan
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from tests.conftest import SAMPLES

A4 = Paper("A4", 210.0, 297.0)


def written(*contours: Contour, kind: LineKind = LineKind.CUTTING) -> str:
    lines = tuple(DieLine(kind, contour) for contour in contours)
    return cut_dxf(CutLayout("cut.svg", A4, lines))


def read(text: str) -> Drawing:
    """Read with ezdxf and let it look for faults."""
    document = ezdxf.read(io.StringIO(text))
    audit = document.audit()
    assert audit.errors == []
    assert audit.fixes == []
    return document


def chords(document: Drawing) -> list[NDArray[np.float64]]:
    from ezdxf.path import make_path

    # Paths are of plain cubics: a spline with weights is asked itself.
    return [
        np.array(
            [
                (v.x, v.y)
                for v in (
                    e.flattening(0.0005, 64)
                    if e.dxftype() == "SPLINE"
                    else make_path(e).flattening(0.0005, segments=16)
                )
            ]
        )
        for e in document.modelspace()
    ]


def away(points: NDArray[np.float64], line: NDArray[np.float64]) -> float:
    """Greatest distance of points from a polyline."""
    a, b = line[:-1], line[1:]
    along = b - a
    rel = points[:, None, :] - a
    share = (rel * along).sum(2) / np.maximum((along**2).sum(1), 1e-18)
    gap = rel - np.clip(share, 0, 1)[..., None] * along
    return float(np.sqrt((gap**2).sum(2)).min(axis=1).max())


def test_the_file_is_in_millimetres_and_says_so() -> None:
    # Autodesk DXF reference 2019, header: $INSUNITS 4 is millimetres.
    document = read(written(circle((40, 60), 20)))
    assert document.header["$INSUNITS"] == 4
    (entity,) = document.modelspace()
    assert entity.dxf.layer == "Cutting"
    xs, ys = chords(document)[0].T
    assert (xs.min(), xs.max()) == pytest.approx((20, 60), abs=1e-3)
    assert (ys.min(), ys.max()) == pytest.approx((40, 80), abs=1e-3)


def test_a_quarter_circle_is_a_bulge_of_its_published_value() -> None:
    # ezdxf documentation, LWPolyline: bulge = tan(angle / 4); 90 degrees is 0.41421356.
    quarter = Contour((10, 0), (Arc(10, 10, 0, False, True, (0, 10)), Line((0, 0))), True)
    (entity,) = read(written(quarter)).modelspace()
    points = [tuple(p) for p in entity.get_points("xyb")]
    assert points[0] == pytest.approx((10, 0, 0.41421356), abs=1e-8)
    assert [p[2] for p in points[1:]] == [0, 0]
    assert entity.closed


def test_an_arc_the_other_way_round_has_a_bulge_below_nought() -> None:
    arc = Contour((0, 10), (Arc(10, 10, 0, True, False, (10, 0)),), False)
    (entity,) = read(written(arc)).modelspace()
    # Three quarters of a turn clockwise: -tan(270 / 4 degrees).
    assert entity.get_points("b")[0][0] == pytest.approx(-math.tan(math.radians(67.5)))
    assert not entity.closed


@pytest.mark.parametrize(
    "segment",
    [
        Cubic((20, 40), (60, -30), (80, 10)),
        Arc(40, 15, 30, False, True, (80, 10)),
        Arc(60, 60, 0, True, True, (80, 10)),
    ],
)
def test_curves_stay_within_a_hundredth_of_a_millimetre(segment: Cubic | Arc) -> None:
    contour = Contour((0, 0), (segment, Line((30, -60))), True)
    (line,) = chords(read(written(contour)))
    true = contour.flattened(0.0002)
    assert away(true, np.concatenate([line, line[:1]])) <= 0.01
    assert away(line, np.concatenate([true, true[:1]])) <= 0.01


@pytest.mark.parametrize("name", personalize.sample_names())
def test_a_sample_reads_back_as_it_was_drawn(name: str, tmp_path: Path) -> None:
    table = personalize.read_table(SAMPLES / "picnic.csv")
    design = personalize.load_design(name)
    result = personalize.make(
        table, design, tmp_path / "out", Options(also=frozenset({"dxf"}))
    )
    assert "cut.dxf" in result.files
    document = ezdxf.readfile(tmp_path / "out" / "cut.dxf")
    assert document.audit().errors == []
    kinds = {entity.dxf.layer for entity in document.modelspace()}
    assert kinds == {line.kind.value for line in design.lines}
    plan = plan_sheets(design, SheetRules(A4))
    (layout,) = cut_layouts(plan, result.pieces)
    order = {kind: at for at, kind in enumerate(("Creasing", "Perforating", "Cutting"))}
    wanted = sorted(layout.lines, key=lambda line: order[line.kind.value])
    for line, drawn in zip(wanted, chords(document), strict=True):
        true = line.contour.flattened(0.0005)
        if line.contour.closed:
            true = np.concatenate([true, true[:1]])
        assert away(drawn, true) <= 0.01
        assert away(true, drawn) <= 0.01


SQUARE_WRITER = """
import sys
from personalize.design.design import LineKind
from personalize.geometry.path import polyline
from personalize.output.cut_dxf import cut_dxf
from personalize.sheet.cut_layouts import CutLayout
from personalize.sheet.ink import DieLine
from personalize.sheet.paper import Paper
square = DieLine(LineKind.CUTTING, polyline([(0, 0), (9, 0), (9, 9)], closed=True))
sys.stdout.write(cut_dxf(CutLayout("cut.svg", Paper("A4", 210, 297), (square,)), "arcs"))
"""


def test_the_order_of_sets_changes_no_byte() -> None:
    """Every run of Python has its own, by chance, unless PYTHONHASHSEED is set."""
    every = {
        subprocess.run(
            [sys.executable, "-c", SQUARE_WRITER],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("0", "7", "1974")  # orders that differ
    }
    assert len(every) == 1
    assert b"LWPOLYLINE" in every.pop()


def test_the_same_lines_give_the_same_text() -> None:
    assert written(circle((9, 9), 5)) == written(circle((9, 9), 5))


# ---- The wall ----


@pytest.fixture(scope="module")
def flag() -> tuple[Plan, str]:
    plan = plan_sheets(personalize.load_design("plant-flag"), SheetRules(A4))
    (layout,) = cut_layouts(plan, plan.per_sheet)
    return plan, cut_dxf(layout)


def walled(plan: Plan, text: str) -> None:
    places = plan.arrangement.places
    check_wall(text.encode(), "cut.dxf", Expected(alike(plan.design, places), A4))


def test_the_wall_passes_the_file_as_it_is_written(flag: tuple[Plan, str]) -> None:
    walled(*flag)


SMUGGLED = {
    "a letter": "TEXT\n8\nCutting\n10\n9.0\n20\n9.0\n40\n5\n1\nA",
    "a line of another sort": "LINE\n8\nCutting\n10\n0\n20\n0\n11\n9\n21\n9",
    "a curve of another sort": "SPLINE\n8\nCutting",
    "a block": "INSERT\n8\nCutting\n2\nA",
    "a line on a layer of its own": "LWPOLYLINE\n8\nWords\n90\n2\n70\n0\n10\n0\n20\n0"
    "\n10\n9\n20\n9",
    "one more cut": "LWPOLYLINE\n8\nCutting\n90\n2\n70\n0\n10\n0\n20\n0\n10\n9\n20\n9",
    "a line that is no number": "LWPOLYLINE\n8\nCutting\n90\n2\n70\n0\n10\nnan\n20\n0"
    "\n10\n9\n20\n9",
    "a line that is not whole": "LWPOLYLINE\n8\nCutting\n90\n3\n70\n0\n10\n0\n20\n0",
}


@pytest.mark.parametrize("entity", SMUGGLED.values(), ids=SMUGGLED)
def test_what_is_smuggled_into_a_file_is_stopped(
    entity: str, flag: tuple[Plan, str]
) -> None:
    plan, text = flag
    head, mark, tail = text.partition("  2\nENTITIES\n")
    assert mark
    with pytest.raises(WallError):
        walled(plan, f"{head}{mark}  0\n{entity}\n{tail}")


def test_a_line_that_is_missing_or_moved_is_noticed(flag: tuple[Plan, str]) -> None:
    plan, text = flag
    contours = [line for _, line in read_dxf(text.encode(), "cut.dxf")]
    x = f"{contours[0].start[0]:.6f}".rstrip("0")
    assert x in text
    with pytest.raises(WallError):
        walled(plan, text.replace(x, f"{contours[0].start[0] + 0.02:.6f}", 1))
    places = (*plan.arrangement.places, plan.arrangement.places[0])
    with pytest.raises(WallError, match="lacks"):
        check_wall(text.encode(), "cut.dxf", Expected(alike(plan.design, places), A4))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("$INSUNITS\n 70\n4", "$INSUNITS\n 70\n1"),
        ("  0\nEOF\n", ""),
        ("  0\nSECTION\n", "  0\n"),
        ("  9\n$ACADVER", "nine\n$ACADVER"),
    ],
)
def test_a_file_in_inches_or_torn_is_stopped(
    old: str, new: str, flag: tuple[Plan, str]
) -> None:
    plan, text = flag
    assert old in text
    with pytest.raises(WallError):
        walled(plan, text.replace(old, new, 1))


def test_a_file_that_ends_where_a_section_begins_is_stopped(flag: tuple[Plan, str]) -> None:
    plan, text = flag
    with pytest.raises(WallError, match="cut off"):
        walled(plan, text[: text.index("SECTION") + len("SECTION\n")])


MIXED = Contour(
    (20, 20),
    (
        Line((60, 20)),
        Cubic((80, 20), (90, 40), (70, 60)),
        Arc(25, 25, 0, True, True, (60, 55)),
        Arc(40, 15, 30, False, False, (20, 50)),
    ),
    closed=True,
)


@pytest.mark.parametrize("curves", CURVES)
def test_every_form_reads_back_as_the_line_it_is(curves: str) -> None:
    # ezdxf reads and audits; 0.02 mm is what a home cutter steps at best.
    contours = [MIXED, circle((100, 200), 30), polyline([(5, 5), (150, 8)])]
    lines = tuple(DieLine(LineKind.CUTTING, contour) for contour in contours)
    document = read(cut_dxf(CutLayout("cut.svg", A4, lines), curves))
    kinds = [entity.dxftype() for entity in document.modelspace()]
    assert (
        kinds
        == {
            "arcs": ["LWPOLYLINE"] * 3,
            "splines": ["SPLINE", "LWPOLYLINE", "LWPOLYLINE"],
            "polylines": ["POLYLINE"] * 3,
        }[curves]
    )
    for contour, line in zip(contours, chords(document), strict=True):
        true = contour.flattened(0.0005)
        if contour.closed:
            true = np.concatenate([true, true[:1]])
            line = np.concatenate([line, line[:1]])
        limit = 0.001 if curves == "splines" and contour is MIXED else 0.02
        assert away(true, line) <= limit
        assert away(line, true) <= limit


def test_old_readers_get_a_file_of_their_time() -> None:
    # Autodesk DXF reference: AC1009 is R12, which has POLYLINE and no LWPOLYLINE, SPLINE.
    lines = (DieLine(LineKind.CREASING, MIXED),)
    text = cut_dxf(CutLayout("cut.svg", A4, lines), "polylines")
    document = read(text)
    assert document.dxfversion == "AC1009"
    (entity,) = document.modelspace()
    assert entity.is_closed
    assert all(vertex.dxf.bulge == 0 for vertex in entity.vertices)
    assert {vertex.dxf.layer for vertex in entity.vertices} == {"Creasing"}


@pytest.mark.parametrize("curves", ["splines", "polylines"])
@pytest.mark.parametrize("name", ["herb-tag", "jar-lid"])
def test_the_wall_reads_the_other_forms_and_notices_what_was_moved(
    name: str, curves: str
) -> None:
    plan = plan_sheets(personalize.load_design(name), SheetRules(A4), fully=False)
    (layout,) = cut_layouts(plan, plan.per_sheet)
    text = cut_dxf(layout, curves)
    assert cut_dxf(layout, curves) == text
    walled(plan, text)
    body = text.index("ENTITIES")
    number = re.compile(r"(\n 10\n)(\d+\.\d+)")
    places = [m for m in number.finditer(text, body) if float(m[2]) > 1]
    for found in (places[0], places[len(places) // 2], places[-1]):
        moved = f"{found[1]}{float(found[2]) + 0.5:.6f}"
        with pytest.raises(WallError):
            walled(plan, text[: found.start()] + moved + text[found.end() :])


@pytest.mark.parametrize(
    ("curves", "old", "new"),
    [
        # Group codes: Autodesk DXF reference, "Common group codes for entities" and
        # LWPOLYLINE: 60 is 1 for what is not seen, 67 for what lies on paper space, 43 a
        # width; VERTEX 70 is 16 for a control point, which is not drawn.
        ("arcs", "\n 70\n1\n", "\n 70\n1\n 60\n1\n"),
        ("arcs", "\n 70\n1\n", "\n 70\n1\n 67\n1\n"),
        ("arcs", "\n 70\n1\n", "\n 70\n1\n 43\n2.0\n"),
        ("arcs", "\n 70\n1\n", "\n 70\n129\n"),
        ("arcs", "  2\nOBJECTS", "  2\nNAMES"),
        ("arcs", "  0\nEOF", "  0\nTEXT\n  8\nCutting\n  1\nA\n  0\nEOF"),
        ("polylines", "VERTEX\n", "VERTEX\n 60\n1\n"),
        ("polylines", "\n 70\n0\n  0\nVERTEX", "\n 70\n16\n  0\nVERTEX"),
        ("polylines", "\n 30\n0.0\n", "\n 30\n9.0\n"),
        ("polylines", "\n 66\n1\n", "\n 66\n1\n 39\n5.0\n"),
        ("splines", "\n 71\n3\n", "\n 71\n2\n"),
        ("splines", "\n 40\n1.0\n", "\n 40\n0.9\n"),
        ("splines", "\n  8\nCutting\n", "\n  8\nNames\n"),
        ("splines", "\n 74\n0\n", "\n 74\n0\n 11\n5.0\n 21\n5.0\n"),
        ("polylines", "SEQEND", "VERTEX"),
        ("polylines", "VERTEX\n  5\n30\n  8\nCutting", "VERTEX\n  5\n30\n  8\nCreasing"),
        ("polylines", "  0\nPOLYLINE", "  0\nTEXT"),
    ],
)
def test_a_mended_file_of_another_form_is_stopped(curves: str, old: str, new: str) -> None:
    plan = plan_sheets(personalize.load_design("herb-tag"), SheetRules(A4), fully=False)
    text = cut_dxf(cut_layouts(plan, plan.per_sheet)[0], curves)
    body = text.index("ENTITIES")
    assert old in text[body:]
    with pytest.raises(WallError):
        walled(plan, text[:body] + text[body:].replace(old, new, 1))


def test_nothing_is_said_beside_when_a_file_for_old_readers_is_written() -> None:
    # In a process of its own: this one catches what libraries log.
    program = (
        "from personalize.output.cut_dxf import cut_dxf\n"
        "from personalize.sheet.cut_layouts import CutLayout\n"
        "from personalize.sheet.paper import Paper\n"
        "cut_dxf(CutLayout('cut.svg', Paper('A4', 210.0, 297.0), ()), 'polylines')"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert (done.stdout, done.stderr) == ("", "")
