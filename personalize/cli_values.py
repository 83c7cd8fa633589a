"""Values of options that are read alike, wherever they stand."""

from personalize.errors import refuse
from personalize.units import length_mm


def distance_mm(option: str, text: str, least_mm: float, most_mm: float) -> float:
    """Read a distance in mm, or with a unit of its own, within limits.

    Raises InputError, for the option, where it is none.
    """
    try:
        value = length_mm(text)
    except ValueError:
        value = -1.0
    if not least_mm <= value <= most_mm:
        raise refuse(
            option,
            f"{text!r} is no distance from {least_mm:g} to {most_mm:g} mm.",
            "Write a number of mm, such as 4.",
        )
    return value
