"""Pieces with several creases: how words stand once folded in space.

The figures of the table are worked out by hand, as the words beside them say. A second
way to fold, with quaternions, is written here and compared on random strips; it shares
nothing with ours. Pieces are drawn and loaded as a maker's would be.
"""

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

import personalize
from personalize.errors import InputError
from tests.fold_made import (
    HALVES,
    LIES,
    THIRDS,
    Net,
    box,
    column,
    cross,
    every,
    folds,
    quarters,
    row,
    told,
)

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
