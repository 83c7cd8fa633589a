"""How large a fallback font is set, so that its letters go with those of the design's own.

All heights are measured from outlines. Limits and rules are our judgement.
"""

from functools import lru_cache

from personalize.fonts.catalogue import Font

SMALLEST, LARGEST = 0.8, 1.25
"""A font that would have to be changed more was not meant to stand beside the other."""
_LOW_LETTER = {"Latn": "x", "Grek": "ν", "Cyrl": "х", "Armn": "ս", "Geor": "ა"}
"""A letter with a flat top at the x-height, for scripts that have one."""
_USUAL_CAP_EM = 0.714
"""Height of H in the Noto family, which our emoji and symbols are drawn to go with."""


@lru_cache(maxsize=1024)
def match_scale(own: Font, other: Font, script: str) -> float:
    """Give the size of a fallback font where the design's own font is 1.

    - Scripts with an x-height (Latin, Greek, Cyrillic, Armenian, Georgian): the same
      x-height as the design's font, measured on a letter of that script.
    - Other scripts: the same middle between x-height and capitals, measured on the Latin
      letters that the fallback's makers drew to go with theirs. Letters of most scripts
      end near there (measured in the bundled fonts: 0.63 em, Devanagari 0.62, Hebrew
      0.60, Thai 0.56, Ethiopic 0.71).
    - Emoji and symbols: in proportion with the capitals.

    1 where there is nothing to measure; never outside `SMALLEST` to `LARGEST`.
    """
    if own == other or not own.face.nominal("x") or not own.face.nominal("H"):
        return 1.0
    face, theirs = own.face, other.face
    ratio = 1.0
    if other.role == "emoji" or other.scripts == ("Zsym",):
        ratio = face.cap_height / _USUAL_CAP_EM
    elif script in _LOW_LETTER:
        low = theirs.top_of(_LOW_LETTER[script]) or theirs.top_of("x")
        ratio = face.x_height / low if low else 1.0
    else:
        low, high = theirs.top_of("x"), theirs.top_of("H")
        if low and high:
            ratio = (face.x_height + face.cap_height) / (low + high)
    return round(min(max(ratio, SMALLEST), LARGEST), 3)
