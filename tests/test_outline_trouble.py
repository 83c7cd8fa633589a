"""Outlines that a knife cannot follow: told with their places, mended only when asked."""

from pathlib import Path

import pytest

from personalize.checks.findings import design_findings
from personalize.design.inspect import inspect_svg
from personalize.design.lines import FoundLines, find_pieces
from personalize.design.load import load_design
from personalize.design.spec import DesignSpec
from personalize.design.svg import parse_svg
from personalize.errors import InputError
from personalize.geometry.path import signed_area
from tests.conftest import EDGE, command, drawing


def cut(*paths: str) -> str:
    lines = "".join(f'<path class="edge" d="{d}"/>' for d in paths)
    return drawing(f'<g fill="none" stroke="#000">{lines}</g>')


def found(text: str, *, mend: bool = False) -> FoundLines:
    (found,) = find_pieces(parse_svg(text.encode(), "kit.svg"), {}, "kit.svg", mend=mend)
    return found


def refusal(text: str, *, mend: bool = False) -> list[str]:
    with pytest.raises(InputError) as caught:
        found(text, mend=mend)
    return [problem.says for problem in caught.value.problems]


def area(lines: FoundLines) -> float:
    return abs(signed_area(lines.outline.flattened(0.001)))


def rules(text: str) -> list[tuple[str, str]]:
    seen = inspect_svg(text.encode(), "kit.svg", DesignSpec(place="kit.svg"))
    return [(one.rule, one.says) for one in seen.findings]


BOX = "M5 5H55V35H5Z"


def test_open_by_a_hair() -> None:
    text = cut("M5 5H55V35H5V5.3")
    says = "the outline is open: its ends, at 5.0 mm across, 5.0 mm down and at 5.0 mm"
    (told,) = refusal(text)
    assert told.startswith(says)
    assert told.endswith("are 0.30 mm apart.")
    mended = found(text, mend=True)
    assert area(mended) == pytest.approx(1500)
    assert mended.mended == ("a gap of 0.30 mm closed",)
    assert mended.outline.closed


def test_open_by_more_is_not_mended() -> None:
    text = cut("M5 5H55V35H5V7")
    assert refusal(text, mend=True) == refusal(text)


# Source of the area: plane geometry. The loop is a right angle of 0.5 x 0.5 mm.
def test_a_small_loop_of_the_outline() -> None:
    crossing = cut("M5 5H55V35H29.5L30 35.5V34.5L29 35H5Z")
    told = refusal(crossing)
    assert all("crosses itself at " in says for says in told)
    assert "29.6 mm across, 35.1 mm down" in told[0] or "30.0 mm across, 35" in told[0]
    mended = found(crossing, mend=True)
    (says,) = mended.mended
    assert says.startswith("a crossing of the outline cut off, its area")
    assert area(mended) == pytest.approx(1500, abs=0.6)
    assert f"{area(mended):.2f} mm2 now" in says


# Source of the areas: the thread named in the list of known faults (a repair that drops
# parts gives 960 mm2, a right one two parts of 1,020 mm2 together).
def test_an_outline_that_crosses_itself_into_two_pieces_is_never_mended() -> None:
    text = cut("M0 0L60 40V0L0 10Z")
    (told,) = refusal(text)
    assert told == "the outline crosses itself at 12.0 mm across, 8.0 mm down."
    assert refusal(text, mend=True) == [told]


def test_every_crossing_is_told() -> None:
    told = refusal(cut("M5 5H55V35H35L30 3L25 35H5Z"))
    assert sorted(says.rpartition(" at ")[2] for says in told) == [
        "29.7 mm across, 5.0 mm down.",
        "30.3 mm across, 5.0 mm down.",
    ]


@pytest.mark.parametrize("other", [BOX, "M55 35V5H5V35Z", "M5.02 5H55V35H5Z"])
def test_an_outline_drawn_twice(other: str) -> None:
    text = cut(BOX, other)
    (told,) = refusal(text)
    assert told.startswith("a cut line is drawn twice, one on the other, at ")
    mended = found(text, mend=True)
    assert mended.holes == ()
    assert len(mended.lines) == 1
    assert mended.mended == ("1 cut line drawn twice left out",)


def test_a_tiny_loop() -> None:
    text = cut(BOX, "M20 20h.4v.4h-.4z")
    (told,) = refusal(text)
    assert (
        told
        == "there is a closed cut line of less than 1 mm2 at 20.0 mm across, 20.0 mm down."
    )
    mended = found(text, mend=True)
    assert (mended.holes, area(mended)) == ((), pytest.approx(1500))


def test_double_nodes_are_told_and_taken_out_when_asked() -> None:
    text = cut("M5 5H55V35l0 0-.0002 0H5Z")
    (rule, says), *_ = rules(text)
    assert rule == "double-nodes"
    assert (
        says
        == "2 times a cut line has a point twice, first at 55.0 mm across, 35.0 mm down."
    )
    assert len(found(text).outline.segments) == 5
    assert len(found(text, mend=True).outline.segments) == 3
    assert area(found(text, mend=True)) == pytest.approx(1500, abs=0.01)


# What is judged weak: our own numbers, common practice, no source.
@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (cut("M5 5h20v14h10v-14h20v30h-20v-14.5h-10v14.5h-20z"), "thin-neck"),
        (cut("M5 5h20v14h10v-14h20v30h-20v-14.1h-10v14.1h-20z"), "thin-neck"),
        (cut("M5 5h20v10h10v-10h20v30h-20v-15h-10v15h-20z"), None),
        (cut(BOX, "M6 20a2.5 2.5 0 1 0 5 0a2.5 2.5 0 1 0-5 0z"), "thin-neck"),
        (cut(BOX, "M8 20a2.5 2.5 0 1 0 5 0a2.5 2.5 0 1 0-5 0z"), None),
        (cut(BOX, "M20 20a.8 .8 0 1 0 1.6 0a.8 .8 0 1 0-1.6 0z"), "tiny-hole"),
        (cut("M5 20L55 12V28Z"), "sharp-tip"),
        (cut("M5 20L55 5V35Z"), None),
        (cut("M5 5H55L50 20L55 35H5Z"), None),
        (cut("M5 5H55L12 20L55 35H5Z"), None),
    ],
)
def test_weak_places(text: str, wanted: str | None) -> None:
    told = [
        rule for rule, _ in rules(text) if rule in ("thin-neck", "tiny-hole", "sharp-tip")
    ]
    if wanted != "sharp-tip":
        told = [rule for rule in told if rule != "sharp-tip"]
    assert told == ([] if wanted is None else [wanted])


def test_a_neck_is_told_where_it_is() -> None:
    text = cut("M5 5h20v14h10v-14h20v30h-20v-14.5h-10v14.5h-20z")
    seen = inspect_svg(text.encode(), "kit.svg", DesignSpec(place="kit.svg"))
    neck = next(one for one in seen.findings if one.rule == "thin-neck")
    assert neck.figures["x_mm"] == pytest.approx(30, abs=6)
    assert neck.figures["y_mm"] == pytest.approx(40 - 19.75, abs=1)


def test_mending_is_asked_for_in_the_design_file_and_told(tmp_path: Path) -> None:
    (tmp_path / "kit.svg").write_text(cut("M5 5H55V35H5V5.3"), "utf-8")
    with pytest.raises(InputError, match=r"or write mend = true"):
        load_design(tmp_path / "kit.svg")
    (tmp_path / "kit.toml").write_text("mend = true\n", "utf-8")
    design = load_design(tmp_path / "kit.svg")
    told = {finding.rule: finding.says for finding in design_findings(design, None)}
    assert told["mended"].endswith("mended, as asked: a gap of 0.30 mm closed.")
    done = command("inspect", tmp_path / "kit.svg")
    assert "Mended: a gap of 0.30 mm closed." in done.stdout
    (tmp_path / "kit.toml").write_text('mend = "yes"\n', "utf-8")
    with pytest.raises(InputError, match="mend must be true or false"):
        load_design(tmp_path / "kit.svg")


@pytest.mark.parametrize(
    ("hole", "x", "y"),
    [
        ("M20 15h10v10h-10z M25 18h10v10h-10z", 25, 25),  # they cross
        ("M20 10h20v20h-20z M25 15h5v5h-5z", 25, 15),  # an island in a hole
        ("M50 15h10v10h-10z", 55, 15),  # past the edge
    ],
)
def test_cut_lines_that_cross_each_other(hole: str, x: float, y: float) -> None:
    (told,) = refusal(cut(BOX, hole))
    assert told.startswith("two cut lines cross, or one stands in a hole at ")
    across, down = (float(word.split()[0]) for word in told.split(" at ")[1].split(", "))
    assert abs(across - x) <= 5
    assert abs(down - y) <= 10


def test_a_closed_crease_folds_nothing_and_breaks_nothing() -> None:
    text = drawing(
        EDGE + '<path class="fold" d="M20 10h20v20h-20z" fill="none" stroke="red"/>'
    )
    seen = inspect_svg(text.encode(), "kit.svg", DesignSpec(place="kit.svg"))
    areas = sorted(panel.region.area_mm2 for panel in seen.panels)
    assert areas == pytest.approx([400, 56 * 36 - 400], abs=1)


def test_a_sound_outline_is_left_exactly_alone() -> None:
    text = drawing(EDGE.replace("/>", ' rx="5"/>'))
    assert found(text, mend=True).outline == found(text).outline
    assert found(text, mend=True).mended == ()


def test_the_picture_marks_the_places(tmp_path: Path) -> None:
    (tmp_path / "kit.svg").write_text(cut("M0 0L60 40V0L0 10Z"), "utf-8")
    done = command("inspect", tmp_path / "kit.svg", "--picture", tmp_path / "seen.svg")
    assert done.exit_code == 1
    text = (tmp_path / "seen.svg").read_text("utf-8")
    # 60 mm are 180 units of the picture, so 12 mm across and 8 mm down are 36 and 24.
    assert '<circle cx="36" cy="24"' in text
