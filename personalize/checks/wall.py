"""The wall between print and cut: the written cut file is read back and compared.

Shares nothing with the writer but the idea of a contour: it has a reader of its own,
which knows the few things that a cut file of ours may hold and refuses all else. What
the file must hold is derived anew from the design's lines and the places of the pieces.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from lxml import etree

from personalize.checks.wall_dxf import read_dxf
from personalize.design.design import Design, LineKind
from personalize.errors import WallError
from personalize.geometry.affine import Affine, Points
from personalize.geometry.path import Arc, Contour, Cubic, Line, Segment
from personalize.sheet.paper import Paper
from personalize.units import TOLERANCE_MM

SAMPLE_MM = 0.25
"""Lines are compared at their corners and at least this often between."""
_FLATTEN_MM = 0.001
_SVG = "{http://www.w3.org/2000/svg}"
_ATTRIBUTES = {
    "svg": {"width", "height", "viewBox"},
    "g": {"id", "fill", "stroke", "stroke-width", "stroke-dasharray"},
    "path": {"d"},
}
"""All that a cut file may say. No transform, no style, no reference."""
_COMMAND = re.compile(r"([MLCAZ])([^A-Za-z]*)")
_COUNTS = {"M": 2, "L": 2, "C": 6, "A": 7, "Z": 0}


@dataclass(frozen=True, slots=True)
class _Drawn:
    """One line, flattened, in sheet mm with y up."""

    points: Points
    length_mm: float

    @property
    def box(self) -> Points:
        """Lower left and upper right corner."""
        return np.concatenate([self.points.min(axis=0), self.points.max(axis=0)])


def check_wall(
    data: bytes, file: str, design: Design, places: Sequence[Affine], paper: Paper
) -> None:
    """Prove that a cut file holds the design's lines at some places, and nothing else.

    Parameters
    ----------
    data
        Bytes of the file as it was written.
    file
        Its name, for sentences.
    design
        Whose lines are cut.
    places
        Maps from the piece (mm) to the sheet (mm), one for each piece.
    paper
        The sheet.

    Raises
    ------
    WallError
        Something is drawn that is no line of the design, or a line of it is missing.
    """
    drawn: dict[LineKind, list[_Drawn]] = {}
    if file.endswith(".dxf"):
        for kind, contour in read_dxf(data, file):
            drawn.setdefault(kind, []).append(_drawn(contour))
    else:
        drawn = _read(data, file, paper)
    for kind in LineKind:
        wanted = [
            _drawn(line.contour.transformed(at))
            for at in places
            for line in design.lines
            if line.kind is kind
        ]
        _match(drawn.get(kind, []), wanted, kind, file)


def _match(
    drawn: Sequence[_Drawn], wanted: list[_Drawn], kind: LineKind, file: str
) -> None:
    """Pair every drawn line with one of the design's own; none may be left over."""
    left = list(wanted)
    for line in drawn:
        found = next((i for i, other in enumerate(left) if _same(line, other)), None)
        if found is None:
            x, y = line.points[0]
            raise WallError(
                f"{file} draws a {kind} line near {x:.2f}, {y:.2f} mm"
                " that is no line of the design."
            )
        del left[found]
    if left:
        x, y = left[0].points[0]
        raise WallError(
            f"{file} lacks a {kind} line of the design near {x:.2f}, {y:.2f} mm."
        )


def _same(a: _Drawn, b: _Drawn) -> bool:
    """Whether two lines run within the tolerance of each other, over their whole length."""
    if np.abs(a.box - b.box).max() > TOLERANCE_MM:
        return False
    if abs(a.length_mm - b.length_mm) > TOLERANCE_MM + 1e-3 * b.length_mm:
        return False
    return _within(a.points, b.points) and _within(b.points, a.points)


def _within(points: Points, line: Points) -> bool:
    """Whether all of one polyline lies within the tolerance of another."""
    low = np.minimum(line[:-1], line[1:]) - TOLERANCE_MM
    high = np.maximum(line[:-1], line[1:]) + TOLERANCE_MM
    for chunk in np.array_split(_dense(points), max(1, len(points) // 200)):
        # What is within the tolerance of a piece lies in its box, grown by that.
        near = (low <= chunk.max(axis=0)).all(axis=1)
        near &= (high >= chunk.min(axis=0)).all(axis=1)
        if not near.any():
            return False
        starts = line[:-1][near]
        along = line[1:][near] - starts
        square = np.maximum((along**2).sum(axis=1), 1e-18)
        rel = chunk[:, None, :] - starts
        share = np.clip((rel * along).sum(axis=2) / square, 0, 1)
        away = np.hypot(*np.moveaxis(rel - share[..., None] * along, 2, 0))
        if (away.min(axis=1) > TOLERANCE_MM).any():
            return False
    return True


def _dense(points: Points) -> Points:
    along = np.diff(points, axis=0)
    steps = np.maximum(1, (np.hypot(*along.T) / SAMPLE_MM).astype(int))
    # Of each piece the first of its points, the second, ... up to its end.
    nth = np.arange(steps.sum()) - np.repeat(steps.cumsum() - steps, steps) + 1
    share = (nth / np.repeat(steps, steps))[:, None]
    between = (
        np.repeat(points[:-1], steps, axis=0) + np.repeat(along, steps, axis=0) * share
    )
    return np.concatenate([points[:1], between])


def _drawn(contour: Contour) -> _Drawn:
    points = contour.flattened(_FLATTEN_MM)
    if contour.closed:
        points = np.concatenate([points, points[:1]])
    return _Drawn(points, float(np.hypot(*np.diff(points, axis=0).T).sum()))


def _read(data: bytes, file: str, paper: Paper) -> dict[LineKind, list[_Drawn]]:
    """Read a cut file strictly; WallError for anything that it should not hold."""
    try:
        parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise WallError(f"{file} is not well formed: {error}.") from None
    if b"<!DOCTYPE" in data:
        raise WallError(f"{file} declares a document type.")
    _check_element(root, "svg", file)
    _check_size(root, file, paper)
    back = Affine(1, 0, 0, -1, 0, paper.height_mm)
    drawn: dict[LineKind, list[_Drawn]] = {}
    for group in root:
        _check_element(group, "g", file)
        try:
            kind = LineKind(group.get("id") or "")
        except ValueError:
            raise WallError(f"{file} has a group {group.get('id')!r}.") from None
        if kind in drawn:
            raise WallError(f"{file} has two groups {kind}.")
        drawn[kind] = []
        for element in group:
            _check_element(element, "path", file)
            if len(element):
                raise WallError(f"{file} holds something inside a path.")
            contour = _contour(element.get("d") or "", file)
            drawn[kind].append(_drawn(contour.transformed(back)))
    return drawn


def _check_element(element: etree._Element, tag: str, file: str) -> None:
    if element.tag != _SVG + tag:
        raise WallError(f"{file} holds {element.tag!r} where only {tag!r} may stand.")
    strange = set(element.attrib) - _ATTRIBUTES[tag]
    if strange:
        raise WallError(f"{file} has an attribute {min(map(str, strange))!r} on a {tag}.")
    if (element.text or "").strip() or (element.tail or "").strip():
        raise WallError(f"{file} holds words.")


def _check_size(root: etree._Element, file: str, paper: Paper) -> None:
    said = [root.get("width") or "", root.get("height") or ""]
    box = [float(v) for v in (root.get("viewBox") or "0 0 0 0").split()]
    sides = [paper.width_mm, paper.height_mm]
    good = (
        all(text.endswith("mm") for text in said)
        and box[:2] == [0, 0]
        and all(
            abs(float(text.removesuffix("mm")) - side) <= 1e-3 and abs(unit - side) <= 1e-3
            for text, unit, side in zip(said, box[2:], sides, strict=True)
        )
    )
    if not good:
        raise WallError(f"{file} is not of the sheet's size in mm.")


def _contour(data: str, file: str) -> Contour:
    """Read path data of ours: one contour, absolute commands."""
    commands = list(_commands(data, file))
    letters = "".join(letter for letter, _ in commands)
    if not re.fullmatch(r"M[LCA]+Z?", letters):
        raise WallError(f"{file} has a path that is not one line: {letters[:40]!r}.")
    segments: list[Segment] = []
    for letter, v in commands[1:]:
        if letter == "L":
            segments.append(Line((v[0], v[1])))
        elif letter == "C":
            segments.append(Cubic((v[0], v[1]), (v[2], v[3]), (v[4], v[5])))
        elif letter == "A":
            segments.append(Arc(v[0], v[1], v[2], bool(v[3]), bool(v[4]), (v[5], v[6])))
    start = commands[0][1]
    return Contour((start[0], start[1]), tuple(segments), letters.endswith("Z"))


def _commands(data: str, file: str) -> Iterator[tuple[str, list[float]]]:
    at = 0
    for match in _COMMAND.finditer(data):
        try:
            values = [float(v) for v in match[2].split()]
        except ValueError:
            values = [float("nan")]
        if match.start() != at or len(values) != _COUNTS[match[1]]:
            break
        if not np.isfinite(values).all():
            break
        at = match.end()
        yield match[1], values
    if at != len(data):
        raise WallError(f"{file} has path data of another kind: {data[at : at + 40]!r}.")
