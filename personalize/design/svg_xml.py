"""XML that is safe to read: no outside file, no network, no document that explodes.

Everything that reaches a renderer has been through here first. Measured on hostile
files: renderers abort the whole process on nested entities and on deep nesting, and take
minutes over a chain of ``use``; lxml refuses the first two, `expanded` the third.
"""

import base64
import re
from collections.abc import Iterator
from typing import Any

from lxml import etree

from personalize.errors import InputError, Problem, refuse

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
XML = "http://www.w3.org/XML/1998/namespace"

MAX_BYTES = 50 * 1024 * 1024
"""Largest file read. Judgement: ten times the largest kit file that we have met."""
MAX_TEXT = 20 * 1024 * 1024
"""Most characters of drawing in it, pictures left out: half a minute of reading."""
MAX_INSTANCES = 100_000
"""Most elements that ``use`` and ``url(#...)`` may add to a file by repetition; a shape
with long coordinates counts as one for every `PER_ELEMENT` characters of them."""
PER_ELEMENT = 200
MAX_DEPTH = 256
"""Deepest nesting, through ``use`` too: what lxml allows, and renderers survive."""

MAX_PICTURE_PX = 100_000_000
"""Largest picture inside a drawing: 100 megapixels, 400 MB once it is unpacked."""

_PAINT = frozenset({"linearGradient", "radialGradient", "filter"})
"""What is set up once for each element that uses it, not drawn again."""
_LOCAL_URL = re.compile(r"url\(\s*[\"']?\s*#([^\"')]+?)\s*[\"']?\s*\)", re.IGNORECASE)
_DATA = re.compile(r"data:image/(png|jpe?g)[^,]*;base64,", re.IGNORECASE)


def local(element: etree._Element) -> str:
    """Name of an SVG element without its namespace; "" for any other element."""
    tag = element.tag
    if isinstance(tag, str) and tag.startswith("{" + SVG + "}"):
        return tag[len(SVG) + 2 :]
    return ""


def href(element: etree._Element) -> str | None:
    """Link of an element: ``href`` wins over ``xlink:href`` (SVG 2 chapter 16)."""
    link = element.get("href")
    if link is None:
        link = element.get(f"{{{XLINK}}}href")
    return None if link is None else str(link).strip()


def line_of(element: etree._Element) -> int:
    """Line of the file on which an element begins; 0 when not known."""
    line: Any = element.sourceline
    return int(line or 0)


def drop(element: etree._Element, *names: str) -> None:
    """Take attributes off an element that may have them."""
    for name in names:
        if name in element.attrib:
            del element.attrib[name]


def safe_root(data: bytes, name: str) -> etree._Element:
    """Parse an SVG file that nobody vouches for.

    Parameters
    ----------
    data
        The file as it is: any encoding that XML can declare.
    name
        Bare file name, for the sentences.

    Returns
    -------
    etree._Element
        The ``svg`` element, without comments and processing instructions; its DOCTYPE
        has been used for internal entities and must not be written again.

    Raises
    ------
    InputError
        Too large, not XML, not SVG, an entity from outside, nested too deep.
    """
    if len(data) > MAX_BYTES:
        raise refuse(
            name,
            f"the file has {len(data) // 1024 // 1024} MB; the most is 50 MB.",
            "Make the pictures inside it smaller.",
        )
    if data.startswith(b"\x1f\x8b"):
        raise refuse(name, "the file is compressed.", "Save it as plain SVG.")
    parser = etree.XMLParser(
        resolve_entities="internal",  # type: ignore[arg-type]  # the stubs know bool only
        no_network=True,
        load_dtd=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise _not_read(error, data, name) from None
    except (ValueError, LookupError) as error:
        raise refuse(
            name, f"the file cannot be read ({error}).", "Save it again as SVG."
        ) from None
    _refuse_outside_entities(root, name)
    _adopt(root)
    _refuse_bulk(root, name)
    if local(root) != "svg":
        raise refuse(
            name,
            f"this is not an SVG drawing: it begins with <{_short(root)}>.",
            "Save the drawing as SVG.",
        )
    return root


def _short(element: etree._Element) -> str:
    return etree.QName(element).localname[:40]


def _not_read(error: etree.XMLSyntaxError, data: bytes, name: str) -> InputError:
    says = str(error.msg or "")
    line = error.lineno or 0
    place = f"{name}, line {line}" if line > 0 else name
    if b"<!ENTITY" in data and ("SYSTEM" in _head(data) or "PUBLIC" in _head(data)):
        return _outside(name)
    if "amplification" in says or ("entity" in says.lower() and "loop" in says):
        return InputError(
            Problem(
                place,
                "entities in the file unfold to far more text than it holds.",
                "Save the drawing again as plain SVG, without entities.",
            )
        )
    if "depth" in says.lower():
        return InputError(
            Problem(
                place,
                f"groups are nested more than {MAX_DEPTH} deep.",
                "Ungroup the drawing and save it again.",
            )
        )
    if not data.strip():
        return InputError(Problem(name, "the file is empty.", "Save the drawing again."))
    if "limit" in says.lower():
        return InputError(
            Problem(
                place,
                "a picture or a path in the file has more than 10 MB.",
                "Make the pictures inside it smaller.",
            )
        )
    if not data.lstrip(_BLANK).startswith(b"<"):
        return refuse(place, "this is no SVG drawing.", "Give the drawing, saved as SVG.")
    return refuse(place, "the drawing is cut off or damaged here.", "Save it again as SVG.")


_BLANK = b" \t\r\n\0\xef\xbb\xbf\xff\xfe"
"""What may stand before the first tag: spaces, and marks of an encoding."""


def _head(data: bytes) -> str:
    start = data.find(b"<!ENTITY")
    return data[start : start + 4000].split(b"]>")[0].decode("latin-1")


def _outside(name: str) -> InputError:
    return refuse(
        name,
        "an entity in the file asks for another file or an address.",
        "Save the drawing as plain SVG, complete in itself.",
    )


def _refuse_outside_entities(root: etree._Element, name: str) -> None:
    """Refuse an entity declared as SYSTEM or PUBLIC, even one that nothing uses."""
    internal = root.getroottree().docinfo.internalDTD
    if internal is None:
        return
    entities: Any = internal  # the stubs do not know iterentities
    for entity in entities.iterentities():
        if entity.content is None:
            raise _outside(name)


def _refuse_bulk(root: etree._Element, name: str) -> None:
    size = 0
    for element in root.iter():
        size += len(element.text or "")
        size += sum(len(v) for v in element.attrib.values() if str(v)[:5] != "data:")
    if size > MAX_TEXT:
        raise refuse(
            name,
            f"the drawing holds {size // 1024 // 1024} MB of coordinates and text;"
            f" the most is {MAX_TEXT // 1024 // 1024} MB.",
            "Simplify its paths.",
        )


def _adopt(root: etree._Element) -> None:
    """Put elements into the SVG namespace where a file forgot to name any.

    Elements that come out of an entity have none either.
    """
    for element in root.iter():
        if isinstance(element.tag, str) and not element.tag.startswith("{"):
            element.tag = f"{{{SVG}}}{element.tag}"


def picture_fault(link: str) -> str | None:
    """Say why a linked picture is not used; None for a PNG or JPEG inside the file."""
    match = _DATA.match(link)
    if match is None:
        return "a picture inside the file that is neither PNG nor JPEG"
    try:
        data = base64.b64decode(link[match.end() :])
    except ValueError:
        return "a picture that cannot be read"
    size = _png_size(data) or _jpeg_size(data)
    if size is None:
        return "a picture that cannot be read"
    if size[0] * size[1] > MAX_PICTURE_PX:
        return f"a picture of {size[0]:,} x {size[1]:,} pixels, which is too large"
    return None


def _png_size(data: bytes) -> tuple[int, int] | None:
    """Width and height from the header (PNG specification, section 11.2.1)."""
    if data[:8] != b"\x89PNG\r\n\x1a\n" or data[12:16] != b"IHDR":
        return None
    return int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big")


def _jpeg_size(data: bytes) -> tuple[int, int] | None:
    """Width and height from the frame header (ITU-T T.81, annex B.2.2)."""
    if data[:2] != b"\xff\xd8":
        return None
    at = 2
    while at + 9 <= len(data) and data[at] == 0xFF:
        kind = data[at + 1]
        if kind == 0xFF:
            at += 1  # fill bytes may stand before a marker
            continue
        if 0xC0 <= kind <= 0xCF and kind not in (0xC4, 0xC8, 0xCC):
            high, wide = data[at + 5 : at + 7], data[at + 7 : at + 9]
            return int.from_bytes(wide, "big"), int.from_bytes(high, "big")
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return None


def local_urls(text: str) -> Iterator[str]:
    """Ids that ``url(#id)`` names in a CSS or attribute value."""
    if "url(" in text.lower():
        yield from _LOCAL_URL.findall(text)


def check_expansion(
    elements: list[etree._Element],
    links: list[list[int]],
    name: str,
) -> None:
    """Refuse links that go round in a ring, or that unfold to too many elements.

    Counted, not unfolded: one pass over elements and links, however large the result.

    Parameters
    ----------
    elements
        All elements in document order.
    links
        For each of them, the elements (by place in that order) that it draws by ``use``
        or ``url(#...)``.

    Raises
    ------
    InputError
        With the line of the element at fault.
    """
    place = {element: i for i, element in enumerate(elements)}
    children = [[place[child] for child in element] for element in elements]
    weight = [1 + _coordinates(element) // PER_ELEMENT for element in elements]
    size, linked, depth = list(weight), [0] * len(elements), [0] * len(elements)
    for i in _post_order(elements, children, links, name):
        linked[i] = sum(1 if local(elements[j]) in _PAINT else size[j] for j in links[i])
        size[i] += linked[i] + sum(size[j] for j in children[i])
        depth[i] = 1 + max((depth[j] for j in children[i] + links[i]), default=0)
        if depth[i] > MAX_DEPTH:
            raise refuse(
                _at(name, elements[i]),
                f"groups and linked copies are nested more than {MAX_DEPTH} deep.",
                "Ungroup the drawing and save it again.",
            )
    if size[0] - sum(weight) > MAX_INSTANCES:
        worst = max(range(len(elements)), key=linked.__getitem__)
        raise refuse(
            _at(name, elements[worst]),
            f"links inside the file repeat it more than {MAX_INSTANCES:,} times.",
            "Save the drawing with fewer linked copies.",
        )


def _coordinates(element: etree._Element) -> int:
    return max(len(element.get("d") or ""), len(element.get("points") or ""))


def _post_order(
    elements: list[etree._Element],
    children: list[list[int]],
    links: list[list[int]],
    name: str,
) -> Iterator[int]:
    """Elements below before those above; InputError where the way leads back."""
    state = bytearray(len(elements))  # 0 new, 1 open, 2 done
    for first in range(len(elements)):
        stack = [first]
        while stack:
            i = stack[-1]
            if state[i]:
                stack.pop()
                if state[i] == 1:
                    state[i] = 2
                    yield i
                continue
            state[i] = 1
            for j in reversed(children[i] + links[i]):
                if state[j] == 1:
                    raise refuse(
                        _at(name, elements[i]),
                        "a link in the file leads back to itself.",
                        "Remove the linked copy that contains itself.",
                    )
                if state[j] == 0:
                    stack.append(j)


def _at(name: str, element: etree._Element) -> str:
    line = line_of(element)
    return f"{name}, line {line}" if line else name
