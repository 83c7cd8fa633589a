"""Pieces with several creases: how words stand once folded in space.

The figures of the table are worked out by hand, as the words beside them say. A second
way to fold, with quaternions, is written here and compared on random strips; it shares
nothing with ours. Pieces are drawn and loaded as a maker's would be.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import personalize
from personalize.design.design import Design
from personalize.design.fold_findings import fold_findings
from personalize.design.styles import styles_of
from personalize.design.toml import parse_design_toml
from personalize.errors import InputError
from personalize.finding import Finding, Severity

Xy = tuple[float, float]
PAGE = 240.0


@dataclass(frozen=True)
class Net:
    """A flat piece: outline and creases, and a point in every panel; mm, y up."""

    outline: Sequence[Xy]
    creases: Sequence[tuple[Xy, Xy]]
    panels: Sequence[Xy]
    margins: str = "outline = 2\ncrease = 2\nbleed = 0"

    def moved(self, turn_deg: float, *, mirror: bool = False) -> "Net":
        """Turn the whole drawing about its middle, or mirror it left to right."""
        angle = math.radians(turn_deg)
        cos, sin = math.cos(angle), math.sin(angle)

        def to(point: Xy) -> Xy:
            x, y = point[0] - PAGE / 2, point[1] - PAGE / 2
            x = -x if mirror else x
            return (cos * x - sin * y + PAGE / 2, sin * x + cos * y + PAGE / 2)

        return Net(
            [to(p) for p in self.outline],
            [(to(a), to(b)) for a, b in self.creases],
            [to(p) for p in self.panels],
            self.margins,
        )

    def load(self, folder: Path, folds: str = "", top: str = "", **more: str) -> Design:
        """Write the drawing and its TOML and load them; panels are p0, p1..."""
        ways = ["M" + "L".join(f"{x!r} {PAGE - y!r}" for x, y in self.outline) + "Z"]
        ways += [
            f"M{a[0]!r} {PAGE - a[1]!r}L{b[0]!r} {PAGE - b[1]!r}" for a, b in self.creases
        ]
        drawn = [f'<path id="edge" fill="none" stroke="#000" d="{ways[0]}"/>']
        drawn += [
            f'<path id="c{i}" class="fold" stroke="#00f" d="{way}"/>'
            for i, way in enumerate(ways[1:])
        ]
        size = f'width="{PAGE}mm" height="{PAGE}mm" viewBox="0 0 {PAGE} {PAGE}"'
        (folder / "piece.svg").write_text(
            f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{"".join(drawn)}</svg>'
        )
        toml = [top, '[lines]\nCutting = "#edge"\nCreasing = ".fold"', "[margins]"]
        toml += [self.margins, folds]
        for i, (x, y) in enumerate(self.panels):
            toml.append(f'[[panel]]\nname = "p{i}"\nat = [{x!r}, {PAGE - y!r}]')
            toml.append('text = "{name}"\n' + more.get(f"p{i}", ""))
        (folder / "piece.toml").write_text("\n".join(toml) + "\n")
        return personalize.load_design(folder / "piece.toml")


def box(x0: float, y0: float, x1: float, y1: float) -> list[Xy]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def row(count: int) -> Net:
    """Panels of 30 x 60 mm side by side, the creases upright; p0 at the left."""
    xs = [30.0 + 30 * i for i in range(count + 1)]
    creases = [((x, 90.0), (x, 150.0)) for x in xs[1:-1]]
    return Net(box(30, 90, xs[-1], 150), creases, [(x + 15, 120.0) for x in xs[:-1]])


def column(*heights: float) -> Net:
    """Panels of 60 mm width over each other, the creases level; p0 at the bottom."""
    ys = [20.0]
    for height in heights:
        ys.append(ys[-1] + height)
    creases = [((90.0, y), (150.0, y)) for y in ys[1:-1]]
    middles = [(a + b) / 2 for a, b in pairwise(ys)]
    return Net(box(90, 20, 150, ys[-1]), creases, [(120.0, y) for y in middles])


def cross() -> Net:
    """A face of 40 mm and flaps as large: p0, then the right one, top, left, foot."""
    a, b, c, d = 60.0, 100.0, 140.0, 180.0
    outline = [(b, a), (c, a), (c, b), (d, b), (d, c), (c, c), (c, d), (b, d), (b, c)]
    outline += [(a, c), (a, b), (b, b)]
    creases = [((c, b), (c, c)), ((b, c), (c, c)), ((b, b), (b, c)), ((b, b), (c, b))]
    m = 120.0
    return Net(outline, creases, [(m, m), (160, m), (m, 160), (80, m), (m, 80)])


def quarters() -> Net:
    """Two creases that cross: p0 is lower left, then lower right, upper left, right."""
    creases = [((120.0, 60.0), (120.0, 180.0)), ((60.0, 120.0), (180.0, 120.0))]
    return Net(box(60, 60, 180, 180), creases, [(90, 90), (150, 90), (90, 150), (150, 150)])


def folds(*each: str) -> str:
    """Write [[crease]] tables: "90 valley" for the crease of that place; "-" leaves out."""
    out = []
    for i, one in enumerate(each):
        if one != "-":
            angle, _, way = one.partition(" ")
            out.append(f'[[crease]]\nlines = "#c{i}"\nangle_deg = {angle}')
            out.append(f'way = "{way or "mountain"}"')
    return "\n".join(out)


def every(angle: float, way: str = "mountain") -> str:
    return f'[[crease]]\nangle_deg = {angle}\nway = "{way}"'


LIES = 'set_up = "lying"'
HALVES, THIRDS = (60.0, 60.0), (50.0, 50.0, 50.0)
FEET = (20.0, 60.0, 60.0, 20.0)

# (what it is, net, folds, top of the TOML, turn of every panel)
TABLE: list[tuple[str, Net, str, str, list[float]]] = [
    # Upright creases leave up where it is, however they are folded.
    ("flag", row(2), "", "", [0, 0]),
    ("letter folded to the side", row(3), "", "", [0, 0, 0]),
    ("accordion", row(4), folds("180", "180 valley", "180"), "", [0] * 4),
    ("accordion drawn out", row(4), folds("90", "90 valley", "90"), "", [0] * 4),
    ("lantern of four walls", row(4), every(90), "", [0] * 4),
    ("six walls", row(6), every(60), "", [0] * 6),
    ("greeting card, print inside", row(2), every(180, "valley"), "", [0, 0]),
    ("greeting card, open", row(2), every(90, "valley"), "", [0, 0]),
    ("gate of two doors", row(3), every(180, "valley"), "", [0, 0, 0]),
    # A tent: past 90 degrees the far face hangs with its edge down.
    ("tent, shut", column(*HALVES), "", "", [0, 180]),
    ("tent, standing", column(*HALVES), every(120), "", [0, 180]),
    ("a back that leans away", column(*HALVES), every(60), "", [0, 0]),
    ("only marked", column(*HALVES), every(0), "", [0, 0]),
    # A level panel reads from before the front: what is far is up.
    ("a lid behind the front", column(*HALVES), every(90), "", [0, 0]),
    ("a roof over the front", column(*HALVES), every(90, "valley"), "", [0, 0]),
    ("spine of two folds of 90", column(60, 10, 60), every(90), "", [0, 0, 180]),
    # Two mirrors on level lines make no turn: the third stands as the first.
    ("letter", column(*THIRDS), "", "", [0, 180, 0]),
    # Read opened from behind: the third carries on the second, and the last is seen.
    ("level accordion", column(*THIRDS, 50), folds("180", "180 valley", "180"), "",
     [0, 180, 180, 180]),
    ("notepad, print inside", column(*HALVES), every(180, "valley"), "", [0, 0]),
    # The walls of a lid hang from it: up is towards the lid. Those of a tray rise.
    ("lid on the table", cross(), every(90), LIES, [0, 90, 180, 270, 0]),
    ("tray on the table", cross(), every(90, "valley"), LIES, [0, 270, 0, 90, 180]),
    # A box whose front stands: sides keep up; top and foot read from before the front.
    ("box with an upright front", cross(), every(90), "", [0, 0, 0, 0, 0]),
    ("pyramid", cross(), every(60), LIES, [0, 90, 180, 270, 0]),
    ("folded in four", quarters(), "", "", [0, 0, 180, 180]),
    ("sheet on the table, turned like a page", column(*HALVES), "", LIES, [0, 180]),
    ("folder on the table", row(2), "", LIES, [0, 0]),
    # Seen from before the front alone, what is farther is up, also behind the ridge.
    ("low tent seen from above", column(*HALVES), every(120), 'viewer = "above"', [0, 0]),
    ("tray seen from above", cross(), every(60, "valley"), LIES + '\nviewer = "above"',
     [0, 0, 0, 0, 0]),
]  # fmt: skip


@pytest.mark.parametrize("case", TABLE, ids=lambda case: case[0].replace(" ", "-"))
def test_words_stand_upright_on_every_panel(
    case: tuple[str, Net, str, str, list[float]], tmp_path: Path
) -> None:
    _, net, creases, top, turns = case
    design = net.load(tmp_path, creases, top)
    assert [panel.turn_deg for panel in design.panels] == pytest.approx(turns, abs=0.005)
    for panel in design.panels:
        assert panel.to_reading.determinant == pytest.approx(1, abs=1e-12)


def test_a_tent_with_feet_asks_who_reads_them(tmp_path: Path) -> None:
    # p1 is the front, so it comes first. Both feet go under the tent, print down.
    net = column(*FEET)
    order = [1, 0, 2, 3]
    net = Net(net.outline, net.creases, [net.panels[i] for i in order])
    design = net.load(tmp_path, folds("90", "140", "130"))
    turns = {panel.name: panel.turn_deg for panel in design.panels}
    assert turns == pytest.approx({"p0": 0, "p1": 0, "p2": 180, "p3": 0}, abs=0.005)
    levels = {f.panel for f in told(design) if f.rule == "level-panel"}
    assert levels == {"p1", "p3"}
    quiet = net.load(
        tmp_path, folds("90", "140", "130"), p1='viewer = "above"', p3="turn_deg = 180"
    )
    assert not [f for f in told(quiet) if f.rule == "level-panel"]
    assert quiet.panel("p3").turn_deg == 180


def told(design: Design) -> list[Finding]:
    return list(fold_findings(design.folding))


# Another way to fold ------------------------------------------------------------------


def spun(v: np.ndarray, axis: np.ndarray, deg: float) -> np.ndarray:
    """Turn a vector by Hamilton's q v q* (Hamilton 1844), by hand."""
    half = math.radians(deg) / 2
    w, u = math.cos(half), math.sin(half) * axis
    # q v q* = v + 2 w (u x v) + 2 u x (u x v)
    t = 2 * np.cross(u, v)
    return v + w * t + np.cross(u, t)


def strip(slants: Sequence[float]) -> Net:
    """A strip with creases that slant, p0 at the left."""
    count = len(slants) + 1
    xs = [30.0 + 40 * i for i in range(count + 1)]
    creases = []
    for x, slant in zip(xs[1:], slants, strict=False):
        off = 25 / math.tan(math.radians(slant))
        creases.append(((x - off, 95.0), (x + off, 145.0)))
    return Net(box(30, 95, xs[-1], 145), creases, [(x + 20, 120.0) for x in xs[:-1]])


def worked_out(slants: Sequence[float], angles: Sequence[float], front: float) -> float:
    """Turn of the last panel's words: up in space, taken back through every fold.

    Creases run upwards, so a turn to the left about one takes what is right of it away
    from the reader: a mountain fold. Negative angles are valleys.
    """
    up = np.array([-math.sin(math.radians(front)), math.cos(math.radians(front)), 0.0])
    for slant, angle in zip(slants, angles, strict=True):
        axis = np.array([math.cos(math.radians(slant)), math.sin(math.radians(slant)), 0])
        up = spun(up, axis, -angle)
    return math.degrees(math.atan2(up[1], up[0])) - 90


slanted = st.lists(st.integers(60, 120).map(float), min_size=1, max_size=4)
angled = st.integers(-170, 180).filter(lambda a: a != 0).map(float)
CHECKED = settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


def apart(a: float, b: float) -> float:
    return abs((a - b + 180) % 360 - 180)


@CHECKED
@given(slants=slanted, data=st.data(), front=st.sampled_from([0.0, 20.0, 200.0]))
def test_any_strip_is_folded_as_quaternions_fold_it(
    slants: list[float], data: st.DataObject, front: float, tmp_path: Path
) -> None:
    angles = [data.draw(angled) for _ in slants]
    said = folds(*(f"{abs(a):g} {'mountain' if a > 0 else 'valley'}" for a in angles))
    design = strip(slants).load(tmp_path, said, p0=f"turn_deg = {front}")
    for i in range(1, len(slants) + 1):
        wanted = worked_out(slants[:i], angles[:i], front)
        # Lines are joined on a grid of 0.001 mm: 0.002 degrees for each crease; steep
        # panels make more of it.
        assert apart(design.panels[i].turn_deg, wanted) < 0.1
        assert design.panels[i].to_reading.determinant == pytest.approx(1, abs=1e-12)


@CHECKED
@given(p1=st.integers(50, 130), p2=st.integers(50, 130))
def test_two_folds_by_180_turn_by_twice_the_angle_between_them(
    p1: int, p2: int, tmp_path: Path
) -> None:
    # Two mirrors make a turn by twice the angle between them (Euclid's plane). Creases
    # that meet within the piece part it otherwise: they are 40 mm apart at mid-height.
    tops = [25 / math.tan(math.radians(p)) for p in (p1, p2)]
    assume(abs(tops[0] - tops[1]) < 39)
    design = strip([float(p1), float(p2)]).load(tmp_path)
    assert apart(design.panels[2].turn_deg, 2 * (p2 - p1)) < 0.02


@pytest.mark.parametrize("case", TABLE[::3], ids=lambda case: case[0].replace(" ", "-"))
@pytest.mark.parametrize("turn", [33.0, 90.0, 200.0])
def test_a_turned_drawing_turns_all_its_words(
    case: tuple[str, Net, str, str, list[float]], turn: float, tmp_path: Path
) -> None:
    _, net, creases, top, turns = case
    design = net.moved(turn).load(tmp_path, creases, top, p0=f"turn_deg = {turn}")
    for panel, at_rest in zip(design.panels, turns, strict=True):
        assert apart(panel.turn_deg, at_rest + turn) < 0.02


@CHECKED
@given(slants=slanted, data=st.data())
def test_a_mirrored_drawing_has_its_words_turned_the_other_way(
    slants: list[float], data: st.DataObject, tmp_path: Path
) -> None:
    angles = [data.draw(angled) for _ in slants]
    said = folds(*(f"{abs(a):g} {'mountain' if a > 0 else 'valley'}" for a in angles))
    one = strip(slants).load(tmp_path, said)
    other = strip(slants).moved(0, mirror=True).load(tmp_path, said)
    for a, b in zip(one.panels, other.panels, strict=True):
        assert apart(a.turn_deg, -b.turn_deg) < 0.1
        assert b.to_reading.determinant == pytest.approx(1, abs=1e-12)


# How creases are named ------------------------------------------------------------------


def test_a_point_names_the_nearest_crease_and_the_last_word_is_the_nearer_one(
    tmp_path: Path,
) -> None:
    said = every(30) + "\n[[crease]]\nat = [91, 130]\nangle_deg = 90\n"
    design = row(4).load(tmp_path, said)
    assert [h.fold.angle_deg for h in design.folding.hinges] == [30, 90, 30]
    assert all(h.told for h in design.folding.hinges)
    assert design.crease_degs == (30, 90, 30)


def test_a_crease_drawn_dash_by_dash_is_named_by_its_class(tmp_path: Path) -> None:
    net = row(2)
    dashes = [((60.0, 90.0 + 6 * i), (60.0, 94.0 + 6 * i)) for i in range(10)]
    drawn = Net(net.outline, dashes, net.panels)
    said = '[[crease]]\nlines = ".fold"\nangle_deg = 45\nway = "valley"'
    (hinge,) = drawn.load(tmp_path, said).folding.hinges
    assert (hinge.fold.angle_deg, hinge.fold.way) == (45, "valley")


def test_two_creases_that_cross_are_told_apart(tmp_path: Path) -> None:
    design = quarters().load(tmp_path, folds("0", "180"))
    angles = {(h.first, h.second): h.fold.angle_deg for h in design.folding.hinges}
    assert sorted(angles.values()) == [0, 0, 180, 180]
    assert design.crease_degs == (0, 180)
    assert [panel.turn_deg for panel in design.panels] == [0, 0, 180, 180]


def test_creases_are_shared_among_the_pieces_of_a_drawing(tmp_path: Path) -> None:
    # Two strips in one drawing: each takes what is said of its own creases.
    drawn = "".join(
        f'<rect id="e{i}" class="edge" x="20" y="{y}" width="90" height="30" fill="none"'
        f' stroke="#000"/><path class="fold f{i}" d="M50 {y}v30" stroke="#00f"/>'
        f'<path class="fold f{i}" d="M80 {y}v30" stroke="#00f"/>'
        for i, y in enumerate((20, 70, 120))
    )
    # The third has no crease: what is said of all creases does not concern it.
    drawn = drawn.rsplit("<path", 2)[0]
    size = 'width="200mm" height="200mm" viewBox="0 0 200 200"'
    (tmp_path / "two.svg").write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{drawn}</svg>'
    )
    lines = '[lines]\nCutting = ".edge"\nCreasing = ".fold"\n[margins]\nbleed = 0\n'
    path = tmp_path / "two.toml"

    def angles(said: str) -> list[list[float]]:
        path.write_text(lines + said)
        return [
            [hinge.fold.angle_deg for hinge in design.folding.hinges]
            for design in personalize.load_designs(path)
        ]

    said = '[[crease]]\nlines = ".f1"\nangle_deg = 60\n'
    assert angles(said) == [[180, 180], [60, 60], []]
    assert angles(every(90) + "\n" + said) == [[90, 90], [60, 60], []]
    assert angles("[[crease]]\nat = [51, 35]\nangle_deg = 0") == [[0, 180], [180, 180], []]
    with pytest.raises(InputError, match="nearest crease"):
        angles("[[crease]]\nat = [150, 150]")


WRONG = [
    ('[[crease]]\nlines = "#c9"', "nothing drawn in piece.svg matches lines = '#c9'"),
    ('[[crease]]\nlines = "#edge"', "names no crease between two panels"),
    ('[[crease]]\nlines = "]"', "is not a CSS selector"),
    ("[[crease]]\nat = [5, 5]", "the nearest crease is"),
    ('[[crease]]\nat = [60, 120]\nlines = "#c0"', "by its lines and by a point"),
    ("[[crease]]\nat = 60", "at must be a point on the crease"),
    ('[[crease]]\nway = "hill"', "Use one of mountain, valley"),
    ("[[crease]]\nangle_deg = 270", "angle_deg must be a number from 0 to 180"),
    ("[[crease]]\nlines = []", "lines must be a CSS selector"),
    ("[[crease]]\nangel_deg = 90", "Did you mean angle_deg"),
    ("[crease]\nangle_deg = 90", "a crease must be a table of its own"),
    (folds("90") + "\n" + folds("80"), "this crease is folded in another way by line"),
]


@pytest.mark.parametrize(("said", "says"), WRONG)
def test_a_wrong_crease_is_told_with_its_line(said: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        row(4).load(tmp_path, said)
    assert says in str(caught.value)
    assert "piece.toml, line" in str(caught.value)


@pytest.mark.parametrize(
    ("top", "says"),
    [
        ('set_up = "hanging"', "Use one of standing, lying"),
        ('viewer = "below"', "Use one of around, above"),
    ],
)
def test_a_wrong_set_up_is_told_with_its_line(top: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=says):
        row(2).load(tmp_path, "", top)


def test_a_piece_without_creases_cannot_be_told_how_they_fold(tmp_path: Path) -> None:
    net = row(1)
    drawn = Net(net.outline, [((40.0, 110.0), (50.0, 130.0))], net.panels)
    with pytest.raises(InputError, match="no crease between two panels"):
        drawn.load(tmp_path, every(90))


# What paper alone cannot tell -----------------------------------------------------------


def rules(design: Design) -> list[tuple[str, str | None]]:
    return sorted((finding.rule, finding.panel or "") for finding in told(design))


def test_creases_that_nothing_is_said_of_are_asked_for(tmp_path: Path) -> None:
    # Upright creases turn no words, whatever their angle: a note. Level ones do.
    (upright,) = [f for f in told(row(3).load(tmp_path)) if f.rule == "folds-assumed"]
    assert upright.severity is Severity.NOTE
    assert "how the 2 creases are folded. Taken: by 180 degrees" in upright.says
    level = column(*THIRDS)
    (asked,) = [f for f in told(level.load(tmp_path)) if f.rule == "folds-assumed"]
    assert asked.severity is Severity.WARNING
    (some,) = [
        f for f in told(level.load(tmp_path, folds("180"))) if f.rule == "folds-assumed"
    ]
    assert "how 1 of the 2 creases is folded" in some.says
    for quiet in (every(180), folds("90", "90")):
        assert "folds-assumed" not in dict(rules(level.load(tmp_path, quiet)))
    # One crease is what most pieces have: nothing is asked.
    assert told(row(2).load(tmp_path, p0='faces = "p1"')) == []
    # Two creases that cross are two, though four panels meet at them.
    assert "the 2 creases" in str(told(quarters().load(tmp_path)))


HIDDEN = [
    # A valley fold shuts two prints on each other; what is outside is seen.
    ("card", row(2), every(180, "valley"), {"p0", "p1"}),
    ("accordion", row(4), folds("180", "180 valley", "180"), {"p1", "p2"}),
    ("gate", row(3), every(180, "valley"), {"p0", "p1", "p2"}),
    # The flap that is tucked in lies behind the front.
    ("letter", row(3), every(180), {"p2"}),
    ("short flap", Net(box(30, 90, 115, 150), row(3).creases, row(3).panels),
     every(180), {"p2"}),
    # Four walls with their print inside; with it outside all are seen.
    ("walls inward", row(4), every(90, "valley"), {"p0", "p1", "p2", "p3"}),
    ("walls", row(4), every(90), set()),
    # An open card, a corner of a room, a tray: one looks in.
    ("open card", row(2), every(120, "valley"), set()),
    ("corner", row(3), every(90, "valley"), set()),
    ("drawn out", row(4), folds("90", "90 valley", "90"), set()),
    ("flag", row(2), "", set()),
]  # fmt: skip


@pytest.mark.parametrize("case", HIDDEN, ids=lambda case: case[0].replace(" ", "-"))
def test_words_that_nobody_sees_are_told(
    case: tuple[str, Net, str, set[str]], tmp_path: Path
) -> None:
    _, net, creases, hidden = case
    found = {f.panel for f in told(net.load(tmp_path, creases)) if f.rule == "hidden-words"}
    assert found == hidden


def test_a_fold_that_the_design_shuts_on_its_words_is_a_note(tmp_path: Path) -> None:
    # A card that is opened to be read is as it should be; a tucked flap is not.
    for net, creases, weight in (
        (row(2), every(180, "valley"), Severity.NOTE),
        (row(3), every(180), Severity.WARNING),
        (row(3), "", Severity.NOTE),  # taken, and asked for in a finding of its own
        (row(4), every(90, "valley"), Severity.WARNING),
    ):
        found = told(net.load(tmp_path, creases))
        assert {f.severity for f in found if f.rule == "hidden-words"} == {weight}


def test_a_tray_is_looked_into(tmp_path: Path) -> None:
    design = cross().load(tmp_path, every(90, "valley"), LIES)
    assert "hidden-words" not in dict(rules(design))


def test_panels_that_lie_back_to_back_are_offered_to_face_each_other(
    tmp_path: Path,
) -> None:
    assert ("faces-unsaid", "p1") in [
        (f.rule, "p1" if "'p1'" in f.says else "") for f in told(row(2).load(tmp_path))
    ]
    assert told(row(2).load(tmp_path, every(90))) == []
    inside = row(2).load(tmp_path, every(180, "valley"))
    assert "faces-unsaid" not in dict(rules(inside))


def test_panels_that_do_not_face_each_other_are_told_with_where_they_lie(
    tmp_path: Path,
) -> None:
    with pytest.raises(InputError) as caught:
        row(3).load(tmp_path, p0='faces = "p2"')
    says = str(caught.value)
    assert "'p0' and 'p2' do not lie back to back once folded" in says
    assert "'p0' reaches 30.0 to 60.0 across, 90.0 to 150.0 down, in the front's" in says
    assert "'p2' 30.0 to 60.0 across, 90.0 to 150.0 down" in says
    assert "Behind 'p0' lies 'p1'" in says
    with pytest.raises(InputError, match=r"0\.0 to 30\.0 behind the front"):
        row(2).load(tmp_path, every(90), p0='faces = "p1"')
    with pytest.raises(InputError, match=r"0\.0 to 30\.0 before the front"):
        row(2).load(tmp_path, every(90, "valley"), p0='faces = "p1"')
    with pytest.raises(InputError, match="with their prints on each other once folded"):
        row(2).load(tmp_path, every(180, "valley"), p0='faces = "p1"')


def test_creases_that_cannot_be_folded_together_are_told(tmp_path: Path) -> None:
    # Where two creases cross at right angles, both may be shut, or one; not both half.
    halves = folds("180", "90") + "\n[[crease]]\nat = [150, 120]\nangle_deg = 90\nway = "
    halves = halves.replace('lines = "#c1"', "at = [90, 120]") + '"valley"'
    for fine in (every(180), folds("0", "90"), halves, every(0)):
        assert "creases-at-odds" not in dict(rules(quarters().load(tmp_path, fine)))
    (odd,) = [
        f for f in told(quarters().load(tmp_path, every(90))) if f.rule == "creases-at-odds"
    ]
    assert odd.severity is Severity.WARNING
    assert odd.figures["gap_mm"] > 10


def test_panels_that_would_meet_through_each_other_are_told(tmp_path: Path) -> None:
    # A star of four walls; a box and an open ring of six do not cross.
    crossed = row(4).load(tmp_path, every(150))
    assert "panels-cross" in dict(rules(crossed))
    for fine, walls in ((every(90), 4), (every(60), 6), (every(180), 4)):
        assert "panels-cross" not in dict(rules(row(walls).load(tmp_path, fine)))


# Margins and shared rules ---------------------------------------------------------------


def test_the_stick_widens_the_margin_of_shut_creases_alone(tmp_path: Path) -> None:
    stick = "[stick]\ndiameter_mm = 4\nthickness_mm = 0.25\n"
    design = row(3).load(tmp_path, stick + folds("180", "90"))
    (x0, _, x1, _) = design.panel("p1").zone.box
    assert (x0, x1) == pytest.approx((60 + 8, 90 - 2), abs=0.001)


UNLIKE = [
    ('sizes = "same"', 'sizes = "largest"', "'p1' asks for sizes = 'largest', and 'p0'"),
    ("", 'sizes = "same"', "'p1' asks for sizes = 'same', and 'p0'"),
    ('size_group = "a"', 'size_group = "b"', "'p1' asks for size_group = 'b', and 'p0'"),
]


@pytest.mark.parametrize(("front", "back", "says"), UNLIKE)
def test_panels_that_face_each_other_cannot_have_unlike_rules_of_sizes(
    front: str, back: str, says: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError) as caught:
        row(2).load(tmp_path, p0=front + '\nfaces = "p1"', p1=back)
    assert says in str(caught.value)
    assert "piece.toml, line" in str(caught.value)


BLOCKS = """
[[panel]]
name = "front"
faces = "back"
[[panel.block]]
name = "dish"
sizes = "same"
[[panel.block]]
name = "seat"
[[panel]]
name = "back"
[[panel.block]]
name = "dish"
{dish}
[[panel.block]]
name = "other"
sizes = "largest"
"""


def test_blocks_of_one_name_share_a_rule_and_others_do_not(tmp_path: Path) -> None:
    styles_of(parse_design_toml(BLOCKS.format(dish=""), "tag.toml"), tmp_path)
    wrong = parse_design_toml(BLOCKS.format(dish='sizes = "largest"'), "tag.toml")
    with pytest.raises(InputError) as caught:
        styles_of(wrong, tmp_path)
    (problem,) = caught.value.problems
    assert problem.says.startswith("'back / dish' asks for sizes = 'largest', and 'front /")


@pytest.mark.parametrize(
    ("front", "back"),
    [
        ('sizes = "same"', ""),  # the back says nothing: it takes the front's
        ('sizes = "same"', 'sizes = "same"'),
        ('size_group = "a"', ""),
        ("", 'size_group = "a"'),
    ],
)
def test_a_back_that_says_nothing_else_is_fine(
    front: str, back: str, tmp_path: Path
) -> None:
    design = row(2).load(tmp_path, p0=front + '\nfaces = "p1"', p1=back)
    assert len(design.facing_groups) == 1
