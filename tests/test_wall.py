"""The wall between print and cut: whatever is smuggled in, the run stops."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from fontTools.pens.recordingPen import RecordingPen

import personalize
from personalize import cut_files
from personalize.checks.wall import Expected, check_wall
from personalize.cli import main
from personalize.design.design import Design, LineKind
from personalize.errors import WallError
from personalize.fonts.catalogue import find_font
from personalize.geometry.affine import translation
from personalize.geometry.path import Contour, polyline
from personalize.output.cut_svg import cut_svg
from personalize.sheet.cut_layouts import CutLayout, cut_layouts
from personalize.sheet.cutting import alike
from personalize.sheet.ink import DieLine
from personalize.sheet.paper import Paper
from personalize.sheet.plan import Plan
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from tests.conftest import SAMPLES

A4 = Paper("A4", 210.0, 297.0)


def glyph_outline() -> Contour:
    """Outline of a capital I in mm, where a flag's name stands."""
    face = find_font("Nunito Bold", SAMPLES, "test").face
    pen = RecordingPen()
    gid = face.nominal("I")
    assert gid is not None
    face.draw(gid, pen)
    points = [p for _, operands in pen.value for p in operands if p is not None]
    return polyline([(100 + x * 0.01, 250 + y * 0.01) for x, y in points], closed=True)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_sheets(personalize.load_design("plant-flag"), SheetRules(A4))


def proved(data: str | bytes, plan: Plan) -> None:
    raw = data.encode() if isinstance(data, str) else data
    expected = Expected(alike(plan.design, plan.arrangement.places), plan.rules.paper)
    check_wall(raw, "cut.svg", expected)


def written(plan: Plan, more: Sequence[DieLine] = ()) -> str:
    (layout,) = cut_layouts(plan, plan.per_sheet)
    return cut_svg(replace(layout, lines=(*layout.lines, *more)))


def test_the_file_as_written_passes(plan: Plan) -> None:
    proved(written(plan), plan)


@pytest.mark.parametrize("kind", list(LineKind))
def test_a_letter_smuggled_in_through_the_api_is_stopped(
    plan: Plan, kind: LineKind
) -> None:
    with pytest.raises(WallError, match="no line of the design"):
        proved(written(plan, [DieLine(kind, glyph_outline())]), plan)


MENDED = {
    "a letter as a path": (
        '</g>\n</svg>', '<path d="M100 50L101 50L101 57L100 57Z"/></g>\n</svg>'),
    "a letter as text": ("</g>\n</svg>", "<text>I</text></g>\n</svg>"),
    "a letter in a definition": ("</svg>", "<defs><path d='M0 0L1 1'/></defs></svg>"),
    "a picture": ("</svg>", '<image href="data:image/png;base64,"/></svg>'),
    "a group of another kind": ("</svg>", '<g id="Names"><path d="M0 0L1 1"/></g></svg>'),
    "a second group": ("</svg>", '<g id="Cutting"><path d="M0 0L1 1"/></g></svg>'),
    "a transform on a group": ('<g id="Cutting"', '<g transform="scale(2)" id="Cutting"'),
    "a transform on a line": ('<path d="M', '<path transform="rotate(1)" d="M'),
    "a style": ('<path d="M', '<path style="d:path(\'M0 0\')" d="M'),
    "another size": ('width="210mm"', 'width="211mm"'),
    "another unit": ('width="210mm"', 'width="210px"'),
    "another scale": ('viewBox="0 0 210 297"', 'viewBox="0 0 210 298"'),
    "a size that is no number": ('viewBox="0 0 210 297"', 'viewBox="0 0 wide high"'),
    "half a size": ('viewBox="0 0 210 297"', 'viewBox="0 0 210"'),
    "a width of nothing": ('width="210mm"', 'width="mm"'),
    "a document type": ("<svg ", '<!DOCTYPE svg [<!ENTITY a "b">]><svg '),
    "a crease as a cut": ('id="Creasing"', 'id="Cutting"'),
    "words": ("</svg>", "Wilhelmina</svg>"),
    "a second line in a path": ('Z"/>', 'ZM100 50L101 50"/>'),
    "a relative command": ('Z"/>', 'l1 1Z"/>'),
    "a curve of another sort": ('Z"/>', 'Q1 1 2 2Z"/>'),
    "not a number": ('Z"/>', 'LNaN 1Z"/>'),
    "a torn file": ("</svg>", ""),
}  # fmt: skip


@pytest.mark.parametrize("change", MENDED.values(), ids=MENDED.keys())
def test_a_mended_file_is_stopped(plan: Plan, change: tuple[str, str]) -> None:
    good = written(plan)
    old, new = change
    assert old in good
    with pytest.raises(WallError):
        proved(good.replace(old, new, 1), plan)


def lines_of(text: str) -> list[str]:
    return [line for line in text.splitlines() if line.startswith("<path")]


def test_a_line_that_is_missing_is_noticed(plan: Plan) -> None:
    good = written(plan)
    for line in lines_of(good):
        with pytest.raises(WallError, match="lacks a"):
            proved(good.replace(line + "\n", "", 1), plan)


def test_a_line_that_is_there_twice_is_noticed(plan: Plan) -> None:
    good = written(plan)
    line = lines_of(good)[-1]
    with pytest.raises(WallError, match="no line of the design"):
        proved(good.replace(line, f"{line}\n{line}", 1), plan)


@pytest.mark.parametrize(("shift_mm", "passes"), [(0.009, True), (0.011, False)])
def test_a_line_may_be_off_by_a_hundredth_of_a_millimetre_and_no_more(
    plan: Plan, shift_mm: float, passes: bool
) -> None:
    (layout,) = cut_layouts(plan, plan.per_sheet)
    first = layout.lines[0]
    moved = DieLine(first.kind, first.contour.transformed(translation(shift_mm, 0)))
    text = cut_svg(replace(layout, lines=(moved, *layout.lines[1:])))
    if passes:
        proved(text, plan)
    else:
        with pytest.raises(WallError):
            proved(text, plan)


def test_a_detour_between_two_corners_of_a_line_is_noticed(tmp_path: Path) -> None:
    # All corners of the bow tie are corners of the square, and the other way round.
    (tmp_path / "square.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm"'
        ' viewBox="0 0 50 50"><path id="edge" d="M5 5H45V45H5Z" fill="none" stroke="#000"/>'
        "</svg>"
    )
    design = personalize.load_design(tmp_path / "square.svg")
    plan = plan_sheets(design, SheetRules(A4))
    (layout,) = cut_layouts(plan, plan.per_sheet)
    corners = layout.lines[0].contour
    a, b, c, d = corners.start, *(segment.end for segment in corners.segments[:3])
    tie = DieLine(LineKind.CUTTING, polyline([a, c, b, d], closed=True))
    with pytest.raises(WallError):
        proved(cut_svg(replace(layout, lines=(tie, *layout.lines[1:]))), plan)


def test_the_writer_takes_die_lines_only(plan: Plan) -> None:
    from personalize.sheet.ink import InkStroke, RegisterMark

    (layout,) = cut_layouts(plan, plan.per_sheet)
    for ink in (InkStroke(glyph_outline(), 0.2), RegisterMark((20.0, 20.0))):
        with pytest.raises(AttributeError):
            cut_svg(replace(layout, lines=(*layout.lines, ink)))  # type: ignore[arg-type]


def smuggled(layout: CutLayout) -> str:
    line = DieLine(LineKind.CUTTING, glyph_outline())
    return cut_svg(replace(layout, lines=(*layout.lines, line)))


def test_a_run_that_smuggles_a_letter_ends_with_exit_3_and_moves_nothing_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    command = ["personalize", "make", str(SAMPLES / "picnic.csv")]
    command += ["--design", "plant-flag", "--out", str(out), "--rows", "2-7"]
    monkeypatch.setattr("sys.argv", command)
    monkeypatch.setattr(cut_files, "cut_svg", smuggled)
    with pytest.raises(SystemExit) as stopped:
        main()
    assert stopped.value.code == 3
    assert "no line of the design" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_holes_are_part_of_the_wall() -> None:
    design: Design = personalize.load_design("herb-tag")
    assert design.holes
    plan = plan_sheets(design, SheetRules(A4))
    good = written(plan)
    proved(good, plan)
    hole = next(line for line in lines_of(good) if "A" in line)
    with pytest.raises(WallError):
        proved(good.replace(hole, "", 1), plan)
