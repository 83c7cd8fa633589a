"""What the tests of geometry share."""

import math

from hypothesis import strategies as st

from personalize.geometry.affine import (
    Affine,
    Point,
)

NUMBERS = st.floats(-200, 200)
AFFINES = st.builds(Affine, *[st.floats(-5, 5)] * 4, NUMBERS, NUMBERS)


def near(a: Point, b: Point, abs_tol: float = 1e-6) -> bool:
    return math.dist(a, b) <= abs_tol
