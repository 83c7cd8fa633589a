"""A strict reader of the SPLINE entities of our DXF cut files, for the wall."""

import math
from collections.abc import Sequence

import numpy as np

from personalize.design.design import LineKind
from personalize.errors import WallError
from personalize.geometry.affine import Points
from personalize.geometry.path import Contour, polyline

_FINE_MM = 0.0005


def read_spline(entity: Sequence[tuple[int, str]], file: str) -> tuple[LineKind, Contour]:
    """Give kind and line of a spline, in chords.

    It must be cubic Bézier pieces, one after the other: knots 0 four times, then each
    whole number thrice, the last four times. That it has no fit points and no tangents
    is seen to by `check_plain`.
    """
    values: dict[int, list[str]] = {}
    for code, value in entity:
        values.setdefault(code, []).append(value)
    try:
        kind = LineKind(values[8][0])
        knots = [float(v) for v in values[40]]
        points = np.array([values[10], values[20]], dtype=float).T
        weights = np.array(values.get(41, ["1"] * len(points)), dtype=float)
        counts = [int(values[code][0]) for code in (71, 72, 73)]
    except (KeyError, ValueError):
        raise WallError(f"{file} has a line that cannot be read.") from None
    pieces = (len(points) - 1) // 3
    wanted = [0.0] * 4 + [float(i) for i in range(1, pieces) for _ in range(3)]
    wanted += [float(pieces)] * 4
    whole = (
        counts == [3, len(knots), len(points)]
        and pieces >= 1
        and len(points) == 3 * pieces + 1 == len(weights)
        and knots == wanted
        and np.isfinite(points).all()
        and (weights > 0.1).all()
        and (weights <= 1).all()
    )
    if not whole:
        raise WallError(f"{file} has a curve that is not of our kind.")
    chords = [points[:1]]
    for i in range(0, 3 * pieces, 3):
        chords.append(_chords(points[i : i + 4], weights[i : i + 4]))
    line = [(float(x), float(y)) for x, y in np.concatenate(chords)]
    closed = math.dist(line[0], line[-1]) <= 1e-5
    return kind, polyline(line[:-1] if closed else line, closed=closed)


def _chords(p: Points, w: Points) -> Points:
    bend = max(np.hypot(*(p[i] - 2 * p[i + 1] + p[i + 2])) for i in (0, 1))
    # Twice what a curve without weights would need.
    count = max(2, 2 * math.ceil(math.sqrt(6 * bend / (8 * _FINE_MM))))
    t = np.linspace(0, 1, count + 1)[1:, None]
    basis = np.hstack([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3]) * w
    out: Points = (basis @ p) / basis.sum(axis=1, keepdims=True)
    return out
