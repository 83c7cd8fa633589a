"""Drawings of our own that hold what SVG readers get wrong, one feature each.

What is compared carries an id that starts with "p". Sizes are small (a few cm), so that
the arcs of a browser, which are cubics to it, stay within a micrometre or two.
"""

XMLNS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def drawing(attributes: str, inside: str) -> str:
    """Write one SVG."""
    return f"<svg {XMLNS} {attributes}>{inside}</svg>"


MM40 = 'width="40mm" height="40mm" viewBox="0 0 40 40"'

CASES: dict[str, str] = {
    # CSS Values 4, "Absolute lengths"; SVG 2 section 8.2 without a viewBox
    "units": drawing(
        'width="2in" height="5cm"',
        '<rect id="p1" x="2mm" y=".5cm" width="1in" height="36pt"/>'
        '<circle id="p2" cx="3pc" cy="100px" r="40Q"/>'
        '<line id="p3" x1="1em" y1="2em" x2="5em" y2="1in" style="font-size:20px"/>',
    ),
    # SVG 2 section 8.2: one side and the proportions of the viewBox
    "width only": drawing(
        'width="60mm" viewBox="0 0 30 20"',
        '<rect id="p1" x="1" y="2" width="9" height="7"/>',
    ),
    # SVG 2 section 8.2 and 8.7, preserveAspectRatio
    "meet": drawing(
        'width="40mm" height="20mm" viewBox="5 5 10 10"',
        '<rect id="p1" x="6" y="7" width="3" height="2"/>',
    ),
    "slice": drawing(
        'width="40mm" height="20mm" viewBox="0 0 10 10"'
        ' preserveAspectRatio="xMaxYMax slice"',
        '<rect id="p1" x="1" y="2" width="3" height="2"/>',
    ),
    "none": drawing(
        'width="40mm" height="20mm" viewBox="-3 2 10 10" preserveAspectRatio="none"',
        '<circle id="p1" cx="2" cy="7" r="3"/>',
    ),
    # CSS Transforms 1, sections 8 and 12: order of functions, nesting
    "transforms": drawing(
        MM40,
        '<g transform="translate(10,5) rotate(30)"><g transform="scale(-1 2) skewX(20)">'
        '<path id="p1" d="M0 0 L4 1 C5 3 2 6 -1 4 Z"/></g>'
        '<g transform="matrix(1 .2 -.3 1 4 5) skewY(-10) rotate(40 3 2)">'
        '<ellipse id="p2" cx="8" cy="3" rx="5" ry="2"/></g></g>'
        '<rect id="p3" x="3" y="20" width="4" height="5" transform="translate(5) bogus"/>',
    ),
    # CSS Transforms 1, sections 6 to 8: property, origin, box, percentages
    "css transforms": drawing(
        MM40,
        "<style>#p1{transform:translate(10%,2px) rotate(.1turn)}"
        "#p2{transform-origin:30px 10px;transform:scale(1.5) rotate(50grad)}"
        "#p3{transform-box:fill-box;transform-origin:center;transform:rotate(30deg)}"
        "#p4{transform-box:fill-box;transform:rotate(30deg)}"
        "#p5{transform-box:fill-box;transform-origin:right top;transform:scale(.5)}"
        "#p6{transform-origin:right;transform:rotate(-20deg)}</style>"
        '<rect id="p1" x="3" y="4" width="6" height="5"/>'
        '<rect id="p2" x="20" y="4" width="6" height="5"/>'
        '<rect id="p3" x="3" y="20" width="6" height="5"/>'
        '<rect id="p4" x="20" y="20" width="6" height="5"/>'
        '<path id="p5" d="M5 30h10l-3 5z"/>'
        '<rect id="p6" x="30" y="25" width="6" height="5"/>'
        '<rect id="p7" x="30" y="25" width="6" height="5" transform="rotate(20)"'
        ' transform-origin="33 27"/>',
    ),
    # SVG 2 chapter 5: use, its x and y, inheritance of place
    "use": drawing(
        MM40,
        '<defs><rect id="r" x="1" y="1" width="6" height="3" transform="rotate(10)"/>'
        '<g id="g"><use href="#r" x="2"/><circle cx="5" cy="9" r="2"/></g></defs>'
        '<use id="p1" xlink:href="#r" x="5" y="10%" transform="scale(1.2)"/>'
        '<use id="p2" href="#g" transform="translate(12 8) rotate(-15)"/>'
        '<use id="p3" href="#g" x="20" y="20"/>',
    ),
    # SVG 2 chapter 5: symbol as a viewport of the use
    "symbol": drawing(
        MM40,
        '<symbol id="s" viewBox="0 0 10 10"><rect x="1" y="2" width="7"'
        ' height="6"/></symbol>'
        '<symbol id="t" viewBox="0 0 20 10" preserveAspectRatio="xMinYMax">'
        '<circle cx="50%" cy="5" r="4"/></symbol>'
        '<symbol id="v"><rect x="2" y="2" width="50%" height="5"/></symbol>'
        '<use id="p1" href="#s" x="3" y="4" width="20" height="12"/>'
        '<use id="p2" href="#t" x="20" y="20" width="9" height="15"/>'
        '<use id="p3" href="#s"/><use id="p4" href="#v" width="30" height="10"/>'
        '<defs><g id="k"><svg width="10" height="8" viewBox="0 0 5 4"><rect width="4"'
        ' height="3"/></svg><symbol><rect width="40" height="40"/></symbol></g></defs>'
        '<use id="p5" href="#k" x="28" y="30" width="3" height="3"/>',
    ),
    # SVG 2 chapter 5 and section 8.2: nested viewports
    "nested svg": drawing(
        MM40,
        '<svg x="5" y="10%" width="50%" height="20" viewBox="0 0 100 50">'
        '<rect id="p1" x="10%" y="10" width="30" height="20%"/>'
        '<svg x="50" width="40" height="40"><circle id="p2" cx="50%" cy="50%"'
        ' r="25%"/></svg>'
        '</svg><svg y="30"><rect id="p3" width="10%" height="10%"/></svg>'
        '<svg width="10" height="10" viewBox="0 0 5 5" transform="translate(25 25)'
        ' rotate(10)"><rect id="p4" x="1" y="1" width="3" height="2"/></svg>'
        '<svg id="n" width="10" height="10" viewBox="0 0 5 5"><rect x="1" y="1" width="3"'
        ' height="2"/></svg><use id="p5" href="#n" x="-20" width="8" height="14"/>',
    ),
    # SVG 2 section 8.9: percentages; "other" is the diagonal over the root of two
    "percent": drawing(
        'width="50mm" height="30mm" viewBox="0 0 50 30"',
        '<circle id="p1" cx="50%" cy="50%" r="20%"/>'
        '<rect id="p2" x="10%" y="10%" width="30%" height="20%" rx="4%" ry="20%"/>'
        '<line id="p3" x1="0" y1="100%" x2="100%" y2="50%"/>',
    ),
    # SVG 2 sections 6 and 7.2, Selectors 4: which rule wins; geometry as properties
    "css": drawing(
        MM40,
        "<style>/* c */ g > .a{transform:translate(5px,5px)} .a{transform:none}"
        " rect:nth-child(3){x:20px;width:4px!important} [data-k='v'] + rect{y:30px}"
        " @media print {#p1{x:0}} #p4{r:3px;cx:10px;cy:25px} circle{r:1px}</style>"
        '<g><path id="p1" class="a" d="M1 1h5v4z"/><rect id="p2" class="b" data-k="v" x="1"'
        ' y="10" width="5" height="4"/><rect id="p3" x="2" y="10" width="9" height="4"'
        ' style="width:7px"/></g><circle id="p4" r="9"/>',
    ),
    # SVG 2 section 9.5 and appendix B.2: arcs, flags run together, radii too small
    "arcs": drawing(
        MM40,
        '<path id="p1" d="M5 5a4 6 30 1 1 6 4"/><path id="p2" d="M20 5a4,6,30,0112,3"/>'
        '<path id="p3" d="M5 20A1 1 0 0 0 15 22"/><path id="p4" d="M20 20a0 5 0 0 1 5 5"/>'
        '<path id="p5" d="M5 35a-3 -2 -400 00 6-2"/>'
        '<path id="p7" d="M25 30a4 2.5 45 10.01.01z"/>',
    ),
    # SVG 2 sections 9.3.5 to 9.3.7 and 9.3.9: short forms, reflected control points
    "paths": drawing(
        MM40,
        '<path id="p1" d="M1 1C1 5 5 5 5 1S9-3 9 1s4 4 4 0"/>'
        '<path id="p2" d="M15 1Q17 5 19 1T23 1t4 0T31 3"/>'
        '<path id="p3" d="M1 10C1 15 5 15 5 10T10 12"/><path id="p4" d="M15 10T20'
        ' 12S22 9 25 12"/>'
        '<path id="p5" d="m1 20 3 3 2-1zm10 0h5v5H10Vz l-3 3"/>'
        '<path id="p6" d="M25 20L30 20 30 25ZL22 28"/><path id="p7" d="M1'
        ' 30.5.5.5-1e0+3E-1"/>'
        '<path id="p8" d="M10 30h5v5z m1 1 h2 v2 z"/>'
        '<path id="p9" d="M20 30Q24 38 26 32S30 38 33 30"/>',
    ),
    # SVG 2 section 9.5.4: up to the last good segment
    "broken paths": drawing(
        MM40,
        '<path id="p1" d="M1 1L9 1 5 6 L3"/><path id="p2" d="M10 1L19 1 15 6 X 3 3"/>'
        '<path id="p5" d="M5 20h9a3 3 0 1 1 3 3 4"/>',
    ),
    # SVG 2 section 10.2 and 10.4: rounded corners, auto radii
    "rounded": drawing(
        MM40,
        '<rect id="p1" x="1" y="1" width="10" height="6" rx="2"/>'
        '<rect id="p2" x="15" y="1" width="10" height="6" ry="2"/>'
        '<rect id="p3" x="1" y="10" width="10" height="6" rx="9" ry="1"/>'
        '<rect id="p4" x="15" y="10" width="10" height="6" rx="9" ry="9"/>'
        '<rect id="p5" x="1" y="20" width="10" height="6" rx="-2" ry="2"/>'
        '<rect id="p6" x="15" y="20" width="10" height="6" rx="0" ry="2"/>'
        '<ellipse id="p7" cx="8" cy="33" rx="5"/><ellipse id="p8" cx="22" cy="33" ry="3"/>'
        '<rect id="p9" x="30" y="20" width="8" height="6" style="rx:auto;ry:1px"/>',
    ),
    # SVG 2 sections 10.5 to 10.7
    "poly": drawing(
        MM40,
        '<polyline id="p1" points="1,1 5-3,9.5.5"/><polygon id="p2" points="1 10 9'
        ' 10 5 15"/>'
        '<polygon id="p3" points="11,10,19,10,15"/><polyline id="p4" points="20 10'
        ' 30 10, 25 20"/>'
        '<line id="p5" x1="1" y1="20" x2="9"/>',
    ),
    # SVG 2 chapter 5, conditional processing: the first child whose tests hold
    "switch": drawing(
        MM40,
        '<switch><rect id="q1" requiredExtensions="x" width="5" height="5"/>'
        '<rect id="q2" systemLanguage="de" width="4" height="4"/>'
        '<g systemLanguage="fr, en-GB, en"><rect id="p1" x="2" width="3" height="3"/></g>'
        '<rect id="q3" width="9" height="9"/></switch>'
        '<rect id="q4" systemLanguage="" width="7" height="7"/>',
    ),
    # CSS Display 3 (display) and CSS 2 section 11.2 (visibility)
    "hidden": drawing(
        MM40,
        '<style>.off{display:none}</style><g class="off"><rect id="q1" width="5"'
        ' height="5"/></g>'
        '<g visibility="hidden"><rect id="q2" width="5" height="5"/>'
        '<rect id="p1" x="10" width="5" height="5" visibility="visible"/></g>'
        '<defs><rect id="q3" width="5" height="5"/></defs>'
        '<clipPath id="c"><rect id="q4" width="5" height="5"/></clipPath>'
        '<g style="DISPLAY:NONE"><rect id="q5" width="5" height="5"/></g>',
    ),
    # CSS Variables 1, section 2: what a child inherits is filled in already
    "var": drawing(
        MM40,
        "<style>svg{--s:7px;--t:var(--s)}g{--s:3px}</style>"
        '<g><rect id="p1" width="4" height="4"'
        ' style="x:var(--s);y:var(--t);width:var(--u,9px)"/>'
        "</g>",
    ),
    # SVG 2 section 6.6, CSS Cascade 4: specificity, order, importance, inheritance
    "paint": drawing(
        MM40,
        "<style>.a{fill:none;stroke:red!important} #p2{stroke:none} rect.a{fill:blue}"
        " g{stroke-dasharray:2 1} .w{stroke-width:0} .n{stroke-dasharray:none}"
        " .i{fill:inherit;stroke:currentColor} *{stroke-linecap:round}</style>"
        '<g fill="none" stroke="green"><path id="p1" class="a" d="M1 1h9v5z" fill="red"/>'
        '<rect id="p2" class="a" width="5" height="4" style="stroke:blue"/>'
        '<path id="p3" d="M1 20h5v3z" class="w"/><path id="p4" d="M9 20h5v3z" class="n"/>'
        '<path id="p5" d="M20 20h5v3z" class="i"/><path id="p6" d="M30 20h5v3z"'
        ' fill="currentColor" stroke="none"/><path id="p7" d="M30 30h5v3z"'
        ' style="fill:initial;stroke:initial;stroke-dasharray:0 0"/></g>'
        '<path id="p8" d="M1 30h5v3z"/>',
    ),
}
