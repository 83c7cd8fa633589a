"""Layouts that took long to find, kept from run to run (`personalize.cache`).

They go by all that they depend on, our own code among it: numbers are written so that they
come back as the very same, and a run without the cache gives the same bytes.
"""

import json
from collections.abc import Callable
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path

from personalize import cache
from personalize.geometry.affine import Affine
from personalize.geometry.zone import Region
from personalize.sheet.boxes import Arrangement
from personalize.sheet.paper import Rect

_CODE = (
    *("nest", "board", "kit_nest", "kit_blocks", "lattice", "stamps"),
    *("grid", "guillotine", "boxes", "push", "remembered"),
)
"""Modules of this folder that layouts depend on."""
_MORE = ("convex", "zone", "affine")
"""Modules of geometry."""
_LIBRARIES = ("numpy", "shapely")


def remembered(
    question: tuple[object, ...],
    outline: Region,
    make: Callable[[], tuple[Arrangement, ...]],
) -> tuple[Arrangement, ...]:
    """Give what `make` gives, from an earlier run where there was one.

    Parameters
    ----------
    question
        All else that the answer depends on, as values whose `repr` tells them apart.
    outline
        Of the piece, in mm.
    make
        Finds the answer.
    """
    asked = repr((question, outline.outer, outline.holes)).encode()
    key = cache.key_of(b"layout", _code(), asked)
    kept = cache.get(key)
    if kept is not None:
        found = _read(kept)
        if found is not None:
            return found
    made = make()
    cache.put(key, _written(made))
    return made


@lru_cache(maxsize=1)
def _code() -> bytes:
    """Give what layouts are made by, libraries too: another version, another key."""
    here = Path(__file__).parent
    files = [here / f"{name}.py" for name in _CODE]
    files += [here.parent / "geometry" / f"{name}.py" for name in _MORE]
    libraries = [version(name).encode() for name in _LIBRARIES]
    return cache.key_of(*(file.read_bytes() for file in files), *libraries).encode()


def _written(made: tuple[Arrangement, ...]) -> bytes:
    whole = [[[at.tuple for at in one.places], one.boxes] for one in made]
    return json.dumps(whole).encode()


def _read(data: bytes) -> tuple[Arrangement, ...] | None:
    try:
        return tuple(
            Arrangement(
                tuple(Affine(*numbers) for numbers in places),
                tuple(_box(box) for box in boxes),
            )
            for places, boxes in json.loads(data)
        )
    except (ValueError, TypeError):  # not ours
        return None


def _box(numbers: list[float]) -> Rect:
    x0, y0, x1, y1 = numbers
    return (x0, y0, x1, y1)
