"""Ways to end the lines of a text: all of them, or those with no line too wide."""

import itertools
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Breaks = tuple[int, ...]
"""Index of the last segment of each line."""

MOST_BREAK_SETS = 4000
"""Break sets compared for one number of lines. Past this, lines wider than an ever
narrower limit are left out; texts under 20 words never reach it."""


@lru_cache(maxsize=256)
def combinations(n: int, k: int) -> Sequence[Breaks]:
    """All ways to end k lines among n segments, earliest breaks first."""
    return [(*ends, n - 1) for ends in itertools.combinations(range(n - 1), k - 1)]


def least_width(widths: Floats, k: int, forced: Breaks) -> float:
    """Least possible width of the widest of k lines."""
    n = len(widths)
    last_forced = [max((f for f in forced if f < end), default=-1) for end in range(n)]
    best = np.array([widths[0, e] if last_forced[e] < 0 else np.inf for e in range(n)])
    for _ in range(k - 1):
        longer = np.full(n, np.inf)
        for end in range(1, n):
            starts = np.arange(max(0, last_forced[end]), end)
            if len(starts):
                longer[end] = np.maximum(best[starts], widths[starts + 1, end]).min()
        best = longer
    return float(best[n - 1])


def sets_within(
    widths: Floats, k: int, forced: Breaks, limit: float
) -> itertools.chain[Breaks]:
    """Break sets of k lines, none wider than a limit, earliest breaks first."""
    n = len(widths)
    stops = [next((f for f in forced if f >= start), n - 1) for start in range(n)]

    def from_(start: int, left: int) -> list[Breaks]:
        if (start, left) in known:
            return known[start, left]
        out: list[Breaks] = []
        if left == 1:
            if stops[start] == n - 1 and widths[start, n - 1] <= limit:
                out = [(n - 1,)]
        else:
            for end in range(start, min(stops[start], n - left) + 1):
                if widths[start, end] > limit:
                    break
                out += [(end, *rest) for rest in from_(end + 1, left - 1)]
                if len(out) > MOST_BREAK_SETS:
                    break
        known[start, left] = out
        return out

    known: dict[tuple[int, int], list[Breaks]] = {}
    return itertools.chain(from_(0, k))
