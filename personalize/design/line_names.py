"""What a line is for, told by its name: our own words in ids, classes and labels."""

import re
from collections.abc import Sequence
from enum import StrEnum
from itertools import pairwise

from personalize.design.design import LineKind


class Other(StrEnum):
    """What a thing in a drawing is when no tool follows it."""

    TEXT_AREA = "text area"
    """A shape that says where words stand; neither cut nor printed."""
    ARTWORK = "artwork"
    IGNORE = "ignore"


Kind = LineKind | Other

_INNER = frozenset({"slit", "slits", "notch", "notches"})
"""Cut lines that are no outline."""
_NAMES: dict[Kind, frozenset[str]] = {
    Other.TEXT_AREA: frozenset(
        first + second
        for first in ("text", "name", "names", "word", "words")
        for second in ("area", "box", "field", "frame", "zone")
    ),
    LineKind.PARTIAL_CUTTING: frozenset({"kiss", "partial", "halfcut"}),
    LineKind.CREASING: frozenset(
        {"crease", "creases", "creasing", "fold", "folds", "score", "scores", "foldline"}
    ),
    LineKind.PERFORATING: frozenset({"perforation", "perforating", "perf", "tear"}),
    LineKind.GLUING: frozenset({"glue", "gluing", "adhesive"}),
    LineKind.CUTTING: frozenset(
        {"cut", "cuts", "cutting", "edge", "outline", "knife", "hole", "holes", "cutline"}
        | _INNER
    ),
    Other.ARTWORK: frozenset({"art", "artwork", "picture", "print", "decoration"}),
    Other.IGNORE: frozenset({"guide", "guides", "dimension", "dimensions", "margin"}),
}
"""Our own words for lines, looked for in ids, classes and labels; the first kind counts
(a kiss cut is no cut)."""
_WORD = re.compile(r"[A-Z]?[a-z]+|[A-Z]+")


def named(names: Sequence[str]) -> Kind | None:
    """Say what kind of line the first name with a word of ours tells of.

    >>> named(["Fold_x5F_2"]), named(["Layer 1", "cutLines"]), named(["leaf"])
    (<LineKind.CREASING: 'Creasing'>, <LineKind.CUTTING: 'Cutting'>, None)
    >>> named(["text-area 1"])
    <Other.TEXT_AREA: 'text area'>
    """
    for name in names:
        found = [word.casefold() for word in _WORD.findall(name)]
        if found in (["name"], ["names"], ["words"]):
            return Other.TEXT_AREA
        words = {*found, name.casefold(), *(a + b for a, b in pairwise(found))}
        for kind, known in _NAMES.items():
            if words & known:
                return kind
    return None


def is_inner(names: Sequence[str]) -> bool:
    """Whether names tell of a hole or slit: a cut line that is no outline.

    >>> is_inner(["slit-2"]), is_inner(["edge"])
    (True, False)
    """
    words = {word.casefold() for name in names for word in _WORD.findall(name)}
    return bool(words & (_INNER | {"hole", "holes"}))
