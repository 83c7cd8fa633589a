"""A window of an artwork: what lies outside it is not seen."""

from lxml import etree

from personalize.design.svg_xml import SVG
from personalize.geometry.zone import Region
from personalize.units import number


def window(
    page: etree._Element, seen: Region, box_mm: tuple[float, float, float, float]
) -> etree._Element:
    """Give a group of the page that shows nothing outside a region."""
    x0, _, _, y1 = box_mm
    data = "".join(
        "M" + " ".join(f"{number(x - x0)} {number(y1 - y)}" for x, y in ring) + "Z"
        for ring in seen.rings()
    )
    key = "personalize-piece"
    defs = etree.SubElement(page, f"{{{SVG}}}defs")
    clip = etree.SubElement(defs, f"{{{SVG}}}clipPath", id=key)
    etree.SubElement(clip, f"{{{SVG}}}path", {"clip-rule": "evenodd", "d": data})
    return etree.SubElement(page, f"{{{SVG}}}g", {"clip-path": f"url(#{key})"})
