"""More drawings of our own, as `svg_cases` has them."""

from tests.svg_made import MM40, drawing

MORE_CASES: dict[str, str] = {
    # SVG 2 section 8.2: nested viewports that slice, stretch and stand in groups
    "nested aspects": drawing(
        MM40,
        '<g transform="rotate(5)"><svg x="3" y="2" width="15" height="8"'
        ' viewBox="0 0 10 10"'
        ' preserveAspectRatio="xMinYMax slice"><rect id="p1" x="1" y="6" width="5"'
        ' height="3"/></svg><svg x="20" y="2" width="15" height="8" viewBox="0 0 10 10"'
        ' preserveAspectRatio="none"><circle id="p2" cx="5" cy="5" r="4"/></svg></g>'
        '<svg x="1mm" y="50%" width="4em" height="25%" viewBox="0 0 20 20"'
        ' style="font-size:4px"><rect id="p3" x="1em" y="10%" width="2em" height="50%"/>'
        '<svg viewBox="0 0 4 4"><path id="p4" d="M1 1h2v2z"/></svg></svg>'
        '<svg x="20" y="20" width="0" height="9"><rect id="z1" width="3" height="3"/></svg>'
        '<svg x="25" y="25" overflow="visible" width="5" height="5"><rect id="p5" x="2"'
        ' y="2" width="9" height="4"/></svg>',
    ),
    # Selectors 4 and CSS Cascade 4
    "selectors": drawing(
        MM40,
        "<style>rect{width:3px;height:3px} #k>rect:first-of-type{x:1px}"
        " #k rect~rect{x:6px} #k rect + rect + rect{x:11px}"
        " rect:not([class]){y:2px} [class~='b']{y:9px} [class|='c']{y:16px}"
        " [id^='p4'],.none{y:23px;x:1px} rect:is(.e,.f){width:5px}"
        " svg rect.g{height:6px} g:nth-of-type(2) rect{x:20px} rect:last-child{y:30px}"
        " @font-face{font-family:x;src:url(x)} <!-- svg #p1{x:30px} --></style>"
        '<g id="k"><rect id="p1"/><rect id="p2" class="a b"/><rect id="p3" class="c-d"/>'
        '<rect id="p4" class="e g"/></g><g><rect id="p5" class="f"/><rect id="p6"/></g>',
    ),
    "important": drawing(
        MM40,
        "<style>#p1{x:5px!important} #p1{x:9px} #p2{x:4px} rect{y:3px !IMPORTANT}"
        " .z{width:6px} .y{width:3px} #p3{fill:none!important;stroke:red}</style>"
        '<rect id="p1" x="1" width="3" height="3" style="x:12px"/>'
        '<rect id="p2" width="3" height="3" style="x:14px!important;y:9px"/>'
        '<rect id="p3" class="y z" x="20" height="3" style="fill:blue"/>'
        '<rect id="p4" class="z y" x="30" height="3"/>',
    ),
    "style attribute": drawing(
        MM40,
        '<g style="fill:none;stroke:#f00;stroke-dasharray:4,2;display:inline">'
        '<path id="p1" d="M2 2h9v5" style=" stroke : blue ; ; fill : none "/>'
        '<path id="p2" d="M2 12h9v5" style="stroke-dasharray:none;fill:#eee"/>'
        '<path id="p3" d="M2 22h9v5" style="stroke:none;bogus;fill:url(#nothing) red"/>'
        '<path id="p4" d="M20 2h9v5" style="/* a */stroke-width:0"/></g>',
    ),
    # CSS Values 4: lengths of the font, in attributes and properties
    "font lengths": drawing(
        MM40,
        '<g font-size="5"><rect id="p1" x="1em" y="1em" width="2em" height=".5em"/>'
        '<g style="font-size:200%"><rect id="p2" x="1em" y="2em" width="1em"'
        ' height=".5em"/>'
        '</g><g font-size=".5em"><circle id="p3" cx="8em" cy="3em" r="1rem"'
        ' style="r:1em"/></g></g>',
    ),
    "hidden again": drawing(
        MM40,
        "<style>.off,#q3{display:none} .in{visibility:hidden} .in .out{visibility:visible}"
        " g.none rect{display:none} #p3{display:inline!important}</style>"
        '<g class="in"><rect id="q1" width="3" height="3"/><g class="out"><rect id="p1"'
        ' x="5" width="3" height="3"/></g></g>'
        '<rect id="q2" class="off" width="3" height="3" style="display:none"/>'
        '<rect id="q3" width="3" height="3"/>'
        '<g class="none"><rect id="q4" width="3" height="3"/><circle id="p2" cx="15" cy="5"'
        ' r="3"/><rect id="p3" x="20" width="3" height="3"/></g>'
        '<rect id="q5" x="25" width="3" height="3" visibility="collapse"/>'
        '<rect id="p4" x="30" width="3" height="3" opacity="0"/>'
        '<marker><rect id="q6" width="3" height="3"/></marker>'
        '<mask><rect id="q7" width="3" height="3"/></mask>'
        '<pattern><rect id="q8" width="3" height="3"/></pattern>'
        '<symbol><rect id="q9" width="3" height="3"/></symbol>'
        '<g transform="scale(0)"><rect id="z1" width="3" height="3"/></g>',
    ),
    "switches": drawing(
        MM40,
        '<switch><g requiredExtensions="urn:x"><rect id="q1" width="3" height="3"/></g>'
        '<switch><rect id="q2" systemLanguage="fr" width="3" height="3"/>'
        '<rect id="p1" systemLanguage="en" x="5" width="3" height="3"/></switch></switch>'
        '<switch><path id="q3" systemLanguage="de-AT" d="M0 0h3v3z"/></switch>'
        '<a href="#x"><rect id="p2" x="10" width="3" height="3"/></a>'
        '<switch transform="translate(15 5)"><rect id="p3" width="3" height="3"/>'
        '<rect id="q4" width="9" height="9"/></switch>'
        '<rect id="p4" x="20" width="3" height="3" requiredFeatures="x"/>',
    ),
    # SVG 2 section 9.3: every command, absolute and relative, run together
    "relative paths": drawing(
        MM40,
        '<path id="p1" d="m3 3c1 3 4 3 5 0s4-2 5 1q2 3 4 0t3 2h3v2l-9 3z"/>'
        '<path id="p2" d="M3 20C4 23 7 23 8 20S12 18 13 21Q15 24 17 21T20'
        ' 23H23V25L14 28Z"/>'
        '<path id="p3" d="m25 3l5 0 0 5-5 0zm1 1l3 0 0 3-3 0z"/>'
        '<path id="p4" d="M25,20,30,20,30,25,25,25z"/><path id="p5" d="M25'
        ' 30h3h3v2v2H25z"/>'
        '<path id="p6" d="M3 35h5zl2 2h3"/><path id="p7" d="M12 35l3 3M17 35l3 3"/>',
    ),
    "numbers run together": drawing(
        MM40,
        '<path id="p1" d="M3.5.5.7-1.2e0L9.1.2.3 5-4-.4z" transform="translate(8 4)"/>'
        '<path id="p2" d="M20 5l1e1,0 0+5.5-1E1 0z"/><path id="p3" d="M 3 , 20 L9,20,9 ,'
        ' 25Z"/><path id="p4" d="\n\tM20\n20\tl5,0\r\n0,5"/>'
        '<path id="p5" d="M20 30a2 3 0 0110.5.5 2 3 0 10-5-.5"/>',
    ),
    "arcs by quarter": drawing(
        MM40,
        "".join(
            f'<path id="p{large}{sweep}{turn}" d="M{3 + 9 * sweep + 18 * large}'
            f' {5 + turn / 4}a4 2.5 {turn} {large} {sweep} 4 3"/>'
            for large in (0, 1)
            for sweep in (0, 1)
            for turn in (0, 45, 100)
        ),
    ),
    "arcs at the limit": drawing(
        MM40,
        '<path id="p1" d="M3 5a3 3 0 0 1 6 0"/><path id="p2" d="M12 5a2.999'
        ' 2.999 0 1 0 6 0"/>'
        '<path id="p3" d="M20 5a-4-2 30 0 1 6 3"/><path id="p4" d="M3 15a5 0 0 0 1 5 5"/>'
        '<path id="p5" d="M12 15a1 9 90 1 1 5 1"/><path id="p6" d="M25 15a1 9 10 0 1 3 3"/>'
        '<path id="p7" d="M3 30a2 2 0 1 1 0 .01z"/><path id="p8" d="M15 30a6 3'
        ' 720 0 0 8 1"/>'
        '<path id="p9" d="M28 30a5 5 0 0 1 0 0l4 4"/>',
    ),
    "smooth after others": drawing(
        MM40,
        '<path id="p1" d="M3 3L6 3S9 9 12 3"/><path id="p2" d="M15 3L18 3T24 5"/>'
        '<path id="p3" d="M3 15q2 4 4 0s2 4 4 0"/><path id="p4" d="M15 15c1 4'
        ' 3 4 4 0t4 0"/>'
        '<path id="p5" d="M3 25q2 4 4 0t4 0t4 0t4 0"/><path id="p6" d="M25'
        ' 25c0 4 4 4 4 0s4-4 4 0s-4 8-4 4"/>',
    ),
    "curves that fold back": drawing(
        MM40,
        '<path id="p1" d="M3 5C20 5-5 5 12 5"/><path id="p2" d="M3 12C20 20-5 20 12 12"/>'
        '<path id="p3" d="M20 5C30 15 20 15 30 5"/><path id="p4" d="M20 20C20 20 30 20 30'
        ' 30"/><path id="p5" d="M3 30C3 30 3 30 9 33"/><path id="p6" d="M15 30Q25 30 15'
        ' 30"/>',
    ),
    "nothing to draw": drawing(
        MM40,
        '<rect id="z1" width="0" height="3"/><rect id="z2" width="3" height="-3"/>'
        '<circle id="z3" r="0"/><ellipse id="z4" rx="3" ry="0"/>'
        '<path id="z6" d=""/><path id="z7" d="none"/>'
        '<rect id="p1" x="5" y="5" width="3" height="3"/>',
    ),
    "shapes by property": drawing(
        MM40,
        "<style>circle{cx:10px;cy:10px;r:4px} ellipse{cx:25px;cy:10px;rx:5px;ry:auto}"
        " rect{x:5px;y:20px;width:25%;height:4px;rx:10%} #p3{ry:1px}"
        " path{d:path('M20 20h9v5z')}</style>"
        '<circle id="p1"/><ellipse id="p2"/><rect id="p3"/><path id="p4" d="M1 1h3v3z"/>'
        '<path id="p5" d="M1 1h3v3z" style="d:none;d:path(&quot;M20 30l5 5 5-5&quot;)"/>',
    ),
    # Exports of drawing programs: entities, layers by label, classes, odd origins
    "export with entities": '<?xml version="1.0"?><!DOCTYPE svg PUBLIC'
    ' "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" ['
    ' <!ENTITY st0 "fill:none;stroke:#000;"><!ENTITY w "20">'
    ' <!ENTITY ns_svg "http://www.w3.org/2000/svg">]>'
    '<svg xmlns="&ns_svg;" width="40mm" height="40mm" viewBox="0 0 113.386 113.386"'
    ' style="enable-background:new 0 0 113.386 113.386">'
    '<g id="Layer_x0020_1"><path id="p1" style="&st0;" d="M10 10h&w;v30z"/>'
    '<rect id="p2" style="&st0;stroke-dasharray:3" x="50" y="50" width="&w;"'
    ' height="30"/></g></svg>',
    "export with layers": drawing(
        'xmlns:k="urn:k" width="40mm" height="40mm" viewBox="0 0 40 40"',
        '<g k:label="Lines" k:groupmode="layer" id="layer1" style="display:inline"'
        ' transform="translate(-12.5,-80.25)"><path id="p1" style="fill:none;stroke:#000;'
        'stroke-width:.2;-x-y:z" d="m 15,85 c 5,3 9,-2 12,4 l 3,9 h -12 z"/>'
        '<g transform="rotate(-30,25,100)" id="g8"><rect id="p2" width="9.5" height="4.25"'
        ' x="20.1" y="98.7" ry="1.2"/></g></g>'
        '<g k:label="Guides" id="layer2" style="display:none"><rect id="q1" width="9"'
        ' height="9"/></g>',
    ),
    "export with classes": drawing(
        'id="Layer_1" data-name="Layer 1" width="113.39" height="113.39"'
        ' viewBox="0 0 113.39 113.39"',
        "<defs><style>.cls-1,.cls-2{fill:none;stroke-miterlimit:10;}.cls-1{stroke:#ec008c;}"
        ".cls-2{stroke:#00aeef;stroke-dasharray:4 2;}.cls-3{fill:#fff;}</style></defs>"
        '<polygon id="p0" class="cls-3" points="0 0 60 0 60 60 0 60 0 0"/>'
        '<path id="p1" class="cls-1"'
        ' d="M102,56.69A45.35,45.35,0,1,1,56.69,11.34,45.34,45.34,'
        '0,0,1,102,56.69Z" transform="translate(0.5 0.5)"/>'
        '<line id="p2" class="cls-2" x1="11.84" y1="57.19" x2="102.55" y2="57.19"/>',
    ),
    "export turned over": drawing(
        'width="1.5in" height="1.5in" viewBox="0 0 108 108"',
        '<g transform="translate(0,108) scale(1,-1)"><g transform="matrix(1,0,0,1,9,9)">'
        '<path id="p1" d="M 0,0 H 90 V 45 L 45,90 0,45 Z"/>'
        '<path id="p2" d="m 10,10 c 0,5.523 4.477,10 10,10 5.523,0 10,-4.477 10,-10"/>'
        "</g></g>",
    ),
}
