"""Ink on glue, words on perforations, slits drawn twice, and all places ringed."""

import io
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

import personalize
from personalize.checks.glue_ink import LAP_MM, glue_findings
from personalize.design.inspect import inspect_svg
from personalize.design.lines import find_pieces
from personalize.design.svg import parse_svg
from personalize.design.toml import parse_design_toml
from personalize.errors import InputError
from personalize.finding import Finding, places_of
from tests.conftest import EDGE, command, drawing, line, put

GLUE = '<path id="glue" d="M30 8H50V32H30Z" fill="none" stroke="#000"/>'
"""20 x 24 mm; without the lap 17 x 21 mm."""
LINES = '[lines]\nCutting = "#edge"\nGluing = "#glue"\n'


def glued(folder: Path, art: str, toml: str = LINES) -> list[Finding]:
    put(folder, {"tag.svg": drawing(art + EDGE + GLUE), "tag.toml": toml})
    return list(glue_findings(personalize.load_design(folder / "tag.toml")))


# Glue -----------------------------------------------------------------------------------


@pytest.mark.parametrize("fill", ["#000", "#ffff00", "#fdf3d8"])
def test_ink_over_the_whole_of_a_glue_area_is_told(fill: str, tmp_path: Path) -> None:
    (one,) = glued(tmp_path, f'<rect width="60" height="40" fill="{fill}"/>')
    assert (one.rule, one.severity, one.figures["share"]) == ("inked-glue", "warning", 1)
    assert "inks the whole of the glue area whose middle lies 40 mm from the" in one.says
    assert (one.figures["x_mm"], one.figures["y_mm"]) == pytest.approx((40, 20), abs=0.1)


@settings(max_examples=6, deadline=None)
@given(st.floats(3, 16))
def test_the_share_that_is_told_is_the_share_of_ink(
    tmp_path_factory: pytest.TempPathFactory, reach: float
) -> None:
    folder = tmp_path_factory.mktemp("glue")
    art = f'<rect width="{30 + LAP_MM + reach}" height="40" fill="#5b2a6e"/>'
    found = glued(folder, art)
    share = reach / (20 - 2 * LAP_MM)
    if share > 0.13:
        (one,) = found
        assert one.figures["share"] == pytest.approx(share, abs=0.03)
        assert f"inks {one.figures['share']:.0%} of the glue area" in one.says


BARE = {
    "no artwork": "",
    "white": '<rect width="60" height="40" fill="#fff"/>',
    "a lap": '<path d="M0 0H60V40H0ZM31.5 9.5V30.5H48.5V9.5Z" fill="#5b2a6e"/>',
    "beside it": '<rect width="30" height="40" fill="#5b2a6e"/>',
    "a dot": '<circle cx="40" cy="20" r="2" fill="#5b2a6e"/>',
}


@pytest.mark.parametrize("name", BARE)
def test_bare_glue_is_not_told(name: str, tmp_path: Path) -> None:
    assert glued(tmp_path, BARE[name]) == []


def test_each_version_is_looked_at_and_a_narrow_strip_too(tmp_path: Path) -> None:
    layers = '<g id="a"><rect width="60" height="40" fill="#321"/></g><g id="b"/>'
    toml = LINES + '[[version]]\nname = "dark"\nshow = "#a"\n'
    toml += '[[version]]\nname = "bare"\nshow = "#b"\n'
    found = glued(tmp_path, layers, toml)
    assert [one.says.split(" inks")[0] for one in found] == [
        "The picture of version 'dark'"
    ]
    art = '<rect width="60" height="40" fill="#321"/>'
    strip = GLUE.replace("H50", "H32")  # no wider than two laps
    put(tmp_path, {"tag.svg": drawing(art + EDGE + strip), "tag.toml": LINES})
    (one,) = glue_findings(personalize.load_design(tmp_path / "tag.toml"))
    assert one.figures["share"] == 1


# Perforations ---------------------------------------------------------------------------


def torn(folder: Path, tear: str, cells: str, more: str = "") -> list[Finding]:
    toml = '[lines]\nCutting = "#edge"\nPerforating = "#tear"\n' + more
    svg = drawing(EDGE + line(tear, "tear"))
    put(folder, {"tag.svg": svg, "tag.toml": toml, "list.csv": cells})
    design = personalize.load_design(folder / "tag.toml")
    table = personalize.read_table(folder / "list.csv")
    found = personalize.check(table, design).findings
    return [one for one in found if one.rule == "torn-words"]


def test_words_over_a_perforation_are_told_by_row(tmp_path: Path) -> None:
    # The words stand in the middle of 56 mm: of these only the long one comes to the line.
    small = "[type]\nmax_pt = 20\n"
    cells = "front\nI\nWilhelmina Maple\n"
    (one,) = torn(tmp_path, "M12 2V38", cells, small)
    assert (one.row, one.panel, one.severity) == (3, "front", "warning")
    assert "lie over a line that is perforated" in one.says


def test_words_over_a_line_cut_half_through_are_told(tmp_path: Path) -> None:
    svg = drawing(EDGE + line("M12 2V38", "kiss"))
    toml = '[lines]\nCutting = "#edge"\nPartialCutting = "#kiss"\n[type]\nmax_pt = 20\n'
    put(tmp_path, {"tag.svg": svg, "tag.toml": toml})
    put(tmp_path, {"list.csv": "front\nI\nWilhelmina Maple\n"})
    design = personalize.load_design(tmp_path / "tag.toml")
    found = personalize.check(
        personalize.read_table(tmp_path / "list.csv"), design
    ).findings
    assert [one.row for one in found if one.rule == "torn-words"] == [3]


def test_words_beside_a_perforation_are_not_told(tmp_path: Path) -> None:
    small = "[type]\nmax_pt = 20\n"
    for tear in ("M5 2V38", "M5 5H55", "M50 3H55V10H50Z"):
        assert torn(tmp_path, tear, "front\nAda\n", small) == []
    assert torn(tmp_path, "M2 20H58", "front\nAda\n", small)


def test_a_perforation_just_beside_the_ink_is_told_with_its_distance(
    tmp_path: Path,
) -> None:
    # A level line is moved down to the words: before it lies over them it is just beside.
    near = []
    for at in np.arange(10, 20, 0.2):
        found = torn(tmp_path, f"M2 {at}H58", "front\nHHH\n", "[type]\nmax_pt = 20\n")
        near += [one for one in found if "come within" in one.says]
        if found and not near:
            break
    assert near
    assert all(0.35 <= float(one.figures["gap_mm"]) < 0.7 for one in near)


# Slits ----------------------------------------------------------------------------------

SLIT = "M20 20C25 12 35 12 40 20"
TWICE = {
    "the same": SLIT,
    "the other way": "M40 20C35 12 25 12 20 20",
    "a hair off": "M20.03 20C25 12.02 35 12.02 40 20.02",
}
SLITS = '[lines]\nCutting = "#edge, #one, #two"\n'


def seen(other: str, toml: str = SLITS) -> list[Finding]:
    svg = drawing(EDGE + line(SLIT, "one") + line(other, "two"))
    spec = parse_design_toml(toml, "a.toml")
    return list(inspect_svg(svg.encode(), "a.svg", spec, None).findings)


@pytest.mark.parametrize("name", TWICE)
def test_a_slit_that_is_drawn_twice_is_told_and_can_be_mended(name: str) -> None:
    (one,) = seen(TWICE[name])
    assert (one.rule, one.severity) == ("doubled", "error")
    assert one.says.startswith("An open cut line is drawn twice, one on the other, at ")
    (note,) = seen(TWICE[name], "mend = true\n" + SLITS)
    assert note.says == "Mended: 1 open cut line drawn twice left out."
    svg = drawing(EDGE + line(SLIT, "one") + line(TWICE[name], "two"))
    document = parse_svg(svg.encode(), "a.svg")
    selectors = parse_design_toml(SLITS, "a.toml").lines
    with pytest.raises(InputError, match="drawn twice"):
        find_pieces(document, selectors, "a.toml")
    (piece,) = find_pieces(document, selectors, "a.toml", mend=True)
    assert len(piece.slits) == 1


def test_slits_side_by_side_are_two(tmp_path: Path) -> None:
    assert seen("M20 20.5C25 12.5 35 12.5 40 20.5") == []
    assert seen("M20 24C25 32 35 32 40 24") == []


# Places in pictures ---------------------------------------------------------------------

CROSS = '<rect x="2" y="2" width="56" height="36" fill="#f4e3c1"/>'
CROSS += '<rect x="20" y="-3" width="12" height="46" fill="#f4e3c1"/>'


def test_every_bare_stretch_is_ringed_by_inspect_and_in_the_proof(tmp_path: Path) -> None:
    put(tmp_path, {"tag.svg": drawing(CROSS + EDGE), "list.csv": "front\nAda\n"})
    picture = tmp_path / "seen.svg"
    done = command("inspect", tmp_path / "tag.svg", "--picture", picture)
    assert done.exit_code == 1
    table = personalize.read_table(tmp_path / "list.csv")
    design = personalize.load_design(tmp_path / "tag.svg")
    made = personalize.proof(table, design, tmp_path / "out")
    (one,) = [f for f in made.findings if f.rule == "bleed-missing"]
    places = places_of(one)
    assert len(places) == one.figures["places"] == 2
    # Longest first: the side with the corners, then the other.
    assert sorted(round(x) for x, _ in places) == [2, 58]
    assert picture.read_text().count("<circle") == 2
    page = (tmp_path / "out" / "proof.html").read_text("utf-8")
    rings = re.findall(r'<circle class="gap" cx="([\d.]+)" cy="([\d.]+)" r="2"', page)
    assert sorted((round(float(x), 1), round(float(y), 1)) for x, y in rings) == sorted(
        (round(x, 1), round(y, 1)) for x, y in places
    )
    assert 'id="see-gap"' in page


def test_where_nothing_is_bare_no_ring_is_drawn(tmp_path: Path) -> None:
    whole = '<rect x="-3" y="-3" width="66" height="46" fill="#f4e3c1"/>'
    put(tmp_path, {"tag.svg": drawing(whole + EDGE), "list.csv": "front\nAda\n"})
    table = personalize.read_table(tmp_path / "list.csv")
    design = personalize.load_design(tmp_path / "tag.svg")
    personalize.proof(table, design, tmp_path / "out")
    page = (tmp_path / "out" / "proof.html").read_text("utf-8")
    assert '<circle class="gap' not in page
    assert 'id="see-gap"' not in page


def test_inspect_writes_a_png_under_that_name(tmp_path: Path) -> None:
    put(tmp_path, {"tag.svg": drawing(CROSS + EDGE)})
    for name in ("seen.png", "seen.svg"):
        assert command("inspect", tmp_path / "tag.svg", "--picture", tmp_path / name)
    image = Image.open(io.BytesIO((tmp_path / "seen.png").read_bytes()))
    wide, high = image.size
    svg = (tmp_path / "seen.svg").read_text()
    box = [float(v) for v in re.search(r'viewBox="([^"]*)"', svg)[1].split()]
    assert (image.format, wide) == ("PNG", 2000)
    assert high == pytest.approx(wide * box[3] / box[2], abs=1)
    # Its title is set: ink where the words of 4.4 mm stand, on white.
    title = np.asarray(image.convert("L"))[40:90, 100:900]
    assert 0.05 < (title < 128).mean() < 0.5


@pytest.mark.parametrize("name", ["seen.jpg", "seen", "seen.pdf"])
def test_other_pictures_are_refused_in_one_sentence(name: str, tmp_path: Path) -> None:
    put(tmp_path, {"tag.svg": drawing(EDGE)})
    done = command("inspect", tmp_path / "tag.svg", "--picture", tmp_path / name)
    assert done.exit_code == 2
    assert f"--picture: {name!r} ends in neither .svg nor .png." in done.output
    assert not (tmp_path / name).exists()
