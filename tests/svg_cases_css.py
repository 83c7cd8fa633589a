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
    "calc of shares and lengths": drawing(
        MM40,
        '<rect id="p1" x="calc(10% + 1px)" y="calc(2 * (5% - 1px))" width="calc(50% - 1mm)"'
        ' height="calc((10% + 3px) / 2)"/>'
        '<circle id="p2" style="cx: calc(50% - 3px); cy: calc(3px + 1mm + 20%);'
        ' r: calc(10% - 1px)"/>'
        '<rect id="p3" x="5" y="25" width="6" height="3" style="transform:'
        ' translate(calc(10% + 2px), calc(1mm - 5%)) rotate(10deg)"/>'
        '<rect id="p4" x="5" y="5" width="6" height="3" style="translate: calc(5% + 1px)'
        ' calc(2px - 1%)"/>'
        '<rect id="p5" x="20" y="25" width="6" height="3" style="transform-box: fill-box;'
        ' transform-origin: calc(50% + 1px) calc(100% - 2px); transform: rotate(30deg)"/>'
        '<svg x="calc(50% + 1px)" y="2" width="calc(20% + 3px)" height="calc(1mm + 10%)"'
        ' viewBox="0 0 10 10"><rect id="p6" x="1" width="5" height="5"/></svg>',
    ),
    "boxes in boxes in boxes": drawing(
        MM40,
        '<g style="transform-box: fill-box; transform-origin: 10% 80%;'
        ' transform: scale(.99) translate(2%, -1%)">'
        * 90
        + '<rect id="p1" x="12" y="15" width="10" height="6"/>'
        + "</g>" * 90,
    ),
    "boxes of what is turned": drawing(
        MM40,
        '<g style="transform-box: fill-box; transform-origin: 20% 90%;'
        ' transform: rotate(2deg)">'
        * 60
        + '<path id="p1" d="M12 15h10l3 6z" transform="rotate(20 9 9)"/>'
        + "</g>" * 60
        + '<g style="transform-box: fill-box; transform-origin: center; transform:'
        ' rotate(30deg)"><path id="p2" d="M5 25h9l-2 4z" transform="rotate(40 9 25)"/>'
        '<g transform="skewX(20)"><ellipse id="p3" cx="9" cy="20" rx="5" ry="2"'
        ' transform="rotate(30 9 20)"/></g></g>',
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
