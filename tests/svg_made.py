"""How the drawings of the SVG reader's tests are written."""

XMLNS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def drawing(attributes: str, inside: str) -> str:
    """Write one SVG."""
    return f"<svg {XMLNS} {attributes}>{inside}</svg>"


MM40 = 'width="40mm" height="40mm" viewBox="0 0 40 40"'
