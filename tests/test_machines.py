"""A printer and a cutter that are not true: measured on the ruler sheet, then undone."""

import json
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st

from personalize.checks.sheet_findings import sheet_findings
from personalize.cli import cli
from personalize.errors import InputError
from personalize.geometry.affine import IDENTITY, Affine, Point
from personalize.rules import Rule
from personalize.sheet.askew import corner_off_mm, leaning
from personalize.sheet.backs import Flip
from personalize.sheet.clear import parse_clear
from personalize.sheet.hand import ByHand
from personalize.sheet.machine import Machine, read_machine, written
from personalize.sheet.paper import PaperMargins, parse_paper
from personalize.sheet.precut import Precut
from personalize.sheet.ruler import measured, parse_measured, ruler_sheet
from personalize.sheet.rules import SheetRules

SAMPLES = Path(__file__).resolve().parent.parent / "samples"
A4 = parse_paper("A4")
PT = 72 / 25.4


@dataclass(frozen=True)
class Simulated:
    """A printer and a cutter with faults, and a maker who reads to a tenth of a mm."""

    scale: tuple[float, float]
    shift: Point
    lean: tuple[float, float]
    """Drift in mm per mm: rightward on the way up, upward on the way right."""
    cut: Point
    off: tuple[float, ...]
    """How far each of her readings is off, in mm."""

    @property
    def prints(self) -> Affine:
        (sx, sy), (dx, dy), (right, up) = self.scale, self.shift, self.lean
        return Affine(sx, up, right, sy, dx, dy)

    def figures(self) -> dict[str, float]:
        """Measure a printed and cut ruler sheet."""
        sheet = ruler_sheet(A4)
        level, upright = sheet.level_mm, sheet.upright_mm
        left, right = self.prints((40, 30)), self.prints((40 + level, 30))
        foot, top = self.prints((30, 40)), self.prints((30, 40 + upright))
        true = {
            "A": right[0] - left[0], "B": top[1] - foot[1], "C": foot[0], "D": top[0],
            "E": left[1], "F": right[1],
            "K": 5 - self.cut[0], "L": 5 - self.cut[1],
            "M": 5 - self.cut[0], "N": 5 - self.cut[1],
        }  # fmt: skip
        return {
            k: round(v + e, 1) for (k, v), e in zip(true.items(), self.off, strict=True)
        }


OFF = st.floats(-0.05, 0.05)
MACHINES = st.builds(
    Simulated,
    st.tuples(st.floats(0.985, 1.015), st.floats(0.985, 1.015)),
    st.tuples(st.floats(-3, 3), st.floats(-3, 3)),
    st.tuples(st.floats(-3e-4, 3e-4), st.floats(-3e-4, 3e-4)),
    st.tuples(st.floats(-1.5, 1.5), st.floats(-1.5, 1.5)),
    st.tuples(*[OFF] * 10),
)


@given(MACHINES)
def test_after_one_ruler_sheet_less_than_two_tenths_are_left(machine: Simulated) -> None:
    found = measured(ruler_sheet(A4), machine.figures(), "kitchen").machine.correction
    for point in ((6.4, 12.7), (203.6, 12.7), (6.4, 290.6), (203.6, 290.6), (105, 148)):
        x, y = machine.prints(found.print(point))
        # Skew is told, not corrected: what it does from the middle on stays.
        right, up = machine.lean
        left = (right * (y - 148.5), up * (x - 105))
        assert abs(x - point[0] - left[0]) < 0.2
        assert abs(y - point[1] - left[1]) < 0.2
        die = found.cut(point)
        assert abs(die[0] + machine.cut[0] - point[0]) < 0.2
        assert abs(die[1] + machine.cut[1] - point[1]) < 0.2


def test_skew_is_reported() -> None:
    straight = Simulated((1, 1), (0, 0), (0, 0), (0, 0), (0.0,) * 10)
    askew = Simulated((1, 1), (0, 0), (0.004, -0.004), (0, 0), (0.0,) * 10)
    assert measured(ruler_sheet(A4), straight.figures(), "a").machine.askew == (0, 0)
    found = measured(ruler_sheet(A4), askew.figures(), "a").machine.askew
    assert found == pytest.approx((0.4, -0.4), abs=0.05)


@given(MACHINES)
def test_what_skew_leaves_is_no_more_than_is_told(machine: Simulated) -> None:
    """Beside the paper, and beside a cut that turns with the four marks it reads."""
    made = measured(ruler_sheet(A4), machine.figures(), "kitchen").machine
    assert made.askew is not None
    corners = np.array([(15, 15), (195, 15), (15, 282), (195, 282)], dtype=float)
    places = [made.correction.print((float(x), float(y))) for x, y in corners]
    printed = np.array([machine.prints(place) for place in places])
    off = np.hypot(*(printed - corners).T).max()
    # Tenths are read, at two ends: that may hide 0.1 mm on the way over a sheet.
    assert off < 0.2 + corner_off_mm(made.askew, A4) + 0.1
    # The cutter lays its lines on the marks by turning and shifting alone.
    from_middle, meant = printed - printed.mean(axis=0), corners - corners.mean(axis=0)
    left, _, right = np.linalg.svd(meant.T @ from_middle)
    cut = meant @ (left @ np.diag([1, np.linalg.det(left @ right)]) @ right)
    off = np.hypot(*(cut - from_middle).T).max()
    assert off < 0.2 + corner_off_mm(leaning(made.askew), A4) + 0.1


@pytest.mark.parametrize(
    ("askew", "turned_mm", "lean_mm"),
    [
        # A turn of 0.3 degrees: its tangent is 0.00524; half of A4's diagonal is 181.9 mm.
        ((-0.524, 0.524), 0.953, 0.0),
        ((0.3, 0.3), 0.546, 0.546),
        ((0.4, 0.0), 0.594, 0.364),
        ((0.0, 0.0), 0.0, 0.0),
    ],
)
def test_a_turn_and_a_lean_are_told_apart(
    askew: tuple[float, float], turned_mm: float, lean_mm: float
) -> None:
    assert corner_off_mm(askew, A4) == pytest.approx(turned_mm, abs=1e-3)
    assert corner_off_mm(leaning(askew), A4) == pytest.approx(lean_mm, abs=1e-3)


TURNED, LEANS = (-0.3, 0.3), (0.3, 0.3)
LABELS = Precut("labels.toml", A4, 2, 1, (20, 20), (90, 50), (90, 60))


@pytest.mark.parametrize(
    ("askew", "changes", "severity", "says"),
    [
        (TURNED, {}, "note", "turns with them, which leaves up to 0.0 mm"),
        (LEANS, {}, "warning", "which leaves up to 0.5 mm in the corners"),
        (TURNED, {"marks": False}, "warning", "placed by the paper's edges"),
        (TURNED, {"face_down": True}, "warning", "up to 0.5 mm beside the print"),
        (TURNED, {"flip": Flip.UPRIGHT}, "warning", "a back is up to 1.1 mm beside"),
        (TURNED, {"by_hand": ByHand.SCISSORS}, "note", "cut along what is printed"),
        (TURNED, {"precut": LABELS}, "warning", "up to 0.5 mm beside their label"),
        ((-0.1, 0.1), {"flip": Flip.UPRIGHT}, None, ""),
    ],
)
def test_a_printer_that_prints_askew_is_told_where_it_matters(
    askew: tuple[float, float], changes: dict[str, Any], severity: str | None, says: str
) -> None:
    rules = replace(SheetRules(A4, askew=askew), **changes)
    told = [one for one in sheet_findings(rules) if one.rule is Rule.PRINTED_ASKEW]
    assert [str(one.severity) for one in told] == ([severity] if severity else [])
    way = "left" if askew[0] < 0 else "right"
    for one in told:
        assert says in one.says
        assert f"the print drifts 0.9 mm {way} from bottom to top" in one.says
        assert "paper guides" in one.do


def test_what_is_not_measured_is_taken_as_right() -> None:
    found = measured(ruler_sheet(A4), {"C": 30.4}, "a").machine
    assert found == Machine("a", print_shift_mm=(pytest.approx(0.4), 0.0))
    margins = measured(
        ruler_sheet(A4), {"G": 3, "H": 4, "I": 13, "J": 5}, "a"
    ).machine.margins
    assert margins == PaperMargins(top=3, right=4, bottom=13, left=5)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("A=133", "is -5.0 %"),
        ("B=250", "print at 100 %"),
        ("C=3", "far from 30"),
        ("G=20", "no number from 0 to 15"),
        ("K=14", "far from 5"),
        ("A=133 C=3", "far from 30"),
        ("", "no letter with its figure"),
        ("Z=4", "no letter with its figure"),
        ("A=1.2.3", "no letter with its figure"),
        ("A 140", "no letter with its figure"),
    ],
)
def test_figures_that_cannot_be_meant_are_refused(text: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        measured(ruler_sheet(A4), parse_measured(text), "a")
    assert says in str(caught.value)


def test_figures_are_read_as_people_write_them() -> None:
    assert parse_measured("A=149.6 b = 224,8; C=30mm") == {"A": 149.6, "B": 224.8, "C": 30}


# Records -------------------------------------------------------------------------------

RECORDS = st.builds(
    Machine,
    st.just("kitchen"),
    st.none() | st.builds(PaperMargins, *[st.integers(0, 20).map(float)] * 4),
    st.none() | st.builds(PaperMargins, *[st.integers(0, 20).map(float)] * 4),
    st.tuples(*[st.integers(98000, 102000).map(lambda n: n / 100000)] * 2),
    st.tuples(*[st.integers(-200, 200).map(lambda n: n / 100)] * 2),
    st.tuples(*[st.integers(-200, 200).map(lambda n: n / 100)] * 2),
    st.just((parse_clear("top left 14x14"),)),
    st.just(("top left 14x14",)),
    askew=st.none() | st.tuples(*[st.integers(-99, 99).map(lambda n: n / 100)] * 2),
)


@given(RECORDS)
def test_a_record_comes_back_as_it_was_written(machine: Machine) -> None:
    found = read_machine(written(machine), "kitchen.toml", "kitchen")
    assert found == machine
    assert found.clear_words == machine.clear_words


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("margins_mm = 5", "margins_mm must be 4 numbers"),
        ("margins_mm = [5, 5, 5, -1]", "margins_mm must be 4 numbers"),
        ("print_scale = [1.1, 1]", "print_scale must be 2 numbers from 0.98 to 1.02"),
        ("print_scale = [true, 1]", "print_scale must be 2 numbers"),
        ("cut_shift_mm = ['a', 'b']", "cut_shift_mm must be 2 numbers"),
        ("clear = ['top 3x3']", "'top 3x3' is no clear zone"),
        ("clear = 'top left 3x3'", "clear must be a list of words"),
        ("margin = [1]", "there is no key margin"),
        ("margins_mm = [5", "this is not TOML"),
    ],
)
def test_what_is_wrong_in_a_record_is_told_with_its_line(text: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        read_machine(text, "kitchen.toml", "kitchen")
    assert says in str(caught.value)
    assert str(caught.value).startswith("kitchen.toml")


def test_all_that_is_wrong_is_told() -> None:
    with pytest.raises(InputError) as caught:
        read_machine("margins_mm = 5\ncut_shift_mm = 3\nclear = 'x'", "k.toml", "k")
    assert [problem.place for problem in caught.value.problems] == [
        f"k.toml, line {i}" for i in (1, 2, 3)
    ]


# On the command line -------------------------------------------------------------------


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PERSONALIZE_SETTINGS", str(tmp_path / "settings"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text("name,dish,plant\nAda,Soup,Dill\nBo,Pie,Mint\n")
    return tmp_path


def told(*words: str) -> Result:
    return CliRunner().invoke(cli, words)


def lines_of(pdf: Path) -> set[tuple[float, float, float, float]]:
    """Boxes of all printed lines, in mm, as another program sees them."""
    page = pypdfium2.PdfDocument(pdf)[0]
    boxes = [obj.get_bounds() for obj in page.get_objects(filter=[2], max_depth=1)]
    return {tuple(round(v / PT, 2) for v in box) for box in boxes}  # type: ignore[misc]


def test_the_ruler_sheet_is_printed_as_it_says(desk: Path) -> None:
    assert told("ruler", "--out", "ruler").exit_code == 0
    sheet = ruler_sheet(A4)
    boxes = lines_of(desk / "ruler" / "ruler.pdf")
    middles = [((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in boxes]
    level, upright = sheet.level_mm, sheet.upright_mm
    # Both lines, the ticks that end them, and the squares.
    meant = [(40 + level / 2, 30), (30, 40 + upright / 2), (40, 30), (40 + level, 30)]
    meant += [(30, 40), (30, 40 + upright), *((x + 10, y + 10) for x, y in sheet.squares)]
    for x, y in meant:
        assert min(max(abs(a - x), abs(b - y)) for a, b in middles) < 0.011
    # A second time it takes the place of the first, and nothing else.
    assert told("ruler", "--out", "ruler").exit_code == 0
    (desk / "ruler" / "mine.txt").write_text("mine")
    assert told("ruler", "--out", "ruler").exit_code == 2


def test_a_kept_machine_moves_print_and_cut_and_nothing_else(desk: Path) -> None:
    figures = "A=139.3 B=231.1 C=30.3 D=30.3 E=29.6 F=29.6 K=4.6 L=5.3 M=4.6 N=5.3"
    kept = told("ruler", "--measured", figures, "--save", "Kitchen")
    assert kept.exit_code == 0, kept.output
    assert "-0.50 % across, +0.48 % up" in kept.output
    assert "Kitchen" in told("machines").output
    plain = told("make", "list.csv", "--design", "jar-lid", "--out", "plain")
    mended = told(
        "make", "list.csv", "--design", "jar-lid", "--out", "mended", "--machine", "kitchen"
    )
    assert (plain.exit_code, mended.exit_code) == (0, 0), mended.output
    reports = [
        json.loads((desk / d / "report.json").read_text()) for d in ("plain", "mended")
    ]
    # Where things lie on the paper is the same: the report tells of paper.
    assert reports[0]["pieces"] == reports[1]["pieces"]
    assert reports[0]["correction"] == {"print": None, "back": None, "cut": None}
    printer = Affine(139.3 / 140, 0, 0, 231.1 / 230, 30.3 - 30 * 139.3 / 140, 0)
    printer = Affine(*printer.tuple[:5], 29.6 - 30 * 231.1 / 230)
    before, after = (lines_of(desk / d / "print.pdf") for d in ("plain", "mended"))
    on_paper = {(*printer(box[:2]), *printer(box[2:])) for box in after}
    for box in before:
        assert (
            min(max(abs(a - b) for a, b in zip(box, o, strict=True)) for o in on_paper)
            < 0.03
        )
    correction = reports[1]["correction"]
    undone = Affine(*correction["print"]) @ printer
    assert undone.tuple == pytest.approx(IDENTITY.tuple, abs=1e-3)
    # The cut went 0.4 mm right and 0.3 mm down of the print: it is moved back.
    assert correction["cut"] == [1, 0, 0, 1, -0.4, 0.3]
    starts = [
        [
            tuple(map(float, place))
            for place in re.findall(
                r'd="M([-\d.]+) ([-\d.]+)', (desk / d / "cut.svg").read_text()
            )
        ]
        for d in ("plain", "mended")
    ]
    for (x, y), (moved_x, moved_y) in zip(*starts, strict=True):
        # The file's own y axis points down.
        assert (moved_x - x, moved_y - y) == pytest.approx((-0.4, -0.3), abs=1e-3)


def test_a_cut_that_differs_from_square_to_square_is_told(desk: Path) -> None:
    kept = told("ruler", "--measured", "K=4.2 M=5.0", "--save", "shed").output
    assert "The cut differs by -0.80 and +0.00 mm from one square to the other" in kept
    alike = told("ruler", "--measured", "K=4.8 M=5.0", "--save", "shed").output
    assert "differs" not in alike


def test_a_record_of_a_printer_askew_is_told_with_every_run(desk: Path) -> None:
    kept = told("ruler", "--measured", "C=30.9 D=30 E=29.7 F=30.2", "--save", "shed")
    assert "the print drifts 1.2 mm left from bottom to top" in kept.output
    assert "0.8 mm up from left to right" in kept.output
    assert "askew_mm_per_100 -0.391, 0.357" in told("machines").output
    words = ("list.csv", "--design", "jar-lid", "--machine", "shed")
    assert "Your printer prints askew" in told("check", *words).output
    done = told("make", *words, "--out", "out")  # notes are in the proof
    report = json.loads((desk / "out" / "report.json").read_text("utf-8"))
    (found,) = [f for f in report["findings"] if f["rule"] == "printed-askew"]
    assert found["severity"] == "note"
    assert found["figures"]["right_mm"] == pytest.approx(-1.162, abs=1e-3)
    assert "this printer has printed askew before" in done.output
    assert "prints askew" in (desk / "out" / "proof.html").read_text("utf-8")
    edges = told("check", *words, "--marks", "none")
    assert edges.exit_code == 1
    assert "beside the print" in edges.output


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("ruler",), "the sheet is made with --out"),
        (("ruler", "--out", "r", "--save", "a"), "the sheet is made with --out"),
        (("ruler", "--measured", "A=140"), "the sheet is made with --out"),
        (("ruler", "--measured", "A=140", "--save", "../x"), "cannot be the name"),
        (("make", "list.csv", "--design", "jar-lid", "--out", "o", "--machine", "x"),
         "no machine record 'x'"),
        (("make", "list.csv", "--design", "jar-lid", "--out", "o", "--clear", "left"),
         "'left' is no clear zone"),
    ],
)  # fmt: skip
def test_a_wrong_use_is_told(desk: Path, words: tuple[str, ...], says: str) -> None:
    done = told(*words)
    assert done.exit_code == 2
    assert says in done.output
    assert not (desk / "o").exists()
