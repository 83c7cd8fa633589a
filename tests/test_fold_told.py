"""What is told of folds: mistakes, what nobody sees, what cannot be folded."""

from pathlib import Path

import pytest

from personalize.design.design import Design
from personalize.design.styles import styles_of
from personalize.design.toml import parse_design_toml
from personalize.errors import InputError
from personalize.finding import Severity
from tests.fold_made import (
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
