"""Drawings of our own of what artwork is painted with, one kind of paint or effect each.

Each is 40 by 40 units on a square page. Sources: SVG 2, Filter Effects 1, CSS Masking 1
and Compositing 1, as a browser paints them.
"""

from tests.svg_cases import drawing

PAGE_40 = 'width="160px" height="160px" viewBox="0 0 40 40"'

_LEAF = "M4 20C4 8 20 2 36 4 38 20 32 36 20 36 8 36 4 30 4 20Z"
_PLUMS = (
    '<circle cx="15" cy="15" r="11" fill="#7a2a6b"/>'
    '<circle cx="25" cy="15" r="11" fill="#2f8f5b"/>'
    '<circle cx="20" cy="25" r="11" fill="#d8a12a"/>'
)
CHECK = (
    "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAIAAAACCAIAAAD91JpzAAAAFklEQVR42mOo"
    "0sq+sVCLQb8/+svjgwAm7gZkZwUB8gAAAABJRU5ErkJggg=="
)
_MODES = (
    *("multiply", "screen", "overlay", "darken", "lighten", "color-dodge", "color-burn"),
    *("hard-light", "soft-light", "difference", "exclusion"),
    *("hue", "saturation", "color", "luminosity"),
)

_INSIDE = {
    "linear gradients": '<linearGradient id="a" x2=".5" y2="1" spreadMethod="reflect">'
    '<stop stop-color="#7a2a6b"/><stop offset=".6" stop-color="#f4e3c1"/>'
    '<stop offset="1" stop-color="#2f8f5b" stop-opacity=".3"/></linearGradient>'
    '<linearGradient id="b" href="#a" gradientTransform="rotate(40 .5 .5) scale(.3)"/>'
    '<linearGradient id="c" href="#a" gradientUnits="userSpaceOnUse" x1="5" x2="12"'
    ' spreadMethod="repeat"/><rect width="40" height="12" fill="url(#a)"/>'
    '<rect y="14" width="40" height="12" fill="url(#b)"/>'
    '<path d="M2 33h36" stroke="url(#c)" stroke-width="8"/>',
    "radial gradients": '<radialGradient id="a" fx=".3" fy=".25" r=".6">'
    '<stop stop-color="white"/><stop offset=".5" stop-color="#c63d6f"/>'
    '<stop offset="1" stop-color="#3a1030"/></radialGradient>'
    '<radialGradient id="b" href="#a" gradientUnits="userSpaceOnUse" cx="30" cy="30"'
    ' r="4" fx="31" fy="29" spreadMethod="reflect" gradientTransform="skewX(-12)"/>'
    '<rect width="40" height="18" fill="url(#a)"/>'
    f'<path d="{_LEAF}" transform="translate(0 16) scale(.6)" fill="url(#b)"/>',
    "clip paths": '<clipPath id="a"><circle cx="20" cy="20" r="15"/>'
    '<path d="M0 0H9V9H0Z"/></clipPath><clipPath id="b" clip-path="url(#a)">'
    '<path clip-rule="evenodd" d="M0 0H40V40H0ZM14 14V26H26V14Z"/></clipPath>'
    f'<g clip-path="url(#b)">{_PLUMS}<path d="M0 40L40 0V40Z" fill="#4464aa"/></g>'
    '<clipPath id="c" clipPathUnits="objectBoundingBox"><path d="M0 0L1 .5L0 1Z"/>'
    '</clipPath><rect x="30" y="30" width="9" height="9" clip-path="url(#c)"/>',
    "masks": '<linearGradient id="g"><stop stop-color="black"/>'
    '<stop offset="1" stop-color="white"/></linearGradient><mask id="a">'
    '<rect width="40" height="40" fill="url(#g)"/></mask>'
    '<mask id="b" style="mask-type:alpha"><circle cx="20" cy="30" r="9"'
    ' fill-opacity=".6"/></mask><g mask="url(#a)"><rect width="40" height="20"'
    f' fill="#7a2a6b"/>{_PLUMS}</g><rect y="20" width="40" height="20" fill="#2f8f5b"'
    ' mask="url(#b)"/>',
    "patterns": '<pattern id="a" width="6" height="6" patternUnits="userSpaceOnUse"'
    ' patternTransform="rotate(30)"><rect width="6" height="6" fill="#f4e3c1"/>'
    '<circle cx="3" cy="3" r="2" fill="#7a2a6b"/></pattern>'
    '<pattern id="b" width=".25" height=".5" viewBox="0 0 4 4"><path d="M0 0L4 4"'
    ' stroke="#2f8f5b"/></pattern><rect width="40" height="20" fill="url(#a)"/>'
    '<circle cx="20" cy="30" r="9" fill="url(#b)" stroke="url(#a)" stroke-width="3"/>',
    "opacity of groups": '<rect width="40" height="18" fill="#f4e3c1"/>'
    f'<g opacity=".5">{_PLUMS}</g><g opacity=".6"><g opacity=".5" transform="scale(.4)">'
    f"{_PLUMS}</g></g>"
    '<path d="M2 36h36" stroke="#c63d6f" stroke-width="6" stroke-opacity=".4"/>',
    "strokes": '<g fill="none" stroke="#3a1030" stroke-width="3">'
    '<path d="M3 4h34" stroke-dasharray="5 2 0 2" stroke-linecap="round"/>'
    '<path d="M4 16L12 9L20 16L28 9L36 16" stroke-linejoin="round"/>'
    '<path d="M4 26L12 19L20 26" stroke-linejoin="bevel"/>'
    '<path d="M24 26L28 19L32 26" stroke-miterlimit="1.1"/></g>'
    '<circle cx="12" cy="33" r="4" fill="#2f8f5b" stroke="#d8a12a" stroke-width="3"'
    ' paint-order="stroke"/><path d="M24 33h12" stroke="#c63d6f" stroke-width="4"'
    ' stroke-dasharray="3 1" stroke-dashoffset="2" transform="rotate(-8 30 33)"/>',
    "markers": '<marker id="m" markerWidth="4" markerHeight="4" refX="2" refY="2"'
    ' orient="auto-start-reverse" viewBox="0 0 4 4"><path d="M0 0L4 2L0 4Z"'
    ' fill="#c63d6f"/></marker><marker id="n" markerWidth="3" markerHeight="3" refX="1.5"'
    ' refY="1.5"><circle cx="1.5" cy="1.5" r="1.5" fill="#2f8f5b"/></marker>'
    '<path d="M6 30C10 4 30 4 34 30L20 34" fill="none" stroke="#3a1030"'
    ' marker-start="url(#m)" marker-mid="url(#n)" marker-end="url(#m)"/>',
    "images": f'<image href="{CHECK}" width="20" height="20" image-rendering="pixelated"/>'
    f'<image href="{CHECK}" x="22" y="2" width="16" height="8"'
    ' image-rendering="pixelated" preserveAspectRatio="xMaxYMid slice"/>'
    f'<image href="{CHECK}" x="22" y="12" width="16" height="8" opacity=".5"'
    ' image-rendering="pixelated"/>'
    f'<image href="{CHECK}" x="12" y="16" width="12" height="12"'
    ' image-rendering="pixelated" transform="rotate(30 20 28)"/>',
    "text": '<text x="20" y="12" font-family="Nunito" font-weight="700" font-size="7"'
    ' text-anchor="middle" fill="#3a1030">Plum Lane</text><path id="w" fill="none"'
    ' d="M5 34Q20 12 35 34"/><text font-family="Nunito" font-weight="700" font-size="5"'
    ' fill="#2f8f5b" letter-spacing=".3"><textPath href="#w">harvest picnic'
    '</textPath></text><text x="3" y="38" font-family="Nunito" font-weight="700"'
    ' font-size="5"><tspan fill="#c63d6f">Jam</tspan> <tspan dy="-2" font-size="3.5">and'
    "</tspan> <tspan dy=\"2\" stroke='#000' stroke-width='.2' fill='none'>honey</tspan>"
    "</text>",
    "blend modes": '<rect width="40" height="40" fill="#f4e3c1"/>'
    '<path d="M0 0H40L0 40Z" fill="#8e5aa0"/>'
    + "".join(
        f'<rect x="{1 + i % 4 * 10}" y="{1 + i // 4 * 10}" width="8" height="8"'
        f' fill="#4fa36b" style="mix-blend-mode:{mode}"/>'
        for i, mode in enumerate(_MODES)
    ),
    "blend in an isolated group": '<rect width="40" height="40" fill="#d8a12a"/>'
    '<g style="isolation:isolate"><circle cx="14" cy="20" r="11" fill="#7a2a6b"/>'
    '<circle cx="26" cy="20" r="11" fill="#2f8f5b" style="mix-blend-mode:multiply"/></g>'
    '<g opacity=".7"><rect x="4" y="32" width="20" height="6" fill="#4464aa"/>'
    '<rect x="14" y="30" width="20" height="6" fill="#c63d6f"'
    ' style="mix-blend-mode:screen"/></g>',
    "blur and shadow": '<filter id="a"><feGaussianBlur stdDeviation="1.5"/></filter>'
    '<filter id="b" x="-.5" y="-.5" width="2" height="2"><feDropShadow dx="1.5" dy="2"'
    ' stdDeviation="1" flood-color="#3a1030" flood-opacity=".7"/></filter>'
    '<rect width="40" height="40" fill="#f4e3c1"/>'
    '<g transform="rotate(10 20 20) translate(2 2)" opacity=".9">'
    '<circle cx="12" cy="12" r="7" fill="#c63d6f" filter="url(#a)"/></g>'
    f'<g filter="url(#b)" transform="translate(16 14) scale(.55)">{_PLUMS}</g>',
    "filters of colour": '<filter id="a"><feColorMatrix type="hueRotate" values="90"/>'
    '</filter><filter id="b" color-interpolation-filters="sRGB"><feComponentTransfer>'
    '<feFuncR type="gamma" exponent=".5"/><feFuncG type="discrete" tableValues="0 .5 1"/>'
    '</feComponentTransfer></filter><filter id="c"><feMorphology operator="dilate"'
    ' radius=".8"/></filter>'
    f'<g transform="scale(.5)" filter="url(#a)">{_PLUMS}</g>'
    f'<g transform="translate(20) scale(.5)" filter="url(#b)">{_PLUMS}</g>'
    f'<g transform="translate(0 20) scale(.5)" filter="url(#c)">{_PLUMS}</g>'
    '<g transform="translate(20 20) scale(.5)" style="mix-blend-mode:multiply"'
    f' filter="url(#a)">{_PLUMS}</g>',
    "filters in symbols and clips": '<filter id="a"><feGaussianBlur stdDeviation="2 .5"/>'
    '</filter><symbol id="s" viewBox="0 0 40 40"><g clip-path="url(#k)">'
    f'<g filter="url(#a)">{_PLUMS}</g></g></symbol><clipPath id="k">'
    f'<path d="{_LEAF}"/></clipPath><use href="#s" width="22" height="22"/>'
    '<use href="#s" x="18" y="18" width="20" height="20" opacity=".6"/>',
    "gradients under opacity and clips": '<linearGradient id="a"><stop'
    ' stop-color="#7a2a6b" stop-opacity="0"/><stop offset="1" stop-color="#7a2a6b"/>'
    f'</linearGradient><clipPath id="k"><path d="{_LEAF}"/></clipPath>'
    '<rect width="40" height="40" fill="#2f8f5b" opacity=".4"/><g clip-path="url(#k)"'
    ' opacity=".8"><rect width="40" height="40" fill="url(#a)"/><circle cx="20" cy="20"'
    ' r="8" fill="url(#a)" transform="rotate(90 20 20)"/></g>',
}

DRAWINGS = {name: drawing(PAGE_40, inside) for name, inside in _INSIDE.items()}
"""Drawings by what is in them."""
