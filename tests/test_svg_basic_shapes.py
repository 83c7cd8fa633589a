"""Clip paths written as shapes of CSS: not followed, and never in silence."""

import pytest

from personalize.design.svg import parse_svg
from tests.svg_made import MM40, drawing


@pytest.mark.parametrize(
    "asked",
    # CSS Shapes 1, section 3, and CSS Masking 1, section 5.1 (a box may stand first).
    [
        "circle(5px)",
        "ellipse(50% 20% at 10px 5px)",
        "inset(1px round 2px)",
        "polygon(0 0, 9px 0, 9px 9px)",
        "path('M0 0H9V9Z')",
        "fill-box circle(40%)",
    ],
)
def test_a_basic_shape_is_told_with_its_element(asked: str) -> None:
    text = f'<g id="leaf" style="clip-path: {asked}"><path d="M1 1H9V9Z"/></g>'
    document = parse_svg(drawing(MM40, text).encode(), "a.svg")
    (told,) = document.ignored
    shape = asked.removeprefix("fill-box ").split("(")[0]
    assert told.says == f'<g id="leaf"> is drawn whole: clip-path {shape}() is not read'
    assert len(document.shapes) == 1


@pytest.mark.parametrize("asked", ["none", "url(#k)", "url(#none)", "fill-box"])
def test_other_clip_paths_are_not(asked: str) -> None:
    text = '<clipPath id="k"><path d="M0 0H9V9Z"/></clipPath>'
    text += f'<path style="clip-path: {asked}" d="M1 1H9V9Z"/>'
    assert parse_svg(drawing(MM40, text).encode(), "a.svg").ignored == ()
