"""Whether two words mean the same thing to the person who typed them."""

import re
import unicodedata


def compared(text: str) -> str:
    """Give a form for comparing only: composed, without case or outer spaces.

    >>> compared(" Ros\u00e9") == compared("rose\u0301")
    True
    """
    folded = unicodedata.normalize("NFC", text).casefold()
    return unicodedata.normalize("NFC", folded).strip()


def names_in(cell: str) -> tuple[str, ...]:
    """Split a cell that names versions of several designs.

    >>> names_in("plum, kraft"), names_in(" ")
    (('plum', 'kraft'), ())
    """
    return tuple(part.strip() for part in re.split("[,;]", cell) if part.strip())
