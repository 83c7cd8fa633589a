"""The back of a piece: a design of its own, drawn as it is seen from behind.

Its outline is the front's, turned over the upright middle line of its box, at the place
where its drawing has it; a picture or a PDF page is turned over that of the whole page.
Its margins are the front's and as much more as the print of one side may be off that of
the other.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from personalize.design.artwork_make import Making, make_artwork
from personalize.design.back_side import Side, side_of, turned_lines
from personalize.design.design import (
    CUT_SHIFT_MM,
    Design,
    Margins,
    Version,
)
from personalize.design.lines import FoundLines
from personalize.design.panels import lay_out
from personalize.design.pieces import DrawnPiece
from personalize.design.spec import BackSpec, DesignSpec, VersionSpec
from personalize.design.styles import over, styles_of
from personalize.design.svg import SvgDocument
from personalize.design.text_area import text_areas, unprinted
from personalize.errors import refuse
from personalize.finding import Finding, Severity
from personalize.geometry.zone import grown
from personalize.messages.same import compared
from personalize.rules import Rule

BACK = ", back"
"""Behind the name of a design: what its back is called."""


def refuse_several_backs(spec: DesignSpec, pieces: int) -> None:
    """Refuse a back for a drawing of several pieces: whose it is would be a guess."""
    if spec.back is not None and pieces > 1:
        raise refuse(
            spec.back.place,
            f"the drawing has {pieces} pieces, and only a drawing of one has a back.",
            "Give the piece with a back a drawing and a design file of its own.",
        )


def back_of(
    front: Design, piece: DrawnPiece, drawing: SvgDocument, folder: Path, shift_mm: float
) -> Design:
    """Prepare the back of a piece.

    Parameters
    ----------
    front
        The piece as it is seen from before.
    piece
        Its lines, and the design file.
    drawing
        The whole drawing, layers of the back in it.
    folder
        Of the design.
    shift_mm
        How far the print of one side may be off that of the other.

    Raises
    ------
    InputError
        With everything that is wrong with it.
    """
    told = piece.spec.back
    assert told is not None
    _refuse_hidden(front, told)
    versions = _in_order(front, told)
    spec = _own_spec(piece.spec, told, shift_mm)
    sides = [side_of(one, spec, told, piece.lines, drawing, folder) for one in versions]
    first = sides[0]
    lines = turned_lines(piece.lines, first.turned)
    _refuse_apart(sides)
    laid_out = _laid_out(front, lines, spec, first.drawing, folder)
    shown = tuple(
        _shown(one, side, spec, lines, folder)
        for one, side in zip(versions, sides, strict=True)
    )
    return replace(
        laid_out,
        name=front.name + BACK,
        file=first.name,
        use=(),
        artwork=shown[0].artwork,
        versions=shown if told.versions else (),
        picture=None,
        left_out=_left_out(sides) if told.svg is not None else (),
        mended=(),
        size_stated=True,
        told=tuple(_inside(front, spec)),
        turned=first.turned,
        shift_mm=shift_mm,
    )


def _laid_out(
    front: Design, lines: FoundLines, spec: DesignSpec, drawing: SvgDocument, folder: Path
) -> Design:
    """Give a design its lines as they are seen from behind, and panels on them."""
    styles = styles_of(spec, folder)
    areas = text_areas(drawing, spec) if spec.panels else ()
    layout = lay_out(lines, spec, styles, drawing.height_mm, areas=areas)
    return replace(
        front,
        outline=lines.outline,
        holes=lines.holes,
        creases=lines.creases,
        lines=lines.lines,
        slits=lines.slits,
        glue=layout.glue,
        silhouette=lines.paper,
        bleed=grown(lines.solid, spec.margins.bleed),
        panels=layout.panels,
        margins=spec.margins,
        stick=None,
        loose_creases=0,
        folding=layout.folding,
        crease_degs=layout.crease_degs,
        height_mm=drawing.height_mm,
    )


def _shown(
    version: VersionSpec, side: Side, spec: DesignSpec, lines: FoundLines, folder: Path
) -> Version:
    """Make the picture of a version."""
    how = Making(
        folder,
        lines.outline,
        grown(lines.solid, spec.margins.bleed),
        spec.margins.bleed,
        spec.extend_edge,
        None,
        unprinted(side.drawing, spec) if spec.panels else frozenset(),
    )
    name = f"{side.name} ({version.name or 'back'})"
    if side.file is not None:
        art = side.file.laid(side.drawing, how.bleed, how.bleed_mm, 0)
        return Version(version.name, replace(art, file=name), version.colour)
    art = make_artwork(side.drawing, side.keys, name, how, line_art=version.line_art)
    return Version(version.name, art, version.colour)


def _refuse_hidden(front: Design, told: BackSpec) -> None:
    """Refuse words that nobody would ever see: those inside a fold round a stick."""
    if front.stick is not None and told.panels:
        raise refuse(
            told.panels[0].place,
            f"{front.name} is folded shut round a stick: words on its back would not be"
            " seen.",
            "Take every [[back.panel]] out.",
        )


def _inside(front: Design, spec: DesignSpec) -> Iterator[Finding]:
    """Say how words stand inside a fold."""
    if front.creases and spec.panels:
        yield Finding(
            Rule.WORDS_INSIDE_FOLD,
            Severity.NOTE,
            f"The back of {front.name} is its inside: words stand upright there when it is"
            " opened flat and turned over left to right.",
            "Write turn_deg in a [[back.panel]] that is to be read another way round.",
        )


def _in_order(front: Design, told: BackSpec) -> tuple[VersionSpec, ...]:
    """Give the versions of the back in the order of the front's; one without a name."""
    if not told.versions:
        return (VersionSpec(told.place, "", artwork=told.artwork),)
    if not front.versions:
        return told.versions
    own = {compared(one.name): one for one in told.versions}
    wanted = {compared(one.name): one.name for one in front.versions}
    if set(own) != set(wanted):
        lacking = [name for key, name in wanted.items() if key not in own]
        more = [one.name for key, one in own.items() if key not in wanted]
        says = [f"the back lacks version {name!r}" for name in lacking[:1]]
        says += [f"the front lacks version {name!r}" for name in more[:1]]
        raise refuse(
            told.versions[0].place,
            f"{', and '.join(says)}.",
            "Give both sides the same versions, or the back none: then all share it.",
        )
    return tuple(replace(own[key], name=name) for key, name in wanted.items())


def _own_spec(spec: DesignSpec, told: BackSpec, shift_mm: float) -> DesignSpec:
    """Give what the design file says, as it holds for the back."""
    margins = spec.margins
    bleed = max(margins.bleed, CUT_SHIFT_MM + shift_mm) if margins.bleed > 0 else 0.0
    return replace(
        spec,
        place=told.place,
        margins=Margins(
            margins.outline + shift_mm,
            margins.crease + shift_mm,
            margins.hole + shift_mm,
            margins.glue + shift_mm,
            bleed,
        ),
        stick=None,
        type=over(told.type, spec.type),
        type_place=told.type_place,
        # Flat as it lies: which way round it would be read once folded counts no more.
        panels=tuple(replace(one, turn_deg=one.turn_deg or 0.0) for one in told.panels),
        creases=(),
        versions=told.versions,
        picture=None,
        artwork=None,
        wordless=not told.panels,
        parted=False,
        back=None,
    )


def _refuse_apart(sides: list[Side]) -> None:
    """Refuse versions that have the piece at different places."""
    first = sides[0].turned.tuple
    for side in sides[1:]:
        gaps = (abs(a - b) for a, b in zip(first, side.turned.tuple, strict=True))
        if max(gaps) > 0.02:
            raise refuse(
                side.place,
                "the versions of the back have the piece at different places.",
                "Draw it at the same place in all of them.",
            )


def _left_out(sides: list[Side]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(told for side in sides for told in side.drawing.told()))
