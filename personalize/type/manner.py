"""How a design wants its words shaped: direction, features, spacing, hyphens."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from personalize.fonts.glyphs import Glyphs

_CURSIVE = ["Adlm", "Arab", "Chrs", "Mand", "Mani", "Mong", "Nkoo"]
_CURSIVE += ["Ougr", "Phag", "Phlp", "Rohg", "Sogd", "Syrc"]
"""Scripts with letters that join on both sides: Joining_Type in Unicode 16.0."""
_HEADLINED = ["Beng", "Deva", "Guru", "Modi", "Sylo", "Tirh"]
"""Scripts whose letters hang from one line (Unicode 16.0, chapters 12, 13 and 15)."""
JOINED = frozenset(_CURSIVE + _HEADLINED)
"""Scripts whose letters touch: to space them would tear words apart (CSS Text 3, section
8.2, for the first kind; common practice for the second)."""
_UNLIGATED = {"liga": 0, "clig": 0}
"""Ligatures would keep some letters close in a word that is spaced (CSS Text 3, 8.2)."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How a text is shaped, where a design asks for more than its font."""

    direction: str = "auto"
    """"ltr", "rtl", or "auto" for that of the first strong letter."""
    features: tuple[tuple[str, int], ...] = ()
    """OpenType features by tag, with their values (0 is off)."""
    spacing_em: float = 0.0
    """Added between letters, except in joined scripts."""
    hyphenate: bool = False
    typed: str = ""
    """The text as the cell has it, where it is shown in other capitals."""

    def widens(self, script: str) -> bool:
        """Whether letters of a script (an ISO 15924 code) are spaced."""
        return self.spacing_em != 0 and script not in JOINED

    def features_for(self, script: str) -> Mapping[str, int]:
        """Give the features to shape a script with; those asked for by name win."""
        unligated = _UNLIGATED if self.widens(script) else {}
        return unligated | dict(self.features)


PLAIN = Manner()


def spaced(glyphs: Glyphs, letters: Sequence[int], spacing_em: float) -> Glyphs:
    """Widen the last glyph of each letter; `letters` numbers the one of each glyph.

    The last of a line is widened too, which neither ink nor any glyph's place shows.
    """
    following = [*letters[1:], -1][: len(letters)]  # a run of a direction mark has none
    ends = [one != other for one, other in zip(letters, following, strict=True)]
    wider = (a + spacing_em * end for a, end in zip(glyphs.advances, ends, strict=True))
    return replace(glyphs, advances=tuple(wider))
