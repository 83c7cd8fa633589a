"""Whether two words mean the same thing to the person who typed them."""

import unicodedata


def compared(text: str) -> str:
    """Give a form for comparing only: composed, without case or outer spaces.

    >>> compared(" Ros\u00e9") == compared("rose\u0301")
    True
    """
    folded = unicodedata.normalize("NFC", text).casefold()
    return unicodedata.normalize("NFC", folded).strip()
