"""Font files cut down to some letters: what a renderer cannot take, it does not take."""

import io
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from fontTools.ttLib import TTFont

from personalize.fonts.files import unpacked


@dataclass(frozen=True, slots=True)
class PartOfFont:
    """A font of a file, for some letters alone."""

    path: Path
    index: int
    letters: str
    """Sorted."""

    def data(self) -> bytes:
        """Give it as TrueType or OpenType, its names and its features kept."""
        return _cut_down(self)


@lru_cache(maxsize=64)
def _cut_down(part: PartOfFont) -> bytes:
    # Here: few runs have words in artwork, and it takes a tenth of the start.
    from fontTools import subset

    options = subset.Options()
    options.layout_features = ["*"]
    options.name_IDs = ["*"]
    options.hinting = False
    options.notdef_outline = True
    options.recalc_timestamp = False
    font = TTFont(
        io.BytesIO(unpacked(part.path)), fontNumber=part.index, recalcTimestamp=False
    )
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=[ord(letter) for letter in part.letters])
    cutter.subset(font)
    out = io.BytesIO()
    font.flavor = None
    font.save(out, reorderTables=None)
    return out.getvalue()
