"""Whether entities and layers of a DXF cut file say nothing beyond the lines they draw.

What a file says beside a line can move it, mirror it, thicken it or hide it from a
machine's program: an extrusion of -1 draws the mirror image, a layer that is off draws
nothing. Every group code that is not known here is refused (codes and their meanings:
Autodesk DXF reference, "ENTITIES Section" and "LAYER").
"""

import re
from collections.abc import Mapping, Sequence

from personalize.design.design import LineKind
from personalize.errors import WallError

Pair = tuple[int, str]
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]*)?([eE][-+]?[0-9]+)?")
_WHOLE = re.compile(r"-?[0-9]+")
_ANY: frozenset[float] | None = None
_NONE = frozenset({0.0})
_OPEN_OR_CLOSED = frozenset({0.0, 1.0})
_NAMES: Mapping[int, frozenset[float] | None] = {0: _ANY, 5: _ANY, 100: _ANY, 330: _ANY}
_POINT = {10: _ANY, 20: _ANY}
_CODES: Mapping[str, Mapping[int, frozenset[float] | None]] = {
    "LWPOLYLINE": {
        **_NAMES, **_POINT, 8: _ANY, 42: _ANY, 70: _OPEN_OR_CLOSED, 90: _ANY,
    },
    "POLYLINE": {
        **_NAMES, 8: _ANY, 10: _NONE, 20: _NONE, 30: _NONE,
        66: frozenset({1.0}), 70: _OPEN_OR_CLOSED,
    },
    "VERTEX": {**_NAMES, **_POINT, 8: _ANY, 30: _NONE, 70: _NONE},
    "SEQEND": {**_NAMES, 8: _ANY},
    "SPLINE": {
        **_NAMES, **_POINT, 8: _ANY, 30: _NONE, 40: _ANY, 41: _ANY,
        70: frozenset({0.0, 4.0}), 71: _ANY, 72: _ANY, 73: _ANY, 74: _NONE,
    },
}  # fmt: skip
"""Group codes that may stand in each entity, and their values where these are fixed."""
_ONCE = {
    "LWPOLYLINE": (8, 70, 90),
    "POLYLINE": (8, 10, 20, 30, 66, 70),
    "VERTEX": (8, 10, 20, 30, 70),
    "SPLINE": (8, 70, 71, 72, 73, 74),
}
"""Codes of which programs take the first or the last, each as it likes."""
_TEXTS = {0, 5, 8, 100, 330}


def check_plain(entity: Sequence[Pair], file: str) -> None:
    """Refuse an entity that says more than where its line runs.

    Raises WallError; entities of another kind are left to the reader.
    """
    name = entity[0][1]
    allowed = _CODES.get(name)
    if allowed is None:
        return
    codes = [code for code, _ in entity]
    for code, value in entity:
        if code not in allowed:
            raise WallError(f"{file} says {code} = {value!r} of a line, which is not ours.")
        if code in _TEXTS:
            continue
        if not (_NUMBER if code < 60 else _WHOLE).fullmatch(value):
            raise WallError(f"{file} has a number {value!r} in a line.")
        known = allowed[code]
        if known is not None and float(value) not in known:
            raise WallError(f"{file} says {code} = {value!r} of a line, which is not ours.")
    twice = [code for code in _ONCE.get(name, ()) if codes.count(code) > 1]
    if twice:
        raise WallError(f"{file} says {twice[0]} of a line twice.")


def check_layer(entry: Sequence[Pair], file: str) -> None:
    """Refuse a layer of die lines that is off, frozen, locked or dashed.

    Raises WallError; what stands in the tables beside layers is left alone.
    """
    if entry[0][1] != "LAYER":
        return
    values: dict[int, list[str]] = {}
    for code, value in entry:
        values.setdefault(code, []).append(value)
    kinds = {str(kind) for kind in LineKind}
    if not kinds & set(values.get(2, [])):
        return
    plain = {2: 1, 70: 1, 62: 1, 6: 1}
    good = (
        all(len(values.get(code, [])) == count for code, count in plain.items())
        and values[70] == ["0"]
        and not values[62][0].startswith("-")
        and values[6] == ["Continuous"]
        and values.get(290, ["1"]) == ["1"]
    )
    if not good:
        raise WallError(f"{file} has a layer {values[2][0]} that is off or not plain.")
