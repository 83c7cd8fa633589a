"""The headings that do not hold words for a piece."""

import re
from difflib import get_close_matches

COPIES = "copies"
VERSION = "version"
TEXT_COLOUR = "text_colour"
PICTURE = "picture"
RESERVED = (COPIES, VERSION, TEXT_COLOUR, PICTURE)


def reserved(heading: str) -> str | None:
    """Tell which reserved heading this is; None for a heading of words.

    Upper and lower case do not matter: a column headed ``Copies`` that was taken for words
    would give one piece where three were asked for, and nobody would be told.

    >>> reserved("Copies"), reserved("version"), reserved("copies wanted")
    ('copies', 'version', None)
    """
    plain = heading.strip().lower()
    return plain if plain in RESERVED else None


# What makers write for them (common practice, no source), without signs and spaces.
# Those under False may as well head a column of words.
_NEAR = {
    (COPIES, True): (
        "copy", "copys", "copie", "copies", "qty", "quantity", "howmany", "pcs", "nocopies",
        "noofcopies", "numberofcopies", "numofcopies", "copiesneeded", "copieswanted",
        "copycount", "ofcopies", "noofpieces", "numberofpieces",
    ),
    (COPIES, False): ("count", "number", "amount", "pieces", "no", "nr", "times", "total"),
    (VERSION, True): (
        "ver", "vers", "versions", "version", "versionno", "designversion", "colourversion",
        "colorversion", "variant",
    ),
    (TEXT_COLOUR, True): (
        "textcolour", "textcolor", "colouroftext", "coloroftext", "inkcolour", "inkcolor",
        "lettercolour", "lettercolor", "fontcolour", "fontcolor",
    ),
    (TEXT_COLOUR, False): ("colour", "color", "ink"),
    (PICTURE, True): ("pictures", "picturefile", "photo", "photofile", "imagefile"),
    (PICTURE, False): ("image", "photograph"),
}  # fmt: skip
_NO_LETTERS = re.compile(r"[\W_]+")


def near(heading: str) -> tuple[str | None, bool]:
    """Tell which reserved heading another one comes near to, and whether surely.

    >>> near("Number of copies"), near("coppies"), near("Count"), near("name")
    (('copies', True), ('copies', True), ('copies', False), (None, False))
    """
    plain = _NO_LETTERS.sub("", heading).casefold()
    for (kind, sure), words in _NEAR.items():
        if plain in words:
            return kind, sure
    slip = get_close_matches(plain, RESERVED, 1, 0.85)
    return (slip[0], True) if slip else (None, False)
