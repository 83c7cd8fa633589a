"""Drawings of our own with CSS that few programs write, as `svg_cases` has them."""

from tests.svg_made import MM40, drawing

CSS_CASES: dict[str, str] = {
    # Media Queries 4: what a screen shows
    "media": drawing(
        MM40,
        "<style>@media print { #p1 { r: 9px } } @media screen { #p2 { r: 8px } }"
        " @media only screen, print { #p3 { transform: translate(3px, 4px) } }"
        " @media all { @media not print { #p4 { r: 2px } } #p4 { cx: 30px } }"
        " @media { #q1 { display: none } } @media tv { #p5 { display: none } }</style>"
        '<circle id="p1" cx="9" cy="9" r="3"/><circle id="p2" cx="20" cy="9" r="3"/>'
        '<circle id="p3" cx="9" cy="20" r="3"/><circle id="p4" cx="9" cy="30" r="3"/>'
        '<circle id="p5" cx="20" cy="20" r="3"/><circle id="q1" cx="9" cy="9" r="3"/>',
    ),
    # CSS Values 4, section 10
    "calc": drawing(
        MM40,
        '<rect id="p1" x="calc(1px + 2px)" y="3" width="calc(2 * (1in - 90px))"'
        ' height="9"/>'
        '<rect id="p2" style="x: calc(50% - 10%); y: 1px; width: calc(20px / 4);'
        ' height: calc(1mm*2 + 3px)"/>'
        '<circle id="p3" cx="20" cy="20" r="3" style="r: calc(-1 * -4px)"/>'
        '<circle id="p4" cx="30" cy="20" r="2" style="transform:'
        ' translate(calc(1px + 1px), 3px)"/>',
    ),
    # CSS Transforms 2, sections 5 and 9
    "translate, rotate and scale": drawing(
        MM40,
        '<rect id="p1" x="5" y="5" width="6" height="3" style="translate: 4px 5px"/>'
        '<rect id="p2" x="5" y="5" width="6" height="3" style="rotate: 30deg"/>'
        '<rect id="p3" x="5" y="5" width="6" height="3" style="scale: 2 1.5"/>'
        '<g style="translate: 10% 5%; rotate: .1turn; scale: 1.2"><rect id="p4" x="9"'
        ' y="5" width="6" height="3" style="transform: rotate(20deg); rotate: -30deg"/></g>'
        '<rect id="p5" x="15" y="5" width="6" height="3" style="rotate: 45deg;'
        ' transform-box: fill-box; transform-origin: center"/>'
        '<rect id="p6" x="5" y="25" width="6" height="3" style="translate: none;'
        ' rotate: none; scale: none"/>'
        '<rect id="p7" x="5" y="25" width="6" height="3" style="scale: 50%" rotate="30"/>',
    ),
    # CSS Transforms 1, section 7: which box an origin and a share refer to
    "transform boxes": drawing(
        MM40,
        '<g fill="none" stroke="#000" stroke-width="2">'
        '<rect id="p1" x="9" y="5" width="6" height="3" style="transform-box: stroke-box;'
        ' transform-origin: 0 0; transform: rotate(20deg)"/>'
        '<rect id="p2" x="9" y="5" width="6" height="3" style="transform-box: view-box;'
        ' transform-origin: center; transform: rotate(20deg)"/>'
        '<rect id="p3" x="9" y="5" width="6" height="3" style="transform-box: border-box;'
        ' transform: translate(50%, 10%)"/>'
        '<rect id="p4" x="9" y="5" width="6" height="3" style="transform-box: content-box;'
        ' transform-origin: right bottom; transform: scale(1.5)"/></g>',
    ),
}
