"""Drawings of our own in which clip paths and viewports end lines."""

from tests.svg_made import MM40, drawing

# SVG 2 section 14.3 and CSS Masking 1, section 5: what of a line is seen. Elements are
# stroked only; the browser is asked at points along each whether it is hit there.
CLIPPED: dict[str, str] = {
    "clipped by a circle": drawing(
        MM40,
        '<clipPath id="k"><circle cx="20" cy="20" r="12"/></clipPath><g'
        ' clip-path="url(#k)">'
        '<path id="c1" d="M2 20H38"/><rect id="c2" x="5" y="15" width="30" height="20"/>'
        '<rect id="c3" x="15" y="15" width="6" height="4"/><path id="c4" d="M1 1h9"/></g>',
    ),
    "clipped by a share of the box": drawing(
        MM40,
        '<clipPath id="k" clipPathUnits="objectBoundingBox"><rect x=".1" y=".2" width=".5"'
        ' height=".9"/></clipPath><rect id="c1" x="5" y="5" width="20" height="10"'
        ' clip-path="url(#k)"/><g clip-path="url(#k)"><path id="c2" d="M3 25L35 30"/>'
        '<circle id="c3" cx="20" cy="30" r="7"/></g>',
    ),
    "clipped by a turned rectangle": drawing(
        MM40,
        '<clipPath id="k" transform="rotate(20 20 20)"><rect x="10" y="12" width="20"'
        ' height="9" transform="translate(1 2)"/></clipPath>'
        '<g transform="scale(.9) translate(2 1)" clip-path="url(#k)">'
        '<path id="c1" d="M2 2L38 38" transform="rotate(5)"/><path id="c2" d="M38 2L2 38"/>'
        "</g>",
    ),
    "clipped by a ring": drawing(
        MM40,
        '<clipPath id="k"><path clip-rule="evenodd" d="M5 5h30v30H5zM12 12h16v16H12z"/>'
        '</clipPath><clipPath id="l"><path d="M5 5h30v30H5zM12 12h16v16H12z"/></clipPath>'
        '<path id="c1" d="M0 20H40" clip-path="url(#k)"/>'
        '<path id="c2" d="M0 22H40" clip-path="url(#l)"/>',
    ),
    "clipped by several shapes": drawing(
        MM40,
        '<defs><circle id="d" cx="10" cy="10" r="6"/></defs><clipPath id="k">'
        '<use href="#d"/><use href="#d" x="14" y="12"/><rect x="30" y="30"'
        ' width="9" height="9"'
        ' display="none"/></clipPath><path id="c1" d="M2 2L38 34" clip-path="url(#k)"/>'
        '<path id="c2" d="M5 25Q20-5 35 25" clip-path="url(#k)"/>',
    ),
    "clipped by clipped clips": drawing(
        MM40,
        '<clipPath id="m"><rect x="5" y="5" width="20" height="30"/></clipPath>'
        '<clipPath id="n"><rect x="5" y="12" width="35" height="9"/></clipPath>'
        '<clipPath id="k" clip-path="url(#m)"><circle cx="20" cy="20" r="14"'
        ' clip-path="url(#n)"/></clipPath>'
        '<path id="c1" d="M2 14H38" clip-path="url(#k)"/>'
        '<path id="c2" d="M15 2V38" clip-path="url(#k)"/>',
    ),
    "clipped by viewports": drawing(
        MM40,
        '<svg x="5" y="5" width="12" height="10" viewBox="0 0 24 20"><path id="c1" d="M-5'
        ' 5L30 9"/></svg><svg x="22" y="5" width="12" height="10" overflow="visible">'
        '<path id="c2" d="M-5 5L16 9"/></svg>'
        '<svg x="5" y="22" width="12" height="10" viewBox="0 0 10 10"'
        ' preserveAspectRatio="xMidYMid slice"><path id="c3" d="M-5 5L30 6"/>'
        '<path id="c4" d="M5 -5V20"/></svg>',
    ),
    "clipped by a style sheet": drawing(
        MM40,
        "<style>.k{clip-path:url('#k')} .no{clip-path:none} #x{clip-rule:evenodd}</style>"
        '<clipPath id="k"><g/><path id="x" d="M5 5h30v30H5zM12 12h16v16H12z"/></clipPath>'
        '<g class="k"><path id="c1" d="M0 20H39"/></g><path id="c2" class="no"'
        ' clip-path="url(#k)" d="M0 25H39"/><path id="c3" d="M0 30H39"'
        ' clip-path="url(#nothing)"/>',
    ),
}
