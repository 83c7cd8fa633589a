"""The two headings that do not hold words for a piece."""

COPIES = "copies"
VERSION = "version"


def reserved(heading: str) -> str | None:
    """Tell which reserved heading this is; None for a heading of words.

    Upper and lower case do not matter: a column headed ``Copies`` that was taken for words
    would give one piece where three were asked for, and nobody would be told.

    >>> reserved("Copies"), reserved("version"), reserved("copies wanted")
    ('copies', 'version', None)
    """
    plain = heading.strip().lower()
    return plain if plain in {COPIES, VERSION} else None
