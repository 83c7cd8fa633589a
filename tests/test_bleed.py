"""Bleed: where artwork stops at the outline is told, and its edge can be continued."""

from pathlib import Path

import numpy as np
import pytest

import personalize
from personalize.checks.artwork_findings import artwork_findings
from personalize.design.bleed import EdgeLook, look_at_edge
from personalize.design.extend import with_edge_extended
from personalize.finding import Finding
from personalize.geometry.path import Contour, Line, circle
from personalize.geometry.zone import Region, grown, region_of
from personalize.units import FLATTEN_MM
from tests.artwork_help import NAMES, art, at, pixels, sample
from tests.conftest import EDGE, command, drawing, put

ROUND_MM = 2 * np.pi * 15


def ring() -> tuple[Contour, Region]:
    outline = circle((20.0, 20.0), 15.0)
    return outline, grown(region_of(outline.flattened(FLATTEN_MM)), 3.0)


def look(inside: str) -> EdgeLook:
    outline, bleed = ring()
    return look_at_edge(art(inside, box=bleed.box), bleed.box, outline, 3.0)


DOTS = (
    '<g fill="plum"><circle cx="5" cy="20" r="1.6"/><circle cx="35" cy="20" r="1.2"/>'
    '<circle cx="20" cy="6.4" r="1.5"/></g>'
)
"""Dots across the edge end somewhere, and that is how they are drawn."""
FULL = '<path d="M0 0H40V40H0Z{}" fill-rule="evenodd" fill="plum"/>'


@pytest.mark.parametrize(
    ("inside", "bare_mm", "where"),
    [
        ("", 0, None),
        (FULL.format(""), 0, None),
        ('<rect width="40" height="40" fill="white"/>', 0, None),
        ('<circle cx="20" cy="20" r="13" fill="plum"/>', 0, None),
        ('<circle cx="20" cy="20" r="15" fill="plum"/>', ROUND_MM, None),
        ('<circle cx="20" cy="20" r="16.5" fill="plum"/>', ROUND_MM, None),
        ('<rect width="40" height="40" fill-opacity=".3"/>', 0, None),
        # Of a half that runs on and a half that stops.
        (
            '<path d="M0 0H40V20H0Z" fill="plum"/><circle cx="20" cy="20" r="15"/>',
            ROUND_MM / 2,
            (20, 5),
        ),
        # A notch from the left: 10 mm high, in the bleed alone.
        (FULL.format("M0 15V25H5.3V15Z"), 10.2, (5, 20)),
        # Ink in the one half alone, which runs on: the other is paper, and stays so.
        ('<rect x="20" width="20" height="40" fill="plum"/>', 0, None),
        # A hairline between two abutting shapes.
        ('<path d="M0 0H20V40H0ZM20.2 0H40V40H20.2Z"/>', 0, None),
        (DOTS, 0, None),
    ],
)
def test_bare_edges_are_where_ink_stops_at_the_outline(
    inside: str, bare_mm: float, where: tuple[float, float] | None
) -> None:
    found = look(inside)
    assert found.length_mm == pytest.approx(ROUND_MM, rel=0.002)
    assert found.bare_mm == pytest.approx(bare_mm, abs=1.0)
    if where is not None:
        assert found.bare[0].middle == pytest.approx(where, abs=0.6)


def test_places_are_told_the_longest_first() -> None:
    found = look(FULL.format("M16 0V5.3H24V0ZM0 14V26H5.3V14Z"))
    middles = [one.middle for one in found.bare]
    assert middles[0] == pytest.approx((5, 20), abs=0.6)
    assert middles[1] == pytest.approx((20, 35), abs=0.6)
    assert len(middles) == 2


def test_round_a_corner_all_of_the_bleed_is_looked_at() -> None:
    corners = [(35.0, 5.0), (35.0, 35.0), (5.0, 35.0)]
    outline = Contour((5.0, 5.0), tuple(map(Line, corners)), closed=True)
    bleed = grown(region_of(outline.flattened(FLATTEN_MM)), 3.0)
    # Ink past all sides, but for the square beyond one corner and a little before it.
    text = '<path d="M1 1H33V5.2H34.8V7H39V39H1Z" fill="plum"/>'
    found = look_at_edge(art(text, box=bleed.box), bleed.box, outline, 3.0)
    ((x, y),) = [one.middle for one in found.bare]
    assert (x, y) == pytest.approx((35, 35), abs=1.2)
    whole = '<path d="M1 1H39V39H1Z" fill="plum"/>'
    assert not look_at_edge(art(whole, box=bleed.box), bleed.box, outline, 3.0).bare


@pytest.mark.parametrize("name", NAMES)
def test_samples_fill_their_bleed(name: str) -> None:
    document, outline, bleed = sample(name)
    svg = art_of(name)
    assert look_at_edge(svg, bleed.box, outline, 2.0).bare == ()
    assert document.height_mm > 0


def art_of(name: str) -> bytes:
    return personalize.load_design(name).artwork.svg


STOPS = drawing(f'<rect x="2" y="2" width="56" height="36" fill="plum"/>{EDGE}')
TABLE = '[lines]\nCutting = "#edge"\n'


def told(folder: Path, svg: str, toml: str = TABLE) -> list[Finding]:
    put(folder, {"tag.svg": svg, "tag.toml": toml})
    return list(artwork_findings(personalize.load_design(folder / "tag.toml")))


def test_a_bare_edge_is_told_with_place_length_and_remedy(tmp_path: Path) -> None:
    half = '<path d="M-1 -1H30V41H-1Z" fill="plum"/>'
    (found,) = told(tmp_path, STOPS.replace(EDGE, half + EDGE))
    assert found.rule == "bleed-missing"
    assert "on 92 mm of 184 mm of edge" in found.says
    assert "58 mm from the left and 20 mm from the top of the drawing" in found.says
    assert found.figures["x_mm"] == pytest.approx(58, abs=0.1)
    assert found.figures["y_mm"] == pytest.approx(20, abs=0.6)
    assert "extend_edge = true" in found.do


def test_paper_all_round_is_told_once_as_a_note(tmp_path: Path) -> None:
    inner = drawing(f'<circle cx="30" cy="20" r="9" fill="plum"/>{EDGE}')
    (found,) = told(tmp_path, inner)
    assert (found.rule, found.severity.value) == ("paper-edge", "note")
    assert told(tmp_path, drawing(EDGE)) == []


def test_an_edge_is_continued_where_a_design_asks_for_it(tmp_path: Path) -> None:
    asked = f"{TABLE}[artwork]\nextend_edge = true\n"
    (found,) = told(tmp_path, STOPS, asked)
    assert (found.rule, found.severity.value) == ("edge-extended", "note")
    found_image = pixels(personalize.load_design(tmp_path / "tag.toml").artwork.svg)
    assert at(found_image, 1, 20) == (221, 160, 221, 255)
    assert at(found_image, 59.5, 1) == (221, 160, 221, 255)


def test_continued_colours_are_those_of_the_nearest_edge() -> None:
    outline, bleed = ring()
    text = (
        '<clipPath id="c"><circle cx="20" cy="20" r="15"/></clipPath>'
        '<g clip-path="url(#c)"><rect width="20" height="40" fill="red"/>'
        '<rect x="20" width="20" height="20" fill="blue"/></g>'
    )
    svg = art(text, box=bleed.box)
    made = with_edge_extended(svg, bleed.box, outline, 3.0, ())
    before, after = pixels(svg), pixels(made)
    assert look_at_edge(made, bleed.box, outline, 3.0).bare == ()
    inside = before[:, :, 3] == 255
    assert np.array_equal(before[inside], after[inside])  # the artwork stays as it is
    assert at(after, 1, 18) == (255, 0, 0, 255)
    assert at(after, 18 + 12, 18 - 12) == (0, 0, 255, 255)
    assert at(after, 18 + 12, 18 + 12)[3] == 0  # paper stays paper


def test_extend_edge_is_a_yes_or_no(tmp_path: Path) -> None:
    with pytest.raises(personalize.InputError, match="extend_edge"):
        told(tmp_path, STOPS, f'{TABLE}[artwork]\nextend_edge = "yes"\n')
    with pytest.raises(personalize.InputError, match="extend"):
        told(tmp_path, STOPS, f"{TABLE}[artwork]\nextend = true\n")


def test_inspect_rings_a_bare_edge_in_its_picture(tmp_path: Path) -> None:
    put(tmp_path, {"tag.svg": STOPS})
    done = command("inspect", tmp_path / "tag.svg", "--picture", tmp_path / "seen.svg")
    assert "stops at the outline" in done.output
    assert "<circle" in (tmp_path / "seen.svg").read_text("utf-8")
