"""Mirror images: pieces for transfer film, and cut files for sheets that lie face down."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
import svgelements
from numpy.typing import NDArray

import personalize
from personalize.checks.wall import Expected, check_wall
from personalize.cut_files import expected_of
from personalize.errors import WallError
from personalize.geometry.affine import Affine, translation
from personalize.output.cut_svg import cut_svg
from personalize.sheet.clear import parse_clear
from personalize.sheet.cut_layouts import cut_layouts
from personalize.sheet.cutting import alike
from personalize.sheet.machine import Correction
from personalize.sheet.planning import plan_sheets
from personalize.sheet.rules import SheetRules
from personalize.sheet.uncut import CutRules
from tests.conftest import command, drawing, line, put
from tests.outside import poppler_picture

DPI = 400
WAYS = {"plain": (), "mirror": ("--mirror",), "down": ("--face-down",)}
# A piece that is not its own mirror image, with a blot in one corner.
PIECE = '<circle cx="10" cy="30" r="3" fill="#000"/>' + line("M5 5H55V15H20V35H5Z")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("mirror")
    toml = '[lines]\nCutting = "#edge"\n[margins]\nbleed = 0\n[[panel]]\nname = "front"\n'
    put(folder, {"ell.svg": drawing(PIECE), "ell.toml": toml + "at = [30, 10]\n"})
    put(folder, {"list.csv": "front\nAda\nBo\n"})
    for name, more in WAYS.items():
        words = ("make", folder / "list.csv", "--design", folder / "ell.toml", *more)
        done = command(*words, "--no-proof", "--out", folder / name)
        assert done.exit_code == 0, done.output
    return folder


def report(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "report.json").read_text("utf-8"))
    return found


def places(folder: Path) -> list[Affine]:
    return [Affine(*piece["at"]) for piece in report(folder)["pieces"]]


def seen(folder: Path, at: Affine) -> NDArray[np.float64]:
    """Darkness of the piece that lies there, in steps of half a mm of the flat design."""
    picture = poppler_picture(folder / "print.pdf", 1, DPI, folder).astype(float)
    picture = picture.mean(axis=2)
    xs, ys = np.meshgrid(np.arange(6, 54, 0.5), np.arange(6, 34, 0.5))
    points = at.many(np.column_stack([xs.ravel(), ys.ravel()])) * DPI / 25.4
    column, row = points.astype(int).T
    dark = 255 - picture[picture.shape[0] - 1 - row, column].reshape(xs.shape)
    # Neighbours, and the slug, may lie in the crook of the piece.
    return np.where((ys > 25) | (xs < 20), dark, 0.0)


def test_pieces_are_mirrored_and_marks_rules_and_slug_are_not(made: Path) -> None:
    plain, mirrored = places(made / "plain"), places(made / "mirror")
    assert {round(at.determinant, 9) for at in plain} == {1}
    assert {round(at.determinant, 9) for at in mirrored} == {-1}
    assert report(made / "plain")["marks"] == report(made / "mirror")["marks"]
    for one, other in zip(plain[:2], mirrored[:2], strict=True):
        # Through the mirroring map it is the same picture: words and artwork alike.
        straight, turned = seen(made / "plain", one), seen(made / "mirror", other)
        assert straight.mean() > 5
        assert np.abs(straight - turned).mean() < 0.35 * straight.mean()
        assert np.abs(straight - turned[:, ::-1]).mean() > straight.mean()


def test_the_wall_knows_a_mirrored_piece_from_one_that_is_not(made: Path) -> None:
    design = personalize.load_design(made / "ell.toml")
    paper = personalize.parse_paper("A4")
    data = (made / "mirror" / "cut.svg").read_bytes()
    ats = places(made / "mirror")
    check_wall(data, "cut.svg", Expected(alike(design, ats), paper))
    x0, _, x1, _ = design.box_mm
    straight = [at @ Affine(-1, 0, 0, 1, x0 + x1, 0) for at in ats]
    with pytest.raises(WallError):
        check_wall(data, "cut.svg", Expected(alike(design, straight), paper))


def boxes(folder: Path) -> NDArray[np.float64]:
    svg = svgelements.SVG.parse(folder / "cut.svg", ppi=25.4)
    return np.array([e.bbox() for e in svg.elements() if isinstance(e, svgelements.Path)])


def test_face_down_the_cut_alone_is_mirrored(made: Path) -> None:
    plain, down = boxes(made / "plain"), boxes(made / "down")
    x0, y0, x1, y1 = plain.T
    for box in np.column_stack([210 - x1, y0, 210 - x0, y1]):
        assert np.abs(down - box).max(axis=1).min() < 0.01
    assert report(made / "plain")["pieces"] == report(made / "down")["pieces"]
    prints = [(made / name / "print.pdf").read_bytes() for name in ("plain", "down")]
    assert prints[0] == prints[1]


def test_print_and_cut_in_one_file_are_refused_face_down(made: Path) -> None:
    words = ("make", made / "list.csv", "--design", made / "ell.toml", "--face-down")
    done = command(*words, "--also", "together", "--out", made / "no")
    assert done.exit_code == 2
    assert "cannot be in one file" in done.output
    assert not (made / "no").exists()


def test_as_many_mirrored_pieces_lie_on_a_sheet() -> None:
    design, paper = personalize.load_design("herb-tag"), personalize.parse_paper("A4")
    plain, mirrored = (
        plan_sheets(design, SheetRules(paper, mirror=mirror)) for mirror in (False, True)
    )
    assert mirrored.per_sheet >= plain.per_sheet - 1
    assert all(at.determinant < 0 for at in mirrored.arrangement.places)


@pytest.mark.parametrize("face_down", [True, False])
def test_a_cut_round_the_pieces_steps_in_where_the_zone_lies_seen_from_behind(
    *, face_down: bool
) -> None:
    zone = parse_clear("top left 40x60")
    design = personalize.load_design("herb-tag")
    kitchen = Correction(cut=translation(0.3, -0.2))
    rules = SheetRules(
        personalize.parse_paper("A4"),
        marks=False,
        clear=(zone,),
        face_down=face_down,
        correction=kitchen,
    )
    plan = plan_sheets(design, rules, fully=False)
    around = CutRules(around_mm=2)
    (layout,) = cut_layouts(plan, plan.per_sheet, lambda one: around)
    expected = expected_of(plan, plan.per_sheet, layout, lambda one: around)
    check_wall(cut_svg(layout).encode(), "cut.svg", expected)
    frame = shapely.Polygon(layout.lines[-1].contour.flattened(0.01))
    left = 170.3 if face_down else 0.3
    there = shapely.box(left, 236.8, left + 40, 296.8)
    assert not frame.buffer(-1e-6).intersects(there)
    # It steps in there and nowhere else.
    assert frame.envelope.difference(frame).within(there.buffer(1e-6))
    assert frame.envelope.intersects(there)
