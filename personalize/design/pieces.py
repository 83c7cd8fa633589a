"""The pieces of a drawing: which outlines are taken, their names, the panels of each."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches

from personalize.design.creases import ToldCrease, shared_creases, told_creases
from personalize.design.design import LineKind
from personalize.design.line_names import named
from personalize.design.lines import FoundLines
from personalize.design.spec import DesignSpec, PanelSpec, PieceSpec
from personalize.design.svg import Shape, SvgDocument
from personalize.errors import InputError, Problem, refuse
from personalize.finding import Finding, Severity
from personalize.geometry.chains import closed_up
from personalize.geometry.zone import common, grown
from personalize.messages.same import compared
from personalize.rules import Rule

JOINT = " / "
"""Between the names of a drawing and its piece."""
_NEAR_MM = 0.1
"""An outline and the shape that it was drawn as: mended ones move by less."""
_GIVEN = re.compile(
    r"(?:path|rect|circle|ellipse|poly(?:gon|line)|line|use|g|group|svg|layer|shape|object"
    r"|piece|part|copy)\W*\d*",
    re.IGNORECASE,
)
"""Names that drawing programs give by themselves. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class DrawnPiece:
    """One piece of a drawing, and what the design file says of it alone."""

    name: str
    """Empty where the drawing is one piece and no [[piece]] names it."""
    lines: FoundLines
    spec: DesignSpec
    """The design's own, with the panels of this piece only."""
    per_message: int = 1
    told: tuple[Finding, ...] = ()
    creases: tuple[ToldCrease, ...] = ()
    """What the design file says of its creases."""


def drawn_pieces(
    drawing: SvgDocument, found: Sequence[FoundLines], spec: DesignSpec
) -> tuple[DrawnPiece, ...]:
    """Name the pieces of a drawing that are taken, and share the panels among them.

    Raises InputError with everything that is wrong with [[piece]], or with a panel that
    belongs to no piece.
    """
    folds = told_creases(spec.creases, drawing)
    if len(found) == 1 and not spec.pieces:
        return (DrawnPiece("", found[0], spec, creases=folds),)
    told = _told(drawing, found, spec)
    folds_of = shared_creases(folds, [(one.solid, bool(one.creases)) for _, one in told])
    names = [piece.name for piece, _ in told]
    panels = _panels(drawing, [lines for _, lines in told], names, spec)
    out = []
    for (piece, lines), own, creases in zip(told, panels, folds_of, strict=True):
        alone = replace(
            spec,
            panels=own,
            pieces=(),
            stock=piece.stock or spec.stock,
            wordless=not piece.words or (bool(spec.panels) and not own),
            parted=len(found) > 1,
        )
        notes = tuple(_in_the_bleed(piece.name, lines, found, spec.margins.bleed))
        out.append(DrawnPiece(piece.name, lines, alone, piece.count, notes, creases))
    if len(told) < len(found):
        note = _left_out(len(found) - len(told), drawing)
        out[0] = replace(out[0], told=(*out[0].told, note))
    return tuple(out)


def picked(pieces: Sequence[DrawnPiece], names: Sequence[str]) -> tuple[DrawnPiece, ...]:
    """Keep the pieces that are named; all where no name is one of this drawing."""
    wanted = {compared(name) for name in names}
    chosen = tuple(piece for piece in pieces if compared(piece.name) in wanted)
    return chosen or tuple(pieces)


def refuse_unknown(names: Sequence[str], known: Sequence[str]) -> None:
    """Refuse names that no piece of any drawing has."""
    problems = []
    plain = {compared(name) for name in known}
    for name in names:
        if compared(name) not in plain:
            near = get_close_matches(name, known, 1, 0.6)
            others = f"Use {', '.join(known)}." if known else "Leave it out."
            do = f"Did you mean {near[0]!r}?" if near else others
            problems.append(Problem("--piece", f"no drawing has a piece {name!r}.", do))
    if problems:
        raise InputError(problems)


def _told(
    drawing: SvgDocument, found: Sequence[FoundLines], spec: DesignSpec
) -> list[tuple[PieceSpec, FoundLines]]:
    """Match [[piece]] with outlines; without them all are taken."""
    if not spec.pieces:
        names = _names(drawing, found)
        return [
            (PieceSpec("", name, None), lines)
            for name, lines in zip(names, found, strict=True)
        ]
    out: list[tuple[PieceSpec, FoundLines]] = []
    problems = []
    for piece in spec.pieces:
        lines, problem = _outline_of(piece, drawing, found)
        taken = [other.name for other, own in out if own is lines]
        if problem is None and taken:
            problem = Problem(
                piece.place,
                f"pieces {taken[0]!r} and {piece.name!r} are the same outline.",
                "Point each at its own, or write count = 2 for two alike.",
            )
        if problem is not None:
            problems.append(problem)
        else:
            out.append((piece, lines))
    if problems:
        raise InputError(problems)
    return out


def _outline_of(
    piece: PieceSpec, drawing: SvgDocument, found: Sequence[FoundLines]
) -> tuple[FoundLines, Problem | None]:
    if piece.at is None:
        if len(found) == 1:
            return found[0], None
        return found[0], Problem(
            piece.place,
            f"the drawing has {len(found)} pieces, and which of them is {piece.name!r} is"
            " not told.",
            "Add a point inside it, for example at = [30, 20].",
        )
    point = (piece.at[0], drawing.height_mm - piece.at[1])
    for lines in found:
        if lines.solid.contains(point):
            return lines, None
    return found[0], Problem(
        piece.place,
        f"the point [{piece.at[0]:g}, {piece.at[1]:g}] of piece {piece.name!r} lies in no"
        f" outline of {drawing.name}.",
        "Give a point inside it, in mm from the drawing's top left corner.",
    )


def _panels(
    drawing: SvgDocument,
    taken: Sequence[FoundLines],
    names: Sequence[str],
    spec: DesignSpec,
) -> list[tuple[PanelSpec, ...]]:
    """Give each piece the panels whose points lie in it."""
    own: list[list[PanelSpec]] = [[] for _ in taken]
    where: dict[str, int] = {}
    problems = []
    for panel in spec.panels:
        at, problem = _piece_of(panel, drawing, taken)
        where[panel.name] = at
        own[at].append(panel)
        if problem is not None:
            problems.append(problem)
    for panel in spec.panels:
        other = where.get(panel.faces or "", where[panel.name])
        if other != where[panel.name]:
            problems.append(
                Problem(
                    panel.place,
                    f"panels {panel.name!r} and {panel.faces!r} lie in different pieces"
                    f" ({names[where[panel.name]]!r}, {names[other]!r}).",
                    "Leave faces out: only panels of one piece can face each other.",
                )
            )
    if problems:
        raise InputError(problems)
    return [tuple(panels) for panels in own]


def _piece_of(
    panel: PanelSpec, drawing: SvgDocument, taken: Sequence[FoundLines]
) -> tuple[int, Problem | None]:
    if panel.at is None:
        if len(taken) == 1:
            return 0, None
        return 0, Problem(
            panel.place,
            f"there are {len(taken)} pieces, and in which of them panel {panel.name!r}"
            " lies is not told.",
            "Add a point inside it, for example at = [30, 20].",
        )
    point = (panel.at[0], drawing.height_mm - panel.at[1])
    for i, lines in enumerate(taken):
        if lines.solid.contains(point):
            return i, None
    return 0, Problem(
        panel.place,
        f"the point [{panel.at[0]:g}, {panel.at[1]:g}] of panel {panel.name!r} lies outside"
        " every piece.",
        "Give a point inside the panel, in mm from the drawing's top left corner.",
    )


def _names(drawing: SvgDocument, found: Sequence[FoundLines]) -> list[str]:
    """Name pieces by the words that the maker drew them under, else by number.

    Of the names that an outline and its groups have, the first is taken that no other
    piece has too.
    """
    offers = [list(dict.fromkeys(_offers(drawing, lines))) for lines in found]
    out = []
    for i, mine in enumerate(offers):
        others = {compared(n) for j, theirs in enumerate(offers) if j != i for n in theirs}
        own = [name for name in mine if compared(name) not in others]
        out.append(own[0] if own else f"piece{i + 1}")
    return out


def _offers(drawing: SvgDocument, lines: FoundLines) -> Iterator[str]:
    for shape in drawing.shapes:
        if shape.key in lines.keys and _is_drawn_as(shape, lines):
            own = shape.labels[: shape.own_labels]
            for name in (*own, shape.id, *shape.labels[shape.own_labels :]):
                plain = _plain(name)
                if plain and not _GIVEN.fullmatch(plain):
                    yield plain


def _is_drawn_as(shape: Shape, lines: FoundLines) -> bool:
    """Whether the outline of a piece was drawn as this shape."""
    bounds = lines.outline.bounds()
    return any(
        max(abs(a - b) for a, b in zip(closed_up(c).bounds(), bounds, strict=True))
        < _NEAR_MM
        for c in shape.contours
    )


def _plain(name: str) -> str:
    """Take the words for cut lines out of a name.

    >>> _plain("leaf-edge"), _plain("Bean leaf"), _plain("cut_2")
    ('leaf', 'Bean leaf', '')
    """
    words = [word for word in re.split(r"[\s_\-.:]+", name) if word]
    kept = [word for word in words if named([word]) is not LineKind.CUTTING]
    said = " ".join(kept)
    has_letters = any(letter.isalpha() for letter in said)
    return said if has_letters and said.isprintable() and len(said) <= 40 else ""


def _in_the_bleed(
    name: str, lines: FoundLines, found: Sequence[FoundLines], bleed_mm: float
) -> Iterator[Finding]:
    """Tell where another piece stands in the bleed of this one: its artwork would show."""
    if bleed_mm <= 0:
        return
    printed = grown(lines.solid, bleed_mm)
    for other in found:
        if other is not lines and common(printed, other.solid):
            yield Finding(
                Rule.PIECE_IN_BLEED,
                Severity.WARNING,
                f"In the drawing another piece lies within the bleed of {name!r}: a shifted"
                " cut would show its picture at the edge.",
                f"Draw the pieces {2 * bleed_mm:g} mm or more apart.",
                figures={"bleed_mm": bleed_mm},
            )
            return


def _left_out(count: int, drawing: SvgDocument) -> Finding:
    outlines = "1 outline" if count == 1 else f"{count} outlines"
    return Finding(
        Rule.PIECE_LEFT_OUT,
        Severity.NOTE,
        f"{outlines} of {drawing.name} {'is' if count == 1 else 'are'} named by no"
        " [[piece]] and left out.",
        "Add a [[piece]] if it shall be made.",
        figures={"outlines": count},
    )


def no_words_note(name: str, design: str) -> Finding:
    """Tell that a piece is made without words."""
    return Finding(
        Rule.WORDLESS_PIECE,
        Severity.NOTE,
        f"{name or design} carries no words: it is made as often as the others.",
        "Give it a panel if words shall stand on it.",
    )


def refuse_several(file: str, names: Sequence[str]) -> InputError:
    """Make the error where one design is asked for and the drawing has several pieces."""
    return refuse(
        file,
        f"the drawing has {len(names)} pieces: {', '.join(names)}.",
        "Load all of them, or name one.",
    )
