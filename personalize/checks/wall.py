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
from personalize.checks.wall_lines import Drawn, drawn, same
from personalize.checks.wall_picture import TOGETHER, check_picture
from personalize.checks.wall_uncut import (
    check_around,
    check_keeps_off,
    check_shared,
    wanted_of,
)
from personalize.design.design import LineKind
from personalize.errors import WallError
from personalize.geometry.affine import Affine
from personalize.geometry.path import Arc, Contour, Cubic, Line, Segment
from personalize.sheet.cutting import ToCut, Uncut
from personalize.sheet.paper import Paper, Rect
from personalize.units import TOLERANCE_MM

_SVG = "{http://www.w3.org/2000/svg}"
_ATTRIBUTES = {
    "svg": {"width", "height", "viewBox"},
    "g": {"id", "fill", "stroke", "stroke-width", "stroke-dasharray"},
    "path": {"d"},
}
"""All that a cut file may say. No transform, no style, no reference."""
_LOOK = {
    "fill": re.compile("none"),
    "stroke": re.compile("#000"),
    "stroke-width": re.compile(r"0\.\d+"),
    "stroke-dasharray": re.compile(r"[\d.]+( [\d.]+)*"),
}
"""How lines are drawn: some programs cut what is filled, or skip what has no stroke."""
_COMMAND = re.compile(r"([MLCAZ])([^A-Za-z]*)")
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
"""Python reads more as numbers than a cutter's program does."""
_COUNTS = {"M": 2, "L": 2, "C": 6, "A": 7, "Z": 0}


@dataclass(frozen=True)
class Expected:
    """What a cut file must hold: the lines of pieces at their places on a sheet."""

    pieces: Sequence[ToCut]
    """With the places, and how the maker wants lines to be cut."""
    paper: Paper
    uncut: Sequence[Uncut] = ()
    """What is said to be left uncut; it is held against the rules."""
    kept_free: Sequence[Rect] = ()
    """Clear zones of register marks and of machines: a cut round the pieces keeps off."""
    reached: Rect | None = None
    """Where the cutter cuts; None for the whole sheet."""


def check_wall(data: bytes, file: str, expected: Expected) -> None:
    """Prove that a cut file holds the lines of some pieces, and nothing else.

    What it holds and what it is said to leave out are together exactly these lines.

    Parameters
    ----------
    data
        Bytes of the file as it was written.
    file
        Its name, for sentences. One that begins with "together" holds a picture too.
    expected
        What it must hold.

    Raises
    ------
    WallError
        Something is drawn that is no line of the design, a line of it is missing, or
        more is left out than the maker's rules allow.
    """
    found = _found(data, file, expected.paper)
    wanted = wanted_of(expected.pieces, expected.uncut, file)
    framed = any(piece.rules.around_mm is not None for piece in expected.pieces)
    for kind in LineKind:
        is_framed = kind is LineKind.CUTTING and framed
        more = _unpaired(found.get(kind, []), wanted[kind].cut, kind, file, int(is_framed))
        if is_framed:
            if not more:
                raise WallError(f"{file} lacks the cut round the pieces.")
            asked = [piece.rules.around_mm for piece in expected.pieces]
            away = max(one for one in asked if one is not None)
            frame, free = more.pop(), expected.kept_free
            paper = expected.paper
            check_around(frame, list(wanted.values()), away, len(free), file)
            whole = (0.0, 0.0, paper.width_mm, paper.height_mm)
            check_keeps_off(frame, (whole, expected.reached or whole), free, file)
        if more:
            raise _strange(more[0], kind, file)
        check_shared(wanted[kind], kind, file)


def check_squares(data: bytes, file: str, paper: Paper, squares: Sequence[Rect]) -> None:
    """Prove that a cut file holds some upright squares as cuts, and nothing else.

    Raises WallError where one is missing, or anything else is drawn.
    """
    found = _found(data, file, paper)
    wanted = [
        Drawn(np.array([(a, b), (c, b), (c, d), (a, d), (a, b)], dtype=float))
        for a, b, c, d in squares
    ]
    for kind in LineKind:
        meant = wanted if kind is LineKind.CUTTING else []
        more = _unpaired(found.get(kind, []), meant, kind, file, 0)
        if more:
            raise _strange(more[0], kind, file)


def _found(data: bytes, file: str, paper: Paper) -> dict[LineKind, list[Drawn]]:
    """Read a cut file of either kind; WallError for anything that it should not hold."""
    if not file.endswith(".dxf"):
        return _read(data, file, paper)
    found: dict[LineKind, list[Drawn]] = {}
    for kind, contour in read_dxf(data, file):
        found.setdefault(kind, []).append(drawn(contour))
    return found


def _strange(line: Drawn, kind: LineKind, file: str) -> WallError:
    x, y = line.points[0]
    return WallError(
        f"{file} draws a {kind} line near {x:.2f}, {y:.2f} mm"
        " that is no line of the design."
    )


def _unpaired(
    found: Sequence[Drawn],
    wanted: Sequence[Drawn],
    kind: LineKind,
    file: str,
    others: int,
) -> list[Drawn]:
    """Pair drawn lines with the design's own, and give those that are left over.

    So many `others` are meant to be left over: the cut round the pieces. Raises WallError
    where a line of the design is left over.
    """
    boxes = np.array([line.box for line in wanted]).reshape(-1, 4)
    free = np.ones(len(wanted), dtype=bool)
    more = []
    for line in found:
        near = free & (np.abs(boxes - line.box).max(axis=1) <= TOLERANCE_MM)
        match = next(
            (i for i in map(int, np.flatnonzero(near)) if same(line, wanted[i])), None
        )
        if match is None:
            more.append(line)
        else:
            free[match] = False
    if free.any() and len(more) <= others:
        x, y = wanted[int(free.argmax())].points[0]
        raise WallError(
            f"{file} lacks a {kind} line of the design near {x:.2f}, {y:.2f} mm."
        )
    if free.any():
        raise _strange(more[0], kind, file)
    return more


def _read(data: bytes, file: str, paper: Paper) -> dict[LineKind, list[Drawn]]:
    """Read a cut file strictly; WallError for anything that it should not hold."""
    try:
        parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True)
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise WallError(f"{file} is not well formed: {error}.") from None
    if b"<!DOCTYPE" in data:
        raise WallError(f"{file} declares a document type.")
    if root.getprevious() is not None or root.getnext() is not None:
        raise WallError(f"{file} holds a comment or an instruction.")
    _check_element(root, "svg", file)
    _check_size(root, file, paper)
    groups = list(root)
    if file.startswith(TOGETHER):
        check_picture(groups.pop(0) if groups else None, file, paper)
    back = Affine(1, 0, 0, -1, 0, paper.height_mm)
    found: dict[LineKind, list[Drawn]] = {}
    for group in groups:
        _check_element(group, "g", file)
        try:
            kind = LineKind(group.get("id") or "")
        except ValueError:
            raise WallError(f"{file} has a group {group.get('id')!r}.") from None
        if kind in found:
            raise WallError(f"{file} has two groups {kind}.")
        found[kind] = []
        for element in group:
            _check_element(element, "path", file)
            if len(element):
                raise WallError(f"{file} holds something inside a path.")
            contour = _contour(element.get("d") or "", file)
            found[kind].append(drawn(contour.transformed(back)))
    return found


def _check_element(element: etree._Element, tag: str, file: str) -> None:
    if not isinstance(element.tag, str):
        raise WallError(f"{file} holds a comment or an instruction.")
    if element.tag != _SVG + tag:
        raise WallError(f"{file} holds {element.tag!r} where only {tag!r} may stand.")
    strange = set(element.attrib) - _ATTRIBUTES[tag]
    if strange:
        raise WallError(f"{file} has an attribute {min(map(str, strange))!r} on a {tag}.")
    for name, look in _LOOK.items() if tag == "g" else ():
        said = element.get(name)
        dashed_cut = name == "stroke-dasharray" and element.get("id") == LineKind.CUTTING
        if said is not None and (dashed_cut or not look.fullmatch(said)):
            raise WallError(f"{file} draws a group of lines with {name} {said!r}.")
    if element.get("fill") is None and tag == "g":
        raise WallError(f"{file} has a group of lines that is filled.")
    if (element.text or "").strip() or (element.tail or "").strip():
        raise WallError(f"{file} holds words.")


def _check_size(root: etree._Element, file: str, paper: Paper) -> None:
    said = [(root.get(side) or "").removesuffix("mm") for side in ("width", "height")]
    units = all((root.get(side) or "").endswith("mm") for side in ("width", "height"))
    texts = [*said, *(root.get("viewBox") or "").split(" ")]
    sides = [paper.width_mm, paper.height_mm]
    good = (
        units
        and len(texts) == 6
        and all(_NUMBER.fullmatch(text) for text in texts)
        and all(
            abs(float(text) - meant) <= 1e-3
            for text, meant in zip(texts, [*sides, 0.0, 0.0, *sides], strict=True)
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
        words = match[2].split(" ") if match[2] else []
        if match.start() != at or len(words) != _COUNTS[match[1]]:
            break
        if not all(_NUMBER.fullmatch(word) for word in words):
            break
        if match[1] == "A" and not {words[3], words[4]} <= {"0", "1"}:
            break
        at = match.end()
        yield match[1], [float(word) for word in words]
    if at != len(data):
        raise WallError(f"{file} has path data of another kind: {data[at : at + 40]!r}.")
