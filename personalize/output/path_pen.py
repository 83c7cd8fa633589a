"""Outlines of letters as path operators of a PDF (ISO 32000-1, 8.5.2)."""

from fontTools.pens.basePen import BasePen

from personalize.units import number

_Point = tuple[float, float]


class PathPen(BasePen):  # type: ignore[misc] # the library has no types
    """Writes what is drawn with it; quadratic curves become cubic ones."""

    def __init__(self, places: int) -> None:
        """Begin a path whose numbers have so many decimals."""
        super().__init__(None)
        self._places = places
        self.parts: list[str] = []

    def _write(self, operator: str, *points: _Point) -> None:
        numbers = [number(value, self._places) for point in points for value in point]
        self.parts.append(" ".join([*numbers, operator]))

    def _moveTo(self, pt: _Point) -> None:  # noqa: N802 - its name there
        self._write("m", pt)

    def _lineTo(self, pt: _Point) -> None:  # noqa: N802 - its name there
        self._write("l", pt)

    def _curveToOne(self, pt1: _Point, pt2: _Point, pt3: _Point) -> None:  # noqa: N802 - its name there
        self._write("c", pt1, pt2, pt3)

    def _closePath(self) -> None:  # noqa: N802 - its name there
        self._write("h")
