"""A strict reader of our DXF cut files, for the wall; no library takes part in it.

A DXF file is pairs of lines, a group code and a value (Autodesk DXF reference, "General
DXF file structure"). Entities other than LWPOLYLINE,
POLYLINE and SPLINE are refused, and so is any block
with something in it.
"""

import math
import re
from collections.abc import Iterator, Sequence

from personalize.checks.wall_dxf_plain import check_layer, check_plain
from personalize.checks.wall_spline import read_spline
from personalize.design.design import LineKind
from personalize.errors import WallError
from personalize.geometry.affine import Point
from personalize.geometry.path import Arc, Contour, Line, Segment

_ROUND = 1e-9
_COMMENT = 999
_CODE = re.compile(r" *[0-9]+")
Pair = tuple[int, str]
_SECTIONS = {"HEADER", "CLASSES", "TABLES", "BLOCKS", "ENTITIES", "OBJECTS"}
_NOTHING_DRAWN = {"BLOCK", "ENDBLK"}
"""What may stand in the section of blocks: empty ones are part of every file."""


def read_dxf(data: bytes, file: str) -> Iterator[tuple[LineKind, Contour]]:
    """Give every line of a file with its kind, in sheet mm.

    Raises WallError for anything that a cut file should not hold.
    """
    pairs = list(_pairs(data, file))
    sections = _sections(pairs, file)
    header = sections.get("HEADER", [])
    # R12 files (AC1009) have no unit.
    told = [] if _variable(header, "$ACADVER") == ["AC1009"] else ["4"]
    if _variable(header, "$INSUNITS") != told:
        raise WallError(f"{file} is not in millimetres.")
    for entity in _entities(sections.get("BLOCKS", [])):
        if entity[0][1] not in _NOTHING_DRAWN:
            raise WallError(f"{file} holds a block with {entity[0][1]!r} in it.")
    for entry in _entities(sections.get("TABLES", [])):
        check_layer(entry, file)
    found = list(_entities(sections.get("ENTITIES", [])))
    for entity in found:
        check_plain(entity, file)
    while found:
        if found[0][0][1] == "POLYLINE":
            whole, found = _old_polyline(found, file)
            yield _line(whole, file)
        elif found[0][0][1] == "SPLINE":
            yield read_spline(found.pop(0), file)
        else:
            yield _line(found.pop(0), file)


def _pairs(data: bytes, file: str) -> Iterator[Pair]:
    try:
        lines = data.decode("utf-8").splitlines()
    except UnicodeDecodeError:
        raise WallError(f"{file} is no DXF text.") from None
    if not all(_CODE.fullmatch(code) for code in lines[::2]):
        raise WallError(f"{file} is no DXF text.")
    codes = [int(code) for code in lines[::2]]
    if len(lines) % 2:
        raise WallError(f"{file} is cut off.")
    if _COMMENT in codes:
        raise WallError(f"{file} holds a comment.")
    return zip(codes, (value.strip() for value in lines[1::2]), strict=True)


def _sections(pairs: Sequence[Pair], file: str) -> dict[str, list[Pair]]:
    if not pairs or pairs[-1] != (0, "EOF"):
        raise WallError(f"{file} is cut off.")
    sections: dict[str, list[Pair]] = {}
    inside: str | None = None
    for at, (code, value) in enumerate(pairs):
        if (code, value) == (0, "SECTION"):
            inside = pairs[at + 1][1]
            if inside in sections:
                raise WallError(f"{file} has two sections {inside}.")
            if inside not in _SECTIONS:
                raise WallError(f"{file} has a section {inside!r}.")
            sections[inside] = []
        elif (code, value) == (0, "ENDSEC"):
            inside = None
        elif inside is not None:
            sections[inside].append((code, value))
        elif (code, value) != (0, "EOF") or at != len(pairs) - 1:
            raise WallError(f"{file} holds {value!r} outside of its sections.")
    return sections


def _variable(header: Sequence[Pair], name: str) -> list[str]:
    """Values of a header variable."""
    out: list[str] = []
    taking = False
    for code, value in header:
        if code == 9:
            taking = value == name
        elif taking:
            out.append(value)
    return out


def _entities(pairs: Sequence[Pair]) -> Iterator[list[Pair]]:
    entity: list[Pair] = []
    for code, value in pairs:
        if code == 0:
            if entity:
                yield entity
            entity = [(code, value)]
        elif entity:
            entity.append((code, value))
    if entity:
        yield entity


def _old_polyline(
    found: list[list[Pair]], file: str
) -> tuple[list[Pair], list[list[Pair]]]:
    """Put a POLYLINE and its vertices together as if it were one entity."""
    first, *rest = found
    ends = [i for i, entity in enumerate(rest) if entity[0][1] == "SEQEND"]
    inside = rest[: ends[0]] if ends else []
    if not ends or any(entity[0][1] != "VERTEX" for entity in inside):
        raise WallError(f"{file} has a line that is not whole.")
    layers = {value for entity in inside for code, value in entity if code == 8}
    own = {value for code, value in first if code == 8}
    if layers != own:
        raise WallError(f"{file} has a line on two layers.")
    whole = [(0, "LWPOLYLINE"), (90, str(len(inside)))]
    whole += [pair for pair in first if pair[0] in (8, 70)]
    whole += [pair for entity in inside for pair in entity if pair[0] in (10, 20, 42)]
    return whole, rest[ends[0] + 1 :]


def _line(entity: Sequence[Pair], file: str) -> tuple[LineKind, Contour]:
    if entity[0][1] != "LWPOLYLINE":
        raise WallError(f"{file} holds {entity[0][1]!r} where only lines may stand.")
    values: dict[int, list[str]] = {}
    for code, value in entity[1:]:
        values.setdefault(code, []).append(value)
    try:
        kind = LineKind(values[8][0])
    except (KeyError, ValueError):
        raise WallError(f"{file} has a line on a layer that is no kind of line.") from None
    try:
        vertices = list(_vertices(entity))
        closed = bool(int(values[70][0]) & 1)
        counted = int(values[90][0])
    except (KeyError, ValueError):
        raise WallError(f"{file} has a line that cannot be read.") from None
    if counted != len(vertices) or len(vertices) < 2:
        raise WallError(f"{file} has a line that is not whole.")
    return kind, _contour(vertices, closed=closed)


def _vertices(entity: Sequence[Pair]) -> Iterator[tuple[float, float, float]]:
    """Vertices with their bulges: 10 begins one, 20 and 42 belong to it."""
    found: list[list[float]] = []
    for code, value in entity:
        if code == 10:
            found.append([float(value), math.nan, 0.0])
        elif code in (20, 42) and found:
            found[-1][1 if code == 20 else 2] = float(value)
    for x, y, bulge in found:
        if not all(map(math.isfinite, (x, y, bulge))):
            raise ValueError("a vertex is no number")
        yield (x, y, bulge)


def _contour(vertices: Sequence[tuple[float, float, float]], *, closed: bool) -> Contour:
    points: list[Point] = [(x, y) for x, y, _ in vertices]
    ends = [*points[1:], *(points[:1] if closed else [])]
    segments: list[Segment] = []
    for start, end, (_, _, bulge) in zip(points, ends, vertices, strict=False):
        if abs(bulge) <= _ROUND:
            segments.append(Line(end))
            continue
        # Sagitta over half the chord is the bulge: radius = chord (1 + b²) / (4 |b|).
        radius = math.dist(start, end) * (1 + bulge * bulge) / (4 * abs(bulge))
        segments.append(Arc(radius, radius, 0.0, abs(bulge) > 1, bulge > 0, end))
    return Contour(points[0], tuple(segments), closed)
