"""Connected parts of a mask of pixels."""

from collections import deque

import numpy as np
from numpy.typing import NDArray

Pixel = tuple[int, int]


def middle_of_largest(mask: NDArray[np.bool_]) -> Pixel:
    """Find the middle, along it, of the largest connected part of a mask."""
    left = {(int(row), int(column)) for row, column in np.argwhere(mask)}
    largest: list[Pixel] = []
    while left:
        part = _reached(min(left), left)
        left.difference_update(part)
        if len(part) > len(largest):
            largest = list(part)
    # From the pixel reached last (an end of the stretch), half of the way to the other.
    back = _reached(largest[-1], set(largest))
    half = max(back.values()) / 2
    return min(back, key=lambda pixel: (abs(back[pixel] - half), pixel))


def _reached(start: Pixel, within: set[Pixel]) -> dict[Pixel, int]:
    """Count the steps from a pixel to each that is joined to it, the nearest first."""
    steps = {start: 0}
    queue = deque([start])
    while queue:
        row, column = pixel = queue.popleft()
        for down, right in ((-1, 0), (1, 0), (0, -1), (0, 1)):
            near = (row + down, column + right)
            if near in within and near not in steps:
                steps[near] = steps[pixel] + 1
                queue.append(near)
    return steps
