"""Lines along which a raster passes a level: marching squares with interpolation.

Squares between four samples are looked at one by one; where opposite corners agree and
neighbours do not, the mean of the four says how they are joined (Lorensen and Cline 1987,
in two dimensions).
"""

import numpy as np
from numpy.typing import NDArray

from personalize.geometry.affine import Points

MOST_CROSSINGS = 3_000_000
"""More steps than the edge of any picture has that can be cut out: noise."""

# Sides of a square: 0 top, 1 right, 2 bottom, 3 left. By the corners that are inside (1
# top left, 2 top right, 4 bottom right, 8 bottom left): from which side to which the line
# runs with the inside on its left.
_Table = dict[int, tuple[tuple[int, int], ...]]
_RUNS: _Table = {
    1: ((3, 0),),
    2: ((0, 1),),
    3: ((3, 1),),
    4: ((1, 2),),
    6: ((0, 2),),
    7: ((3, 2),),
    8: ((2, 3),),
    9: ((2, 0),),
    11: ((2, 1),),
    12: ((1, 3),),
    13: ((1, 0),),
    14: ((0, 3),),
}
_APART: _Table = {5: ((3, 0), (1, 2)), 10: ((0, 1), (2, 3))}
_JOINED: _Table = {5: ((1, 0), (3, 2)), 10: ((0, 3), (2, 1))}


def level_rings(samples: NDArray[np.uint8], level: float) -> tuple[Points, ...]:
    """Trace where samples pass a level, as closed rings.

    Parameters
    ----------
    samples
        Shape (rows, columns), seen as standing in the middle of each pixel. Past its
        edges all is 0.
    level
        Above 0, and no whole number: then no sample lies on it.

    Returns
    -------
    tuple
        Rings of shape (n, 2) in pixels: x to the right, y up from the lower left corner.
        Those round an inside run counter-clockwise, those round a hole clockwise.

    Raises
    ------
    ValueError
        There are more than `MOST_CROSSINGS` steps.
    """
    field = np.pad(samples, 1)
    inside = field > level
    kinds = (
        inside[:-1, :-1]
        + 2 * inside[:-1, 1:].astype(np.uint8)
        + 4 * inside[1:, 1:].astype(np.uint8)
        + 8 * inside[1:, :-1].astype(np.uint8)
    )
    rows, columns = np.nonzero((kinds != 0) & (kinds != 15))
    if len(rows) > MOST_CROSSINGS:
        raise ValueError("the edge is too ragged")
    if not len(rows):
        return ()
    starts, ends = _steps(field, kinds[rows, columns], rows, columns, level)
    order = np.argsort(starts)
    starts, ends = starts[order], ends[order]
    # Each side that is crossed is left once and reached once.
    following = np.searchsorted(starts, ends)
    places = _places(field, starts, level)
    high = samples.shape[0]
    return tuple(
        np.column_stack([ring[:, 0] - 0.5, high - (ring[:, 1] - 0.5)])
        for ring in (places[turn] for turn in _turns(following))
    )


def _steps(
    field: NDArray[np.uint8],
    kinds: NDArray[np.uint8],
    rows: NDArray[np.intp],
    columns: NDArray[np.intp],
    level: float,
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Give every step as the numbers of the sides that it leaves and reaches."""
    wide = field.shape[1]
    at = rows.astype(np.int64) * wide + columns
    # A side's number: twice that of its first sample, plus 1 where it goes down.
    sides = np.stack([2 * at, 2 * (at + 1) + 1, 2 * (at + wide), 2 * at + 1])
    corners = sum(
        field[rows + down, columns + right].astype(float)
        for down in (0, 1)
        for right in (0, 1)
    )
    is_joined = corners / 4 > level
    starts, ends = [], []
    tables = [
        (_RUNS, np.ones(len(kinds), bool)),
        (_APART, ~is_joined),
        (_JOINED, is_joined),
    ]
    for table, taken in tables:
        for kind, runs in table.items():
            here = (kinds == kind) & taken
            for start, end in runs:
                starts.append(sides[start, here])
                ends.append(sides[end, here])
    return np.concatenate(starts), np.concatenate(ends)


def _places(
    field: NDArray[np.uint8], sides: NDArray[np.int64], level: float
) -> NDArray[np.float64]:
    """Find where the level is passed on each side, in samples from the first."""
    wide = field.shape[1]
    flat = field.ravel()
    first = sides // 2
    down = sides % 2
    a = flat[first].astype(float)
    b = flat[first + np.where(down == 1, wide, 1)].astype(float)
    share = (level - a) / (b - a)
    x = first % wide + np.where(down == 0, share, 0)
    y = first // wide + np.where(down == 1, share, 0)
    return np.column_stack([x, y])


def _turns(following: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    """Follow steps until each comes back to where it began."""
    onward = following.tolist()
    done = bytearray(len(onward))
    out = []
    for first in range(len(onward)):
        if done[first]:
            continue
        turn = []
        at = first
        while not done[at]:
            done[at] = 1
            turn.append(at)
            at = onward[at]
        out.append(np.array(turn))
    return out
